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
    from tailbound.v1 import assessment_pb2, assessment_pb2_grpc, intake_pb2, intake_pb2_grpc, reading_pb2
    from tailbound.v1 import report_pb2, report_pb2_grpc, trace_pb2, trace_pb2_grpc

    def group(text):
        return json_format.Parse(text, assessment_pb2.AssessGroupRequest())

    def violations(error):
        """The error details come as a serialized google.rpc.Status in a trailer; ErrorStatus has its fields."""
        for key, value in error.trailing_metadata():
            if key == "grpc-status-details-bin":
                return json_format.MessageToDict(reading_pb2.ErrorStatus.FromString(value))["details"]
        return None

    def visit(channel):
        """What a visit brings back: a file of results, a log, a decay. Each answer is the question of the next call."""
        intake = intake_pb2_grpc.IntakeServiceStub(channel)
        traces = trace_pb2_grpc.TraceServiceStub(channel)
        reports = report_pb2_grpc.ReportServiceStub(channel)
        results = intake.ReadResults(
            intake_pb2.ReadResultsRequest(name="results.csv", content=(files / "results.csv").read_bytes()), timeout=20
        )
        assessed = assessment_pb2_grpc.AssessmentServiceStub(channel).AssessGroups(
            (assessment_pb2.AssessGroupsRequest(group=g) for g in results.groups), timeout=20
        )
        log = intake.ReadLog(intake_pb2.ReadLogRequest(name="log.csv", content=(files / "log.csv").read_bytes()), timeout=20)

        def parts(request, header):
            yield request(header=header)
            for row, time in enumerate(log.values.times):
                yield request(values=trace_pb2.TraceValues(times=[time], values=[log.values.values[row]]))

        figure = json_format.Parse((files / "whole.json").read_text(), report_pb2.PlotGroupRequest())
        header = trace_pb2.TraceHeader(channels=log.channels, zone="bay 3")
        seen = {
            "results": results,
            "assessed": next(iter(assessed)),
            "log": log,
            "reduced": traces.ReduceTrace(parts(trace_pb2.ReduceTraceRequest, header), timeout=20),
            "rate": traces.EstimateAirChange(
                json_format.Parse((files / "decay.json").read_text(), trace_pb2.EstimateAirChangeRequest()), timeout=20
            ),
            "whole": reports.RenderReport(report_pb2.RenderReportRequest(groups=results.groups, title="Spring"), timeout=20),
            "figure": reports.PlotGroup(figure, timeout=20),
            "options": assessment_pb2_grpc.AssessmentServiceStub(channel).AssessGroup(figure.group, timeout=20),
            "trace": reports.PlotTrace(
                parts(report_pb2.PlotTraceRequest, report_pb2.PlotTraceHeader(trace=header)), timeout=20
            ),
        }
        return {name: json_format.MessageToDict(answer) for name, answer in seen.items()}

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
            "visit": visit(channel),
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
