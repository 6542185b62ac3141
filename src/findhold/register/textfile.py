"""Text files as rows of cells: the encoding, the delimiter and the quotation marks are found, never assumed."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from dataclasses import dataclass

from findhold.errors import BadInput

DELIMITERS = (";", "\t", "|", ",")
DELIMITER_NAMES = {";": "semicolon", "\t": "tab", "|": "upright bar", ",": "comma"}
_SAMPLE_LINES = 400
# A lead byte of UTF-8 for Latin letters and its follower: in Windows-1252 a capital à or  before a symbol,
# which no language writes.
_UTF8_PAIR = re.compile(rb"[\xc2\xc3][\x80-\xbf]")
_CONTROL = re.compile("[\x00-\x08\x0e-\x1f]")


@dataclass(frozen=True, slots=True, kw_only=True)
class TextRows:
    """Rows of a text file as a spreadsheet program shows them; rows[0] is row 1."""

    rows: list[list[str]]
    encoding: str
    delimiter: str
    notes: tuple[str, ...] = ()


def read_text_rows(data: bytes, filename: str) -> TextRows:
    """Split a text file into rows of cells.

    Parameters
    ----------
    data : the whole file.
    filename : for the errors.

    Returns
    -------
    TextRows. Cells are as typed; empty lines stay as empty rows, so that row numbers agree with a spreadsheet.

    Raises
    ------
    BadInput : the encoding is none of UTF-8, UTF-16 and Windows-1252, or is mixed; a quotation mark is not closed.
    """
    text, encoding = decode(data, filename)
    notes: list[str] = []
    told = re.match(r"\ufeff?\"?sep=(.)\"?\r?\n", text, re.IGNORECASE)
    if told:
        # Spreadsheet programs hide this line, so it does not count as a row.
        text = text[told.end() :]
        notes.append(f"the file names its delimiter itself: {DELIMITER_NAMES.get(told[1], repr(told[1]))}")
    delimiter = told[1] if told else find_delimiter(text)
    return TextRows(rows=_rows(text, delimiter, filename), encoding=encoding, delimiter=delimiter, notes=tuple(notes))


def decode(data: bytes, filename: str) -> tuple[str, str]:
    """The text of a file and the name of its encoding: UTF-8 or UTF-16 with or without mark, or Windows-1252.

    Raises
    ------
    BadInput : not text, none of these encodings, or UTF-8 and Windows-1252 mixed in one file.
    """
    for mark, name, label in (
        (codecs.BOM_UTF8, "utf-8", "UTF-8 with byte order mark"),
        (codecs.BOM_UTF16_LE, "utf-16-le", "UTF-16"),
        (codecs.BOM_UTF16_BE, "utf-16-be", "UTF-16"),
    ):
        if data.startswith(mark):
            return _strict(data[len(mark) :], name, label, filename), label
    unmarked = _utf16_without_mark(data)
    if unmarked:
        return _strict(data, unmarked, "UTF-16", filename), "UTF-16 without byte order mark"
    try:
        return _text_only(data.decode("utf-8"), filename), "UTF-8"
    except UnicodeDecodeError as error:
        first_bad = error.start
    if _UTF8_PAIR.search(data):
        line = data.count(b"\n", 0, first_bad) + 1
        raise BadInput(
            "the file mixes two encodings: parts are UTF-8, but not this line",
            where=f"{filename}, line {line}",
            limit="one encoding for the whole file: UTF-8, UTF-16 or Windows-1252",
            do="Save the file again from the spreadsheet as CSV UTF-8",
        )
    return _strict(data, "cp1252", "Windows-1252", filename), "Windows-1252"


def find_delimiter(text: str) -> str:
    """The delimiter under which most rows have the width of the widest run of rows; a comma when nothing splits."""
    sample = text[: _end_of_lines(text)]
    best, best_score = ",", (0.0, 0)
    for delimiter in DELIMITERS:
        if delimiter not in sample:
            continue
        score = _regularity(sample, delimiter)
        if score > best_score:
            best, best_score = delimiter, score
    return best


def _regularity(sample: str, delimiter: str) -> tuple[float, int]:
    """Share of rows that fit the commonest width of two or more, and that width."""
    try:
        widths = [len(row) for row in csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter) if row]
    except csv.Error:
        return 0.0, 0
    counted = Counter(width for width in widths if width > 1)
    if not counted:
        return 0.0, 0
    # Trailing empty cells are often left off, and preamble rows are narrow: the widest common row is the table's.
    width, rows = max(counted.items(), key=lambda item: (item[1], item[0]))
    # A decimal comma splits every data row but not the heading row: the heading row then stands alone and narrow.
    first_wide = next(index for index, found in enumerate(widths) if found == width)
    alone = sum(1 for found in widths[:first_wide] if found == 1)
    return rows / (len(widths) + alone), width


def _end_of_lines(text: str) -> int:
    """Position after the sample's last line."""
    position = 0
    for _ in range(_SAMPLE_LINES):
        found = text.find("\n", position)
        if found < 0:
            return len(text)
        position = found + 1
    return position


def _rows(text: str, delimiter: str, filename: str) -> list[list[str]]:
    """All rows, or BadInput at the row whose quotation marks do not close."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[list[str]] = []
    try:
        rows.extend(reader)
    except csv.Error as error:
        raise BadInput(
            f"the quotation marks of this row do not pair ({error})",
            where=f"{filename}, row {len(rows) + 1}",
            limit='a quotation mark inside a quoted cell is doubled, as in "6"" nail"',
            do="Mend the row, or save the file again from the spreadsheet",
        ) from None
    return rows


def _strict(data: bytes, encoding: str, label: str, filename: str) -> str:
    try:
        return _text_only(data.decode(encoding), filename)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise BadInput(
            f"byte 0x{data[error.start]:02X} is no character of {label}",
            where=f"{filename}, line {line}",
            limit="UTF-8, UTF-16 or Windows-1252 text",
            do="Save the file again from the spreadsheet as CSV UTF-8",
        ) from None


def _text_only(text: str, filename: str) -> str:
    """The text itself, or BadInput when it holds control characters that no text file has."""
    found = _CONTROL.search(text)
    if found:
        line = text.count("\n", 0, found.start()) + 1
        raise BadInput(
            f"this is not a text file: it holds the control character 0x{ord(found[0]):02X}",
            where=f"{filename}, line {line}",
            limit="CSV text or an XLSX workbook",
            do="Save the register as XLSX or CSV and import that",
        )
    return text


def _utf16_without_mark(data: bytes) -> str:
    """The byte order of UTF-16 without a mark, told by where the zero bytes of plain letters stand; else ''."""
    head = data[:2000]
    if len(head) < 4 or 0 not in head:
        return ""
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if odd > 0.6 * len(head) / 2 and even == 0:
        return "utf-16-le"
    if even > 0.6 * len(head) / 2 and odd == 0:
        return "utf-16-be"
    return ""
