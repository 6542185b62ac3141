"""A unit's own cushion curve from a file: one drop a row, units in the headings, every mistake told at once."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from findhold.cushion.curve import Curve, fit_curve
from findhold.errors import BadInput, Mistake, Mistakes
from findhold.register.readfile import Sheet, read_sheet
from findhold.tables.cushions import CurvePoint

# Exact by definition: the inch 25.4 mm, the foot 12 in; psi from pound, standard gravity and inch;
# kilogram-force likewise.
KPA = {
    "kpa": 1.0,
    "pa": 1e-3,
    "mpa": 1e3,
    "psi": 6.894757293168,
    "lbf/in2": 6.894757293168,
    "n/cm2": 10.0,
    "kgf/cm2": 98.0665,
}
METRES = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254, "ft": 0.3048}
ALIASES = {
    "inch": "in",
    "inches": "in",
    '"': "in",
    "feet": "ft",
    "foot": "ft",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
    "lb/in2": "psi",
    "lb/in²": "psi",
    "lbf/in²": "psi",
    "n/cm²": "n/cm2",
    "kgf/cm²": "kgf/cm2",
    "kn/m2": "kpa",
    "kn/m²": "kpa",
    "n/m2": "pa",
    "n/m²": "pa",
    "millimetre": "mm",
    "millimetres": "mm",
}
COLUMNS: dict[str, tuple[tuple[str, ...], dict[str, float]]] = {
    "static stress": (("static stress", "static loading", "static load", "surface loading", "stress", "s"), KPA),
    "G": (("g", "peak g", "g peak", "max g", "peak deceleration", "deceleration", "peak acceleration", "shock"), {}),
    "drop height": (("drop height", "drop", "fall height", "height", "h"), METRES),
    "thickness": (("thickness", "foam thickness", "cushion thickness", "t"), METRES),
}
"""Each column: the words it may be headed with, and the units it may be in (none for G)."""
_UNIT = re.compile(r"^(?P<name>.*?)\s*(?:[(\[]\s*(?P<in>[^)\]]+?)\s*[)\]]|[,/_ ]\s*(?P<after>[^\s,/_]+(?:/[^\s]+)?))$")
_NUMBER = re.compile(r"^\d+(?:[.,]\d+)?$|^[.,]\d+$")
_THOUSANDS = re.compile(r"^[1-9]\d{0,2},\d{3}$")
_EXAMPLE = "static stress (kPa), G, drop height (m), thickness (mm)"


def read_curve(path: Path, foam: str) -> Curve:
    """Read and fit a unit's own curve.

    Parameters
    ----------
    path : CSV or XLSX with one drop a row. foam : name of packing_materials it was measured on.

    Raises
    ------
    BadInput : the file cannot be read, a column or its unit is missing, or the drops make no curve.
    Mistakes : every cell that is no figure.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise BadInput(
            f"the cushion curve cannot be read ({error.strerror})",
            where=path.name,
            do="Check [cushion] curve; the path is taken from the folder of the file it stands in",
        ) from error
    sheet = read_sheet(data, path.name)
    found = {name: _column(name, sheet) for name in COLUMNS}
    if not sheet.rows:
        do = "Give the file with one drop a row"
        raise BadInput("there is no drop below its headings", where=path.name, limit="at least one drop", do=do)
    points, mistakes = [], []
    for number, row in zip(sheet.row_numbers, sheet.rows, strict=True):
        values: dict[str, float] = {}
        for name, (index, factor) in found.items():
            value, wrong = _figure(row[index])
            if value is None:
                mistakes.append(_mistake(sheet, number, index, row[index], wrong))
            else:
                values[name] = value * factor
        if len(values) == len(COLUMNS):
            points.append(_point(values))
    if mistakes:
        raise Mistakes(mistakes=mistakes)
    return fit_curve(points, name=path.name, foam=foam)


def _point(values: dict[str, float]) -> CurvePoint:
    return CurvePoint(
        static_stress_kpa=values["static stress"],
        peak_g=values["G"],
        drop_m=values["drop height"],
        thickness_mm=values["thickness"] * 1000.0,
    )


def _column(name: str, sheet: Sheet) -> tuple[int, float]:
    """Where a column stands, and what its unit is worth."""
    words, units = COLUMNS[name]
    for index, heading in enumerate(sheet.headings):
        plain = _words(heading)
        if not units and plain in words:
            return index, 1.0
        bare, unit = _split(heading)
        if bare in words and unit in units:
            return index, units[unit]
        if units and (plain in words or bare in words):
            raise BadInput(
                f"the column {heading!r} does not say its unit"
                if plain in words
                else f"the unit {unit!r} is not known",
                where=sheet.filename,
                limit=f"one of {', '.join(units)} in the heading",
                do=f"Write the heading with its unit, for instance: {_EXAMPLE}",
            )
    raise BadInput(
        f"there is no column for the {name}",
        where=sheet.filename,
        limit=f"headings such as {', '.join(words[:3])}",
        do=f"Head the columns, for instance: {_EXAMPLE}",
    )


def _words(text: str) -> str:
    return " ".join(text.casefold().replace("_", " ").replace("-", " ").split())


def _split(heading: str) -> tuple[str, str]:
    """A heading without its unit, and the unit in its plain form ('' when it names none)."""
    found = _UNIT.match(heading.strip())
    if found is None:
        return _words(heading), ""
    unit = (found["in"] or found["after"] or "").casefold().strip()
    return _words(found["name"]), ALIASES.get(unit, unit)


def _figure(cell: Any) -> tuple[float | None, str]:
    """A cell as a figure above zero, or what is wrong with it."""
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        return (float(cell), "") if cell > 0 else (None, "is not above 0")
    text = str(cell).strip()
    if not text:
        return None, "is empty"
    if _THOUSANDS.match(text):
        return None, "may mean thousands or a decimal comma"
    if text.startswith(("-", "−")):
        return None, "is negative"
    if not _NUMBER.match(text):
        return None, "is not a plain figure"
    value = float(text.replace(",", "."))
    return (value, "") if value > 0 else (None, "is not above 0")


def _mistake(sheet: Sheet, number: int, index: int, cell: Any, wrong: str) -> Mistake:
    return Mistake(
        file=sheet.filename,
        row=number,
        column=sheet.headings[index],
        value=str(cell),
        wrong=wrong,
        allowed="a figure above 0, such as 2.75",
    )
