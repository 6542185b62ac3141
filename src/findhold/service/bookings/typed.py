"""What is typed for a booking, as a request: days read, options that belong together, the rest refused."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from findhold.errors import BadInput
from findhold.service.bookings.planning import Absence, BookRequest, Fixing, Weighing


@dataclass(frozen=True, slots=True, kw_only=True)
class BookWords:
    """The options as typed. significance, sensitivity : factors of the weight [1]."""

    find: str | None = None
    on: str | None = None
    with_: str | None = None
    what: str | None = None
    half: str | None = None
    cancel: bool = False
    away: str | None = None
    begins: str | None = None
    ends: str | None = None
    reason: str = ""
    significance: float | None = None
    sensitivity: float | None = None
    until: str | None = None
    site: str | None = None
    promise: bool = False
    few_moves: bool = False
    dry_run: bool = False
    calendar: Path | None = None


def book_request(words: BookWords) -> BookRequest:
    """The request that the options make.

    Raises
    ------
    BadInput : a day that cannot be read, an option without the one it belongs to.
    """
    _belongs(words)
    weights = (words.significance, words.sensitivity)
    weigh = None
    if words.find is not None and weights != (None, None):
        first, second = (1.0 if value is None else value for value in weights)
        weigh = (words.find, Weighing(significance=first, sensitivity=second, reason=words.reason))
    fix = None
    if words.find is not None and words.on is not None:
        day = _day(words.on, "--on")
        fix = Fixing(find=words.find, day=day, with_=words.with_, what=words.what, half=words.half, reason=words.reason)
    return BookRequest(
        site=words.site,
        until=None if words.until is None else _day(words.until, "--until"),
        fix=fix,
        cancel=(words.find, words.what) if words.cancel and words.find is not None else None,
        away=_absence(words),
        weigh=weigh,
        promise=words.promise,
        few_moves=words.few_moves,
        dry_run=words.dry_run,
        calendar=words.calendar,
    )


def _belongs(words: BookWords) -> None:
    """Refuse options that stand alone where they mean nothing."""
    alone = {
        "--on": words.on,
        "--cancel": words.cancel or None,
        "--significance": words.significance,
        "--sensitivity": words.sensitivity,
    }
    for name, value in alone.items():
        if value is not None and words.find is None:
            raise BadInput("of which find?", where=name, do=f"Write the find's number after book, before {name}")
    if words.find is not None and all(value is None for value in alone.values()):
        do = "Add --on DATE --with NAME to fix it, --cancel, or --significance N; without a find everything is planned"
        raise BadInput("what is to be done with it?", where=f"find {words.find}", do=do)
    for name, value in {"--with": words.with_, "--half": words.half}.items():
        if value is not None and words.on is None:
            raise BadInput("on which day?", where=name, do="Add --on DATE")
    if words.on is not None and words.cancel:
        raise BadInput("--on and --cancel contradict each other", where=f"find {words.find}", do="Give one of them")
    if words.away is None and (words.begins is not None or words.ends is not None):
        raise BadInput("who is away?", where="--from", do='Add --away "NAME"')


def _absence(words: BookWords) -> Absence | None:
    if words.away is None:
        return None
    if words.begins is None:
        raise BadInput(
            "from which day?", where=f"--away {words.away}", do="Add --from DATE, and --to DATE for the last day"
        )
    first = _day(words.begins, "--from")
    last = first if words.ends is None else _day(words.ends, "--to")
    if last < first:
        raise BadInput(
            f"the absence ends on {last}, before it begins",
            where=f"--away {words.away}",
            limit=f"{first} or later",
            do="Correct --from or --to",
        )
    return Absence(name=words.away, first_day=first, last_day=last, reason=words.reason)


def _day(text: str, where: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise BadInput(f"{text!r} is no day", where=where, limit="2026-08-04", do="Write year, month, day") from None
