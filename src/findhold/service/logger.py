"""A logger's file as the surroundings of a box."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

import numpy as np

from findhold.check.logger import read_logger
from findhold.dates.instants import split_utc
from findhold.errors import BadInput, Mistakes
from findhold.keep.inputs import Climate


def logged_climate(path: Path, *, packed_at: datetime, zone: str | None, stated: Mapping[str, float | None]) -> Climate:
    """The climate that a logger saw, in seconds since packing; after its end `temp_c` goes on, or the series' mean.

    `stated` holds what was stated beside the file: temp_c, rh and the swings.

    Raises
    ------
    BadInput : the file cannot be read, or it has no temperature.
    Mistakes : the file leaves a question (day and month) that only a person can answer.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        wrong = f"the logger file cannot be read ({error.strerror})"
        raise BadInput(wrong, where=str(path), do="Check the path") from error
    series = read_logger(data, path.name, zone=zone)
    if series.questions:
        raise Mistakes(questions=list(series.questions))
    if series.temp_c is None:
        raise BadInput(
            "the logger file has no temperature", where=path.name, do="Give the file of a logger that measures it"
        )
    packed_utc = np.datetime64(split_utc(packed_at)[0].replace(tzinfo=None), "s")
    seconds = (series.at - packed_utc).astype("timedelta64[s]").astype(np.float64)
    known = np.isfinite(series.temp_c)
    if series.rh is not None:
        known &= np.isfinite(series.rh)
    return Climate(
        temp_c=stated.get("temp_c"),
        rh=None if series.rh is not None else stated.get("rh"),
        series_s=seconds[known],
        series_temp_c=series.temp_c[known],
        series_rh=series.rh[known] if series.rh is not None else None,
        swing_k=stated.get("swing_k"),
        cycles_per_day=stated.get("cycles_per_day"),
        barometric_pa_per_day=stated.get("barometric_pa_per_day"),
    )
