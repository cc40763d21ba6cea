"""Reads the files of a plan that `ostler plan` wrote with libraries that share no code with this project.

    check_plan_files.py FOLDER
        FOLDER holds plan.json (what the command printed), plan.csv, plan.svg, plan.pdf, letter.pdf and the calendars in `ics`.

Every job must be a line of the table, an event of one calendar, and stand on both charts with every word of its name; pages have
ink, none of it in their margins. Outside: csv and xml of Python, icalendar, and PDFium by pypdfium2, from PyPI.
"""

import csv
import json
import pathlib
import sys
import xml.etree.ElementTree as tree
from datetime import datetime

import numpy
import pypdfium2
from check_calendars import events

MARGIN = 36


def joined(text):
    """Without what line breaks put into a text: spaces, and hyphens at the end of a line as the reader writes them."""
    return "".join(character for character in text if character.isalnum())


def pages(file, size, words):
    document = pypdfium2.PdfDocument(file)
    text = ""
    for number, page in enumerate(document, 1):
        width, height = page.get_size()
        assert abs(width - size[0]) < 1 and abs(height - size[1]) < 1, (file, number, width, height)
        text += page.get_textpage().get_text_range()
        dark = page.render(scale=1, grayscale=True).to_numpy().squeeze() < 120
        edge = numpy.ones_like(dark)
        edge[MARGIN:-MARGIN, MARGIN:-MARGIN] = False
        assert dark.any() and not (dark & edge).any(), f"page {number} of {file} has ink, and none in its margins"
    bare = joined(text)
    missing = [word for word in words if joined(word) not in bare]
    assert not missing, (file, missing)
    return len(document)


def main(folder):
    folder = pathlib.Path(folder)
    plan = json.loads((folder / "plan.json").read_text("utf-8"))
    jobs = plan["jobs"]
    assert len(jobs) > 10, len(jobs)

    def of(job, camel, snake):
        return job.get(camel, job.get(snake, ""))

    wanted = sorted(
        (
            datetime.fromisoformat(of(job, "startCivilTime", "start_civil_time")),
            datetime.fromisoformat(of(job, "finishCivilTime", "finish_civil_time")),
            of(job, "displayName", "display_name"),
        )
        for job in jobs
    )
    with (folder / "plan.csv").open(encoding="utf-8", newline="") as table:
        listed = sorted(
            (
                datetime.fromisoformat(line["start_civil_time"]),
                datetime.fromisoformat(line["finish_civil_time"]),
                line["display_name"].removeprefix("'"),
            )
            for line in csv.DictReader(table)
        )
    assert listed == wanted, "the table holds the jobs"
    found = sorted(event[:3] for file in sorted((folder / "ics").glob("*.ics")) for event in events(file))
    assert found == wanted, "the calendars hold the jobs"
    words = {word for _, _, name in wanted for word in name.split()}
    drawn = "".join(tree.parse(folder / "plan.svg").getroot().itertext())
    assert all(word in "".join(drawn.split()) for word in words), "the chart holds every word"
    count = pages(folder / "plan.pdf", (841.9, 595.3), words)
    letter = pages(folder / "letter.pdf", (792, 612), words)
    print(f"{len(wanted)} jobs as table, calendars and charts; {count} pages of A4, {letter} of Letter")


if __name__ == "__main__":
    main(sys.argv[1])
