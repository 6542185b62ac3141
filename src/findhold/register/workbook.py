"""XLSX workbooks as rows of typed cells; formulas must carry the value the spreadsheet program stored."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from dataclasses import dataclass
from functools import partial
from typing import Any

from findhold.errors import BadInput, Question, UnknownName
from findhold.register.worksheet import SheetFacts, plain_rows

# A formula without a stored value: <f>...</f> followed by no <v> with content. A formula whose result is the
# empty text carries t="str" and is complete.
_FORMULA = re.compile(
    rb'<c r="([A-Z]+[0-9]+)"(?![^>]* t="str")[^>]*><f(?:[^>]*/>|[^>]*>[^<]*</f>)(?:<v\s*/>|<v></v>)?</c>'
)
_SHOWN_CELLS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkbookRows:
    """Rows of one worksheet (rows[0] is row 1), or a question which worksheet is meant and no rows."""

    rows: list[tuple[Any, ...]]
    worksheet: str
    worksheets: tuple[str, ...]
    question: Question | None = None


def read_workbook(data: bytes, filename: str, worksheet: str | None = None) -> WorkbookRows:
    """Read the worksheet with data, or the one named.

    Parameters
    ----------
    data : the whole file.
    filename : for the errors.
    worksheet : name of the worksheet; None takes the only one with data.

    Returns
    -------
    WorkbookRows. When several worksheets have data and none is named it holds the question and no rows.

    Raises
    ------
    BadInput : no XLSX workbook, damaged, locked, without data, or with formulas that have no stored value.
    UnknownName : there is no worksheet of that name.
    """
    import openpyxl

    try:
        with warnings.catch_warnings():
            # Missing default styles and unknown extensions do not touch the cells.
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    except (zipfile.BadZipFile, KeyError, ValueError, OSError) as error:
        raise BadInput(
            f"the workbook cannot be opened ({error})",
            where=filename,
            limit="an XLSX workbook without password",
            do="Open it in the spreadsheet program, save it as XLSX and import that",
        ) from None
    names = tuple(sheet.title for sheet in book.worksheets)
    if worksheet is not None and worksheet not in names:
        raise UnknownName("worksheet", worksheet, list(names), where=filename)
    filled = [worksheet] if worksheet is not None else [name for name in names if _has_data(book[name])]
    if not filled:
        raise BadInput("no worksheet has any data", where=filename, do="Give the file that holds the register")
    if len(filled) > 1:
        text = f"{filename} has {len(filled)} worksheets with data. Which one is to be read?"
        question = Question(about="worksheet", text=text, choices=tuple(filled))
        return WorkbookRows(rows=[], worksheet="", worksheets=tuple(filled), question=question)
    sheet: Any = book[filled[0]]
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        content = archive.read(sheet._worksheet_path.lstrip("/"))
    _refuse_unvalued_formulas(content, sheet.title, filename)
    return WorkbookRows(rows=_all_rows(content, sheet), worksheet=filled[0], worksheets=tuple(filled))


def _all_rows(content: bytes, sheet: Any) -> list[tuple[Any, ...]]:
    """Every row of the worksheet: by the fast reader when it knows every cell's form, else by the general one."""
    from openpyxl.utils.datetime import from_excel

    book = sheet.parent
    facts = SheetFacts(
        texts=sheet._shared_strings,
        date_styles=frozenset(book._date_formats),
        duration_styles=frozenset(book._timedelta_formats),
        to_date=partial(from_excel, epoch=book.epoch),
    )
    try:
        rows = plain_rows(content, facts)
    except (ValueError, OverflowError, IndexError):
        rows = None
    if rows is None:
        # The stored size of a worksheet is often wrong; without it the rows are read to their end.
        sheet.reset_dimensions()
        with warnings.catch_warnings():
            # A date outside the calendar becomes an error value, which the intake reports at its cell.
            warnings.simplefilter("ignore")
            rows = list(sheet.iter_rows(values_only=True))
    return rows


def _has_data(sheet: Any) -> bool:
    """True when two cells anywhere in the worksheet hold something."""
    sheet.reset_dimensions()
    filled = 0
    for row in sheet.iter_rows(values_only=True):
        filled += sum(1 for cell in row if cell is not None and str(cell).strip())
        if filled > 1:
            return True
    return False


def _refuse_unvalued_formulas(content: bytes, title: str, filename: str) -> None:
    """BadInput when cells hold formulas that were never computed: their value would be read as empty."""
    cells = [cell.decode() for cell in _FORMULA.findall(content)] if b"<f" in content else []
    if cells:
        more = f" and {len(cells) - _SHOWN_CELLS} more" if len(cells) > _SHOWN_CELLS else ""
        raise BadInput(
            f"cells {', '.join(cells[:_SHOWN_CELLS])}{more} hold formulas without a stored value",
            where=f"{filename}, worksheet {title}",
            limit="values, or formulas that the spreadsheet program has computed",
            do="Open the workbook in the spreadsheet program, save it and import it again",
        )
