"""What is due, as one short letter: what is wrong first, then the rounds ahead; the same facts give the same letter."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from findhold.dates.instants import day_for_people
from findhold.errors import BadInput
from findhold.service.diary import Due, DueRequest, LateBox, due
from findhold.service.office import Office
from findhold.service.rounds.planning import rounds
from findhold.service.rounds.shapes import Rounds, RoundsRequest, RoundVisit

MOST_LATE = 12
"""So many boxes are named; more are counted. Nobody reads thirty lines of what was missed."""
_WORDS = {
    "act": "{note}",
    "keep until": "its keep-until date has passed ({note})",
    "open": "its planned opening has passed",
    "mass": "mass wrong: {note}",
    "check": "not looked at",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Digest:
    """A letter: its subject, its text, and what it is known again by. `urgent` when something is late or due today."""

    subject: str
    text: str
    sha256: str
    anything: bool
    urgent: bool


def digest(office: Office, request: RoundsRequest) -> Digest:
    """The letter for one person, or for everybody."""
    found = rounds(office, request)
    late = _late(office, request, found)
    lines = [*_late_lines(late), *_cannot_lines(found), *_round_lines(found.visits), *_question_lines(found)]
    head = f"{found.site} {found.site_name}" + (f", for {found.for_name}" if found.for_name else "")
    today = found.now.date()
    urgent = bool(late) or bool(found.cannot) or any(visit.at.date() == today for visit in found.visits)
    return Digest(
        subject=f"{head}: {_subject(late, found.visits)}",
        text="\n".join([head, "", *lines, "", _foot()]),
        sha256=hashlib.sha256("\n".join(lines).encode()).hexdigest(),
        anything=bool(late or found.cannot or found.visits),
        urgent=urgent,
    )


def _late(office: Office, request: RoundsRequest, found: Rounds) -> tuple[LateBox, ...]:
    """What is late; of nothing when nothing is forecast yet, which the rounds tell."""
    try:
        told: Due = due(office, DueRequest(site=request.site, days=request.days, store=found.store))
    except BadInput:
        return ()
    return told.late


def late_words(late: LateBox) -> str:
    """What is late on one box, in a few words."""
    words = _WORDS[late.worst].format(note=late.note)
    if late.missed:
        checks = "1 check" if late.missed == 1 else f"{late.missed} checks"
        words += f"{'' if late.worst == 'check' else '; not looked at'}: {checks} missed"
    return words


def _late_lines(late: Sequence[LateBox]) -> list[str]:
    if not late:
        return []
    lines = ["LATE, worst first"]
    for one in late[:MOST_LATE]:
        since = day_for_people(one.since.date())
        lines.append(
            f"- {_short(one.box_id)} (find {one.find}, {one.store or 'no store'}): {late_words(one)}, since {since}"
        )
    if len(late) > MOST_LATE:
        lines.append(f"- and {len(late) - MOST_LATE} more boxes: findhold due")
    return [*lines, ""]


def _cannot_lines(found: Rounds) -> list[str]:
    lines = [
        f"- {one.store}, by {day_for_people(one.latest)}: {', '.join(_short(name) for name in one.boxes[:MOST_LATE])}."
        f" {one.why}"
        for one in found.cannot
    ]
    return ["NOBODY COMES, name somebody", *lines, ""] if lines else []


def _round_lines(visits: Sequence[RoundVisit]) -> list[str]:
    lines = [
        f"- {day_for_people(visit.at.date())}: {visit.who or 'anybody'}, {', '.join(visit.stores)}:"
        f" {' '.join(box.box for box in visit.boxes[:MOST_LATE])}"
        + (f" and {len(visit.boxes) - MOST_LATE} more" if len(visit.boxes) > MOST_LATE else "")
        for visit in visits
    ]
    return ["NEXT ROUNDS", *lines] if lines else ["No round is due."]


def _question_lines(found: Rounds) -> list[str]:
    return ["", "TO SETTLE", *(f"- {question.text}" for question in found.questions)] if found.questions else []


def _subject(late: Sequence[LateBox], visits: Sequence[RoundVisit]) -> str:
    if late:
        return "1 box is late" if len(late) == 1 else f"{len(late)} boxes are late"
    first: date | None = visits[0].at.date() if visits else None
    return f"next round {day_for_people(first)}" if first else "nothing is due"


def _foot() -> str:
    return "A conservator's word overrides this letter. Answer to the finds officer, not to this address."


def _short(box_id: str) -> str:
    return box_id.split("-")[-2] if box_id.count("-") >= 2 else box_id
