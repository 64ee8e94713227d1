// A client in JavaScript: calls a running server and prints what it saw as one JSON object.
//
//     NODE_PATH=MODULES node client.js HOST:PORT CONTRACT FILES
//
// MODULES has @grpc/grpc-js and @grpc/proto-loader, CONTRACT is the folder proto/, FILES the folder of this script.
"use strict";

const fs = require("fs");
const path = require("path");
const grpc = require("@grpc/grpc-js");
const loader = require("@grpc/proto-loader");
const protobuf = require("protobufjs");

const [target, contract, files] = process.argv.slice(2);
const includeDirs = [contract, files];
// Without defaults a value of 0 would be missing from an answer.
const definition = loader.loadSync(["tailbound/v1/assessment.proto", "tailbound/v1/report.proto"], {
  includeDirs, defaults: true, enums: String, longs: String, bytes: Buffer,
});
const { tailbound } = grpc.loadPackageDefinition(definition);
const read = (name) => fs.readFileSync(path.join(files, name), "utf8");

// details decodes the google.rpc.BadRequest in the details of an error; ErrorStatus has the fields of a google.rpc.Status.
function details(error) {
  const root = new protobuf.Root();
  root.resolvePath = (_, name) => includeDirs.map((d) => path.join(d, name)).find((f) => fs.existsSync(f)) || name;
  root.loadSync(["tailbound/v1/reading.proto", "details.proto"]);
  const [coded] = error.metadata.get("grpc-status-details-bin");
  const status = root.lookupType("tailbound.v1.ErrorStatus").decode(coded);
  return status.details.map((any) => {
    const name = any.type_url.slice(any.type_url.lastIndexOf("/") + 1);
    const type = root.lookupType(name);
    return { "@type": any.type_url, ...type.toObject(type.decode(any.value)) };
  });
}

function unary(client, method, request) {
  return new Promise((resolve, reject) => {
    const deadline = Date.now() + 20_000;
    client[method](request, { deadline }, (error, answer) => (error ? reject(error) : resolve(answer)));
  });
}

function stream(client, groups) {
  return new Promise((resolve, reject) => {
    const answers = [];
    const call = client.AssessGroups({ deadline: Date.now() + 20_000 });
    call.on("data", (answer) => answers.push(answer));
    call.on("end", () => resolve(answers));
    call.on("error", reject);
    for (const group of groups) call.write({ group });
    call.end();
  });
}

async function main() {
  const security = grpc.credentials.createInsecure();
  const assessments = new tailbound.v1.AssessmentService(target, security);
  const reports = new tailbound.v1.ReportService(target, security);
  const group = JSON.parse(read("group.json"));
  const seen = {
    unary: await unary(assessments, "AssessGroup", group),
    stream: await stream(assessments, read("groups.ndjson").trim().split("\n").map(JSON.parse)),
  };
  const { document } = await unary(reports, "PlotGroup", { group, format: "IMAGE_FORMAT_PNG" });
  seen.figure = { mediaType: document.mediaType, content: document.content.toString("base64") };
  await unary(assessments, "AssessGroup", JSON.parse(read("invalid.json"))).catch((error) => {
    seen.error = { code: error.code, message: error.details, details: details(error) };
  });
  assessments.close();
  reports.close();
  process.stdout.write(JSON.stringify(seen));
}

main().catch((error) => {
  console.error(error);
  process.exit(1);
});
