"""What is said of a lift: warnings where the measures are not valid, cautions, steps, what to do next."""

from __future__ import annotations

from collections.abc import Sequence

from findhold.lift.carry import Centre, Obstacle, shelf_words
from findhold.lift.hands import Worked
from findhold.lift.inputs import LiftInputs
from findhold.lift.way import Way
from findhold.tables.lifting import block_lift_steps, equation, lift_cautions, stature_scales, validity_words

_COLD_C = 15.0
"""A place colder than this counts as cold for the cautions."""
_STEPS_M = 2.0
"""One or two steps."""


def warnings(inputs: LiftInputs, way: Way, people: int | None) -> tuple[str, ...]:
    """Where a measure is not valid for this lift, and what of the load is out of the way.

    Source: niosh-rnle-2021, section 1.2; the other warnings are judgements.
    """
    words, said = validity_words(), []
    by, handling = equation(), inputs.handling
    if any(leg.trench for leg in inputs.legs):
        said.append(words["trench"])
    said += [words["slippery"] for leg in inputs.legs if leg.footing != "firm"][:1]
    if handling.temp_c is not None and not by.temp_least_c <= handling.temp_c <= by.temp_most_c:
        said.append(words["temperature"].format(f"{handling.temp_c:g} °C"))
    if handling.rh is not None and not by.rh_least <= handling.rh <= by.rh_most:
        said.append(words["humidity"].format(f"{handling.rh:.0%}"))
    if inputs.box is not None and inputs.box.wet:
        said.append(words["unstable"])
    for leg in inputs.legs:
        if leg.carry_m is not None and leg.carry_m > _STEPS_M:
            said.append(words["carry"].format(f"{leg.carry_m:g} m"))
    if people is not None and people > 1:
        said.append(words["team"])
    said += [line for leg in way.legs for line in _zone_words(inputs, leg)]
    said += _centre_words(inputs, way)
    return tuple(dict.fromkeys(said))


def cautions(inputs: LiftInputs, way: Way, people: int | None) -> tuple[str, ...]:
    """Cautions that belong to this lift."""
    temp_c = inputs.handling.temp_c
    holds = {
        "always": True,
        "trench": any(leg.trench for leg in inputs.legs),
        "cold": temp_c is not None and temp_c < _COLD_C,
        "team": people is None or people > 1,
        "slope": any(leg.footing == "steps" for leg in inputs.legs),
        "box": way.box is not None,
    }
    return tuple(text for when, text in lift_cautions() if holds[when])


def steps(inputs: LiftInputs, way: Way, strip_mm: float) -> tuple[str, ...]:
    """The order of lifting a block from the ground on its board; empty when none is."""
    if way.board is None or not any(leg.load == "block" and leg.trench for leg in inputs.legs):
        return ()
    thick = way.board.thickness_mm
    named = f"the board ({way.board.material}{'' if thick is None else f', {thick:g} mm'})"
    lifted = [leg.people_high for leg in way.legs if leg.leg.load == "block"]
    many = next((f"{count} people" for count in lifted if count is not None), "as many as the assessment says")
    filled = (step.text.format(strip=f"{strip_mm:.0f}", board=named, people=many) for step in block_lift_steps())
    return tuple(f"{text} [hands: {step.hands}]" for text, step in zip(filled, block_lift_steps(), strict=True))


def unsteady(inputs: LiftInputs, centre: Centre) -> bool:
    """Whether a load goes over early: at less than twice the tilt a carried box is taken to see (judgement)."""
    return centre.tip_deg < inputs.defaults.tilt_deg * 2


def next_steps(inputs: LiftInputs, way: Way, people: int | None, found: Sequence[Obstacle]) -> tuple[str, ...]:
    """What to do next, the most pressing first."""
    said = [one.text for one in found if one.stops]
    if people is None:
        said.append(
            "No team at hand keeps within both measures: do not lift it by hand so. Use an aid (hoist, stacker, "
            "trolley with slides), make it lighter, or have a competent person assess it."
        )
    if inputs.box is None:
        said.append("Only the block's own lift is told here: plan its box, then ask again for the way to the shelf.")
    if inputs.block.mass_kg is None:
        said.append("Weigh the block on its board as soon as it is free, and plan again.")
    if way.boards and way.board is None:
        said.append("No board listed is stiff enough: hold it on four edges (a frame), or use two boards.")
    said += [one.text for one in found if not one.stops]
    if any(leg.leg.load == "box" and leg.leg.door_mm is None for leg in way.legs):
        said.append("Measure the narrowest door on the way (door_mm), and walk the way empty first.")
    most_m = inputs.defaults.carry_most_m
    for leg in inputs.legs:
        if leg.carry_m is not None and leg.carry_m > most_m:
            said.append(
                f"{leg.name}: {leg.carry_m:g} m is a long carry. Set down and rest every {most_m:g} m on places made "
                "ready before, or take a trolley on a smooth floor."
            )
    asked = shelf_words(inputs.shelf) if way.box is not None else None
    return (*said, *([asked] if asked else []))


def assumptions(inputs: LiftInputs, way: Way) -> tuple[str, ...]:
    """What was taken without being stated."""
    defaults = inputs.defaults
    said = [*inputs.assumed, f"Mass: {way.masses.words}."]
    if any(leg.reach_estimated for leg in way.legs):
        said.append("Reach is estimated: 20 cm (25 cm with the hands under 25 cm) and half the load's depth.")
    if inputs.handling.lifts_per_min is None:
        said.append(f"Pace: {inputs.lifts_per_min:g} lifts a minute for {inputs.hours:g} h (not stated; judgement).")
    if inputs.handling.guideline is None:
        said.append(f"The filter's column for {inputs.who} answers (setting; the other column is shown beside it).")
    said.append(f"Close means hands within {defaults.close_reach_mm:g} mm of the ankles, beyond that far (judgement).")
    if not way.block.known:
        where = "taken in its middle" if inputs.block.cog_mm is None else "that of its profile, all of one density"
        said.append(f"The block's centre of gravity is {where}: nobody measured it.")
    if way.boards:
        said.append(
            f"Board: {defaults.board_overhang_mm:g} mm beyond the block at each end, softer end of the modulus, sag at "
            f"most 1/{defaults.sag_length_over:g} of the block's length (judgement)."
        )
    return tuple(said)


def sources(inputs: LiftInputs, way: Way) -> tuple[str, ...]:
    """Keys of the sources the plan rests on."""
    keys = ["niosh-rnle-2021", "hse-lifting-filter", "hse-team-handling", "lm-mmh-2021", "stature-british"]
    if way.board is not None:
        keys.append(way.board.source)
    if inputs.block.mass_kg is None and inputs.block.density_kg_per_m3 is not None:
        keys.append("organic-soils-table-3-5")
    return (*keys, "findhold-judgement")


def _zone_words(inputs: LiftInputs, worked: Worked) -> list[str]:
    """Where a small or a tall person would have a smaller figure."""
    own = worked.told.filter
    found = min(own.short_kg, own.tall_kg)
    if found >= own.limit_kg:
        return []
    small = own.short_kg < own.limit_kg
    scale = stature_scales(inputs.who)[0 if small else 1]
    who = "small" if small else "tall"
    return [
        f"{worked.leg.name}: for a {who} person ({scale:.0%} of the mean height) the hands reach another zone and the "
        f"filter's mass is {found:g} kg instead of {own.limit_kg:g} kg."
    ]


def _centre_words(inputs: LiftInputs, way: Way) -> list[str]:
    """A load that tips early, or is heavier at one end."""
    said = []
    for name, centre in (("The block on its board", way.block), ("The packed box", way.box)):
        if centre is None:
            continue
        on = "" if centre is way.box or inputs.block.stands_mm is None else _foot_words(inputs.block.stands_mm)
        if centre.tip_deg <= 0.0:
            said.append(f"{name} does not stand by itself{on}: hold it until its sides are supported.")
        elif unsteady(inputs, centre):
            said.append(
                f"{name} tips at {centre.tip_deg:.0f}°{on}: keep it level, no steps, a hand at its heavy side; steady "
                "it on both sides whenever it is set down."
            )
        if centre.side and centre.share_heavy_end > 0.55:
            said.append(
                f"{name} is heavier at one end ({centre.share_heavy_end:.0%} of its mass): {centre.side}; the stronger "
                "person there, and print it on the label."
            )
    return said


def _foot_words(stands_mm: tuple[float, float, float, float]) -> str:
    return f" on its foot of {stands_mm[1] - stands_mm[0]:.0f} x {stands_mm[3] - stands_mm[2]:.0f} mm"
