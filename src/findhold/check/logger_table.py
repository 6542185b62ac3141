"""A logger's export as a table: bytes to text, the separator, the heading row and which column is what."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
from numpy.typing import NDArray

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


Numbers = NDArray[np.float64]
_CHUNK = 100_000  # lines taken at a time, so that a long file never stands in memory as single cells
_DATES = re.compile(rf"(?:(?:{_DATE.pattern.replace('^', '').replace('$', '')})[^\n]*\n)*", re.IGNORECASE)
_CELL_NUMBER = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*(?:°?\s?[CFK]|%.*)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One measured column: its numbers, nan where a cell holds none, and what those cells hold instead.

    numbers [unit of the heading or of the cells], shape (n,).
    """

    heading: str
    numbers: Numbers
    sample: tuple[str, ...]
    """The first cells as they stand."""
    missing: int
    first_missing: tuple[int, str] | None
    """Line and text of the first cell without a number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerTable:
    """The columns of a logger file, with the line in the file of every row."""

    clock: tuple[NDArray[np.bytes_], ...]
    """Date and time of every row as UTF-8, in parts; joined with a space where they stood in two columns."""
    clock_heading: str
    temp: Column | None
    rh: Column | None
    lines: NDArray[np.int64]
    notes: tuple[str, ...]

    def first_clock(self) -> str:
        """The first time as it stands."""
        return bytes(self.clock[0][0]).decode()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
    """Where things stand: first line of readings, separator, width, and the columns."""

    start: int
    separator: str
    width: int
    clock: tuple[int, ...]
    measured: tuple[int, ...]


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
    text = decode(data, filename)
    sample = [line.rstrip("\r\n") for line in islice(io.StringIO(text, newline=None), _SAMPLE)]
    rows, start, separator = _find_table(sample, filename)
    heading = _heading(rows, start, filename)
    width = len(heading)
    first = [row for row in rows[start:] if len(row) == width and _reading(row)]
    clock = _clock_columns(heading, first, filename)
    numeric = [c for c in range(width) if c not in clock and any(_NUMBER.match(row[c]) for row in first)]
    temp, rh = _measured(heading, numeric, use or {}, filename)
    layout = _Layout(
        start=start,
        separator=separator,
        width=width,
        clock=clock,
        measured=tuple(c for c in (temp, rh) if c is not None),
    )
    parts, skipped = _parts(text, layout)
    notes = [f"table begins on line {start + 1}, columns split at {_spoken(separator)}"]
    ignored = [heading[c] for c in numeric if c not in (temp, rh)]
    if ignored:
        notes.append(f"columns not used: {', '.join(ignored)}")
    if skipped:
        notes.append(f"{len(skipped)} lines hold no reading and were left out: {_some(skipped)}")
    lines = np.concatenate([part.lines for part in parts])
    return LoggerTable(
        clock=tuple(part.clock for part in parts),
        clock_heading=" ".join(heading[c] for c in clock),
        temp=None if temp is None else _column(heading[temp], parts, 0, lines),
        rh=None if rh is None else _column(heading[rh], parts, layout.measured.index(rh), lines),
        lines=lines,
        notes=tuple(notes),
    )


def _measured(
    heading: list[str], numeric: list[int], use: Mapping[str, str], filename: str
) -> tuple[int | None, int | None]:
    """The columns of temperature and of humidity; neither is an error."""
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
    return temp, rh


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """Some rows of the file, read: times as text, each measured column as numbers with its cells that hold none."""

    clock: NDArray[np.bytes_]
    numbers: tuple[Numbers, ...]
    missing: tuple[tuple[tuple[int, str], ...], ...]
    """By column: place in the part, and text."""
    samples: tuple[tuple[str, ...], ...]
    lines: NDArray[np.int64]


def _parts(text: str, layout: _Layout) -> tuple[list[_Part], list[int]]:
    """The whole table in parts, and the lines that hold something else than a reading."""
    file = io.StringIO(text, newline=None)
    for _ in range(layout.start):
        file.readline()
    parts: list[_Part] = []
    skipped: list[int] = []
    number = layout.start + 1
    while chunk := list(islice(file, _CHUNK)):
        rows = _split((line.rstrip("\r\n") for line in chunk), layout.separator)
        lines = np.arange(number, number + len(rows))
        if not _all_readings(rows, layout):
            kept = [_holds_reading(row, layout) for row in rows]
            skipped += [int(n) for n, row, good in zip(lines, rows, kept, strict=True) if any(row) and not good]
            lines, rows = lines[kept], [row for row, good in zip(rows, kept, strict=True) if good]
        if rows:
            parts.append(_part(rows, lines, layout))
        number += len(chunk)
    return parts, skipped


def _all_readings(rows: Sequence[Sequence[str]], layout: _Layout) -> bool:
    """True when every row plainly is a reading: the quick look at rows by the thousand."""
    if any(len(row) != layout.width for row in rows):
        return False
    dates = "\n".join([row[layout.clock[0]] for row in rows]) + "\n"
    return _DATES.fullmatch(dates) is not None and all(row[layout.measured[0]][-1:].isdigit() for row in rows)


def _holds_reading(row: Sequence[str], layout: _Layout) -> bool:
    """True when a row holds a time and a number."""
    others = [c for c in range(layout.width) if c not in layout.clock]
    if len(row) != layout.width or not _DATE.match(row[layout.clock[0]]):
        return False
    return any(_NUMBER.match(row[c]) for c in others)


def _part(rows: Sequence[Sequence[str]], lines: NDArray[np.int64], layout: _Layout) -> _Part:
    clock = [row[layout.clock[0]] for row in rows]
    for column in layout.clock[1:]:
        clock = [f"{before} {row[column]}" for before, row in zip(clock, rows, strict=True)]
    plain = "".join(clock).isascii()
    read = [_numbers([row[column] for row in rows]) for column in layout.measured]
    return _Part(
        clock=np.array(clock if plain else [cell.encode() for cell in clock], dtype=np.bytes_),
        numbers=tuple(numbers for numbers, _ in read),
        missing=tuple(missing for _, missing in read),
        samples=tuple(tuple(row[column] for row in rows[:_SAMPLE]) for column in layout.measured),
        lines=lines,
    )


def _numbers(cells: list[str]) -> tuple[Numbers, tuple[tuple[int, str], ...]]:
    """Cells as numbers; a decimal comma counts as a point, a cell without number becomes nan."""
    if "," in "".join(cells):
        cells = [cell.replace(",", ".") for cell in cells]
    try:
        numbers = np.array(cells, dtype=np.float64)
        if np.isfinite(numbers).all():
            return numbers, ()
    except ValueError:
        pass  # some cells hold a unit or no number: read one by one
    numbers = np.full(len(cells), np.nan)
    missing = []
    for index, cell in enumerate(cells):
        number = _CELL_NUMBER.fullmatch(cell)
        if number:
            numbers[index] = float(number[1])
        else:
            missing.append((index, cell))
    return numbers, tuple(missing)


def _column(heading: str, parts: Sequence[_Part], place: int, lines: NDArray[np.int64]) -> Column:
    """One measured column of all parts."""
    first, before = None, 0
    for part in parts:
        if first is None and part.missing[place]:
            index, cell = part.missing[place][0]
            first = (int(lines[before + index]), cell)
        before += len(part.lines)
    return Column(
        heading=heading,
        numbers=np.concatenate([part.numbers[place] for part in parts]),
        sample=parts[0].samples[place],
        missing=sum(len(part.missing[place]) for part in parts),
        first_missing=first,
    )


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
    # Line by line where there are quotes, so that one left open swallows no other line.
    rows = (
        next(csv.reader([line], delimiter=separator), []) if '"' in line else line.split(separator) for line in lines
    )
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
