"""Compares sampled chances of a plan with a simulation written apart, on numpy's beta variates.

Reads what the example `chance_table` prints from standard input: the plan of the demo fleet with bays, people, calendars and
awaited parts, and its network alone. Samples both here and asserts that mean, deviation, quantiles and chances agree within five
standard errors of both samples together. With `--time` it prints only the seconds that a million samples of the network by whole columns
and 100,000 of the plan (measured over fewer) take. Needs numpy.
"""

import heapq
import sys
import time

import numpy as np

WEEK, DAY = 10_080, 1_440
FLOOR_SAMPLES = 6_000
NETWORK_SAMPLES = 200_000
ERRORS_ALLOWED = 5.0
TIMED_SAMPLES = 1_000


class Plan:
    """A plan as printed, and what was found for it."""

    def __init__(self) -> None:
        self.start = self.assumed_order = self.samples = 0
        self.resources: dict[str, tuple[int, int | None, list[tuple[int, int]]]] = {}
        self.parts: dict[str, tuple[float, float, float, int | None]] = {}
        self.jobs: list[tuple[str, tuple[float, float, float], str, list[str], str]] = []
        self.mean = self.deviation = 0.0
        self.quantiles: list[tuple[float, float]] = []
        self.ready: list[tuple[int, float]] = []


def read(lines) -> list[Plan]:
    plans, plan = [], Plan()
    for line in lines:
        word, *values = line.split()
        if word in ("start", "assumed_order", "samples"):
            setattr(plan, word, int(values[0]))
        elif word in ("mean", "deviation"):
            setattr(plan, word, float(values[0]))
        elif word == "resource":
            shifts = []
            for shift in values[3].split(","):
                day, hours = shift.split(":")
                begin, end = hours.split("-")
                shifts.append((int(day) * DAY + int(begin), int(day) * DAY + int(end)))
            first = None if values[2] == "-" else int(values[2])
            plan.resources[values[0]] = (int(values[1]), first, sorted(shifts))
        elif word == "part":
            ordered = None if values[4] == "-" else int(values[4])
            plan.parts[values[0]] = (*map(float, values[1:4]), ordered)
        elif word == "job":
            before = [] if values[5] == "-" else values[5].split(",")
            plan.jobs.append((values[0], tuple(map(float, values[1:4])), values[4], before, values[6]))
        elif word == "quantile":
            plan.quantiles.append((float(values[0]), float(values[1])))
        elif word == "ready":
            plan.ready.append((int(values[0]), float(values[1])))
        elif word == "end":
            plans.append(plan)
            plan = Plan()
    return plans


def pert(random, estimate, count):
    """Beta-PERT variates of (optimistic, likely, pessimistic)."""
    low, likely, high = estimate
    if high == low:
        return np.full(count, low)
    alpha = 1 + 4 * (likely - low) / (high - low)
    return low + (high - low) * random.beta(alpha, 6 - alpha, count)


class Hours:
    """Opening hours as stretches of absolute minutes. 1970-01-01 was a Thursday: day 3 of a week from Monday."""

    def __init__(self, start: int, first: int | None, shifts: list[tuple[int, int]]) -> None:
        monday = start - (start + 3 * DAY) % WEEK
        self.stretches = []
        for week in range(60):
            for begin, end in shifts:
                begin, end = monday + week * WEEK + begin, monday + week * WEEK + end
                begin = max(begin, first) if first is not None else begin
                if begin < end:
                    self.stretches.append((begin, end))
        self.ends = [end for _, end in self.stretches]

    def at(self, moment: int) -> int:
        low, high = 0, len(self.ends)
        while low < high:
            middle = (low + high) // 2
            if self.ends[middle] <= moment:
                low = middle + 1
            else:
                high = middle
        return low

    def next_open(self, moment: int) -> int:
        return max(moment, self.stretches[self.at(moment)][0])

    def finish(self, moment: int, work: int) -> int:
        index = self.at(moment)
        while work > 0:
            begin, end = self.stretches[index]
            begin = max(begin, moment)
            if end - begin >= work:
                return begin + work
            work -= end - begin
            index += 1
        return moment


def floor(plan: Plan, hours, work, earliest) -> int:
    """The last finish when whoever comes free takes the first job in the order that can start."""
    free = {name: capacity for name, (capacity, _, _) in plan.resources.items()}
    index = {job[0]: number for number, job in enumerate(plan.jobs)}
    open_before = [len(job[3]) for job in plan.jobs]
    after = [[] for _ in plan.jobs]
    for number, job in enumerate(plan.jobs):
        for before in job[3]:
            after[index[before]].append(number)
    waiting, events, now, last = [], [], plan.start, plan.start

    def ready(number: int) -> None:
        if earliest[number] > now:
            heapq.heappush(events, (earliest[number], 0, number))
        else:
            waiting.append(number)

    for number in range(len(plan.jobs)):
        if open_before[number] == 0:
            ready(number)
    while True:
        waiting.sort()
        wake, left = None, []
        for number in waiting:
            name = plan.jobs[number][2]
            if free[name] == 0:
                left.append(number)
                continue
            opens = hours[name].next_open(now) if work[number] > 0 else now
            if opens > now:
                wake = opens if wake is None else min(wake, opens)
                left.append(number)
                continue
            free[name] -= 1
            finish = hours[name].finish(now, work[number])
            heapq.heappush(events, (finish, 1, number))
            last = max(last, finish)
        waiting = left
        if not events and wake is None:
            assert not waiting
            return last
        now = min(moment for moment in (wake, events[0][0] if events else None) if moment is not None)
        while events and events[0][0] <= now:
            _, finishes, number = heapq.heappop(events)
            if not finishes:
                waiting.append(number)
                continue
            free[plan.jobs[number][2]] += 1
            for follower in after[number]:
                open_before[follower] -= 1
                if open_before[follower] == 0:
                    ready(follower)


def arrivals(plan: Plan, random, count):
    """Arrival of each part; one on its way arrives later than it has been waited for."""
    found = {}
    for name, (low, likely, high, ordered) in plan.parts.items():
        since = plan.assumed_order if ordered is None else ordered
        waited = max(0.0, (plan.start - since) / DAY)
        lead = pert(random, (low, likely, high), count)
        while (short := lead <= waited).any():
            lead[short] = pert(random, (low, likely, high), int(short.sum()))
        found[name] = since + lead * DAY
    return found


def sample_floor(plan: Plan, random, count):
    hours = {name: Hours(plan.start, first, shifts) for name, (_, first, shifts) in plan.resources.items()}
    work = np.array([np.rint(60 * pert(random, job[1], count)) for job in plan.jobs]).astype(int).T.tolist()
    parts = arrivals(plan, random, count)
    begins = np.array([parts[job[4]] if job[4] != "-" else np.full(count, plan.start) for job in plan.jobs])
    begins = np.ceil(begins).astype(int).T.tolist()
    return np.array([floor(plan, hours, work[k], begins[k]) - plan.start for k in range(count)])


def sample_network(plan: Plan, random, count):
    """By whole columns: the fastest plain numpy."""
    finishes = {}
    todo = list(plan.jobs)
    while todo:
        job = todo.pop(0)
        if any(before not in finishes for before in job[3]):
            todo.append(job)
            continue
        start = np.zeros(count)
        for before in job[3]:
            start = np.maximum(start, finishes[before])
        finishes[job[0]] = start + 60 * pert(random, job[1], count)
    return np.max(list(finishes.values()), axis=0)


def compare(title: str, plan: Plan, finishes) -> float:
    """The greatest difference, in standard errors of both samples together."""
    count = len(finishes)
    both = (1 / count + 1 / plan.samples) ** 0.5
    deviation = float(finishes.std())
    # Moments of a distribution that is not normal: the error of the deviation by the fourth moment.
    fourth = float(((finishes - finishes.mean()) ** 4).mean())
    of_deviation = ((fourth - deviation**4) / (4 * deviation**2)) ** 0.5
    rows = [
        ("mean", plan.mean, float(finishes.mean()), deviation * both),
        ("deviation", plan.deviation, deviation, of_deviation * both),
    ]
    for minute, share in plan.ready:
        here = float((finishes <= minute).mean())
        rows.append((f"ready by {minute}", share, here, max((here * (1 - here)) ** 0.5, 0.01) * both))
    worst = 0.0
    for name, there, here, error in rows:
        worst = max(worst, abs(there - here) / error)
        print(f"{title}: {name}: {there:.4f}, here {here:.4f} +- {error:.4f}")
    for share, minute in plan.quantiles:
        here = float((finishes <= minute).mean())
        # A quantile is read from bins: half a bin of 32 minutes may be off.
        near = float(((finishes > minute - 32) & (finishes <= minute + 32)).mean())
        worst = max(worst, max(0.0, abs(here - share) - near) / max((share * (1 - share)) ** 0.5 * both, 1e-9))
    return worst


def timed(sample, plan: Plan, random, count: int) -> float:
    began = time.perf_counter()
    sample(plan, random, count)
    return time.perf_counter() - began


def main() -> int:
    plans = read(sys.stdin)
    if len(plans) != 2:
        print("two plans are expected", file=sys.stderr)
        return 1
    random = np.random.default_rng(17)
    if sys.argv[1:] == ["--time"]:
        network = timed(sample_network, plans[1], random, 1_000_000)
        floor_s = timed(sample_floor, plans[0], random, TIMED_SAMPLES) * 100_000 / TIMED_SAMPLES
        print(f"{network:.3f} {floor_s:.3f}")
        return 0
    worst = compare("floor", plans[0], sample_floor(plans[0], random, FLOOR_SAMPLES))
    worst = max(worst, compare("network", plans[1], sample_network(plans[1], random, NETWORK_SAMPLES)))
    print(f"greatest difference: {worst:.2f} standard errors")
    return 0 if worst <= ERRORS_ALLOWED else 1


if __name__ == "__main__":
    sys.exit(main())
