"""One weighing of one box, or a look at it alone: judge it, record it, learn from it, forecast anew."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from findhold.check import weighing as judging
from findhold.check.expecting import Expected
from findhold.check.reading import Reading, looks, rule
from findhold.check.typed_mass import TypedMass, read_mass
from findhold.check.weighing import NOT_WEIGHED, Scene, Unsettled, Verdict
from findhold.dates.instants import parse_instant
from findhold.errors import BadInput, FindholdError, UnknownName
from findhold.record.events import NewEvent
from findhold.service.boxes import find_hold, other_boxes, site_of
from findhold.service.choices import read_choices
from findhold.service.closing.ending import refuse_ended
from findhold.service.finder import find_thing
from findhold.service.holds import Held, HoldRequest, case_of_hold, forecast_finds
from findhold.service.learned import Track, expected_reading, recorded, sd_kg, teach
from findhold.service.ledger_case import Shelves, shelves
from findhold.service.office import Office
from findhold.service.weighed import Outcome, outcome_answer
from findhold.service.wire import plain
from findhold.store.ledger import Thing

CLOCK_SLACK = timedelta(hours=1)
"""How far a typed time may lie ahead of this computer's clock."""
_SETTLED = ("unit", "typed twice", "before packing")
"""Readings that no second weighing can bear out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighRequest:
    """One weighing as typed; None for what was not said. look: one of check.reading.looks(), "" when nobody looked.

    mass : "" when the box was looked at and not weighed.

    clock : what the clock of the device showed, when it was not this computer's that gave the time; recorded with it.
    """

    box: str
    mass: str = ""
    at: str | None = None
    balance_g: float | None = None
    wiped: bool | None = None
    opened: bool = False
    water_g: float = 0.0
    look: str = ""
    note: str = ""
    why: str = ""
    """Why a first mass that is far from the plan is right all the same; "" when nobody said."""
    site: str | None = None
    members: int = 1000
    seed: int = 1
    clock: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighDone:
    """What came of a weighing: its verdict in one word, and everything in its public shape."""

    word: str
    shape: dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class MassQuestion:
    """What to ask about a mass before it is recorded.

    other : the mass in the unit that would fit, "" for none. first : it would set the mass of the box, so that it
    takes a second weighing or a reason.
    """

    text: str
    other: str
    first: bool
    typed_kg: float
    expected_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bench:
    """The hold on the balance, and what is known of it before this weighing."""

    hold: Thing
    find: Thing
    others: tuple[Thing, ...]
    at: datetime
    planned_kg: float | None
    packed_at: datetime
    known: Track | None
    trouble: FindholdError | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Judged:
    """A weighing judged and not recorded yet."""

    shelf: Shelves
    holds: dict[str, Thing]
    bench: _Bench
    reading: Reading
    notes: tuple[str, ...]
    verdict: Verdict
    expected: Expected | None


def mass_question(office: Office, request: WeighRequest) -> MassQuestion | None:
    """What to ask about a mass that can hardly be right; None when there is nothing to ask. Nothing is recorded.

    Raises
    ------
    As `weigh`.
    """
    if not request.mass.strip():
        _refuse_no_look(request)
        return None
    told = _judged(office, request)
    mass_kg, first = told.reading.mass_kg, told.expected is None
    expected_kg = told.bench.planned_kg if told.expected is None else told.expected.quantile_kg(0.5)
    if expected_kg is None or told.verdict.code in ("typed twice", "before packing"):
        return None
    off = mass_kg / expected_kg - 1.0
    box = told.bench.hold.facts["box_id"]
    asked = f"{box} should weigh about {expected_kg:.3f} kg; {request.mass!r} is "
    if told.verdict.code == "unit":
        unit, grams = ("g", mass_kg * 1000.0) if told.reading.unit != "g" else ("kg", mass_kg * 1000.0)
        other = f"{mass_kg if unit == 'g' else grams:.10g} {unit}"
        text = f"{asked}a thousand times off. Was it {other}?"
    elif abs(off) > rule("first_share" if first else "planned_share") and not (told.verdict.counted and first):
        other, way = "", "lighter" if off < 0.0 else "heavier"
        much = f"{abs(off):.0%}" if abs(off) < 2.0 else f"{mass_kg / expected_kg:.0f} times"
        text = f"{asked}{much} {way}. Is it this box, and is the figure right?"
    else:
        return None
    return MassQuestion(text=text, other=other, first=first, typed_kg=mass_kg, expected_kg=expected_kg)


def weigh(office: Office, request: WeighRequest) -> WeighDone:
    """Judge and record one weighing, learn the lid from it and forecast the hold anew; without a mass, a look alone.

    The reading is recorded as typed whatever the verdict, also when no forecast can be made.

    Raises
    ------
    BadInput : neither a mass nor a look, no such box, a time without zone or in the future, a balance or a dose that
    cannot be.
    """
    if not request.mass.strip():
        return _look_alone(office, request)
    judged = _judged(office, request)
    hold, find = judged.bench.hold, judged.bench.find
    body = _body(request, judged.reading, judged.verdict)
    alarm = {"": hold.facts.get("alarm", ""), "right": ""}.get(request.look, request.look)
    weighings = [*hold.facts.get("weighings", ()), body]
    after = replace(hold, facts={**hold.facts, "weighings": weighings, "alarm": alarm})
    held, events, trouble = _forecast(judged.shelf, find, {**judged.holds, find.number: after}, request)
    with office.ledger.writing(office.stamp()) as writing:
        writing.append([NewEvent(word="box.weighed.1", stream=hold.stream, body=body), *events])
    outcome = Outcome(
        body=body,
        at=judged.reading.at,
        look=request.look,
        verdict=judged.verdict,
        notes=judged.notes,
        expected=judged.expected,
        before=hold,
        find=find,
        held=held,
        trouble=judged.bench.trouble or trouble,
        people=tuple(office.ledger.states("person")),
    )
    shape = outcome_answer(outcome)
    return WeighDone(word=shape["verdict"], shape=shape)


def _look_alone(office: Office, request: WeighRequest) -> WeighDone:
    """A box looked at and not weighed: recorded and answered by what was seen."""
    _refuse_no_look(request)
    site = site_of(office, request.box, request.site)
    holds = {hold.facts["find"]: hold for hold in office.ledger.states("hold", site.number)}
    hold = find_hold(request.box, site, list(holds.values()))
    refuse_ended(hold)
    find = find_thing(office, hold.facts["find"], site)
    at = office.in_site_zone(_instant(office, request), site)
    body = {"at": plain(at), "look": request.look, "note": request.note.strip()}
    body |= {} if request.clock is None else {"clock": dict(request.clock)}
    word = NewEvent(word="box.looked.1", stream=hold.stream, body=body)
    alarm = "" if request.look == "right" else request.look
    after = replace(hold, facts={**hold.facts, "looks": [*hold.facts.get("looks", ()), body], "alarm": alarm})
    shelf = shelves(office, site, read_choices())
    held, events, trouble = _forecast(shelf, find, {**holds, find.number: after}, request)
    with office.ledger.writing(office.stamp()) as writing:
        writing.append([word, *events])
    outcome = Outcome(
        body=body,
        at=at,
        look=request.look,
        verdict=NOT_WEIGHED,
        notes=(),
        expected=None,
        before=hold,
        find=find,
        held=held,
        trouble=trouble,
        people=tuple(office.ledger.states("person")),
    )
    shape = outcome_answer(outcome)
    return WeighDone(word=shape["verdict"], shape=shape)


def _refuse_no_look(request: WeighRequest) -> None:
    """Without a mass there must be a look, and nothing that only a weighing can tell of."""
    if not request.look:
        raise BadInput(
            "neither a mass nor what was seen is given",
            where=request.box,
            limit=f"a mass, or one of {', '.join(looks())}",
            do="Type what the balance shows; or say what you see, when it cannot be weighed (--look)",
        )
    if request.look not in looks():
        raise UnknownName("look", request.look, list(looks()), where="--look")
    if request.opened or request.water_g:
        raise BadInput(
            "a box that was opened or given water is not looked at alone",
            where=request.box,
            do="Weigh it: after an opening its mass begins a new count",
        )


def _judged(office: Office, request: WeighRequest) -> _Judged:
    """The weighing laid against what is known of its box."""
    meanings = read_mass(request.mass)
    site = site_of(office, request.box, request.site)
    holds = {hold.facts["find"]: hold for hold in office.ledger.states("hold", site.number)}
    hold = find_hold(request.box, site, list(holds.values()))
    refuse_ended(hold)
    find = find_thing(office, hold.facts["find"], site)
    shelf = shelves(office, site, read_choices())
    bench = _bench(shelf, find, holds, office.in_site_zone(_instant(office, request), site))
    reading, notes = _reading(request, meanings, bench)
    verdict, expected = _judge(reading, bench, request.why.strip())
    return _Judged(
        shelf=shelf,
        holds=holds,
        bench=bench,
        reading=reading,
        notes=() if verdict.code == "unit" else notes,
        verdict=verdict,
        expected=expected,
    )


def _instant(office: Office, request: WeighRequest) -> datetime:
    """When it was weighed: as typed, or now."""
    now = office.now()
    if request.at is None:
        return now.replace(microsecond=0)
    at = parse_instant(request.at, "--at")
    if at > now + CLOCK_SLACK:
        raise BadInput(
            f"{request.at} is in the future",
            where="--at",
            limit=f"up to {now.isoformat(timespec='minutes')}, the clock of this computer",
            do="Give the time of the weighing, or leave --at out for now",
        )
    return at


def _bench(shelf: Shelves, find: Thing, holds: dict[str, Thing], at: datetime) -> _Bench:
    """Lay the hold's earlier weighings out; what stands in the way is told later, after recording."""
    hold = holds[find.number]
    packed = hold.facts.get("packed_at")
    known, trouble, planned_kg = None, None, hold.facts["plan"].get("gross_mass_kg")
    try:
        case, plan = case_of_hold(find, shelf, hold)
        known = teach(case, plan, hold.facts, (at,))
        planned_kg = known.inputs.gross_mass_kg
    except FindholdError as error:
        trouble = error
    return _Bench(
        hold=hold,
        find=find,
        others=tuple(holds.values()),
        at=at,
        planned_kg=planned_kg,
        packed_at=datetime.fromisoformat(packed) if packed else at,
        known=known,
        trouble=trouble,
    )


def _reading(request: WeighRequest, meanings: tuple[TypedMass, ...], bench: _Bench) -> tuple[Reading, tuple[str, ...]]:
    """The reading, and what was taken without being told."""
    earlier = recorded(bench.hold.facts)
    reference_kg = earlier[-1].reading.mass_kg if earlier and earlier[-1].counted else bench.planned_kg
    meant, notes = meanings[0], []
    if len(meanings) > 1:
        if reference_kg is not None:
            meant = min(meanings, key=lambda one: abs(math.log(one.mass_kg / reference_kg)))
        notes.append(f"{request.mass!r} is read as {meant.mass_kg:.10g} kg.")
    balance_g = request.balance_g
    if balance_g is None:
        last_g = earlier[-1].reading.balance_g if earlier else rule("assumed_balance_g")
        balance_g = min(last_g, meant.step_g)
        notes.append(f"A balance that shows {balance_g:g} g is taken (say so with --balance).")
    if meant.step_g > balance_g:
        notes.append(f"Typed to {meant.step_g:g} g only: type every digit that the balance shows.")
    if request.wiped is None:
        notes.append("Nobody said whether it was cold and wiped (--wiped): its error is taken larger.")
    reading = Reading(
        at=bench.at,
        mass_kg=meant.mass_kg,
        typed_step_g=meant.step_g,
        unit=meant.unit,
        balance_g=balance_g,
        wiped=request.wiped,
        opened=request.opened or request.water_g > 0.0,
        water_g=request.water_g,
        look=request.look,
    )
    return reading, tuple(notes)


def _judge(reading: Reading, bench: _Bench, why: str = "") -> tuple[Verdict, Expected | None]:
    """The verdict on the mass, and what was expected."""
    known, earlier = bench.known, recorded(bench.hold.facts)
    expected = None
    if known is not None and reading.at >= bench.packed_at:
        expected = expected_reading(known, reading)
    own_kg = 0.0 if known is None else sd_kg(known.inputs, reading)
    unsettled = tuple(
        Unsettled(
            at=one.reading.at,
            mass_kg=one.reading.mass_kg,
            sd_kg=own_kg if known is None else sd_kg(known.inputs, one.reading),
        )
        for one in earlier
        if not one.counted and one.code not in _SETTLED
    )
    scene = Scene(
        expected=expected,
        planned_kg=bench.planned_kg,
        sd_kg=own_kg,
        packed_at=bench.packed_at,
        newest_at=max((one.reading.at for one in earlier), default=None),
        repeated=any((one.reading.at, one.reading.mass_kg) == (reading.at, reading.mass_kg) for one in earlier),
        others=other_boxes(bench.others, bench.hold, reading.at),
        unsettled=unsettled,
        why=why,
    )
    return judging.judge_mass(reading, scene), expected


def _body(request: WeighRequest, reading: Reading, verdict: Verdict) -> dict[str, Any]:
    """The event's body: the reading as typed and as read, how it was made, and the verdict."""
    return {
        "at": plain(reading.at),
        "typed": request.mass,
        "mass_kg": reading.mass_kg,
        "typed_step_g": reading.typed_step_g,
        "unit": reading.unit,
        "balance_g": reading.balance_g,
        "wiped": reading.wiped,
        "opened": reading.opened,
        "water_g": reading.water_g,
        "look": reading.look,
        "note": request.note.strip(),
        **({"why": request.why.strip()} if request.why.strip() else {}),
        **({} if request.clock is None else {"clock": dict(request.clock)}),
        "verdict": {
            "word": verdict.word,
            "code": verdict.code,
            "says": verdict.says,
            "counted": verdict.counted,
            "confirms": [plain(when) for when in verdict.confirms],
        },
    }


def _forecast(
    shelf: Shelves, find: Thing, holds: dict[str, Thing], request: WeighRequest
) -> tuple[Held | None, list[NewEvent], FindholdError | None]:
    """The hold forecast anew with this weighing among the others, or what stands in the way."""
    asked = HoldRequest(finds=(find.number,), members=request.members, seed=request.seed)
    try:
        done, events = forecast_finds([find], shelf, holds, asked)
    except FindholdError as error:
        return None, [], error
    return done.held[0], events, None
