"""What a plan of a lift is asked from: the load, its way, who and what is at hand, and the editable defaults."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import Literal, cast

from findhold.tables.lifting import People
from findhold.tables.load import table

Size = tuple[float, float, float]
"""Length, width, height [mm]."""
Handles = Literal["none", "cut-outs", "handles"]
HANDLES: tuple[Handles, ...] = ("none", "cut-outs", "handles")
Footing = Literal["firm", "slippery", "steps"]
FOOTINGS: tuple[Footing, ...] = ("firm", "slippery", "steps")


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Low, best and high of one figure."""

    low: float
    best: float
    high: float

    def plus(self, other_value: float) -> Spread:
        """The figure with a certain one added."""
        return Spread(low=self.low + other_value, best=self.best + other_value, high=self.high + other_value)

    def wider(self, less_value: float, more_value: float) -> Spread:
        """The figure with its edges moved outwards by what may be less and more."""
        return Spread(low=self.low - less_value, best=self.best, high=self.high + more_value)


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftDefaults:
    """Figures a unit may change; what each means and rests on stands in the table lift_defaults.

    Besides those with a unit in their name: hours [h] of such lifting; guideline is the filter's column; lifts_per_min
    and mass_spread [fraction], sag_length_over, undercut_share and cog_aside_share are bare [1]; people and
    block_people are counts.
    """

    guideline: str
    bench_mm: float
    shelf_mm: float
    ground_mm: float
    shelf_least_mm: float
    shelf_clear_mm: float
    grip_mm: float
    twist_deg: float
    lifts_per_min: float
    hours: float
    people: int
    block_people: int
    block_alone_kg: float
    close_reach_mm: float
    team_hold_mm: float
    reach_spread_mm: float
    mass_spread: float
    damp_block_low_kg_per_m3: float
    damp_block_best_kg_per_m3: float
    damp_block_high_kg_per_m3: float
    board_overhang_mm: float
    sag_length_over: float
    undercut_share: float
    cog_aside_share: float
    hand_room_mm: float
    body_width_mm: float
    carry_most_m: float
    tilt_deg: float


@cache
def lift_defaults() -> LiftDefaults:
    """The defaults as shipped (table lift_defaults)."""
    rows = {row["name"]: row["value"] for row in table("lift_defaults").rows}
    words = {"guideline": rows.pop("guideline")}
    counts = {name: int(rows.pop(name)) for name in ("people", "block_people")}
    numbers = {name: float(value) for name, value in rows.items()}
    return LiftDefaults(**words, **counts, **numbers)  # type: ignore[arg-type]  # a missing row is an error at once


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """The block or find as it is lifted; mass_kg None = not weighed; cog_mm from its lower corner, None = not known."""

    size_mm: Size
    mass_kg: float | None = None
    volume_l: float | None = None
    cog_mm: Size | None = None
    cog_measured: bool = True
    """False: cog_mm is that of its profile at one density."""
    stands_mm: tuple[float, float, float, float] | None = None
    """What it stands on: from and to along its length, from and to across it [mm]; None = its whole base."""
    soil: str | None = None
    density_kg_per_m3: tuple[float, float] | None = None
    """Least and most a block of its soil could be [kg/m3]; None takes the default of a damp block."""
    loose: bool = False
    """A find without soil: its mass cannot be told from its size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """The closed box: outside, empty mass, and all in it besides the block, which stands in the middle of the plan."""

    name: str
    outside_mm: Size
    tare_kg: float
    bed_kg: float
    base_mm: float
    """Height of the block's base over the box's own outer base."""
    turn_deg: float = 0.0
    """How the block's length is turned from the box's, anticlockwise from above."""
    fill_spread_kg: tuple[float, float] = (0.0, 0.0)
    """How much less and how much more water it may hold than is counted in bed_kg [kg]."""
    wet: bool = False
    """Free water in it, that moves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One leg of the way: what is lifted, from which height to which (of the surface it stands on), and what is passed.

    reach_mm None = estimated from the depth of the load; carry_m and door_mm None = not stated.
    """

    name: str
    load: Literal["block", "box"]
    from_mm: float
    to_mm: float
    reach_mm: float | None = None
    twist_deg: float | None = None
    carry_m: float | None = None
    door_mm: float | None = None
    footing: Footing = "firm"
    trench: bool = False
    careful: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Handling:
    """How it is handled: grips, gloves, pace (lifts a minute for hours [h]), people; None = as the defaults say."""

    handles: Handles = "none"
    gloves: bool = False
    lifts_per_min: float | None = None
    hours: float | None = None
    people: int | None = None
    guideline: People | None = None
    temp_c: float | None = None
    rh: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """Where it is to stand: what it may carry and already does, and how much room is over it; None = not stated."""

    name: str = "the shelf"
    rated_kg: float | None = None
    taken_kg: float = 0.0
    clear_mm: float | None = None
    heights_mm: tuple[float, ...] = ()
    """Heights of the shelves to choose from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardAsk:
    """The lifting board: a material and thickness to look at, or None to choose; edges = held on all four edges."""

    material: str | None = None
    thickness_mm: float | None = None
    edges: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftInputs:
    """One request for the plan of a lift."""

    title: str
    block: Block
    box: Box | None
    legs: tuple[Leg, ...]
    handling: Handling = Handling()
    shelf: Shelf = Shelf()
    board: BoardAsk = BoardAsk()
    defaults: LiftDefaults = field(default_factory=lift_defaults)
    assumed: tuple[str, ...] = ()

    @property
    def who(self) -> People:
        """The filter's column that the plan answers to."""
        return self.handling.guideline or cast("People", self.defaults.guideline)

    @property
    def people(self) -> int:
        """Most people at hand."""
        return self.defaults.people if self.handling.people is None else self.handling.people

    @property
    def lifts_per_min(self) -> float:
        """How often."""
        given = self.handling.lifts_per_min
        return self.defaults.lifts_per_min if given is None else given

    @property
    def hours(self) -> float:
        """For how long."""
        return self.defaults.hours if self.handling.hours is None else self.handling.hours


def standard_legs(defaults: LiftDefaults, *, with_box: bool) -> tuple[Leg, ...]:
    """The way nobody described: the block from the ground to the bench, the box from the bench to its shelf."""
    block = Leg(
        name="block, ground to bench", load="block", from_mm=defaults.ground_mm, to_mm=defaults.bench_mm, trench=True
    )
    box = Leg(name="box, bench to shelf", load="box", from_mm=defaults.bench_mm, to_mm=defaults.shelf_mm)
    return (block, box) if with_box else (block,)
