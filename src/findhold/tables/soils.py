"""Soils: water retention of texture classes, densities a block of each can have, constants shared by all."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from findhold.tables.load import number, table
from findhold.tables.naming import name_index, resolve

_KN_PER_M3_TO_KG_PER_M3 = 1000.0 / 9.80665


@dataclass(frozen=True, slots=True, kw_only=True)
class SoilRetention:
    """van Genuchten constants of one texture class: theta_r, theta_s [m3/m3], alpha_per_cm, n [1].

    Attribute names are those physics.soil asks for.
    """

    theta_r: float
    theta_s: float
    alpha_per_cm: float
    n: float
    ks_cm_per_day: float
    dry_density_kg_per_m3: float
    """Grain density x (1 - theta_s)."""
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SoilDensity:
    """Bulk densities of a soil above (moist) and below (wet) the water table [kg/m3]; None where not printed."""

    group: str
    moist_low_kg_per_m3: float
    moist_high_kg_per_m3: float
    wet_low_kg_per_m3: float | None
    wet_high_kg_per_m3: float | None
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Soil:
    """One soil: its densities, and its retention where the class has one (gravel and peat have none)."""

    name: str
    retention: SoilRetention | None
    density: SoilDensity


@dataclass(frozen=True, slots=True, kw_only=True)
class SoilConstants:
    """Grain density [kg/m3] and the dry end of the retention curve as suctions [Pa]."""

    particle_density_kg_per_m3: float
    tail_start_pa: float
    tail_end_pa: float


def find_soil(name: str, *, where: str = "") -> Soil:
    """A soil by its name (case, hyphens and spaces do not matter).

    Raises
    ------
    UnknownName : no such soil; near names are offered.
    """
    return _soils()[resolve("soil", name, _index(), where=where)]


def soil_names() -> tuple[str, ...]:
    """All soils."""
    return tuple(_soils())


@cache
def soil_constants() -> SoilConstants:
    """Constants shared by every soil."""
    values = {row["name"]: float(row["value"]) for row in table("soil_constants").rows}
    return SoilConstants(**values)


@cache
def _soils() -> dict[str, Soil]:
    densities = {row["soil"]: _density(row) for row in table("soil_density").rows}
    soils = {
        row["soil"]: Soil(name=row["soil"], retention=_retention(row), density=densities[row["density_group"]])
        for row in table("soil_retention").rows
    }
    for name, density in densities.items():
        soils.setdefault(name, Soil(name=name, retention=None, density=density))
    return soils


@cache
def _index() -> dict[str, str]:
    return name_index("soil", ((name, ()) for name in _soils()))


def _retention(row: dict[str, str]) -> SoilRetention:
    theta_s = float(row["theta_s"])
    return SoilRetention(
        theta_r=float(row["theta_r"]),
        theta_s=theta_s,
        alpha_per_cm=float(row["alpha_per_cm"]),
        n=float(row["n"]),
        ks_cm_per_day=float(row["ks_cm_per_day"]),
        dry_density_kg_per_m3=soil_constants().particle_density_kg_per_m3 * (1.0 - theta_s),
        source=row["source"],
        seen=row["seen"],
    )


def _density(row: dict[str, str]) -> SoilDensity:
    def as_density(column: str) -> float | None:
        weight = number(row[column])
        return None if weight is None else weight * _KN_PER_M3_TO_KG_PER_M3

    low, high = float(row["moist_low_kn_per_m3"]), float(row["moist_high_kn_per_m3"])
    return SoilDensity(
        group=row["soil"],
        moist_low_kg_per_m3=low * _KN_PER_M3_TO_KG_PER_M3,
        moist_high_kg_per_m3=high * _KN_PER_M3_TO_KG_PER_M3,
        wet_low_kg_per_m3=as_density("wet_low_kn_per_m3"),
        wet_high_kg_per_m3=as_density("wet_high_kn_per_m3"),
        source=row["source"],
        seen=row["seen"],
    )
