"""A logger's export as a table: bytes to text, the separator, the heading row and which column is what."""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from findhold.errors import BadInput, UnknownName

_RUN = 5  # rows in a row that must look like readings before the table is believed to begin
_SAMPLE = 400  # lines looked at to find the separator and the heading
_SEPARATORS = (";", "\t", "|", ",", "  ", " ")
_NUMBER = re.compile(r"^[+-]?\d+(?:[.,]\d+)?\s*(?:°?\s?[CFK]|%(?:\s?r\.?[hF]\.?)?)?$", re.IGNORECASE)
_DATE = re.compile(r"^\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|^\d{1,2}\.?[ -][^\W\d_]{3,9}\.?[ -]\d{2,4}|^\d{10}(?:\d{3})?$")
_CLOCK = re.compile(r"^\d{1,2}[:.]\d{2}(?:[:.]\d{2})?(?:\s*[ap]m)?$", re.IGNORECASE)
_TIME_WORDS = (
    "date",
    "time",
    "datum",
    "zeit",
    "uhr",
    "stamp",
    "heure",
    "fecha",
    "hora",
    "data",
    "ora",
    "tijd",
    "epoch",
    "unix",
)
_TEMP_WORDS = ("temp", "celsius", "fahrenheit", "°c", "°f", "degc", "degf", "deg c", "deg f")
_RH_WORDS = ("hum", "feucht", "vocht", "umid", "%rh", "rh%", "% rh", "r.h.", "rel. f")
_OTHER_WORDS = (
    "dew",
    "taupunkt",
    "rosée",
    "rosee",
    "dauw",
    "batt",
    "volt",
    "co2",
    "signal",
    "wet bulb",
    "alarm",
    "min.",
    "max.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerTable:
    """The columns of a logger file as text, with the line in the file of every row."""

    clock: tuple[str, ...]
    """Date and time of every row, joined with a space where they stood in two columns."""
    clock_heading: str
    temp: tuple[str, ...] | None
    temp_heading: str
    rh: tuple[str, ...] | None
    rh_heading: str
    lines: tuple[int, ...]
    notes: tuple[str, ...]


def read_table(data: bytes, filename: str, use: Mapping[str, str] | None = None) -> LoggerTable:
    """Find the table of readings in a logger's export.

    Parameters
    ----------
    data : the file's bytes: UTF-8 with or without mark, UTF-16, Windows-1252.
    filename : for the errors.
    use : headings to take when several could be meant: {"temperature": "Ch 2 (°C)", "humidity": "…"}.

    Raises
    ------
    BadInput : not text, no table, no heading, no column of times or of readings, or several that could be meant.
    """
    lines = decode(data, filename).splitlines()
    rows, start, separator = _find_table(lines, filename)
    heading = _heading(rows, start, filename)
    width = len(heading)
    first = [row for row in rows[start : start + _SAMPLE] if len(row) == width and _reading(row)]
    clock = _clock_columns(heading, first, filename)
    kept, skipped = _readings(rows, start, width, clock)
    columns = list(zip(*(row for _, row in kept), strict=True))
    numeric = [c for c in range(width) if c not in clock and any(_NUMBER.match(cell) for cell in columns[c])]
    use = use or {}
    temp = _pick("temperature", heading, [c for c in numeric if _is(heading[c], _TEMP_WORDS)], numeric, use, filename)
    left = [c for c in numeric if c != temp]
    humid = [
        c for c in left if _is(heading[c], _RH_WORDS) or re.search(r"(^|\W)rh(\W|$)|^%$|[(\[]%[)\]]", _fold(heading[c]))
    ]
    rh = _pick("humidity", heading, [c for c in humid if not _is(heading[c], _OTHER_WORDS)], left, use, filename)
    if temp is None and rh is None:
        raise BadInput(
            f"no column is headed temperature or humidity; the headings are {', '.join(map(repr, heading))}",
            where=filename,
            do="Name the columns in the heading row, with their units: Temperature (°C), Humidity (%)",
        )
    notes = [f"table begins on line {start + 1}, columns split at {_spoken(separator)}"]
    ignored = [heading[c] for c in numeric if c not in (temp, rh)]
    if ignored:
        notes.append(f"columns not used: {', '.join(ignored)}")
    if skipped:
        notes.append(f"{len(skipped)} lines hold no reading and were left out: {_some(skipped)}")
    return LoggerTable(
        clock=tuple(" ".join(parts) for parts in zip(*(columns[c] for c in clock), strict=True)),
        clock_heading=" ".join(heading[c] for c in clock),
        temp=None if temp is None else tuple(columns[temp]),
        temp_heading="" if temp is None else heading[temp],
        rh=None if rh is None else tuple(columns[rh]),
        rh_heading="" if rh is None else heading[rh],
        lines=tuple(number for number, _ in kept),
        notes=tuple(notes),
    )


def _readings(
    rows: Sequence[Sequence[str]], start: int, width: int, clock: Sequence[int]
) -> tuple[list[tuple[int, Sequence[str]]], list[int]]:
    """Rows that hold a time and a reading, with their line numbers, and the lines that hold something else."""
    others = [c for c in range(width) if c not in clock]
    kept: list[tuple[int, Sequence[str]]] = []
    skipped: list[int] = []
    for number, row in enumerate(rows[start:], start + 1):
        if len(row) == width and _DATE.match(row[clock[0]]) and any(_NUMBER.match(row[c]) for c in others):
            kept.append((number, row))
        elif any(row):
            skipped.append(number)
    return kept, skipped


def decode(data: bytes, filename: str) -> str:
    """The text of a file: byte order marks first, then UTF-8, then Windows-1252; never a file that is not text."""
    if not data.strip():
        raise BadInput("the file is empty", where=filename, do="Export the readings again")
    if data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF")):
        raise BadInput("this is not a text file", where=filename, do="Save the readings as CSV and give that file")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    if b"\x00" in data[:200]:
        return data.decode("utf-16-le" if data[1:2] == b"\x00" else "utf-16-be", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _find_table(lines: list[str], filename: str) -> tuple[list[list[str]], int, str]:
    """All rows split, the index of the first reading, and the separator that gives the most readings."""
    best: tuple[int, int, str] | None = None
    for separator in _SEPARATORS:
        rows = _split(lines[:_SAMPLE], separator)
        start = _first_reading(rows)
        if start is None:
            continue
        width = len(rows[start])
        count = sum(len(row) == width and _reading(row) for row in rows[start:])
        if best is None or count > best[0]:
            best = (count, start, separator)
    if best is None:
        raise BadInput(
            "no table of times and readings was found",
            where=filename,
            limit=f"one line a reading, at least {_RUN} in a row, with a date, a time and a number in each",
            do="Open the file in a text editor and check that it is the logger's export",
        )
    return _split(lines, best[2]), best[1], best[2]


def _split(lines: Iterable[str], separator: str) -> list[list[str]]:
    if separator == "  ":
        return [[cell.strip() for cell in re.split(r"\s{2,}", line.strip())] for line in lines]
    if separator == " ":
        return [line.split() for line in lines]
    rows = (next(csv.reader([line], delimiter=separator), []) for line in lines)
    stripped = [[cell.strip() for cell in row] for row in rows]
    return [row[:-1] if len(row) > 2 and row[-1] == "" else row for row in stripped]


def _first_reading(rows: list[list[str]]) -> int | None:
    """Index of the first of five rows running that have one width and look like readings (all, in a short file)."""
    needed = min(_RUN, max(1, sum(_reading(row) for row in rows)))
    run = 0
    for index, row in enumerate(rows):
        same = run == 0 or len(row) == len(rows[index - 1])
        run = run + 1 if _reading(row) and same else int(_reading(row))
        if run == needed:
            return index - needed + 1
    return None


def _reading(row: list[str]) -> bool:
    """True when a row has a date, a time of day and at least one number or empty value besides."""
    dates = [cell for cell in row if _DATE.match(cell)]
    if not dates or len(row) < 2:
        return False
    timed = any(re.search(r"\d[:.hT ]\s?\d{1,2}[:.]\d{2}|\d\s?[ap]m|^\d{10}", cell) for cell in dates)
    clocks = [cell for cell in row if _CLOCK.match(cell) and cell not in dates]
    if not timed and not clocks:
        return False
    rest = [cell for cell in row if cell not in dates and (timed or cell != clocks[0])]
    return any(_NUMBER.match(cell) for cell in rest)


def _heading(rows: list[list[str]], start: int, filename: str) -> list[str]:
    """The heading row, joined with a row of units under it when there is one."""
    width = len(rows[start])
    above = [row for row in rows[:start] if any(row)]
    if not above or len(above[-1]) != width:
        found = f"{len(above[-1])} headings stand above {width} columns" if above else "there is no heading row"
        raise BadInput(
            f"{found} on line {start + 1}",
            where=filename,
            limit="one heading for every column",
            do="Write one heading above each column, with its unit: Time, Temperature (°C), Humidity (%)",
        )
    units = [_fold(cell).strip("()[] ") for cell in above[-1]]
    if (
        len(above) > 1
        and len(above[-2]) == width
        and all(u in {"", "c", "f", "k", "%", "°c", "°f", "%rh", "utc"} for u in units)
    ):
        return [f"{name} ({unit})" if unit else name for name, unit in zip(above[-2], above[-1], strict=True)]
    return above[-1]


def _clock_columns(heading: list[str], rows: list[list[str]], filename: str) -> tuple[int, ...]:
    """The column of date and time, or the two columns of date and of time."""
    width = len(heading)
    dates = [c for c in range(width) if all(_DATE.match(row[c]) for row in rows)]
    dates = [c for c in dates if _is(heading[c], _TIME_WORDS)] or dates
    if not dates:
        raise BadInput(
            "no column holds a date in every row", where=filename, do="Check the dates of the first lines of the table"
        )
    date = dates[0]
    if any(re.search(r"\d{10}|\d[T ,h]+\d{1,2}[:.]\d{2}|\d\s?[ap]m", row[date]) for row in rows):
        return (date,)
    clocks = [c for c in range(width) if c != date and all(_CLOCK.match(row[c]) for row in rows)]
    clocks = [c for c in clocks if _is(heading[c], _TIME_WORDS)] or clocks
    return (date, clocks[0])


def _pick(
    what: str, heading: list[str], fitting: list[int], numeric: list[int], use: Mapping[str, str], filename: str
) -> int | None:
    """The one column of a kind: the one named in `use`, else the only one that fits; several are an error."""
    if what in use:
        known = [heading[c] for c in numeric]
        if use[what] not in known:
            raise UnknownName("column", use[what], known, where=filename)
        return next(c for c in numeric if heading[c] == use[what])
    plain = [c for c in fitting if not _is(heading[c], _OTHER_WORDS)]
    if len(plain) > 1:
        raise BadInput(
            f"{len(plain)} columns could be the {what}: {', '.join(repr(heading[c]) for c in plain)}",
            where=filename,
            do=f"Say which heading is the {what} of this store",
        )
    return plain[0] if plain else None


def _is(heading: str, words: tuple[str, ...]) -> bool:
    folded = _fold(heading)
    return any(word in folded for word in words)


def _fold(text: str) -> str:
    """Lower case, with the several signs for a degree made one and compatible letters unified."""
    return unicodedata.normalize("NFKC", text.replace("º", "°").replace("℃", "°C").replace("℉", "°F")).casefold()


def _spoken(separator: str) -> str:
    names = {";": "semicolons", "\t": "tabs", "|": "bars", ",": "commas", "  ": "runs of spaces", " ": "spaces"}
    return names[separator]


def _some(numbers: list[int], most: int = 5) -> str:
    shown = ", ".join(str(n) for n in numbers[:most])
    return f"line {shown}" if len(numbers) == 1 else f"lines {shown}" + (" …" if len(numbers) > most else "")
