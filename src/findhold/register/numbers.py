"""Quantities as people type them, a column at once: decimal marks, thousands marks and units."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any, NamedTuple

from findhold.errors import Question
from findhold.register.kinds import Field

# Exact by definition: the SI prefixes, the inch (25.4 mm), the foot (12 in), the pound (0.45359237 kg) and the
# ounce (1/16 lb). Each unit: what it measures and its size in the first unit of that measure.
UNITS: dict[str, tuple[str, float]] = {
    "kg": ("mass", 1.0),
    "g": ("mass", 1e-3),
    "mg": ("mass", 1e-6),
    "t": ("mass", 1e3),
    "lb": ("mass", 0.45359237),
    "oz": ("mass", 0.45359237 / 16),
    "m": ("length", 1.0),
    "mm": ("length", 1e-3),
    "cm": ("length", 1e-2),
    "dm": ("length", 1e-1),
    "km": ("length", 1e3),
    "in": ("length", 0.0254),
    "ft": ("length", 0.3048),
    "l": ("volume", 1.0),
    "ml": ("volume", 1e-3),
    "cl": ("volume", 1e-2),
    "cm³": ("volume", 1e-3),
    "dm³": ("volume", 1.0),
    "m³": ("volume", 1e3),
    "°C": ("temperature", 1.0),
    "fraction": ("share", 1.0),
    "%": ("share", 1e-2),
    "kg/kg": ("ratio", 1.0),
    "g/g": ("ratio", 1.0),
    "1/day": ("rate", 1.0),
}
UNIT_WORDS: dict[str, str] = {unit.lower(): unit for unit in UNITS} | {
    "kilo": "kg",
    "kilos": "kg",
    "kgs": "kg",
    "gr": "g",
    "gm": "g",
    "gms": "g",
    "gram": "g",
    "grams": "g",
    "gramm": "g",
    "grammes": "g",
    "lbs": "lb",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "m od": "m",
    "m aod": "m",
    "m nhn": "m",
    "m nn": "m",
    "m ngf": "m",
    "m ü. nhn": "m",
    "m ü. nn": "m",
    '"': "in",
    "inch": "in",
    "inches": "in",
    "litre": "l",
    "litres": "l",
    "liter": "l",
    "ltr": "l",
    "lt": "l",
    "cm3": "cm³",
    "ccm": "cm³",
    "cc": "cm³",
    "dm3": "dm³",
    "m3": "m³",
    "c": "°C",
    "deg c": "°C",
    "°": "°C",
    "grad": "°C",
    "% rh": "%",
    "%rh": "%",
    "percent": "%",
    "prozent": "%",
    "kg/kg dry": "kg/kg",
    "g/g dry": "g/g",
    "per day": "1/day",
    "/day": "1/day",
    "/d": "1/day",
}
# Quantities that everyone writes in one unit; without a unit anywhere they are read in it and nothing is asked.
_SELF_EVIDENT = {"metres", "number", "integer"}
COMMA, POINT = ",", "."
DECIMAL = {COMMA: "decimal comma", POINT: "decimal point"}
THOUSANDS = {COMMA: "thousands comma", POINT: "thousands point"}

_BRACKETED = re.compile(r"^(?P<name>.*?)\s*[(\[{]\s*(?:in\s+)?(?P<unit>[^()\[\]{}]+?)\s*[)\]}]\s*$")
_TRAILING = re.compile(r"^(?P<name>.*?\S)(?:\s+in\s+|\s*/\s*|_|,\s*|\s+)(?P<unit>[^\s_/]+)$")
_QUANTITY = re.compile(
    r"^(?P<sign>[+\-−–]?)\s*(?P<body>(?:\d[\d.,'’ \u00a0\u202f\u2009]*|[.,]\d+))\s*"
    r"(?P<unit>[^\d\s.,'’+\-][^\d]*[\d]?)?$"
)
_SIMPLE = re.compile(r"^(\d+)(?:([.,])(\d*))?$", re.ASCII)
_OPEN_WHOLE = re.compile(r"[1-9]\d{0,2}")
_GROUPED = re.compile(r"^\d{1,3}(?:[ '’\u00a0\u202f\u2009]\d{3})+(?=$|[.,])")
_ALLOWED_FORMS = "one plain number such as 12.5, 12,5 or 1 250 mm"


@dataclass(slots=True, kw_only=True)
class Reading:
    """A column as read: a value per cell (None when empty or bad), what is wrong by index, questions and notes.

    `day_only` are cells of an instant that gave a day without a time; `answered` are answers that were used.
    """

    values: list[Any]
    bad: dict[int, tuple[str, str]] = field(default_factory=dict)
    questions: list[Question] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    answered: set[str] = field(default_factory=set)
    day_only: set[int] = field(default_factory=set)


class _Number(NamedTuple):
    """One text split: its value, the other value it may have, the mark it depends on, and its unit."""

    value: float
    other: float | None
    mark: str
    unit: str


class _Units(NamedTuple):
    """Factor to the field's unit by unit ('' for cells without one), and the unit of those cells."""

    factors: dict[str, float]
    column: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnFacts:
    """What is known of a column besides its cells: heading, unit of the heading, settled answers."""

    heading: str
    unit: str = ""
    answers: dict[str, str] = field(default_factory=dict)


def split_unit(heading: str) -> tuple[str, str]:
    """A heading without its unit, and the unit ('' when it names none): 'Mass (g)' gives 'Mass' and 'g'."""
    for pattern in (_BRACKETED, _TRAILING):
        found = pattern.match(heading)
        if found:
            unit = UNIT_WORDS.get(found["unit"].strip().lower(), "")
            if unit and found["name"].strip():
                return found["name"].strip(), unit
    return heading, ""


def measure(unit: str) -> str:
    """What a unit measures: mass, length, volume, temperature, share, ratio or rate; '' for no unit."""
    return UNITS[unit][0] if unit else ""


def read_numbers(cells: Sequence[Any], spec: Field, facts: ColumnFacts) -> Reading:
    """Read a column of quantities into the unit of the field.

    Not for identifiers such as find numbers: those are names that happen to be digits.

    Parameters
    ----------
    cells : texts as typed, or numbers from a workbook; '' is empty.
    spec : the field, with its unit and what it cannot pass.
    facts : the heading, its unit, and answers already given.

    Returns
    -------
    Reading. Values are floats (integers for an integer field) in the field's unit. A decimal mark that the whole
    column does not decide is a question, and so is a mass or length without a unit anywhere.

    Raises
    ------
    Nothing: every mistake is in the result, by index.
    """
    reading = Reading(values=[None] * len(cells))
    split = _split_all(cells, spec, facts, reading)
    units = _units(split, spec, facts, reading)
    if units is None:
        _refuse_signs(split, spec, reading)
        return reading
    thousands, asked = _settle_marks(split, cells, spec, facts, units.factors, reading)
    for index, one in split.items():
        if one.other is None or one.mark not in asked:
            _place(index, one, spec, thousands, units, reading)
    return reading


def _split_all(cells: Sequence[Any], spec: Field, facts: ColumnFacts, reading: Reading) -> dict[int, _Number]:
    """Every filled cell split, each different text once; cells that are no number go to the mistakes."""
    split: dict[int, _Number] = {}
    known: dict[Any, _Number | tuple[str, str]] = {}
    for index, cell in enumerate(cells):
        if cell == "":
            continue
        if type(cell) is float and math.isfinite(cell):
            split[index] = _Number(cell, None, "", "")
            continue
        # 1, 1.0 and True are one key of a dict, so the type belongs to it.
        key = (type(cell), cell)
        one = known.get(key)
        if one is None:
            one = known[key] = _split(cell, spec, _allowed(spec, facts.unit))
        if isinstance(one, _Number):
            split[index] = one
        else:
            reading.bad[index] = one
    return split


def _split(cell: Any, spec: Field, allowed: str) -> _Number | tuple[str, str]:
    """One cell as a number with its possible readings, or what is wrong and what is allowed."""
    if isinstance(cell, bool):
        return "is yes or no, not a number", _ALLOWED_FORMS
    if isinstance(cell, int | float):
        if not math.isfinite(cell):
            return "is no number", _ALLOWED_FORMS
        return _Number(float(cell), None, "", "")
    if isinstance(cell, datetime | date | time):
        return "is a date: the spreadsheet program took the number for one", _ALLOWED_FORMS
    simple = _SIMPLE.match(cell)
    if simple:
        return _one_mark(1.0, simple[1], simple[2] or "", simple[3] or "", "")
    found = _QUANTITY.match(cell)
    if found is None:
        return "is not a number", allowed
    unit = ""
    if found["unit"]:
        word = found["unit"].strip().rstrip(".").lower()
        unit = UNIT_WORDS.get(word, "")
        if not unit or (spec.unit and measure(unit) != measure(spec.unit)) or not spec.unit:
            return f"has the unit {found['unit'].strip()!r}", allowed
    return _readings(found["body"].strip(), found["sign"] in "-−–" and found["sign"] != "", unit, allowed)


def _readings(body: str, negative: bool, unit: str, allowed: str) -> _Number | tuple[str, str]:
    """The value or the two possible values of digits with marks."""
    sign = -1.0 if negative else 1.0
    if body.isascii() and body.isdigit():
        return _Number(sign * int(body), None, "", unit)
    grouped = _GROUPED.match(body)
    if grouped:
        plain_digits = re.sub(r"\D", "", grouped[0])
        rest = body[grouped.end() :]
        if rest and (not rest[1:].isdigit() or rest[0] not in ",."):
            return "is not a number", allowed
        mark = rest[:1]
        return _Number(sign * float(f"{plain_digits}.{rest[1:] or '0'}"), None, mark, unit)
    if re.search(r"[^\d.,]", body):
        return "holds blanks or marks that are not thousands marks", allowed
    marks = re.findall(r"[.,]", body)
    last = marks[-1]
    other_mark = COMMA if last == POINT else POINT
    if other_mark in marks:
        whole, _, part = body.rpartition(last)
        if not re.fullmatch(rf"\d{{1,3}}(?:\{other_mark}\d{{3}})+", whole) or last in whole:
            return "has decimal and thousands marks that do not fit together", allowed
        return _Number(sign * float(f"{whole.replace(other_mark, '')}.{part or '0'}"), None, last, unit)
    if len(marks) > 1:
        if not re.fullmatch(rf"\d{{1,3}}(?:\{last}\d{{3}})+", body):
            return "has decimal and thousands marks that do not fit together", allowed
        # Two of the same mark can only be thousands marks, so the other one is the column's decimal mark.
        return _Number(sign * float(body.replace(last, "")), None, other_mark, unit)
    whole, _, part = body.partition(last)
    return _one_mark(sign, whole, last, part, unit)


def _one_mark(sign: float, whole: str, mark: str, part: str, unit: str) -> _Number:
    """A number with one mark at most: three digits behind one to three others can be read both ways."""
    decimal = sign * float(f"{whole or '0'}.{part or '0'}")
    if len(part) == 3 and _OPEN_WHOLE.fullmatch(whole):
        return _Number(decimal, sign * float(whole + part), mark, unit)
    return _Number(decimal, None, mark, unit)


def _units(split: dict[int, _Number], spec: Field, facts: ColumnFacts, reading: Reading) -> _Units | None:
    """Factor to the field's unit for each unit met, and the column's own unit; None when the unit is asked for."""
    if not spec.unit:
        return _Units({"": 1.0}, "")
    size = UNITS[spec.unit][1]
    factors = {one.unit: UNITS[one.unit][1] / size for one in split.values() if one.unit}
    bare = [index for index, one in split.items() if not one.unit]
    if not bare:
        return _Units(factors, facts.unit)
    unit = facts.unit
    if not unit and spec.type in _SELF_EVIDENT:
        unit = spec.unit
    if not unit:
        about = f"{facts.heading}: unit"
        unit = UNIT_WORDS.get(facts.answers.get(about, "").strip().lower(), "")
        if unit and measure(unit) == measure(spec.unit):
            reading.answered.add(about)
        else:
            choices = ("g", "kg") if measure(spec.unit) == "mass" else ("mm", "cm", "m")
            text = f"Column {facts.heading!r} names no unit for {_cells(len(bare))}. Which unit are they in?"
            reading.questions.append(Question(about=about, text=text, choices=choices))
            return None
    if factors and set(factors) != {unit}:
        named = ", ".join(sorted(set(factors) - {unit}))
        reading.notes.append(
            f"{facts.heading}: cells with their own unit ({named}) were read in it, the others in {unit}"
        )
    factors[""] = UNITS[unit][1] / size
    return _Units(factors, unit)


def _settle_marks(
    split: dict[int, _Number],
    cells: Sequence[Any],
    spec: Field,
    facts: ColumnFacts,
    factors: dict[str, float],
    reading: Reading,
) -> tuple[set[str], set[str]]:
    """Marks that mean thousands in this column's open cells, and marks that a person must settle."""
    proof = {one.mark for one in split.values() if one.mark and one.other is None}
    open_ones = {index: one for index, one in split.items() if one.other is not None}
    thousands: set[str] = set()
    asked: set[str] = set()
    for mark in (COMMA, POINT):
        here = {index: one for index, one in open_ones.items() if one.mark == mark}
        if not here:
            continue
        verdict = _verdict(mark, proof, here, spec, factors)
        about = f"{facts.heading}: {'comma' if mark == COMMA else 'point'}"
        if verdict is None:
            answer = facts.answers.get(about, "").strip().lower()
            verdict = {DECIMAL[mark]: "decimal", THOUSANDS[mark]: "thousands"}.get(answer)
            if verdict is not None:
                reading.answered.add(about)
        if verdict is None:
            asked.add(mark)
            index, one = next(iter(here.items()))
            text = (
                f"Is {cells[index]!r} in column {facts.heading!r} {one.value:.3f} or {one.other:.0f}? "
                f"{_cells(len(here))} can be read both ways and nothing in the column decides it."
            )
            reading.questions.append(Question(about=about, text=text, choices=(DECIMAL[mark], THOUSANDS[mark])))
        elif verdict == "thousands":
            thousands.add(mark)
            reading.notes.append(f"{facts.heading}: {THOUSANDS[mark]} in {_cells(len(here))}")
    commas = sum(1 for one in split.values() if one.mark == COMMA and (one.other is None or COMMA not in thousands))
    if commas and not asked:
        reading.notes.append(f"{facts.heading}: decimal comma in {_cells(commas)}")
    return thousands, asked


def _verdict(
    mark: str, proof: set[str], here: dict[int, _Number], spec: Field, factors: dict[str, float]
) -> str | None:
    """'decimal' or 'thousands' when the rest of the column, or what a real thing can be, decides it; else None."""
    if spec.type == "integer" and any(one.value != int(one.value) for one in here.values()):
        return "thousands"
    if proof == {mark}:
        return "decimal"
    if proof and mark not in proof:
        return "thousands"
    can_decimal = all(_within(one.value * factors[one.unit], spec) for one in here.values())
    can_thousands = all(_within((one.other or 0.0) * factors[one.unit], spec) for one in here.values())
    if can_decimal != can_thousands:
        return "decimal" if can_decimal else "thousands"
    return None


def _place(index: int, one: _Number, spec: Field, thousands: set[str], units: _Units, reading: Reading) -> None:
    """Put one value in its field's unit, or say why it cannot be right."""
    raw = one.other if one.other is not None and one.mark in thousands else one.value
    # Twelve digits take away the last-bit noise of the unit factor: 14.2 cm is 142 mm and nothing behind it.
    factor = units.factors[one.unit]
    unit = one.unit or units.column
    value = raw if factor == 1.0 else float(f"{raw * factor:.12g}")
    if spec.type == "integer":
        if value != int(value):
            reading.bad[index] = ("is not a whole number", _allowed(spec, unit))
            return
        value = int(value)
    if not _within(value, spec):
        reading.bad[index] = (_read_as(raw, unit, _outside(value, spec)), _allowed(spec, unit))
        return
    reading.values[index] = value


def _refuse_signs(split: dict[int, _Number], spec: Field, reading: Reading) -> None:
    """Mistakes that no unit can mend: a zero or negative mass or length."""
    for index, one in split.items():
        if one.value < 0 or (one.value == 0 and _above_zero(spec)):
            reading.bad[index] = (_outside(one.value, spec), _allowed(spec))


def _within(value: float, spec: Field) -> bool:
    """True when the value is in the field's range; masses and lengths must be above zero, not at it."""
    if spec.low is not None and (value < spec.low or (value == spec.low == 0 and _above_zero(spec))):
        return False
    return spec.high is None or value <= spec.high


def _above_zero(spec: Field) -> bool:
    return spec.type in {"mass_kg", "length_mm", "size"} or spec.name == "volume_l"


def _outside(value: float, spec: Field) -> str:
    if spec.unit == "fraction" and value > 1:
        return "is no fraction"
    if value == 0:
        return "is zero"
    if value < 0 and spec.low == 0:
        return "is negative"
    return "is too small" if spec.low is not None and value < spec.low else "is too large"


def _read_as(value: float, unit: str, outside: str) -> str:
    """What is wrong with a size, with the value as it was read: the mark or the unit may be the slip."""
    if outside in {"is too large", "is too small"} and unit and unit != "fraction":
        return f"was read as {value:.12g} {unit}, which {outside}"
    return outside


def _cells(count: int) -> str:
    return f"{count} cell" if count == 1 else f"{count} cells"


def _allowed(spec: Field, unit: str = "") -> str:
    """What a cell of this field may be, in words, with the limits in the unit of the column."""
    if spec.unit == "fraction":
        return "0 to 1, or with its sign: 55 %"
    if not unit or measure(unit) != measure(spec.unit):
        unit = spec.unit
    factor = UNITS[spec.unit][1] / UNITS[unit][1] if spec.unit else 1.0
    behind = f" {unit}" if unit else ""
    what = "a whole number" if spec.type == "integer" else "one number"
    if spec.low is None and spec.high is None:
        return f"{what}{' in' + behind if behind else ''}"
    low = "" if spec.low is None else f"{spec.low * factor:.12g}"
    high = "" if spec.high is None else f"{spec.high * factor:.12g}"
    above = "above " if _above_zero(spec) else ""
    return f"{what} {above}{low} to {high}{behind}".replace("  ", " ").strip()


def read_sizes(cells: Sequence[Any], spec: Field, facts: ColumnFacts) -> tuple[Reading, Reading, Reading]:
    """Read a column of sizes such as '320 x 280 x 240' into three columns of lengths, in the order typed."""
    parts: list[list[Any]] = [[""] * len(cells) for _ in range(3)]
    bad: dict[int, tuple[str, str]] = {}
    for index, cell in enumerate(cells):
        if cell == "":
            continue
        pieces = re.split(r"\s*[x×*X]\s*", str(cell))
        if len(pieces) != 3:
            bad[index] = ("is not a size", "three lengths such as 320 x 280 x 240, or 32 x 28 x 24 cm")
            continue
        unit = _QUANTITY.match(pieces[2])
        word = unit["unit"] if unit and unit["unit"] else ""
        for part, piece in zip(parts, pieces, strict=True):
            part[index] = f"{piece} {word}" if word and piece[-1].isdigit() else piece
    first, second, third = (read_numbers(part, spec, facts) for part in parts)
    # The three columns share heading and unit, so a question or note is told once.
    for repeat in (second, third):
        repeat.questions = [q for q in repeat.questions if q.about not in {a.about for a in first.questions}]
        repeat.notes = [note for note in repeat.notes if note not in first.notes]
        repeat.bad = {i: told for i, told in repeat.bad.items() if i not in first.bad}
    first.bad |= bad
    return first, second, third
