"""What settings.toml says of the unit's calendar, its people, its duty holders and its mail."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from findhold.dates.closures import MONDAY_TO_FRIDAY, Closure
from findhold.dates.people import names_in, phone_read, weekdays_read
from findhold.errors import BadInput, near_names
from findhold.service.settings import settings_file

KEYS: dict[str, tuple[str, ...]] = {
    "calendar": ("country", "region", "weekdays"),
    "people": ("weekdays", "away", "covered_by", "phone", "email"),
    "mail": ("server", "port", "security", "user", "password_env", "password_file", "sender", "to", "ca_file"),
}
CLOSED_DAYS = "closed days"
"""The key of [duty] that says who comes on closed days which name nobody themselves."""
_SPAN = re.compile(r"^\s*(\d{4}-\d{2}-\d{2})(?:\s*(?:to|\.\.|-|–)\s*(\d{4}-\d{2}-\d{2}))?\s*(.*)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonChosen:
    """What the settings add to what the register says of one person; None for what they do not say."""

    weekdays: frozenset[int] | None = None
    away: tuple[Closure, ...] = ()
    covered_by: tuple[str, ...] | None = None
    phone: str | None = None
    email: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarChosen:
    """Country and region of the public holidays ("" for none), working weekdays, people by name, duty by store."""

    country: str = ""
    region: str = ""
    weekdays: frozenset[int] = MONDAY_TO_FRIDAY
    people: Mapping[str, PersonChosen] = field(default_factory=dict)
    duty: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    closed_duty: tuple[str, ...] = ()


def read_calendar() -> CalendarChosen:
    """The calendar sections of settings.toml.

    Raises
    ------
    BadInput : an unknown key, a day that is none, an absence that ends before it begins.
    """
    values = sections()
    calendar = checked("calendar", values.get("calendar", {}))
    duty = {name: _names(value, f"[duty] {name}") for name, value in values.get("duty", {}).items()}
    return CalendarChosen(
        country=_text(calendar.get("country", ""), "[calendar] country"),
        region=_text(calendar.get("region", ""), "[calendar] region"),
        weekdays=_weekdays(calendar["weekdays"], "[calendar] weekdays") if "weekdays" in calendar else MONDAY_TO_FRIDAY,
        people={name: _person(name, facts) for name, facts in values.get("people", {}).items()},
        duty={name: names for name, names in duty.items() if name != CLOSED_DAYS},
        closed_duty=duty.get(CLOSED_DAYS, ()),
    )


def sections() -> dict[str, Any]:
    """The settings file as it stands; empty when there is none."""
    file = settings_file()
    return tomllib.loads(file.read_text(encoding="utf-8")) if file.is_file() else {}


def checked(section: str, given: Any, where: str = "") -> dict[str, Any]:
    """A section whose keys are all known."""
    place = where or f"settings.toml [{section}]"
    if not isinstance(given, dict):
        raise BadInput("this must be a section", where=place, do=f"Write [{section}] and its keys below it")
    for key in given:
        if key not in KEYS[section]:
            near = near_names(key, list(KEYS[section]))
            raise BadInput(
                f"unknown setting {key!r}",
                where=place,
                limit=", ".join(KEYS[section]),
                do=f"Did you mean {near[0]}?" if near else "Remove the line",
            )
    return given


def span_read(text: Any, where: str) -> Closure:
    """Days away as written in the settings: '2026-08-10 to 2026-08-21 leave', or one day."""
    found = _SPAN.match(text) if isinstance(text, str) else None
    try:
        if found is None:
            raise ValueError
        first = date.fromisoformat(found[1])
        last = date.fromisoformat(found[2]) if found[2] else first
    except ValueError:
        raise BadInput(
            f"{text!r} names no days",
            where=where,
            limit='"2026-08-10 to 2026-08-21", or one day',
            do="Write the first and the last day away",
        ) from None
    if last < first:
        raise BadInput(
            f"{text!r} ends before it begins", where=where, do="Correct the first or the last day of the absence"
        )
    return Closure(first_day=first, last_day=last, reason=found[3].strip() or "away")


def _person(name: str, given: Any) -> PersonChosen:
    where = f"settings.toml [people.{name!r}]"
    facts = checked("people", given, where)
    away = facts.get("away", [])
    return PersonChosen(
        weekdays=_weekdays(facts["weekdays"], where) if "weekdays" in facts else None,
        away=tuple(span_read(text, f"{where} away") for text in (away if isinstance(away, list) else [away])),
        covered_by=_names(facts["covered_by"], where) if "covered_by" in facts else None,
        phone=_phone(facts["phone"], f"{where} phone") if "phone" in facts else None,
        email=facts.get("email"),
    )


def _phone(value: Any, where: str) -> str:
    typed = _text(value, where)
    try:
        return phone_read(typed)
    except BadInput as error:
        raise BadInput(f"{typed!r} {error.wrong}", where=where, limit=error.do, do="Correct it") from None


def _weekdays(value: Any, where: str) -> frozenset[int]:
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        value = ", ".join(value)
    return weekdays_read(_text(value, where), f"settings.toml {where}" if where.startswith("[") else where)


def _names(value: Any, where: str) -> tuple[str, ...]:
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        return tuple(value)
    return names_in(_text(value, where))


def _text(value: Any, where: str) -> str:
    if not isinstance(value, str):
        raise BadInput(f"{value!r} is no text", where=f"settings.toml {where}", do='Write it in quotation marks: "..."')
    return value
