"""Holds the OpenAPI document against its published schema, and a server's answers against the document.

    check_description.py DOCUMENT
        Only the document.
    check_description.py DOCUMENT ADDRESS TOKEN DEPARTURE
        ADDRESS host:port of a server with the demo fleet.

Outside: openapi-spec-validator and jsonschema from PyPI, which carry the published schemas. Ends with 0 and one line per
check, or with 1 and the first check that does not hold.
"""

import json
import sys
import urllib.error
import urllib.request

from jsonschema import Draft202012Validator
from jsonschema.exceptions import best_match
from openapi_spec_validator import validate
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012


def check(holds, what):
    if not holds:
        sys.exit(f"does not hold: {what}")
    print(f"holds: {what}")


def schema_of(document, name):
    """The validator of one message of the document."""
    registry = Registry().with_resource("urn:api", Resource(contents=document, specification=DRAFT202012))
    return Draft202012Validator({"$ref": f"urn:api#/components/schemas/{name}"}, registry=registry)


def post(address, token, path, message):
    request = urllib.request.Request(
        f"http://{address}{path}",
        data=json.dumps(message).encode(),
        headers={"authorization": f"Bearer {token}", "content-type": "application/json"},
    )
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:
            return answer.status, json.load(answer)
    except urllib.error.HTTPError as refused:
        return refused.code, json.load(refused)


def check_answers(document, address, token, departure):
    fleet = departure.split("/departures/")[0]
    for service, method, answer, message in [
        ("ReadinessService", "GetReadiness", "Readiness", {"departure": departure}),
        ("LoadService", "ComputeLoadStates", "ComputeLoadStatesResponse",
         {"departure": departure, "vehicle": f"{fleet}/vehicles/v1"}),
        ("VehicleService", "ListVehicles", "ListVehiclesResponse", {"parent": fleet}),
        ("PartService", "ListParts", "ListPartsResponse", {"parent": fleet}),
        ("HistoryService", "ListHistory", "ListHistoryResponse", {"parent": fleet}),
    ]:
        status, body = post(address, token, f"/ostler.v1.{service}/{method}", message)
        worst = best_match(schema_of(document, f"ostler.v1.{answer}").iter_errors(body))
        check(status == 200 and worst is None, f"the answer of {method} is as described {worst or ''}")
    # What the schema refuses the server refuses too, and the other way round for what it allows.
    item = {"displayName": "crate", "quantity": 100001}
    request = {"parent": fleet, "cargoItemId": "crate", "cargoItem": item, "validateOnly": True}
    described = schema_of(document, "ostler.v1.CreateCargoItemRequest")
    for quantity in (100001, 100000):
        item["quantity"] = quantity
        status, body = post(address, token, "/ostler.v1.CargoService/CreateCargoItem", request)
        check((status == 200) == described.is_valid(request), f"{quantity} pieces: server and schema agree ({status})")


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        document = json.load(file)
    validate(document)
    check(document["openapi"] == "3.1.0", "the document is valid OpenAPI 3.1")
    undescribed = [name for name, schema in document["components"]["schemas"].items()
                   if name.startswith("ostler.") and not schema.get("description")]
    check(not undescribed, f"every message says what it is {undescribed}")
    open_methods = [path for path, item in document["paths"].items() if not item["post"].get("x-weakest-role")]
    check(not open_methods, f"every method says who may call it {open_methods}")
    if len(sys.argv) > 2:
        check_answers(document, *sys.argv[2:])


if __name__ == "__main__":
    main()
