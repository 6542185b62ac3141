"""keep --closure: the plan of one closure, what is chosen for each hold, and the page to hand on."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, leave
from findhold.errors import BadInput
from findhold.service import office, wire
from findhold.service.closing.planning import closure_plan
from findhold.service.closing.shapes import ClosurePlan, ClosurePlanRequest, HoldPlan
from findhold.service.closing.words import (
    common_reasons,
    day_words,
    instant_words,
    span_words,
    summary_words,
    way_words,
    why_words,
)
from findhold.service.rounds.moment import seen_from


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureWords:
    """What stands on the command line of `keep --closure`."""

    finds: tuple[str, ...]
    closure: str
    choose: tuple[str, ...]
    done: tuple[str, ...]
    duty: str
    reason: str
    sheet: Path | None
    at: str | None
    site: str | None
    ledger: str | None
    person: str | None
    dry_run: bool
    members: int
    seed: int
    full: bool
    as_json: bool


def plan_closure(words: ClosureWords) -> None:
    """Plan a closure; exit 1 while a hold is not provided for."""
    request = _request(words)
    records = bool(words.choose or words.done or words.duty)
    if records and words.at is not None:
        raise BadInput(
            "what is recorded carries the time it is recorded", where="--at", do="Leave --at out, or look without it"
        )
    files = []
    clock: dict[str, Any] = {} if words.at is None else {**seen_from(words.at)}
    with (
        office.office(words.ledger, person=words.person, read_only=not records, **clock) as desk,
        screen.progress("forecasting") as moved,
    ):
        found = closure_plan(desk, request, moved)
        if words.sheet is not None:
            from findhold.service.closing.sheet import write_closure_sheet

            files.append(write_closure_sheet(desk, found, words.sheet))
    if words.as_json:
        screen.show_json({**wire.plain(found), "files": files})
    else:
        tell(found, full=words.full)
        for file in files:
            screen.say(f"  {file}")
    leave(OK if found.provided else THE_ANSWER_IS_NO)


def _request(words: ClosureWords) -> ClosurePlanRequest:
    if words.finds:
        raise BadInput("a closure is planned for every hold", where=words.finds[0], do="Leave the finds out")
    if words.dry_run:
        raise BadInput("looking at a plan records nothing", where="--dry-run", do="Leave --choose out instead")
    choices = []
    for text in words.choose:
        find, equals, way = text.partition("=")
        if not equals or not find.strip() or not way.strip():
            raise BadInput(
                f"{text!r} is no choice", where="--choose", limit='FIND=WAY, such as "37=open before"', do="Write both"
            )
        choices.append((find.strip(), way.strip()))
    return ClosurePlanRequest(
        site=words.site,
        closure=words.closure,
        choices=tuple(choices),
        done=words.done,
        duty=words.duty,
        reason=words.reason,
        members=words.members,
        seed=words.seed,
    )


def tell(found: ClosurePlan, *, full: bool) -> None:
    """The plan as text: the closure, what cannot be kept and its ways out, who comes, what is left to decide."""
    told = found.closure
    for words in found.recorded:
        screen.say(f"Recorded: {words}.")
    place = f" ({told.store})" if told.store else ""
    screen.say(
        f"{found.site}: closed {span_words(told.first_day, told.last_day, found.now.date())}{place}, {told.reason}.",
        style="bold",
    )
    before = "" if found.last_day_before is None else f" Last open day before it: {day_words(found.last_day_before)}."
    screen.say(f"Somebody is there again on {day_words(found.again.date())} {found.again:%H:%M}.{before}")
    for line in found.who_comes:
        screen.say(f"  {line}")
    for note in found.notes:
        screen.say(f"  {note}", style="dim")
    for question in found.questions:
        screen.say(f"? {question.text}", style=screen.ACT)
    common = common_reasons(found)
    screen.say(summary_words(found), style="bold")
    for hold in found.holds:
        _tell_hold(hold, found, full=full)
    if common:
        screen.say()
    for name, why in common:
        screen.say(f"For none of them {name}: {why}.")
    if any(way.name == "duty check" and not way.possible for hold in found.open for way in hold.ways):
        screen.say('Name who comes on the closed days: --duty "NAME"')
    _tell_waits(found)
    _tell_end(found)


def _tell_hold(hold: HoldPlan, found: ClosurePlan, *, full: bool) -> None:
    row, common = hold.standing, common_reasons(found)
    head = f"Find {row.held.number}, {row.held.what or 'no name'}, {row.store or 'no store'}"
    style = None if row.stands.enough else screen.ACT
    screen.say()
    screen.say(f"{head}: {_state(hold)}", style=style)
    if row.ended:
        return
    if row.chosen is None or not row.stands.enough or full:
        screen.say(f"  {why_words(row)}")
    if row.chosen is not None:
        when = instant_words(row.chosen.at, found.zone)
        words = f"  Chosen by {row.chosen.by} on {when}: {row.chosen.option}, {row.chosen.do}."
        screen.say(words + (f" ({row.chosen.reason})" if row.chosen.reason else ""))
    if row.stands.enough and not full:
        return
    for way in hold.ways:
        if way.possible:
            screen.say(f"  - {way.name}: {way.do}; {way_words(way, found.zone)}.")
    for way in hold.ways:
        if not way.possible and (way.name, way.why_not) not in common:
            screen.say(f"  not {way.name}: {way.why_not}.")
    if hold.no_help:
        screen.say(f"  Moves no date: {', '.join(hold.no_help)}.", style="dim")


def _state(hold: HoldPlan) -> str:
    row = hold.standing
    if row.ended:
        return row.ended
    word = {"open": "NOT PROVIDED FOR", "short": "NOT ENOUGH", "chosen": "chosen", "done": "done", "waits": "can wait"}
    why = f", {row.stands.why}" if row.stands.why else ""
    return f"{word[row.stands.state]}{why}"


def _tell_waits(found: ClosurePlan) -> None:
    if found.waits:
        screen.say()
        screen.say(f"Nothing to decide for {', '.join(row.held.number for row in found.waits)}:")
        for row in found.waits:
            screen.say(f"  find {row.held.number} {row.wait.word}. {row.wait.why}")


def _tell_end(found: ClosurePlan) -> None:
    screen.say()
    left = found.open
    if not left:
        screen.say("Every hold is provided for.", style="bold")
        return
    numbers = ", ".join(hold.standing.held.number for hold in left)
    screen.say(f"Not provided for: {numbers}.", style=screen.ACT)
    first = next((hold for hold in left if any(way.possible for way in hold.ways)), None)
    if first is not None:
        way = next(way for way in first.ways if way.possible)
        name = found.closure.key if " " not in found.closure.key else f'"{found.closure.key}"'
        screen.say(
            f'Choose, for example: findhold keep --closure {name} --choose "{first.standing.held.number}={way.name}"'
        )
