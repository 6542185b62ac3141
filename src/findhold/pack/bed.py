"""Bed, wrapping and filling: how many sheets, what each part weighs, and the layers to draw.

The block stands on a foam plank with tissue, wrapped, foam at its sides, tissue on top, then the lid gap. Clearances
are measured from the bare block: the wrapping lies inside them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.pack.asked import Asked
from findhold.pack.damp import SheetDose, bag_touches
from findhold.tables.materials import PackingMaterial, packing_material

FloatArray = npt.NDArray[np.float64]
_FOIL_MM = 0.03
_FILM_MM = 0.05
_BLOCK_HATCHES = {"ceramic": "ceramic", "metal": "metal", "soil": "soil", "stone": "ceramic"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """Free space round the bare block: side_l [mm] each end along the box, side_w [mm] each side across it,
    bed [mm] under it, lid_gap [mm] over it.
    """

    side_l: float
    side_w: float
    bed: float
    lid_gap: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer: bed layers from the floor up, round layers from the block outwards (0 mm = fills up to the wall)."""

    name: str
    material: str
    thickness_mm: float
    hatch: str
    note: str
    place: str
    """bed, barrier, round or top."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """Least inside a box must have, and the bed as laid [mm]."""

    inside_mm: tuple[float, float, float]
    side_mm: float
    bed_mm: float
    lid_gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """Sheets and masses of what goes into each box besides its own tare; arrays of one value per box."""

    sheets: npt.NDArray[np.int64]
    tissue_kg: FloatArray
    water_kg: FloatArray
    foam_kg: FloatArray
    barrier_kg: float
    bag_kg: float
    board_kg: float
    gel_kg: FloatArray
    """Silica gel."""
    load_kg: FloatArray
    """Block and all of the above: what the box carries."""

    @property
    def bed_kg(self) -> FloatArray:
        """Everything in the box but the block, the sheets and the water."""
        return self.foam_kg + self.barrier_kg + self.bag_kg + self.board_kg + self.gel_kg


def need_for(asked: Asked, dose: SheetDose) -> Need:
    """Least inside for the block with its clearances, bed and lid gap.

    Source: pack_defaults; a submerged find gets its water cover on every face besides.
    """
    defaults = asked.inputs.defaults
    cover = defaults.submerged_cover_mm if dose.way == "submerged" else 0.0
    side = defaults.side_clearance_mm + cover
    bed = defaults.bed_mm + asked.inputs.board_mm + cover
    gap = defaults.lid_gap_mm + cover
    length, width, height = asked.block_mm
    return Need(
        inside_mm=(length + 2 * side, width + 2 * side, bed + height + gap),
        side_mm=side,
        bed_mm=bed,
        lid_gap_mm=gap,
    )


def contents(asked: Asked, dose: SheetDose, inside_mm: npt.ArrayLike) -> Contents:
    """Sheets, water and masses for boxes of given insides.

    Parameters
    ----------
    asked, dose : the request and its dose.
    inside_mm : shape (n, 3) [mm].

    Returns
    -------
    Contents, arrays of shape (n,). Sheets: layers round the block with an overlap, and on bed and top the box's
    inside plan, over the area of one sheet, rounded up; a stated number of sheets is kept.

    Source: areas and densities of pack_defaults and packing_materials; computed.
    """
    inside = np.asarray(inside_mm, dtype=np.float64).reshape(-1, 3)
    plan_m2 = inside[:, 0] * inside[:, 1] * 1e-6
    length, width, height = asked.block_mm
    face_m2 = 2.0 * (length * width + length * height + width * height) * 1e-6
    defaults = asked.inputs.defaults
    sheets = _sheets(asked, dose, face_m2, plan_m2)
    tissue_kg = sheets * dose.sheet_dry_g * 1e-3
    water_kg = sheets * dose.g_per_sheet * 1e-3 + dose.bag_water_g * 1e-3
    bed_m3 = plan_m2 * (defaults.bed_mm - defaults.bed_tissue_mm * (sheets > 0)) * 1e-3
    side_m3 = np.maximum(plan_m2 - length * width * 1e-6, 0.0) * height * 1e-3
    foam_kg = (bed_m3 + side_m3) * defaults.foam_density_kg_per_m3
    barrier_kg = 0.0 if asked.barrier is None else face_m2 * defaults.wrap_overlap * (asked.barrier.gsm or 0.0) * 1e-3
    bags = defaults.bag_layers if dose.way in ("bag", "submerged") else 1
    bag_kg = 0.0 if asked.bag is None else face_m2 * defaults.wrap_overlap * bags * (asked.bag.gsm or 0.0) * 1e-3
    board_kg = length * width * asked.inputs.board_mm * 1e-9 * defaults.board_density_kg_per_m3
    gel_g_per_l = defaults.silica_gel_g_per_l if asked.desiccated else 0.0
    gel_kg = inside.prod(axis=1) * 1e-6 * gel_g_per_l * 1e-3
    load_kg = asked.mass_kg + tissue_kg + water_kg + foam_kg + barrier_kg + bag_kg + board_kg + gel_kg
    return Contents(
        sheets=sheets,
        tissue_kg=np.asarray(tissue_kg, dtype=np.float64),
        water_kg=np.asarray(water_kg, dtype=np.float64),
        foam_kg=np.asarray(foam_kg, dtype=np.float64),
        barrier_kg=barrier_kg,
        bag_kg=bag_kg,
        board_kg=board_kg,
        gel_kg=np.asarray(gel_kg, dtype=np.float64),
        load_kg=np.asarray(load_kg, dtype=np.float64),
    )


def layers(asked: Asked, dose: SheetDose, need: Need, sheets: int) -> tuple[Layer, ...]:
    """The layers round a block, to draw and to lay."""
    defaults = asked.inputs.defaults
    foam = packing_material("polyethylene foam")
    cover_mm = defaults.submerged_cover_mm if dose.way == "submerged" else 0.0
    tissue_mm = defaults.bed_tissue_mm if sheets else 0.0
    foam_mm = need.bed_mm - asked.inputs.board_mm - tissue_mm - cover_mm
    laid = [_layer("foam plank", foam, foam_mm, "bed", "cut to the inside of the box, dry")]
    if sheets:
        laid.append(_tissue(asked, dose, tissue_mm, "bed", "folded, on the bed"))
    if asked.inputs.board_mm > 0:
        board = packing_material("wood board")
        laid.append(_layer("carrying board", board, asked.inputs.board_mm, "bed", "left under the block"))
    if asked.barrier is not None:
        thick_mm = _FOIL_MM if asked.barrier.metal else _FILM_MM
        note = "next to the find, everything damp outside it"
        laid.append(_layer(asked.barrier.name, asked.barrier, thick_mm, "barrier", note))
    if cover_mm:
        laid.append(_water("water under the find", cover_mm, "bed", "inside the bag"))
        laid.append(_water("water in the bag", cover_mm, "round", "over every face, air pressed out"))
    if sheets:
        laid.append(_tissue(asked, dose, defaults.wrap_tissue_mm, "round", "round the block"))
    if asked.bag is not None:
        wet = dose.way in ("bag", "submerged")
        note = f"{defaults.bag_layers} bags, one in the other" if wet else "round it all"
        if bag_touches(asked, dose) and not wet:
            note = "next to the find, its soil left on"
        laid.append(_layer(asked.bag.name, asked.bag, _FILM_MM, "round", note))
    laid.append(_layer("foam strips", foam, 0.0, "round", "at the sides, to the block's height, not tight"))
    if asked.desiccated:
        note = "in a perforated bag beside the foam, the card where it can be read"
        gel = "silica gel and humidity card"
        laid.append(Layer(name=gel, material="silica gel", thickness_mm=0.0, hatch="plain", note=note, place="round"))
    if sheets:
        laid.append(_tissue(asked, dose, defaults.top_tissue_mm, "top", "laid on loosely"))
    return tuple(laid)


def block_hatch(asked: Asked) -> str:
    """Hatch of the block itself: soil when it has soil, else what the find is made of."""
    if asked.soil is not None:
        return "soil"
    return "wood" if asked.material.name == "wood" else _BLOCK_HATCHES.get(asked.material.group, "plain")


def _sheets(asked: Asked, dose: SheetDose, face_m2: float, plan_m2: FloatArray) -> npt.NDArray[np.int64]:
    defaults = asked.inputs.defaults
    if asked.inputs.sheets is not None:
        return np.full(plan_m2.shape, asked.inputs.sheets, dtype=np.int64)
    if bag_touches(asked, dose) or asked.wrapping.closure in ("perforated", "sealed"):
        return np.zeros(plan_m2.shape, dtype=np.int64)
    area = defaults.wrap_layers * defaults.wrap_overlap * face_m2
    flat = (defaults.bed_layers + defaults.top_layers) * plan_m2
    # a hair under the next whole sheet is that sheet, not one more
    return np.ceil((area + flat) / defaults.sheet_m2 - 1e-9).astype(np.int64)


def _layer(name: str, material: PackingMaterial, thickness_mm: float, place: str, note: str) -> Layer:
    hatch = material.hatch
    return Layer(name=name, material=material.name, thickness_mm=thickness_mm, hatch=hatch, note=note, place=place)


def _tissue(asked: Asked, dose: SheetDose, thickness_mm: float, place: str, note: str) -> Layer:
    name = f"damp {asked.wrapping.name}" if dose.g_per_sheet > 0 else asked.wrapping.name
    return _layer(name, asked.wrapping, thickness_mm, place, note)


def _water(name: str, thickness_mm: float, place: str, note: str) -> Layer:
    return Layer(name=name, material="water", thickness_mm=thickness_mm, hatch="water", note=note, place=place)
