"""Bed, wrapping and filling: how many sheets, what each part weighs, and the layers to draw.

The block stands on a foam plank with tissue, wrapped, foam at its sides, tissue on top, then the lid gap.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from findhold.pack.asked import Asked
from findhold.pack.care.dark import COVER_LAYERS, cover, cover_m2
from findhold.pack.contour import TRAY, TRAY_MATERIAL, bed_steps, cover_mm, margin_mm, tray_kg, under_mm
from findhold.pack.cut import BOARD_MATERIAL, CutPiece
from findhold.pack.damp import SheetDose, bag_touches
from findhold.pack.fill import TissuePart, lid_sheets, neck_sheets
from findhold.pack.inputs import FaceNeed, PackDefaults
from findhold.pack.need import Need, board_mm
from findhold.tables.materials import PackingMaterial, packing_material

FloatArray = npt.NDArray[np.float64]
_FOIL_MM = 0.03
_FILM_MM = 0.05
_BLOCK_HATCHES = {"ceramic": "ceramic", "metal": "metal", "soil": "soil", "stone": "ceramic"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer: bed layers from the floor up, round layers from the block outwards (0 mm = fills up to the wall)."""

    name: str
    material: str
    thickness_mm: float
    hatch: str
    note: str
    place: str
    """bed, under (in the bag of a find under water), barrier, round, side, neck (over its widest), top or lid."""
    sheets: int = 0
    """Sheets of tissue in it, and the water that goes on to them."""
    water_g: float = 0.0


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
    tray_kg: float
    gel_kg: FloatArray
    """Silica gel."""
    lid_kg: float
    """Absorbent sheets under the lid, dry."""
    load_kg: FloatArray
    """Block and all of the above: what the box carries."""

    @property
    def bed_kg(self) -> FloatArray:
        """Everything in the box but the block, the sheets and the water."""
        return self.foam_kg + self.barrier_kg + self.bag_kg + self.board_kg + self.tray_kg + self.gel_kg + self.lid_kg


def contents(asked: Asked, dose: SheetDose, need: Need, inside_mm: npt.ArrayLike) -> Contents:
    """Sheets, water and masses for boxes of given insides.

    Parameters
    ----------
    asked, dose, need : the request, its dose and what it asks for.
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
    foam_kg = _foam_m3(asked, need, plan_m2, sheets) * defaults.foam_density_kg_per_m3
    barrier_kg = 0.0 if asked.barrier is None else face_m2 * defaults.wrap_overlap * (asked.barrier.gsm or 0.0) * 1e-3
    opaque = cover(asked)
    barrier_kg += 0.0 if opaque is None else cover_m2(asked) * (opaque.gsm or 0.0) * 1e-3
    bags = defaults.bag_layers if dose.way in ("bag", "submerged") else 1
    bag_kg = 0.0 if asked.bag is None else face_m2 * defaults.wrap_overlap * bags * (asked.bag.gsm or 0.0) * 1e-3
    board_kg = length * width * board_mm(asked) * 1e-9 * defaults.board_density_kg_per_m3
    tray = tray_kg(asked)
    gel_g_per_l = defaults.silica_gel_g_per_l if asked.desiccated else 0.0
    gel_kg = inside.prod(axis=1) * 1e-6 * gel_g_per_l * 1e-3
    lid_kg = lid_sheets(asked) * defaults.sheet_gsm * defaults.sheet_m2 * 1e-3
    load_kg = asked.mass_kg + tissue_kg + water_kg + foam_kg + barrier_kg + bag_kg + board_kg + tray + gel_kg + lid_kg
    return Contents(
        sheets=sheets,
        tissue_kg=np.asarray(tissue_kg, dtype=np.float64),
        water_kg=np.asarray(water_kg, dtype=np.float64),
        foam_kg=np.asarray(foam_kg, dtype=np.float64),
        barrier_kg=barrier_kg,
        bag_kg=bag_kg,
        board_kg=board_kg,
        tray_kg=tray,
        gel_kg=np.asarray(gel_kg, dtype=np.float64),
        lid_kg=lid_kg,
        load_kg=np.asarray(load_kg, dtype=np.float64),
    )


def as_cut(parts: Contents, index: int, pieces: Sequence[CutPiece], defaults: PackDefaults) -> Contents:
    """The masses with foam and boards of one box as they are cut.

    Parameters
    ----------
    parts : of all boxes. index : the box. pieces : its cut list. defaults : densities.
    """
    board_kg = sum(piece.volume_m3 for piece in pieces if piece.material == BOARD_MATERIAL)
    board_kg *= defaults.board_density_kg_per_m3
    foam_kg, load_kg = parts.foam_kg.copy(), parts.load_kg + board_kg - parts.board_kg
    foam_kg[index] = sum(piece.volume_m3 for piece in pieces if piece.is_foam)
    foam_kg[index] *= defaults.foam_density_kg_per_m3
    load_kg[index] += foam_kg[index] - parts.foam_kg[index]
    return replace(parts, foam_kg=foam_kg, board_kg=board_kg, load_kg=load_kg)


def layers(
    asked: Asked, dose: SheetDose, need: Need, parts: tuple[TissuePart, ...], packing: Mapping[str, float]
) -> tuple[Layer, ...]:
    """The layers round a block, to draw and to lay, in the order of laying within each place.

    Parameters
    ----------
    asked, dose, need, parts : the request, its dose, what it asks for, its tissue by place.
    packing : thickness of the packing sheets of a cushion by face [mm]; empty without one.
    """
    cushion = asked.inputs.cushion
    beside: list[Layer] = []
    if cushion is not None and asked.cushioned:
        for name in ("ends", "sides"):
            beside += _face_layers(asked, cushion.face(name), "side", packing.get(name, 0.0))
    neck = _tissue(asked, dose, parts, "neck", "crumpled, loosely, up to its rim") if _has(parts, "neck") else []
    return (
        *_bed(asked, dose, need, parts),
        *_tray(asked),
        *_round(asked, dose, parts),
        *beside,
        *neck,
        *_top(asked, dose, parts, packing),
    )


def _bed(asked: Asked, dose: SheetDose, need: Need, parts: tuple[TissuePart, ...]) -> list[Layer]:
    """Foam, tissue and board, from the floor up."""
    cushion = asked.inputs.cushion
    thick_mm = bed_foam_mm(asked, need, tissue=any(part.place != "lid" for part in parts))
    laid = [_layer("foam plank", _foam(asked), thick_mm, "bed", "cut to the inside of the box, dry")]
    if cushion is not None and asked.cushioned:
        base = cushion.face("base")
        laid = [_layer(_foam_word(base), _foam(asked), base.foam_mm, "bed", _face_note(base))]
        if thick_mm - base.foam_mm > 1e-6:
            note = "on the floor, from wall to wall"
            laid.insert(0, _layer("packing sheet", _foam(asked), thick_mm - base.foam_mm, "bed", note))
    folded = _tissue(asked, dose, parts, "bed", "folded, on the bed")
    if board_mm(asked) <= 0:
        return [*laid, *folded]
    board = packing_material("wood board")
    if cushion is not None and cushion.board_mm > 0:
        spreads = _layer("spreader board", board, board_mm(asked), "bed", "on the foam, so that it yields evenly")
        return [*laid, spreads, *folded]
    return [*laid, *folded, _layer("carrying board", board, board_mm(asked), "bed", "left under the block")]


def _tray(asked: Asked) -> list[Layer]:
    """What holds a find under water up in its bag."""
    if not asked.submerged:
        return []
    note = "in the bag, feet down, under the find"
    return [_layer(TRAY, packing_material(TRAY_MATERIAL), cover_mm(asked), "under", note)]


def _face_layers(asked: Asked, face: FaceNeed, place: str, packing_mm: float) -> list[Layer]:
    """Board, foam and packing sheet of ends, sides or top, from the block outwards."""
    where = "" if place == "top" else f" at the {face.face}"
    laid = []
    if face.board_mm > 0:
        laid.append(_layer(f"board{where}", packing_material("wood board"), face.board_mm, place, "next to the block"))
    laid.append(_layer(f"{_foam_word(face)}{where}", _foam(asked), face.foam_mm, place, _face_note(face)))
    if packing_mm > 0:
        note = "over the pads, up to the lid, not pressed" if place == "top" else "between foam and wall"
        laid.append(_layer(f"packing sheet{where}", _foam(asked), packing_mm, place, note))
    return laid


def _foam_word(face: FaceNeed) -> str:
    return "foam on the whole face" if face.pads == 0 else ("foam pad" if face.pads == 1 else "foam pads")


def _face_note(face: FaceNeed) -> str:
    if face.pads == 0:
        return f"{face.length_mm:g} x {face.width_mm:g} mm"
    each = " on each" if face.many > 1 else ""
    return f"{face.pads} of {face.pad_mm:g} x {face.pad_mm:g} mm{each}, {pad_place(face.pads)}"


def pad_place(pads: int) -> str:
    """Where one, two or four pads lie on their face."""
    return {1: "in the middle", 2: "at both ends of its long side", 4: "at its corners"}[pads]


def _round(asked: Asked, dose: SheetDose, parts: tuple[TissuePart, ...]) -> list[Layer]:
    """Barrier, water, tissue, bag and foam strips, from the block outwards."""
    defaults = asked.inputs.defaults
    water_mm = cover_mm(asked)
    laid = []
    if asked.barrier is not None:
        thick_mm = _FOIL_MM if asked.barrier.metal else _FILM_MM
        note = "next to the find, everything damp outside it"
        laid.append(_layer(asked.barrier.name, asked.barrier, thick_mm, "barrier", note))
    if water_mm:
        note = "over and beside the find and through its tray, air pressed out"
        laid.append(_water("water in the bag", water_mm, "round", note))
    laid += _tissue(asked, dose, parts, "round", "round the block")
    if asked.bag is not None:
        wet = dose.way in ("bag", "submerged")
        note = f"{defaults.bag_layers} bags, one in the other" if wet else "round it all"
        if bag_touches(asked, dose) and not wet:
            note = "next to the find, its soil left on"
        laid.append(_layer(asked.bag.name, asked.bag, _FILM_MM, "round", note))
    opaque = cover(asked)
    if opaque is not None:
        laid.append(_layer(f"{opaque.name}, no light", opaque, COVER_LAYERS * _FOIL_MM, "round", "opaque, no gap"))
    if not asked.cushioned:
        laid.append(_layer("foam strips", _foam(asked), 0.0, "round", _strips_note(asked)))
    if asked.desiccated:
        note = "in a perforated bag beside the foam, the card where it can be read"
        gel = "silica gel and humidity card"
        laid.append(Layer(name=gel, material="silica gel", thickness_mm=0.0, hatch="plain", note=note, place="round"))
    return laid


def _strips_note(asked: Asked) -> str:
    note, steps = "at the sides, whole bars up to the block's height, not tight", bed_steps(asked)
    if asked.submerged:
        note = "at the sides, as high as the water, before the bag goes in"
    return f"over {len(steps)} foam sheets with holes to the block's contour, {note}" if steps else note


def _top(asked: Asked, dose: SheetDose, parts: tuple[TissuePart, ...], packing: Mapping[str, float]) -> list[Layer]:
    """Tissue and cushion over the block, and the absorbent under the lid."""
    cushion = asked.inputs.cushion
    laid = _tissue(asked, dose, parts, "top", "laid on loosely")
    if cushion is not None and asked.cushioned:
        laid += _face_layers(asked, cushion.face("top"), "top", packing.get("top", 0.0))
    for part in parts:
        if part.place == "lid":
            note = "dry, pinned or laid flat under the lid; look at it and change it at every check"
            sheet = packing_material("tissue")
            laid.append(
                Layer(
                    name="absorbent sheets under the lid",
                    material=sheet.name,
                    thickness_mm=asked.inputs.defaults.lid_absorbent_mm,
                    hatch=sheet.hatch,
                    note=note,
                    place="lid",
                    sheets=part.sheets,
                )
            )
    return laid


def bed_foam_mm(asked: Asked, need: Need, *, tissue: bool) -> float:
    """Thickness of the foam on the floor: the bed less board, tissue, and bag and tray under the find [mm]."""
    tissue_mm = asked.inputs.defaults.bed_tissue_mm if tissue else 0.0
    return need.bed_mm - board_mm(asked) - tissue_mm - under_mm(asked)


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
    return np.ceil((area + flat) / defaults.sheet_m2 - 1e-9).astype(np.int64) + neck_sheets(asked, dose)


def _layer(name: str, material: PackingMaterial, thickness_mm: float, place: str, note: str) -> Layer:
    hatch = material.hatch
    return Layer(name=name, material=material.name, thickness_mm=thickness_mm, hatch=hatch, note=note, place=place)


def _tissue(asked: Asked, dose: SheetDose, parts: tuple[TissuePart, ...], place: str, note: str) -> list[Layer]:
    """The tissue of one place, none where no tissue is used; a place that got no whole sheet shares the next one's."""
    defaults = asked.inputs.defaults
    part = next((one for one in parts if one.place == place), None)
    if not any(one.place != "lid" for one in parts):
        return []
    thick = {"bed": defaults.bed_tissue_mm, "round": defaults.wrap_tissue_mm, "top": defaults.top_tissue_mm}
    damp = f"damp {asked.wrapping.name}" if dose.g_per_sheet > 0 else asked.wrapping.name
    damp = f"crumpled {damp}" if place == "neck" else damp
    return [
        Layer(
            name=damp,
            material=asked.wrapping.name,
            thickness_mm=thick.get(place, 0.0),
            hatch=asked.wrapping.hatch,
            note=note,
            place=place,
            sheets=0 if part is None else part.sheets,
            water_g=0.0 if part is None else part.water_g,
        )
    ]


def _has(parts: tuple[TissuePart, ...], place: str) -> bool:
    return any(part.place == place for part in parts)


def _foam(asked: Asked) -> PackingMaterial:
    cushion = asked.inputs.cushion
    return packing_material("polyethylene foam" if cushion is None else cushion.material)


def _foam_m3(asked: Asked, need: Need, plan_m2: FloatArray, sheets: npt.NDArray[np.int64]) -> FloatArray:
    """Foam under, beside and over the block [m3]."""
    cushion, (length, width, height) = asked.inputs.cushion, asked.block_mm
    thick = bed_foam_mm(asked, need, tissue=False) - asked.inputs.defaults.bed_tissue_mm * (sheets > 0)
    under = plan_m2 if cushion is None or cushion.area_mm2 <= 0 else np.full_like(plan_m2, cushion.area_mm2 * 1e-6)
    over = 0.0 if cushion is None else cushion.top_mm
    margin = margin_mm(asked) if asked.submerged else 0.0
    high = height + under_mm(asked) + cover_mm(asked)
    beside = np.maximum(plan_m2 - (length + 2.0 * margin) * (width + 2.0 * margin) * 1e-6, 0.0) * high
    return np.asarray((under * thick + beside + plan_m2 * over) * 1e-3)


def _water(name: str, thickness_mm: float, place: str, note: str) -> Layer:
    return Layer(name=name, material="water", thickness_mm=thickness_mm, hatch="water", note=note, place=place)
