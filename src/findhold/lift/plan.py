"""Plan a lift: how many hands, which board, where the weight acts, what stands in the way, what would help."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.errors import BadInput, Mistake, Mistakes
from findhold.lift.board import BoardOption
from findhold.lift.carry import Centre, Masses, Obstacle, door_obstacles, shelf_obstacles
from findhold.lift.hands import Hands, Worked, hands_of, planned_team, smallest_team
from findhold.lift.helps import Decides, Help, decides, helps, people_words
from findhold.lift.inputs import FOOTINGS, HANDLES, LiftInputs
from findhold.lift.said import assumptions, cautions, next_steps, sources, steps, unsteady, warnings
from findhold.lift.way import Way, work_way
from findhold.rounding import told_mass, told_span

_MOST_MM = 10_000.0
_MOST_KG = 2_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftPlan:
    """The plan of a lift. It is made for the heavy end of the mass; a filter for assessment, never a safe load.

    people is the smallest team within both measures on every leg (None = none at hand); people_low and people_best
    the same for the light end and the best mass. undercut_mm is the strip cut away ahead of the board.
    """

    title: str
    can_lift: bool
    people: int | None
    people_low: int | None
    people_best: int | None
    who: str
    """Column of the filter the plan answers to."""
    masses: Masses
    board: BoardOption | None
    boards: tuple[BoardOption, ...]
    board_stiff: bool | None
    """Whether the board taken sags no more than allowed; None without a board."""
    undercut_mm: float | None
    block_centre: Centre
    block_unsteady: bool
    """Whether the block by itself goes over early, at less than twice the tilt of steps or a slope."""
    box_centre: Centre | None
    hands: Hands
    legs: tuple[Worked, ...]
    obstacles: tuple[Obstacle, ...]
    helps: tuple[Help, ...]
    decides: Decides
    steps: tuple[str, ...]
    """Order of lifting the block; empty when none is lifted from the ground."""
    next_steps: tuple[str, ...]
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    assumptions: tuple[str, ...]
    sources: tuple[str, ...]


def plan_lift(inputs: LiftInputs) -> LiftPlan:
    """Plan the lift of a block and of its packed box.

    Not a risk assessment, not a legal limit, not a safe load: two filters that say where to look further.

    Parameters
    ----------
    inputs : the load, the way, the people and what is at hand.

    Returns
    -------
    LiftPlan; `can_lift` is False when no team at hand keeps within both measures, when no board listed is stiff enough
    for the block, or when a door or shelf stands in the way.

    Raises
    ------
    BadInput, Mistakes : figures that cannot be, each listed. UnknownName : a board material that is not in the table.

    Source: tables named in findhold.tables.lifting; docs/models/lifting.md.
    """
    check_inputs(inputs)
    way = work_way(inputs)
    people = smallest_team(way.legs, "high")
    found = _obstacles(inputs, way)
    stiff = None if not way.boards else _stiff(inputs, way.board)
    return LiftPlan(
        title=inputs.title,
        can_lift=people is not None and stiff is not False and not any(one.stops for one in found),
        people=people,
        people_low=smallest_team(way.legs, "low"),
        people_best=smallest_team(way.legs, "best"),
        who=inputs.who,
        masses=way.masses,
        board=way.board,
        boards=way.boards,
        board_stiff=stiff,
        undercut_mm=undercut_mm(inputs) if way.boards else None,
        block_centre=way.block,
        block_unsteady=unsteady(inputs, way.block),
        box_centre=way.box,
        hands=hands_of(way.legs),
        legs=way.legs,
        obstacles=found,
        helps=helps(inputs, way),
        decides=decides(inputs, way),
        steps=steps(inputs, way, undercut_mm(inputs)),
        next_steps=next_steps(inputs, way, people, found),
        warnings=warnings(inputs, way, people),
        cautions=cautions(inputs, way, people),
        assumptions=assumptions(inputs, way),
        sources=sources(inputs, way),
    )


def lift_lines(plan: LiftPlan) -> tuple[str, ...]:
    """At most six short lines for the packing sheet: people, way, board, centre of gravity, what helps, caution."""
    hardest = max(plan.legs, key=lambda leg: (99 if leg.people_high is None else leg.people_high, leg.use))
    team = planned_team(hardest)
    lines = [
        " ".join(_load_words(leg) for leg in _hardest_by_load(plan.legs)),
        f"{hardest.leg.name[:1].upper()}{hardest.leg.name[1:]}: for {people_words(team.people)} the filter says "
        f"{team.filter_kg:.3g} kg ({plan.who}), the lifting equation {team.limit_kg:.3g} kg.",
    ]
    if plan.board is not None and plan.board.thickness_mm is not None:
        length, width = plan.board.size_mm
        lines.append(
            f"Board: {plan.board.material} {plan.board.thickness_mm:g} mm, {length:.0f} x {width:.0f} mm, "
            f"{plan.board.mass_kg:.1f} kg, sag 1/{plan.board.bending.sag_length_over:.0f} of the block."
        )
    centre = plan.box_centre or plan.block_centre
    alone = f" The block alone tips at {plan.block_centre.tip_deg:.0f}°: steady it." if plan.block_unsteady else ""
    lines.append(f"Centre of gravity{' of the box' if plan.box_centre else ''}: {centre_words(centre)}.{alone}")
    if plan.helps:
        best = plan.helps[0]
        lines.append(f"Helps ({best.leg}): {best.text}: {people_words(best.people)}.")
    lines.append("A filter, not a limit, not a safe load. Pregnancy, ill health, cold, wet, gloves: assess first.")
    return tuple(lines)


def hands_words(inputs: LiftInputs) -> tuple[Hands, str]:
    """People by load, and what the front of a sheet says of it; empty where one person does for both."""
    check_inputs(inputs)
    legs = work_way(inputs).legs
    hands = hands_of(legs)
    told = tuple(_load_words(leg) for leg in _hardest_by_load(legs))
    return hands, "" if all(leg.people_high == 1 for leg in legs) else f"Lift: {' '.join(told)}"


def _hardest_by_load(legs: tuple[Worked, ...]) -> tuple[Worked, ...]:
    """The leg of each load that takes most people, the packed box first."""
    found = {}
    for leg in sorted(legs, key=lambda leg: (99 if leg.people_high is None else leg.people_high, leg.use)):
        found[leg.leg.load] = leg
    return tuple(found[load] for load in ("box", "block") if load in found)


def _load_words(leg: Worked) -> str:
    """A load by name, its mass, who lifts it and where that is hardest."""
    mass, name = leg.mass_kg, "Packed box" if leg.leg.load == "box" else "Block on its board"
    return f"{name} {told_mass(mass.best)} ({told_span(mass.low, mass.high)}): {people_words(leg.people_high)}."


def centre_words(centre: Centre) -> str:
    """A centre of gravity in words: how far aside, how high, when it tips."""
    where = centre.side or "in the middle"
    known = f" ({centre.how})" if centre.how else ""
    tips = f"tips at {centre.tip_deg:.0f}°" if centre.tip_deg > 0.0 else "does not stand by itself"
    return f"{where}, {centre.at_mm[2]:.0f} mm above the base, {tips}{known}"


def undercut_mm(inputs: LiftInputs) -> float:
    """Widest strip to cut away under a block ahead of the board [mm]."""
    return inputs.defaults.undercut_share * inputs.block.size_mm[0]


def check_inputs(inputs: LiftInputs) -> None:
    """Refuse figures that cannot be, all at once.

    Raises
    ------
    BadInput : one thing is wrong. Mistakes : several are.
    """
    wrong = [*_figures(inputs), *_words(inputs)]
    mistakes = [
        Mistake(file=inputs.title, row=None, column=name, value=value, wrong="cannot be", allowed=allowed)
        for name, value, allowed in wrong
    ]
    if len(mistakes) == 1:
        one = mistakes[0]
        raise BadInput(
            f"{one.column} {one.value} cannot be", where=inputs.title, limit=one.allowed, do="Enter it again"
        )
    if mistakes:
        raise Mistakes(mistakes=mistakes)


def _figures(inputs: LiftInputs) -> list[tuple[str, str, str]]:
    """Figures out of range: name, value, allowed."""
    checks: list[tuple[str, float | None, float, float, str]] = []
    for place, side in enumerate(inputs.block.size_mm):
        checks.append((f"block side {place + 1}", side, 0.1, _MOST_MM, "mm"))
    checks.append(("block mass", inputs.block.mass_kg, 1e-6, _MOST_KG, "kg"))
    if inputs.box is not None:
        for place, side in enumerate(inputs.box.outside_mm):
            checks.append((f"box outside {place + 1}", side, 0.1, _MOST_MM, "mm"))
        checks.append(("empty box", inputs.box.tare_kg, 0.0, _MOST_KG, "kg"))
        checks.append(("bed", inputs.box.bed_kg, 0.0, _MOST_KG, "kg"))
    for leg in inputs.legs:
        checks += [
            (f"{leg.name}: from", leg.from_mm, 0.0, 3000.0, "mm"),
            (f"{leg.name}: to", leg.to_mm, 0.0, 3000.0, "mm"),
            (f"{leg.name}: reach", leg.reach_mm, 1.0, 2000.0, "mm"),
            (f"{leg.name}: twist", leg.twist_deg, 0.0, 180.0, "degrees"),
            (f"{leg.name}: carry", leg.carry_m, 0.0, 10_000.0, "m"),
            (f"{leg.name}: door", leg.door_mm, 1.0, 10_000.0, "mm"),
        ]
    checks += [
        ("people", float(inputs.people), 1.0, 12.0, "people"),
        ("lifts a minute", inputs.lifts_per_min, 0.0, 60.0, "a minute"),
        ("hours", inputs.hours, 1e-6, 8.0, "h"),
        ("board thickness", inputs.board.thickness_mm, 0.5, 100.0, "mm"),
        ("shelf's rated load", inputs.shelf.rated_kg, 0.0, 1e6, "kg"),
        ("load on the shelf", inputs.shelf.taken_kg, 0.0, 1e6, "kg"),
    ]
    checks += [("shelf height", height, 0.0, 3000.0, "mm") for height in inputs.shelf.heights_mm]
    return [
        (name, f"{value:g}", f"{low:g} to {high:g} {unit}")
        for name, value, low, high, unit in checks
        if value is not None and not low <= value <= high
    ]


def _words(inputs: LiftInputs) -> list[tuple[str, str, str]]:
    """Words that are none of those known."""
    found: list[tuple[str, str, tuple[str, ...]]] = [
        ("filter column", inputs.who, ("women", "men")),
        ("handles", inputs.handling.handles, HANDLES),
    ]
    found += [(f"{leg.name}: footing", leg.footing, FOOTINGS) for leg in inputs.legs]
    found += [(f"{leg.name}: load", leg.load, ("block", "box")) for leg in inputs.legs]
    return [(name, repr(value), ", ".join(known)) for name, value, known in found if value not in known]


def _stiff(inputs: LiftInputs, board: BoardOption | None) -> bool:
    if board is None or board.thickness_mm is None:
        return False
    return board.bending.sag_length_over >= inputs.defaults.sag_length_over


def _obstacles(inputs: LiftInputs, way: Way) -> tuple[Obstacle, ...]:
    """Doors and shelves that stand in the way of the team that is planned."""
    found: list[Obstacle] = []
    for leg in way.legs:
        found += door_obstacles(inputs, leg.leg, leg.load_mm, leg.people_high or inputs.people)
    if inputs.box is not None and way.masses.box_kg is not None:
        found += shelf_obstacles(inputs, inputs.box, way.masses.box_kg)
    return tuple(found)
