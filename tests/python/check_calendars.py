"""Reads the files of a plan with independent libraries and asserts that they say what the plan says.

`check_calendars.py FOLDER`: what the example `plan_files` wrote. Every job of `jobs.tsv` must be an event of exactly one
calendar and a line of the table, with its times and its name; events float; no line is longer than 75 octets. The chart must
be well-formed and hold every word of every name. Needs icalendar.
"""

import csv
import pathlib
import sys
import xml.etree.ElementTree as tree
from datetime import datetime

from icalendar import Calendar

FORMULA = ("=", "+", "-", "@")


def events(file: pathlib.Path) -> list[tuple[datetime, datetime, str, str]]:
    raw = file.read_bytes()
    assert all(len(line) <= 75 for line in raw.split(b"\r\n")), f"{file}: a line is not folded"
    calendar = Calendar.from_ical(raw)
    assert not calendar.errors, (file, calendar.errors)
    assert calendar["VERSION"] == "2.0" and calendar["PRODID"], file
    found = []
    for event in calendar.walk("VEVENT"):
        assert not event.errors, (file, event.errors)
        start, end = event["DTSTART"].dt, event["DTEND"].dt
        assert start.tzinfo is None and end.tzinfo is None and start <= end, event
        assert event["DTSTAMP"].dt.tzinfo is not None, event
        found.append((start, end, str(event["SUMMARY"]).split(": ", 1)[1], str(event["UID"])))
    return found


def main() -> int:
    folder = pathlib.Path(sys.argv[1])
    rows = [line.split("\t") for line in (folder / "jobs.tsv").read_text("utf-8").splitlines()]
    wanted = sorted((datetime.fromisoformat(start), datetime.fromisoformat(end), name) for start, end, name in rows)

    files = sorted(folder.glob("*.ics"))
    found = [event for file in files for event in events(file)]
    assert len({uid for *_, uid in found}) == len(found), "ids of events must differ"
    assert sorted(event[:3] for event in found) == wanted, "the events are not the jobs"

    with (folder / "north.csv").open(encoding="utf-8", newline="") as table:
        lines = list(csv.DictReader(table))
    assert not any(cell.startswith(FORMULA) for line in lines for cell in line.values()), "a text reads as a formula"
    listed = [
        (
            datetime.fromisoformat(line["start_civil_time"]),
            datetime.fromisoformat(line["finish_civil_time"]),
            line["display_name"].removeprefix("'"),
        )
        for line in lines
    ]
    assert sorted(listed) == wanted, "the table does not hold the jobs"

    drawn = " ".join("".join(tree.parse(folder / "north.svg").getroot().itertext()).split())
    for _, _, name in wanted:
        for word in name.split():
            assert word in drawn, f"{word!r} is not in the chart"

    print(f"{len(files)} calendars with {len(found)} events, {len(lines)} lines, a chart with all names")
    return 0 if found else 1


if __name__ == "__main__":
    sys.exit(main())
