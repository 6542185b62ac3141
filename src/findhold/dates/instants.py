"""Aware instants: zones by name, local times placed in a zone, instants read and printed for people."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

from findhold.errors import BadInput, UnknownName

_OFFSET = re.compile(r"^(?:UTC|GMT)?\s*([+-])(\d{1,2})(?::?(\d{2}))?$", re.IGNORECASE)
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_LATEST_OFFSET_H = 14  # Etc/GMT-14, the furthest offset in the time zone database
_DISPLAY_EXAMPLE = "2026-07-29T16:30+01:00"


@cache
def zone_named(name: str, where: str = "") -> tzinfo:
    """The time zone with this name, or a fixed offset written as UTC+01:00.

    Parameters
    ----------
    name : a name of the time zone database (Europe/London) or a fixed offset (UTC, UTC+01:00, +01:00, Z).
    where : what the zone belongs to, for the error.

    Raises
    ------
    UnknownName : no such zone; near names are offered.
    BadInput : a fixed offset beyond 14 hours, or an empty name.
    """
    text = name.strip()
    if not text:
        raise BadInput("no time zone given", where=where, do="Give the site's zone, for example Europe/London")
    if text.upper() in {"Z", "UTC"}:
        return UTC
    fixed = _OFFSET.match(text)
    if fixed:
        hours, minutes = int(fixed[2]), int(fixed[3] or 0)
        if hours > _LATEST_OFFSET_H or minutes > 59:
            raise BadInput(
                f"{name!r} is not an offset from UTC",
                where=where,
                limit="UTC-14:00 to UTC+14:00",
                do="Give the site's zone, for example Europe/London",
            )
        offset = timedelta(hours=hours, minutes=minutes)
        return timezone(-offset if fixed[1] == "-" else offset)
    known = available_timezones()
    if text not in known:
        raise UnknownName("time zone", name, sorted(z for z in known if "/" in z), where=where)
    return ZoneInfo(text)


def in_zone(local: datetime, zone: tzinfo) -> datetime:
    """A local clock time as an instant with the offset the zone had then.

    The result carries a fixed offset, not the zone's rules, so that the difference of two is elapsed time.

    Raises
    ------
    BadInput : the local time happens twice or never in this zone; the error says what to write.
    """
    early, late = (local.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    first, second = _offset(early), _offset(late)
    if first == second:
        return local.replace(tzinfo=timezone(first))
    shown = f"{local:%H:%M} on {day_for_people(local.date())}"
    if first > second:
        choices = " or ".join(iso(local.replace(tzinfo=timezone(offset))) for offset in (first, second))
        raise BadInput(
            f"{shown} happens twice in {zone} because the clocks go back",
            do=f"Write it with its offset: {choices}",
        )
    raise BadInput(
        f"{shown} does not exist in {zone} because the clocks go forward",
        do=f"Write it with its offset, for example {iso(late.astimezone(UTC).astimezone(zone))}",
    )


def clock_changes(local: datetime, zone: tzinfo) -> str:
    """'twice' or 'never' for a local time that a clock change repeats or skips, else ''."""
    first, second = (_offset(local.replace(tzinfo=zone, fold=fold)) for fold in (0, 1))
    if first == second:
        return ""
    return "twice" if first > second else "never"


def parse_instant(text: str, where: str = "") -> datetime:
    """One instant written with its offset, as in scenario files and on the command line.

    Parameters
    ----------
    text : for example 2026-07-29T16:30+01:00 or 2026-07-29 15:30Z.
    where : the key or option it stands in, for the error.

    Returns
    -------
    An aware datetime with the offset seen.

    Raises
    ------
    BadInput : not a date and time, or without offset; the error shows the same time with one.
    """
    given = text.strip()
    if ":60" in given[16:20]:
        raise BadInput(
            f"{text!r} has second 60, a leap second, which clocks here do not count",
            where=where,
            limit="seconds 00 to 59",
            do="Write second 59, or 00 of the next minute",
        )
    try:
        instant = datetime.fromisoformat(re.sub(r"\s+(?=(?:Z|[+-]\d{2}:?\d{2})$)", "", given))
    except ValueError:
        raise BadInput(
            f"{text!r} is not a date and time",
            where=where,
            limit="year-month-day, T, hour:minute, offset from UTC",
            do=f"Write for example {_DISPLAY_EXAMPLE}",
        ) from None
    return require_aware(instant, where)


def require_aware(instant: datetime, where: str = "") -> datetime:
    """The instant itself when it carries an offset; otherwise an error that asks for the zone."""
    if instant.tzinfo is None or instant.utcoffset() is None:
        local = f"{instant:%Y-%m-%dT%H:%M}"
        raise BadInput(
            f"{local} has no time zone",
            where=where,
            limit="a time with its offset from UTC",
            do=f"Write the site's offset behind it, for example {local}+01:00, or {local}Z for UTC",
        )
    return instant


def split_utc(instant: datetime) -> tuple[datetime, int]:
    """An aware instant as UTC time and the offset seen in minutes, the two things a record stores."""
    offset = _offset(require_aware(instant))
    return instant.astimezone(UTC), round(offset / timedelta(minutes=1))


def join_utc(utc: datetime, offset_min: int) -> datetime:
    """The instant as it was seen, from UTC time and offset in minutes: the inverse of `split_utc`."""
    return utc.astimezone(timezone(timedelta(minutes=offset_min)))


def iso(instant: datetime) -> str:
    """An aware instant to the minute, or second if it has one, with its offset: 2026-07-29T16:30+01:00."""
    return require_aware(instant).isoformat(timespec="seconds" if instant.second else "minutes")


def for_people(instant: datetime, zone: str) -> str:
    """An instant as people read it on the clock of the zone: 'Wed 29 Jul 2026, 16:30'."""
    local = require_aware(instant).astimezone(zone_named(zone))
    return f"{day_for_people(local.date())}, {local:%H:%M}"


def day_for_people(day: date) -> str:
    """A day as people read it, in English whatever the machine's language: 'Wed 29 Jul 2026'."""
    return f"{_WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def day_at(instant: datetime, zone: str) -> date:
    """The calendar day of an instant on the clock of the zone."""
    return require_aware(instant).astimezone(zone_named(zone)).date()


def at_hour(day: date, hour: int, zone: str) -> datetime:
    """An hour of the clock on a day in the zone, as an instant; the first of two, or the next that exists."""
    rules = zone_named(zone)
    local = datetime(day.year, day.month, day.day, hour, tzinfo=rules)
    seen = local.astimezone(UTC).astimezone(rules)
    return seen.replace(tzinfo=timezone(_offset(seen)))


def _offset(instant: datetime) -> timedelta:
    """Offset from UTC of an aware instant, whole minutes (old local mean times are rounded)."""
    offset = instant.utcoffset()
    if offset is None:
        raise ValueError("an aware instant is wanted")
    return timedelta(minutes=round(offset.total_seconds() / 60))
