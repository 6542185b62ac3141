"""Growth of one forecast in members and in length of climate, and its ratio to a loop over a general solver.

Run with `python3 tools/dev.py bench`, or by itself with a number of holds. Prints tables; nothing here passes or fails
on milliseconds. Set OMP_NUM_THREADS=1: the promise is per core, and small arrays only lose by sharing one.
"""

import resource
import sys
import time
import tracemalloc
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import datetime, timedelta, timezone

import numpy as np
from scipy.integrate import solve_ivp

from findhold.keep.draws import draw
from findhold.keep.forecast import forecast
from findhold.keep.inputs import Climate, HoldInputs
from findhold.keep.inside import inside_of
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


def full_equations(hold: HoldInputs, run: int) -> Callable[[float, np.ndarray], list[float]]:
    """The coupled box of one run as a general solver takes it: block, condensate, water lost, growth clock."""
    draws = draw(hold, 20, 1)
    response = respond(hold, draws)
    box = inside_of(hold, response.heat, response.tau_s / response.heat.total)
    series_s, series_c = hold.climate.series_s, hold.climate.series_temp_c
    assert series_s is not None
    assert series_c is not None
    out = float(response.ways.total_kg_per_s_pa(np.asarray(5.0))[run])
    total, share = response.heat.total * draws.heat_path[run], response.heat.wall_share
    inner, film = box.inner_kg_per_s_pa * draws.inner_path[run], box.film_kg_per_s_pa
    offset_k, rh = draws.temp_offset_k[run], 0.7 + draws.rh_offset[run]

    def rates(t: float, state: np.ndarray) -> list[float]:
        block_c, lid_kg = state[0], state[1]
        air_c = float(np.interp(t, series_s, series_c)) + offset_k
        lid_c = air_c + share * (block_c - air_c)
        block_pa, lid_pa, air_pa = saturation_over_water_pa(np.array([block_c, lid_c, air_c])).tolist()
        inside_pa = (inner * block_pa + out * rh * air_pa + film * lid_pa) / (inner + out + film)
        to_lid = film * (inside_pa - lid_pa)
        # A lid that runs dry stops giving; a tenth of a milligram makes the switch smooth for the solver.
        to_lid = to_lid if to_lid > 0.0 else to_lid * max(lid_kg, 0.0) / (max(lid_kg, 0.0) + 1e-7)
        inside_pa = (inner * block_pa + out * rh * air_pa - to_lid) / (inner + out)
        gone = inner * (block_pa - inside_pa)
        heat = (block_c - air_c) / total + 2.49e6 * (gone - share * to_lid)
        pace = float(growth_rate_per_s(block_c, 1.0))
        return [-heat / box.heat_capacity_j_per_k, to_lid, gone - to_lid, pace]

    return rates


def solver_loop(hold: HoldInputs, runs: int, days: float, rtol: float) -> list[float]:
    """Water lost [g] by a few runs, each through a general stiff solver."""
    lost = []
    for run in range(runs):
        atol = [100.0 * rtol, 1e-4 * rtol, 1e-4 * rtol, rtol]
        start = [hold.find_temp_c, 0.0, 0.0, 0.0]
        rates = full_equations(hold, run)
        found = solve_ivp(rates, (0.0, days * DAY), start, "LSODA", rtol=rtol, atol=atol, max_step=2.0 * 3600.0)
        lost.append(1000.0 * float(found.y[2, -1]))
    return lost


def busy_hold(number: int) -> HoldInputs:
    """One of many different holds, 20 to 60 days of hourly climate."""
    place = logged(20 + number % 41)
    return replace(HOLD, climate=place, lid_air_changes_per_day=0.1 + 0.002 * number, find_temp_c=10.0 + number % 9)


def forecast_one(number: int) -> int:
    """Forecast one hold with 1,000 members; its number back."""
    forecast(busy_hold(number), members=1000)
    return number


def many(count: int) -> float:
    """Seconds for many holds in two processes."""
    start = time.perf_counter()
    with ProcessPoolExecutor(max_workers=2) as pool:
        done = sum(1 for _ in pool.map(forecast_one, range(count), chunksize=25))
    assert done == count
    return time.perf_counter() - start


def compare() -> None:
    """The ensemble beside a loop over a general solver, in one run on one machine."""
    hold, runs = replace(HOLD, climate=logged(60), open_at=PACKED + timedelta(days=60)), 3
    exact = solver_loop(hold, 1, 60.0, 1e-8)[0]
    start = time.perf_counter()
    rough = solver_loop(hold, runs, 60.0, 1e-5)
    each = (time.perf_counter() - start) / runs
    ours_g = forecast(hold, members=20).water_loss_g.best
    print(f"\nwater lost in 60 d: solver at 1e-8 {exact:.5f} g, at 1e-5 {rough[0]:.5f} g, ours {ours_g:.5f} g")
    for members in (1000, 10_000):
        ours = seconds(lambda members=members: forecast(hold, members=members)) / members
        print(
            f"general solver, one run of 60 d: {each:.3f} s; ours, one of {members}: {1000.0 * ours:.4f} ms; "
            f"ratio {each / ours:,.0f} (promise: 100 or more)"
        )


def main() -> None:
    """Print the tables."""
    print("place            members   seconds   per 1,000   peak MB")
    for name, place in (("steady", HOLD.climate), ("60 d hourly", logged(60))):
        hold = replace(HOLD, climate=place)
        for members in (20, 1000, 10_000, 50_000):
            taken = seconds(lambda hold=hold, members=members: forecast(hold, members=members))
            peak = peak_mb(lambda hold=hold, members=members: forecast(hold, members=members))
            print(f"{name:15s} {members:8d}  {taken:8.4f}   {1000.0 * taken / members:9.4f}  {peak:8.1f}")
    print("promise: 60 d hourly, 10,000 members under 1 s and under 300 MB; steady, smallest ensemble under 10 ms")
    print("\nhourly days   seconds (1,000 members)")
    for days in (15, 30, 60, 120, 240):
        hold = replace(HOLD, climate=logged(days))
        print(f"{days:11d}   {seconds(lambda hold=hold: forecast(hold, members=1000)):.4f}")
    hold = replace(HOLD, climate=logged(60), closure="no lid")
    print(f"\nno lid, every run by itself, 1,000 members: {seconds(lambda: forecast(hold, members=1000)):.3f} s")
    compare()
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    taken, used = many(count), resource.getrusage(resource.RUSAGE_CHILDREN)
    core_s = used.ru_utime + used.ru_stime
    print(f"\n{count} holds of 20-60 d hourly, 1,000 members each, two processes: {taken:.0f} s ({core_s:.0f} core-s)")
    print("promise: 2,000 under 60 s")


if __name__ == "__main__":
    main()
