"""People as a calendar knows them: on which weekdays they work, when they are away, and who stands in for them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from findhold.dates.closures import Closure
from findhold.errors import BadInput, Question

_DAY_WORDS = (
    ("mon", "monday", "mondays", "mo", "montag", "lun", "lundi"),
    ("tue", "tues", "tuesday", "tuesdays", "tu", "di", "dienstag", "mar", "mardi"),
    ("wed", "weds", "wednesday", "wednesdays", "we", "mi", "mittwoch", "mer", "mercredi"),
    ("thu", "thur", "thurs", "thursday", "thursdays", "th", "do", "donnerstag", "jeu", "jeudi"),
    ("fri", "friday", "fridays", "fr", "freitag", "ven", "vendredi"),
    ("sat", "saturday", "saturdays", "sa", "samstag", "sonnabend", "sam", "samedi"),
    ("sun", "sunday", "sundays", "su", "so", "sonntag", "dim", "dimanche"),
)
_BY_WORD = {word: number for number, words in enumerate(_DAY_WORDS) for word in words}
_RANGE = re.compile(r"\s*(?:-|–|to|bis)\s*")
_BETWEEN = re.compile(r"\s*(?:[,;/+&]|\band\b|\bund\b|\bet\b|\s)\s*")

_PHONE = re.compile(r"[\d\s+()-]+(?:\s*ext\.?\s*\d+)?", re.IGNORECASE)
_FEWEST_DIGITS, _MOST_DIGITS = 3, 20
PHONE_LIMIT = f"{_FEWEST_DIGITS} to {_MOST_DIGITS} digits, with spaces, +, ( ), - or ext"


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """One person of the unit.

    weekdays : days they work, Monday is 0; None for the unit's own. away : days they do not come. covered_by : who
    stands in then, first asked first.
    """

    name: str
    initials: str = ""
    role: str = ""
    phone: str = ""
    email: str = ""
    weekdays: frozenset[int] | None = None
    away: tuple[Closure, ...] = ()
    covered_by: tuple[str, ...] = ()

    def away_on(self, day: date) -> Closure | None:
        """The absence that holds the day, or None."""
        return next((span for span in self.away if span.holds(day)), None)

    def works_on(self, day: date, unit_weekdays: Iterable[int]) -> bool:
        """True when the day is one of their weekdays and they are not away."""
        days = self.weekdays if self.weekdays is not None else frozenset(unit_weekdays)
        return day.weekday() in days and self.away_on(day) is None


def phone_read(text: str) -> str:
    """A telephone number as typed, with single blanks.

    Raises
    ------
    BadInput : it holds anything but digits, spaces, +, brackets, - and "ext", or too few or too many digits.
    """
    typed = " ".join(text.split())
    if not _PHONE.fullmatch(typed) or not _FEWEST_DIGITS <= sum(map(str.isdigit, typed)) <= _MOST_DIGITS:
        raise BadInput("is no telephone number", do=PHONE_LIMIT)
    return typed


def weekdays_read(text: str, where: str = "") -> frozenset[int]:
    """Weekdays as people write them: 'Mon-Thu', 'Mon, Wed and Fri', 'Mo-Do'; Monday is 0.

    Raises
    ------
    BadInput : a word is no weekday, or none is named.
    """
    plain = _RANGE.sub("-", " ".join(text.lower().replace(".", " ").split()))
    found: set[int] = set()
    for part in filter(None, _BETWEEN.split(plain)):
        first, dash, last = part.partition("-")
        ends = [_BY_WORD.get(word) for word in ((first, last) if dash else (first,))]
        if None in ends:
            raise _no_weekday(part, text, where)
        begin, end = ends[0] or 0, ends[-1] or 0
        found.update((begin + n) % 7 for n in range((end - begin) % 7 + 1))
    if not found:
        raise _no_weekday(text, text, where)
    return frozenset(found)


def _no_weekday(part: str, text: str, where: str) -> BadInput:
    return BadInput(
        f"{part!r} is no weekday" + (f" (in {text!r})" if part != text else ""),
        where=where,
        limit="Mon, Tue, Wed, Thu, Fri, Sat, Sun, or a range such as Mon-Thu",
        do="Write the weekdays with commas between them",
    )


def person_meant(text: str, people: Mapping[str, Person]) -> Person | None:
    """The person whose name or initials stand here, whatever the case; None when there is nobody, or more than one."""
    wanted = " ".join(text.split()).casefold()
    for person in people.values():
        if person.name.casefold() == wanted:
            return person
    short = [person for person in people.values() if person.initials and person.initials.casefold() == wanted]
    return short[0] if len(short) == 1 else None


def names_in(text: str) -> tuple[str, ...]:
    """The names in one cell, parted by commas, semicolons, slashes or 'then'."""
    return tuple(part.strip() for part in re.split(r"[;,/]|\bthen\b", text) if part.strip())


def cover_questions(people: Mapping[str, Person]) -> tuple[Question, ...]:
    """Who is named as a stand-in and is nobody that the register knows, or stands in for themselves."""
    found = []
    for person in people.values():
        for name in person.covered_by:
            other = person_meant(name, people)
            if other is None:
                text = f"{person.name} is covered by {name!r}, who is not in the list of people. Who is meant?"
                found.append(Question(about=f"cover of {person.name}", text=text, choices=tuple(people)))
            elif other.name == person.name:
                text = f"{person.name} is named as their own cover. Who stands in?"
                found.append(Question(about=f"cover of {person.name}", text=text, choices=tuple(people)))
    return tuple(found)
