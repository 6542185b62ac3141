"""The block as it was lifted: can it weigh that, and how much water stands in it."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.errors import BadInput, Question
from findhold.pack.asked import Asked
from findhold.pack.inputs import PackDefaults, Spread
from findhold.physics.soil import DryTail, soil_phases, water_content
from findhold.tables.soils import Soil, SoilRetention, soil_constants

_UNIT_SLIP_KG_PER_M3 = 23_000.0
"""Denser than any metal: grams typed as kilograms, or centimetres as millimetres."""
_UNIT_SLIP_LOW_KG_PER_M3 = 10.0
_LIGHTEST_KG_PER_M3 = 2.0
"""Hardly more than air."""
_OVERFULL = 1.05
"""Saturation above which the named water cannot be in the pores, with 5 % for measuring."""
_WATER_KG_PER_M3 = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Density, water and pores of a block; None where soil or water is not known."""

    density_kg_per_m3: float
    could_be_kg_per_m3: tuple[float, float] | None
    """Least and most a block of this soil could be; None without soil."""
    dry_mass_kg: float | None
    dry_density_kg_per_m3: float | None
    water_kg: Spread | None
    theta: Spread | None
    """Water over soil volume, for the potential; None when the soil has no retention curve."""
    questions: tuple[Question, ...]
    assumptions: tuple[str, ...]
    sources: tuple[str, ...]


def soil_tail() -> DryTail:
    """Dry end of the retention curves."""
    constants = soil_constants()
    return DryTail(start_pa=constants.tail_start_pa, end_pa=constants.tail_end_pa)


def read_block(asked: Asked) -> Block:
    """Set mass over volume against what the soil could weigh, and tell the water in the block.

    Parameters
    ----------
    asked : a checked request; a loose find has soil None and its block is the wrapped find itself.

    Returns
    -------
    Block; an unlikely mass is a question, not an error.

    Source: organic-soils-table-3-5 (seen) and a proposed 900-2300 kg/m3 for any soil block (judgement);
    carsel-parrish-1988 (code) for the water of a soil without a measured water content.
    """
    density = asked.mass_kg / (asked.volume_l * 1e-3)
    if density < _LIGHTEST_KG_PER_M3:
        raise BadInput(
            f"{asked.mass_kg:g} kg in {asked.volume_l:.3g} L is {density:.2g} kg/m3, hardly more than air",
            where=asked.inputs.find,
            limit=f"more than {_LIGHTEST_KG_PER_M3:g} kg/m3",
            do="Mend the sizes (mm) or the mass (kg)",
        )
    limits = _could_be(asked, asked.inputs.defaults)
    questions = [*_density_questions(asked, limits)]
    if asked.soil is None:
        return _loose(asked, density, questions)
    retention = asked.soil.retention
    likely = not questions
    by_mass, notes, key = _water_by_mass(asked, asked.soil)
    if by_mass is None:
        if asked.inputs.state != "dry":
            questions.append(_no_water_question(asked, asked.soil))
        water = theta = dry_mass = dry_density = None
    else:
        water = Spread(**{edge: _share(asked.mass_kg, w) for edge, w in _edges(by_mass)})
        dry_mass = asked.mass_kg - water.best
        own = dry_mass / (asked.volume_l * 1e-3)
        dry_density, note = _dry_density(own, likely, asked.inputs.water_content, retention)
        notes.append(note)
        theta = Spread(**{edge: w * dry_density / _WATER_KG_PER_M3 for edge, w in _edges(by_mass)})
        questions.extend(_overfull_question(asked, own, by_mass.best, likely))
    return Block(
        density_kg_per_m3=density,
        could_be_kg_per_m3=limits,
        dry_mass_kg=dry_mass,
        dry_density_kg_per_m3=dry_density,
        water_kg=water,
        theta=theta if retention is not None else None,
        questions=tuple(questions),
        assumptions=tuple(note for note in notes if note),
        sources=(asked.soil.density.source, *((key,) if key else ())),
    )


def _loose(asked: Asked, density: float, questions: list[Question]) -> Block:
    """A find without soil: its block is the find in its wrapping; unmeasured water is taken by its kind, and said."""
    by_mass, taken = _loose_water(asked)
    water = Spread(**{edge: _share(asked.mass_kg, w) for edge, w in _edges(by_mass)})
    return Block(
        density_kg_per_m3=density,
        could_be_kg_per_m3=None,
        dry_mass_kg=asked.mass_kg - water.best,
        dry_density_kg_per_m3=None,
        water_kg=water,
        theta=None,
        questions=tuple(questions),
        assumptions=("No soil was named: the block is the find itself, sizes taken over all.", *taken),
        sources=(),
    )


def _loose_water(asked: Asked) -> tuple[Spread, tuple[str, ...]]:
    """Water over dry mass of a find without soil: as measured, or by its kind with the assumption in words."""
    defaults, measured = asked.inputs.defaults, asked.inputs.water_content
    if measured is not None:
        return _around(measured, defaults.water_content_spread), ()
    if asked.inputs.state == "dry":
        return Spread(low=0.0, best=0.0, high=0.0), ()
    group = asked.material.group
    wet = asked.inputs.state == "waterlogged"
    organic = defaults.loose_organic_wet_kg_per_kg if wet else defaults.loose_organic_damp_kg_per_kg
    best = {"organic": organic, "metal": defaults.loose_metal_kg_per_kg}.get(group, defaults.loose_mineral_kg_per_kg)
    factor = defaults.loose_water_factor
    said = f"Its water was not measured: {best:g} kg/kg of dry mass is taken for {group}, from half to double of it."
    return Spread(low=best / factor, best=best, high=best * factor), (said,)


def _could_be(asked: Asked, defaults: PackDefaults) -> tuple[float, float] | None:
    """Least and most density of a block of the named soil in this state [kg/m3]."""
    if asked.soil is None:
        return None
    density = asked.soil.density
    least, most = defaults.block_density_low_kg_per_m3, defaults.block_density_high_kg_per_m3
    if asked.inputs.state == "dry":
        return least, most
    low = density.moist_low_kg_per_m3
    if asked.inputs.state == "waterlogged" and density.wet_low_kg_per_m3 is not None:
        low = max(low, density.wet_low_kg_per_m3)
    high = max(density.moist_high_kg_per_m3, density.wet_high_kg_per_m3 or 0.0)
    return max(low, least), min(high, most)


def _density_questions(asked: Asked, limits: tuple[float, float] | None) -> list[Question]:
    """What is odd whichever volume between the measured edges is true."""
    small_l, large_l = asked.volume_edges_l
    least, density = (asked.mass_kg / (volume_l * 1e-3) for volume_l in (large_l, small_l))
    litres, dense = f"{large_l:.3g} L", f"{least:.0f} kg/m³"
    if f"{small_l:.3g}" != f"{large_l:.3g}":
        litres, dense = f"{small_l:.3g} to {litres}, as measured,", f"{least:.0f} to {density:.0f} kg/m³"
    said = f"{asked.inputs.find}: {asked.mass_kg:g} kg over {litres} is {dense}"
    slips = ("grams typed as kilograms", "centimetres typed as millimetres", "wrong mass")
    if least > _UNIT_SLIP_KG_PER_M3:
        as_grams = f"as grams it would be {least / 1000:.0f} kg/m³"
        text = f"{said}, more than any metal; {as_grams}. Were grams typed as kilograms, or cm as mm?"
        return [Question(about="mass_kg", text=text, choices=slips)]
    if density < _UNIT_SLIP_LOW_KG_PER_M3:
        text = f"{said}, hardly more than air. Is a unit or a size wrong?"
        return [Question(about="mass_kg", text=text, choices=("wrong unit", "wrong size", "wrong mass"))]
    if limits is None or asked.soil is None:
        most = asked.material.solid_density_high_kg_per_m3
        if least > most:
            text = f"{said}, more than solid {asked.material.name} ({most:.0f} kg/m³). Is the mass or a size wrong?"
            return [Question(about="mass_kg", text=text, choices=("wrong mass", "wrong size", "wrong unit"))]
        return []
    low, high = limits
    soil = f"{asked.inputs.state} {asked.soil.name}"
    if density < low:
        text = (
            f"{said}, lighter than {soil} could be ({low:.0f} kg/m³). Is the block rounded, is the vessel hollow, "
            "or is the mass or a unit wrong?"
        )
        choices = ("rounded block", "hollow vessel", "wrong mass", "wrong unit or size")
        return [Question(about="mass_kg", text=text, choices=choices)]
    if least > high:
        text = f"{said}, heavier than {soil} could be ({high:.0f} kg/m³). Is there stone or metal in it?"
        return [Question(about="mass_kg", text=text, choices=("stone or metal", "wrong mass", "wrong unit or size"))]
    return []


def _water_by_mass(asked: Asked, soil: Soil) -> tuple[Spread | None, list[str], str]:
    """Water over dry mass with its spread, what was assumed, and the source key ("" when it was measured)."""
    defaults = asked.inputs.defaults
    if asked.inputs.water_content is not None:
        share = defaults.water_content_spread
        note = f"The block's water content was given; ±{share:.0%} is taken for measuring it."
        return _around(asked.inputs.water_content, share), [note], ""
    if soil.retention is None:
        return None, [], ""
    curve = soil.retention
    if asked.inputs.state == "dry":
        return None, [], ""
    if asked.inputs.state == "waterlogged":
        share = defaults.waterlogged_dry_edge_saturation
        theta = Spread(low=curve.theta_s * share, best=curve.theta_s, high=curve.theta_s)
        note = f"No water content was given: the {soil.name} is taken as saturated (at least {share:.0%})."
    else:
        kpa = (defaults.suction_dry_edge_kpa, defaults.suction_best_kpa, defaults.suction_wet_edge_kpa)
        low, best, high = (float(water_content(-1000.0 * k, curve, soil_tail())) for k in kpa)
        theta = Spread(low=low, best=best, high=high)
        note = (
            f"No water content was given: the {soil.name} is taken as field-drained ({kpa[1]:g} kPa; "
            f"between {kpa[0]:g} and {kpa[2]:g} kPa)."
        )
    scale = _WATER_KG_PER_M3 / curve.dry_density_kg_per_m3
    return Spread(**{edge: value * scale for edge, value in _edges(theta)}), [note], curve.source


def _dry_density(
    own: float, likely: bool, measured: float | None, retention: SoilRetention | None
) -> tuple[float, str]:
    """Dry density that turns water by mass into water by volume, and the sentence about it."""
    if retention is None:
        return own, ""
    if measured is None:
        return retention.dry_density_kg_per_m3, ""
    if likely:
        return own, f"Pores by the block's own dry density, {own:.0f} kg/m³."
    mean = retention.dry_density_kg_per_m3
    return mean, f"Pores by the class's mean dry density, {mean:.0f} kg/m³, as the block's own is in question."


def _overfull_question(asked: Asked, own: float, by_mass: float, likely: bool) -> list[Question]:
    """More water than the pores hold, when it was measured and the density is not already in question."""
    grains = soil_constants().particle_density_kg_per_m3
    if asked.inputs.water_content is None or not likely or own >= grains:
        return []
    filled = soil_phases(own, by_mass, grains).saturation
    if filled <= _OVERFULL:
        return []
    text = (
        f"{asked.inputs.find}: {by_mass:g} kg of water per kg dry would fill the pores {filled:.2f} times. "
        "Is the water content (water over dry mass), the mass or a size wrong?"
    )
    choices = ("water over wet mass was meant", "wrong mass", "wrong size", "organic soil")
    return [Question(about="water_content", text=text, choices=choices)]


def _no_water_question(asked: Asked, soil: Soil) -> Question:
    text = f"{asked.inputs.find}: {soil.name} has no retention curve here. What is its water content (kg/kg dry)?"
    return Question(about="water_content", text=text)


def _around(value: float, share: float) -> Spread:
    return Spread(low=value * (1 - share), best=value, high=value * (1 + share))


def _share(mass_kg: float, by_mass: float) -> float:
    return mass_kg * by_mass / (1.0 + by_mass)


def _edges(spread: Spread) -> tuple[tuple[str, float], ...]:
    return (("low", spread.low), ("best", spread.best), ("high", spread.high))
