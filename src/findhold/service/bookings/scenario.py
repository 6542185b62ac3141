"""A scenario file of bookings: specialists, equipment, jobs, rules, appointments in one TOML file, no ledger."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from findhold.book.inputs import (
    HALVES,
    HOURS,
    Before,
    BookingInputs,
    Costs,
    Equipment,
    HalfDay,
    Job,
    Place,
    Specialist,
)
from findhold.dates.closures import MONDAY_TO_FRIDAY, Closure
from findhold.dates.people import weekdays_read
from findhold.errors import BadInput, Mistake, Mistakes, near_names
from findhold.service.bookings.answer import BookAnswer, answered
from findhold.tables.benchwork import bench_work, find_skill
from findhold.tables.ordering import find_doing

_TEXT, _NUMBER, _LIST = "a text", "a number", "a list"
_DAY, _TIME = "a day such as 2026-08-04", "a time with its offset, such as 2026-08-04T09:00:00+01:00"
KEYS: dict[str, dict[str, str]] = {
    "unit": {"now": _TIME, "until": _DAY, "wait_cost_per_day": _NUMBER, "setup_cost": _NUMBER},
    "closure": {"first_day": _DAY, "last_day": _DAY, "reason": _TEXT, "public_holiday": "true or false"},
    "specialist": {
        "name": _TEXT,
        "skills": _LIST,
        "weekdays": _TEXT,
        "hours": _LIST,
        "away": _LIST,
        "lead_days": _NUMBER,
        "courier_days": _NUMBER,
        "cost": _NUMBER,
        "sittings": _LIST,
    },
    "equipment": {"name": _TEXT, "hours": _LIST, "away": _LIST},
    "job": {
        "find": _TEXT,
        "what": _TEXT,
        "hours": _NUMBER,
        "release": _TIME,
        "due": _TIME,
        "significance": _NUMBER,
        "sensitivity": _NUMBER,
        "needs": _LIST,
        "group": _TEXT,
    },
    "before": {"find": _TEXT, "first": _TEXT, "then": _TEXT, "why": _TEXT},
    "fixed": {"find": _TEXT, "what": _TEXT, "with": _TEXT, "on": _DAY, "half": "morning or afternoon"},
    "promised": {"find": _TEXT, "what": _TEXT, "with": _TEXT, "on": _DAY, "half": "morning or afternoon"},
}
_NEEDED = {
    "unit": ("now",),
    "closure": ("first_day",),
    "specialist": ("name", "skills"),
    "equipment": ("name",),
    "job": ("find", "what"),
    "before": ("find", "first", "then"),
    "fixed": ("find", "what", "with", "on"),
    "promised": ("find", "what", "on"),
}
AHEAD_DAYS, AFTER_DAYS = 42, 21
"""How far ahead is booked where no last day is given, at least, and after the last limit or promise (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BookingScenario:
    """A checked file: its title and the inputs of the plan."""

    title: str
    inputs: BookingInputs


def load_booking_scenario(path: Path) -> BookingScenario:
    """Read and check a scenario file of bookings.

    Raises
    ------
    BadInput : no such file, it is not TOML, or a value that cannot be meant.
    Mistakes : every unknown or missing key and every value of the wrong kind, at once.
    """
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise BadInput(
            f"the scenario cannot be read ({why})", where=str(path), do="Check the path and the file"
        ) from error
    except tomllib.TOMLDecodeError as error:
        raise BadInput(f"this is not a TOML file ({error})", where=str(path), do="Mend that line") from error
    mistakes = _mistakes(raw, path.name)
    if mistakes:
        raise Mistakes(mistakes=mistakes)
    return BookingScenario(title=raw.get("title", path.stem), inputs=_inputs(raw))


def plan_scenario(path: Path) -> BookAnswer:
    """Plan what a scenario file says; raises as load_booking_scenario and plan_bookings do."""
    scenario = load_booking_scenario(path)
    return answered(scenario.title, scenario.inputs)


def last_day(now: datetime, jobs: tuple[Job, ...], promised: tuple[Place, ...]) -> date:
    """The last day to book where none is given: six weeks from now, or three after the last limit or promise."""
    days = [now.date(), *(job.due.date() for job in jobs if job.due), *(place.at.day for place in promised)]
    return max(now.date() + timedelta(days=AHEAD_DAYS), max(days) + timedelta(days=AFTER_DAYS))


def _inputs(raw: Mapping[str, Any]) -> BookingInputs:
    unit = raw["unit"]
    now = _time(unit["now"])
    closures = [(_span(item), bool(item.get("public_holiday"))) for item in raw.get("closure", ())]
    jobs = tuple(_job(item, now) for item in raw.get("job", ()))
    promised = tuple(_place(item) for item in raw.get("promised", ()))
    return BookingInputs(
        now=now,
        until=_day(unit["until"]) if "until" in unit else last_day(now, jobs, promised),
        specialists=tuple(_specialist(item) for item in raw.get("specialist", ())),
        equipment=tuple(
            Equipment(name=item["name"], hours=_hours(item), away=_away(item)) for item in raw.get("equipment", ())
        ),
        jobs=jobs,
        order=tuple(
            Before(
                find=item["find"],
                first=find_doing(item["first"]),
                then=find_doing(item["then"]),
                why=item.get("why", ""),
            )
            for item in raw.get("before", ())
        ),
        fixed=tuple(_place(item) for item in raw.get("fixed", ())),
        promised=promised,
        closures=tuple(span for span, public in closures if not public),
        holidays=tuple(span for span, public in closures if public),
        costs=Costs(wait_per_day=float(unit.get("wait_cost_per_day", 1.0)), setup=float(unit.get("setup_cost", 0.0))),
    )


def _specialist(item: Mapping[str, Any]) -> Specialist:
    where = f"specialist {item['name']}"
    sittings = item.get("sittings")
    return Specialist(
        name=item["name"],
        skills=tuple(find_skill(name, where=where) for name in item["skills"]),
        weekdays=weekdays_read(item["weekdays"], where) if "weekdays" in item else frozenset(MONDAY_TO_FRIDAY),
        hours=_hours(item),
        away=_away(item),
        lead_days=int(item.get("lead_days", 0)),
        courier_days=int(item.get("courier_days", 0)),
        cost=float(item.get("cost", 0.0)),
        sittings=None if sittings is None else tuple(_sitting(text, where) for text in sittings),
    )


def _sitting(text: str, where: str) -> HalfDay:
    day, _, half = str(text).partition(" ")
    if half not in HALVES:
        raise BadInput(f"{text!r} is no sitting", where=where, limit="2026-08-04 morning", do="Write day and half")
    return HalfDay(day=_day(day), half=HALVES.index(half))


def _job(item: Mapping[str, Any], now: datetime) -> Job:
    what = find_doing(item["what"], where=f"find {item['find']}")
    work = bench_work(what)
    zone = now.tzinfo
    return Job(
        find=str(item["find"]),
        what=what,
        hours=float(item.get("hours", work.bench_hours)),
        release=_time(item["release"]).astimezone(zone) if "release" in item else now,
        due=_time(item["due"]).astimezone(zone) if "due" in item else None,
        weight=float(item.get("significance", 1)) * float(item.get("sensitivity", 1)),
        needs=tuple(item.get("needs", ())),
        group=str(item.get("group", "")),
    )


def _place(item: Mapping[str, Any]) -> Place:
    half = item.get("half", HALVES[0])
    if half not in HALVES:
        raise BadInput(f"half is {half!r}", where=f"find {item['find']}", limit=" or ".join(HALVES), do="Mend the line")
    at = HalfDay(day=_day(item["on"]), half=HALVES.index(half))
    return Place(find=str(item["find"]), what=find_doing(item["what"]), with_=item.get("with", ""), at=at)


def _span(item: Mapping[str, Any]) -> Closure:
    first = _day(item["first_day"])
    return Closure(first_day=first, last_day=_day(item.get("last_day", first)), reason=item.get("reason", "closed"))


def _away(item: Mapping[str, Any]) -> tuple[Closure, ...]:
    return tuple(_span({"reason": "", **span}) for span in item.get("away", ()))


def _hours(item: Mapping[str, Any]) -> tuple[float, float]:
    hours = item.get("hours", HOURS)
    if len(hours) != 2:
        name = item["name"]
        raise BadInput("hours are not two numbers", where=name, limit="[morning, afternoon] in h", do="Mend the line")
    return float(hours[0]), float(hours[1])


def _day(value: Any) -> date:
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        raise BadInput(f"{value!r} is no day", limit=_DAY, do="Mend the line") from None


def _time(value: Any) -> datetime:
    moment = value if isinstance(value, datetime) else datetime.fromisoformat(str(value))
    if moment.utcoffset() is None:
        raise BadInput(f"{value} has no offset", limit=_TIME, do="Write the offset of the site's clock")
    return moment


def _mistakes(raw: Mapping[str, Any], file: str) -> list[Mistake]:
    found = []
    if "unit" not in raw:
        found.append(_mistake(file, "[unit]", "is missing", "[unit] with now = " + _TIME))
    for name, section in raw.items():
        if name == "title":
            continue
        if name not in KEYS:
            near = near_names(name, list(KEYS))
            found.append(
                _mistake(file, name, f"is unknown{f'; did you mean {near[0]}?' if near else ''}", ", ".join(KEYS))
            )
            continue
        single = name == "unit"
        rows = [section] if single else section
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            found.append(_mistake(file, name, "is not written as a section", f"[{name}]" if single else f"[[{name}]]"))
            continue
        for number, row in enumerate(rows, 1):
            found += _row_mistakes(file, name, "" if single else f" {number}", row)
    return found


def _row_mistakes(file: str, name: str, number: str, row: Mapping[str, Any]) -> list[Mistake]:
    keys = KEYS[name]
    found = []
    for key, value in row.items():
        place = f"[{name}]{number} {key}"
        if key not in keys:
            near = near_names(key, list(keys))
            hint = f"; did you mean {near[0]}?" if near else ""
            found.append(_mistake(file, place, f"is unknown{hint}", ", ".join(keys)))
        elif not _CHECKS[keys[key]](value):
            found.append(_mistake(file, place, f"{value!r} is not {keys[key]}", keys[key]))
    missing = [key for key in _NEEDED[name] if key not in row]
    return found + [_mistake(file, f"[{name}]{number} {key}", "is missing", keys[key]) for key in missing]


def _mistake(file: str, place: str, wrong: str, allowed: str) -> Mistake:
    return Mistake(file=file, row=None, column=place, value="", wrong=wrong, allowed=allowed)


def _is_day(value: Any) -> bool:
    try:
        return isinstance(value, date) or bool(date.fromisoformat(str(value)))
    except ValueError:
        return False


def _is_time(value: Any) -> bool:
    try:
        moment = value if isinstance(value, datetime) else datetime.fromisoformat(str(value))
    except ValueError:
        return False
    return moment.utcoffset() is not None


_CHECKS: dict[str, Callable[[Any], bool]] = {
    _TEXT: lambda value: isinstance(value, str),
    _NUMBER: lambda value: isinstance(value, int | float) and not isinstance(value, bool),
    _LIST: lambda value: isinstance(value, list),
    _DAY: _is_day,
    _TIME: _is_time,
    "true or false": lambda value: isinstance(value, bool),
    "morning or afternoon": lambda value: value in HALVES,
}
