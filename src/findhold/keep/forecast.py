"""The forecast of one hold: water lost, growth, cooling, limits with bands, keep-until date, mass bands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from findhold.errors import BadInput
from findhold.keep.draws import Draws, draw
from findhold.keep.inner import relative_growth, tissue_gain_kg
from findhold.keep.inputs import Array, HoldInputs, seconds_between
from findhold.keep.limits import (
    ON_FIND,
    ON_WRAPPING,
    TOO_WET,
    WATER,
    Limit,
    ensemble_limit,
    governing,
    paperwork_limits,
    place_limits,
    policy_limit,
)
from findhold.keep.massband import MassBand, mass_bands
from findhold.keep.place import before_packing, time_mean
from findhold.keep.remarks import Figures, assumptions, notes, sources
from findhold.keep.response import respond
from findhold.keep.series import Series, series_of
from findhold.keep.surface import Hold, Surface, index_at, reached_s, surface_of_find, surface_of_wrapping
from findhold.keep.ways import Conductance
from findhold.physics.band import Band, band, band_edges, rank_shares
from findhold.physics.vapour import SECONDS_PER_DAY
from findhold.tables.keeping import growth_laws, mould_rows

COOLING_WINDOW_DAYS = 10.0
COLD_C = 4.0
"""Temperature that cold-equivalent days are told at (common practice for cold stores)."""
CHART_POINTS = 241
LEAST_DRIVER = 0.005
"""Inputs that follow less of the spread than this are not listed as drivers."""


NOTHING = Band(low=0.0, best=0.0, high=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class HourBand:
    """Hours with their band; None where it does not happen within ten days of packing."""

    low: float | None
    best: float | None
    high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """How much of the spread of a result follows one input alone (squared rank correlation)."""

    result: str
    input: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """What is to be expected of one hold, and what ends it."""

    figures_at: datetime
    """The instant of water loss and growth index: the opening, or else the keep-until date."""
    water_loss_g: Band
    conductance_kg_per_s_pa: Conductance
    water_to_lid_g: Band = NOTHING
    """Water that has moved to lid and walls inside, what evaporated again not taken off."""
    drip_g: Band = NOTHING
    """Of that, what has dripped back on to the find."""
    tissue_gain_g: Band = NOTHING
    """Water the wrapping has taken from the block; negative: given to it."""
    cold_equivalent_days: Band = NOTHING
    """Days at 4 degC that the time since exposure stands for, lowest, middle and highest of the growth laws."""
    growth_index_at_open: dict[str, Band]
    """By surface: "find", and "wrapping" when there is one that can feed growth."""
    growth_index_by_class: dict[str, Band]
    """The find's index if it were of each sensitivity class."""
    hours_to_below_8c: HourBand
    """Time of the block above the policy's warm limit (8 degC unless edited)."""
    tau_h: float
    """Time constant of the block's cooling [h]."""
    limits: tuple[Limit, ...]
    keep_until: datetime
    governing_limit: str
    can_keep: bool | None
    mass_band: tuple[MassBand, ...]
    dominant: str
    drivers: tuple[Driver, ...]
    assumptions: tuple[str, ...]
    sources: tuple[str, ...]
    notes: tuple[str, ...]
    members: int
    seed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ends:
    """Limits, the times behind the computed ones, and whether a band had to be widened."""

    limits: tuple[Limit, ...]
    reached_s: dict[str, Array]
    moved: bool


def forecast(inputs: HoldInputs, *, members: int = 1000, seed: int = 1) -> Forecast:
    """Forecast one hold from packing to its limits.

    Not a licence to wait: the unit's policy is one of the limits and the earliest low edge governs.

    Parameters
    ----------
    inputs : the hold as packed; checked when it was put together.
    members : size of the ensemble, 20 to 1000000.
    seed : of the ensemble; the same seed gives the same forecast.

    Returns
    -------
    Best run with 5 and 95 % of the ensemble, limits, keep-until date, mass bands.

    Raises
    ------
    BadInput : the ensemble is too small for its 5 and 95 % points.

    Valid for
        Saturated headspace (until the free water is nearly gone); growth in surfaces in air, 5 to 40 degC.
    Source
        docs/models/forecast.md and the keys in Forecast.sources.
    """
    _check_members(members)
    hold = _hold(inputs, members, seed)
    draws, response = hold.draws, hold.response
    ends = _ends(hold)
    keep_until, name = governing(ends.limits)
    figures_at = inputs.open_at if inputs.open_at is not None else max(keep_until, inputs.packed_at, key=_in_utc)
    at_s = seconds_between(inputs.packed_at, figures_at)
    loss_kg = _loss(hold, np.array([at_s]))[:, 0]
    loss_g, loss_moved = _band_of(1000.0 * loss_kg)
    inner = _inner_water(hold, at_s)
    masses, mass_moved = _masses(hold)
    by_surface, by_class, index_moved = _indices(hold, at_s)
    drivers = _drivers(draws, {**ends.reached_s, "water lost": loss_kg})
    moved = ends.moved or loss_moved or mass_moved or index_moved or any(widened for _, widened in inner)
    return Forecast(
        figures_at=figures_at,
        water_loss_g=loss_g,
        water_to_lid_g=inner[0][0],
        drip_g=inner[1][0],
        tissue_gain_g=inner[2][0],
        cold_equivalent_days=_cold_days(hold, at_s),
        conductance_kg_per_s_pa=_conductance(hold, at_s),
        growth_index_at_open=by_surface,
        growth_index_by_class=by_class,
        hours_to_below_8c=_hours_above(hold),
        tau_h=response.tau_s / 3600.0,
        limits=ends.limits,
        keep_until=keep_until,
        governing_limit=name,
        can_keep=None if inputs.open_at is None else _in_utc(inputs.open_at) <= _in_utc(keep_until),
        mass_band=masses,
        dominant=_dominant(ends, name, drivers),
        drivers=drivers,
        assumptions=assumptions(inputs, draws),
        sources=sources(inputs),
        notes=notes(inputs, draws, response, _figures(loss_g, inner), moved),
        members=members,
        seed=seed,
    )


def series(inputs: HoldInputs, *, at_s: Array | None = None, members: int = 1000, seed: int = 1) -> Series:
    """The forecast over time, for charts: same model, same draws and same seed as `forecast`.

    Parameters
    ----------
    inputs : the hold as packed.
    at_s : instants since packing, 0 or more, increasing, shape (n,) [s]; None: 241 even ones to a little past the
        opening, the last check and the keep-until date.
    members, seed : as `forecast`.

    Returns
    -------
    Bands of water lost, temperatures and growth at those instants.

    Raises
    ------
    BadInput : instants before packing or out of order; ensemble too small.

    Source
        As `forecast`.
    """
    _check_members(members)
    hold = _hold(inputs, members, seed)
    if at_s is None:
        keep_until, _ = governing(_ends(hold).limits)
        named = [keep_until, *inputs.check_at, *([] if inputs.open_at is None else [inputs.open_at])]
        last_s = max(SECONDS_PER_DAY, *(seconds_between(inputs.packed_at, when) for when in named))
        at_s = np.linspace(0.0, 1.15 * last_s, CHART_POINTS)
    if len(at_s) == 0 or at_s[0] < 0.0 or np.any(np.diff(at_s) <= 0.0):
        raise BadInput(
            "instants of a series are before packing or out of order",
            where="at_s",
            limit="0 or more, increasing",
            do="Sort them and leave out those before packing",
        )
    at_s = np.asarray(at_s, dtype=np.float64)
    return series_of(hold, at_s, _loss(hold, at_s))


def _hold(inputs: HoldInputs, members: int, seed: int) -> Hold:
    """The hold with its draws and its response."""
    draws = draw(inputs, members, seed)
    return Hold(inputs=inputs, draws=draws, response=respond(inputs, draws))


def _check_members(members: int) -> None:
    if not 20 <= members <= 1_000_000:
        raise BadInput(
            f"an ensemble of {members} members",
            where="members",
            limit="20 to 1000000",
            do="Use 1000, or more for smoother bands",
        )


def _in_utc(when: datetime) -> datetime:
    return when.astimezone(UTC)


def _loss(hold: Hold, at_s: Array) -> Array:
    """Water lost by each run at some times, never more than there was; none for a dry find."""
    if hold.inputs.state == "dry":
        return np.zeros((hold.draws.members + 1, len(at_s)))
    stepped_kg = np.where(at_s >= _step_s(hold.inputs), hold.inputs.lost_kg, 0.0)
    return np.minimum(hold.response.loss_at_kg(at_s) + stepped_kg, hold.draws.water_kg[:, None])


def _step_s(inputs: HoldInputs) -> float:
    """When the water was gone that weighing found lost in a step, from packing [s]."""
    return 0.0 if inputs.lost_at is None else seconds_between(inputs.packed_at, inputs.lost_at)


def _dried_s(hold: Hold, share: float) -> Array:
    """When a share of the water is lost, by run [s]; a step that weighing found counts from when it was found."""
    limit_kg = share * hold.draws.water_kg
    reached = hold.response.loss_reaches_s(limit_kg)
    if hold.inputs.lost_kg <= 0.0:
        return reached
    left_kg = np.maximum(limit_kg - hold.inputs.lost_kg, 1e-9)
    sooner = np.maximum(hold.response.loss_reaches_s(left_kg), _step_s(hold.inputs))
    return np.asarray(np.minimum(reached, sooner))


def _ends(hold: Hold) -> _Ends:
    """All limits of the hold."""
    inputs, index = hold.inputs, hold.inputs.policy.growth_index
    parts: list[tuple[str, Array, str, str]] = []
    wrapping, find = surface_of_wrapping(inputs), surface_of_find(inputs, inputs.find_class)
    if wrapping is not None:
        note = f"growth index {index:g} on {wrapping.kind.name} wrapping, from {_start_of(wrapping)}"
        parts.append((ON_WRAPPING, reached_s(wrapping, hold), "ojanen-2010", note))
    note = f"growth index {index:g} on a {find.kind.name} find, from first exposure"
    if inputs.submerged:
        note = "the find lies under water: growth in air does not reach it, growth under water is not modelled"
        parts.append((ON_FIND, np.full(hold.draws.members + 1, np.inf), "findhold-judgement", note))
    else:
        parts.append((ON_FIND, reached_s(find, hold), "ojanen-2010", note))
    if inputs.state != "dry":
        share = inputs.policy.water_loss_fraction
        parts.append(
            (
                WATER,
                _dried_s(hold, share),
                "findhold-judgement",
                f"{share:.1%} of the water in block and wrapping is lost",
            )
        )
        layer_kg = 1e-3 * inputs.policy.drip_mm * 1000.0 * inputs.block_m[0] * inputs.block_m[1]
        note = f"{1000.0 * layer_kg:.0f} g have dripped from the lid on to the find, {inputs.policy.drip_mm:g} mm deep"
        parts.append((TOO_WET, hold.response.drip_reaches_s(layer_kg), "findhold-judgement", note))
    made = [ensemble_limit(inputs, *part) for part in parts]
    return _Ends(
        limits=(
            policy_limit(inputs),
            *(limit for limit, _ in made),
            *place_limits(inputs, hold.response.place),
            *paperwork_limits(inputs),
        ),
        reached_s={name: reached for name, reached, _, _ in parts},
        moved=any(moved for _, moved in made),
    )


def _start_of(wrapping: Surface) -> str:
    return "packing" if wrapping.renewed_s is None else "its renewal"


def _indices(hold: Hold, at_s: float) -> tuple[dict[str, Band], dict[str, Band], bool]:
    """Growth indices at one instant: by surface, by sensitivity class of the find, and whether one was widened."""
    made = {name: _band_of(index_at(surface_of_find(hold.inputs, name), hold, at_s)) for name in mould_rows()}
    by_class = {name: edges for name, (edges, _) in made.items()}
    by_surface = {"find": by_class[hold.inputs.find_class]}
    moved = any(widened for _, widened in made.values())
    wrapping = surface_of_wrapping(hold.inputs)
    if wrapping is not None:
        by_surface["wrapping"], widened = _band_of(index_at(wrapping, hold, at_s))
        moved = moved or widened
    return by_surface, by_class, moved


def _band_of(runs: Array) -> tuple[Band, bool]:
    """Band of the ensemble about the best run, which comes first."""
    return band(runs[1:], float(runs[0]))


def _masses(hold: Hold) -> tuple[tuple[MassBand, ...], bool]:
    """Mass bands at the checks."""
    at_s = np.array([seconds_between(hold.inputs.packed_at, when) for when in hold.inputs.check_at])
    return mass_bands(hold.inputs, hold.draws, _loss(hold, at_s))


def _inner_water(hold: Hold, at_s: float) -> list[tuple[Band, bool]]:
    """Water gone to the lid, dripped on the find, and taken by the wrapping, each with whether it was widened [g]."""
    when = np.array([at_s])
    runs = (hold.response.moved_at_kg(when)[:, 0], hold.response.drip_at_kg(when)[:, 0], tissue_gain_kg(hold, at_s))
    return [_band_of(1000.0 * amount) for amount in runs]


def _figures(loss_g: Band, inner: list[tuple[Band, bool]]) -> Figures:
    """The best run's water in kilograms, for the notes."""
    return Figures(loss_kg=loss_g.best / 1000.0, moved_kg=inner[0][0].best / 1000.0, drip_kg=inner[1][0].best / 1000.0)


def _cold_days(hold: Hold, at_s: float) -> Band:
    """Days at 4 degC that the best run's history since exposure stands for, over the tabled laws of growth."""
    inputs, response = hold.inputs, hold.response
    time_s = np.append(response.time_s[response.time_s < at_s], at_s)
    block_c = np.interp(time_s, response.time_s, response.block_c)
    before_s, before_c = before_packing(inputs)
    days = {}
    for law in growth_laws():
        pace = relative_growth(law, block_c) / relative_growth(law, COLD_C)
        before = np.sum(before_s * relative_growth(law, before_c)) / relative_growth(law, COLD_C)
        days[law.name] = (float(np.trapezoid(pace, time_s)) + float(before)) / SECONDS_PER_DAY
    middle = float(np.median(list(days.values())))
    return Band(low=min(days.values()), best=middle, high=max(days.values()))


def _conductance(hold: Hold, at_s: float) -> Conductance:
    """Conductances of the best run at the mean temperature of the place until the instant of the figures."""
    place = hold.response.place
    until = np.linspace(0.0, max(at_s, 1.0), 500)
    return hold.response.ways.best(time_mean(until, np.interp(until, place.time_s, place.temp_c)))


def _hours_above(hold: Hold) -> HourBand:
    """Hours until the block is at or below the policy's warm limit, each run with its own path and insulation."""
    time_s = hold.response.time_s
    window = time_s[time_s <= COOLING_WINDOW_DAYS * SECONDS_PER_DAY]
    runs = hold.draws.members + 1
    hours = hold.response.rows.falls_below_s(window, hold.inputs.policy.warm_c, runs) / 3600.0
    low, high = band_edges(hours[1:])
    best = float(hours[0])
    edges = [edge if np.isfinite(edge) else None for edge in (min(low, best), best, max(high, best))]
    return HourBand(low=edges[0], best=edges[1], high=edges[2])


def _drivers(draws: Draws, results: dict[str, Array]) -> tuple[Driver, ...]:
    """Inputs that the results follow, most first."""
    given = draws.inputs()
    shares = rank_shares(np.array(list(given.values())), np.array([result[1:] for result in results.values()]))
    found = [
        Driver(result=result, input=words, share=float(share))
        for words, row in zip(given, shares, strict=True)
        for result, share in zip(results, row, strict=True)
        if share >= LEAST_DRIVER
    ]
    return tuple(sorted(found, key=lambda driver: -driver.share))


def _dominant(ends: _Ends, name: str, drivers: tuple[Driver, ...]) -> str:
    """The assumption that most decides the governing limit, or the first computed limit when a rule governs."""
    dated = {limit.name: limit.date_low for limit in ends.limits if limit.name in ends.reached_s}
    reached = [(_in_utc(when), limit) for limit, when in dated.items() if when is not None]
    result = name if name in ends.reached_s else min(reached)[1] if reached else "water lost"
    first = next((driver for driver in drivers if driver.result == result), None)
    if first is None:
        return "no assumption: nothing that varies moves the result"
    return f"{first.input} ({first.share:.0%} of the spread of {result})"
