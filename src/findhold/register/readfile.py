"""A register file as one table: headings, rows with the numbers a person sees, and what was found about the file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import Any

from findhold.errors import BadInput, Mistake, Question
from findhold.register.kinds import all_heading_words, plain
from findhold.register.numbers import UNIT_WORDS, split_unit
from findhold.register.textfile import DELIMITER_NAMES, read_text_rows
from findhold.register.workbook import read_workbook
from findhold.tables import load

Cell = str | int | float | bool | datetime | date | time
_OLD_OFFICE = b"\xd0\xcf\x11\xe0"
_BLANKS = "\u00a0\u2007\u202f\u200b\ufeff\t\r\n "
_NUMBER_LIKE = re.compile(r"^[\W\d]*\d[\W\d]*$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One table of a register file.

    `rows[i]` has one cell per heading, "" when empty; `row_numbers[i]` is the row a person sees in the
    spreadsheet. Empty rows are left out and counted. Questions or mistakes here stop the import.
    """

    filename: str
    encoding: str
    headings: tuple[str, ...] = ()
    rows: tuple[tuple[Cell, ...], ...] = ()
    row_numbers: tuple[int, ...] = ()
    first_data_row: int = 0
    delimiter: str = ""
    notes: tuple[str, ...] = ()
    empty_rows: int = 0
    worksheet: str = ""
    worksheets: tuple[str, ...] = ()
    mistakes: tuple[Mistake, ...] = ()
    questions: tuple[Question, ...] = ()

    def column(self, heading: str) -> list[Cell]:
        """All cells under one heading."""
        index = self.headings.index(heading)
        return [row[index] for row in self.rows]


def read_sheet(data: bytes, filename: str, worksheet: str | None = None) -> Sheet:
    """Read a register from the bytes of a CSV or XLSX file.

    Not for old binary workbooks (XLS) or OpenDocument: these are refused with what to do.

    Parameters
    ----------
    data : the whole file.
    filename : its name, for errors and for proposing what it holds.
    worksheet : the worksheet to read; None takes the only one with data.

    Returns
    -------
    Sheet. When a workbook has several worksheets with data it holds that question and no rows.

    Raises
    ------
    BadInput : not readable as a table; the error says what the file is and what to do.
    UnknownName : no worksheet of that name.
    """
    if not data.strip():
        raise BadInput("the file is empty", where=filename, do="Give the file that holds the register")
    _refuse_other_formats(data, filename)
    if not data.startswith(b"PK"):
        found = read_text_rows(data, filename)
        delimiter = DELIMITER_NAMES.get(found.delimiter, repr(found.delimiter))
        empty = Sheet(filename=filename, encoding=found.encoding, delimiter=delimiter, notes=found.notes)
        return _table(found.rows, empty)
    book = read_workbook(data, filename, worksheet)
    empty = Sheet(filename=filename, encoding="XLSX", worksheet=book.worksheet, worksheets=book.worksheets)
    if book.question is not None:
        return replace(empty, questions=(book.question,))
    return _table(book.rows, empty)


def _refuse_other_formats(data: bytes, filename: str) -> None:
    if data.startswith(_OLD_OFFICE):
        wrong = "this is an old XLS workbook, or an XLSX workbook locked with a password"
    elif data.startswith(b"PK") and b"opendocument" in data[:200]:
        wrong = "this is an OpenDocument file"
    elif data.startswith(b"%PDF"):
        wrong = "this is a PDF"
    else:
        return
    raise BadInput(
        wrong,
        where=filename,
        limit="CSV text or an XLSX workbook without password",
        do="Save the register as XLSX or CSV and import that",
    )


def _table(rows: Sequence[Sequence[Any]], empty: Sheet) -> Sheet:
    """The table in the rows of a file: heading row found, columns named, empty rows counted."""
    head = _heading_row(rows, empty.filename)
    raw_headings = [_clean(cell) for cell in rows[head]]
    first = head + 1
    found_notes = list(empty.notes)
    if head:
        above = (
            "row 1 stands above the headings and was"
            if head == 1
            else f"rows 1 to {head} stand above the headings and were"
        )
        found_notes.append(f"{above} not read")
    if first < len(rows) and _is_unit_row(rows[first]):
        raw_headings = _with_units(raw_headings, rows[first])
        found_notes.append(f"row {first + 1} was read as the units of the headings")
        first += 1
    body, numbers, skipped, mistakes = _body(rows, first, len(raw_headings), empty.filename)
    headings, kept = _named(raw_headings, body, found_notes)
    if len(kept) < len(raw_headings):
        body = [tuple(row[index] for index in kept) for row in body]
    if skipped:
        found_notes.append(f"{skipped} empty row{'s' if skipped > 1 else ''} skipped")
    return replace(
        empty,
        headings=headings,
        rows=tuple(body),
        row_numbers=tuple(numbers),
        first_data_row=first + 1,
        notes=tuple(found_notes),
        empty_rows=skipped,
        mistakes=tuple(mistakes),
    )


def _body(
    rows: Sequence[Sequence[Any]], first: int, width: int, filename: str
) -> tuple[list[tuple[Cell, ...]], list[int], int, list[Mistake]]:
    """Rows below the headings, padded to their width, with row numbers; empty rows counted; too wide ones told."""
    body: list[tuple[Cell, ...]] = []
    numbers: list[int] = []
    mistakes: list[Mistake] = []
    empty, last_filled = 0, first - 1
    for number, row in enumerate(rows[first:], first + 1):
        cells = [_clean(cell) for cell in row]
        if not any(cell != "" for cell in cells):
            continue
        empty += number - last_filled - 2
        last_filled = number - 1
        extra = [cell for cell in cells[width:] if cell != ""]
        if extra:
            mistakes.append(
                Mistake(
                    file=filename,
                    row=number,
                    column="",
                    value=str(extra[0]),
                    wrong=f"the row has more cells than the heading row's {width}",
                    allowed=f"{width} cells; put a cell that holds the delimiter in quotation marks",
                )
            )
        if len(cells) < width:
            cells.extend([""] * (width - len(cells)))
        body.append(tuple(cells[:width]))
        numbers.append(number)
    return body, numbers, empty, mistakes


def _heading_row(rows: Sequence[Sequence[Any]], filename: str) -> int:
    """Index of the heading row: enough cells filled, none a number, most words known; the first of equals."""
    rules = load.table("intake_rules").by("rule")
    reach = int(rules["header_search_rows"]["value"])
    share = float(rules["header_filled_share"]["value"])
    width = max((sum(1 for cell in row if _clean(cell) != "") for row in rows[: reach + 200]), default=0)
    best, best_known = -1, -1
    for index, row in enumerate(rows[:reach]):
        cells = [cell for cell in (_clean(cell) for cell in row) if cell != ""]
        if len(cells) < max(1, share * width) or any(_is_value(cell) for cell in cells):
            continue
        known = sum(1 for cell in cells if _is_heading(str(cell)))
        if known > best_known:
            best, best_known = index, known
    if best < 0:
        raise BadInput(
            f"no heading row found in the first {reach} rows",
            where=filename,
            limit="one row of column names, without numbers, above the data",
            do="Put a row of headings above the data",
        )
    return best


def _is_value(cell: Cell) -> bool:
    """True for a cell that cannot be a heading: a number, a date, or text of digits and signs only."""
    return not isinstance(cell, str) or bool(_NUMBER_LIKE.match(cell))


def _is_heading(cell: str) -> bool:
    return plain(cell) in all_heading_words() or plain(split_unit(cell)[0]) in all_heading_words()


def _is_unit_row(row: Sequence[Any]) -> bool:
    """True when every filled cell of the row is a unit and there is at least one."""
    cells = [cell for cell in (_clean(cell) for cell in row) if cell != ""]
    return bool(cells) and all(isinstance(c, str) and c.strip("()[] ").lower() in UNIT_WORDS for c in cells)


def _with_units(headings: list[Cell], row: Sequence[Any]) -> list[Cell]:
    units = [str(_clean(cell)).strip("()[] ") for cell in row] + [""] * len(headings)
    return [f"{heading} ({unit})" if unit else heading for heading, unit in zip(headings, units, strict=False)]


def _named(headings: list[Cell], body: list[tuple[Cell, ...]], notes: list[str]) -> tuple[tuple[str, ...], list[int]]:
    """Headings made unique; a column without heading is kept, by its letter, only when it holds something."""
    names: list[str] = []
    kept: list[int] = []
    for index, heading in enumerate(headings):
        name = " ".join(str(heading).split())
        if not name:
            if not any(row[index] != "" for row in body):
                continue
            name = f"column {letters(index)}"
        if name in names:
            name = f"{name}, column {letters(index)}"
            notes.append(f"two columns have the same heading; the second is called {name!r}")
        names.append(name)
        kept.append(index)
    return tuple(names), kept


def letters(index: int) -> str:
    """The letters of a column as a spreadsheet shows them: 0 is A, 26 is AA."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(65 + rest) + text
    return text


def _clean(cell: Any) -> Cell:
    """A cell without the blanks round it (also no-break ones); None becomes ''."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return cell.strip(_BLANKS)
    if isinstance(cell, Cell):
        return cell
    return str(cell)
