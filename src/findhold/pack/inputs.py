"""What a plan is asked from: the find, its block, the boxes in stock, the wrapping, and the editable defaults."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from typing import Literal

from findhold.geometry.profile import profile_centre_mm
from findhold.tables.load import table

State = Literal["dry", "damp", "waterlogged"]
STATES: tuple[State, ...] = ("dry", "damp", "waterlogged")
Size = tuple[float, float, float]
"""Length, width, height [mm]."""
Outline = tuple[tuple[float, float], ...]
"""Corners of a closed polygon [mm]."""
MEASURED = ("profile_mm", "plan_outline_mm", "side_outline_mm", "end_outline_mm", "cog_mm")
"""Fields of a block measured beyond its three sizes; the plan repeats them for the drawings."""
COUNTS = ("wrap_layers", "bed_layers", "top_layers", "bag_layers")


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Low, best and high of one figure."""

    low: float
    best: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StockBox:
    """One kind of box in stock; count None = not counted, 0 = none left."""

    name: str
    inside_mm: Size
    wall: str
    wall_mm: float
    tare_kg: float
    max_load_kg: float | None = None
    lid_air_changes_per_day: float | None = None
    count: int | None = None
    planned: int | None = None
    """How many of this kind are planned for other finds; None = not known."""
    base_mm: tuple[float, float] | None = None
    """Inside length and width at the floor of a tapered box, inside_mm being that at the rim; None = straight."""
    corner_mm: float = 0.0
    """Inside radius of its four upright edges."""
    outside_over_all_mm: Size | None = None
    """Outside with lid and handles, as measured; None = inside and two walls."""

    @property
    def outside_mm(self) -> Size:
        """Outside with its lid: as measured over all, else the inside and two walls."""
        if self.outside_over_all_mm is not None:
            return self.outside_over_all_mm
        length, width, height = self.inside_mm
        return (length + 2 * self.wall_mm, width + 2 * self.wall_mm, height + 2 * self.wall_mm)

    @property
    def called(self) -> str:
        """The box in a sentence: "box B4", but not "box lidded box" nor "box the box given"."""
        said = self.name.casefold()
        return self.name if "box" in said or said.startswith("the ") else f"box {self.name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A named person lets a forbidden pair pass; `rule` is the analysis or the state rule it answers."""

    material: str
    rule: str
    person: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackDefaults:
    """Figures a unit may change; what each means and rests on stands in the table pack_defaults.

    Besides those with a unit in their name: sheet_gsm [g/m2], wrap_overlap [1], water_content_spread [fraction].
    """

    side_clearance_mm: float
    hand_room_mm: float
    liner_fold_mm: float
    lid_sag_mm: float
    tissue_swell_mm: float
    lid_absorbent_mm: float
    contour_step_mm: float
    crumpled_tissue_kg_per_m3: float
    shelf_clear_mm: float
    bed_mm: float
    lid_gap_mm: float
    sheet_l_mm: float
    sheet_w_mm: float
    sheet_gsm: float
    wrap_layers: int
    wrap_overlap: float
    bed_layers: int
    top_layers: int
    wrap_tissue_mm: float
    bed_tissue_mm: float
    top_tissue_mm: float
    foam_density_kg_per_m3: float
    board_density_kg_per_m3: float
    block_density_low_kg_per_m3: float
    block_density_high_kg_per_m3: float
    suction_dry_edge_kpa: float
    suction_best_kpa: float
    suction_wet_edge_kpa: float
    water_content_spread: float
    waterlogged_dry_edge_saturation: float
    bag_layers: int
    bag_water_g_per_l: float
    bag_water_least_g: float
    submerged_cover_mm: float
    tray_kg_per_m2: float
    mass_label_kg: float
    mass_aid_kg: float
    metal_damp_days: float
    silica_gel_g_per_l: float
    airtight_air_changes_per_day: float
    control_soil_low_g: float
    control_soil_high_g: float
    loose_organic_wet_kg_per_kg: float
    loose_organic_damp_kg_per_kg: float
    loose_mineral_kg_per_kg: float
    loose_metal_kg_per_kg: float
    loose_water_factor: float

    @property
    def sheet_m2(self) -> float:
        """Area of one sheet [m2]."""
        return self.sheet_l_mm * self.sheet_w_mm * 1e-6


@cache
def pack_defaults() -> PackDefaults:
    """The defaults as shipped (table pack_defaults)."""
    values = {row["name"]: float(row["value"]) for row in table("pack_defaults").rows}
    counts = {name: int(values.pop(name)) for name in COUNTS}
    return PackDefaults(**values, **counts)  # type: ignore[arg-type]  # a missing row is an error at once


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceNeed:
    """Foam of one kind of face of the block: base, sides (two), ends (two) or top, each many times [mm].

    length_mm, width_mm : the face's own sizes; of sides and ends the width is the height. foam_mm : thickness, laid up
    of sheets_mm. pads : pieces of pad_mm x pad_mm behind a board of board_mm; 0 = one piece as large as the face.
    """

    face: str
    many: int
    length_mm: float
    width_mm: float
    foam_mm: float
    sheets_mm: tuple[float, ...]
    pads: int
    pad_mm: float
    board_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CushionNeed:
    """What a cushion against a drop wants on the faces of the block: it enters the clearances.

    bed_mm, side_mm, top_mm : foam under, beside and over the block [mm], uncompressed. board_mm : spreader board under
    it [mm], 0 = none. area_mm2 : bearing area of foam under the base [mm2]. pads : how many pieces that area is cut
    into. why : the sentence the plan gives.
    """

    bed_mm: float
    side_mm: float
    top_mm: float
    board_mm: float
    material: str
    area_mm2: float
    pads: int
    why: str
    faces: tuple[FaceNeed, ...] = ()
    """What to lay on each face; empty = only the room is known."""

    def face(self, name: str) -> FaceNeed:
        """The foam of one kind of face."""
        return next(face for face in self.faces if face.face == name)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanInputs:
    """One request for a plan. None means not stated, never zero."""

    find: str = "the find"
    """Label used in messages."""
    material: str
    state: str
    block_mm: Size | None
    mass_kg: float | None
    soil: str | None = None
    water_content: float | None = None
    """Water over dry mass [kg/kg]."""
    analyses: tuple[str, ...] = ()
    stock: tuple[StockBox, ...] = ()
    wanted_box: str | None = None
    """The one box of the stock that is asked for; None lets the plan choose."""
    sheets: int | None = None
    sheet_dry_g: float | None = None
    water_g_per_g: float | None = None
    wrapping: str = "tissue"
    barrier: str | None = None
    no_barrier: bool = False
    """Asked for by name: nothing lies between find and wrapping, not even film where fibres harm it."""
    bag: str | None = None
    """A bag round the wrapped find; a waterlogged find gets unperforated bags without being asked."""
    acts: tuple[str, ...] = ()
    """Acts done or planned that can harm the find or an analysis (washing, freezing, X-ray ...)."""
    flags: tuple[str, ...] = ()
    """Flags of the find (human remains, treasure, lead, ordnance)."""
    board_mm: float = 0.0
    """Thickness of a carrying board left under the block."""
    temp_c: float = 4.0
    """Temperature of the cold store, for the dose."""
    place: str | None = None
    """Name of the store it goes to."""
    place_temp_c: float | None = None
    place_rh: float | None = None
    """Temperature and humidity [fraction] of that store; None = not known."""
    fridge_inside_mm: Size | None = None
    """Inside of the place the closed box goes into, whatever its kind; None = not known."""
    place_kind: str = "fridge"
    """What kind of place that is (fridge, cool room, shelf, room)."""
    place_max_load_kg: float | None = None
    place_carried_kg: float = 0.0
    """What the place is rated for, and what stands in it already."""
    lid_water_g: float | None = None
    """Water that the forecast says would drip from the lid, its high edge; None = not asked."""
    profile_mm: tuple[Size, ...] = ()
    """Height over the base, length and width there, from the base up [mm]; empty = the block is taken as a prism."""
    plan_outline_mm: Outline = ()
    """Convex hull of the block in plan, x along its length and y across, from the corner of its least rectangle."""
    side_outline_mm: Outline = ()
    """Silhouette seen from its side (x, z) [mm]."""
    end_outline_mm: Outline = ()
    """Silhouette seen from its end (y, z) [mm]."""
    cog_mm: Size | None = None
    """Centre of gravity in the block's own frame (x, y, z) [mm]; None = not known."""
    volume_l: float | None = None
    """Volume of the block as measured; None = not known, and the prism round it is taken."""
    volume_band_l: tuple[float, float] | None = None
    """Least and most the volume may be as measured [L]; None = not measured."""
    cushion: CushionNeed | None = None
    """Cushion against a drop; None = the bed is a seat only."""
    parts: tuple[str, ...] = ()
    """What else it is made of or carries (leather, charred crust, soluble salts ...), by names of find_materials and
    find_parts."""
    dated: tuple[tuple[str, datetime], ...] = ()
    """When an analysis, act or step was or is to be done, by name; acts without a date are taken as done already."""
    wanted_order: tuple[tuple[str, str], ...] = ()
    """Pairs (first, later) that a specialist asks for beside the rules of the table."""
    overrides: tuple[Override, ...] = ()
    defaults: PackDefaults = field(default_factory=pack_defaults)

    @property
    def centre_mm(self) -> Size | None:
        """Centre of gravity in the block's own frame [mm]: as measured, else its profile's at one density.

        None where neither is known and it is taken in the middle.
        """
        if self.cog_mm is not None or not self.profile_mm or self.block_mm is None:
            return self.cog_mm
        return profile_centre_mm(self.profile_mm, self.block_mm)
