"""What can be done when a hold cannot be kept, each way forecast anew and said plainly when it does not help."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from findhold.keep.forecast import Forecast, forecast
from findhold.keep.inputs import Climate, HoldInputs, seconds_between
from findhold.keep.limits import POLICY, instant
from findhold.tables.keeping import lid_class, priors

COLD_C = 4.0
"""Set-point of a cold store for damp finds (common practice); never below 2 degC."""
COLDER_C = 3.0
LEAST_C = 2.0
TIGHT_LID = "very well sealed"
INERT_CLASS = "resistant"
EARLIER = "earlier opening"
COLDER, DAILY = "colder place", "daily check"
INERT, RENEW = "inert wrapping", "renew the tissue"
FOIL = "foil laminate bag"
PRECOOL, NOTHING_HELPS = "pre-cooling", "nothing helps"
PRECOOL_K = 3.0
"""A block warmer than its place by more is worth cooling first (judgement)."""
ABSORBENT_G = 100.0
"""Water that a sheet of absorbent under the lid takes up (judgement)."""
JOINED = (
    "climate",
    "lid_air_changes_per_day",
    "wrapping_class",
    "wrapping_renewed_at",
    "closure",
    "absorbent_g",
    "find_temp_c",
)
"""What measures change, and what may be joined; the dose is left out, because more and less exclude each other."""
HELPS_DAYS = 0.05
"""A gain below this, an hour or so, is no gain."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One way out: what to do, what it brings and what it costs."""

    name: str
    text: str
    keep_until: datetime
    gain_days: float
    can_keep: bool | None
    work: str
    governing_limit: str
    on: datetime | None = None
    """When it has to be done, for a way that has a moment: whoever knows what time it is sees whether that is past."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """An option before it is forecast."""

    name: str
    do: str
    work: str
    inputs: HoldInputs


def options(
    inputs: HoldInputs, *, members: int = 1000, seed: int = 1, stores: Sequence[tuple[str, float]] = ()
) -> tuple[Option, ...]:
    """Ways to keep a hold longer or to end it in time, ranked by what they gain.

    Parameters
    ----------
    inputs : the hold as it stands.
    members, seed : of each forecast; all use the same draws, so that differences are not chance.
    stores : the unit's stores with their set-points [°C]; the coldest of them is the colder place, where one is.

    Returns
    -------
    Options, most gain first; one that does not help says so with a gain of 0 and names what still governs. The
    policy limit is not extended by any of them.

    Source
        Each way is a changed `HoldInputs` through `forecast`.
    """
    now = forecast(inputs, members=members, seed=seed)
    ways = list(_ways(inputs, now, stores))
    made = [_option(way, forecast(way.inputs, members=members, seed=seed), now) for way in ways]
    if inputs.open_at is not None and not now.can_keep:
        made.append(_earlier(inputs, now))
    helping = [way for way, option in zip(ways, made, strict=False) if option.gain_days > 0.0]
    if inputs.state != "dry":
        made.append(_daily(now))
    if not helping:
        made.append(_nothing(now))
    if len(helping) > 1:
        way = _together(inputs, helping)
        joint = _option(way, forecast(way.inputs, members=members, seed=seed), now)
        # Several measures at once are only offered when they bring more than the best of them alone.
        if joint.gain_days >= max(option.gain_days for option in made) + HELPS_DAYS:
            made.append(joint)
    return tuple(sorted(made, key=lambda option: (-option.gain_days, not option.can_keep)))


IF_ROOM = ", if there is room"
"""Said of a colder store whose shelves nobody has asked here."""


def colder_store(temp_c: float | None, stores: Sequence[tuple[str, float]]) -> tuple[str, float] | None:
    """The coldest store that is colder than a place and not below 2 degC, with its set-point [°C]; None without one."""
    colder = [] if temp_c is None else [store for store in stores if LEAST_C <= store[1] < temp_c]
    return min(colder, key=lambda store: store[1], default=None)


def _ways(inputs: HoldInputs, now: Forecast, stores: Sequence[tuple[str, float]]) -> Iterator[_Way]:
    """The ways that this hold leaves open."""
    yield from _colder(inputs, stores)
    yield from _water(inputs, now)
    tight = lid_class(TIGHT_LID).air_changes_per_day
    lid = inputs.lid_air_changes_per_day
    if (priors()["lid_air_changes"].centre if lid is None else lid) > tight and inputs.state != "dry":
        yield _Way(
            name="better lid",
            do="close the box with a sealed lid, or tape the lid all round",
            work="5 minutes, tape",
            inputs=replace(inputs, lid_air_changes_per_day=tight, lid_spread=None),
        )
    if inputs.wrapping_class is not None and inputs.state != "dry":
        yield from _renewed(inputs, now)
    if inputs.wrapping_class not in (None, INERT_CLASS):
        yield _Way(
            name=INERT,
            do="wrap with damp polyester web instead of tissue",
            work="re-wrapping at the bench; ask the conservator",
            inputs=replace(inputs, wrapping_class=INERT_CLASS),
        )


def _colder(inputs: HoldInputs, stores: Sequence[tuple[str, float]]) -> Iterator[_Way]:
    """A colder store of the unit, else a colder place, down to 3 degC and never below 2."""
    if inputs.climate.temp_c is None:
        return
    store = colder_store(inputs.climate.temp_c, stores)
    if store is not None:
        yield _Way(
            name=COLDER,
            do=f"move it to {store[0]} ({store[1]:g} °C){IF_ROOM}",
            work="move the box; check the place with a logger",
            inputs=replace(inputs, climate=replace(inputs.climate, temp_c=store[1])),
        )
        return
    colder_c = COLD_C if inputs.climate.temp_c > COLD_C else COLDER_C
    if inputs.climate.temp_c <= colder_c:
        return
    climate: Climate = replace(inputs.climate, temp_c=colder_c)
    yield _Way(
        name=COLDER,
        do=f"keep it at {colder_c:g} °C (never below 2 °C, never frozen)",
        work="move the box; check the place with a logger",
        inputs=replace(inputs, climate=climate),
    )


def _water(inputs: HoldInputs, now: Forecast) -> Iterator[_Way]:
    """Ways that change what water does: pre-cooling, a foil bag, an absorbent, more or less of it in the wrapping."""
    if inputs.state == "dry":
        return
    place_c = inputs.climate.temp_c
    if (
        place_c is not None
        and inputs.find_temp_c > place_c + PRECOOL_K
        and seconds_between(inputs.packed_at, now.keep_until) > 0
    ):
        yield _Way(
            name=PRECOOL,
            do=f"cool the wrapped block to {place_c:g} °C before the lid is closed",
            work="a day in the cold store unlidded but covered, then close it there",
            inputs=replace(inputs, find_temp_c=place_c),
        )
    if inputs.closure != FOIL:
        yield _Way(
            name="foil bag",
            do="seal it in a bag of aluminium laminate before boxing",
            work="10 minutes, one bag and a sealer",
            inputs=replace(inputs, closure=FOIL),
        )
    if now.drip_g.high > 0.0 and inputs.absorbent_g == 0.0:
        yield _Way(
            name="absorbent under the lid",
            do=f"fix a dry absorbent sheet under the lid ({ABSORBENT_G:g} g of water)",
            work="5 minutes, one sheet; change it at each check",
            inputs=replace(inputs, absorbent_g=ABSORBENT_G),
        )
    if inputs.wrapping_water_kg > 0.0 and inputs.wrapping_class is not None:
        for name, factor, do in (("more dose", 1.5, "half as much water again"), ("less dose", 0.5, "half the water")):
            water_kg = inputs.wrapping_water_kg * factor
            gross_kg = inputs.gross_mass_kg + water_kg - inputs.wrapping_water_kg
            yield _Way(
                name=name,
                do=f"put {do} in the wrapping",
                work="15 minutes at the bench, weigh again",
                inputs=replace(inputs, wrapping_water_kg=water_kg, gross_mass_kg=gross_kg),
            )


def _renewed(inputs: HoldInputs, now: Forecast) -> Iterator[_Way]:
    """Fresh damp tissue at the last check before the hold would end, or half-way when no check is planned."""
    end_s = seconds_between(inputs.packed_at, now.keep_until)
    if end_s <= 0.0:
        return
    in_time = [when for when in inputs.check_at if seconds_between(when, now.keep_until) >= 0.0]
    when = max(in_time, key=lambda at: at.astimezone(UTC)) if in_time else instant(inputs, end_s / 2.0)
    if when is None:
        return
    yield _Way(
        name=RENEW,
        do=f"put in fresh damp tissue on {when.day} {when:%B %Y}",
        work="15 minutes at the bench, new dose, weigh before and after",
        inputs=replace(inputs, wrapping_renewed_at=when),
    )


def _together(inputs: HoldInputs, ways: list[_Way]) -> _Way:
    """All helpful ways at once; inert wrapping makes fresh tissue pointless."""
    if any(way.name == INERT for way in ways):
        ways = [way for way in ways if way.name != RENEW]
    joined = inputs
    for way in ways:
        changed = {
            name: getattr(way.inputs, name)
            for name in (
                "climate",
                "lid_air_changes_per_day",
                "lid_spread",
                "wrapping_class",
                "wrapping_renewed_at",
            )
            if getattr(way.inputs, name) is not getattr(inputs, name)
        }
        joined = replace(joined, **changed)
    return _Way(
        name="all that help",
        do="; ".join(way.do for way in ways),
        work="; ".join(way.work for way in ways),
        inputs=joined,
    )


def _option(way: _Way, then: Forecast, now: Forecast) -> Option:
    """A way with its forecast beside the present one."""
    gain = seconds_between(now.keep_until, then.keep_until) / 86400.0
    helps = gain >= HELPS_DAYS
    if helps:
        effect = f"keeps {gain:.1f} days longer, then {then.governing_limit} ends the hold"
    elif now.governing_limit == POLICY:
        effect = "does not help: the unit's policy ends the hold, and no measure extends it"
    else:
        effect = f"does not help: {then.governing_limit} still ends the hold"
    return Option(
        name=way.name,
        text=f"{way.do[0].upper()}{way.do[1:]}: {effect}.",
        keep_until=then.keep_until if helps else now.keep_until,
        gain_days=gain if helps else 0.0,
        can_keep=then.can_keep if helps else now.can_keep,
        work=way.work,
        governing_limit=then.governing_limit,
        on=way.inputs.wrapping_renewed_at,
    )


def _daily(now: Forecast) -> Option:
    """A look each day: moves no date, but sees what the forecast cannot."""
    return Option(
        name=DAILY,
        text="Have the duty holder look at the closed box and its store each day: moves no date, but sees growth, "
        "drops and a failed store within a day.",
        keep_until=now.keep_until,
        gain_days=0.0,
        can_keep=now.can_keep,
        work="5 minutes a day",
        governing_limit=now.governing_limit,
    )


def _nothing(now: Forecast) -> Option:
    """Said when no measure brings a day."""
    return Option(
        name=NOTHING_HELPS,
        text=f"Nothing on this list keeps it longer: {now.governing_limit} ends the hold. Open it in time.",
        keep_until=now.keep_until,
        gain_days=0.0,
        can_keep=now.can_keep,
        work="none",
        governing_limit=now.governing_limit,
    )


def _earlier(inputs: HoldInputs, now: Forecast) -> Option:
    """Opening by the keep-until date: gains no day, but keeps the find."""
    possible = seconds_between(inputs.packed_at, now.keep_until) > 0.0
    when = f"{now.keep_until.day} {now.keep_until:%B %Y, %H:%M}"
    effect = f"Open it by {when}, before {now.governing_limit} ends the hold."
    if not possible:
        effect = f"Open it now: {now.governing_limit} is met from the start of the hold."
    return Option(
        name=EARLIER,
        text=effect,
        keep_until=now.keep_until,
        gain_days=0.0,
        can_keep=possible,
        work="bench, specialist and samples brought forward",
        governing_limit=now.governing_limit,
        on=now.keep_until,
    )
