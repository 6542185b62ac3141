"""Days of a register that cannot be: out of their order, or not yet come."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from findhold.dates.availability import LONGEST_CLOSURE_DAYS
from findhold.register.rules import Draft, rows_named
from findhold.register.values import before, same_value, worded

TO_COME_ANSWER = "the days are right"
_ORDER = {
    "closure": (("first_day", "last_day"),),
    "find": (("exposed_at", "packed_at"), ("exposed_at", "open_at"), ("packed_at", "open_at")),
}
# What has happened when it is entered; a planned opening or closure lies ahead by its nature.
_PAST = {"find": ("exposed_at", "found_on"), "sample": ("taken_on",), "context": ("date",)}
_CLOCKS_APART = timedelta(days=1)  # clocks, zones and days without a time differ by less


def days_in_order(draft: Draft, known: Mapping[str, Mapping[str, Any]]) -> None:
    """A find is exposed, then packed, then opened, and a closure ends after it begins; also against the ledger.

    Parameters
    ----------
    draft : the rows; mistakes are added to it.
    known : the things of this kind in the ledger, for days that the file does not repeat.
    """
    if draft.kind.name == "closure":
        _not_endless(draft, known)
    pairs = _ORDER.get(draft.kind.name, ())
    labels = {name: spec.label.lower() for name, spec in draft.kind.fields.items()}
    for index, fields in enumerate(draft.rows):
        old = known.get(draft.keys[index] or "", {})
        for earlier, later in pairs:
            first, last = fields.get(earlier, old.get(earlier)), fields.get(later, old.get(later))
            given = earlier in fields or later in fields
            told = (index, earlier) in draft.bad or (index, later) in draft.bad
            if not given or told or first is None or last is None or not before(last, first):
                continue
            if later in fields:
                whose = "" if earlier in fields else " in the ledger"
                wrong = f"lies before {labels[earlier]}, which is {worded(first)}{whose}"
                draft.wrong(index, later, wrong, f"{worded(first)} or later; mend whichever is wrong")
            else:
                wrong = f"lies after {labels[later]}, which is {worded(last)} in the ledger"
                draft.wrong(index, earlier, wrong, f"{worded(last)} or earlier; mend whichever is wrong")


def _not_endless(draft: Draft, known: Mapping[str, Mapping[str, Any]]) -> None:
    """A closure of more than a year is a slip of its year until it is entered year by year."""
    for index, fields in enumerate(draft.rows):
        old = known.get(draft.keys[index] or "", {})
        first, last = fields.get("first_day", old.get("first_day")), fields.get("last_day")
        told = (index, "first_day") in draft.bad or (index, "last_day") in draft.bad
        if told or not isinstance(first, date) or not isinstance(last, date):
            continue
        days = (last - first).days + 1
        if days > LONGEST_CLOSURE_DAYS:
            latest = first + timedelta(days=LONGEST_CLOSURE_DAYS - 1)
            wrong = f"makes a closure of {days} days, from {worded(first)}"
            draft.wrong(
                index, "last_day", wrong, f"{worded(latest)} or earlier; a longer closure is entered by the year"
            )


def days_to_come(draft: Draft, known: Mapping[str, Mapping[str, Any]], now: datetime | None) -> None:
    """Ask, once for a column, about days of what has happened that lie more than a day after the import.

    Parameters
    ----------
    draft : the rows; questions are added to it.
    known : the things of this kind in the ledger; what is recorded already is not asked about again.
    now : the moment of the import with its zone; None asks nothing.
    """
    if now is None:
        return
    latest = now + _CLOCKS_APART
    for name in _PAST.get(draft.kind.name, ()):
        ahead = [
            index
            for index, fields in enumerate(draft.rows)
            if name in fields
            and _after(fields[name], latest)
            and not same_value(known.get(draft.keys[index] or "", {}).get(name), fields[name])
        ]
        if not ahead:
            continue
        heading = draft.headings.get(name, draft.kind.fields[name].label)
        first = draft.rows[ahead[0]][name]
        example = f"{worded(first)}" if len(ahead) == 1 else f"for example {worded(first)}"
        text = (
            f"Column {heading!r} lies after today, {worded(now.date())}, in "
            f"{rows_named(draft.numbers[i] for i in ahead)}: {example}. Is the year right? If not, mend it in the file."
        )
        draft.ask(f"{heading}: days to come", text, (TO_COME_ANSWER,))


def _after(value: date, latest: datetime) -> bool:
    return value > latest if isinstance(value, datetime) else value > latest.date()
