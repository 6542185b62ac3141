"""The forecast as charts: water lost, temperature, growth on wrapping and find, under one strip of time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
import numpy.typing as npt

from findhold.draw.chart import ChartArgs, Frame, Threshold, Upright, chart_drawing
from findhold.draw.marks import Drawing
from findhold.draw.series import Curve
from findhold.draw.timeaxis import day_words
from findhold.errors import BadInput
from findhold.paper.strip import StripArgs, strip_drawing, strip_room_mm

Array = npt.NDArray[np.float64]

ALONE = Frame(width_mm=186.0, height_mm=70.0)
"""A chart in a file of its own."""
LEAST_STRIP_ROOM_MM = 38.0
"""Room for the words beside a chart [mm]."""
VISIBLE_INDEX = 3.0
"""The growth index at which growth is first seen by the eye (the growth model's own scale; docs/models/growth.md)."""
BAND_WORDS = "hatched: where 90 in 100 runs of the forecast lie"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bands:
    """One quantity with its band, shape (n,) each, in the unit of the field it stands in."""

    low: Array
    best: Array
    high: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldCurves:
    """A forecast over time, and the levels it is read against; None where there is none."""

    packed_at: datetime
    """The instant of time_s = 0."""
    time_s: Array
    water_lost_g: Bands
    block_temp_c: Bands
    place_temp_c: Bands
    growth_wrapping: Bands | None
    """Growth index 0 to 6."""
    growth_find: Bands | None
    """None for a find that growth in air does not reach."""
    water_limit_g: float | None
    warm_c: float | None
    freeze_c: float | None
    growth_index: float
    """The index that ends a hold by the unit's policy."""


def hold_charts(
    curves: HoldCurves, strip: StripArgs, frame: Frame = ALONE, *, named: bool = True
) -> dict[str, Drawing]:
    """The charts of one hold over the days of its strip: "water", "temperature" and "growth".

    Parameters
    ----------
    curves : the forecast over time; may end before the strip does.
    strip : days, zone and the dates that are marked through the charts.
    frame : the paper of each chart.
    named : False leaves the names of the marked dates to a strip drawn above.

    Returns
    -------
    Drawings by name; "growth" is left out when growth in air is not reckoned for anything in the box.

    Raises
    ------
    BadInput : the arrays differ in length, or the paper is too small for the words.
    """
    made = {"water": _water(curves, strip, named), "temperature": _temperature(curves, strip, named)}
    if curves.growth_find is not None or curves.growth_wrapping is not None:
        made["growth"] = _growth(curves, strip, named)
    return {name: chart_drawing(args, frame) for name, args in made.items()}


def stacked(curves: HoldCurves, strip: StripArgs, *, width_mm: float, height_mm: float) -> dict[str, Drawing]:
    """The strip of time and the charts under it, all on the same days from the same edge: "strip" and the charts.

    Parameters
    ----------
    curves, strip : as for `hold_charts`.
    width_mm : of all [mm].
    height_mm : of each chart [mm]; the strip is as high as its words need.
    """
    frame = Frame(width_mm=width_mm, height_mm=height_mm)
    wide = replace(strip, left_mm=frame.left_mm, right_mm=LEAST_STRIP_ROOM_MM)
    right_mm = strip_room_mm(wide, width_mm=width_mm)
    charts = hold_charts(curves, strip, replace(frame, right_mm=right_mm), named=False)
    return {"strip": strip_drawing(replace(wide, right_mm=right_mm), width_mm=width_mm), **charts}


def _water(curves: HoldCurves, strip: StripArgs, named: bool) -> ChartArgs:
    limit = curves.water_limit_g
    lines = (Threshold(value=limit, words=f"limit {_figure(limit)} g"),) if limit is not None else ()
    args = _args("Water lost", "g", strip, curves, named)
    lost = _curve("lost from the box", curves, curves.water_lost_g)
    return replace(args, curves=(lost,), thresholds=lines, floor=0.0, least_span=0.1)


def _temperature(curves: HoldCurves, strip: StripArgs, named: bool) -> ChartArgs:
    lines = []
    if curves.warm_c is not None:
        lines.append(Threshold(value=curves.warm_c, words=f"too warm above {curves.warm_c:g} °C", wanted=True))
    if curves.freeze_c is not None:
        lines.append(Threshold(value=curves.freeze_c, words=f"too cold below {curves.freeze_c:g} °C", wanted=True))
    block = _curve("block", curves, curves.block_temp_c)
    place = replace(_curve("place", curves, curves.place_temp_c), line="fine", hatch=None)
    args = _args("Temperature", "°C", strip, curves, named)
    return replace(args, curves=(place, block), thresholds=tuple(lines), least_span=4.0)


def _growth(curves: HoldCurves, strip: StripArgs, named: bool) -> ChartArgs:
    shown = []
    if curves.growth_wrapping is not None:
        shown.append(_curve("on wrapping", curves, curves.growth_wrapping))
    if curves.growth_find is not None:
        other = _curve("on the find", curves, curves.growth_find)
        shown.append(replace(other, line="dashed", hatch="other band"))
    index = curves.growth_index
    lines = [Threshold(value=index, words=f"policy: index {index:g}", wanted=True)]
    if index != VISIBLE_INDEX:
        lines.append(Threshold(value=VISIBLE_INDEX, words=f"{VISIBLE_INDEX:g}: seen by the eye"))
    args = _args("Growth index", "0 to 6", strip, curves, named)
    return replace(args, curves=tuple(shown), thresholds=tuple(lines), floor=0.0)


def _args(title: str, unit: str, strip: StripArgs, curves: HoldCurves, named: bool) -> ChartArgs:
    """What all charts share: days, zone, marked dates."""
    uprights = []
    for moment in strip.moments:
        if moment.kind not in ("packed", "now", "open", "keep_until"):
            continue
        words = f"{moment.name} {day_words(moment.at.astimezone(strip.zone).date())}" if named else ""
        uprights.append(Upright(at=moment.at, words=words, act=moment.kind == "keep_until"))
    return ChartArgs(
        title=title,
        unit=unit,
        start=strip.start,
        end=strip.end,
        zone=strip.zone,
        origin=curves.packed_at,
        curves=(),
        uprights=tuple(uprights),
        note=BAND_WORDS,
    )


def _curve(name: str, curves: HoldCurves, bands: Bands) -> Curve:
    if len(bands.best) != len(curves.time_s):
        raise BadInput(
            f"{name}: {len(bands.best)} values for {len(curves.time_s)} times",
            where="charts of a hold",
            do="Give one value for each time",
        )
    return Curve(name=name, time_s=curves.time_s, best=bands.best, low=bands.low, high=bands.high)


def _figure(value: float) -> str:
    """A mass in words: three figures, no exponent."""
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"
