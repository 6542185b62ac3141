"""Cushions: curves with their points, drop heights, handling legs, fragility words, a lorry's spectrum, and rules."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from findhold.tables.load import number, table
from findhold.tables.naming import listed, name_index, resolve

COUNTS = ("most_layers", "least_points", "least_energies", "enough_points")


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """One point of a measured curve; peak_g is in units of gravity [1]."""

    static_stress_kpa: float
    peak_g: float
    """Peak deceleration [1]."""
    drop_m: float
    thickness_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ShippedCurve:
    """A cushion curve that is shipped: its points, what they were measured on, and what is not known."""

    name: str
    foam: str
    """Name of packing_materials."""
    density_kg_per_m3: float
    impact: str
    conditions: str
    least_thickness_mm: float
    """Thinner foam does not follow the curve [mm]."""
    note: str
    points: tuple[CurvePoint, ...]
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """A drop height of a test schedule, with its passport."""

    drop_m: float
    note: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One kind of handling. Its drop stands here, low to high [m], or in a schedule by mass (schedule not empty)."""

    name: str
    words: str
    drop_low_m: float | None
    drop_best_m: float | None
    drop_high_m: float | None
    schedule: str
    level: str
    vehicle: bool
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A word for what a thing stands; low and high in units of gravity [1], high None = no upper edge."""

    name: str
    low: float
    high: float | None
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Spectrum:
    """Acceleration spectrum of a vehicle: corners [Hz] and densities [G2/Hz], straight on log-log paper."""

    frequency_hz: tuple[float, ...]
    density: tuple[float, ...]
    """At each corner [G2/Hz]."""
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CushionRules:
    """Figures the cushion room works with; what each means and rests on stands in the table cushion_rules.

    Besides those with a unit in their name: mass_spread_fraction, creep_fraction, unknown_scatter_fraction [fraction];
    buckling_ratio, board_sag_ratio, damping_low, damping_best, damping_high,
    poor_r2 [1]; board_modulus_gpa [GPa]; vehicle_body_low_hz, vehicle_body_high_hz, vessel_low_hz [Hz].
    """

    mass_spread_fraction: float
    creep_fraction: float
    unknown_scatter_fraction: float
    buckling_ratio: float
    largest_thickness_mm: float
    steady_extra_mm: float
    most_layers: int
    clay_soft_low_kpa: float
    clay_soft_high_kpa: float
    clay_firm_high_kpa: float
    board_modulus_gpa: float
    board_sag_ratio: float
    damping_low: float
    damping_best: float
    damping_high: float
    vehicle_body_low_hz: float
    vehicle_body_high_hz: float
    vessel_low_hz: float
    least_points: int
    least_energies: int
    enough_points: int
    poor_r2: float


@cache
def cushion_rules() -> CushionRules:
    """The rules as shipped (table cushion_rules)."""
    values = {row["name"]: float(row["value"]) for row in table("cushion_rules").rows}
    counts = {name: int(values.pop(name)) for name in COUNTS}
    return CushionRules(**values, **counts)  # type: ignore[arg-type]  # a missing row is an error at once


@cache
def shipped_curves() -> tuple[ShippedCurve, ...]:
    """All cushion curves that are shipped."""
    points: dict[str, list[CurvePoint]] = {}
    for row in table("cushion_points").rows:
        point = CurvePoint(
            static_stress_kpa=float(row["static_stress_kpa"]),
            peak_g=float(row["peak_g"]),
            drop_m=float(row["drop_m"]),
            thickness_mm=float(row["thickness_mm"]),
        )
        points.setdefault(row["curve"], []).append(point)
    return tuple(
        ShippedCurve(
            name=row["name"],
            foam=row["foam"],
            density_kg_per_m3=float(row["density_kg_per_m3"]),
            impact=row["impact"],
            conditions=row["conditions"],
            least_thickness_mm=float(row["least_thickness_mm"]),
            note=row["note"],
            points=tuple(points[row["name"]]),
            source=row["source"],
            seen=row["seen"],
        )
        for row in table("cushion_curves").rows
    )


def drop_of(schedule: str, level: str, mass_kg: float) -> Drop | None:
    """The drop of a schedule for a package of a mass; None where its table does not reach."""
    for row in table("drop_heights").rows:
        low_kg, high_kg = float(row["mass_from_kg"]), float(row["mass_to_kg"])
        if (row["schedule"], row["level"]) == (schedule, level) and low_kg <= mass_kg < high_kg:
            return Drop(drop_m=float(row["drop_mm"]) / 1000.0, note=row["note"], source=row["source"], seen=row["seen"])
    return None


def handling_leg(name: str, *, where: str = "") -> Leg:
    """A kind of handling by any of its names.

    Raises
    ------
    UnknownName : no such kind; near names are offered.
    """
    return _legs()[resolve("kind of handling", name, _leg_index(), where=where)]


def handling_legs() -> tuple[Leg, ...]:
    """All kinds of handling, gentlest first."""
    return tuple(_legs().values())


@cache
def fragility_bands() -> tuple[Band, ...]:
    """Classic words for what a thing stands, most fragile first."""
    return tuple(
        Band(name=row["name"], low=float(row["g_low"]), high=number(row["g_high"]), seen=row["seen"])
        for row in table("fragility_bands").rows
    )


@cache
def truck_spectrum() -> Spectrum:
    """Spectrum of a lorry, level II."""
    rows = table("truck_spectrum").rows
    return Spectrum(
        frequency_hz=tuple(float(row["frequency_hz"]) for row in rows),
        density=tuple(float(row["density_g2_per_hz"]) for row in rows),
        source=rows[0]["source"],
        seen=rows[0]["seen"],
    )


@cache
def _legs() -> dict[str, Leg]:
    return {row["name"]: _leg(row) for row in table("handling_legs").rows}


def _leg(row: dict[str, str]) -> Leg:
    low, best, high = (number(row[f"drop_{edge}_mm"]) for edge in ("low", "best", "high"))
    return Leg(
        name=row["name"],
        words=row["words"],
        drop_low_m=None if low is None else low / 1000.0,
        drop_best_m=None if best is None else best / 1000.0,
        drop_high_m=None if high is None else high / 1000.0,
        schedule=row["schedule"],
        level=row["level"],
        vehicle=row["vehicle"] == "yes",
        source=row["source"],
        seen=row["seen"],
    )


@cache
def _leg_index() -> dict[str, str]:
    rows = table("handling_legs").rows
    return name_index("kind of handling", ((row["name"], listed(row["aliases"])) for row in rows))
