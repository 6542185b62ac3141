"""What would make a lift easier, each worked out anew and ranked; and which assumption decides most."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import isfinite

from findhold.lift.hands import Worked, hardest, least_people, planned_team, smallest_team, with_leg
from findhold.lift.inputs import LiftInputs
from findhold.lift.way import Way, work_way

_STEP_MM = 50.0
_HIGHEST_MM = 1900.0
_EASES = 0.95
"""A way that takes less than 5 % off is not worth the words."""
_FEWER_WORDS = {1: "one person", 2: "two people", 3: "three people"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Help:
    """Something that would help on one leg: people there, and people for the whole way (None = still no team).

    use_fraction is the harder of both measures for one person on that leg; None = no load is recommended for one.
    """

    leg: str
    text: str
    people: int | None
    people_way: int | None
    use_fraction: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Decides:
    """The assumption that moves the answer most: what, by how much, in words; share_fraction of the use it moves."""

    what: str
    share_fraction: float
    text: str


def helps(inputs: LiftInputs, way: Way, most: int = 6) -> tuple[Help, ...]:
    """What would help on the leg that decides: fewer people first, then the easier lift; at most `most` of them.

    Each is worked out anew from the changed request; one that eases by less than 5 % is left out.
    """
    found = []
    for place, worked in enumerate(way.legs):
        now = worked.people_high
        if now == least_people(inputs, worked.leg, worked.mass_kg):
            continue
        for text, changed in _changes(inputs, way, worked):
            after = work_way(changed, way)
            leg = after.legs[place]
            fewer = leg.people_high is not None and (now is None or leg.people_high < now)
            if fewer or leg.use < worked.use * _EASES:
                way_people = smallest_team(after.legs, "high")
                one = Help(
                    leg=worked.leg.name,
                    text=text,
                    people=leg.people_high,
                    people_way=way_people,
                    use_fraction=leg.use if isfinite(leg.use) else None,
                )
                found.append(one)
    found.sort(key=lambda one: (_or_none(one.people_way), _or_none(one.people), one.use_fraction or 99.0))
    return tuple(found[:most])


def _or_none(people: int | None) -> int:
    """People for ranking: no team ranks last."""
    return 99 if people is None else people


def decides(inputs: LiftInputs, way: Way) -> Decides:
    """Which assumption the answer hangs on most, by how far the harder measure moves when it is otherwise."""
    worked = max(way.legs, key=lambda leg: (_or_none(leg.people_high), hardest(planned_team(leg))))
    place, people = way.legs.index(worked), planned_team(worked).people
    base, mass = hardest(planned_team(worked)), worked.mass_kg
    tried = [("mass", mass.low / mass.high, _mass_words(inputs, worked))]
    for what, words, changed in _otherwise(inputs, worked):
        team = next(one for one in work_way(changed, way).legs[place].teams if one.people == people)
        ratio = hardest(team) / base if isfinite(base) else float(not isfinite(hardest(team)))
        tried.append((what, ratio, words))
    what, ratio, words = min(tried, key=lambda one: one[1])
    return Decides(what=what, share_fraction=1.0 - ratio, text=f"{words}, {_easier(1.0 - ratio)}.")


def _easier(share: float) -> str:
    """By how much the lift would be easier by the harder measure, in words."""
    if share <= 0.0:
        return "the lift would be no easier"
    if share >= 1.0:
        return "a team could be named at all"
    return f"the lift would count as {share:.0%} easier"


def _mass_words(inputs: LiftInputs, worked: Worked) -> str:
    how = "weighed" if inputs.block.mass_kg is not None else "not weighed"
    return f"The mass ({how}): were it {worked.mass_kg.low:.1f} instead of {worked.mass_kg.high:.1f} kg"


def _otherwise(inputs: LiftInputs, worked: Worked) -> Iterator[tuple[str, str, LiftInputs]]:
    """Assumptions taken the other way, on one leg."""
    leg, spread = worked.leg, inputs.defaults.reach_spread_mm
    if worked.reach_estimated:
        nearer = (worked.alone if planned_team(worked).people == 1 else worked.shared).reach_mm - spread
        words = f"The reach (estimated): were it {nearer:.0f} instead of {nearer + spread:.0f} mm"
        yield "reach", words, with_leg(inputs, leg, reach_mm=nearer)
    if inputs.who == "women":
        words = "The filter's column (women, so that anyone may lift): were it the men's"
        yield "column", words, replace(inputs, handling=replace(inputs.handling, guideline="men"))
    lower = (leg.from_mm + leg.to_mm) / 2
    words = f"The height of the end of the lift: were it {lower:g} instead of {leg.to_mm:g} mm"
    yield "height", words, with_leg(inputs, leg, to_mm=lower)


def _changes(inputs: LiftInputs, way: Way, worked: Worked) -> Iterator[tuple[str, LiftInputs]]:
    """Changes that could help on one leg, with their words."""
    leg = worked.leg
    yield from _heights(inputs, way, worked)
    if leg.load == "box" and leg.from_mm != leg.to_mm:
        words = f"a trolley or table raised to {leg.to_mm:g} mm and slide it across: no lifting on the way up"
        yield words, with_leg(inputs, leg, from_mm=leg.to_mm)
    yield from _reaches(inputs, way, worked)
    yield from _grips(inputs, worked)
    yield from _lighter(inputs, worked)


def _heights(inputs: LiftInputs, way: Way, worked: Worked) -> Iterator[tuple[str, LiftInputs]]:
    """The nearest other height, or shelf of the list, at which fewer people do."""
    leg = worked.leg
    least = inputs.defaults.shelf_least_mm
    grid = [least + _STEP_MM * step for step in range(int((_HIGHEST_MM - least) / _STEP_MM) + 1)]
    if leg.load == "box":
        heights = sorted(inputs.shelf.heights_mm or grid, key=lambda height: abs(height - leg.to_mm))
        found = _first_better(inputs, way, worked, "to_mm", heights)
        if found is not None:
            side = "or lower" if found < leg.to_mm and not inputs.shelf.heights_mm else ""
            named = "the shelf at" if inputs.shelf.heights_mm else "a shelf at"
            yield f"{named} {found:g} mm {side}".rstrip(), with_leg(inputs, leg, to_mm=found)
    elif leg.trench:
        heights = sorted(grid, key=lambda height: abs(height - leg.from_mm))
        found = _first_better(inputs, way, worked, "from_mm", heights)
        if found is not None:
            words = f"stand {found - leg.from_mm:g} mm lower beside the pedestal, the edge made firm"
            yield words, with_leg(inputs, leg, from_mm=found, to_mm=max(found, leg.to_mm))


def _first_better(inputs: LiftInputs, way: Way, worked: Worked, end: str, heights: list[float]) -> float | None:
    """The first height at which the leg takes fewer people than now."""
    now = _or_none(worked.people_high)
    place = inputs.legs.index(worked.leg)
    for height in heights:
        changes = {end: height}
        if end == "from_mm":
            changes["to_mm"] = max(height, worked.leg.to_mm)
        people = work_way(with_leg(inputs, worked.leg, **changes), way).legs[place].people_high
        if people is not None and people < now:
            return height
    return None


def _reaches(inputs: LiftInputs, way: Way, worked: Worked) -> Iterator[tuple[str, LiftInputs]]:
    """The farthest reach at which fewer people do, as the depth of a box."""
    leg, now, place = worked.leg, worked.people_high or 9, inputs.legs.index(worked.leg)
    reach = 10.0 * (worked.alone.reach_mm // 10.0)
    while reach >= 250.0:
        changed = with_leg(inputs, leg, reach_mm=reach)
        people = work_way(changed, way).legs[place].people_high
        if people is not None and people < now:
            depth = f": a load no deeper than {2 * (reach - 200.0):g} mm from front to back" if reach > 300.0 else ""
            yield f"hands at most {reach:g} mm in front of the ankles{depth}", changed
            return
        reach -= 10.0


def _grips(inputs: LiftInputs, worked: Worked) -> Iterator[tuple[str, LiftInputs]]:
    handling, leg = inputs.handling, worked.leg
    if handling.gloves:
        yield (
            "thin gloves with a good grip, or bare dry hands on a clean box",
            replace(inputs, handling=replace(handling, gloves=False)),
        )
    if leg.load == "box" and handling.handles == "none" and worked.coupling == "fair":
        yield "good handles or cut-outs on the box", replace(inputs, handling=replace(handling, handles="handles"))
    if (inputs.defaults.twist_deg if leg.twist_deg is None else leg.twist_deg) > 0:
        yield "turn the feet, not the trunk: no twist at either end", with_leg(inputs, leg, twist_deg=0.0)


def _lighter(inputs: LiftInputs, worked: Worked) -> Iterator[tuple[str, LiftInputs]]:
    """Half the bed, and weighing what was only reckoned."""
    if worked.leg.load == "box" and inputs.box is not None and inputs.box.bed_kg > 0:
        half = inputs.box.bed_kg / 2
        yield f"a bed half as heavy ({half:.1f} kg less)", replace(inputs, box=replace(inputs.box, bed_kg=half))


def people_words(people: int | None) -> str:
    """A number of people in words."""
    return "no team at hand" if people is None else _FEWER_WORDS.get(people, f"{people} people")
