"""A client from outside: does the three stories with the Python gRPC library, twice.

1. Through server reflection alone: it knows the address, the token and the names of methods, and learns every message from the
   server.
2. Through stubs that `protoc` generates from `proto/`, as a script of a shop would.

The stories, on the demo fleet: import it and read its readiness; record a substitution, tyres that carry enough in the
place of those that do not, and see the readiness change; pull the load sheets as JSON and CSV. And what goes wrong is
told well: a bad request names every field, a missing token is refused.
Both ways run against one server; the second finds the fleet already there, so its import must make nothing.

    outside_client.py --check
        Only generates and imports the stubs, without a server.
    outside_client.py ADDRESS TOKEN FLEET_FILE
        ADDRESS host:port of a running, empty server without TLS; TOKEN of an admin; FLEET_FILE that of the demo.

Ends with 0 and one line per check, or with 1 and the first check that does not hold.
"""

import argparse
import base64
import csv
import importlib
import io
import json
import sys
import tempfile
import uuid
from importlib import resources
from pathlib import Path

import grpc
from google.protobuf import descriptor_pool, json_format, message_factory
from google.rpc import error_details_pb2
from grpc_health.v1 import health_pb2, health_pb2_grpc
from grpc_reflection.v1alpha.proto_reflection_descriptor_database import ProtoReflectionDescriptorDatabase
from grpc_status import rpc_status
from grpc_tools import protoc

PROTO = Path(__file__).resolve().parents[2] / "proto"
PACKAGE = "ostler.v1"
DEADLINE_S = 60

# Of the demo fleet.
FLEET = "fleets/orrin"
DEPARTURE = f"{FLEET}/departures/crossing-2027"
VEHICLE = f"{FLEET}/vehicles/v4"
SLOTS = ("tyre.front.left", "tyre.front.right", "tyre.rear.left", "tyre.rear.right")
# Tyres that carry too little.
BLOCKING = f"{FLEET}/substitutions/s06"
GATE = "substitutions"


class Failed(Exception):
    """A check that does not hold."""


def check(holds, what):
    if not holds:
        raise Failed(what)
    print(f"  ok: {what}")


class ByReflection:
    """Calls methods with messages that the server itself describes."""

    title = "through reflection"

    def __init__(self, channel, metadata):
        self.channel = channel
        database = ProtoReflectionDescriptorDatabase(AuthorizedChannel(channel, metadata))
        self.services = set(database.get_services())
        self.pool = descriptor_pool.DescriptorPool(database)

    def call(self, service, method, request, metadata):
        """Answers of one method to a request given as JSON, as messages."""
        descriptor = self.pool.FindServiceByName(f"{PACKAGE}.{service}").methods_by_name[method]
        request_class = message_factory.GetMessageClass(descriptor.input_type)
        response_class = message_factory.GetMessageClass(descriptor.output_type)
        streams = method in STREAMING
        invoke = (self.channel.unary_stream if streams else self.channel.unary_unary)(
            f"/{PACKAGE}.{service}/{method}",
            request_serializer=request_class.SerializeToString,
            response_deserializer=response_class.FromString,
        )
        answer = invoke(json_format.ParseDict(request, request_class()), metadata=metadata, timeout=DEADLINE_S)
        return list(answer) if streams else [answer]


class ByStubs:
    """Calls methods through generated stubs."""

    title = "through generated stubs"

    def __init__(self, channel, stubs):
        self.channel = channel
        self.stubs = stubs

    def call(self, service, method, request, metadata):
        file = FILES[service]
        stub = getattr(self.stubs[f"{file}_pb2_grpc"], f"{service}Stub")(self.channel)
        request_class = getattr(self.stubs[f"{file}_pb2"], f"{method}Request")
        message = json_format.ParseDict(request, request_class())
        answer = getattr(stub, method)(message, metadata=metadata, timeout=DEADLINE_S)
        return list(answer) if method in STREAMING else [answer]


STREAMING = {"ImportFleet", "RenderLoadSheets", "WatchReadiness"}
FILES = {
    "FleetService": "fleets",
    "LoadSheetService": "load_sheets",
    "PartService": "parts",
    "ReadinessService": "readiness",
    "SubstitutionService": "substitutions",
}


class AuthorizedChannel:
    """A channel that sends the token along with the one method of server reflection."""

    def __init__(self, channel, metadata):
        self.channel = channel
        self.metadata = metadata

    def stream_stream(self, *arguments, **options):
        invoke = self.channel.stream_stream(*arguments, **options)

        def with_token(requests, **call_options):
            call_options.setdefault("metadata", self.metadata)
            return invoke(requests, **call_options)

        return with_token

    def __getattr__(self, name):
        return getattr(self.channel, name)


def generate_stubs(folder):
    """Stubs of every proto file, generated into `folder` and imported."""
    sources = sorted(str(path.relative_to(PROTO)) for path in PROTO.rglob("*.proto"))
    bundled = str(resources.files("grpc_tools") / "_proto")
    arguments = ["protoc", f"-I{PROTO}", f"-I{bundled}", f"--python_out={folder}", f"--grpc_python_out={folder}"]
    if protoc.main(arguments + sources) != 0:
        raise Failed("protoc compiles proto/")
    sys.path.insert(0, str(folder))
    stubs = {}
    for source in sources:
        for suffix in ("_pb2", "_pb2_grpc"):
            module = source.removesuffix(".proto").replace("/", ".") + suffix
            stubs[module.rsplit(".", 1)[1]] = importlib.import_module(module)
    return stubs


def check_stubs(stubs):
    """What the generated code must offer, without a server."""
    for service, file in FILES.items():
        check(hasattr(stubs[f"{file}_pb2_grpc"], f"{service}Stub"), f"a stub of {service}")
    descriptors = stubs["substitutions_pb2"].DESCRIPTOR
    method = descriptors.services_by_name["SubstitutionService"].methods_by_name["RecordSubstitution"]
    access = method.GetOptions().Extensions[stubs["contract_pb2"].access]
    role = stubs["contract_pb2"].Role.Name(access.role)
    check(role == "ROLE_WORKSHOP", "the option beside RecordSubstitution says who may call it")
    for file in FILES.values():
        for service in stubs[f"{file}_pb2"].DESCRIPTOR.services_by_name.values():
            for method in service.methods:
                if method.server_streaming != (method.name in STREAMING):
                    raise Failed(f"{method.full_name}: streaming as this client expects")


def as_dict(message):
    return json_format.MessageToDict(message, preserving_proto_field_name=True)


class Stories:
    """The same stories, whichever way the methods are called."""

    def __init__(self, client, arguments, own_id, superseded):
        self.client = client
        self.fleet_file = arguments.fleet_file
        self.metadata = (("authorization", f"Bearer {arguments.token}"),)
        self.own_id = own_id
        self.superseded = superseded

    def call(self, service, method, request):
        return [as_dict(answer) for answer in self.client.call(service, method, request, self.metadata)]

    def import_fleet(self, is_first):
        content = Path(self.fleet_file).read_bytes()
        # In the JSON form of a message, bytes are base64.
        request = {"fleet_file": to_base64(content), "request_id": str(uuid.uuid4())}
        steps = self.call("FleetService", "ImportFleet", request)
        check(all("progress" in step for step in steps[:-1]), "an import tells its progress, and last its outcome")
        outcome = steps[-1].get("outcome", {})
        check(outcome.get("fleet") == FLEET, f"the import is of {FLEET}")
        created = outcome.get("created_count", 0)
        if is_first:
            check(created > 0, f"the import made {created} resources")
        else:
            check(created == 0, "importing again makes nothing")

    def readiness(self):
        (readiness,) = self.call("ReadinessService", "GetReadiness", {"departure": DEPARTURE})
        return readiness

    def gate(self, readiness):
        for vehicle in readiness["vehicles"]:
            if vehicle["vehicle"] == VEHICLE:
                for gate in vehicle["gates"]:
                    if gate["id"] == GATE:
                        return gate
        raise Failed(f"the readiness has the gate {GATE} of {VEHICLE}")

    def add_part(self):
        """A tyre of which everything is known that the slots and their neighbours ask."""
        request = {
            "parent": FLEET,
            "part_id": f"tyre-{self.own_id}",
            "part": {
                "display_name": "tyre with a higher load index",
                "kind": "tyre",
                "interfaces": [
                    {"kind": "rim_diameter_in", "number": 17.5},
                    {"kind": "load_capacity_kg", "number": 2900},
                    {"kind": "overall_diameter", "length_mm": 917},
                ],
            },
            "request_id": str(uuid.uuid4()),
        }
        (part,) = self.call("PartService", "CreatePart", request)
        check(part["name"] == f"{FLEET}/parts/tyre-{self.own_id}", f"added {part['name']}")
        return part["name"]

    def substitute(self):
        part = self.add_part()
        before = self.readiness()
        verdicts = {"VERDICT_GO", "VERDICT_GO_WITH_CONDITIONS", "VERDICT_NO_GO"}
        check(before["verdict"] in verdicts, f"the departure has a verdict: {before['verdict']}")
        check(self.superseded in json.dumps(self.gate(before)), f"the gate {GATE} names {self.superseded}")
        request = {
            "parent": FLEET,
            "substitution_id": self.own_id,
            "substitution": {
                "vehicle": VEHICLE,
                "replacements": [{"slot": slot, "incoming_part": part} for slot in SLOTS],
                "reason": "recorded by a client from outside",
                "supersedes": self.superseded,
            },
            "request_id": str(uuid.uuid4()),
        }
        (recorded,) = self.call("SubstitutionService", "RecordSubstitution", request)
        name = f"{FLEET}/substitutions/{self.own_id}"
        check(recorded["name"] == name, f"recorded {name}")
        check(recorded["state"] == "SUBSTITUTION_STATE_PROPOSED", "it is proposed")
        (repeated,) = self.call("SubstitutionService", "RecordSubstitution", request)
        check(repeated == recorded, "the same request again returns the first answer")
        after = self.readiness()
        check(after["record_version"] != before["record_version"], "the readiness is of a new state of the record")
        check(self.gate(after) != self.gate(before), f"the gate {GATE} changed")
        check(self.superseded not in json.dumps(self.gate(after)), "the superseded substitution is out of it")
        check(name in json.dumps(self.gate(after)), "the gate names the substitution")
        (assessed,) = self.call("SubstitutionService", "KeepAssessment", {"name": name})
        check(assessed["state"] == "SUBSTITUTION_STATE_ASSESSED", "its assessment is kept")
        approval = {"name": name, "approved_by": "lead", "approved_date": "2027-04-30"}
        (approved,) = self.call("SubstitutionService", "ApproveSubstitution", approval)
        check(approved["state"] == "SUBSTITUTION_STATE_APPROVED", "it is approved")
        (fitted,) = self.call("SubstitutionService", "FitSubstitution", {"name": name, "fitted_date": "2027-05-01"})
        check(fitted["state"] == "SUBSTITUTION_STATE_FITTED", "the parts are in")
        answer = self.gate(self.readiness())["answer"]
        check(answer == "ANSWER_MET", f"with them the gate {GATE} is met")

    def load_sheets(self):
        json_sheets = self.render("SHEET_FORMAT_JSON")
        csv_sheets = self.render("SHEET_FORMAT_CSV")
        check(len(json_sheets) > 0, f"{len(json_sheets)} load sheets")
        check(json_sheets.keys() == csv_sheets.keys(), "of the same vehicles in both forms")
        for vehicle, sheet in json_sheets.items():
            content = json.loads(sheet.content)
            if content["vehicle"] != vehicle or not content["loads"]:
                raise Failed(f"the JSON sheet of {vehicle} is its own and has loads")
            rows = list(csv.reader(io.StringIO(csv_sheets[vehicle].content.decode())))
            if len(rows) < 2 or len({len(row) for row in rows}) != 1:
                raise Failed(f"the CSV sheet of {vehicle} is one table")
            if len({sheet.content_hash, csv_sheets[vehicle].content_hash}) != 1 or len(sheet.content_hash) != 64:
                raise Failed(f"both forms of the sheet of {vehicle} carry the hash of one content")
        check(True, "each is its vehicle's own, with loads, a table, and one hash")

    def render(self, form):
        request = {"departure": DEPARTURE, "format": form}
        sheets = self.client.call("LoadSheetService", "RenderLoadSheets", request, self.metadata)
        found = {sheet.vehicle: sheet for sheet in sheets}
        check(len(found) == len(sheets), f"{form}: one message a vehicle")
        return found

    def bad_request(self):
        request = {"parent": FLEET, "substitution_id": "Not An Id", "substitution": {"replacements": [{}]}}
        status = self.refused("SubstitutionService", "RecordSubstitution", request, self.metadata)
        check(status.code == grpc.StatusCode.INVALID_ARGUMENT.value[0], "a bad request is INVALID_ARGUMENT")
        info = detail(status, error_details_pb2.ErrorInfo)
        check((info.domain, info.reason) == ("ostler", "INVALID_FIELD"), "its reason is INVALID_FIELD")
        fields = {violation.field for violation in detail(status, error_details_pb2.BadRequest).field_violations}
        wanted = {
            "substitution_id",
            "substitution.vehicle",
            "substitution.replacements[0].slot",
            "substitution.replacements[0].incoming_part",
        }
        check(wanted <= fields, f"it names every field: {', '.join(sorted(fields))}")

    def no_token(self):
        for metadata in ((), (("authorization", "Bearer wrong"),)):
            request = {"departure": DEPARTURE}
            status = self.refused("ReadinessService", "GetReadiness", request, metadata)
            what = "a wrong token" if metadata else "no token"
            check(status.code == grpc.StatusCode.UNAUTHENTICATED.value[0], f"{what} is UNAUTHENTICATED")

    def refused(self, service, method, request, metadata):
        try:
            self.client.call(service, method, request, metadata)
        except grpc.RpcError as error:
            return rpc_status.from_call(error)
        raise Failed(f"{method} refuses {request}")

    def tell(self, is_first):
        print(f"{self.client.title}:")
        self.import_fleet(is_first)
        self.substitute()
        self.load_sheets()
        self.bad_request()
        self.no_token()


def detail(status, kind):
    """The one detail of a kind in a status."""
    for packed in status.details:
        if packed.Is(kind.DESCRIPTOR):
            found = kind()
            packed.Unpack(found)
            return found
    raise Failed(f"the status carries a {kind.DESCRIPTOR.name}")


def to_base64(content):
    return base64.b64encode(content).decode("ascii")


def run(arguments, stubs):
    with grpc.insecure_channel(arguments.address) as channel:
        grpc.channel_ready_future(channel).result(timeout=DEADLINE_S)
        health = health_pb2_grpc.HealthStub(channel).Check(health_pb2.HealthCheckRequest(), timeout=DEADLINE_S)
        check(health.status == health_pb2.HealthCheckResponse.SERVING, "the server is healthy, and says so without a token")
        metadata = (("authorization", f"Bearer {arguments.token}"),)
        reflected = ByReflection(channel, metadata)
        wanted = {f"{PACKAGE}.{service}" for service in FILES}
        check(wanted <= reflected.services, f"reflection lists {len(reflected.services)} services")
        Stories(reflected, arguments, "by-reflection", BLOCKING).tell(is_first=True)
        # The file still proposes what the first way withdrew: bringing it in again proposes it again.
        Stories(ByStubs(channel, stubs), arguments, "by-stubs", BLOCKING).tell(is_first=False)


def main():
    parser = argparse.ArgumentParser(description="Does the three stories against a running server.")
    parser.add_argument("--check", action="store_true", help="only generate and import the stubs")
    names = ("address", "token", "fleet_file")
    for name in names:
        parser.add_argument(name, nargs="?")
    arguments = parser.parse_args()
    missing = [name for name in names if getattr(arguments, name) is None]
    if missing and not arguments.check:
        parser.error(f"missing: {', '.join(missing)}")
    try:
        with tempfile.TemporaryDirectory() as folder:
            stubs = generate_stubs(folder)
            check_stubs(stubs)
            if not arguments.check:
                run(arguments, stubs)
    except Failed as failed:
        sys.exit(f"does not hold: {failed}")


if __name__ == "__main__":
    main()
