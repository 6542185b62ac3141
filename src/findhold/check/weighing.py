"""What a weighing says: right, watch or act, why, and what to do now.

A reading is judged against the mass that the other readings let expect. It is never thrown away: what cannot be
counted is recorded all the same, with the question that it raises.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from findhold.check.expecting import Expected
from findhold.check.reading import Reading, looks, rule
from findhold.errors import UnknownName
from findhold.physics.band import Band
from findhold.tables.load import table

RIGHT, WATCH, ACT = "right", "watch", "act"
_WORDS = (RIGHT, WATCH, ACT)
FIRST_AGAIN = "Weigh it again: it sets the mass when a second weighing agrees, or when you say why it is so (--why)."


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherBox:
    """What another box should weigh now."""

    box_id: str
    low_kg: float
    high_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Unsettled:
    """An earlier reading since the last opening that was recorded but not counted."""

    at: datetime
    mass_kg: float
    sd_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What is known when a reading comes in."""

    expected: Expected | None
    """None: the first reading that counts."""
    planned_kg: float | None
    """None: the plan gives no mass."""
    sd_kg: float
    """Of this reading."""
    packed_at: datetime
    newest_at: datetime | None = None
    repeated: bool = False
    """The same reading at the same instant stands in the ledger already."""
    others: tuple[OtherBox, ...] = ()
    unsettled: tuple[Unsettled, ...] = ()
    why: str = ""
    """Why a mass far from what is expected is right all the same, as somebody said; "" when nobody did."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One thing that a mass outside its band may mean, and what to do about it."""

    name: str
    means: str
    do: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What to think of a reading.

    word is right, watch or act; code names the reason; counted readings teach, the others wait; confirms are the
    instants of earlier readings that this one bears out.
    """

    word: str
    code: str
    says: str
    counted: bool
    causes: tuple[Cause, ...] = ()
    do: tuple[str, ...] = ()
    confirms: tuple[datetime, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What a look at the box asks for; tell holds conservator, analysts, duty."""

    word: str
    do: tuple[str, ...]
    tell: tuple[str, ...]


NOT_WEIGHED = Verdict(word=RIGHT, code="not weighed", says="Not weighed: its mass is not checked.", counted=False)
"""What is said of the mass of a box that was looked at alone."""


def judge_look(look: str, kept: str = "damp") -> Seen:
    """What to do for what is seen in a box kept damp, waterlogged or dry, in order, and whom to tell.

    Raises
    ------
    UnknownName : not one of `looks`.

    Source
    ------
    Table weighing_looks.csv: fridge practice, mostly judgement and common practice.
    """
    states = ("", "waterlogged" if kept == "waterlogged" else "damp")
    rows = [row for row in table("weighing_looks").rows if row["look"] == look and row["kept"] in states]
    if not rows:
        raise UnknownName("look", look, list(looks()))
    rows.sort(key=lambda row: int(row["order"]))
    tell = tuple(dict.fromkeys(word for row in rows for word in row["tell"].split()))
    return Seen(word=rows[0]["verdict"], do=tuple(row["do"] for row in rows if row["do"]), tell=tell)


def worst(words: tuple[str, ...]) -> str:
    """The gravest of several verdicts."""
    return max(words, key=_WORDS.index)


def judge_mass(reading: Reading, scene: Scene) -> Verdict:
    """Judge the mass of one reading.

    Not a judgement of the find: a mass in its band does not see mould, and a box that is right may hold a wet find
    beside dry tissue.

    Parameters
    ----------
    reading : the weighing.
    scene : what is known without it.

    Returns
    -------
    The verdict. Questions (unit, wrong box, before packing, typed twice) and masses outside the band are not counted
    until a second reading bears them out.

    Source
        Table weighing_rules.csv (judgement): the band is 5 to 95 %; act beyond 0.1 % and 1 g; a first mass more than
        5 % off the plan sets nothing until a second agrees or somebody says why.
    """
    if scene.repeated:
        says = f"{_kg(reading.mass_kg)} at this very time is recorded already; it is not counted twice."
        return Verdict(
            word=WATCH, code="typed twice", says=says, counted=False, do=("Nothing, if it was one weighing.",)
        )
    if reading.at < scene.packed_at:
        says = f"{reading.at:%-d %b %H:%M} is before the lid was closed ({scene.packed_at:%-d %b %H:%M})."
        do = "Was the time right? Weigh it now, or give the right time with --at."
        return Verdict(word=ACT, code="before packing", says=says, counted=False, do=(do,))
    reference_kg = scene.planned_kg if scene.expected is None else scene.expected.quantile_kg(0.5)
    unit = None if reference_kg is None else _unit_mistaken(reading, reference_kg)
    if unit is not None:
        return unit
    if scene.expected is None:
        return _in_order(reading, scene, _first(reading, scene))
    return _in_order(reading, scene, _against_band(reading, scene, scene.expected))


def _unit_mistaken(reading: Reading, reference_kg: float) -> Verdict | None:
    """A mass a thousand times too large or too small, which another unit would put right."""
    share = rule("planned_share")
    for factor, meant, power in ((0.001, "g", 1000.0), (1000.0, "kg", 0.001)):
        meant_kg = reading.mass_kg * factor
        if abs(meant_kg / reference_kg - 1.0) > share or abs(reading.mass_kg / reference_kg - 1.0) <= share:
            continue
        as_read = "kg" if reading.unit == "" else reading.unit
        figure = reading.mass_kg * (1000.0 if as_read == "g" else 1.0)
        return Verdict(
            word=ACT,
            code="unit",
            says=f"Read as {as_read} it is {power:g} times what the box should weigh; as {meant} it would fit.",
            counted=False,
            do=(f'Was it {meant}? Then type it again with its unit: "{figure:.10g} {meant}".',),
        )
    return None


def _first(reading: Reading, scene: Scene) -> Verdict:
    """The first reading that counts sets the mass; the plan is only an estimate."""
    if scene.planned_kg is None:
        return Verdict(word=RIGHT, code="first", says="First weighing: it sets the mass of the box.", counted=True)
    share = reading.mass_kg / scene.planned_kg - 1.0
    if abs(share) <= rule("first_share"):
        says = f"First weighing: it sets the mass of the box (planned {_kg(scene.planned_kg)}, {share:+.1%})."
        return Verdict(word=RIGHT, code="first", says=says, counted=True)
    way = "lighter" if share < 0.0 else "heavier"
    says = f"First weighing, and {abs(share):.0%} {way} than planned ({_kg(scene.planned_kg)})."
    if scene.why:
        says = f"{says} It counts, for somebody said why: {scene.why}"
        return Verdict(word=WATCH, code="explained", says=says, counted=True)
    verdict = _outside(reading, scene, way, says)
    if verdict.counted or verdict.code == "wrong box":
        return verdict
    word = WATCH if abs(share) <= rule("planned_share") else ACT
    return replace(verdict, word=word, do=(FIRST_AGAIN, *verdict.do))


def _against_band(reading: Reading, scene: Scene, expected: Expected) -> Verdict:
    band, below = expected.band_kg, expected.below(reading.mass_kg)
    tail, off_g = min(below, 1.0 - below), 1000.0 * (reading.mass_kg - band.best)
    words = _kg_band(band)
    if reading.touched and tail > rule("act_probability"):
        says = f"After the opening it should weigh {words}: right. A new count begins with this weighing."
        return Verdict(word=RIGHT, code="opened", says=says, counted=True)
    if tail >= rule("watch_probability"):
        return Verdict(word=RIGHT, code="in the band", says=f"It should weigh {words}: right.", counted=True)
    way = "lighter" if off_g < 0.0 else "heavier"
    says = f"It should weigh {words}; this is {abs(off_g):.3g} g {way} than expected."
    if tail >= rule("act_probability") or abs(off_g) < rule("act_least_g"):
        do = ("Weigh it again cold and wiped, now or at the next check.",)
        return Verdict(word=WATCH, code="edge of the band", says=says, counted=True, do=do)
    return _outside(reading, scene, way, says)


def _outside(reading: Reading, scene: Scene, way: str, says: str) -> Verdict:
    """A mass outside: another box, one that an earlier reading bears out, or the causes in order."""
    if scene.why and scene.expected is not None:
        says = f"{says} It counts, for somebody said why: {scene.why}"
        return Verdict(word=WATCH, code="explained", says=says, counted=True)
    causes = causes_of(way)
    borne_out = tuple(one.at for one in scene.unsettled if _agrees(one, reading, scene.sd_kg))
    first = scene.expected is None
    if borne_out and (way == "lighter" or first):
        again = f"{says} A second weighing agrees: it counts."
        if not first:
            again = f"{again} What it should weigh is reckoned from here on, and the water counts as lost."
        last = () if first else causes[-1:]
        do = _do(last) or ("Correct the plan: find, box or packing is not what was entered.",)
        word = WATCH if first else ACT
        return Verdict(word=word, code="confirmed", says=again, counted=True, causes=last, do=do, confirms=borne_out)
    others = [box for box in scene.others if box.low_kg <= reading.mass_kg <= box.high_kg]
    if others:
        return _wrong_box(others, causes, says)
    if way == "heavier" and scene.expected is not None and not reading.touched:
        says = f"{says} It cannot have gained water by itself, and none is recorded."
        if borne_out:
            says = f"{says} A second weighing agrees."
            causes = causes[-1:]
    return Verdict(word=ACT, code=way, says=says, counted=False, causes=causes, do=_do(causes))


def _wrong_box(others: list[OtherBox], causes: tuple[Cause, ...], says: str) -> Verdict:
    """A mass that other boxes should have now."""
    names = " or ".join(f"{box.box_id} ({_kg_band(box)})" for box in others[:3])
    first = tuple(cause for cause in causes if cause.name == "wrong box")
    ordered = (*first, *(cause for cause in causes if cause not in first))
    return Verdict(
        word=ACT,
        code="wrong box",
        says=f"{says} It is what {names} should weigh now.",
        counted=False,
        causes=ordered,
        do=(f"Is it {others[0].box_id}? Then weigh it under that number; else go on below.", *_do(ordered)),
    )


def _in_order(reading: Reading, scene: Scene, verdict: Verdict) -> Verdict:
    """The verdict with a word about a reading that comes after later ones."""
    if scene.newest_at is None or reading.at >= scene.newest_at:
        return verdict
    note = f"It is older than the newest weighing ({scene.newest_at:%-d %b %H:%M}) and is put in its place in time."
    return Verdict(
        word=worst((verdict.word, WATCH)),
        code="out of order" if verdict.counted else verdict.code,
        says=f"{verdict.says} {note}",
        counted=verdict.counted,
        causes=verdict.causes,
        do=(*verdict.do, "Check the time, if it was not meant so."),
        confirms=verdict.confirms,
    )


def causes_of(way: str) -> tuple[Cause, ...]:
    """What a mass lighter or heavier than its band may mean, in the order in which to look."""
    rows = sorted(
        (row for row in table("weighing_causes").rows if row["way"] == way), key=lambda row: int(row["order"])
    )
    return tuple(Cause(name=row["cause"], means=row["means"], do=row["do"]) for row in rows)


def judge_loss(lost_kg: Band, water_kg: float) -> Verdict | None:
    """Whether the water lost so far asks for something; None when it does not.

    Parameters
    ----------
    lost_kg : since packing.
    water_kg : in block and wrapping as packed.

    Returns
    -------
    Watch from 2 %, act from 5 % of the water, by the best figure.

    Source
        Table weighing_rules.csv; judgement.
    """
    share = lost_kg.best / water_kg if water_kg > 0.0 else 0.0
    if share < rule("loss_watch_share"):
        return None
    word = ACT if share >= rule("loss_act_share") else WATCH
    do = next(cause.do for cause in causes_of("lighter") if cause.name == "real loss")
    says = f"{1000.0 * lost_kg.best:.0f} g of water are lost since packing, {share:.1%} of what was there."
    return Verdict(word=word, code="water lost", says=says, counted=True, do=(do,))


def judge_gap(missed: int) -> Verdict | None:
    """Whether planned checks were missed before this one; None when not."""
    if missed < 1:
        return None
    plural = "s were" if missed > 1 else " was"
    do = "Look at every box of this store, and name who checks it."
    return Verdict(
        word=WATCH,
        code="checks missed",
        says=f"{missed} planned check{plural} missed before this one.",
        counted=True,
        do=(do,),
    )


def _agrees(one: Unsettled, reading: Reading, sd_kg: float) -> bool:
    near = abs(reading.at - one.at) <= timedelta(hours=rule("confirm_hours"))
    return near and abs(reading.mass_kg - one.mass_kg) <= 3.0 * math.hypot(one.sd_kg, sd_kg)


def _do(causes: tuple[Cause, ...]) -> tuple[str, ...]:
    return tuple(cause.do for cause in causes)


def _kg(mass_kg: float) -> str:
    return f"{mass_kg:.4f}".rstrip("0").ljust(5, "0") + " kg" if mass_kg < 10.0 else f"{mass_kg:.3f} kg"


def _kg_band(band: Band | OtherBox) -> str:
    if isinstance(band, OtherBox):
        return f"{band.low_kg:.4f} to {band.high_kg:.4f} kg"
    return f"{band.best:.4f} kg ({band.low:.4f} to {band.high:.4f})"
