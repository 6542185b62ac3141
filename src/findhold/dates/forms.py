"""Dates and times as people type them, a column at once: the order of day and month is decided or asked."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone, tzinfo

from findhold.dates.instants import day_for_people, in_zone, zone_named
from findhold.errors import BadInput, UnknownName

DAY_FIRST = "day first"
MONTH_FIRST = "month first"
YEAR_FIRST = "year first"
ORDERS = (DAY_FIRST, MONTH_FIRST, YEAR_FIRST)
FORMS_ALLOWED = "2026-07-29, 29/07/2026, 29.07.2026, 29 July 2026, with 14:05 or 2.05pm behind it if there is a time"

_MONTH_WORDS = (
    "jan january januar janvier januari enero gennaio gen ene jänner",
    "feb february februar février fevrier februari febrero febbraio fév fev",
    "mar march märz maerz mars maart marzo mär mrt",
    "apr april avril abril aprile avr abr",
    "may mai mei mayo maggio mag",
    "jun june juni juin junio giugno giu",
    "jul july juli juillet julio luglio juil lug",
    "aug august août aout augustus agosto ago",
    "sep sept september septembre septiembre settembre set",
    "oct october oktober octobre octubre ottobre okt ott",
    "nov november novembre noviembre",
    "dec december dezember décembre decembre diciembre dicembre dez déc dic",
)
_MONTHS = {word: number for number, words in enumerate(_MONTH_WORDS, 1) for word in words.split()}
_DAY_WORDS = (
    "mon monday mo montag",
    "tue tues tuesday di dienstag",
    "wed wednesday mi mittwoch",
    "thu thur thurs thursday do donnerstag",
    "fri friday fr freitag",
    "sat saturday sa samstag",
    "sun sunday so sonntag",
)
_WEEKDAYS = {word: number for number, words in enumerate(_DAY_WORDS) for word in words.split()}
_PIVOT = 69  # POSIX strptime %y: 00 to 68 are this century; later ones are refused here instead of read as 19yy

_TIME = (
    r"(?P<hour>\d{1,2})(?:[:.h](?P<minute>\d{2})(?:[:.](?P<second>\d{2})(?:[.,](?P<part>\d+))?)?)?"
    r"\s*(?P<half>[ap]\.?\s?m\.?)?(?:\s*Uhr)?\s*(?P<offset>Z|(?:UTC|GMT)?\s*[+-]\d{1,2}(?::?\d{2})?|UTC|GMT)?"
)
_WHOLE = re.compile(
    r"^(?:(?P<weekday>[^\W\d_]+)\.?,?\s+)?"
    r"(?:(?P<y4>\d{4})(?P<ysep>[-/.])(?P<m4>\d{1,2})(?P=ysep)(?P<d4>\d{1,2})"
    r"|(?P<a>\d{1,2})(?P<sep>[-/.])(?P<b>\d{1,2})(?P=sep)(?P<c>\d{4}|\d{2})"
    r"|(?P<wd>\d{1,2})(?:st|nd|rd|th|\.)?[\s/-]*(?:of\s+)?(?P<wm>[^\W\d_]+)\.?,?[\s/-]*'?(?P<wy>\d{4}|\d{2})"
    r"|(?P<um>[^\W\d_]+)\.?\s+(?P<ud>\d{1,2})(?:st|nd|rd|th)?,?\s+(?P<uy>\d{4}))"
    rf"(?:(?:\s*,\s*|\s+at\s+|T|\s+){_TIME})?$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DateColumn:
    """A column of typed dates as read: one value for each text, None where it is empty, bad or still asked.

    A date without time is a `date`; a time is an aware `datetime` with a fixed offset. `bad` holds, by index,
    what is wrong and what to write. `question` is set when the order of day and month must be settled by a
    person; its answer, one of `choices`, is handed back as `order`. `notes` say what was decided, and why.
    """

    values: tuple[datetime | date | None, ...]
    order: str | None
    question: str | None
    choices: tuple[str, ...]
    bad: dict[int, str]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Typed:
    """One text split into its fields; `triple` is kept when the order of the fields is open."""

    day: tuple[int, int, int] | None
    triple: tuple[int, int, int] | None
    short_year: bool
    dotted: bool
    weekday: int | None
    clock: tuple[int, int, int, int] | None
    offset: str | None


def read_dates(values: Sequence[str], zone: str | None, order: str | None = None) -> DateColumn:
    """Read a column of dates and times typed in any of several forms.

    Not for serial day numbers of spreadsheets: those are numbers, and their epoch must be known.

    Parameters
    ----------
    values : texts as typed; an empty text stays None.
    zone : zone for times typed without offset (Europe/London, UTC+01:00); None: such times are bad.
    order : 'day first', 'month first' or 'year first' (two-digit years) when a person has said so, else None.

    Returns
    -------
    DateColumn. Its order comes from the whole column: a field above 12 or the dotted form decides it.

    Raises
    ------
    UnknownName : the zone or the order is not known.

    Valid for
    ---------
    Gregorian dates; years of two digits 00 to 68 are read as 20yy and noted, 69 to 99 are refused.
    """
    if order is not None and order not in ORDERS:
        raise UnknownName("order of day and month", order, list(ORDERS))
    rules = zone_named(zone) if zone is not None else None
    bad: dict[int, str] = {}
    typed: dict[int, _Typed] = {}
    for index, text in enumerate(values):
        if text.strip():
            try:
                typed[index] = _split(text.strip())
            except BadInput as error:
                bad[index] = error.sentence()
    open_ones = {index: one for index, one in typed.items() if one.triple is not None}
    decided, question, choices, notes = _settle(open_ones, [values[i] for i in open_ones], order)
    result: list[datetime | date | None] = [None] * len(values)
    for index, one in typed.items():
        if one.triple is not None and decided is None:
            continue
        try:
            result[index] = _build(one, decided or DAY_FIRST, rules)
        except BadInput as error:
            bad[index] = error.sentence()
    notes += _short_year_note(values, typed, result)
    return DateColumn(
        values=tuple(result),
        order=decided,
        question=question,
        choices=choices,
        bad=dict(sorted(bad.items())),
        notes=tuple(notes),
    )


def _split(text: str) -> _Typed:
    """The fields of one text, or BadInput when it has none of the forms."""
    found = _WHOLE.match(text)
    if found is None:
        raise BadInput(f"{text!r} is not a date in a form read here", do=f"Write it like one of these: {FORMS_ALLOWED}")
    weekday = None
    if found["weekday"]:
        weekday = _WEEKDAYS.get(found["weekday"].casefold())
        if weekday is None:
            raise BadInput(f"{text!r}: {found['weekday']!r} is not a weekday", do="Leave the weekday out")
    day = triple = None
    year = found["c"] or found["wy"] or ""
    if found["y4"]:
        day = (int(found["y4"]), int(found["m4"]), int(found["d4"]))
    elif found["a"]:
        triple = (int(found["a"]), int(found["b"]), int(year))
    else:
        word = found["wm"] or found["um"]
        month = _MONTHS.get(word.casefold())
        if month is None:
            raise BadInput(f"{text!r}: {word!r} is not a month", do=f"Write it like one of these: {FORMS_ALLOWED}")
        day = (_full_year(found["wy"] or found["uy"], text), month, int(found["wd"] or found["ud"]))
    return _Typed(
        day=day,
        triple=triple,
        short_year=len(year) == 2,
        dotted=found["sep"] == ".",
        weekday=weekday,
        clock=_clock(found, text),
        offset=found["offset"],
    )


def _clock(found: re.Match[str], text: str) -> tuple[int, int, int, int] | None:
    """Hour, minute, second and microsecond of a text, or None without a time."""
    if found["hour"] is None:
        return None
    half = (found["half"] or "").replace(".", "").replace(" ", "").lower()
    if found["minute"] is None and not half:
        raise BadInput(f"{text!r} ends in a time without minutes", do="Write the time like 14:05 or 2.05pm")
    hour, minute, second = int(found["hour"]), int(found["minute"] or 0), int(found["second"] or 0)
    if second == 60:
        raise BadInput(
            f"{text!r} has second 60, a leap second, which clocks here do not count",
            limit="seconds 00 to 59",
            do="Write second 59, or 00 of the next minute",
        )
    if (hour, minute, second) == (24, 0, 0):
        raise BadInput(f"{text!r} has the hour 24", limit="00:00 to 23:59", do="Write 00:00 of the next day")
    if half and not 1 <= hour <= 12:
        raise BadInput(
            f"{text!r}: {hour} {half} is not a time",
            limit="1 to 12 with am or pm",
            do="Write 24-hour time, like 14:05",
        )
    if half:
        hour = hour % 12 + (12 if half == "pm" else 0)
    if hour > 23 or minute > 59 or second > 59:
        raise BadInput(f"{text!r} has no such time", limit="00:00 to 23:59", do="Write the time like 14:05")
    return hour, minute, second, int((found["part"] or "").ljust(6, "0")[:6])


def _full_year(digits: str, text: str) -> int:
    """Year in full: two digits below the pivot are 20yy, the others are refused."""
    if len(digits) == 4:
        return int(digits)
    if int(digits) >= _PIVOT:
        raise BadInput(
            f"{text!r}: the year {digits} may be 19{digits} or 20{digits}",
            do="Write the year with four digits",
        )
    return 2000 + int(digits)


def _arrange(triple: tuple[int, int, int], short_year: bool, order: str) -> tuple[int, int, int]:
    """Year, month, day of three fields under one order; BadInput when that is no date."""
    first, second, third = triple
    if order == YEAR_FIRST:
        if not short_year:
            order = DAY_FIRST
        else:
            return _full_year(f"{first:02d}", f"{first:02d}"), second, third
    year = _full_year(f"{third:02d}", f"{third:02d}") if short_year else third
    return (year, second, first) if order == DAY_FIRST else (year, first, second)


def _settle(
    open_ones: dict[int, _Typed], texts: list[str], order: str | None
) -> tuple[str | None, str | None, tuple[str, ...], list[str]]:
    """The order of the whole column, or the question that settles it, and a note of what decided it."""
    if order is not None or not open_ones:
        return order, None, (), []
    ones = list(open_ones.values())
    proof: dict[str, str] = {}
    for one, text in zip(ones, texts, strict=True):
        can_day, can_month = (_is_date(one, o) for o in (DAY_FIRST, MONTH_FIRST))
        if can_day and (not can_month or one.dotted):
            proof.setdefault(DAY_FIRST, text)
        elif can_month and not can_day:
            proof.setdefault(MONTH_FIRST, text)
    if _looks_year_first(ones):
        return None, *_ask(ones, texts, (DAY_FIRST, YEAR_FIRST)), []
    if len(proof) == 1:
        decided, text = next(iter(proof.items()))
        return decided, None, (), [f"dates read {decided}, because {text!r} can be read no other way"]
    if len(proof) == 2:
        mixed = f"{proof[DAY_FIRST]!r} can only be day first and {proof[MONTH_FIRST]!r} only month first"
        return (
            None,
            f"The column mixes two orders: {mixed}. Which one holds for the others?",
            (DAY_FIRST, MONTH_FIRST),
            [],
        )
    if all(not _is_date(one, DAY_FIRST) and not _is_date(one, MONTH_FIRST) for one in ones):
        return DAY_FIRST, None, (), []
    if all(one.triple is not None and one.triple[0] == one.triple[1] for one in ones):
        return DAY_FIRST, None, (), ["day and month are the same number in every date"]
    return None, *_ask(ones, texts, (DAY_FIRST, MONTH_FIRST)), []


def _ask(ones: list[_Typed], texts: list[str], orders: tuple[str, str]) -> tuple[str, tuple[str, ...]]:
    """The question with the first telling value read both ways."""
    for one, text in zip(ones, texts, strict=True):
        if one.triple is None or one.triple[0] == one.triple[1] or not all(_is_date(one, o) for o in orders):
            continue
        days = [day_for_people(date(*_arrange(one.triple, one.short_year, o))) for o in orders]
        readings = " or ".join(f"{day} ({o})" for day, o in zip(days, orders, strict=True))
        return f"Is {text!r} {readings}? Nothing in the column decides it.", orders
    return f"In which order are the dates typed, for example {texts[0]!r}?", orders


def _is_date(one: _Typed, order: str) -> bool:
    try:
        _day(one, order)
    except BadInput:
        return False
    return True


def _looks_year_first(ones: list[_Typed]) -> bool:
    """True when all years have two digits and the first field varies less than the last (26-07-29)."""
    triples = [one.triple for one in ones if one.triple is not None and one.short_year and not one.dotted]
    if len(triples) < len(ones) or len(set(triples)) < 2:
        return False
    first, last = ({t[0] for t in triples}, {t[2] for t in triples})
    return len(first) < len(last) and all(_is_date(one, YEAR_FIRST) for one in ones)


def _day(one: _Typed, order: str) -> date:
    """The calendar day, checked; BadInput when there is none or the weekday typed with it is another."""
    fields = one.day if one.triple is None else _arrange(one.triple, one.short_year, order)
    if fields is None:
        raise ValueError("a typed date has either fields in order or an open triple")
    try:
        day = date(*fields)
    except ValueError:
        year, month, number = fields
        raise BadInput(
            f"there is no day {number} of month {month} in {year}" + (f", read {order}" if one.triple else ""),
            do="Correct the date",
        ) from None
    if one.weekday is not None and day.weekday() != one.weekday:
        raise BadInput(f"{day_for_people(day)} is not the weekday typed with it", do="Correct the date or the weekday")
    return day


def _build(one: _Typed, order: str, rules: tzinfo | None) -> datetime | date:
    """The day or the aware instant of one typed date."""
    day = _day(one, order)
    if one.clock is None:
        return day
    hour, minute, second, micro = one.clock
    local = datetime(day.year, day.month, day.day, hour, minute, second, micro)
    if one.offset:
        offset = zone_named("UTC" if one.offset.upper() == "GMT" else one.offset)
        return local.replace(tzinfo=timezone(offset.utcoffset(None) or timedelta(0)))
    if rules is None:
        raise BadInput(
            f"{day_for_people(day)}, {hour:02d}:{minute:02d} has no time zone",
            do=f"Give the site's zone (for example Europe/London), or write the offset: {local:%Y-%m-%dT%H:%M}+01:00",
        )
    return in_zone(local, rules)


def _short_year_note(
    values: Sequence[str], typed: dict[int, _Typed], result: list[datetime | date | None]
) -> list[str]:
    """One note when years of two digits were read."""
    for index, one in typed.items():
        day = result[index]
        if one.short_year and day is not None:
            shown = day_for_people(day.date() if isinstance(day, datetime) else day)
            return [f"years of two digits were read as 20yy: {values[index]!r} is {shown}"]
    return []
