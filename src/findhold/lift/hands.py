"""How many hands: both measures at both ends of every leg, for each size of team, and the smallest that will do."""

from __future__ import annotations

from dataclasses import dataclass, replace

from findhold.errors import BadInput
from findhold.lift.carry import Centre, Masses
from findhold.lift.guideline import Filter, Sweep, filter_for
from findhold.lift.inputs import Leg, LiftInputs, Size, Spread
from findhold.lift.niosh import Coupling, Hold, Lift, Niosh, Pace, lifting_index, reach_estimate_cm
from findhold.tables.lifting import equation, team_shares


@dataclass(frozen=True, slots=True, kw_only=True)
class Team:
    """One size of team on one leg, at the heavy end of the mass.

    capability is what the team lifts over what one of it would [1]; limit_kg and filter_kg are recommended limit and
    filter for the team; index [1] and filter_use [fraction] the load over them; index None = no load is recommended.
    """

    people: int
    capability: float
    """[1]"""
    reach_mm: float
    limit_kg: float
    filter_kg: float
    index: float | None
    filter_use: float
    """[fraction]"""
    within: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Both measures for one person with a given hold: lifting equation, filter, and the filter's other column."""

    reach_mm: float
    niosh: Niosh
    filter: Filter
    other: Filter


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """One leg worked out: hands at both ends, coupling, both measures alone and at an end of the load with others.

    people are the smallest teams for the low, best and high mass; None = none of those at hand.
    """

    leg: Leg
    load_mm: Size
    mass_kg: Spread
    reach_estimated: bool
    hands_mm: tuple[float, float]
    coupling: Coupling
    coupling_why: str
    alone: Measured
    shared: Measured
    teams: tuple[Team, ...]
    people_low: int | None
    people_best: int | None
    people_high: int | None

    @property
    def use(self) -> float:
        """The harder of both measures for one person at the heavy end [1]; infinite where no load is recommended."""
        return hardest(self.teams[0])

    @property
    def told(self) -> Measured:
        """The measures that fit the team that is planned."""
        return self.alone if self.people_high == 1 else self.shared


def hardest(team: Team) -> float:
    """The harder of both measures for a team [1]."""
    return max(float("inf") if team.index is None else team.index / equation().goal_index, team.filter_use)


def work_leg(inputs: LiftInputs, leg: Leg, masses: Masses, load_mm: Size, centre: Centre) -> Worked:
    """Both measures on one leg, and the smallest team that keeps within both.

    Not for carrying: how far it is carried is told among the warnings.

    Parameters
    ----------
    inputs, leg : the request and the leg. masses : masses of block and box. load_mm : outside of what is lifted.
    centre : its centre of gravity.

    Raises
    ------
    BadInput : a leg lifts a box that is not there, or a figure cannot be.

    Source: niosh-rnle-2021; hse-lifting-filter; hse-team-handling. That a team's share also holds for the recommended
    limit, and that each of a team stands at an end of the load and reaches less far, are judgements.
    """
    mass = masses.block_kg if leg.load == "block" else masses.box_kg
    if mass is None:
        raise BadInput("this leg lifts a box, and there is none", where=leg.name, do="Give [box], or leave the leg out")
    coupling, why = coupling_for(inputs, leg, load_mm, centre)
    alone = _measured(inputs, leg, min(load_mm[0], load_mm[1]), coupling, mass.best)
    shared = _measured(inputs, leg, inputs.defaults.team_hold_mm, coupling, mass.best)
    least = least_people(inputs, leg, mass)
    teams = {edge: _teams(getattr(mass, edge), alone, shared, inputs.people) for edge in ("low", "best", "high")}
    people = {edge: _smallest(found, least) for edge, found in teams.items()}
    return Worked(
        leg=leg,
        load_mm=load_mm,
        mass_kg=mass,
        reach_estimated=leg.reach_mm is None,
        hands_mm=_hands_mm(inputs, leg),
        coupling=coupling,
        coupling_why=why,
        alone=alone,
        shared=shared,
        teams=teams["high"],
        people_low=people["low"],
        people_best=people["best"],
        people_high=people["high"],
    )


def coupling_for(inputs: LiftInputs, leg: Leg, load_mm: Size, centre: Centre) -> tuple[Coupling, str]:
    """How well hands hold the load, and why; when in doubt the poorer.

    Source: niosh-rnle-2021, table 6 with its notes; a centre counts as aside by a judgement of lift_defaults.
    """
    by, front, tall = equation(), max(load_mm[0], load_mm[1]) / 10, load_mm[2] / 10
    aside = max(abs(off) / side for off, side in zip(centre.aside_mm, load_mm[:2], strict=True))
    if inputs.handling.gloves:
        return "poor", "gloves"
    if leg.load == "block":
        return (
            ("poor", "a block on a board") if tall > by.tall_best_cm or front > by.front_best_cm else ("fair", "board")
        )
    if inputs.box is not None and inputs.box.wet:
        return "poor", "water moves in it"
    if front > by.front_best_cm:
        return "poor", f"longer than {by.front_best_cm:g} cm"
    if tall > by.tall_best_cm:
        return "poor", f"higher than {by.tall_best_cm:g} cm"
    if aside > inputs.defaults.cog_aside_share:
        return "poor", "centre of gravity aside"
    if inputs.handling.handles != "none":
        return "good", inputs.handling.handles
    return "fair", "fingers bent under it"


def smallest_team(legs: tuple[Worked, ...], edge: str) -> int | None:
    """People for the whole way at one edge of the mass (low, best, high); None where a leg has no team."""
    counts = [getattr(leg, f"people_{edge}") for leg in legs]
    return None if any(count is None for count in counts) else max(counts, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """People for each load: the block as it is lowered into its box, and the packed box; None = no team at hand."""

    block_people: int | None
    box_people: int | None


def hands_of(legs: tuple[Worked, ...]) -> Hands:
    """People by load, over every leg that lifts it.

    A block without a leg of its own, or without a team out of the ground, is lowered by those who carry its box: it is
    lighter, and lifted no farther.
    """
    named = {load: tuple(leg for leg in legs if leg.leg.load == load) for load in ("block", "box")}
    box = smallest_team(named["box"], "high")
    block = smallest_team(named["block"], "high")
    return Hands(block_people=box if block is None else block, box_people=box)


def least_people(inputs: LiftInputs, leg: Leg, mass: Spread) -> int:
    """Fewest a leg takes whatever it weighs: a block out of the ground wants one to slide the board, one to steady."""
    from_ground = leg.load == "block" and leg.trench
    return inputs.defaults.block_people if from_ground and mass.high > inputs.defaults.block_alone_kg else 1


def planned_team(worked: Worked) -> Team:
    """The team that is planned on a leg, or the largest at hand when none will do."""
    return next((team for team in worked.teams if team.people == worked.people_high), worked.teams[-1])


def with_leg(inputs: LiftInputs, leg: Leg, **changes: object) -> LiftInputs:
    """The request with one leg changed."""
    changed = replace(leg, **changes)  # type: ignore[arg-type]  # the fields of a leg
    return replace(inputs, legs=tuple(changed if one is leg else one for one in inputs.legs))


def _hands_mm(inputs: LiftInputs, leg: Leg) -> tuple[float, float]:
    """Height of the hands at both ends: under the base, or at the grip of a box."""
    grip = inputs.defaults.grip_mm if leg.load == "box" else 0.0
    return (leg.from_mm + grip, leg.to_mm + grip)


def _measured(inputs: LiftInputs, leg: Leg, depth_mm: float, coupling: Coupling, mass_kg: float) -> Measured:
    """Both measures for hands that hold the load over a depth, or reach as far as is stated."""
    hands = _hands_mm(inputs, leg)
    twist = inputs.defaults.twist_deg if leg.twist_deg is None else leg.twist_deg
    reach = [
        leg.reach_mm if leg.reach_mm is not None else 10.0 * reach_estimate_cm(depth_mm / 10.0, height / 10.0)
        for height in hands
    ]
    ends = [Hold(reach_cm=far / 10, height_cm=at / 10, twist_deg=twist) for far, at in zip(reach, hands, strict=True)]
    pace = Pace(lifts_per_min=inputs.lifts_per_min, hours=inputs.hours)
    lift = Lift(mass_kg=mass_kg, origin=ends[0], destination=ends[1], coupling=coupling, pace=pace, careful=leg.careful)
    sweep = Sweep(
        low_mm=min(hands),
        high_mm=max(hands),
        reach_mm=max(reach),
        twist_deg=twist,
        lifts_per_min=inputs.lifts_per_min,
    )
    close = inputs.defaults.close_reach_mm
    return Measured(
        reach_mm=max(reach),
        niosh=lifting_index(lift),
        filter=filter_for(sweep, inputs.who, close),
        other=filter_for(sweep, "men" if inputs.who == "women" else "women", close),
    )


def _teams(mass_kg: float, alone: Measured, shared: Measured, people: int) -> tuple[Team, ...]:
    """Every size of team at hand for which a share is known."""
    found = []
    for count, share in team_shares().items():
        if count > max(people, 1):
            break
        by, capability = alone if count == 1 else shared, count * share
        limit, filter_kg = by.niosh.limit_kg * capability, by.filter.limit_kg * capability
        index = mass_kg / limit if limit > 0.0 else None
        use = mass_kg / filter_kg
        found.append(
            Team(
                people=count,
                capability=capability,
                reach_mm=by.reach_mm,
                limit_kg=limit,
                filter_kg=filter_kg,
                index=index,
                filter_use=use,
                within=index is not None and index <= equation().goal_index and use <= 1.0,
            )
        )
    return tuple(found)


def _smallest(teams: tuple[Team, ...], least: int) -> int | None:
    """The smallest team within both measures, of no fewer than `least`; None when there is none at hand."""
    return next((team.people for team in teams if team.within and team.people >= least), None)
