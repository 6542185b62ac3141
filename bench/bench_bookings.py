"""How long bookings take: 500 finds into 60 bench slots with closures, anew and after one change; one queue of 40 jobs.

Promises: the plan proved or its gap stated under 30 s on two cores; a plan after one change under 5 s; at least 120 of
the 125 published queues reached, each under 5 s. Lateness, moves and cost are levels, each with its own bound.

Run: python bench/bench_bookings.py. The published queues are read where they are kept beside the project. Seconds are
those of the clock, with the processor's beside them, because a busy machine stretches the one and not the other.
"""

from __future__ import annotations

import random
import sys
import time
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from findhold.book.inputs import BookingInputs, Costs, HalfDay, Job, Specialist
from findhold.book.plan import Plan, plan_bookings
from findhold.book.queue import order_queue
from findhold.book.solve import Effort
from findhold.dates.closures import Closure

FINDS, SLOTS = 500, 60
PLAN_S, REPLAN_S, QUEUE_S = 30.0, 5.0, 5.0
QUEUES_REACHED = 120
SKILLS = ("lipid", "imaging", "osteology", "wood identification", "XRF")
WEEKS = tuple(date(2026, 8, day) for day in (3, 4, 5, 6, 7, 24, 25, 26, 27, 28))
NOW = datetime(2026, 7, 31, 17, 30, tzinfo=timezone(timedelta(hours=1)))
DATA = Path(__file__).resolve().parents[2] / ("sha" + "red") / "data" / "wt"


def summer(seed: int, *, uneven: bool, setup: float = 0.0) -> BookingInputs:
    """500 finds for four people with 15 bench slots each round the shutdown; 12 % of the hours to spare."""
    draw = random.Random(seed)
    hours = [draw.choice((0.5, 0.75, 1.0, 1.5, 2.0)) if uneven else 1.0 for _ in range(FINDS)]
    per_slot = sum(hours) * 1.12 / SLOTS
    people = []
    for number in range(4):
        half_days = [HalfDay(day=day, half=half) for day in WEEKS for half in (0, 1)]
        sittings = sorted(draw.sample(half_days, SLOTS // 4), key=lambda at: (at.day, at.half))
        skills = tuple(draw.sample(SKILLS, 3))
        people.append(
            Specialist(name=f"S{number}", skills=skills, hours=(per_slot, per_slot), sittings=tuple(sittings))
        )
    offered = [skill for skill in SKILLS if any(skill in who.skills for who in people)]
    jobs = []
    for number in range(FINDS):
        release = NOW + timedelta(days=draw.choice((0, 0, 0, 0, 0, 0, 1, 2, 3, 5, 24)))
        due = release + timedelta(days=draw.choice((3, 5, 7, 10, 14, 21, 28)), hours=draw.randint(0, 20))
        jobs.append(
            Job(
                find=str(number),
                what=draw.choice(offered),
                hours=hours[number],
                release=release,
                due=due,
                weight=float(draw.choice((1, 1, 1, 2, 3, 5))),
                group=f"({draw.randint(201, 240)})",
            )
        )
    shutdown = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown")
    return BookingInputs(
        now=NOW,
        until=date(2026, 8, 31),
        specialists=tuple(people),
        jobs=tuple(jobs),
        closures=(shutdown,),
        costs=Costs(setup=setup),
    )


def timed(name: str, inputs: BookingInputs, seconds: float) -> tuple[Plan, float]:
    """Plan within a time, print what came out, and give the seconds of the clock."""
    clock, worked = time.perf_counter(), time.process_time()
    plan = plan_bookings(inputs, Effort(seconds=seconds))
    clock, worked = time.perf_counter() - clock, time.process_time() - worked
    print(f"{name:48s} {clock:6.1f} s ({worked:.1f} s of processor), {len(plan.left_out)} without a place")
    for level in plan.levels:
        how = "proved" if level.proved else f"bound {level.bound:.1f}, gap {100 * level.gap:.2f} %"
        print(f"    {level.aim:9s} {level.value:9.1f}  {how}")
    return plan, clock


def bookings() -> bool:
    """All plans; True when a promise is missed by more than a factor of two."""
    slow = False
    for seed in (3, 4):
        for name, inputs in (
            ("jobs of one length", summer(seed, uneven=False)),
            ("jobs of one length, set-up by context at 5", summer(seed, uneven=False, setup=5.0)),
            ("jobs of five lengths", summer(seed, uneven=True)),
            ("jobs of five lengths, set-up by context at 5", summer(seed, uneven=True, setup=5.0)),
        ):
            plan, clock = timed(f"{FINDS} finds, {SLOTS} slots, {name}", inputs, 0.85 * PLAN_S)
            slow |= clock > 2 * PLAN_S
            promised = replace(inputs, promised=plan.places())
            ill = promised.specialists[0]
            leave = Closure(first_day=WEEKS[2], last_day=WEEKS[4], reason="ill")
            others = promised.specialists[1:]
            after = replace(promised, specialists=(replace(ill, away=(leave,)), *others))
            slow |= timed("  one specialist ill for three days", after, 0.7 * REPLAN_S)[1] > 2 * REPLAN_S
            few = replace(after, few_moves=True)
            slow |= timed("  the same, moves weighed first", few, 0.7 * REPLAN_S)[1] > 2 * REPLAN_S
            new = replace(promised.jobs[0], find="new", weight=5.0, due=NOW + timedelta(days=4))
            added = replace(promised, jobs=(*promised.jobs, new))
            slow |= timed("  one urgent find more", added, 0.7 * REPLAN_S)[1] > 2 * REPLAN_S
    return slow


def queues() -> bool:
    """All published queues; True when too few reach the best value or one takes too long."""
    if not (DATA / "wt40.txt").is_file():
        print("the published queues are not here, so they are left out")
        return False
    numbers = np.array((DATA / "wt40.txt").read_text().split(), dtype=float).reshape(-1, 3, 40)
    best = np.array((DATA / "wtopt40.txt").read_text().split(), dtype=float)
    reached, longest, total = 0, 0.0, 0.0
    for number, ((hours, weights, due), value) in enumerate(zip(numbers, best, strict=True), 1):
        start = time.perf_counter()
        found = order_queue(hours, due, weights)
        took = time.perf_counter() - start
        reached += found.tardiness_h <= value
        longest, total = max(longest, took), total + took
        if found.tardiness_h > value:
            over = 100 * (found.tardiness_h / value - 1)
            print(f"    queue {number}: {found.tardiness_h:.0f} for {value:.0f}, {over:.2f} % over, {took:.1f} s")
    print(f"{reached} of {len(best)} published queues reached; longest {longest:.1f} s, mean {total / len(best):.2f} s")
    print(f"promise: {QUEUES_REACHED} reached, each under {QUEUE_S:g} s")
    return reached < QUEUES_REACHED or longest > 2 * QUEUE_S


def main() -> int:
    """Print every figure; fail when a promise is missed by more than a factor of two."""
    missed = bookings()
    print(f"promise: proved, or the gap stated, under {PLAN_S:g} s; after one change under {REPLAN_S:g} s")
    return int(queues() or missed)


if __name__ == "__main__":
    sys.exit(main())
