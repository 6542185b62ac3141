"""Find materials, packing materials and tissue: typed access to what the tables say about each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from findhold.tables.load import number, table
from findhold.tables.naming import listed, name_index, plain_name, resolve


@dataclass(frozen=True, slots=True, kw_only=True)
class FindMaterial:
    """What a find is made of: the state to keep it in, its packing, its hold and its mould sensitivity class."""

    name: str
    group: str
    """ceramic, glass, organic, metal, stone or soil."""
    keep_dry: str
    keep_damp: str
    """damp, or "dry when loose": metal is dosed only inside a soil block."""
    keep_waterlogged: str
    """bag (unperforated, a little water) or submerged."""
    pack_in: str
    keep_away: str
    goes_wrong: str
    flags: tuple[str, ...]
    growth_class: str
    hold_days: float | None
    hold_words: str
    hold_source: str
    hold_seen: str
    temp_low_c: float
    temp_high_c: float
    rh_low: float
    rh_high: float
    dry_temp_low_c: float | None
    dry_temp_high_c: float | None
    dry_rh_low: float | None
    dry_rh_high: float | None
    dry_source: str
    dry_seen: str
    solid_density_high_kg_per_m3: float
    source: str
    seen: str
    taken_for: str | None = None
    """The looser name that was typed and taken for this material; None when the name was its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PackingMaterial:
    """A packing material: how it meets the find, its hatch on drawings, its mass gsm [g/m2] and its mould class."""

    name: str
    contact: str
    """Row of contact_rules it stands for."""
    hatch: str
    touches: bool
    """Normally in contact with the find."""
    growth_class: str
    gsm: float | None
    density_kg_per_m3: float | None
    fibrous: bool
    pad: bool
    pvc: bool
    metal: bool
    board: bool
    closure: str
    """open, perforated, sealed (a bag) or barrier (a sheet that keeps two things apart)."""
    note: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tissue:
    """GAB constants of tissue, monolayer [kg/kg] first, and the limits of its water.

    Attribute names are those physics.sorption asks for.
    """

    monolayer: float
    c_factor: float
    c_energy_kj_per_kg: float
    k_factor: float
    k_energy_kj_per_kg: float
    floor_temp_c: float
    room_rh: float
    capacity_low_g_per_g: float
    capacity_high_g_per_g: float
    wet_strength_g_per_g: float


def find_material(name: str, *, where: str = "") -> FindMaterial:
    """A find material by any of its names; a looser name is taken for the more sensitive and says so in taken_for.

    Raises
    ------
    UnknownName : no such material; near names are offered.
    """
    row = _finds()[resolve("find material", name, _find_index(), where=where)]
    loose = plain_name(name) in {plain_name(alias) for alias in listed(row["taken_for"])}
    return _find_material(row, name if loose else None)


def packing_material(name: str, *, where: str = "") -> PackingMaterial:
    """A packing material by any of its names.

    Raises
    ------
    UnknownName : no such material; near names are offered.
    """
    row = _packing()[resolve("packing material", name, _packing_index(), where=where)]
    yes = {key: row[key] == "yes" for key in ("fibrous", "pad", "pvc", "metal", "board")}
    return PackingMaterial(
        name=row["name"],
        contact=row["contact"],
        hatch=row["hatch"],
        touches=row["in_contact"] == "yes",
        growth_class=row["growth_class"],
        gsm=number(row["gsm"]),
        density_kg_per_m3=number(row["density_kg_per_m3"]),
        **yes,
        closure=row["sealed"],
        note=row["note"],
        source=row["source"],
        seen=row["seen"],
    )


def find_material_names() -> tuple[str, ...]:
    """All find materials."""
    return tuple(_finds())


def packing_material_names() -> tuple[str, ...]:
    """All packing materials."""
    return tuple(_packing())


@cache
def tissue() -> Tissue:
    """Tissue's isotherm and limits."""
    values = {row["name"].removeprefix("gab_"): float(row["value"]) for row in table("tissue").rows}
    return Tissue(floor_temp_c=values.pop("floor_temp_c"), **values)


@cache
def _finds() -> dict[str, dict[str, str]]:
    return table("find_materials").by("name")


@cache
def _packing() -> dict[str, dict[str, str]]:
    return table("packing_materials").by("name")


@cache
def _find_index() -> dict[str, str]:
    entries = ((row["name"], listed(row["aliases"]) + listed(row["taken_for"])) for row in _finds().values())
    return name_index("find material", entries)


@cache
def _packing_index() -> dict[str, str]:
    return name_index("packing material", ((row["name"], listed(row["aliases"])) for row in _packing().values()))


def _find_material(row: dict[str, str], taken_for: str | None) -> FindMaterial:
    return FindMaterial(
        name=row["name"],
        group=row["group"],
        keep_dry=row["keep_dry"],
        keep_damp=row["keep_damp"],
        keep_waterlogged=row["keep_waterlogged"],
        pack_in=row["pack_in"],
        keep_away=row["keep_away"],
        goes_wrong=row["goes_wrong"],
        growth_class=row["growth_class"],
        hold_days=number(row["hold_days"]),
        hold_words=row["hold_words"],
        hold_source=row["hold_source"],
        hold_seen=row["hold_seen"],
        temp_low_c=float(row["temp_low_c"]),
        temp_high_c=float(row["temp_high_c"]),
        rh_low=float(row["rh_low"]),
        rh_high=float(row["rh_high"]),
        dry_temp_low_c=number(row["dry_temp_low_c"]),
        dry_temp_high_c=number(row["dry_temp_high_c"]),
        dry_rh_low=number(row["dry_rh_low"]),
        dry_rh_high=number(row["dry_rh_high"]),
        dry_source=row["dry_source"],
        dry_seen=row["dry_seen"],
        source=row["source"],
        seen=row["seen"],
        flags=listed(row["cautions"]),
        solid_density_high_kg_per_m3=float(row["solid_density_high_kg_m3"]),
        taken_for=taken_for,
    )
