"""A mass as typed at the balance: "13.04 kg", "13040 g", "13,04"; what it can mean, and how finely it was typed."""

from __future__ import annotations

import re
from dataclasses import dataclass

from findhold.errors import BadInput

_UNITS_IN_A_KG = {"": 1.0, "kg": 1.0, "g": 1000.0}
_FORM = 'kilograms, or with the unit g: "13.04 kg", "13040 g", "13,04"'


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedMass:
    """One meaning of a typed mass; step_g is the last digit typed, unit what stood behind it ("" for nothing)."""

    mass_kg: float
    step_g: float
    unit: str


def read_mass(text: str) -> tuple[TypedMass, ...]:
    """What a typed mass can mean.

    Parameters
    ----------
    text : as typed; no unit means kilograms.

    Returns
    -------
    One meaning; two, decimal mark first, where a single mark before three digits ("13,040 g") may be either a decimal
    or a thousands mark, which the mass of the box must settle.

    Raises
    ------
    BadInput : it cannot be a mass: no number, two numbers, zero or less, another unit.
    """
    tidy = re.sub(r"(?<=\d)[\s'’](?=\d{3}(?!\d))", "", text.strip().replace("\u2212", "-"))
    parts = re.fullmatch(r"([+-]?)([\d.,]*\d[.,]?)\s*([^\d\s.,]*)\.?", tidy)
    if parts is None:
        raise _not_a_mass(f"{text!r} is not a mass")
    sign, body, unit = parts[1], parts[2].rstrip(".,"), parts[3].casefold()
    unit = {"kilo": "kg", "kilos": "kg", "kgs": "kg", "gr": "g", "gram": "g", "grams": "g"}.get(unit, unit)
    if unit not in _UNITS_IN_A_KG:
        raise _not_a_mass(f"{parts[3]!r} is not a unit of mass that is read here")
    if sign == "-":
        raise _not_a_mass(f"{text!r} is below zero: the balance was not set to zero")
    found = tuple(_meaning(whole, part, unit) for whole, part in _marks(body, text))
    if any(one.mass_kg <= 0.0 for one in found):
        raise _not_a_mass(f"{text!r} is no mass of a box")
    return found


def _meaning(whole: str, part: str, unit: str) -> TypedMass:
    in_a_kg = _UNITS_IN_A_KG[unit]
    return TypedMass(
        mass_kg=float(f"{whole or '0'}.{part or '0'}") / in_a_kg, step_g=1000.0 / in_a_kg / 10.0 ** len(part), unit=unit
    )


def _marks(body: str, text: str) -> list[tuple[str, str]]:
    """Whole part and decimals, in each way the marks can be read."""
    marks = [sign for sign in body if sign in ".,"]
    if not marks:
        return [(body, "")]
    groups = re.split(r"[.,]", body)
    threes = all(len(group) == 3 for group in groups[1:]) and 1 <= len(groups[0]) <= 3 and groups[0] != "0"
    if len(marks) == 1:
        decimal = [(groups[0], groups[1])]
        return [*decimal, ("".join(groups), "")] if threes else decimal
    if len(set(marks)) == 1 and threes:
        return [("".join(groups), "")]
    inner = all(len(group) == 3 for group in groups[1:-1])
    if len(set(marks[:-1])) == 1 and marks[-1] != marks[0] and inner:
        return [("".join(groups[:-1]), groups[-1])]
    raise _not_a_mass(f"{text!r} has decimal and thousands marks that do not fit together")


def _not_a_mass(wrong: str) -> BadInput:
    return BadInput(wrong, where="mass", limit=_FORM, do="Type what the balance shows, with its unit")
