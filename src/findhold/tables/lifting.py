"""Lifting: the lifting equation's constants, the risk filter, team shares, heights of the body, boards, cautions."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from findhold.errors import UnknownName
from findhold.tables.load import table
from findhold.tables.naming import listed

People = Literal["women", "men"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FrequencyRow:
    """One row of the frequency multipliers [1]; low = hands under 75 cm at the origin, high = above.

    by_duration holds (low, high) for short, moderate and long.
    """

    lifts_per_min: float
    by_duration: tuple[tuple[float, float], tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Equation:
    """Constants of the revised NIOSH lifting equation, metric; travel_constant is a bare number [1].

    front_best_cm and tall_best_cm are the greatest front and height of a container of optimal design; hours_short [h],
    hours_moderate [h] and hours_long [h] the longest work of each kind.
    """

    load_constant_kg: float
    reach_least_cm: float
    reach_most_cm: float
    height_best_cm: float
    height_slope_per_cm: float
    height_most_cm: float
    travel_constant: float
    travel_slope_cm: float
    travel_least_cm: float
    travel_most_cm: float
    twist_slope_per_deg: float
    twist_most_deg: float
    estimate_reach_cm: float
    estimate_reach_low_cm: float
    estimate_height_cm: float
    lifts_least_per_min: float
    hours_short: float
    hours_moderate: float
    hours_long: float
    goal_index: float
    high_index: float
    front_best_cm: float
    tall_best_cm: float
    temp_least_c: float
    temp_most_c: float
    rh_least: float
    rh_most: float
    frequency: tuple[FrequencyRow, ...]
    coupling: dict[str, tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """One zone of the filter, from the floor up: where it begins, and (close, far) masses for women and men."""

    name: str
    bottom: str
    """Landmark of the body; empty for the floor."""
    women_kg: tuple[float, float]
    men_kg: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduction:
    """What is taken off the filter's mass from a figure up."""

    kind: str
    """twist [deg] or frequency [1/min]."""
    above_value: float
    multiplier: float
    """[1]"""
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardMaterial:
    """A material of lifting boards: Young's modulus low and high, density, and thicknesses sold."""

    name: str
    e_low_gpa: float
    """[GPa]"""
    e_high_gpa: float
    """[GPa]"""
    density_kg_per_m3: float
    thicknesses_mm: tuple[float, ...]
    note: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftStep:
    """One step of lifting a block: its words with places to fill in, and the hands it takes."""

    number: int
    text: str
    hands: str


@cache
def equation() -> Equation:
    """The lifting equation's constants and tables, metric."""
    values = {row["name"]: float(row["value"]) for row in table("niosh_constants").rows}
    frequency = tuple(_frequency(row) for row in table("niosh_frequency").rows)
    coupling = {row["coupling"]: (float(row["low"]), float(row["high"])) for row in table("niosh_coupling").rows}
    return Equation(frequency=frequency, coupling=coupling, **values)


@cache
def zones() -> tuple[Zone, ...]:
    """Zones of the filter from the floor up."""
    return tuple(
        Zone(
            name=row["zone"],
            bottom=row["bottom"],
            women_kg=(float(row["women_close_kg"]), float(row["women_far_kg"])),
            men_kg=(float(row["men_close_kg"]), float(row["men_far_kg"])),
        )
        for row in table("lifting_filter").rows
    )


@cache
def reductions() -> tuple[Reduction, ...]:
    """Reductions of the filter, each kind from the mildest to the harshest."""
    return tuple(
        Reduction(
            kind=row["kind"],
            above_value=float(row["above"]),
            multiplier=float(row["multiplier"]),
            words=row["words"],
        )
        for row in table("lifting_filter_adjust").rows
    )


@cache
def team_shares() -> dict[int, float]:
    """Share of the sum of single capabilities [fraction] by number of people; larger teams are not in it."""
    return {int(row["people"]): float(row["share"]) for row in table("team_factors").rows}


@cache
def body_heights_mm(who: People) -> dict[str, float]:
    """Heights of the landmarks of a mean woman or man [mm]."""
    return {row["landmark"]: float(row[f"{who}_mm"]) for row in table("body_heights").rows}


@cache
def stature_scales(who: People) -> tuple[float, float]:
    """Stature of a small and a tall person over the median [1]: 5th and 95th percentile."""
    row = table("statures").by("who")[who]
    return float(row["p05_mm"]) / float(row["p50_mm"]), float(row["p95_mm"]) / float(row["p50_mm"])


@cache
def board_materials() -> tuple[BoardMaterial, ...]:
    """Materials of lifting boards in order of preference."""
    return tuple(
        BoardMaterial(
            name=row["material"],
            e_low_gpa=float(row["e_low_gpa"]),
            e_high_gpa=float(row["e_high_gpa"]),
            density_kg_per_m3=float(row["density_kg_per_m3"]),
            thicknesses_mm=tuple(float(text) for text in listed(row["thickness_mm"])),
            note=row["note"],
            source=row["source"],
            seen=row["seen"],
        )
        for row in table("lifting_boards").rows
    )


def board_material(name: str, *, where: str = "") -> BoardMaterial:
    """A material of boards by name.

    Raises
    ------
    UnknownName : no such material; near names are offered.
    """
    for material in board_materials():
        if material.name.casefold() == name.strip().casefold():
            return material
    raise UnknownName("board material", name, [material.name for material in board_materials()], where=where)


@cache
def validity_words() -> dict[str, str]:
    """Where the lifting equation is not valid, by name, with places to fill in."""
    return {row["name"]: row["text"] for row in table("niosh_validity").rows}


@cache
def lift_cautions() -> tuple[tuple[str, str], ...]:
    """Cautions with when each is printed."""
    return tuple((row["when"], row["text"]) for row in table("lift_cautions").rows)


@cache
def block_lift_steps() -> tuple[LiftStep, ...]:
    """The order of lifting a block on a board."""
    return tuple(
        LiftStep(number=int(row["number"]), text=row["text"], hands=row["hands"])
        for row in table("block_lift_steps").rows
    )


def _frequency(row: dict[str, str]) -> FrequencyRow:
    short, moderate, long = (
        (float(row[f"{name}_low"]), float(row[f"{name}_high"])) for name in ("short", "moderate", "long")
    )
    return FrequencyRow(lifts_per_min=float(row["lifts_per_min"]), by_duration=(short, moderate, long))
