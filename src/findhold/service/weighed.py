"""What came of a weighing in its public shape: verdict, what to do, whom to tell, the next check, the new dates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from findhold.check import weighing as judging
from findhold.check.expecting import Expected
from findhold.check.weighing import ACT, Verdict, judge_gap, judge_look, judge_loss, worst
from findhold.errors import FindholdError
from findhold.physics.band import Band
from findhold.service.checks_made import missed_before
from findhold.service.holds import Held
from findhold.service.whom_to_call import whom_to_call
from findhold.service.wire import plain
from findhold.store.ledger import Thing

OPENS = "opens today"
TYPED_WRONG = ("unit", "before packing")
"""Codes of what was mistyped: it asks for a correction, and nobody is called."""
_MOVED_S = 3600.0
"""A keep-until date that moves by less is told as unchanged."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """Everything a weighing left: what was recorded, judged, learned and forecast.

    at and look are of the visit; before is the hold as it stood; held None and trouble say that no forecast could be
    made.
    """

    body: dict[str, Any]
    at: datetime
    look: str
    verdict: Verdict
    notes: tuple[str, ...]
    expected: Expected | None
    before: Thing
    find: Thing
    held: Held | None
    trouble: FindholdError | None
    people: tuple[Thing, ...]


def outcome_answer(outcome: Outcome) -> dict[str, Any]:
    """A weighing in the public shape of `weigh --json`."""
    at, look, told = outcome.at, outcome.look, outcome.held.shape if outcome.held else {}
    seen = judge_look(look or "right", str((outcome.before.facts.get("plan") or {}).get("kept") or ""))
    also = [
        found for found in (_opens(outcome), _loss(told), _gap(outcome), _passed(outcome, told)) if found is not None
    ]
    if seen.do:
        words = f"{look.capitalize()} seen, and recorded."
        also.insert(0, Verdict(word=seen.word, code=look, says=words, counted=True, do=seen.do))
    verdicts = (outcome.verdict, *also)
    # What is seen comes before what is weighed: mould does not wait for a second weighing.
    order = sorted(verdicts, key=lambda one: (one.code != look, one.code != OPENS, one.word != ACT))
    band = None if outcome.expected is None else outcome.expected.band_kg
    return {
        "box_id": outcome.before.facts["box_id"],
        "find": outcome.find.number,
        "what": outcome.find.facts.get("what") or "",
        "mass_kg": None,
        **{key: value for key, value in outcome.body.items() if key != "verdict"},
        "verdict": worst(tuple(one.word for one in verdicts)),
        "mass_verdict": outcome.verdict.word,
        "code": outcome.verdict.code,
        "counted": outcome.verdict.counted,
        "says": [one.says for one in order],
        "causes": plain(outcome.verdict.causes),
        "do": list(dict.fromkeys(step for one in order for step in one.do)),
        "tell": _tell(seen.tell, verdicts, outcome),
        "band": None if band is None else {"low_kg": band.low, "best_kg": band.best, "high_kg": band.high},
        "learned": told.get("learned"),
        "next_check": _next_check(told, at),
        "keep_until": told.get("keep_until"),
        "keep_until_before": outcome.before.facts.get("forecast", {}).get("keep_until"),
        "keep_until_moved": _moved(outcome, told),
        "governing_limit": told.get("governing_limit"),
        "can_keep": told.get("can_keep"),
        "open_at": told.get("open_at"),
        "notes": list(outcome.notes),
        "recorded": True,
        "not_forecast": None if outcome.trouble is None else outcome.trouble.as_dict(),
    }


def _opens(outcome: Outcome) -> Verdict | None:
    """That the box is opened later on this day."""
    opens = outcome.before.facts.get("open_at")
    at = None if opens is None else datetime.fromisoformat(opens).astimezone(outcome.at.tzinfo)
    if at is None or at < outcome.at or at.date() != outcome.at.date():
        return None
    return Verdict(word=judging.RIGHT, code=OPENS, says=f"It opens today, {at:%H:%M}.", counted=True)


def _loss(told: dict[str, Any]) -> Verdict | None:
    """Whether the water lost so far asks for something."""
    learned = told.get("learned")
    if not learned:
        return None
    lost = Band(**{name: grams / 1000.0 for name, grams in learned["water_lost_g"].items()})
    return judge_loss(lost, learned["water_packed_g"] / 1000.0)


def _gap(outcome: Outcome) -> Verdict | None:
    """Planned checks that nobody made since the last time the box was weighed."""
    return judge_gap(len(missed_before(outcome.before.facts, outcome.at)))


def _passed(outcome: Outcome, told: dict[str, Any]) -> Verdict | None:
    """Whether the box stands longer than it may."""
    until = told.get("keep_until")
    if until is None or outcome.at <= datetime.fromisoformat(until):
        return None
    when = datetime.fromisoformat(until)
    return Verdict(
        word=judging.ACT,
        code="kept too long",
        says=f"Its keep-until date, {when.day} {when:%b %Y}, has passed ({told['governing_limit']}).",
        counted=True,
        do=("Ask the conservator today; bring the opening forward.",),
    )


def _tell(words: tuple[str, ...], verdicts: tuple[Verdict, ...], outcome: Outcome) -> list[str]:
    """Whom to call: who is to know what was seen, and the conservator of whatever else asks to act."""
    acts = any(one.word == ACT and one.code not in TYPED_WRONG for one in verdicts)
    called = (*words, *(("conservator",) if acts and "conservator" not in words else ()))
    people = [person.facts for person in outcome.people]
    return whom_to_call(people, called, tuple(outcome.find.facts.get("analyses") or ()))


def _next_check(told: dict[str, Any], at: datetime) -> dict[str, Any] | None:
    """The next planned check, with the mass to expect."""
    ahead = [check for check in told.get("checks", ()) if datetime.fromisoformat(check["at"]) > at]
    if not ahead:
        return None
    bands = {band["at"]: band for band in told.get("mass_band", ())}
    return {**ahead[0], **bands.get(ahead[0]["at"], {"low_kg": None, "best_kg": None, "high_kg": None})}


def _moved(outcome: Outcome, told: dict[str, Any]) -> bool | None:
    """Whether this weighing moved the keep-until date; None when one of the two is not known."""
    before, now = outcome.before.facts.get("forecast", {}).get("keep_until"), told.get("keep_until")
    if before is None or now is None:
        return None
    apart = datetime.fromisoformat(now) - datetime.fromisoformat(before)
    return abs(apart.total_seconds()) >= _MOVED_S
