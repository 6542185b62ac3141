"""A logger's file as the surroundings of a box."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

import numpy as np

from findhold.check.excursions import one_by_one
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
    # A wet sensor may say 103 %, and a logger may give one instant twice; a climate has neither.
    at, temp_c = one_by_one(series.at, series.temp_c)
    rh = None
    if series.rh is not None and np.isfinite(series.rh).any():
        rh_at, known = one_by_one(series.at, series.rh.clip(0.0, 1.0))
        rh = np.interp(at.astype(np.int64), rh_at.astype(np.int64), known)
    packed_utc = np.datetime64(split_utc(packed_at)[0].replace(tzinfo=None), "s")
    return Climate(
        temp_c=stated.get("temp_c"),
        rh=stated.get("rh") if rh is None else None,
        series_s=(at - packed_utc).astype("timedelta64[s]").astype(np.float64),
        series_temp_c=temp_c,
        series_rh=rh,
        swing_k=stated.get("swing_k"),
        cycles_per_day=stated.get("cycles_per_day"),
        barometric_pa_per_day=stated.get("barometric_pa_per_day"),
        lid_colder_k=stated.get("lid_colder_k"),
    )
