"""Crates, dividers and shelves: the limits as shipped, and what storage time and damp leave of a carton's strength."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from findhold.errors import BadInput
from findhold.tables.load import table


@dataclass(frozen=True, slots=True, kw_only=True)
class CrateDefaults:
    """Figures a unit may change; what each means and rests on stands in the table crate_rules.

    team_share, heavier_ratio, bears_share [1].
    """

    crate_gross_kg: float
    person_kg: float
    heavy_kg: float
    team_share: float
    heavier_ratio: float
    bears_share: float
    divider_mm: float
    divider_clear_mm: float
    divider_top_mm: float
    shelf_floor_mm: float
    shelf_clear_mm: float


@cache
def crate_defaults() -> CrateDefaults:
    """The defaults as shipped (table crate_rules)."""
    return CrateDefaults(**{row["name"]: float(row["value"]) for row in table("crate_rules").rows})


def mark_of(name: str) -> str:
    """How a default is known: seen, judgement and so on."""
    return table("crate_rules").by("name")[name]["seen"]


def strength_constant() -> float:
    """The constant of the simplified strength formula [1]."""
    return next(float(row["multiplier"]) for row in table("carton_factors").rows if row["factor"] == "strength")


def carton_factor(factor: str, at: float) -> float:
    """What is left of a carton's strength.

    Parameters
    ----------
    factor : "storage time" or "humidity".
    at : days [day], or relative humidity [fraction].

    Returns
    -------
    A multiplier [1]; between two printed rows the lower one, below the first row the first.

    Raises
    ------
    BadInput : beyond the last printed row, which says nothing there.
    """
    rows = sorted(
        (float(r["at"]), float(r["multiplier"])) for r in table("carton_factors").rows if r["factor"] == factor
    )
    for upper, multiplier in rows:
        if at <= upper + 1e-9:
            return multiplier
    unit = "days" if factor == "storage time" else "as a fraction"
    raise BadInput(
        f"no figure is printed for a carton at {factor} {at:g} {unit}",
        where="board box",
        limit=f"up to {rows[-1][0]:g} {unit} (carton_factors, seen)",
        do="Use a plastic crate, or state what may stand on it as max_on_top_kg",
    )
