"""Growth of reading a logger: 0.3, 1.25 and 5 million rows read, searched for spells and thinned to hours.

The promise is 5 million rows in under 60 s and 1 GB (processor time of one core, each size in a process of its own). It
fails when that is missed by more than a factor of two, or when four times the rows take more than eight times as long.
"""

from __future__ import annotations

import multiprocessing
import resource
import sys
import time

import numpy as np

from findhold.check.excursions import find_excursions, spell_rules
from findhold.check.logger import read_logger
from findhold.service.store_record import packed, thin

SIZES = (312_500, 1_250_000, 5_000_000)
STEP_S = 10
PROMISE_S, PROMISE_MB = 60.0, 1000.0


def made_file(count: int) -> bytes:
    """Readings every ten seconds with a compressor's cycle and one failure in the middle."""
    blocks = [b"Time (UTC),Temperature (C),Humidity (%RH)\n"]
    for first in range(0, count, 100_000):
        place = np.arange(first, min(first + 100_000, count))
        stamps = (np.datetime64("2026-01-01T00:00:00") + place * np.timedelta64(STEP_S, "s")).astype(str).tolist()
        failed = (place > count // 2) & (place < count // 2 + 11_160)
        temps = np.where(failed, 18.0, 4.6 + np.sin(place / 38.2)).round(1).tolist()
        rows = [f"{stamp},{temp},{70 + n % 9}\n" for n, (stamp, temp) in enumerate(zip(stamps, temps, strict=True))]
        blocks.append("".join(rows).encode())
    return b"".join(blocks)


def measure(count: int) -> tuple[float, float, float, int]:
    """Seconds, peak memory above the start [MB], size of the file [MB], spells found."""
    data = made_file(count)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.process_time()
    series = read_logger(data, "logger.csv", zone=None)
    if series.temp_c is None or len(series.at) != count:
        raise RuntimeError(f"{len(series.at)} of {count} readings came in")
    told = find_excursions(series.at, series.temp_c, spell_rules(warm_c=8.0, cold_c=2.0, freeze_c=0.0, spell_hours=1.0))
    packed(thin(series.at, series.temp_c, scale=2))
    taken_s = time.process_time() - start
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return taken_s, (after - before) / 1000.0, len(data) / 1e6, len(told.spells)


def main() -> int:
    """Print one line a size; returns 1 when the promise or the growth is missed by more than a factor of two."""
    bad, last = False, None
    for count in SIZES:
        with multiprocessing.get_context("spawn").Pool(1) as pool:
            taken_s, memory_mb, file_mb, spells = pool.apply(measure, (count,))
        growth = "" if last is None else f"  x{taken_s / last:.1f} for four times the rows"
        print(
            f"{count:9,d} rows, {file_mb:5.0f} MB: {taken_s:6.1f} s, {memory_mb:5.0f} MB more, {spells} spell{growth}"
        )
        bad |= last is not None and taken_s > 8.0 * last
        last = taken_s
    bad |= taken_s > 2.0 * PROMISE_S or memory_mb > 2.0 * PROMISE_MB
    print(f"promise: {SIZES[-1]:,d} rows in under {PROMISE_S:g} s and {PROMISE_MB:g} MB")
    return int(bad)


if __name__ == "__main__":
    sys.exit(main())
