"""The lifting board under a block: bending, sag over the block, support on four edges, and which board will do."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput
from findhold.tables.lifting import BoardMaterial, board_materials

_G = 9.80665
"""Standard gravity [m/s2]."""
_POISSON = 0.3
_TERMS = 199
"""Highest odd wave of the plate series; the Roark tables are met to their last digit but for one print of 0.5 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """What lies on the board: the block's mass [kg] and its base; the board's width and the free span [m].

    The span is the board's whole length when it is held at both ends.
    """

    mass_kg: float
    block_l_m: float
    block_w_m: float
    span_m: float
    width_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet of board material: thickness, Young's modulus [GPa] and density."""

    thickness_m: float
    e_gpa: float
    """[GPa]"""
    density_kg_per_m3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bending:
    """A loaded board: deflection in the middle, sag over the block, moment, stress, strain; sag_length_over [1].

    moment_n_m is the moment in the middle [N m]; strain_ratio the strain at the surface.
    """

    deflection_m: float
    sag_m: float
    moment_n_m: float
    stress_pa: float
    strain_ratio: float
    sag_length_over: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardOption:
    """The thinnest sheet of one material that will do; thickness_mm None when none sold does.

    mass_kg and bending are those of that sheet, or of the thickest when none does.
    """

    material: str
    thickness_mm: float | None
    size_mm: tuple[float, float]
    mass_kg: float
    bending: Bending
    note: str
    source: str
    seen: str


def end_held(carried: Carried, sheet: Sheet, *, own_weight: bool = True) -> Bending:
    """A board held at both ends with the block spread over its middle.

    Parameters
    ----------
    carried, sheet : load and board. own_weight : False leaves the board's own weight out.

    Returns
    -------
    Bending: sag over the block is the curvature in the middle times its length squared over 8, which is a little more
    than the true sag, since the moment falls off towards the block's ends.

    Raises
    ------
    BadInput : the block is longer than the span, or a figure is zero or negative.

    Source: closed form of the simply supported beam; block and own weight added up.
    """
    _check(carried, sheet)
    load, span, block = carried.mass_kg * _G, carried.span_m, carried.block_l_m
    e_pa = sheet.e_gpa * 1e9
    inertia = carried.width_m * sheet.thickness_m**3 / 12.0
    stiffness = e_pa * inertia
    own = carried.width_m * sheet.thickness_m * sheet.density_kg_per_m3 * _G if own_weight else 0.0
    deflection = load * (8 * span**3 - 4 * span * block**2 + block**3) / (384 * stiffness)
    deflection += 5 * own * span**4 / (384 * stiffness)
    moment = load * (2 * span - block) / 8 + own * span**2 / 8
    curvature = moment / stiffness
    sag = curvature * block**2 / 8
    stress = moment * sheet.thickness_m / (2 * inertia)
    return Bending(
        deflection_m=deflection,
        sag_m=sag,
        moment_n_m=moment,
        stress_pa=stress,
        strain_ratio=stress / e_pa,
        sag_length_over=block / sag,
    )


def four_edges(carried: Carried, sheet: Sheet) -> Bending:
    """A board resting on all four edges, with the block on a patch in its middle.

    Own weight is left out: it is small against the block's. Sag is the middle less the block's corner.

    Parameters
    ----------
    carried, sheet : load and board; the block may not be wider than the board.

    Raises
    ------
    BadInput : the block is larger than the board, or a figure is zero or negative.

    Source: double series of the simply supported plate, Poisson's ratio 0.3; tables of roark-plates met in the tests.
    """
    _check(carried, sheet)
    a, b, t = carried.span_m, carried.width_m, sheet.thickness_m
    middle = _plate(carried, np.array([[a / 2, b / 2]]))
    corner = _plate(carried, np.array([[(a - carried.block_l_m) / 2, (b - carried.block_w_m) / 2]]))
    load = carried.mass_kg * _G
    rigidity = sheet.e_gpa * 1e9 * t**3 / (12 * (1 - _POISSON**2))
    deflection = load * float(middle[0, 0]) / rigidity
    sag = load * float(middle[0, 0] - corner[0, 0]) / rigidity
    moment = load * float(max(middle[0, 1], middle[0, 2]))
    stress = 6 * moment / t**2
    return Bending(
        deflection_m=deflection,
        sag_m=sag,
        moment_n_m=moment,
        stress_pa=stress,
        strain_ratio=stress / (sheet.e_gpa * 1e9),
        sag_length_over=carried.block_l_m / sag,
    )


def board_options(carried: Carried, *, over: float, edges: bool = False) -> tuple[BoardOption, ...]:
    """The thinnest sold sheet of each material whose sag over the block is at most its length over a figure.

    The softer end of each material's range is taken. Lightest board first; materials that will not do stand last.

    Parameters
    ----------
    carried : what lies on the board. over : block length over the sag allowed [1]. edges : held on four edges.

    Source: lifting_boards (moduli); the allowed sag is a judgement (lift_defaults).
    """
    found = [_thinnest(material, carried, over, edges) for material in board_materials()]
    return tuple(sorted(found, key=lambda option: (option.thickness_mm is None, option.mass_kg)))


def sheet_of(material: BoardMaterial, thickness_mm: float) -> Sheet:
    """A sheet of a material at the softer end of its range."""
    return Sheet(
        thickness_m=thickness_mm / 1000.0, e_gpa=material.e_low_gpa, density_kg_per_m3=material.density_kg_per_m3
    )


def option_for(material: BoardMaterial, thickness_mm: float, carried: Carried, *, edges: bool = False) -> BoardOption:
    """One board as asked for, whether or not it is stiff enough."""
    sheet = sheet_of(material, thickness_mm)
    return _option(material, thickness_mm, carried, four_edges(carried, sheet) if edges else end_held(carried, sheet))


def _thinnest(material: BoardMaterial, carried: Carried, over: float, edges: bool) -> BoardOption:
    option = None
    for thickness in material.thicknesses_mm:
        option = option_for(material, thickness, carried, edges=edges)
        if option.bending.sag_length_over >= over:
            return option
    if option is None:
        raise ValueError(f"no thickness is listed for {material.name}")
    return BoardOption(
        material=option.material,
        thickness_mm=None,
        size_mm=option.size_mm,
        mass_kg=option.mass_kg,
        bending=option.bending,
        note=f"even {material.thicknesses_mm[-1]:g} mm, the thickest listed, sags too much",
        source=option.source,
        seen=option.seen,
    )


def _option(material: BoardMaterial, thickness_mm: float, carried: Carried, bending: Bending) -> BoardOption:
    return BoardOption(
        material=material.name,
        thickness_mm=thickness_mm,
        size_mm=(carried.span_m * 1000.0, carried.width_m * 1000.0),
        mass_kg=carried.span_m * carried.width_m * thickness_mm / 1000.0 * material.density_kg_per_m3,
        bending=bending,
        note=material.note,
        source=material.source,
        seen=material.seen,
    )


def _plate(carried: Carried, points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Deflection times rigidity [m2], and moments across and along [1], at points (x, y), for a load of 1 N.

    The load is spread over the block's base, in the middle of a plate span x width.
    """
    a, b = carried.span_m, carried.width_m
    m = np.arange(1, _TERMS + 1, 2, dtype=np.float64)
    sign = np.where((m.astype(int) // 2) % 2 == 0, 1.0, -1.0)
    # Fourier coefficients of a load of 1 over the patch: sinc of half the patch, alternating in sign.
    along = sign * np.sinc(m * carried.block_l_m / (2 * a))
    across = sign * np.sinc(m * carried.block_w_m / (2 * b))
    wave = np.add.outer((m / a) ** 2, (m / b) ** 2)
    load = 4.0 / (a * b) * np.outer(along, across)
    bent = load / (pi**4 * wave**2)
    result = np.empty((len(points), 3))
    for place, (x, y) in enumerate(points):
        shape = np.outer(np.sin(m * pi * x / a), np.sin(m * pi * y / b))
        term = bent * shape
        curve_x = float((term * (pi * m[:, None] / a) ** 2).sum())
        curve_y = float((term * (pi * m[None, :] / b) ** 2).sum())
        result[place] = (float(term.sum()), curve_x + _POISSON * curve_y, curve_y + _POISSON * curve_x)
    return result


def _check(carried: Carried, sheet: Sheet) -> None:
    figures = {
        "the block's mass": carried.mass_kg,
        "the block's length": carried.block_l_m,
        "the block's width": carried.block_w_m,
        "the span": carried.span_m,
        "the board's width": carried.width_m,
        "the board's thickness": sheet.thickness_m,
        "the board's stiffness": sheet.e_gpa,
    }
    for name, value in figures.items():
        if not 0.0 < value < float("inf"):
            raise BadInput(f"{name} {value:g} cannot be", where="lifting board", limit="above 0", do="Enter it again")
    if carried.block_l_m > carried.span_m or carried.block_w_m > carried.width_m + 1e-9:
        raise BadInput(
            "the block is larger than the board",
            where="lifting board",
            limit=f"{carried.span_m * 1000:g} x {carried.width_m * 1000:g} mm",
            do="Take a larger board",
        )
