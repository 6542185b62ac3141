"""A box's weighings laid against what its lid had to hold back, and what they teach about the lid and the mass."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from typing import Any

import numpy as np

from findhold.check.expecting import Expected, Sight, expect, lost_kg, sight
from findhold.check.learning import LidPrior, Posterior, Readings, learn
from findhold.check.reading import Outside, Reading, opening_sd_kg, reading_sd_kg, rule
from findhold.check.rounds import Check, with_looks
from findhold.keep.exposure import Exposure, exposure
from findhold.keep.inputs import HoldInputs, seconds_between
from findhold.keep.massband import MassBand
from findhold.pack.plan import Plan
from findhold.physics.band import Band
from findhold.physics.vapour import inside_area_m2
from findhold.service.case import Case, Kept, TaughtLid, hold_inputs, keep_case
from findhold.service.wire import plain
from findhold.tables.keeping import priors

_WAITED = ("lighter", "heavier", "wrong box")
"""Codes of masses outside their band, which count once a second one bears them out."""
_EDGE = 1.6449  # standard deviations from the middle of a normal distribution to its 95 % point
SPREAD_POINTS = 99
"""Shares of probability at which the taught lid is handed to the forecast."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """One recorded weighing: the reading, its verdict's code, and whether it teaches."""

    reading: Reading
    code: str
    counted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """The weighings of one box since packing, in order of time, and what they teach.

    counted are those that teach, touched all that say the box was opened or given water.
    """

    inputs: HoldInputs
    weighings: tuple[Weighed, ...]
    posterior: Posterior
    segment: tuple[int, ...]
    """Of each counted reading."""
    starts: tuple[datetime, ...]
    """First counted reading of each segment; the first segment starts at packing."""
    instants: tuple[datetime, ...]
    exposure: Exposure

    @property
    def counted(self) -> tuple[Reading, ...]:
        return tuple(one.reading for one in self.weighings if one.counted)


def recorded(facts: Mapping[str, Any]) -> tuple[Weighed, ...]:
    """The weighings of a hold as the ledger has them, in order of time; a later one may have borne out an earlier."""
    rows = facts.get("weighings", ())
    confirmed = {text for row in rows for text in row["verdict"]["confirms"]}
    made = [_weighed(row, confirmed) for row in rows]
    return tuple(sorted(made, key=lambda one: one.reading.at))


def _weighed(row: Mapping[str, Any], confirmed: set[str]) -> Weighed:
    reading = Reading(
        at=datetime.fromisoformat(row["at"]),
        mass_kg=row["mass_kg"],
        typed_step_g=row["typed_step_g"],
        unit=row["unit"],
        balance_g=row["balance_g"],
        wiped=row["wiped"],
        opened=row["opened"],
        water_g=row["water_g"],
        look=row["look"],
    )
    verdict = row["verdict"]
    return Weighed(reading=reading, code=verdict["code"], counted=verdict["counted"] or row["at"] in confirmed)


def outside_of(inputs: HoldInputs) -> Outside:
    """Outside and air of a box, which decide how well it can be weighed."""
    return Outside(area_m2=inside_area_m2(inputs.box_inside_m), air_m3=inputs.headspace_m3)


def sd_kg(inputs: HoldInputs, reading: Reading) -> float:
    """Standard deviation of a reading of this box [kg]."""
    return reading_sd_kg(reading, outside_of(inputs), inputs.policy.weighing_sd_g)


def track(inputs: HoldInputs, weighings: Sequence[Weighed], also: Sequence[datetime] = ()) -> Track:
    """Lay weighings against the exposure of the box and learn the lid.

    Parameters
    ----------
    inputs : the hold as packed, its lid as stated or unknown (not as taught before).
    weighings : in order of time; those before packing are left out.
    also : further instants at which something will be asked; those before packing are left out.

    Raises
    ------
    BadInput : the hold or the prior of its lid cannot be.
    """
    after = tuple(one for one in weighings if seconds_between(inputs.packed_at, one.reading.at) >= 0.0)
    wanted = {inputs.packed_at, *(one.reading.at for one in after)}
    wanted |= {when for when in also if seconds_between(inputs.packed_at, when) >= 0.0}
    instants = tuple(sorted(wanted))
    return _taught(inputs, after, instants, exposure(inputs, instants))


def with_reading(known: Track, more: Weighed) -> Track:
    """The track as it would be with one more reading, at one of its instants and after all the others."""
    return _taught(known.inputs, (*known.weighings, more), known.instants, known.exposure)


def _taught(inputs: HoldInputs, after: tuple[Weighed, ...], instants: tuple[datetime, ...], stood: Exposure) -> Track:
    """What weighings teach that lie at instants of which the exposure is known."""
    place = {when: number for number, when in enumerate(instants)}
    counted = [one.reading for one in after if one.counted]
    at = np.array([place[one.at] for one in counted], dtype=np.intp)
    columns: dict[str, Any] = {
        "exposure_pa_s": stood.pa_s[at],
        "other_kg": stood.other_kg[at],
        "mass_kg": np.array([one.mass_kg for one in counted], dtype=np.float64),
        "sd_kg": np.array([sd_kg(inputs, one) for one in counted], dtype=np.float64),
    }
    prior = LidPrior(
        conductance=stood.lid_conductance, gsd=priors()["lid_air_changes"].spread, refit_gsd=rule("refit_gsd")
    )
    readings = Readings(**columns, segment=_segments(after, steps=False))
    posterior = learn(readings, prior)
    if not _one_lid(readings, posterior):
        readings = Readings(**columns, segment=_segments(after, steps=True))
        posterior = learn(readings, prior)
    segment = readings.segment
    first = {number: one.at for number, one in reversed(list(zip(segment, counted, strict=True)))}
    return Track(
        inputs=inputs,
        weighings=after,
        posterior=posterior,
        segment=segment,
        starts=(inputs.packed_at, *(first[number] for number in sorted(first) if number > 0)),
        instants=instants,
        exposure=stood,
    )


def _one_lid(readings: Readings, posterior: Posterior) -> bool:
    """Whether one lid for each opening explains every mass to three standard deviations; else water left in a step."""
    for place, number in enumerate(readings.segment):
        own, lid = posterior.segments[number], float(posterior.quantiles((0.5,), number)[0])
        fitted_kg = own.mean_kg + lid * (own.mean_pa_s - float(readings.exposure_pa_s[place]))
        off_kg = float(readings.mass_kg[place] + readings.other_kg[place]) - fitted_kg
        if abs(off_kg) > 3.0 * float(readings.sd_kg[place]):
            return False
    return True


def _segments(weighings: Sequence[Weighed], *, steps: bool) -> tuple[int, ...]:
    """Segment of each counted weighing; an opening breaks the row even when its own reading does not count.

    So does, with `steps`, a mass that was found wrong and then borne out: what is expected from there on follows from
    it.
    """
    number, pending = 0, False
    found: list[int] = []
    before = ""
    for one in weighings:
        pending = pending or one.reading.touched
        if not one.counted:
            continue
        if (pending or (steps and _steps(one.code, before))) and found:
            number += 1
        pending, before = False, one.code
        found.append(number)
    return tuple(found)


def _steps(code: str, before: str) -> bool:
    """Whether a counted weighing, by its code, begins anew because the mass is another than the lid lets expect.

    It is borne out by a second one, or somebody said why; those that bear each other out stand on one step.
    """
    return code in (*_WAITED, "confirmed", "explained") and before not in _WAITED


def expected_reading(known: Track, reading: Reading) -> Expected | None:
    """What the balance should show for a reading that is not among the weighings; None when nothing says so yet."""
    before = [one for one in known.weighings if one.reading.at <= reading.at]
    count = sum(one.counted for one in before)
    if count == 0:
        return None
    last = max(place for place, one in enumerate(before) if one.counted)
    since = [one.reading for one in before[last + 1 :] if one.reading.touched]
    done = [*since, *([reading] if reading.touched else [])]
    handled_kg = math.hypot(*(opening_sd_kg(one) for one in done)) if done else 0.0
    pa_s, other_kg = _at(known, reading.at)
    return expect(
        known.posterior,
        exposure_pa_s=pa_s,
        other_kg=other_kg,
        sd_kg=math.hypot(sd_kg(known.inputs, reading), handled_kg),
        added_kg=sum(one.water_g for one in done) / 1000.0,
        segment=known.segment[count - 1],
    )


def mass_bands(known: Track, at: Sequence[datetime]) -> tuple[MassBand, ...]:
    """What the balance should show at checks, weighed cold and wiped with the balance used last."""
    last = known.weighings[-1].reading
    made = []
    for when in at:
        asked = replace(last, at=when, typed_step_g=0.0, wiped=True, opened=False, water_g=0.0)
        expected = expected_reading(known, asked) or _backwards(known, asked)
        if expected is not None:
            edges = expected.band_kg
            made.append(MassBand(at=when, low_kg=edges.low, best_kg=edges.best, high_kg=edges.high))
    return tuple(made)


def _backwards(known: Track, reading: Reading) -> Expected | None:
    """What the balance should have shown before the first reading that counts."""
    pa_s, other_kg = _at(known, reading.at)
    return expect(known.posterior, exposure_pa_s=pa_s, other_kg=other_kg, sd_kg=sd_kg(known.inputs, reading), segment=0)


def lost_by(known: Track, when: datetime) -> Band:
    """Water lost from packing to an instant: through the lid, and in steps that weighing found [kg]."""
    edges = [_at(known, start)[0] for start in known.starts if start <= when]
    end, other_kg = _at(known, when)
    spans = [after - before for before, after in zip(edges, [*edges[1:], end], strict=True)]
    lost = lost_kg(known.posterior, spans, other_kg)
    for at, step in steps_lost(known):
        if at <= when:
            lost = Band(low=lost.low + step.low, best=lost.best + step.best, high=lost.high + step.high)
    return lost


def steps_lost(known: Track) -> tuple[tuple[datetime, Band], ...]:
    """Water that left at once, not through the lid as it was learned [kg]: a lighter mass that a second one bore out.

    An opening is no such step: what was taken out or put in then is not known.
    """
    counted = [one for one in known.weighings if one.counted]
    opened = {at for at, _ in _openings(known)}
    found = []
    for (before, _), (after, one) in pairwise(zip(known.segment, counted, strict=True)):
        if after == before or one.reading.at in opened:
            continue
        at = one.reading.at
        pa_s, other_kg = _at(known, at)
        was, now = (
            expect(known.posterior, exposure_pa_s=pa_s, other_kg=other_kg, sd_kg=0.0, segment=part)
            for part in (before, after)
        )
        if was is None or now is None:
            continue
        best, spread = was.quantile_kg(0.5) - now.quantile_kg(0.5), _EDGE * math.hypot(was.sd_kg, now.sd_kg)
        if best > 0.0:
            found.append((at, Band(low=max(0.0, best - spread), best=best, high=best + spread)))
    return tuple(found)


def _openings(known: Track) -> list[tuple[datetime, Reading]]:
    """The counted weighings before which, or at which, the box was opened."""
    found, pending = [], False
    for one in known.weighings:
        pending = pending or one.reading.touched
        if one.counted:
            found += [(one.reading.at, one.reading)] if pending else []
            pending = False
    return found


def taught_lid(known: Track) -> TaughtLid:
    """The lid as the forecast takes it, with the water that left in steps."""
    steps = steps_lost(known)
    return TaughtLid(
        air_changes_per_day=known.posterior.lid.best / known.exposure.one_change,
        spread=known.posterior.spread(SPREAD_POINTS),
        lost_kg=sum(step.best for _, step in steps),
        lost_at=max((at for at, _ in steps), default=None),
    )


def air_changes(known: Track) -> Band:
    """Air changes a day past the lid [1/d]."""
    lid, one = known.posterior.lid, known.exposure.one_change
    return Band(low=lid.low / one, best=lid.best / one, high=lid.high / one)


def seen_by_balance(known: Track, when: datetime, reading: Reading) -> Sight:
    """What the balance of a reading, cold and wiped, sees of the lid."""
    elapsed_s = seconds_between(known.inputs.packed_at, when)
    mean_pa = _at(known, when)[0] / elapsed_s if elapsed_s > 0.0 else 0.0
    careful = replace(reading, wiped=True, typed_step_g=0.0)
    return sight(known.posterior, sd_kg=sd_kg(known.inputs, careful), difference_pa=mean_pa)


def _at(known: Track, when: datetime) -> tuple[float, float]:
    """Exposure [Pa s] and other losses [kg] at one of the track's instants."""
    place = known.instants.index(when)
    return float(known.exposure.pa_s[place]), float(known.exposure.other_kg[place])


def teach(case: Case, plan: Plan, facts: Mapping[str, Any], also: Sequence[datetime] = ()) -> Track:
    """The track of a hold of the ledger, its lid not yet taught by it.

    Raises
    ------
    BadInput : the case lacks what a forecast needs.
    """
    inputs, checks = hold_inputs(replace(case, lid=None), plan)
    return track(inputs, recorded(facts), (*(check.at for check in checks), *also))


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """How a forecast is made: size and seed of its ensemble, and whether ways to keep it longer are worked out."""

    members: int
    seed: int
    all_options: bool | None = False


def keep_taught(
    case: Case, plan: Plan, facts: Mapping[str, Any], run: Run, looks: Sequence[Check] = ()
) -> tuple[Kept, Track | None]:
    """The forecast of a hold with what its weighings taught: its lid, and the masses to expect at its checks.

    looks : asked for beside its planned checks.

    Raises
    ------
    BadInput : the case lacks what a forecast needs.
    """
    known = teach(case, plan, facts, [look.at for look in looks]) if facts.get("weighings") else None
    if known is None or not known.counted:
        kept = keep_case(case, plan, members=run.members, seed=run.seed, all_options=run.all_options)
        return replace(kept, checks=with_looks(kept.checks, looks, case.open_at, case.zone)), None
    taught = replace(case, lid=taught_lid(known))
    kept = keep_case(taught, plan, members=run.members, seed=run.seed, all_options=run.all_options)
    kept = replace(kept, checks=with_looks(kept.checks, looks, case.open_at, case.zone))
    bands = mass_bands(known, [check.at for check in kept.checks])
    lid = air_changes(known)
    count = len(known.counted)
    said = (
        f"The lid is taken as {count} weighing{'s' if count > 1 else ''} taught it: {lid.best:.2g} air changes a day "
        f"({lid.low:.2g} to {lid.high:.2g})."
    )
    kept = replace(kept, forecast=replace(kept.forecast, mass_band=bands), assumed=(*kept.assumed, said))
    return kept, known


def learned_answer(known: Track) -> dict[str, Any]:
    """What the weighings taught, in the public shape of `weigh --json` and `keep --json`."""
    last = known.counted[-1]
    lid, lost = known.posterior.lid, lost_by(known, last.at)
    return {
        "readings": len(known.counted),
        "lid_kg_per_s_pa": plain(lid),
        "lid_air_changes_per_day": plain(air_changes(known)),
        "water_lost_g": {name: 1000.0 * getattr(lost, name) for name in ("low", "best", "high")},
        "water_lost_at": plain(last.at),
        "water_packed_g": 1000.0 * known.inputs.water_kg,
        "balance_sees": plain(seen_by_balance(known, last.at, last)),
        "balance_says": sight_words(known, last),
    }


def sight_words(known: Track, reading: Reading) -> str:
    """What the balance can and cannot see of this lid, in a sentence or two."""
    seen, lid = seen_by_balance(known, reading.at, reading), air_changes(known)
    if seen.seen:
        return f"The balance sees the lid: {lid.best:.2g} air changes a day ({lid.low:.2g} to {lid.high:.2g})."
    balance = f"With a {reading.balance_g:g} g balance this lid stays invisible"
    if seen.seen_after_days is not None:
        balance += f" for {_days(seen.seen_after_days)}"
    if seen.smallest is None:
        return f"{balance}; one weighing says nothing of the lid yet."
    return f"{balance}; that is an upper limit of {lid.high:.2g} air changes a day."


def _days(days: float) -> str:
    if days > 730.0:
        return "years"
    return f"{days:.0f} days" if days >= 1.5 else f"{24.0 * days:.0f} hours"
