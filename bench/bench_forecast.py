"""Growth of one forecast in members and in length of climate, and its ratio to a loop over a general solver.

Run with `python3 tools/dev.py bench`. Prints tables; nothing here passes or fails on milliseconds.
"""

import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta, timezone

import numpy as np
from scipy.integrate import solve_ivp

from findhold.keep.draws import draw
from findhold.keep.forecast import forecast
from findhold.keep.inputs import Climate, HoldInputs
from findhold.keep.response import respond
from findhold.physics.moist_air import saturation_over_water_pa
from findhold.physics.mould import growth_rate_per_s

PACKED = datetime(2026, 7, 20, 10, tzinfo=timezone(timedelta(hours=1)))
DAY = 86400.0


def logged(days: int) -> Climate:
    """Hourly readings of a refrigerator with a daily swing, failing for 31 hours on the fourth day."""
    time_s = 3600.0 * np.arange(24 * days + 1)
    failed = (time_s > 3.0 * DAY) & (time_s < 3.0 * DAY + 31.0 * 3600.0)
    temp_c = 4.0 + np.sin(2.0 * np.pi * time_s / DAY) + np.where(failed, 10.0, 0.0)
    return Climate(temp_c=5.0, rh=0.7, series_s=time_s, series_temp_c=temp_c)


HOLD = HoldInputs(
    find_class="medium resistant",
    wrapping_class="sensitive",
    state="damp",
    block_m=(0.12, 0.10, 0.06),
    block_mass_kg=1.2,
    block_water_kg=0.24,
    wrapping_dry_kg=0.02,
    wrapping_water_kg=0.03,
    cushion_m=0.02,
    box_inside_m=(0.30, 0.20, 0.10),
    wall="PP",
    wall_m=0.0012,
    lid_air_changes_per_day=None,
    climate=Climate(temp_c=4.0, rh=0.7),
    exposed_at=PACKED,
    packed_at=PACKED,
    open_at=PACKED + timedelta(days=21),
    find_temp_c=16.0,
    gross_mass_kg=2.0,
    check_at=(PACKED + timedelta(days=7), PACKED + timedelta(days=14)),
)


def seconds(work: Callable[[], object]) -> float:
    """Best of three runs [s]."""
    taken = []
    for _ in range(3):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def peak_mb(work: Callable[[], object]) -> float:
    """Largest memory in use during one run [MB]."""
    tracemalloc.start()
    work()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak / 1e6


def solver_loop(hold: HoldInputs, runs: int, days: float) -> None:
    """Temperature, water and growth clock of a few runs, each through a general solver."""
    draws = draw(hold, 20, 1)
    response = respond(hold, draws)
    series_s, series_c = hold.climate.series_s, hold.climate.series_temp_c
    assert series_s is not None
    assert series_c is not None
    for run in range(1, runs + 1):
        offset_k = draws.temp_offset_k[run]

        def rates(t: float, state: np.ndarray, offset_k: float = offset_k) -> list[float]:
            air_c = np.interp(t, series_s, series_c) + offset_k
            pressure_pa = saturation_over_water_pa(min(state[0], air_c)) - 0.7 * saturation_over_water_pa(air_c)
            pace = growth_rate_per_s(state[0], 1.0)
            return [(air_c - state[0]) / response.tau_s, 2e-13 * pressure_pa, float(pace)]

        solve_ivp(rates, (0.0, days * DAY), [16.0, 0.0, 0.0], rtol=1e-6, atol=1e-9, max_step=3600.0)


def main() -> None:
    """Print the tables."""
    print("place            members   seconds   per 1,000   peak MB")
    for name, place in (("steady", HOLD.climate), ("60 d hourly", logged(60))):
        hold = replace(HOLD, climate=place)
        for members in (100, 1000, 10_000, 50_000):
            taken = seconds(lambda hold=hold, members=members: forecast(hold, members=members))
            peak = peak_mb(lambda hold=hold, members=members: forecast(hold, members=members))
            print(f"{name:15s} {members:8d}  {taken:8.4f}   {1000.0 * taken / members:9.4f}  {peak:8.1f}")
    print("promise: 60 d hourly, 10,000 members under 1 s and under 300 MB")
    print("\nhourly days   seconds (1,000 members)")
    for days in (15, 30, 60, 120, 240):
        hold = replace(HOLD, climate=logged(days))
        print(f"{days:11d}   {seconds(lambda hold=hold: forecast(hold, members=1000)):.4f}")
    busy = [replace(HOLD, climate=logged(20 + k), lid_air_changes_per_day=0.1 + 0.02 * k) for k in range(40)]
    start = time.perf_counter()
    for hold in busy:
        forecast(hold, members=1000)
    print(
        f"\n2,000 holds of 20-60 d hourly, 1,000 members each: {50.0 * (time.perf_counter() - start):.0f} s on one core"
    )
    print("promise: under 60 s on two cores (scaled from 40 holds)")
    hold, runs = replace(HOLD, climate=logged(60)), 3
    start = time.perf_counter()
    solver_loop(hold, runs, 60.0)
    each = (time.perf_counter() - start) / runs
    ours = seconds(lambda: forecast(hold, members=1000)) / 1000.0
    print(f"\ngeneral solver, one run of 60 d: {each:.3f} s; ours, one run of 1,000: {1000.0 * ours:.4f} ms")
    print(f"ratio: {each / ours:,.0f}")


if __name__ == "__main__":
    main()
