"""A client in Python: calls a running server and prints what it saw as one JSON object.

    python3 client.py HOST:PORT STUBS FILES

STUBS holds the modules that protoc made from proto/ and from details.proto, FILES is the folder of this script.
"""

import json
import pathlib
import sys

import grpc
from google.protobuf import json_format


def main(target, stubs, files):
    sys.path.insert(0, stubs)
    import details_pb2  # noqa: F401 - makes google.rpc.BadRequest known to json_format.
    from tailbound.v1 import assessment_pb2, assessment_pb2_grpc, reading_pb2

    def group(text):
        return json_format.Parse(text, assessment_pb2.AssessGroupRequest())

    def violations(error):
        """The error details come as a serialized google.rpc.Status in a trailer; ErrorStatus has its fields."""
        for key, value in error.trailing_metadata():
            if key == "grpc-status-details-bin":
                return json_format.MessageToDict(reading_pb2.ErrorStatus.FromString(value))["details"]
        return None

    good = group((files / "group.json").read_text())
    bad = group((files / "invalid.json").read_text())
    many = [group(line) for line in (files / "groups.ndjson").read_text().splitlines()]

    with grpc.insecure_channel(target) as channel:
        grpc.channel_ready_future(channel).result(timeout=10)
        service = assessment_pb2_grpc.AssessmentServiceStub(channel)
        seen = {
            # Compressed, since a server has to be taught that.
            "unary": json_format.MessageToDict(service.AssessGroup(good, timeout=10, compression=grpc.Compression.Gzip)),
            "stream": [
                json_format.MessageToDict(answer)
                for answer in service.AssessGroups(
                    (assessment_pb2.AssessGroupsRequest(group=g) for g in many), timeout=10
                )
            ],
            # Without stubs: an empty HealthCheckRequest, and a HealthCheckResponse whose status is 1, SERVING.
            "serving": channel.unary_unary("/grpc.health.v1.Health/Check")(b"", timeout=10) == b"\x08\x01",
        }
        try:
            service.AssessGroup(bad, timeout=10)
        except grpc.RpcError as error:
            seen["error"] = {
                "code": error.code().name,
                "message": error.details(),
                "details": violations(error),
            }
    json.dump(seen, sys.stdout)


main(sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3]))
