"""Check the stance of random linear vehicles against an independent general solver.

Reads the lines of `cargo run -p ostler-core --example stance_random -- SEED COUNT` from standard input
(or runs it when given SEED and COUNT) and solves each vehicle anew with numpy: all 17 unknowns at once (body
movement, hub rises, spring forces, bar moments, ground forces), one equation for each law, by LU of the
whole unsymmetric matrix. Nothing of the reduction to normal equations is shared with the code under test.

    python check_stance.py 1 1000
    ... --example stance_random -- 1 1000 | python check_stance.py
"""

import json
import math
import subprocess
import sys

import numpy

G = 9.80665
TOLERANCE = 1e-9


def solve(vehicle):
    """Unknowns: 0 heave at mid wheelbase, 1 pitch slope (per m), 2 roll slope (per m), 3-6 hub rises, 7-10 spring
    forces, 11-12 bar moments (N m), 13-16 ground forces (kN throughout for forces)."""
    matrix = numpy.zeros((17, 17))
    right = numpy.zeros(17)
    half = vehicle["wheelbase_mm"] / 2
    weight = vehicle["mass_kg"] * G / 1000

    # Body: heave, pitch and roll balance.
    right[0] = weight
    right[1] = weight * (vehicle["x_mm"] - half) / 1000
    right[2] = weight * vehicle["y_mm"] / 1000
    for wheel, station in enumerate(vehicle["stations"]):
        axle = vehicle["axles"][wheel // 2]
        side = 1 if wheel % 2 else -1
        x = (-half if wheel < 2 else half) / 1000
        y_spring = side * (axle["spring_spacing_mm"] or axle["track_mm"]) / 2000
        y_wheel = side * axle["track_mm"] / 2000
        ratio = station["motion_ratio"] * math.cos(math.radians(station["installation_angle_deg"]))
        first = wheel // 2 * 2
        spring, ground, hub = 7 + wheel, 13 + wheel, 3 + wheel

        matrix[0, spring] += ratio
        matrix[1, spring] += ratio * x
        matrix[2, spring] += ratio * y_spring

        # Axle: vertical balance (row of its left wheel) and roll balance (row of its right wheel) for a
        # beam; for independent wheels each hub by itself, with the bar's link force at the track. What the bar
        # does to the body it does to the axle in reverse.
        unsprung = station["unsprung_mass_kg"] * G / 1000
        bar = 11 + wheel // 2
        if axle["spring_spacing_mm"] is None:
            matrix[hub, ground] = 1
            matrix[hub, spring] = -ratio
            matrix[hub, bar] = -side / axle["track_mm"]
            right[hub] = unsprung
        else:
            matrix[3 + first, ground] += 1
            matrix[3 + first, spring] -= ratio
            right[3 + first] += unsprung
            matrix[4 + first, ground] += y_wheel
            matrix[4 + first, spring] -= ratio * y_spring
            right[4 + first] += unsprung * y_wheel
            if wheel % 2 == 0:
                matrix[4 + first, bar] -= 1 / 1000

        # Spring law: force = rate * (free length - length), length by the movement of its two ends.
        rate = station["rate_n_per_mm"] / 1000
        share = y_spring / (2 * abs(y_wheel))
        matrix[spring, spring] = 1
        matrix[spring, 3 + first] = -rate * ratio * (0.5 - share)
        matrix[spring, 4 + first] = -rate * ratio * (0.5 + share)
        matrix[spring, 0] = rate * ratio
        matrix[spring, 1] = rate * ratio * x
        matrix[spring, 2] = rate * ratio * y_spring
        right[spring] = rate * (station["free_length_mm"] - station["length_at_reference_mm"])

        # Ground: a rigid tyre holds the hub; one that yields has its law.
        if axle["tyre"] is None:
            matrix[ground, hub] = 1
        else:
            tyre_rate, at_radius = axle["tyre"]
            matrix[ground, ground] = 1
            matrix[ground, hub] = tyre_rate / 1000
            right[ground] = at_radius / 1000
    for index, axle in enumerate(vehicle["axles"]):
        # Bar: moment on the body against its roll relative to the axle, N m; slopes are mm per m = 1e-3 rad.
        bar, left, right_hub = 11 + index, 3 + 2 * index, 4 + 2 * index
        stiffness = axle["anti_roll_bar_nm_per_rad"]
        matrix[bar, bar] = 1
        matrix[bar, 2] = stiffness / 1000
        matrix[bar, right_hub] = -stiffness / axle["track_mm"]
        matrix[bar, left] = stiffness / axle["track_mm"]
        matrix[2, bar] = 1 / 1000
    return numpy.linalg.solve(matrix, right)


def compare(vehicle):
    """Largest difference in each kind of quantity, relative to the largest of that kind in this vehicle."""
    expected = solve(vehicle)
    rises = numpy.concatenate([expected[:3], expected[3:7]])
    mine_rises = [vehicle["heave_mm"], vehicle["pitch_slope"] * 1000, vehicle["roll_slope"] * 1000]
    mine_rises += vehicle["hub_rise_mm"]
    forces = numpy.concatenate([expected[7:11], expected[13:17]]) * 1000
    mine_forces = vehicle["spring_force_n"] + vehicle["load_n"]
    differences = []
    for value, mine in ((rises, mine_rises), (forces, mine_forces)):
        differences.append(numpy.max(numpy.abs(value - numpy.array(mine))) / numpy.max(numpy.abs(value)))
    return max(differences)


def main():
    if len(sys.argv) == 3:
        command = ["cargo", "run", "--quiet", "-p", "ostler-core", "--example", "stance_random", "--", *sys.argv[1:]]
        lines = subprocess.run(command, check=True, capture_output=True, text=True).stdout.splitlines()
    else:
        lines = sys.stdin.read().splitlines()
    if not lines:
        sys.exit("no vehicles to check")
    worst = max(compare(json.loads(line)) for line in lines)
    print(f"{len(lines)} vehicles, largest relative difference {worst:.3g}")
    if not worst <= TOLERANCE:
        sys.exit(f"above the tolerance of {TOLERANCE}")


if __name__ == "__main__":
    main()
