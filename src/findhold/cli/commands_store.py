"""The part of `import` that is about a store: a logger's file, a failure typed by hand, and taking either back."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from findhold.cli import asking, screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, leave
from findhold.errors import BadInput, Mistakes
from findhold.service import office, stores
from findhold.service.requests import failure_request
from findhold.service.store_boxes import Ensemble

Told = stores.StoreTold


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerWords:
    """What was typed about a logger's file."""

    file: Path | None
    store: str | None
    zone: str | None
    answers: dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class FailureWords:
    """What was typed about a failure."""

    store: str | None
    begins: str | None
    ends: str | None
    room_c: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunWords:
    """What was typed about the run itself; `reason` with `take_back` only."""

    ledger: str | None
    person: str | None
    site: str | None
    reason: str
    take_back: bool
    dry_run: bool
    as_json: bool


def import_store(logged: LoggerWords, failed: FailureWords, run: RunWords) -> None:
    """Record what happened to a store and tell it; leaves with 1 when a hold can no longer be kept."""
    with office.office(run.ledger, person=run.person) as desk:
        if run.take_back:
            request = _take_back(logged, failed, run)
            with screen.progress("forecasting") as moved:
                told = stores.take_back(desk, request, moved)
        elif failed.store is not None:
            typed = (failed.store, failed.begins, failed.ends, failed.room_c)
            asked = failure_request(*typed, dry_run=run.dry_run, ensemble=Ensemble(site=run.site))
            with screen.progress("forecasting") as moved:
                told = stores.record_failure(desk, asked, moved)
        else:
            told = _log(desk, _log_request(logged, run), asks=not run.as_json and asking.on_terminal())
    if run.as_json:
        screen.show_json(stores.store_answer(told))
    else:
        tell_store(told)
    leave(OK if told.after.all_kept else THE_ANSWER_IS_NO)


def _log(desk: office.Office, request: stores.LogRequest, *, asks: bool) -> Told:
    """Read a logger's file; a person at the terminal settles its questions one after the other."""
    while True:
        try:
            with screen.progress("forecasting") as moved:
                return stores.record_log(desk, request, moved)
        except Mistakes as error:
            if not asks or not error.answerable:
                raise
            answers, all_given = asking.ask_all(error.questions, asking.ask_one)
        request = replace(request, answers={**request.answers, **answers})
        if not all_given:
            screen.say("Nothing was recorded.")
            asking.say_answers(answers)
            leave(THE_ANSWER_IS_NO)


def _log_request(logged: LoggerWords, run: RunWords) -> stores.LogRequest:
    if logged.file is None or logged.store is None:
        raise BadInput(
            "which store's logger is it?", where="--logger", do='Name the store: --logger FILE --store "Fridge 2"'
        )
    return stores.LogRequest(
        file=logged.file,
        store=logged.store,
        zone=logged.zone,
        answers=logged.answers,
        dry_run=run.dry_run,
        ensemble=Ensemble(site=run.site),
    )


def _take_back(logged: LoggerWords, failed: FailureWords, run: RunWords) -> stores.TakeBack:
    ensemble = Ensemble(site=run.site)
    if failed.store is not None:
        begins = failure_request(failed.store, failed.begins, None, 0.0, dry_run=False, ensemble=ensemble).begins
        return stores.TakeBack(store=failed.store, reason=run.reason, begins=begins, ensemble=ensemble)
    if logged.file is None or logged.store is None:
        raise BadInput(
            "what is to be taken back?",
            where="--take-back",
            do='Add --logger FILE --store "Fridge 2", or --failure "Fridge 2" --from TIME, and a --reason',
        )
    return stores.TakeBack(store=logged.store, reason=run.reason, file=logged.file, ensemble=ensemble)


def tell_store(told: Told) -> None:
    """What happened, which boxes, worst first, what to do now."""
    for line in stores.what_happened(told):
        screen.say(line, style="bold")
    boxes = told.after.boxes
    if boxes:
        tell_boxes(told)
    else:
        screen.say("No planned box stands in it.")
    for box_act in told.after.acts:
        screen.say(f"- {box_act}", style=screen.ACT)
    for line in told.after.tell:
        screen.say(f"- call {line}", style=screen.ACT)
    for number, error in told.after.refused:
        screen.say(f"Find {number} could not be forecast: {error.sentence()}", style=screen.ACT)
    for note in told.notes:
        screen.say(f"  note: {note}", style="dim")
    if told.known_before:
        screen.say("This was recorded already: nothing was changed.")
    elif told.dry_run:
        screen.say("Dry run: nothing was recorded.")
    else:
        screen.say(f"Recorded, with {len(boxes)} new forecasts.")


def tell_boxes(told: Told) -> None:
    """The boxes of a store, worst first."""
    several = len({box.site for box in told.after.boxes}) > 1
    rows = [
        [
            f"{box.site} {box.find}" if several else box.find,
            box.box_id,
            _short(box.was),
            f"{_short(box.now)}, {box.now_limit}",
            box.do,
        ]
        for box in told.after.boxes
    ]
    screen.table(
        ["find", "box", "kept until", "now", "what to do, worst first"], rows, flex=("now", "what to do, worst first")
    )


def _short(at: datetime | None) -> str:
    return "-" if at is None else f"{at.day} {at:%b}"
