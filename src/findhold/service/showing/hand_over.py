"""The hand-over sheet: what leaves the unit, how it stands, and what who takes it must do; two people sign it on paper.

Making or printing it records nothing: the paper with its signatures is the record.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from findhold.dates.instants import day_at, day_for_people, for_people
from findhold.draw.marks import Drawing
from findhold.draw.svg import to_svg
from findhold.errors import BadInput, UnknownName
from findhold.label.codes import code_marks, code_side_mm, short_modules
from findhold.label.payload import short_text
from findhold.record.events import stream_of
from findhold.rounding import as_typed, told_expected, told_mass
from findhold.service.choices import read_choices
from findhold.service.labelling import label_facts
from findhold.service.office import Office
from findhold.service.seen_amiss import seen_amiss
from findhold.service.sheets import near_finds
from findhold.service.showing.held import HeldSeen, held_seen
from findhold.service.showing.still_so import plan_outdated
from findhold.store.ledger import Thing, read_state
from findhold.store.lookup import hold_of_find, samples_of_find
from findhold.store.whereabouts import holds_by_keep_until

MOST = 60
"""So many boxes on one sheet, and so many to choose from."""
MODULE_MM, QUIET = 0.5, 1


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedOver:
    """One box on the sheet. must: what who takes it has to do, in order; code_svg: its short code, to scan."""

    held: HeldSeen
    kept: str
    context: str
    pieces: int | None
    samples: tuple[str, ...]
    analyses: tuple[str, ...]
    mass_words: str
    keep_words: str
    must: tuple[str, ...]
    code_svg: str
    code_text: str
    parts: tuple[str, ...]
    """Labels that were made for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HandOverSheet:
    """The sheet: its boxes, the cautions of all of them, and what it rests on."""

    site: str
    site_name: str
    now: datetime
    person: str
    seal: str
    boxes: tuple[HandedOver, ...]
    cautions: tuple[str, ...]
    flags: tuple[tuple[str, str], ...]
    """Find and what is flagged of it."""
    mass_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Choosable:
    """What can be handed over: boxes of a site, the earliest keep-until date first."""

    site: str
    boxes: tuple[HeldSeen, ...]
    more: bool


def choosable(office: Office, site_code: str | None = None) -> Choosable:
    """Boxes to choose from."""
    site = office.site(site_code)
    now = office.in_site_zone(office.now(), site)
    with office.ledger.reading() as connection:
        holds = holds_by_keep_until(connection, site.number, MOST + 1)
        finds = [read_state(connection, stream_of("find", site.number, hold.facts["find"])) for hold in holds[:MOST]]
    boxes = tuple(
        held_seen(find, hold, now) for find, hold in zip(finds, holds[:MOST], strict=True) if find is not None
    )
    return Choosable(site=site.number, boxes=boxes, more=len(holds) > MOST)


def hand_over_sheet(office: Office, numbers: tuple[str, ...], site_code: str | None = None) -> HandOverSheet:
    """The sheet for some finds, in the order asked for.

    Raises
    ------
    BadInput : no find was chosen, too many, or one that has no box. UnknownName : no such find.
    """
    site = office.site(site_code)
    wanted = tuple(dict.fromkeys(cleaned for number in numbers if (cleaned := number.strip("[]()<>△ ,"))))
    if not 1 <= len(wanted) <= MOST:
        raise BadInput(
            "no find was chosen" if not wanted else f"{len(wanted)} finds were chosen",
            where="hand-over sheet",
            limit=f"1 to {MOST} finds",
            do="Tick the boxes that are handed over, or type their numbers",
        )
    now = office.in_site_zone(office.now(), site)
    boxes = tuple(_box(office, site, number, now) for number in wanted)
    return HandOverSheet(
        site=site.number,
        site_name=str(site.facts["name"]),
        now=now,
        person=office.person,
        seal=office.ledger.head()[1],
        boxes=tuple(box for box, _ in boxes),
        cautions=tuple(dict.fromkeys(text for _, plan in boxes for text in _cautions(plan))),
        flags=tuple((box.held.number, flag) for box, _ in boxes for flag in box.held.flags),
        mass_kg=sum(box.held.mass_kg or 0.0 for box, _ in boxes),
    )


def _box(office: Office, site: Thing, number: str, now: datetime) -> tuple[HandedOver, dict[str, Any]]:
    """One box of the sheet, and its plan."""
    with office.ledger.reading() as connection:
        find = read_state(connection, stream_of("find", site.number, number))
        hold = hold_of_find(connection, site.number, number) if find else None
        samples = samples_of_find(connection, site.number, number, MOST) if find else []
    if find is None:
        raise UnknownName("find", number, near_finds(office, site.number, number), where=f"site {site.number}")
    if hold is None:
        raise BadInput("no box is planned for it", where=f"find {number}", do=f"Plan it first: findhold plan {number}")
    held, plan, zone = held_seen(find, hold, now), hold.facts.get("plan") or {}, str(site.facts["zone"])
    code_text = short_text(label_facts(office, site, hold), "lid")
    told = HandedOver(
        held=held,
        kept="wet" if plan.get("kept") == "waterlogged" else str(plan.get("kept") or held.state),
        context=str(find.facts.get("context") or ""),
        pieces=find.facts.get("count"),
        samples=tuple(f"<{sample.number}> {sample.facts.get('what') or ''}".strip() for sample in samples),
        analyses=tuple(find.facts.get("analyses") or ()),
        mass_words=_mass_words(held, hold, zone, now),
        keep_words=_keep_words(held, hold, zone),
        must=(
            *((other,) if (other := plan_outdated(find.facts, hold.facts)) else ()),
            *_must(held, hold, plan, zone, now),
        ),
        code_svg=_code_svg(code_text, held.box_id),
        code_text=code_text,
        parts=tuple((hold.facts.get("labels") or {}).get("parts") or ()),
    )
    return told, plan


def _cautions(plan: dict[str, Any]) -> list[str]:
    return [str(caution["text"]) for caution in plan.get("cautions") or ()]


def _mass_words(held: HeldSeen, hold: Thing, zone: str, now: datetime) -> str:
    if held.mass_kg is None:
        return "not known"
    if not held.weighed:
        return f"{told_mass(held.mass_kg)} as planned, not weighed"
    last = hold.facts["weighings"][-1]
    doubt = ", in question" if _mass_question(hold, zone, now) else ""
    return f"{_typed(last)}, weighed {for_people(datetime.fromisoformat(last['at']), zone)}{doubt}"


def _typed(weighing: dict[str, Any]) -> str:
    return as_typed(weighing["mass_kg"], weighing.get("typed_step_g"))


def _mass_question(hold: Thing, zone: str, now: datetime) -> str:
    """What is open about the mass, one sentence; "" when nothing is. Lighter than it will ever be is wrong too."""
    rows = list(hold.facts.get("weighings") or ())
    coming = _coming(hold, now)
    too_light = bool(rows) and coming is not None and rows[-1]["mass_kg"] < coming["low_kg"]
    if not rows or not (hold.facts.get("mass_wrong") or too_light):
        return ""
    when = for_people(datetime.fromisoformat(rows[-1]["at"]), zone)
    planned = (hold.facts.get("plan") or {}).get("gross_mass_kg")
    meant = f", planned {told_mass(planned)}" if planned else ""
    told = f"{_typed(rows[-1])} on {when}{meant}"
    return f"Its mass is in question ({told}): weigh it again before it leaves, and settle why."


def _coming(hold: Thing, now: datetime) -> dict[str, Any] | None:
    """The next mass to expect by the forecast."""
    bands = (hold.facts.get("forecast") or {}).get("mass_band") or ()
    return next((band for band in bands if datetime.fromisoformat(band["at"]) >= now), None)


def _keep_words(held: HeldSeen, hold: Thing, zone: str) -> str:
    if held.keep_until is None:
        return "not forecast"
    day = f"{day_for_people(day_at(held.keep_until, zone))} ({held.governing})"
    amiss = seen_amiss(hold.facts, zone)
    return day if amiss is None else f"{day}. {amiss.date_words}"


def _must(held: HeldSeen, hold: Thing, plan: dict[str, Any], zone: str, now: datetime) -> list[str]:
    """What who takes it has to do, in order, from what was planned and forecast."""
    policy = read_choices().policy
    said = [f"Know before it is touched: {', '.join(held.hazards)}."] if held.hazards else []
    if held.alarm:
        said.append(
            f"{held.alarm.capitalize()} was seen: leave it closed; a conservator looks at it before anything else, and"
            " says when it is opened."
        )
    question = _mass_question(hold, zone, now)
    said += [question] if question else []
    if plan.get("kept") == "dry":
        said.append("Keep it dry and dark, in its box.")
    elif plan.get("kept"):
        kept = "wet" if plan["kept"] == "waterlogged" else plan["kept"]
        span = f"{policy.cold_note_c:g} to {policy.warm_c:g} °C"
        said.append(f"Keep it {kept}, dark, and at {span}, also on the way; never freeze it.")
    coming = _coming(hold, now)
    if coming is not None and not question:
        when = for_people(datetime.fromisoformat(coming["at"]), zone)
        band = told_expected(coming["low_kg"], coming["best_kg"], coming["high_kg"], weighed=held.weighed)
        outside = "Outside that, ask." if held.weighed else "The first weighing is what later ones are compared with."
        said.append(f"Weigh it, cold and wiped, on {when}: {band}. {outside}")
    if held.keep_until is not None and not held.alarm:
        passed = held.keep_until < now
        last = day_for_people(day_at(held.keep_until, zone))
        said.append(f"Open it now: its keep-until date, {last}, has passed." if passed else f"Open it by {last}.")
    if plan.get("barrier"):
        said.append(f"{str(plan['barrier']).capitalize()} lies next to the find: leave it until it is opened.")
    return said


def _code_svg(text: str, box_id: str) -> str:
    """The short code with its quiet zone, at a size that any reader takes."""
    modules = short_modules(text)
    side = code_side_mm(modules, QUIET, MODULE_MM)
    drawn = Drawing(
        width_mm=side,
        height_mm=side,
        marks=code_marks(modules, QUIET, MODULE_MM, (0.0, 0.0)),
        title=f"Short code of box {box_id}",
        description="",
    )
    return to_svg(drawn, paper=True)
