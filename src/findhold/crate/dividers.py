"""Several finds in one box: compartments between dividers, or why these finds may not share it.

Compartments stand in rows across the box: dividers run the whole width between rows, and cross dividers stand between
the compartments of a row, so that they can be cut straight and slotted. Of all such plans the one that needs least
length is taken; every set of up to ten finds is tried, so a plan that is refused does not exist in rows.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import combinations, product

from findhold.crate.sharing import Apart, Sharer, untested, why_no_divider, why_not_share
from findhold.errors import BadInput
from findhold.tables.crates import CrateDefaults, crate_defaults

MOST_FINDS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class DivideRequest:
    """Finds that are to share a box, its inside, and the dividers; None takes the default."""

    finds: tuple[Sharer, ...]
    inside_mm: tuple[float, float, float]
    max_load_kg: float | None = None
    divider: str = "polyethylene foam"
    divider_mm: float | None = None
    clear_mm: float | None = None
    defaults: CrateDefaults = field(default_factory=crate_defaults)


@dataclass(frozen=True, slots=True, kw_only=True)
class Compartment:
    """One compartment: its find, its corner and size inside the box [mm], and whether the find is turned in plan."""

    find: str
    at_mm: tuple[float, float]
    size_mm: tuple[float, float]
    turned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Divider:
    """One divider to cut: where its corner stands, its run along length or width, and its height [mm]."""

    at_mm: tuple[float, float]
    length_mm: float
    height_mm: float
    thickness_mm: float
    across: bool
    """True runs across the box; False along its length."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DividedBox:
    """The plan of a shared box, or the reasons against it. apart : pairs that may not share. trouble : why no plan."""

    compartments: tuple[Compartment, ...]
    dividers: tuple[Divider, ...]
    apart: tuple[Apart, ...]
    trouble: str
    may_share: tuple[tuple[str, ...], ...]
    """The finds in groups that may share a box each, when all together may not."""
    remarks: tuple[str, ...]
    spare_mm: float
    """Length of the box left beyond the last row."""

    @property
    def works(self) -> bool:
        """True when there is a plan."""
        return bool(self.compartments)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    finds: tuple[int, ...]
    turned: tuple[bool, ...]
    depth_mm: float


def divide_box(request: DivideRequest) -> DividedBox:
    """Compartments for several finds in one box.

    Parameters
    ----------
    request : the finds with their wrapping, the inside of the box, thickness of dividers and room round each find.

    Returns
    -------
    Where each find stands and which dividers to cut; or why they may not share, or do not fit, and what to do.

    Raises
    ------
    BadInput : fewer than two or more than ten finds, or a size that cannot be.
    UnknownName : a material or an analysis that is not in the lists.
    """
    _check(request)
    finds = request.finds
    apart = [reason for a, b in combinations(finds, 2) for reason in why_not_share(a, b)]
    apart += [reason for sharer in finds for reason in why_no_divider(sharer, request.divider)]
    materials = (request.divider, *(sharer.wrapping for sharer in finds))
    remarks = tuple(said for sharer in finds for said in untested(sharer, materials))
    if apart:
        trouble = "These finds may not share a box; pack each group by itself."
        if all(len(reason.numbers) == 1 for reason in apart):
            trouble = f"Dividers of {request.divider} may not stand beside these finds: choose another material."
        return _none(trouble, tuple(apart), groups_that_may_share(finds), remarks)
    trouble = _too_much(request)
    rows = None if trouble else _rows(request)
    if rows is None:
        words = trouble or "They do not fit side by side in rows with their dividers: take a larger box or two boxes."
        return _none(words, (), (), remarks)
    return _plan(request, rows, remarks)


def groups_that_may_share(finds: Sequence[Sharer]) -> tuple[tuple[str, ...], ...]:
    """The finds in groups in which all may share: each joins the first group that takes it."""
    groups: list[list[Sharer]] = []
    for find in finds:
        home = next((group for group in groups if not any(why_not_share(find, other) for other in group)), None)
        if home is None:
            groups.append([find])
        else:
            home.append(find)
    return tuple(tuple(find.number for find in group) for group in groups)


def _none(
    trouble: str, apart: tuple[Apart, ...], groups: tuple[tuple[str, ...], ...], remarks: tuple[str, ...]
) -> DividedBox:
    return DividedBox(
        compartments=(), dividers=(), apart=apart, trouble=trouble, may_share=groups, remarks=remarks, spare_mm=0.0
    )


def _too_much(request: DivideRequest) -> str:
    """The first thing against the box as a whole: height or mass; empty when there is none."""
    top = request.defaults.divider_top_mm
    room = request.inside_mm[2] - top
    tall = [f for f in request.finds if f.size_mm[2] > room]
    if tall:
        return (
            f"Find {tall[0].number} is {tall[0].size_mm[2]:g} mm high; {room:g} mm are free under the lid with "
            f"{top:g} mm clear: take a higher box."
        )
    mass = sum(find.mass_kg for find in request.finds)
    if request.max_load_kg is not None and mass > request.max_load_kg:
        return f"Together they are {mass:.3g} kg; the box is rated for {request.max_load_kg:g} kg: take two boxes."
    return ""


def _divider_mm(request: DivideRequest) -> float:
    return request.defaults.divider_mm if request.divider_mm is None else request.divider_mm


def _clear_mm(request: DivideRequest) -> float:
    return request.defaults.divider_clear_mm if request.clear_mm is None else request.clear_mm


def _rooms(request: DivideRequest, find: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """Depth along the box and run across it that a find needs with its clearance, in both turns."""
    clear = _clear_mm(request)
    length, width, _ = request.finds[find].size_mm
    return (length + 2 * clear, width + 2 * clear), (width + 2 * clear, length + 2 * clear)


def _rows(request: DivideRequest) -> tuple[_Row, ...] | None:
    """The rows that need least length of the box; None when no rows fit."""
    count, thick = len(request.finds), _divider_mm(request)

    @cache
    def row_of(members: int) -> _Row | None:
        finds = tuple(n for n in range(count) if members >> n & 1)
        best: _Row | None = None
        for turns in product((False, True), repeat=len(finds)):
            rooms = [_rooms(request, n)[turn] for n, turn in zip(finds, turns, strict=True)]
            if sum(run for _, run in rooms) + thick * (len(finds) - 1) > request.inside_mm[1]:
                continue
            depth = max(depth for depth, _ in rooms)
            if best is None or depth < best.depth_mm:
                best = _Row(finds=finds, turned=turns, depth_mm=depth)
        return best

    @cache
    def least(members: int) -> tuple[float, tuple[_Row, ...]] | None:
        if not members:
            return -thick, ()
        first = members & -members
        best: tuple[float, tuple[_Row, ...]] | None = None
        part = members
        while part:
            if part & first and (row := row_of(part)) is not None and (rest := least(members ^ part)) is not None:
                length = row.depth_mm + thick + rest[0]
                if best is None or length < best[0] - 1e-9:
                    best = (length, (row, *rest[1]))
            part = (part - 1) & members
        return best

    found = least((1 << count) - 1)
    return found[1] if found is not None and found[0] <= request.inside_mm[0] + 1e-9 else None


def _plan(request: DivideRequest, rows: Sequence[_Row], remarks: tuple[str, ...]) -> DividedBox:
    """Compartments and dividers from the rows; what is left of a row goes to its last compartment."""
    thick, width = _divider_mm(request), request.inside_mm[1]
    height = max(find.size_mm[2] for find in request.finds)
    compartments, dividers = [], []
    x = 0.0
    for number, row in enumerate(rows):
        y = 0.0
        for place, (find, turned) in enumerate(zip(row.finds, row.turned, strict=True)):
            last = place == len(row.finds) - 1
            run = width - y if last else _rooms(request, find)[turned][1]
            name = request.finds[find].number
            compartments.append(Compartment(find=name, at_mm=(x, y), size_mm=(row.depth_mm, run), turned=turned))
            y += run
            if not last:
                dividers.append(_cut((x, y), row.depth_mm, height, thick, across=False))
                y += thick
        x += row.depth_mm
        if number < len(rows) - 1 or request.inside_mm[0] - x > thick:
            dividers.append(_cut((x, 0.0), width, height, thick, across=True))
            x += thick
    return DividedBox(
        compartments=tuple(compartments),
        dividers=tuple(dividers),
        apart=(),
        trouble="",
        may_share=(tuple(find.number for find in request.finds),),
        remarks=remarks,
        spare_mm=max(0.0, request.inside_mm[0] - x),
    )


def _cut(at: tuple[float, float], length: float, height: float, thick: float, *, across: bool) -> Divider:
    return Divider(at_mm=at, length_mm=length, height_mm=height, thickness_mm=thick, across=across)


def _check(request: DivideRequest) -> None:
    if not 2 <= len(request.finds) <= MOST_FINDS:
        raise BadInput(
            f"{len(request.finds)} finds are to share a box",
            where="dividers",
            limit=f"2 to {MOST_FINDS}",
            do="Take two boxes, or pack one find by itself: findhold plan",
        )
    numbers = [find.number for find in request.finds]
    if len(set(numbers)) < len(numbers):
        raise BadInput("a find stands there twice", where="dividers", do="List each find once")
    sizes = [("box", request.inside_mm), *((f"find {find.number}", find.size_mm) for find in request.finds)]
    for where, size in sizes:
        if not all(0 < side < math.inf for side in size):
            raise BadInput("a size is not above zero", where=where, limit="above 0 mm", do="Measure it again")
    for name, value in (("divider_mm", _divider_mm(request)), ("clear_mm", _clear_mm(request))):
        if not 0 <= value < math.inf:
            raise BadInput(f"{name} is {value:g}", where="dividers", limit="0 mm or more", do="Correct the figure")
