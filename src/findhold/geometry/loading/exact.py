"""Few pieces, proved: a constraint solver finds the fewest bays, then the fewest wishes broken and the lowest centre.

It starts from the loading of `drop`, so that it never answers worse. Time is the solver's own deterministic count, so
the answer is the same on every machine; where that runs out, the gap left is stated.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from findhold.geometry.loading.drop import Loading, Task, load_bays, value, wishes_broken
from findhold.geometry.loading.model import Model, build_model, hint, placed_by
from findhold.geometry.loading.parts import Bay, Loaded, Placed, Size, faults, height_mm, moment_g_mm

Aim = Literal["lowest centre of mass", "least height"]
Answer = Literal["found", "none", "not known"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How long the solver may work: deterministic seconds for the number of bays and for the second aim; its seed."""

    bays_s: float = 8.0
    aim_s: float = 4.0
    seed: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Exact:
    """A loading with its proofs.

    loading : as of `drop.load_bays`; `proved` says whether fewer bays are impossible. aim_value, aim_bound : the
    second aim in whole units (twice gram millimetres above the floors, or mm of all bays' heights together) and what it
    cannot be below with the same bays and wishes. aim_proved : they are equal.
    """

    loading: Loading
    aim: Aim
    aim_value: int
    aim_bound: int
    aim_proved: bool

    @property
    def aim_gap(self) -> float:
        """How far the second aim may be from the best, as a fraction of its value; 0 = proved."""
        return 1.0 - self.aim_bound / self.aim_value if self.aim_value else 0.0


def load_exactly(
    task: Task, *, aim: Aim = "lowest centre of mass", effort: Effort | None = None, tries: int = 40
) -> Exact:
    """Load a few pieces into the fewest bays, and say how far that is proved.

    Meant for up to about 20 pieces; more is allowed and mostly ends with a stated gap.

    Parameters
    ----------
    task : pieces, kinds of bay, rules.
    aim : the second aim, after the number of bays and the wishes.
    effort : the solver's time; the default is some tens of seconds at most.
    tries : orders for the first loading.
    """
    effort = effort or Effort()
    first = load_bays(task, tries=tries, seed=effort.seed)
    whole = [n for n in range(len(task.pieces)) if n not in set(first.left)]
    if not whole:
        return Exact(loading=first, aim=aim, aim_value=0, aim_bound=0, aim_proved=True)
    best = _fewer(task, first, effort)
    return _lower(task, best, aim, effort)


def _fewer(task: Task, first: Loading, effort: Effort) -> Loading:
    """The loading with as few bays as the solver can reach, and the proof; pieces left over are tried again first."""
    from findhold.geometry.loading.drop import fits_any

    possible = [n for n in range(len(task.pieces)) if fits_any(task.pieces[n], task.bays)]
    hopeless = tuple(n for n in range(len(task.pieces)) if n not in set(possible))
    best, fewest, proved = first, first.fewest, first.proved
    while not proved:
        missing = bool(set(best.left) - set(hopeless))
        row = _row(task.bays, len(possible) if missing else len(best.bays) - 1)
        most = None if missing else len(best.bays) - 1
        answer, bays = _solve(task, possible, row, (most, effort))
        if answer == "found":
            best = Loading(bays=bays, left=hopeless, fewest=fewest, proved=False, tries=first.tries)
            proved = len(bays) <= fewest
        elif answer == "none":
            fewest = fewest if missing else max(fewest, len(best.bays))
            proved = not missing
            break
        else:
            break
    return Loading(bays=best.bays, left=best.left, fewest=fewest, proved=proved, tries=first.tries)


def _row(bays: Sequence[Bay], most: int) -> list[tuple[int, Bay]]:
    """The bays that can be used, each kind as often as there are and as makes sense."""
    return [
        (kind, bay) for kind, bay in enumerate(bays) for _ in range(most if bay.count is None else min(bay.count, most))
    ]


def _solve(
    task: Task, numbers: Sequence[int], row: Sequence[tuple[int, Bay]], limits: tuple[int | None, Effort]
) -> tuple[Answer, tuple[Loaded, ...]]:
    """All pieces in the bays of a row: first without asking for support, then, where that hangs over, with it."""
    most, effort = limits
    if not row:
        return "none", ()
    for supported in (False, True):
        model = build_model([task.pieces[n] for n in numbers], row, task.rules, supported=supported)
        if most is not None:
            model.cp.add(sum(model.used) <= most)
        answer, solver = _run(model, effort.bays_s, effort.seed)
        if answer != "found":
            return answer, ()
        raw = (_renumbered(one, numbers) for one in placed_by(model, solver))
        bays = tuple(_tidied(one, task) for one in raw)
        if not any(faults(one, task.pieces, task.bays[one.bay], task.rules) for one in bays):
            return "found", bays
    return "not known", ()


def _run(model: Model, seconds: float, seed: int) -> tuple[Answer, Any]:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = seconds
    status = solver.solve(model.cp)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return "found", solver
    return ("none" if status == cp_model.INFEASIBLE else "not known"), solver


def _settled(loaded: Loaded) -> Loaded:
    """The pieces slid down, back and to the side as far as they go, over and over until nothing moves."""
    placed = list(loaded.placed)
    for _ in range(3 * len(placed) + 3):
        before = list(placed)
        for k in (2, 1, 0):
            for n in sorted(range(len(placed)), key=lambda m: placed[m].at[k]):
                placed[n] = _slid(placed, n, k)
        if placed == before:
            break
    return Loaded(bay=loaded.bay, placed=tuple(placed))


def _tidied(loaded: Loaded, task: Task) -> Loaded:
    """The loading slid together, where that breaks nothing."""
    tidy = _settled(loaded)
    return loaded if faults(tidy, task.pieces, task.bays[loaded.bay], task.rules) else tidy


def _slid(placed: Sequence[Placed], n: int, k: int) -> Placed:
    """One piece moved along one direction to what stops it."""
    one = placed[n]
    others = [axis for axis in range(3) if axis != k]
    stop = 0
    for m, other in enumerate(placed):
        faces = all(one.at[a] < other.end[a] and other.at[a] < one.end[a] for a in others)
        if m != n and faces and other.end[k] <= one.at[k]:
            stop = max(stop, other.end[k])
    at: Size = (stop if k == 0 else one.at[0], stop if k == 1 else one.at[1], stop if k == 2 else one.at[2])
    return Placed(piece=one.piece, at=at, size=one.size)


def _renumbered(loaded: Loaded, numbers: Sequence[int]) -> Loaded:
    return Loaded(
        bay=loaded.bay, placed=tuple(Placed(piece=numbers[p.piece], at=p.at, size=p.size) for p in loaded.placed)
    )


def _lower(task: Task, loading: Loading, aim: Aim, effort: Effort) -> Exact:
    """The second aim, with no more bays of each kind than the loading has and no more wishes broken than can be."""
    numbers = sorted(one.piece for loaded in loading.bays for one in loaded.placed)
    row = [(loaded.bay, task.bays[loaded.bay]) for loaded in sorted(loading.bays, key=lambda one: one.bay)]
    model = build_model([task.pieces[n] for n in numbers], row, task.rules, supported=True)
    wishes, second, scale = _aims(model, aim)
    model.cp.minimize(wishes * scale + second)
    places = {n: place for place, n in enumerate(numbers)}
    hint(model, [_renumbered_to(loaded, places) for loaded in loading.bays])
    answer, solver = _run(model, effort.aim_s, effort.seed)
    best, bound = loading.bays, 0
    if answer == "found":
        found = tuple(_tidied(_renumbered(one, numbers), task) for one in placed_by(model, solver))
        broken = any(faults(one, task.pieces, task.bays[one.bay], task.rules) for one in found)
        if not broken and value(found, (), task)[1:3] <= value(best, (), task)[1:3]:
            best = found if _judged(found, task, aim) <= _judged(best, task, aim) else best
    if answer != "none":
        total = max(0, round(solver.best_objective_bound))
        bound = max(0, total - scale * wishes_broken(best, task))
    reached = _second(best, task, aim)
    return Exact(
        loading=Loading(
            bays=best, left=loading.left, fewest=loading.fewest, proved=loading.proved, tries=loading.tries
        ),
        aim=aim,
        aim_value=reached,
        aim_bound=min(bound, reached),
        aim_proved=bound >= reached,
    )


def _renumbered_to(loaded: Loaded, places: dict[int, int]) -> Loaded:
    return Loaded(
        bay=loaded.bay, placed=tuple(Placed(piece=places[p.piece], at=p.at, size=p.size) for p in loaded.placed)
    )


def _second(bays: Sequence[Loaded], task: Task, aim: Aim) -> int:
    if aim == "least height":
        return sum(height_mm(one.placed) for one in bays)
    return sum(moment_g_mm(one.placed, task.pieces) for one in bays)


def _judged(bays: Sequence[Loaded], task: Task, aim: Aim) -> tuple[int, int]:
    return (wishes_broken(bays, task), _second(bays, task, aim))


def _aims(model: Model, aim: Aim) -> tuple[Any, Any, int]:
    """Wishes broken and the second aim as expressions, and a factor that sets the first before the second."""
    cp = model.cp
    wishes: Any = 0
    names = sorted({piece.family for piece in model.pieces} - {""})
    for name in names:
        rows = [row for row, piece in zip(model.inside, model.pieces, strict=True) if piece.family == name]
        homes = [cp.new_bool_var(f"home_{name}_{b}") for b in range(len(model.bays))]
        for row in rows:
            for on, home in zip(row, homes, strict=True):
                cp.add_implication(on, home)
        wishes += sum(homes) - 1
    highest = max(bay.size[2] for _, bay in model.bays)
    if aim == "least height":
        tops = [cp.new_int_var(0, bay.size[2], f"top{b}") for b, (_, bay) in enumerate(model.bays)]
        for n, row in enumerate(model.inside):
            for on, top in zip(row, tops, strict=True):
                cp.add(model.at[n][2] + model.size[n][2] <= top).only_enforce_if(on)
        return wishes, sum(tops), highest * len(tops) + 1
    second = sum(p.mass_g * (2 * model.at[n][2] + model.size[n][2]) for n, p in enumerate(model.pieces))
    return wishes, second, 2 * highest * sum(piece.mass_g for piece in model.pieces) + 1
