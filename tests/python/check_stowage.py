"""Checks stowed convoys against an integer programme of their own, solved by HiGHS.

Reads one JSON object a line from standard input, as the example `stowage` prints them. Of every convoy it
- places the items as answered, adds all loads up afresh in every load state, and asserts that pins, bans, groups and
  limits are kept and that the smallest relative margin is the promised one;
- states the integer programme (an item in one zone, a group in one vehicle, the smallest margin as large as can be)
  and lets HiGHS solve it for a while: its dual bound is proven, whether or not it finishes;
- asserts that the promised margin is within 1 % of what is proven, and that the claimed bound is not below the best
  integer solution known.

Usage: check_stowage.py [SECONDS for HiGHS per convoy, 20 unless given]. Needs highspy and numpy.
"""

import json
import sys

import highspy
import numpy as np

WITHIN = 0.01
ROUNDING = 1e-9


def rows_of(vehicle: dict) -> list[tuple]:
    """(state, kind, base, limit, has a margin): everything the vehicle must keep."""
    rows = []
    for state, (total, front, rear, roof, lateral, zones, _) in enumerate(vehicle["states"]):
        rows.append((state, "total", total, vehicle["gross"], True))
        rows.append((state, "front", front, vehicle["front"], True))
        rows.append((state, "rear", rear, vehicle["rear"], True))
        rows.append((state, "front down", -front, 0.0, False))
        rows.append((state, "rear down", -rear, 0.0, False))
        rows.append((state, "roof", roof, vehicle["roof"], True))
        rows.append((state, "right", lateral, vehicle["lateral"], True))
        rows.append((state, "left", -lateral, vehicle["lateral"], True))
        for zone, (_, _, limit, _) in enumerate(vehicle["zones"]):
            if limit is not None:
                rows.append((state, zone, zones[zone], limit, True))
    return rows


def adds(vehicle: dict, item: dict, place: list, row: tuple) -> float:
    """What an item at a place of the vehicle adds to a row."""
    _, zone, own = place
    x, y, _, on_roof = vehicle["zones"][zone]
    if own is not None:
        x, y = own
    state, kind = row[0], row[1]
    mass = item["mass"] * (vehicle["states"][state][6] if item["consumed"] else 1.0)
    rear = mass * x / vehicle["wheelbase"]
    if isinstance(kind, int):
        return mass if kind == zone else 0.0
    return {
        "total": mass,
        "front": mass - rear,
        "rear": rear,
        "front down": rear - mass,
        "rear down": -rear,
        "roof": mass if on_roof else 0.0,
        "right": mass * y / 1000.0,
        "left": -mass * y / 1000.0,
    }[kind]


def choices(item: dict) -> list[list]:
    """Where an item may be: where it is as it is, or any other zone that is open to it."""
    now = item["now"]
    if item["pinned"]:
        return [now]
    places = [[vehicle, zone, None] for vehicle, zone in item["open"]]
    if now is not None and [now[0], now[1], None] in places:
        places[places.index([now[0], now[1], None])] = now
    return places


def check_answer(convoy: dict) -> float:
    """The smallest margin of the answered placement, after asserting that it is allowed."""
    for item, place in zip(convoy["items"], convoy["places"], strict=True):
        assert place in choices(item), f"an item at {place}, where it may not be"
    for group in convoy["groups"]:
        assert len({convoy["places"][item][0] for item in group}) == 1, "a group is apart"
    smallest = np.inf
    for index, vehicle in enumerate(convoy["vehicles"]):
        for row in rows_of(vehicle):
            load = row[2]
            for item, place in zip(convoy["items"], convoy["places"], strict=True):
                if place[0] == index:
                    load += adds(vehicle, item, place, row)
            assert load <= row[3] + ROUNDING * max(row[3], 1.0), f"vehicle {index}: {row[1]} is over its limit"
            if row[4]:
                smallest = min(smallest, (row[3] - load) / row[3])
    return smallest


def programme(convoy: dict, seconds: float) -> tuple[float, float]:
    """(best margin HiGHS found, margin that it proves cannot be exceeded)."""
    solver = highspy.Highs()
    solver.silent()
    solver.setOptionValue("time_limit", seconds)
    solver.setOptionValue("mip_rel_gap", 1e-4)
    solver.setOptionValue("threads", 1)
    margin = solver.addVariable(lb=-10.0, ub=1.0)
    sums = {
        (index, at): []
        for index, vehicle in enumerate(convoy["vehicles"])
        for at in range(len(rows_of(vehicle)))
    }
    whereabouts = []
    for item in convoy["items"]:
        by_vehicle = {}
        for place in choices(item):
            here = solver.addBinary()
            by_vehicle.setdefault(place[0], []).append(here)
            vehicle = convoy["vehicles"][place[0]]
            for at, row in enumerate(rows_of(vehicle)):
                load = adds(vehicle, item, place, row)
                if load != 0.0:
                    sums[place[0], at].append((load, here))
        solver.addConstr(solver.qsum([one for of in by_vehicle.values() for one in of]) == 1)
        whereabouts.append(by_vehicle)
    for group in convoy["groups"]:
        for vehicle in range(len(convoy["vehicles"])):
            of = [solver.qsum(whereabouts[item].get(vehicle, [])) for item in group]
            for other in of[1:]:
                solver.addConstr(of[0] - other == 0)
    for index, vehicle in enumerate(convoy["vehicles"]):
        for at, (_, _, base, limit, counts) in enumerate(rows_of(vehicle)):
            scale = 1.0 / limit if counts else 1.0 / vehicle["gross"]
            load = solver.qsum([scale * load * here for load, here in sums[index, at]])
            if counts:
                solver.addConstr(load + margin <= scale * (limit - base))
            else:
                solver.addConstr(load <= scale * (limit - base))
    solver.maximize(margin)
    info = solver.getInfo()
    return info.objective_function_value, info.mip_dual_bound


def main() -> int:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 20.0
    shortfalls = []
    for line in sys.stdin:
        convoy = json.loads(line)
        assert convoy["answer"] == "met", f"seed {convoy['seed']}: {convoy['answer']}"
        smallest = check_answer(convoy)
        assert abs(smallest - convoy["margin"]) <= ROUNDING, "the promised margin is not that of the placement"
        found, proven = programme(convoy, seconds)
        assert proven > 0.0, "HiGHS proves nothing"
        assert convoy["bound"] >= max(smallest, min(found, proven)) - 1e-6, "the claimed bound is not one"
        shortfall = (proven - smallest) / proven
        shortfalls.append(shortfall)
        print(
            f"seed {convoy['seed']}: {len(convoy['vehicles'])} vehicles, {len(convoy['items'])} items, "
            f"{convoy['seconds']} s, margin {smallest:.6f}, own bound {convoy['bound']:.6f}, HiGHS found {found:.6f} "
            f"and proves {proven:.6f}, short by {100 * shortfall:.3f} %, {convoy['moves']} moves of "
            f"{convoy['moved_kg']:.0f} kg",
            flush=True,
        )
    if not shortfalls:
        print("nothing to compare", file=sys.stderr)
        return 1
    print(f"{len(shortfalls)} convoys, at most {100 * max(shortfalls):.3f} % short of what is proven")
    return 0 if max(shortfalls) <= WITHIN else 1


if __name__ == "__main__":
    sys.exit(main())
