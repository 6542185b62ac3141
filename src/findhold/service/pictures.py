"""Pictures of a forecast: charts and strip as SVG files, and the forecast sheet, for a scenario and for the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import numpy.typing as npt

from findhold.dates.instants import day_for_people, zone_named
from findhold.draw.series import COLUMN_MM, thinned
from findhold.draw.svg import to_svg
from findhold.keep.forecast import series
from findhold.keep.inputs import HoldInputs, seconds_between
from findhold.keep.series import BandSeries
from findhold.paper.charts import Bands, HoldCurves, hold_charts
from findhold.paper.forecast_sheet import WIDTH_MM, ForecastSheet, OptionRow, forecast_sheet_pdf
from findhold.paper.strip import StripArgs, strip_drawing
from findhold.service.answers import cited
from findhold.service.case import Case, Kept, hold_inputs
from findhold.service.folder import file_name, write_file
from findhold.service.holds import Held
from findhold.service.office import Office, wall_clock
from findhold.service.papers import limit_row, strip_of, what_to_do
from findhold.service.whatif import KeepAnswer
from findhold.store.ledger import Thing

Array = npt.NDArray[np.float64]

_EVEN_POINTS = 480
_EARLY_POINTS = 120
_EARLY_S = 2 * 86400.0
"""Times stand closer in the first two days, while the block cools [s]."""
_LOGGED_COLUMNS = 300
"""A logged place is read at the extremes of this many stretches, so that no failure is missed."""

_NO_GROWTH = "no chart of growth on the find: under water growth in air does not reach it"


def draw_scenario(answer: KeepAnswer, source: Path, out: Path, *, now: datetime | None = None) -> tuple[str, ...]:
    """Write charts, strip and forecast sheet of a scenario into a folder; all are made before the first is written.

    Parameters
    ----------
    answer : the forecast.
    source : the scenario file, which names the pictures.
    out : the folder, made when it is missing.
    now : the instant printed on the sheet; None takes the clock.

    Returns
    -------
    The files.
    """
    case, kept = answer.case, answer.kept
    curves, strip = _curves(case, kept), _strip(case, kept)
    printed_at = (now or wall_clock()).astimezone(zone_named(case.zone))
    sheet = _sheet(case, kept, curves, strip, {"what": case.title, "printed_at": printed_at}, None)
    named = _charts(curves, strip, (source.stem,))
    named[file_name(source.stem, "forecast-sheet", ending=".pdf")] = forecast_sheet_pdf([sheet], date=printed_at)
    return _written(named, out)


def draw_finds(office: Office, site: Thing, held: Sequence[Held], out: Path) -> tuple[str, ...]:
    """Write charts and strip of each hold, and their forecast sheets as one file, into a folder."""
    named: dict[str, bytes] = {}
    for one in held:
        if one.kept is not None:
            named |= _charts(_curves(one.case, one.kept), _strip(one.case, one.kept), (site.number, one.number))
    if not named:
        return ()
    several = f"{len(held)}-finds" if len(held) > 1 else held[0].number
    name = file_name(site.number, several, "forecast-sheets" if len(held) > 1 else "forecast-sheet", ending=".pdf")
    named[name] = forecast_sheets(office, site, held)
    return _written(named, out)


def forecast_sheets(office: Office, site: Thing, held: Sequence[Held]) -> bytes:
    """One A4 page for each hold with a forecast, as one PDF.

    Raises
    ------
    BadInput : there is no such hold, or a page would be too full to read.
    """
    _, seal = office.ledger.head()
    printed_at = office.in_site_zone(office.now(), site)
    sheets = []
    for one in held:
        if one.kept is None:
            continue
        facts = one.find.facts
        words = {
            "what": facts.get("what") or f"find {one.number}",
            "material": one.plan.material,
            "state": one.plan.state,
            "place": _place(one),
            "site_code": site.number,
            "site_name": site.facts["name"],
            "find_number": one.number,
            "find_id": one.find_id,
            "box_id": one.box_id or "",
            "ledger_seal": seal,
            "person": office.person,
            "symbol": "triangle" if facts.get("kind", "registered") == "registered" else "none",
            "printed_at": printed_at,
        }
        sheets.append(
            _sheet(one.case, one.kept, _curves(one.case, one.kept), _strip(one.case, one.kept), words, printed_at)
        )
    return forecast_sheet_pdf(sheets, date=printed_at)


def _place(one: Held) -> str:
    facts = one.find.facts
    words = (f"context {facts['context']}" if facts.get("context") else "", facts.get("store") or "")
    return " · ".join(word for word in words if word)


def _sheet(
    case: Case, kept: Kept, curves: HoldCurves, strip: StripArgs, words: dict[str, object], seen_at: datetime | None
) -> ForecastSheet:
    """The forecast as its sheet prints it; `words` are the facts of the find and of the printing.

    What to do is told as seen at an instant; None for a scenario, which is told as seen at its packing.
    """
    told = kept.forecast
    facts = {"material": kept.plan.material, "state": kept.plan.state, **words}
    return ForecastSheet(
        **facts,  # type: ignore[arg-type]  # names and texts, checked by the sheet's tests
        answer=answer_words(case, kept),
        what_to_do=what_to_do(case, kept, seen_at),
        curves=curves,
        strip=strip,
        limits=tuple(limit_row(limit, case.zone) for limit in told.limits),
        options=tuple(
            OptionRow(
                do=option.text,
                gain_days=option.gain_days,
                keep_until=_day(option.keep_until, case.zone),
                work=option.work,
            )
            for option in kept.options
        ),
        options_note=_options_note(kept),
        decides=told.dominant,
        figures=_figures(case, kept, with_find=curves.growth_find is not None),
        notes=(*told.notes, *([_NO_GROWTH] if curves.growth_find is None else [])),
        assumptions=(*kept.assumed, *told.assumptions, *kept.plan.assumptions),
        sources=tuple(dict.fromkeys(cited(key) for key in (*told.sources, *kept.plan.sources))),
    )


def answer_words(case: Case, kept: Kept) -> str:
    """The answer in one sentence: the date, what governs it, and whether the planned opening keeps it."""
    told = kept.forecast
    first = f"Keep until {_day(told.keep_until, case.zone)} at the latest (limit: {told.governing_limit})"
    if case.open_at is None or told.can_keep is None:
        return f"{first}; no opening is planned."
    verdict = "is in time" if told.can_keep else "is too late"
    return f"{first}; the opening planned for {_day(case.open_at, case.zone)} {verdict}."


def _options_note(kept: Kept) -> str:
    if kept.options:
        helping = any(option.gain_days > 0 for option in kept.options)
        return "" if helping else "Nothing on this list makes the hold longer."
    return "The planned opening is in time: no other way was reckoned." if kept.forecast.can_keep else "None was found."


def _figures(case: Case, kept: Kept, *, with_find: bool) -> tuple[str, ...]:
    """Water lost and growth at the instant of the figures, in words."""
    told = kept.forecast
    loss = told.water_loss_g
    said = [f"water lost {loss.best:.2f} g ({loss.low:.2f} to {loss.high:.2f})"]
    said += [
        f"growth index on {name} {band.best:.2f} ({band.low:.2f} to {band.high:.2f})"
        for name, band in told.growth_index_at_open.items()
        if with_find or name != "find"
    ]
    return (f"By {_day(told.figures_at, case.zone)}: {'; '.join(said)}.",)


def _charts(curves: HoldCurves, strip: StripArgs, parts: tuple[str, ...]) -> dict[str, bytes]:
    """Each picture as SVG by its file name."""
    drawn = {"time": strip_drawing(strip, width_mm=WIDTH_MM), **hold_charts(curves, strip)}
    return {file_name(*parts, name, ending=".svg"): to_svg(one).encode("utf-8") for name, one in drawn.items()}


def _written(named: dict[str, bytes], out: Path) -> tuple[str, ...]:
    return tuple(str(write_file(out / name, data)) for name, data in named.items())


def _strip(case: Case, kept: Kept) -> StripArgs:
    strip = strip_of(case, kept)
    if strip is None:
        raise ValueError("a forecast has its exposure and its packing")
    return strip


def _curves(case: Case, kept: Kept) -> HoldCurves:
    """The forecast over the days of the strip, with the draws of the forecast itself."""
    inputs, _ = hold_inputs(case, kept.plan)
    told, policy = kept.forecast, inputs.policy
    end_s = seconds_between(inputs.packed_at, _strip(case, kept).end)
    over = series(inputs, at_s=_times(inputs, end_s), members=told.members, seed=told.seed)
    wet = inputs.state != "dry"
    return HoldCurves(
        packed_at=inputs.packed_at,
        time_s=over.time_s,
        water_lost_g=_bands(over.water_lost_g),
        block_temp_c=_bands(over.block_temp_c),
        place_temp_c=_bands(over.place_temp_c),
        growth_wrapping=None if over.growth_wrapping is None else _bands(over.growth_wrapping),
        growth_find=None if inputs.submerged else _bands(over.growth_find),
        water_limit_g=1000.0 * policy.water_loss_fraction * inputs.water_kg if wet else None,
        warm_c=policy.warm_c if wet else None,
        freeze_c=policy.freeze_c if wet else None,
        growth_index=policy.growth_index,
    )


def _bands(over: BandSeries) -> Bands:
    return Bands(low=over.low, best=over.best, high=over.high)


def _times(inputs: HoldInputs, end_s: float) -> Array:
    """Times of the curves from packing to the end of the strip, with the extremes of a logged place [s]."""
    even = np.linspace(0.0, end_s, _EVEN_POINTS)
    early = np.linspace(0.0, min(end_s, _EARLY_S), _EARLY_POINTS)
    logged_s, logged_c = inputs.climate.series_s, inputs.climate.series_temp_c
    if logged_s is None or logged_c is None:
        return np.unique(np.concatenate([even, early]))
    inside = (logged_s >= 0.0) & (logged_s <= end_s)
    kept = thinned(logged_s[inside] / end_s * _LOGGED_COLUMNS * COLUMN_MM, logged_c[inside])
    return np.unique(np.concatenate([even, early, logged_s[inside][kept]]))


def _day(at: datetime, zone: str) -> str:
    return day_for_people(at.astimezone(UTC).astimezone(zone_named(zone)).date())
