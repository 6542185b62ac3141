"""What a box of corrugated board bears: the simplified McKee formula, and what time and damp leave of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from findhold.errors import BadInput
from findhold.tables.crates import carton_factor, strength_constant

G0_M_PER_S2 = 9.80665
"""Standard acceleration of free fall (exact by convention)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """Corrugated board and what it goes through: edge crush [N/m], thickness, storage time, humidity [fraction].

    ect_n_per_m : edge crush resistance of the board [N/m]. days : storage time [day].
    """

    ect_n_per_m: float
    thickness_mm: float
    days: float
    rh: float


def compression_n(board: Board, length_mm: float, width_mm: float) -> float:
    """Short-time strength of a box of board, pressed on its whole rim.

    Not for boxes with cut-outs, hand holes or bulging sides, which bear less; and not for damp finds in general.

    Parameters
    ----------
    board : edge crush and thickness.
    length_mm, width_mm : outside of the box [mm].

    Returns
    -------
    Newtons.

    Raises
    ------
    BadInput : a figure that is not above zero.

    Source
    ------
    mckee-calculator (seen): 5.87 ECT sqrt(thickness x perimeter); the same in any consistent units.
    """
    for name, figure in (("ect_n_per_m", board.ect_n_per_m), ("thickness_mm", board.thickness_mm)):
        if not figure > 0 or not math.isfinite(figure):
            raise BadInput(
                f"{name} is {figure:g}", where="board box", limit="a number above 0", do="Correct the figure"
            )
    perimeter_m = 2.0 * (length_mm + width_mm) / 1000.0
    return strength_constant() * board.ect_n_per_m * math.sqrt(board.thickness_mm / 1000.0 * perimeter_m)


def usable_n(board: Board, length_mm: float, width_mm: float) -> float:
    """Strength left after the storage time and in the humidity stated [N]; raises BadInput beyond the printed rows."""
    kept = carton_factor("storage time", board.days) * carton_factor("humidity", board.rh)
    return compression_n(board, length_mm, width_mm) * kept


def bears_kg(board: Board, length_mm: float, width_mm: float) -> float:
    """Mass that a box of board bears on its whole rim after the stated time and damp [kg]."""
    return usable_n(board, length_mm, width_mm) / G0_M_PER_S2


def boxes_on_top(board: Board, length_mm: float, width_mm: float, box_kg: float) -> int:
    """How many equal boxes of a mass may stand on the lowest one.

    Parameters
    ----------
    box_kg : one box [kg], above 0.
    """
    if not box_kg > 0:
        raise BadInput(f"a box of {box_kg:g} kg", where="board box", limit="above 0 kg", do="Weigh the box")
    return math.floor(bears_kg(board, length_mm, width_mm) / box_kg)
