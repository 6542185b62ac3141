"""Where the tissue and its water go, layer by layer, what lies under the lid, and what room is left to fill."""

from __future__ import annotations

import math
from dataclasses import dataclass

from findhold.pack.asked import Asked
from findhold.pack.contour import neck_room_l
from findhold.pack.damp import SheetDose, bag_touches
from findhold.pack.inputs import Size
from findhold.pack.need import Need, board_mm
from findhold.pack.slices import volume_l
from findhold.tables.materials import tissue

_HAIR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class TissuePart:
    """One place that takes tissue: bed, round, neck, top or lid; its layers, sheets, dry mass and water [g]."""

    place: str
    layers: int
    sheets: int
    dry_g: float
    water_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """Room left in the box [L], the sheets that would fill it crumpled, and the share of the box that is air."""

    room_l: float
    crumpled_sheets: int
    headspace_fraction: float


def sheets_for(area_m2: float, sheet_m2: float) -> int:
    """Whole sheets for an area; a hair under the next whole sheet is that sheet, not one more."""
    return math.ceil(area_m2 / sheet_m2 - _HAIR)


def crumpled_sheets(room_l: float, density_kg_per_m3: float, gsm: float, sheet_m2: float) -> int:
    """Sheets that fill a room when crumpled: n = ceil(V rho / (gsm A)).

    Parameters
    ----------
    room_l : room to fill [L]. density_kg_per_m3 : of crumpled tissue. gsm : of the tissue [g/m2]. sheet_m2 : one sheet.

    Source: mass balance; the crumpled density is a figure of pack_defaults to be weighed.
    """
    return math.ceil(room_l * density_kg_per_m3 / (gsm * sheet_m2) - _HAIR)


def neck_sheets(asked: Asked, dose: SheetDose) -> int:
    """Sheets, crumpled, that hold a shoulder or a neck up over the widest part; none where it cannot be told.

    None where the sheets were stated, none where no tissue is used, none for a room under that of one loose sheet.

    Source: the room and the density of crumpled tissue; computed.
    """
    defaults = asked.inputs.defaults
    no_tissue = asked.submerged or bag_touches(asked, dose) or not asked.wrapping.pad
    if no_tissue or asked.inputs.sheets is not None:
        return 0
    fits = neck_room_l(asked) * defaults.crumpled_tissue_kg_per_m3 / (defaults.sheet_gsm * defaults.sheet_m2)
    return round(fits)


def lid_sheets(asked: Asked) -> int:
    """Absorbent sheets under the lid for the water that would drip: counted on the least that tissue holds.

    Source: capacity of tissue (memory), its low edge; a sheet dripping wet must be changed before it is full.
    """
    water_g = asked.inputs.lid_water_g
    return 0 if not water_g else math.ceil(water_g / _lid_sheet_g(asked) - _HAIR)


def lid_takes_g(asked: Asked) -> float:
    """Water that the absorbent sheets under the lid take up [g]."""
    return lid_sheets(asked) * _lid_sheet_g(asked)


def _lid_sheet_g(asked: Asked) -> float:
    """Water that one sheet holds at least."""
    defaults = asked.inputs.defaults
    return tissue().capacity_low_g_per_g * defaults.sheet_gsm * defaults.sheet_m2


def tissue_parts(asked: Asked, dose: SheetDose, inside_mm: Size, sheets: int) -> tuple[TissuePart, ...]:
    """The sheets shared out to bed, block and top by the area each has to cover, with the water of each.

    Parameters
    ----------
    asked, dose : the request and its dose. inside_mm : of the box [mm]. sheets : in all, as planned or as stated.

    Returns
    -------
    Parts in the order of laying, their sheets summing to `sheets`, and the dry absorbent under the lid besides. Whole
    sheets go by largest remainder; of equal ones the block's wrapping comes first. What fills the room round a neck is
    told by itself.

    Source: areas; computed.
    """
    defaults = asked.inputs.defaults
    length, width, height = asked.block_mm
    face_m2 = 2.0 * (length * width + length * height + width * height) * 1e-6
    plan_m2 = inside_mm[0] * inside_mm[1] * 1e-6
    wrapped = defaults.wrap_layers * defaults.wrap_overlap * face_m2
    areas = {"bed": defaults.bed_layers * plan_m2, "round": wrapped, "top": defaults.top_layers * plan_m2}
    counts = {"bed": defaults.bed_layers, "round": defaults.wrap_layers, "top": defaults.top_layers}
    neck = min(neck_sheets(asked, dose), sheets)
    shared = _shared(areas, sheets - neck)
    shared = {"bed": shared["bed"], "round": shared["round"], "neck": neck, "top": shared["top"]}
    counts["neck"] = 1
    parts = [
        TissuePart(
            place=place,
            layers=counts[place],
            sheets=many,
            dry_g=many * dose.sheet_dry_g,
            water_g=many * dose.g_per_sheet,
        )
        for place, many in shared.items()
        if many
    ]
    lid = lid_sheets(asked)
    if lid:
        dry_g = lid * defaults.sheet_gsm * defaults.sheet_m2
        parts.append(TissuePart(place="lid", layers=1, sheets=lid, dry_g=dry_g, water_g=0.0))
    return tuple(parts)


def filling(asked: Asked, need: Need, inside_mm: Size, side_foam_l: float) -> Filling:
    """Room beside and over the block that is not foam plank, board or block.

    Parameters
    ----------
    asked, need : the request and what it asks for. inside_mm : of the box. side_foam_l : foam strips at the sides [L].

    Returns
    -------
    Filling: the room as if the sides were not filled with foam, for those who fill with tissue; the headspace with
    foam strips in, as planned.

    Source: V_fill = V_inside - V_block - V_board - V_pads; computed. The block is taken as its profile's slices, else
    as a prism, so the room is a lower bound.
    """
    defaults, plan_l = asked.inputs.defaults, inside_mm[0] * inside_mm[1] * 1e-6
    inside_l = plan_l * inside_mm[2]
    length, width, _ = asked.block_mm
    board_l = length * width * board_mm(asked) * 1e-6
    pads_l = plan_l * max(need.bed_mm - board_mm(asked), 0.0)
    block_l = volume_l(need.slices_mm, asked.block_mm[2])
    room_l = max(inside_l - block_l - board_l - pads_l, 0.0)
    many = crumpled_sheets(room_l, defaults.crumpled_tissue_kg_per_m3, defaults.sheet_gsm, defaults.sheet_m2)
    air_l = max(room_l - side_foam_l, 0.0)
    return Filling(room_l=room_l, crumpled_sheets=many, headspace_fraction=air_l / inside_l)


def _shared(areas: dict[str, float], sheets: int) -> dict[str, int]:
    """Whole sheets by largest remainder."""
    whole = sum(areas.values())
    if not sheets or not whole:
        return dict.fromkeys(areas, 0)
    exact = {place: sheets * area / whole for place, area in areas.items()}
    shared = {place: int(value) for place, value in exact.items()}
    order = sorted(exact, key=lambda place: (-(exact[place] - shared[place]), place != "round", place))
    for place in order[: sheets - sum(shared.values())]:
        shared[place] += 1
    return shared
