"""The dose: water per sheet at which tissue and soil stand at the same water potential.

Damp finds are dosed so that neither soil nor tissue gives or takes. Dry finds get no water. Waterlogged finds are
not dosed by the sheet: they lie in unperforated bags with a little water, or under water.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from findhold.errors import Question
from findhold.pack.asked import Asked
from findhold.pack.block import Block, soil_tail
from findhold.pack.contour import bag_room_l, tray_l
from findhold.pack.inputs import Spread
from findhold.pack.slices import slices_of, volume_l
from findhold.physics.soil import water_potential
from findhold.physics.sorption import ClosedPair, equilibrate, gab_moisture, kelvin_rh
from findhold.tables.materials import tissue

Way = Literal["none", "sheets", "bag", "submerged"]
_PAPER = "paper or tissue"
_NOTICEABLE_G = 0.05
_WATER_KG_PER_L = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseBand:
    """Water per sheet [g]: low (a sheet already moist from the room), best, high, and the upper_limit [g]."""

    low: float
    best: float
    high: float
    upper_limit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetDose:
    """How the wrapping is wetted: g_per_sheet [g], sheet_dry_g and the band per sheet, bag_water_g for the whole
    find.
    """

    way: Way
    sheet_dry_g: float
    g_per_sheet: float = 0.0
    band: DoseBand = DoseBand(low=0.0, best=0.0, high=0.0, upper_limit=0.0)
    bag_water_g: float = 0.0
    bag_band_g: Spread | None = None
    """Water that fills the bag of a submerged find, with its edges; None where it is measured out."""
    humidity_rh: float | None = None
    """Relative humidity that soil and tissue share [fraction]."""
    questions: tuple[Question, ...] = ()
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    limit_words: str = ""
    """Which limit is the upper one, in words."""

    @property
    def over_g(self) -> float:
        """By how much a stated dose passes the upper limit [g per sheet]; 0 where it does not or there is none."""
        over_g = self.g_per_sheet - self.band.upper_limit
        limited = self.way == "sheets" and self.band.upper_limit > 0
        return over_g if limited and over_g > _NOTICEABLE_G else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Balance:
    """Tissue in balance with the soil: water per dry paper [g/g], and the humidity they share."""

    moisture: Spread
    rh: float
    note: str
    sources: tuple[str, ...] = field(default_factory=tuple)


def sheet_dose(asked: Asked, block: Block) -> SheetDose:
    """Water per sheet for a find in its state.

    Not for how much water a sheet can be made to hold: tissue dipped in water holds more than it should be given.

    Parameters
    ----------
    asked : a checked request.
    block : its block, with the water in its soil.

    Returns
    -------
    SheetDose [g per sheet].

    Valid for: paper-like wrappings; soils with a retention curve, or damp soil at an assumed potential.
    Source: van-genuchten-1980 for the potential, kelvin-equation for its humidity, tryding-2022 for the tissue at
    20 °C or the store's temperature if that is higher; computed. See docs/models/dose.md.
    """
    inputs = asked.inputs
    defaults = inputs.defaults
    dry_g = inputs.sheet_dry_g
    assumptions: list[str] = []
    if dry_g is None:
        dry_g = defaults.sheet_gsm * defaults.sheet_m2
        assumptions.append(
            f"A sheet of {defaults.sheet_l_mm:g} x {defaults.sheet_w_mm:g} mm weighs {dry_g:.2f} g dry "
            f"({defaults.sheet_gsm:g} g/m²): weigh one."
        )
    if inputs.state == "waterlogged":
        return _bagged(asked, dry_g)
    if inputs.state == "dry":
        stated = (inputs.water_g_per_g or 0.0) * dry_g
        return SheetDose(way="sheets" if stated else "none", sheet_dry_g=dry_g, g_per_sheet=stated)
    if asked.kept == "dry":
        note = f"Loose {asked.material.name} is given no water: it is dried and desiccated on a conservator's word."
        return SheetDose(way="none", sheet_dry_g=dry_g, warnings=(note,))
    if asked.wrapping.contact != _PAPER:
        return _not_paper(asked, dry_g)
    return _by_potential(asked, block, dry_g, assumptions)


def bag_touches(asked: Asked, dose: SheetDose) -> bool:
    """Whether the bag lies next to the find, without sheets between: wet finds, and loose metal kept dry."""
    alone = dose.way in ("bag", "submerged") or (asked.desiccated and asked.soil is None)
    return asked.bag is not None and alone and not asked.inputs.sheets


def water_to_block_g(asked: Asked, block: Block, dose: SheetDose, sheets: int) -> float | None:
    """Water that will move from tissue to block until both stand at one potential [g]; negative = to the tissue.

    None when the soil has no retention curve or its water is not known.
    Source: physics.sorption.equilibrate; computed.
    """
    if asked.soil is None or asked.soil.retention is None or block.theta is None or block.dry_mass_kg is None:
        return None
    if dose.way != "sheets" or sheets == 0:
        return 0.0
    pair = ClosedPair(
        soil_dry_g=block.dry_mass_kg * 1000.0,
        dry_density_kg_per_m3=block.dry_density_kg_per_m3 or asked.soil.retention.dry_density_kg_per_m3,
        theta=min(block.theta.best, asked.soil.retention.theta_s),
        paper_dry_g=sheets * dose.sheet_dry_g,
        paper_moisture=dose.g_per_sheet / dose.sheet_dry_g,
        temp_c=asked.inputs.temp_c,
    )
    settled = equilibrate(pair, asked.soil.retention, soil_tail(), tissue())
    return float(settled.soil_gains_g)


def move_words(moved_g: float | None, dose: SheetDose, stated: bool) -> tuple[str, ...]:
    """Say which way the water of a stated dose moves, and whether it passes the upper limit."""
    words = []
    over_g = dose.over_g
    if stated and over_g > 0.0:
        words.append(
            f"The stated {dose.g_per_sheet:.1f} g a sheet passes the upper limit of {dose.band.upper_limit:.1f} g by "
            f"{over_g:.1f} g ({dose.limit_words})."
        )
    if stated and moved_g is not None and abs(moved_g) > _NOTICEABLE_G:
        way = "from the tissue into the block" if moved_g > 0 else "from the block into the tissue"
        words.append(f"With the stated water {abs(moved_g):.1f} g will move {way}.")
    return tuple(words)


def _by_potential(asked: Asked, block: Block, dry_g: float, assumptions: list[str]) -> SheetDose:
    paper = tissue()
    balance = _balance(asked, block)
    at_room = float(gab_moisture(paper.room_rh, asked.inputs.temp_c, paper))
    no_free = float(gab_moisture(1.0, asked.inputs.temp_c, paper))
    limit = min(no_free, paper.wet_strength_g_per_g)
    words = "above it water is free and drips" if no_free <= paper.wet_strength_g_per_g else "above it tissue tears"
    band = DoseBand(
        low=max(balance.moisture.low - at_room, 0.0) * dry_g,
        best=min(balance.moisture.best, limit) * dry_g,
        high=min(balance.moisture.high, limit) * dry_g,
        upper_limit=limit * dry_g,
    )
    stated = asked.inputs.water_g_per_g
    if asked.inputs.temp_c < paper.floor_temp_c:
        assumptions.append(
            f"Tissue is taken at {paper.floor_temp_c:g} °C: its isotherm has no meaning in the cold (below 8.4 °C)."
        )
    assumptions.append(
        f"The low dose is for sheets that already hold {at_room * dry_g:.1f} g each, from a room at "
        f"{paper.room_rh:.0%} RH."
    )
    return SheetDose(
        way="sheets",
        sheet_dry_g=dry_g,
        g_per_sheet=band.best if stated is None else stated * dry_g,
        band=band,
        humidity_rh=balance.rh,
        assumptions=(balance.note, *assumptions),
        sources=("tryding-2022", "kelvin-equation", *balance.sources),
        limit_words=words,
    )


def _balance(asked: Asked, block: Block) -> _Balance:
    """Moisture of tissue in balance with the block's soil, or with damp soil in general when none is known."""
    temp_c = asked.inputs.temp_c
    defaults = asked.inputs.defaults
    curve = asked.soil.retention if asked.soil is not None else None
    if curve is not None and block.theta is not None:
        theta = block.theta
        potentials = [float(water_potential(t, curve, soil_tail())) for t in (theta.low, theta.best, theta.high)]
        full = " (saturated)" if theta.best >= curve.theta_s else ""
        note = f"Soil at {theta.best:.3f} m³/m³ of water stands at {potentials[1] / 1000:.3g} kPa{full}."
        sources: tuple[str, ...] = (curve.source, "van-genuchten-1980", "campbell-shiozawa-1992")
    else:
        kpa = (defaults.suction_dry_edge_kpa, defaults.suction_best_kpa, defaults.suction_wet_edge_kpa)
        potentials = [-1000.0 * k for k in kpa]
        named = asked.soil.name if asked.soil is not None else "no soil"
        note = f"With {named} named the tissue is set against damp soil at {kpa[1]:g} kPa ({kpa[0]:g} to {kpa[2]:g})."
        sources = ("findhold-judgement",)
    humid = kelvin_rh(potentials, temp_c)
    low, best, high = (float(w) for w in gab_moisture(humid, temp_c, tissue()))
    return _Balance(moisture=Spread(low=low, best=best, high=high), rh=float(humid[1]), note=note, sources=sources)


def _bagged(asked: Asked, dry_g: float) -> SheetDose:
    """Waterlogged: a bag with a little water, or water over every face."""
    defaults = asked.inputs.defaults
    if asked.submerged:
        return _submerged(asked, dry_g)
    water_g = max(defaults.bag_water_g_per_l * asked.volume_l, defaults.bag_water_least_g)
    note = (
        f"Waterlogged finds lie in unperforated bags with a little water, {defaults.bag_water_g_per_l:g} g per litre."
    )
    sources = ("hampshire-finds-care", "findhold-judgement")
    return SheetDose(way="bag", sheet_dry_g=dry_g, bag_water_g=water_g, assumptions=(note,), sources=sources)


def _submerged(asked: Asked, dry_g: float) -> SheetDose:
    """Under water: what its bag holds against the foam, less the find itself and the tray under it.

    Source: what is saturated is no lighter than water, so its own volume is at most its mass over that of water, and at
    least its mass over that of its solid; between them as measured where that can be, else the middle.
    """
    room_l, cover = bag_room_l(asked) - tray_l(asked), asked.inputs.defaults.submerged_cover_mm
    profile = slices_of(asked.inputs.profile_mm, asked.block_mm)
    sized_l = asked.inputs.volume_l or volume_l(profile, asked.block_mm[2])
    afloat_l = asked.mass_kg / _WATER_KG_PER_L
    most_l = min(sized_l, afloat_l)
    least_l = min(1000.0 * asked.mass_kg / asked.material.solid_density_high_kg_per_m3, most_l)
    best_l = most_l if sized_l <= afloat_l else (least_l + most_l) / 2.0
    hollow = sized_l - best_l
    note = (
        f"{asked.material.name.capitalize()} stays under water: {cover:g} mm over and beside it in its bag, air "
        f"pressed out, and under it the height of its tray. The bag against its foam holds {room_l:.2f} L beside "
        f"the tray, the find itself takes {best_l:.2f} L ({least_l:.2f} to {most_l:.2f}, by its mass)."
    )
    if hollow > 0.0 and sized_l > afloat_l:
        note += f" {hollow:.2f} L inside its outline are hollow or open and fill with water."
    water = Spread(low=room_l - most_l, best=room_l - best_l, high=room_l - least_l)
    return SheetDose(
        way="submerged",
        sheet_dry_g=dry_g,
        bag_water_g=water.best * 1000.0,
        bag_band_g=Spread(low=water.low * 1000.0, best=water.best * 1000.0, high=water.high * 1000.0),
        assumptions=(note,),
        sources=("nas-2009",),
    )


def _not_paper(asked: Asked, dry_g: float) -> SheetDose:
    """Wrappings without an isotherm: no computed dose; a pad asks how wet it is to be."""
    stated = asked.inputs.water_g_per_g
    name = asked.wrapping.name
    if stated is not None:
        note = f"The stated water is taken for {name}: there is no isotherm for it, so it is not checked."
        return SheetDose(way="sheets", sheet_dry_g=dry_g, g_per_sheet=stated * dry_g, warnings=(note,))
    if not asked.wrapping.pad:
        note = f"{name.capitalize()} holds no water: the block's own keeps it damp."
        return SheetDose(way="none", sheet_dry_g=dry_g, assumptions=(note,))
    text = (
        f"{asked.inputs.find}: there is no isotherm for {name}. How much water per gram is it to hold (water_g_per_g)?"
    )
    return SheetDose(way="none", sheet_dry_g=dry_g, questions=(Question(about="water_g_per_g", text=text),))
