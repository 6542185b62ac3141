"""How the time of one plan grows with the number of boxes in stock: the promise is 50 ms for 200.

Every box is tried in both quarter turns and, where neither goes in, at every angle, with the convex outline of a scan
of many corners; a third of the boxes taper or have rounded corners. Beside it a block given by its three sizes only.

Run: python bench/bench_plan.py. Prints the best of several runs for each size and the growth from size to size.
"""

from __future__ import annotations

import math
import random
import sys
import time

from findhold.pack.inputs import PlanInputs, StockBox
from findhold.pack.plan import plan_box

SIZES = (25, 50, 100, 200, 400, 800)
RUNS = 15
CORNERS = 120
PROMISED_BOXES = 200
PROMISED_MS = 50.0


def stock_of(count: int, seed: int = 11) -> tuple[StockBox, ...]:
    """A stock of boxes of random size; the seed makes it the same every time."""
    draw = random.Random(seed)
    return tuple(
        StockBox(
            name=f"B{i:04d}",
            inside_mm=(draw.randint(120, 700), draw.randint(120, 500), draw.randint(80, 400)),
            wall=draw.choice(("PP", "HDPE", "PVC", "steel")),
            wall_mm=draw.choice((1.2, 2.0, 3.0)),
            tare_kg=draw.uniform(0.3, 3.0),
            max_load_kg=draw.choice((None, 8.0, 15.0, 30.0)),
            count=draw.choice((None, 0, 3)),
            base_mm=draw.choice((None, None, (115.0, 115.0))),
            corner_mm=draw.choice((0.0, 0.0, 40.0)),
        )
        for i in range(count)
    )


def outline() -> tuple[tuple[float, float], ...]:
    """A convex outline of many corners with the block's length and width: a superellipse."""
    turns = [2 * math.pi * i / CORNERS for i in range(CORNERS)]
    return tuple((130 + 130 * _power(math.cos(t)), 110 + 110 * _power(math.sin(t))) for t in turns)


def _power(value: float) -> float:
    return math.copysign(abs(value) ** 0.6, value)


def best_ms(count: int, *, scanned: bool) -> float:
    """Best time of one plan from a stock of `count` boxes [ms], with or without the outline of a scan."""
    inputs = PlanInputs(
        material="low-fired ceramic",
        state="damp",
        block_mm=(260.0, 220.0, 180.0),
        mass_kg=16.0,
        soil="loam",
        water_content=0.22,
        analyses=("lipid", "radiocarbon"),
        barrier="aluminium foil",
        stock=stock_of(count),
        fridge_inside_mm=(700.0, 600.0, 400.0),
        plan_outline_mm=outline() if scanned else (),
    )
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        plan_box(inputs)
        times.append(time.perf_counter() - start)
    return 1000.0 * min(times)


def main() -> int:
    """Print times and growth; fail when the promise is missed by more than a factor of two."""
    before = None
    slow = False
    for count in SIZES:
        ms, sizes_ms = best_ms(count, scanned=True), best_ms(count, scanned=False)
        slow |= count == PROMISED_BOXES and ms > 2 * PROMISED_MS
        growth = "" if before is None else f"  x{ms / before:.2f} for twice the stock"
        print(
            f"{count:5d} boxes  {ms:7.2f} ms with an outline of {CORNERS} corners, {sizes_ms:7.2f} ms without{growth}"
        )
        before = ms
    print(f"promise: {PROMISED_BOXES} boxes, every one tried at every angle, under {PROMISED_MS:g} ms")
    return int(slow)


if __name__ == "__main__":
    sys.exit(main())
