"""Reads papers back that `ostler` wrote: workbooks, tables, JSON and pages of the same load sheets.

    check_papers.py SCHEMA FOLDER [WORDS]
        SCHEMA the published JSON Schema of a load sheet, or `-` where FOLDER holds pages alone, FOLDER the files; WORDS a JSON list of texts that must stand in the
        text of some page of PDF, wherever its lines break.

Outside: csv of Python, jsonschema, openpyxl, and PDFium by pypdfium2, from PyPI. Ends with 0 and one line per check, or with 1
and the first check that does not hold.
"""

import csv
import json
import pathlib
import sys

import numpy
import openpyxl
import pypdfium2
from jsonschema import Draft202012Validator

# Least space between the edge of a page and ink, points; the body stands 40 in.
MARGIN = 36
# Taller than any text of a body, points: the word across a draft.
ACROSS = 40


def check(holds, what):
    if not holds:
        sys.exit(f"does not hold: {what}")
    print(f"holds: {what}")


def check_json(schema, files):
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    for file in files:
        problem = next(validator.iter_errors(json.loads(file.read_bytes())), None)
        check(problem is None, f"{file.name} is as its schema says {problem.message[:200] if problem else ''}")
    broken = json.loads(files[0].read_bytes()) | {"loads": "none"}
    check(not validator.is_valid(broken), "the schema refuses a sheet whose loads are a word")


def check_csv(file, sheet):
    with open(file, encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))
    check(all(len(row) == 5 for row in rows), f"{file.name} has five columns throughout")
    risky = [cell for row in rows for cell in row if cell[:1] in ("=", "@", "\t", "\r") or (cell[:1] in ("+", "-") and not number(cell))]
    check(not risky, f"no cell of {file.name} can be a formula {risky[:1]}")
    names = {row[3].removeprefix("'") for row in rows}
    check(all(item["displayName"] in names for zone in sheet["zones"] for item in zone["items"]), f"{file.name} names every thing")


def number(text):
    try:
        float(text)
        return True
    except ValueError:
        return False


def check_workbook(file, sheet):
    book = openpyxl.load_workbook(file)
    cells = [cell for tab in book for row in tab.iter_rows() for cell in row]
    check(not [cell for cell in cells if cell.data_type == "f"], f"no cell of {file.name} is a formula")
    # Cells hold fixed-size text: control characters come back escaped, and are left out here.
    cargo = {(row[2].value, row[4].value) for row in book["Cargo"].iter_rows(min_row=2)}
    wanted = {(item["displayName"], item.get("massKg", "not known")) for zone in sheet["zones"] for item in zone["items"]}
    check(wanted == cargo, f"{file.name} has every thing with its mass {list(wanted ^ cargo)[:2]}")
    whole = [row for row in book["Loads"].iter_rows(min_row=2, values_only=True) if row[1] == "whole"]
    loads = [load["total"]["loadKg"] for load in sheet["loads"]]
    check([row[2] for row in whole] == loads, f"{file.name} has the load of every moment")


def characters(page):
    """Text of a page as it can be copied, and the boxes of its characters that are no spaces, points from the lower left."""
    text = page.get_textpage()
    boxes = []
    for index in range(text.count_chars()):
        box = text.get_charbox(index)
        if text.get_text_range(index, 1).strip() and box[2] > box[0] and box[3] > box[1]:
            boxes.append((*box, text.get_text_range(index, 1)))
    return text.get_text_range(), boxes


def overlaps(boxes):
    """Pairs of characters of which one covers more than a third of the other: print over print."""
    boxes = sorted(boxes)
    found = []
    for index, one in enumerate(boxes):
        for other in boxes[index + 1:]:
            if other[0] >= one[2]:
                break
            wide = min(one[2], other[2]) - other[0]
            high = min(one[3], other[3]) - max(one[1], other[1])
            area = min((box[2] - box[0]) * (box[3] - box[1]) for box in (one, other))
            # A ligature's letters share its box.
            ligature = one[4] in "fijlt" and other[4] in "fijlt"
            if wide > 0 and high > 0 and wide * high > area / 3 and not ligature:
                found.append((one[4], other[4], one[:4]))
    return found


def check_pages(file, size, plain):
    """`plain`: all of it is Latin text, whose characters never cover each other."""
    document = pypdfium2.PdfDocument(file)
    texts = []
    for number, page in enumerate(document, 1):
        width, height = page.get_size()
        if abs(width - size[0]) > 1 or abs(height - size[1]) > 1:
            sys.exit(f"does not hold: page {number} of {file.name} has its size {width} {height}")
        text, boxes = characters(page)
        texts.append(text)
        boxes = [box for box in boxes if box[3] - box[1] < ACROSS]
        for left, bottom, right, top, character in boxes:
            if left < MARGIN or right > width - MARGIN or bottom < MARGIN or top > height - MARGIN:
                sys.exit(f"does not hold: {character!r} on page {number} of {file.name} stands within the margins")
        covered = overlaps(boxes) if plain else []
        if covered:
            sys.exit(f"does not hold: no print over print on page {number} of {file.name}: {covered[:3]}")
        picture = page.render(scale=1, grayscale=True).to_numpy().squeeze()
        dark = picture < 120
        edge = numpy.ones_like(dark)
        edge[MARGIN:-MARGIN, MARGIN:-MARGIN] = False
        if (dark & edge).any() or not dark.any():
            sys.exit(f"does not hold: page {number} of {file.name} has ink, and none in its margins")
    check(True, f"{file.name}: {len(document)} pages, nothing out of its place")
    return texts


def bare(text):
    """Without what line breaks, bidirectional marks and page furniture put between the parts of a text."""
    return "".join(character for character in text if character.isalnum())


def main(schema, folder, words="[]"):
    folder = pathlib.Path(folder)
    sheets = {file.stem: json.loads(file.read_bytes()) for file in sorted(folder.glob("*.json"))}
    if schema != "-":
        check_json(json.loads(pathlib.Path(schema).read_bytes()), sorted(folder.glob("*.json")))
    for file in sorted(folder.glob("*.csv")):
        check_csv(file, sheets[file.stem])
    for file in sorted(folder.glob("*.xlsx")):
        check_workbook(file, sheets[file.stem])
    words = json.loads(words)
    all_text = ""
    for file in sorted(folder.glob("**/*.pdf")):
        size = (612, 792) if "letter" in str(file) else (595.3, 841.9)
        all_text += bare("".join(check_pages(file, size, not words)))
    for word in words:
        # Right-to-left text may be given back in the order of the eye.
        found = bare(word) in all_text or bare(word)[::-1] in all_text
        check(found, f"the pages hold {word!r}")


if __name__ == "__main__":
    main(*sys.argv[1:])
