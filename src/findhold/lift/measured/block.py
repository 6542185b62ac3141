"""The measured block: its sizes, volume, mass and centre in its own frame, and the density its soil can have.

Frame of a block: x along its length, y its width, z up, origin at the lower corner of its bounding prism, millimetres.
The prism stands on the least rectangle in plan; it is never tilted, because a find stays as it was found.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from findhold.errors import Mistakes, Question
from findhold.tables.load import table
from findhold.tables.materials import find_material
from findhold.tables.soils import find_soil

Size = tuple[float, float, float]
Outline = tuple[tuple[float, float], ...]
AS_TYPED = "as typed"
_MM3_PER_L = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is known of a find beside its sizes; None = not known. answers settle questions, by what they are about."""

    find: str = "the find"
    material: str | None = None
    state: str | None = None
    soil: str | None = None
    mass_kg: float | None = None
    answers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class MassBand:
    """What a block that was not weighed may weigh [kg]."""

    low_kg: float
    best_kg: float
    high_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleSeen:
    """An opening of a scan: the length of its edge and its middle in the block's frame."""

    perimeter_mm: float
    centre_mm: Size


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanFacts:
    """How a scan was read and what was found wrong with it.

    unit, up : as declared or taken, with the reason beside it. turned_deg : from the file's own x to the block's
    length, in plan. left_out_share : of the scan's area, in pieces that were left out [fraction]. crossing_lines :
    lines tried for the surface running through itself, None when it is open and cannot be tried; crossing_bad : lines
    where it does.
    """

    file: str
    kind: str
    triangles: int
    corners: int
    unit: str
    unit_why: str
    up: str
    up_why: str
    turned_deg: float
    closed: bool
    hull_l: float
    holes: tuple[HoleSeen, ...]
    pieces_kept: int
    pieces_left_out: int
    left_out_share: float
    doubles: int
    flat: int
    turned: int
    inside_out: bool
    crossing_lines: int | None
    crossing_bad: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredBlock:
    """A find or soil block as measured.

    size_mm : length, width, height. volume_l, with its edges volume_low_l and volume_high_l : None where it cannot be
    told. mass_kg : as weighed, None when it was not; mass_band : then what it may weigh, by its soil. cog_mm : centre
    of gravity for a density that is the same everywhere. profile_mm : (height, length, width) from the base up. The
    outlines are closed polygons: the hull in plan (x, y), the silhouettes from side (x, z) and end (y, z).
    section : the form taken for the sections of a tape profile, "" without one.
    """

    size_mm: Size
    volume_l: float | None
    volume_low_l: float | None
    volume_high_l: float | None
    mass_kg: float | None
    mass_band: MassBand | None
    cog_mm: Size | None
    profile_mm: tuple[Size, ...]
    plan_outline_mm: Outline
    side_outline_mm: Outline
    end_outline_mm: Outline
    how: str
    section: str
    scan: ScanFacts | None
    remarks: tuple[str, ...]
    questions: tuple[Question, ...]
    sources: tuple[str, ...]


@cache
def rule(name: str) -> float:
    """One figure of the table measuring_rules."""
    return float(table("measuring_rules").by("name")[name]["value"])


def prism_l(size_mm: Size) -> float:
    """Volume of the bounding prism [L]."""
    length, width, height = size_mm
    return length * width * height / _MM3_PER_L


def ask(about: str, text: str, choices: tuple[str, ...]) -> Mistakes:
    """A question without whose answer nothing can be measured."""
    return Mistakes(questions=[Question(about=about, text=text, choices=choices)], answerable=True)


def answered(known: Known, about: str, choices: tuple[str, ...]) -> str | None:
    """The answer to a question, None when it was not given; an answer that is none of the choices asks again."""
    given = known.answers.get(about)
    if given is None:
        return None
    chosen = [choice for choice in choices if choice.casefold() == given.strip().casefold()]
    if not chosen:
        raise ask(about, f"{known.find}: {given!r} is none of the answers", choices)
    return chosen[0]


def density_range(known: Known) -> tuple[float, float] | None:
    """Least and most density of a block of the named soil in its state [kg/m3]; None without soil.

    Source: unit weights of organic-soils-table-3-5 (seen) inside the limits of pack_defaults (judgement).
    """
    if known.soil is None:
        return None
    soil = find_soil(known.soil, where=known.find).density
    defaults = table("pack_defaults").by("name")
    least = float(defaults["block_density_low_kg_per_m3"]["value"])
    most = float(defaults["block_density_high_kg_per_m3"]["value"])
    if known.state == "dry":
        return least, most
    low = soil.moist_low_kg_per_m3
    if known.state == "waterlogged" and soil.wet_low_kg_per_m3 is not None:
        low = max(low, soil.wet_low_kg_per_m3)
    return max(low, least), min(max(soil.moist_high_kg_per_m3, soil.wet_high_kg_per_m3 or 0.0), most)


def mass_band(known: Known, volume_l: tuple[float, float, float]) -> MassBand | None:
    """What a block of the named soil weighs over a volume of low, best and high [L]; None without soil."""
    limits = density_range(known)
    if limits is None:
        return None
    low, best, high = (litres * 1e-3 for litres in volume_l)
    return MassBand(low_kg=limits[0] * low, best_kg=sum(limits) / 2.0 * best, high_kg=limits[1] * high)


def density_questions(known: Known, volume_low_l: float, volume_high_l: float) -> tuple[Question, ...]:
    """A question when mass over volume is not what such a block can have, whichever edge of the volume is right."""
    if known.mass_kg is None:
        return ()
    least, most = known.mass_kg / volume_high_l * 1e3, known.mass_kg / volume_low_l * 1e3
    alike = most - least < 0.01 * most
    figures = f"{least:.0f} kg/m³" if alike else f"{least:.0f} to {most:.0f} kg/m³"
    litres = f"{volume_high_l:.3g} L" if alike else f"{volume_low_l:.3g} to {volume_high_l:.3g} L"
    said = f"{known.find}: {known.mass_kg:g} kg over {litres} is {figures}"
    limits, words = _limits(known)
    if most < limits[0]:
        text = (
            f"{said}, lighter than {words} ({limits[0]:.0f} kg/m³). Is it rounded, is a vessel in it hollow, or is the "
            "mass or a size wrong?"
        )
        choices = ("rounded block", "hollow vessel", "wrong mass", "wrong size")
        return (Question(about="mass_kg", text=text, choices=choices),)
    if least > limits[1]:
        text = f"{said}, heavier than {words} ({limits[1]:.0f} kg/m³). Is stone or metal in it, or is the mass wrong?"
        return (Question(about="mass_kg", text=text, choices=("stone or metal", "wrong mass", "wrong size")),)
    return ()


def _limits(known: Known) -> tuple[tuple[float, float], str]:
    """Least and most density that passes without asking [kg/m3], and what has it."""
    limits = density_range(known)
    if limits is not None:
        return limits, f"{known.state or 'damp'} {known.soil} can be"
    if known.material is not None:
        material = find_material(known.material, where=known.find)
        return (0.0, material.solid_density_high_kg_per_m3), f"solid {material.name}"
    defaults = table("pack_defaults").by("name")
    least = float(defaults["block_density_low_kg_per_m3"]["value"])
    most = float(defaults["block_density_high_kg_per_m3"]["value"])
    return (least, most), "a block of soil is"
