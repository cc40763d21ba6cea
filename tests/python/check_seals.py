"""Follows the chains of seals of a SQLite record with nothing but Python's standard library.

Takes the path of a database, computes every seal again from the description in `server/store/src/seal.rs`, and asserts that
each stands where it should. Prints the head of each fleet as `ostlerd check` does.
"""

import hashlib
import sqlite3
import sys

PREFIX = b"ostler history 1\0"

ROWS = """SELECT s.fleet, s.position, s.hash, h.sequence, h.fleet, h.resource, h.kind, h.time, h.actor, h.action,
    h.request_id, h.before, h.after FROM seal AS s LEFT JOIN history AS h ON h.sequence = s.sequence
    ORDER BY s.fleet, s.position"""


def number(value: int) -> bytes:
    return value.to_bytes(8, "big", signed=True)


def counted(value: str | bytes) -> bytes:
    encoded = value.encode() if isinstance(value, str) else value
    return number(len(encoded)) + encoded


def optional(value: str | bytes | None) -> bytes:
    return b"\0" if value is None else b"\1" + counted(value)


def seal(previous: bytes, position: int, entry: tuple) -> bytes:
    sequence, fleet, resource, kind, time, actor, action, request_id, before, after = entry
    encoded = b"".join(
        [
            PREFIX,
            previous,
            number(position),
            number(sequence),
            counted(fleet),
            counted(resource),
            counted(kind),
            number(time),
            counted(actor),
            counted(action),
            optional(request_id),
            optional(before),
            optional(after),
        ]
    )
    return hashlib.sha256(encoded).digest()


def main() -> int:
    heads: dict[str, tuple[int, bytes]] = {}
    with sqlite3.connect(f"file:{sys.argv[1]}?mode=ro", uri=True) as database:
        for fleet, position, found, *entry in database.execute(ROWS):
            before, previous = heads.get(fleet, (0, bytes(32)))
            if position != before + 1 or entry[0] is None or found != seal(previous, position, tuple(entry)):
                print(f"{fleet}: position {position} is not what was sealed there", file=sys.stderr)
                return 1
            heads[fleet] = (position, found)
    for fleet, (position, found) in heads.items():
        print(f"head: {fleet.removeprefix('fleets/')}={position}:{found.hex()}")
    if not heads:
        print("nothing is sealed", file=sys.stderr)
    return 0 if heads else 1


if __name__ == "__main__":
    sys.exit(main())
