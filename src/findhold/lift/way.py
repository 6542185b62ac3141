"""The whole way worked out: board, masses, centres of gravity, and every leg; and the round of several boxes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from findhold.errors import BadInput
from findhold.lift.board import BoardOption, Carried, board_options, option_for
from findhold.lift.carry import Centre, Masses, block_centre, block_mass, masses, packed_centre
from findhold.lift.hands import Measured, Worked, work_leg
from findhold.lift.inputs import LiftInputs, Size
from findhold.lift.niosh import Composite, RoundTask, composite_index
from findhold.tables.lifting import board_material, equation, team_shares


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Everything that is worked out of one request; board and its options are empty when no block is lifted."""

    board: BoardOption | None
    boards: tuple[BoardOption, ...]
    masses: Masses
    block: Centre
    box: Centre | None
    legs: tuple[Worked, ...]

    @property
    def hardest(self) -> Worked:
        """The leg that asks most of one person."""
        return max(self.legs, key=lambda leg: leg.use)


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """Several boxes carried in one go: composite index [1] by number of people, tasks from the hardest on."""

    minutes: float
    """[min]"""
    composite: tuple[tuple[int, Composite], ...]
    people: int | None
    """Fewest whose composite index keeps the goal; None = none at hand."""


def work_way(inputs: LiftInputs, like: Way | None = None) -> Way:
    """Board, masses, centres and legs of a request.

    Parameters
    ----------
    inputs : the request. like : the way of a request with the same block and board, whose board is taken over.

    Raises
    ------
    BadInput : no leg, no mass to be told, or figures that cannot be. UnknownName : no such board material.
    """
    if not inputs.legs:
        raise BadInput("no lift is asked for", where=inputs.title, do="Give at least one leg")
    lifted = any(leg.load == "block" for leg in inputs.legs) and not inputs.block.loose
    boards, board = _boards(inputs) if lifted and like is None else ((), None)
    if like is not None:
        boards, board = like.boards, like.board
    weights = masses(inputs, 0.0 if board is None else board.mass_kg)
    block = block_centre(inputs.block)
    plain, _, _ = block_mass(inputs.block, inputs)
    box = None if inputs.box is None else packed_centre(inputs.block, plain.best, inputs.box)
    on_board = _on_board(inputs, board)
    legs = []
    for leg in inputs.legs:
        if leg.load == "box" and inputs.box is not None and box is not None:
            legs.append(work_leg(inputs, leg, weights, inputs.box.outside_mm, box))
        else:
            legs.append(work_leg(inputs, leg, weights, on_board, block))
    return Way(board=board, boards=boards, masses=weights, block=block, box=box, legs=tuple(legs))


def round_of(ways: Sequence[tuple[str, Worked]], minutes: float, people: int) -> Round:
    """Composite lifting index of several boxes put away one after the other, each once, by one person and by teams.

    Parameters
    ----------
    ways : a name and the worked leg of each box. minutes : how long the round takes [min]. people : most at hand.

    Raises
    ------
    BadInput : no box, no time, or more than 8 hours.

    Source: niosh-rnle-2021, section 2.4; that a team's share of the load also holds here is a judgement.
    """
    if not minutes > 0.0:
        raise BadInput(f"a round of {minutes:g} minutes cannot be", limit="above 0", do="Give the minutes it takes")
    found = []
    for count, share in team_shares().items():
        if count > max(people, 1):
            break
        tasks = [
            _task(name, leg, leg.alone if count == 1 else leg.shared, count * share, minutes) for name, leg in ways
        ]
        found.append((count, composite_index(tasks, minutes / 60.0)))
    goal = equation().goal_index
    fewest = next((count for count, one in found if one.index is not None and one.index <= goal), None)
    return Round(minutes=minutes, composite=tuple(found), people=fewest)


def _task(name: str, leg: Worked, by: Measured, capability: float, minutes: float) -> RoundTask:
    """One box of a round; capability is what a team lifts over what one of it would [1]."""
    ends = [by.niosh.origin, *([] if by.niosh.destination is None else [by.niosh.destination])]
    free = [end.limit_kg / end.frequency_factor if end.frequency_factor > 0.0 else 0.0 for end in ends]
    return RoundTask(
        name=name,
        mass_kg=leg.mass_kg.high / capability,
        free_limit_kg=min(free),
        lifts_per_min=1.0 / minutes,
        high=leg.hands_mm[0] / 10.0 >= equation().height_best_cm,
    )


def _boards(inputs: LiftInputs) -> tuple[tuple[BoardOption, ...], BoardOption | None]:
    """Boards to choose from, and the one taken: as asked for, else the lightest that is stiff enough."""
    ask, defaults = inputs.board, inputs.defaults
    spread, _, _ = block_mass(inputs.block, inputs)
    length, width, _ = inputs.block.size_mm
    overhang = 2 * defaults.board_overhang_mm
    carried = Carried(
        mass_kg=spread.high,
        block_l_m=length / 1000.0,
        block_w_m=width / 1000.0,
        span_m=(length + overhang) / 1000.0,
        width_m=(width + (overhang if ask.edges else 0.0)) / 1000.0,
    )
    options = board_options(carried, over=defaults.sag_length_over, edges=ask.edges)
    if ask.material is None:
        if ask.thickness_mm is not None:
            raise BadInput(
                "a thickness of the board without its material", where=inputs.title, do="Name the board's material too"
            )
        return options, next((one for one in options if one.thickness_mm is not None), None)
    material = board_material(ask.material, where=inputs.title)
    if ask.thickness_mm is None:
        return options, next(one for one in options if one.material == material.name)
    return options, option_for(material, ask.thickness_mm, carried, edges=ask.edges)


def _on_board(inputs: LiftInputs, board: BoardOption | None) -> Size:
    """Outside of the block as it is lifted."""
    length, width, height = inputs.block.size_mm
    if board is None:
        return (length, width, height)
    return (board.size_mm[0], board.size_mm[1], height + (board.thickness_mm or 0.0))
