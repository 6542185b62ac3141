"""Load crates: which thing in which crate, where, on what, and how sure it is that fewer crates would not do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from findhold.crate import rules
from findhold.crate.inputs import EXACT_UP_TO, CrateRequest, Item, Size, check_request
from findhold.crate.leftover import LeftOver, left_overs
from findhold.geometry.loading.drop import Loading, Task, load_bays
from findhold.geometry.loading.exact import Effort, load_exactly
from findhold.geometry.loading.parts import Bay, Loaded, Piece, Placed, carried_g, faults, layers, resting

WORK, MOST_TRIES = 3000, 60
"""Orders tried for many things: so many things in all, and never more orders than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InPlace:
    """One thing in its place: corner from the crate's inner corner, sizes as it stands, its layer (1 on the floor,
    each next one on the one before).

    turned : a quarter turn in plan from the sizes given. rests_on : numbers of the things under it. carries_kg : all
    that stands on it, each thing in full. bears_why : where its limit comes from.
    """

    number: str
    what: str
    context: str
    at_mm: tuple[int, int, int]
    size_mm: tuple[int, int, int]
    layer: int
    turned: bool
    mass_kg: float
    rests_on: tuple[str, ...]
    carries_kg: float
    bears_kg: float
    bears_why: str
    heavy: bool
    upright: bool
    human_remains: bool
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CrateLoad:
    """One crate as it is to be loaded, in loading order; fill [fraction] of the inside, cog_mm of the contents."""

    number: int
    crate: str
    inside_mm: Size
    items: tuple[InPlace, ...]
    layers: int
    net_kg: float
    gross_kg: float
    limit_kg: float
    limit_why: str
    fill: float
    cog_mm: tuple[float, float, float]
    company: str
    contexts: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CrateLoads:
    """All crates, what is left over, and how good it is.

    fewest : no loading of what can go in needs fewer crates. gap : crates above that, 0 = as few as can be. proved :
    fewer crates are impossible. aim_gap : how far the second aim may be from the best [fraction]; None when that was
    not worked out.
    """

    loads: tuple[CrateLoad, ...]
    left_over: tuple[LeftOver, ...]
    fewest: int
    gap: int
    proved: bool
    method: str
    aim: str
    aim_gap: float | None
    wishes_broken: tuple[str, ...]
    assumptions: tuple[str, ...]

    @property
    def all_in(self) -> bool:
        """True when nothing is left over."""
        return not self.left_over


def load_crates(request: CrateRequest) -> CrateLoads:
    """Load bags and boxes into as few crates as can be, keeping every rule.

    Up to 20 things are proved by a constraint solver where its time allows; more are searched, and the bound is
    stated. Not for vehicles or pallets: nothing is lashed, and no acceleration is reckoned with.

    Parameters
    ----------
    request : things, crates, how many carry a crate, limits, seed.

    Returns
    -------
    The loading, checked afresh from its positions.

    Raises
    ------
    BadInput, UnknownName : a size, mass, count, state or material that cannot be.
    """
    check_request(request)
    task = _task(request)
    aim_gap: float | None = None
    if len(request.items) <= EXACT_UP_TO:
        exact = load_exactly(task, aim=request.aim, effort=Effort(seed=request.seed))
        loading, aim_gap = exact.loading, 0.0 if exact.aim_proved else exact.aim_gap
        method = "search, then a constraint solver"
    else:
        tries = max(1, min(MOST_TRIES, WORK // len(request.items)))
        loading = load_bays(task, tries=tries, seed=request.seed)
        method = f"search, {loading.tries} orders, seed {request.seed}"
    _prove(loading, task)
    loads = tuple(_told(n, one, request, task) for n, one in enumerate(_sorted(loading.bays, task), 1))
    return CrateLoads(
        loads=loads,
        left_over=left_overs(request, task, loading),
        fewest=loading.fewest,
        gap=max(0, len(loads) - loading.fewest),
        proved=loading.proved,
        method=method,
        aim=request.aim,
        aim_gap=aim_gap,
        wishes_broken=_wishes(loads),
        assumptions=rules.assumed(request),
    )


def _task(request: CrateRequest) -> Task:
    """The request in whole millimetres and grams: things never smaller or lighter, crates never larger."""
    bays = tuple(
        Bay(
            size=(math.floor(c.inside_mm[0]), math.floor(c.inside_mm[1]), math.floor(c.inside_mm[2])),
            carries_g=rules.grams_down(rules.mass_limit(c, request).net_kg),
            count=c.count,
        )
        for c in request.crates
    )
    return Task(
        pieces=tuple(_piece(item, request) for item in request.items),
        bays=bays,
        rules=rules.rules_of(request.defaults),
    )


def _piece(item: Item, request: CrateRequest) -> Piece:
    length, width, height = (math.ceil(side) for side in item.size_mm)
    ups = (
        [(length, width, height)]
        if item.upright
        else [
            (length, width, height),
            (length, height, width),
            (width, height, length),
        ]
    )
    turns = tuple(dict.fromkeys(turn for a, b, up in ups for turn in ((a, b, up), (b, a, up))))
    return Piece(
        turns=turns,
        mass_g=rules.grams_up(item.mass_kg),
        bears_g=rules.grams_down(rules.bearing_of(item, request.defaults).bears_kg),
        company=rules.company_of(item),
        family=item.context,
    )


def _prove(loading: Loading, task: Task) -> None:
    """Every crate checked from its positions; a fault here is a fault of the program, not of the input."""
    for one in loading.bays:
        found = faults(one, task.pieces, task.bays[one.bay], task.rules)
        if found:
            raise RuntimeError(f"a loading breaks its rules: {'; '.join(found)}")
    there = sorted([p.piece for one in loading.bays for p in one.placed] + list(loading.left))
    if there != list(range(len(task.pieces))):
        raise RuntimeError("a loading lost or doubled a thing")


def _sorted(bays: Sequence[Loaded], task: Task) -> list[Loaded]:
    """Crates by what is in them, so that the same kind stands together in the list."""
    return sorted(bays, key=lambda one: (_company(one, task), min(p.piece for p in one.placed)))


def _company(one: Loaded, task: Task) -> str:
    return " and ".join(sorted({task.pieces[p.piece].company for p in one.placed}))


def _told(number: int, loaded: Loaded, request: CrateRequest, task: Task) -> CrateLoad:
    """A loaded crate in the words and units of the room, its things in loading order."""
    crate = request.crates[loaded.bay]
    layer = dict(zip(loaded.placed, layers(loaded.placed), strict=True))
    placed = tuple(sorted(loaded.placed, key=lambda p: (layer[p], p.at[1], p.at[0])))
    limit = rules.mass_limit(crate, request)
    net_kg = sum(request.items[p.piece].mass_kg for p in placed)
    items = _in_place(placed, request, task)
    volume = sum(p.volume_mm3 for p in placed)
    return CrateLoad(
        number=number,
        crate=crate.name,
        inside_mm=crate.inside_mm,
        items=items,
        layers=max(layer.values()),
        net_kg=net_kg,
        gross_kg=net_kg + crate.tare_kg,
        limit_kg=limit.gross_kg,
        limit_why=limit.why,
        fill=volume / math.prod(crate.inside_mm),
        cog_mm=_centre_mm(placed, request),
        company=_company(loaded, task),
        contexts=tuple(dict.fromkeys(item.context for item in items if item.context)),
        why=_why(loaded, task, net_kg + crate.tare_kg, limit),
    )


def _in_place(placed: Sequence[Placed], request: CrateRequest, task: Task) -> tuple[InPlace, ...]:
    carried, on = carried_g(placed, task.pieces), resting(placed)
    told = []
    for n, (one, layer) in enumerate(zip(placed, layers(placed), strict=True)):
        item = request.items[one.piece]
        bearing = rules.bearing_of(item, request.defaults)
        told.append(
            InPlace(
                number=item.number,
                what=item.what,
                context=item.context,
                at_mm=one.at,
                size_mm=one.size,
                layer=layer,
                turned=one.size != task.pieces[one.piece].turns[0],
                mass_kg=item.mass_kg,
                rests_on=tuple(request.items[placed[k].piece].number for k in on[n]),
                carries_kg=carried[n] / 1000.0,
                bears_kg=bearing.bears_kg,
                bears_why=bearing.why,
                heavy=item.mass_kg >= request.defaults.heavy_kg,
                upright=item.upright,
                human_remains=rules.is_human(item),
                state=item.state,
            )
        )
    return tuple(told)


def _centre_mm(placed: Sequence[Placed], request: CrateRequest) -> tuple[float, float, float]:
    """Centre of mass of the contents, each thing taken as even inside [mm]."""
    masses = [request.items[p.piece].mass_kg for p in placed]
    middle = [
        sum(m * (p.at[k] + p.size[k] / 2) for m, p in zip(masses, placed, strict=True)) / sum(masses) for k in range(3)
    ]
    return (middle[0], middle[1], middle[2])


def _why(loaded: Loaded, task: Task, gross_kg: float, limit: rules.MassLimit) -> str:
    """What kind of crate this is, and what closes it: its mass or its room."""
    company = _company(loaded, task)
    reasons = {
        rules.METAL: "metals kept dry, apart from damp finds",
        rules.HUMAN_DRY: "human remains by themselves",
        rules.HUMAN_DAMP: "damp human remains by themselves",
        rules.DAMP: "damp finds",
        rules.DRY: "dry finds",
    }
    kind = reasons.get(company, company)
    full = gross_kg >= 0.9 * limit.gross_kg
    closing = f"near its limit of {limit.gross_kg:.3g} kg, {limit.why}" if full else "not limited by its mass"
    return f"{kind}; {closing}"


def _wishes(loads: Sequence[CrateLoad]) -> tuple[str, ...]:
    """Wishes that could not be kept, in words."""
    homes: dict[str, list[int]] = {}
    for load in loads:
        for context in load.contexts:
            homes.setdefault(context, []).append(load.number)
    said = [
        f"context {context} is in {len(crates)} crates ({', '.join(str(n) for n in crates)})"
        for context, crates in homes.items()
        if len(crates) > 1
    ]
    return tuple(said)
