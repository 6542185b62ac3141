"""The part of `import` that is about a store: a logger's file, a failure typed by hand, and taking either back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, leave
from findhold.errors import BadInput
from findhold.service import office, stores
from findhold.service.requests import failure_request
from findhold.service.store_boxes import Ensemble

Told = stores.StoreTold


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreWords:
    """What was typed about a store."""

    logger: Path | None
    store: str | None
    failure: str | None
    begins: str | None
    ends: str | None
    room_c: float | None
    zone: str | None
    answers: dict[str, str]
    reason: str
    take_back: bool
    site: str | None
    dry_run: bool


def import_store(words: StoreWords, ledger: str | None, person: str | None, *, as_json: bool) -> None:
    """Record what happened to a store and tell it; leaves with 1 when a hold can no longer be kept."""
    with office.office(ledger, person=person) as desk, screen.progress("forecasting") as moved:
        ensemble = Ensemble(site=words.site)
        if words.take_back:
            told = stores.take_back(desk, _take_back(words, ensemble), moved)
        elif words.failure is not None:
            request = failure_request(
                words.failure, words.begins, words.ends, words.room_c, dry_run=words.dry_run, ensemble=ensemble
            )
            told = stores.record_failure(desk, request, moved)
        else:
            told = stores.record_log(desk, _log_request(words, ensemble), moved)
    if as_json:
        screen.show_json(stores.store_answer(told))
    else:
        tell_store(told)
    leave(OK if told.after.all_kept else THE_ANSWER_IS_NO)


def _log_request(words: StoreWords, ensemble: Ensemble) -> stores.LogRequest:
    if words.logger is None or words.store is None:
        raise BadInput(
            "which store's logger is it?", where="--logger", do='Name the store: --logger FILE --store "Fridge 2"'
        )
    return stores.LogRequest(
        file=words.logger,
        store=words.store,
        zone=words.zone,
        answers=words.answers,
        dry_run=words.dry_run,
        ensemble=ensemble,
    )


def _take_back(words: StoreWords, ensemble: Ensemble) -> stores.TakeBack:
    store = words.failure or words.store
    if store is None:
        raise BadInput(
            "what is to be taken back?",
            where="--take-back",
            do='Add --logger FILE --store "Fridge 2", or --failure "Fridge 2" --from TIME, and a --reason',
        )
    if words.failure is None:
        return stores.TakeBack(store=store, reason=words.reason, file=words.logger, ensemble=ensemble)
    request = failure_request(store, words.begins, None, 0.0, dry_run=False, ensemble=ensemble)
    return stores.TakeBack(store=store, reason=words.reason, begins=request.begins, ensemble=ensemble)


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
