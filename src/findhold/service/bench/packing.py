"""Packing a box step by step: what to do, what is done by whom, tick and undo; resumable on another device."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from findhold.check.typed_mass import read_mass
from findhold.errors import BadInput, FindholdError
from findhold.pack.plan import Plan
from findhold.record.events import NewEvent
from findhold.service.bench.clock import DeviceClock, moment
from findhold.service.finder import find_thing
from findhold.service.office import Office
from findhold.service.packing.drawing import block_label, box_svg, step_pictures
from findhold.service.recorded import section_svg, seen_plan
from findhold.service.showing.still_so import labels_outdated, plan_outdated
from findhold.service.wire import plain
from findhold.store.ledger import Thing
from findhold.store.lookup import finds_without_box, hold_of_find
from findhold.store.places import finds_of_holds, holds_at_bench

MOST = 200
STEP_MM = (64.0, 46.0)
"""A picture of one part of the work, as a telephone shows it [mm]."""
TO_BE_BOXED = ("damp", "waterlogged")
_TARE = "Weigh the empty box"


@dataclass(frozen=True, slots=True, kw_only=True)
class ToPack:
    """A find at the bench: its box and how far it is packed. box_id "" : no box is planned yet."""

    find: str
    what: str
    registered: bool
    box_id: str
    box: str
    done: int
    steps: int
    packed: bool = False
    """Its packing date is stated or recorded, and past: only the shelf is left to tell."""
    outdated: bool = False
    """Planned for other measures or facts than those that stand now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PackStep:
    """One step: what to do and why, its part of the work, and who ticked it. code names it as long as its words stand.

    asks_mass : the empty box is weighed in this step.
    """

    number: int
    text: str
    why: str
    code: str
    part: str
    ticks: tuple[dict[str, Any], ...]
    done: bool
    asks_mass: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PackView:
    """A find at the bench: plan, steps, what is ticked, pictures, mass, photographs, labels, shelf.

    earlier : ticks of steps that an earlier plan had. trouble : why there is no drawing. outdated : why the plan is no
    longer for this find as it is, so that its steps are closed; labels_outdated : what changed since they were printed.
    """

    site: str
    number: str
    what: str
    registered: bool
    facts: dict[str, Any]
    hold: dict[str, Any] | None
    seq: int
    plan: dict[str, Any] | None
    steps: tuple[PackStep, ...]
    earlier: tuple[dict[str, Any], ...]
    pictures: dict[str, str]
    section_svg: str | None
    trouble: str | None
    outdated: str
    labels_outdated: str
    now: datetime

    @property
    def done(self) -> int:
        """How many steps are ticked."""
        return sum(step.done for step in self.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class TickRequest:
    """A step done: its find, its code, the tick's own UUID (None: one is made), the empty box's mass where it asks."""

    find: str
    step: str
    tick: str | None = None
    mass: str = ""
    note: str = ""
    site: str | None = None
    clock: DeviceClock | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class UndoRequest:
    """A tick to take back, by its UUID."""

    find: str
    tick: str
    site: str | None = None
    clock: DeviceClock | None = None


def pack_list(office: Office, site_code: str | None = None) -> tuple[ToPack, ...]:
    """Finds to pack: begun ones first, then those with a box planned, then those that wait for one."""
    site = office.site(site_code)
    with office.ledger.reading() as connection:
        holds = holds_at_bench(connection, site.number, MOST)
        finds = finds_of_holds(connection, site.number, holds)
        bare = finds_without_box(connection, site.number, TO_BE_BOXED, MOST)
    rows = [_to_pack(hold, finds.get(hold.facts["find"]), office.now()) for hold in holds]
    rows.sort(key=lambda row: (row.done == 0, row.done == row.steps))
    return (*rows, *(_bare(find) for find in bare))


def packed_known(facts: Mapping[str, Any]) -> bool:
    """Whether somebody stated or recorded when a box was packed; False when the date was only taken."""
    return bool(facts.get("packed_at")) and facts.get("packed_stated") is not False


def _to_pack(hold: Thing, find: Thing | None, now: datetime) -> ToPack:
    steps = _steps(hold.facts)
    facts = find.facts if find else {}
    return ToPack(
        find=hold.facts["find"],
        what=str(facts.get("what") or ""),
        registered=_registered(facts),
        box_id=hold.facts["box_id"],
        box=str(hold.facts["plan"]["box"]),
        done=sum(step.done for step in steps),
        steps=len(steps),
        outdated=bool(plan_outdated(facts, hold.facts)),
        packed=packed_known(hold.facts) and datetime.fromisoformat(hold.facts["packed_at"]) <= now,
    )


def _bare(find: Thing) -> ToPack:
    what, registered = str(find.facts.get("what") or ""), _registered(find.facts)
    return ToPack(find=find.number, what=what, registered=registered, box_id="", box="", done=0, steps=0)


def _registered(facts: Mapping[str, Any]) -> bool:
    return (facts.get("kind") or "registered") == "registered"


def pack_view(office: Office, number: str, site_code: str | None = None) -> PackView:
    """A find as the bench sees it.

    Raises
    ------
    UnknownName : there is no such find.
    """
    site = office.site(site_code)
    find = find_thing(office, number, site)
    with office.ledger.reading() as connection:
        hold = hold_of_find(connection, site.number, find.number)
    steps = _steps(hold.facts) if hold else ()
    known = {step.code for step in steps}
    ticks = hold.facts.get("ticks", ()) if hold else ()
    pictures, section, trouble = _pictures(find.number, hold.facts) if hold else ({}, None, None)
    return PackView(
        site=site.number,
        number=find.number,
        what=str(find.facts.get("what") or ""),
        registered=_registered(find.facts),
        facts=find.facts,
        hold=hold.facts if hold else None,
        seq=hold.seq if hold else 0,
        plan=hold.facts["plan"] if hold else None,
        steps=steps,
        earlier=tuple(tick for tick in ticks if tick["code"] not in known and "undone_by" not in tick),
        pictures=pictures,
        section_svg=section,
        trouble=trouble,
        outdated=plan_outdated(find.facts, hold.facts if hold else None),
        labels_outdated=labels_outdated(find.facts, hold.facts if hold else None, site.facts["zone"]),
        now=office.in_site_zone(office.now(), site),
    )


def view_answer(view: PackView) -> dict[str, Any]:
    """A find at the bench in its public shape; drawings are left out, they have addresses of their own."""
    shape: dict[str, Any] = plain(view)
    return {key: value for key, value in shape.items() if key not in ("pictures", "section_svg")} | {"done": view.done}


def step_code(text: str) -> str:
    """A step's name: it stays the same as long as its words do, whatever its number becomes."""
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _steps(facts: Mapping[str, Any]) -> tuple[PackStep, ...]:
    plan = facts["plan"]
    parts = _parts(plan)
    ticks: dict[str, list[dict[str, Any]]] = {}
    for tick in facts.get("ticks", ()):
        ticks.setdefault(tick["code"], []).append(tick)
    steps = []
    for row in plan.get("steps", ()):
        code = step_code(row["text"])
        own = tuple(ticks.get(code, ()))
        steps.append(
            PackStep(
                number=row["number"],
                text=row["text"],
                why=row.get("why") or "",
                code=code,
                part=parts.get(row["number"], ""),
                ticks=own,
                done=any("undone_by" not in tick for tick in own),
                asks_mass=row["text"].startswith(_TARE),
            )
        )
    return tuple(steps)


def _parts(plan: Mapping[str, Any]) -> dict[int, str]:
    """The part of the work of each step that has a picture, by the step's number."""
    if not plan.get("box_facts"):
        return {}
    try:
        pictures = step_pictures(_as_planned(plan))
    except (FindholdError, AttributeError):
        return {}
    return {number: picture.part for picture in pictures for number, _ in picture.steps}


def _as_planned(plan: Mapping[str, Any]) -> Plan:
    return cast(Plan, seen_plan(plan))


def _pictures(number: str, facts: Mapping[str, Any]) -> tuple[dict[str, str], str | None, str | None]:
    """The picture of each part of the work, the section, and why there are none."""
    plan = facts["plan"]
    if not plan.get("box_facts"):
        return {}, None, "no box is planned for it"
    try:
        told = _as_planned(plan)
        label = block_label(told, number)
        pictures = {str(one.part): box_svg(told, label, one.part, STEP_MM) for one in step_pictures(told)}
        return pictures, section_svg(number, facts), None
    except BadInput as error:
        return {}, None, error.sentence()
    except AttributeError:
        return {}, None, "Its plan was recorded by an older version, which kept less: plan it again."


def tick_step(office: Office, request: TickRequest) -> dict[str, Any]:
    """Record that a step was done; a second tick by the same person is known already, one by another stands beside it.

    A tick made without a line, of a step that a newer plan no longer has, is recorded all the same: it was done.

    Raises
    ------
    BadInput : no box is planned, no plan of it had such a step, the find is no longer as it was planned for, or the
    mass of the empty box cannot be one.
    """
    hold = bench_hold(office, request.find, request.site)
    number, text = _step_of(office, hold, request.step)
    standing = [tick for tick in hold.facts.get("ticks", ()) if tick["code"] == request.step]
    mine = [tick for tick in standing if tick["by"] == office.person and "undone_by" not in tick]
    when = moment(office, request.clock)
    if not standing:
        _still_planned(office, hold, request, when.at)
    if mine and not request.mass.strip():
        return {"find": hold.facts["find"], **mine[-1], "known_before": True}
    body: dict[str, Any] = {
        "tick": request.tick or str(uuid.uuid4()),
        "code": request.step,
        "step": number,
        "text": text,
        "note": request.note.strip(),
        "at": plain(when.at),
    }
    if when.clock is not None:
        body["clock"] = when.clock
    if request.mass.strip():
        body |= _empty_box(request.mass, hold)
    with office.ledger.writing(office.stamp()) as writing:
        writing.append([NewEvent(word="hold.step.1", stream=hold.stream, body=body)])
    return {"find": hold.facts["find"], **body, "by": office.person, "known_before": False}


def _still_planned(office: Office, hold: Thing, request: TickRequest, at: datetime) -> None:
    """Refuse a step that was done after the find had become another; one done before is recorded, for it was done."""
    find = find_thing(office, hold.facts["find"], office.site(request.site))
    why = plan_outdated(find.facts, hold.facts)
    if why and at >= max(event.at for event in office.ledger.story(find.stream)):
        raise BadInput(why.partition(". ")[0], where=f"find {find.number}", do="Plan its box again, then go on packing")


def undo_step(office: Office, request: UndoRequest) -> dict[str, Any]:
    """Take a tick back, as an event of its own; both stay to be read.

    Raises
    ------
    BadInput : there is no such tick.
    """
    hold = bench_hold(office, request.find, request.site)
    found = next((tick for tick in hold.facts.get("ticks", ()) if tick["tick"] == request.tick), None)
    if found is None:
        raise BadInput(
            "this step was not ticked, so it cannot be taken back",
            where=f"find {hold.facts['find']}",
            do="Load the page again and look what is ticked",
        )
    if "undone_by" in found:
        return {"find": hold.facts["find"], **found, "known_before": True}
    when = moment(office, request.clock)
    body = {"tick": request.tick, "step": found["step"], "text": found["text"], "at": plain(when.at)}
    if when.clock is not None:
        body["clock"] = when.clock
    with office.ledger.writing(office.stamp()) as writing:
        writing.append([NewEvent(word="hold.step.undone.1", stream=hold.stream, body=body)])
    undone = {"undone_at": body["at"], "undone_by": office.person}
    return {"find": hold.facts["find"], **found, **undone, "known_before": False}


def bench_hold(office: Office, number: str, site_code: str | None) -> Thing:
    """The hold of a find at the bench; raises BadInput when no box is planned for it."""
    site = office.site(site_code)
    find = find_thing(office, number, site)
    with office.ledger.reading() as connection:
        hold = hold_of_find(connection, site.number, find.number)
    if hold is None:
        raise BadInput("no box is planned for it yet", where=f"find {find.number}", do="Plan its box first")
    return hold


def _step_of(office: Office, hold: Thing, code: str) -> tuple[int, str]:
    """Number and words of a step, of this plan or an earlier one."""
    plans = [hold.facts["plan"]]
    rows = [row for row in plans[0].get("steps", ()) if step_code(row["text"]) == code]
    if not rows:
        story = [event.body["plan"] for event in office.ledger.story(hold.stream) if event.word == "hold.planned.1"]
        rows = [row for plan in story for row in plan.get("steps", ()) if step_code(row["text"]) == code]
    if not rows:
        raise BadInput(
            "no plan of this box had such a step",
            where=f"find {hold.facts['find']}",
            do="Load the page again, and tick the step as it is written there",
        )
    return rows[-1]["number"], rows[-1]["text"]


def _empty_box(text: str, hold: Thing) -> dict[str, Any]:
    """The empty box as weighed, and how it lies to what the stock list says."""
    listed_kg = (hold.facts["plan"].get("box_facts") or {}).get("tare_kg")
    meanings = read_mass(text)
    if len(meanings) > 1 and listed_kg:
        meanings = tuple(sorted(meanings, key=lambda one: abs(one.mass_kg / listed_kg - 1.0)))
    mass_kg = meanings[0].mass_kg
    if listed_kg and not 0.2 < mass_kg / listed_kg < 5.0:
        raise BadInput(
            f"{text!r} is read as {mass_kg:.10g} kg",
            where="mass of the empty box",
            limit=f"the stock list says {listed_kg:g} kg with its lid",
            do="Type it again with its unit, kg or g; or mend the stock list",
        )
    return {"typed": text, "mass_kg": mass_kg, "listed_kg": listed_kg}
