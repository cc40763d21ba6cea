#!/usr/bin/env python3
"""Asks whether a departure is ready, with nothing but the Python standard library.

    readiness.py ADDRESS DEPARTURE
        ADDRESS    for example http://127.0.0.1:7350
        DEPARTURE  for example fleets/orrin/departures/crossing-2027

The token is taken from the environment, OSTLER_TOKEN. Prints the verdict of each vehicle and the gates that stop it.
Ends with 0 for go, 3 for go with conditions, 4 for no-go, 1 when the question could not be asked.
"""

import json
import os
import sys
import urllib.error
import urllib.request

EXIT_CODES = {"VERDICT_GO": 0, "VERDICT_GO_WITH_CONDITIONS": 3, "VERDICT_NO_GO": 4}
STOPS = {"ANSWER_NOT_MET": "not met", "ANSWER_NOT_KNOWN": "not known"}


def call(address, method, request):
    """Calls a method of ostler.v1 with a JSON message and returns the answer."""
    posted = urllib.request.Request(
        f"{address}/ostler.v1.{method}",
        data=json.dumps(request).encode(),
        headers={"authorization": f"Bearer {os.environ['OSTLER_TOKEN']}", "content-type": "application/json"},
    )
    with urllib.request.urlopen(posted, timeout=30) as answer:
        return json.load(answer)


def main():
    address, departure = sys.argv[1:]
    try:
        readiness = call(address, "ReadinessService/GetReadiness", {"departure": departure})
    except urllib.error.HTTPError as refused:
        error = json.load(refused)
        sys.exit(f"{error['code']}: {error['message']}")
    for vehicle in readiness["vehicles"]:
        print(vehicle["displayName"])
        for gate in vehicle["gates"]:
            if gate["answer"] in STOPS:
                print(f"  {STOPS[gate['answer']]}: {gate['summary']}")
    for gate in readiness.get("gates", []):
        if gate["answer"] in STOPS:
            print(f"the convoy, {STOPS[gate['answer']]}: {gate['summary']}")
    print(readiness["verdict"].removeprefix("VERDICT_").replace("_", " ").lower())
    return EXIT_CODES[readiness["verdict"]]


if __name__ == "__main__":
    sys.exit(main())
