"""Boxes on a floor: do they all go beside each other, some where they stand, each turned in plan as it goes best?

First by hand: a few orders, each box into the corner where it goes; what that finds is a proof. Where it fails, the
areas may prove that nothing can; else, up to a dozen boxes, a solver decides. Whole millimetres, sizes rounded up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

Answer = Literal["found", "none", "not known"]
How = Literal["by hand", "by area", "by solver"]
EXACT_UP_TO = 12
"""So many boxes are decided by the solver; more are tried by hand only, and the answer says so."""
SOLVER_S = 1.0
"""The solver's deterministic seconds."""
LONGEST_S = 2.0
"""No answer is waited for longer by the clock; it is then not known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """A rectangle to stand on, its corner and sides [mm], and what is left free between two boxes [mm]."""

    left_mm: int
    front_mm: int
    wide_mm: int
    deep_mm: int
    gap_mm: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rect:
    """A box in plan: its corner and its sides as it stands [mm]; turned: its length goes back."""

    left_mm: int
    front_mm: int
    wide_mm: int
    deep_mm: int
    turned: bool = False

    def clear_of(self, other: Rect, gap_mm: int) -> bool:
        """True when the two are apart by at least the gap [mm], sideways or in depth."""
        return (
            self.left_mm + self.wide_mm + gap_mm <= other.left_mm
            or other.left_mm + other.wide_mm + gap_mm <= self.left_mm
            or self.front_mm + self.deep_mm + gap_mm <= other.front_mm
            or other.front_mm + other.deep_mm + gap_mm <= self.front_mm
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """Whether all boxes go, how that is known, and where each stands (as asked; empty unless found)."""

    answer: Answer
    how: How
    rects: tuple[Rect, ...]


Plan = tuple[int, int]


def lay(floor: Floor, boxes: Sequence[tuple[float, float]], fixed: Sequence[Rect] = ()) -> Laid:
    """Lay boxes on a floor beside those that stand fixed.

    Not for boxes on each other, and none is tilted: each stands along the front or is turned by a right angle.

    Parameters
    ----------
    boxes : length and width in plan [mm].
    fixed : what stays where it is; it must stand apart and may reach over the floor's edge.
    """
    plans = [(math.ceil(length), math.ceil(width)) for length, width in boxes]
    if not plans:
        return Laid(answer="found", how="by hand", rects=())
    for order in _orders(plans):
        rects = _by_hand(floor, plans, order, fixed)
        if rects is not None:
            return Laid(answer="found", how="by hand", rects=tuple(rects))
    if _too_much(floor, plans, fixed):
        return Laid(answer="none", how="by area", rects=())
    if len(plans) > EXACT_UP_TO:
        return Laid(answer="not known", how="by hand", rects=())
    return _by_solver(floor, plans, fixed)


def corners(floor: Floor, plan: tuple[float, float], fixed: Sequence[Rect]) -> Rect | None:
    """The corner that one more box takes: furthest back, then furthest left; None when it finds none."""
    size = (math.ceil(plan[0]), math.ceil(plan[1]))
    found = [rect for turned in _turns(size) if (rect := _corner(floor, size, turned, fixed)) is not None]
    return min(found, key=lambda one: (-(one.front_mm + one.deep_mm), one.left_mm, one.turned), default=None)


def _turns(plan: Plan) -> tuple[bool, ...]:
    return (False,) if plan[0] == plan[1] else (False, True)


def _orders(plans: Sequence[Plan]) -> list[list[int]]:
    """Orders tried: large first, long first, wide first."""
    numbers = range(len(plans))
    keys = (
        lambda n: (-plans[n][0] * plans[n][1], n),
        lambda n: (-max(plans[n]), -min(plans[n]), n),
        lambda n: (-min(plans[n]), -max(plans[n]), n),
    )
    found = [sorted(numbers, key=key) for key in keys]
    return [order for place, order in enumerate(found) if order not in found[:place]]


def _by_hand(floor: Floor, plans: Sequence[Plan], order: Sequence[int], fixed: Sequence[Rect]) -> list[Rect] | None:
    placed: dict[int, Rect] = {}
    for n in order:
        rect = corners(floor, plans[n], [*fixed, *placed.values()])
        if rect is None:
            return None
        placed[n] = rect
    return [placed[n] for n in range(len(plans))]


def _corner(floor: Floor, plan: Plan, turned: bool, taken: Sequence[Rect]) -> Rect | None:
    """The place furthest back and left at which a box, so turned, stands free."""
    wide, deep = plan[::-1] if turned else plan
    last_left = floor.left_mm + floor.wide_mm - wide
    last_front = floor.front_mm + floor.deep_mm - deep
    if last_left < floor.left_mm or last_front < floor.front_mm:
        return None
    gap = floor.gap_mm
    lefts = {floor.left_mm, *(one.left_mm + one.wide_mm + gap for one in taken)}
    fronts = {last_front, *(one.front_mm - gap - deep for one in taken)}
    for front in sorted((y for y in fronts if floor.front_mm <= y <= last_front), reverse=True):
        near = [one for one in taken if one.front_mm < front + deep + gap and front < one.front_mm + one.deep_mm + gap]
        for left in sorted(x for x in lefts if floor.left_mm <= x <= last_left):
            rect = Rect(left_mm=left, front_mm=front, wide_mm=wide, deep_mm=deep, turned=turned)
            if all(rect.clear_of(one, gap) for one in near):
                return rect
    return None


def _too_much(floor: Floor, plans: Sequence[Plan], fixed: Sequence[Rect]) -> bool:
    """True when a box is larger than the floor, or all with their gaps cover more than there is."""
    gap = floor.gap_mm
    if any(all((w > floor.wide_mm or d > floor.deep_mm) for w, d in (plan, plan[::-1])) for plan in plans):
        return True
    area = (floor.wide_mm + gap) * (floor.deep_mm + gap)
    need = sum((w + gap) * (d + gap) for w, d in plans)
    return need + sum(_inside(one, floor) for one in fixed) > area


def _inside(rect: Rect, floor: Floor) -> int:
    """What a fixed box takes of the floor's area, its gap to the right and behind with it [mm2]."""
    gap = floor.gap_mm
    right = min(rect.left_mm + rect.wide_mm + gap, floor.left_mm + floor.wide_mm + gap)
    back = min(rect.front_mm + rect.deep_mm + gap, floor.front_mm + floor.deep_mm + gap)
    return max(0, right - max(rect.left_mm, floor.left_mm)) * max(0, back - max(rect.front_mm, floor.front_mm))


def _by_solver(floor: Floor, plans: Sequence[Plan], fixed: Sequence[Rect]) -> Laid:
    from ortools.sat.python import cp_model

    cp, variables = _model(floor, plans, fixed)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = SOLVER_S
    solver.parameters.max_time_in_seconds = LONGEST_S
    status = solver.solve(cp)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Laid(answer="none" if status == cp_model.INFEASIBLE else "not known", how="by solver", rects=())
    rects = []
    for (length, width), (left, front, turned) in zip(plans, variables, strict=True):
        way = bool(solver.value(turned))
        wide, deep = (width, length) if way else (length, width)
        rects.append(
            Rect(left_mm=solver.value(left), front_mm=solver.value(front), wide_mm=wide, deep_mm=deep, turned=way)
        )
    return Laid(answer="found", how="by solver", rects=tuple(rects))


def _model(floor: Floor, plans: Sequence[Plan], fixed: Sequence[Rect]) -> tuple[Any, list[tuple[Any, Any, Any]]]:
    """The solver's model, and corner and turn of each box in it."""
    from ortools.sat.python import cp_model

    cp = cp_model.CpModel()
    gap = floor.gap_mm
    across, along, variables = [], [], []
    for n, (length, width) in enumerate(plans):
        turned = cp.new_bool_var(f"turned{n}")
        wide, deep = length + (width - length) * turned, width + (length - width) * turned
        left = cp.new_int_var(floor.left_mm, floor.left_mm + floor.wide_mm, f"left{n}")
        front = cp.new_int_var(floor.front_mm, floor.front_mm + floor.deep_mm, f"front{n}")
        cp.add(left + wide <= floor.left_mm + floor.wide_mm)
        cp.add(front + deep <= floor.front_mm + floor.deep_mm)
        # The gap goes with each box to its right and behind it.
        right = cp.new_int_var(0, floor.left_mm + floor.wide_mm + gap, f"right{n}")
        back = cp.new_int_var(0, floor.front_mm + floor.deep_mm + gap, f"back{n}")
        across.append(cp.new_interval_var(left, wide + gap, right, f"x{n}"))
        along.append(cp.new_interval_var(front, deep + gap, back, f"y{n}"))
        variables.append((left, front, turned))
    cp.add_no_overlap_2d(across, along)
    for n, one in enumerate(fixed):
        # Each by itself: what stands fixed may stand closer to its like than the gap.
        x = cp.new_fixed_size_interval_var(one.left_mm, one.wide_mm + gap, f"fx{n}")
        y = cp.new_fixed_size_interval_var(one.front_mm, one.deep_mm + gap, f"fy{n}")
        cp.add_no_overlap_2d([*across, x], [*along, y])
    return cp, variables
