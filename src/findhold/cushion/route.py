"""The drop to design for: from the legs of the declared route, the worst governing, or as stated outright."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.cushion.inputs import CushionInputs, Spread
from findhold.errors import BadInput
from findhold.tables.cushions import drop_of, handling_leg


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteLeg:
    """One leg as declared: its own label, the kind of handling, and the drop taken for it [m]."""

    label: str
    kind: str
    words: str
    drop_m: Spread
    vehicle: bool
    note: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DropChoice:
    """The drop the cushion is designed for [m], where it comes from, and all legs."""

    drop_m: Spread
    why: str
    legs: tuple[RouteLeg, ...]
    worst: int | None
    """The governing leg among `legs`; None where the height was stated outright."""
    vehicle: bool
    seen: str


def choose_drop(inputs: CushionInputs) -> DropChoice:
    """The drop of a request: the stated height if there is one, else the worst leg of the route.

    Parameters
    ----------
    inputs : block mass [kg] decides the rows of schedules that go by mass of the package.

    Raises
    ------
    UnknownName : a leg is no kind of handling. BadInput : a schedule has no height for this mass.
    """
    legs = tuple(_leg(text, inputs) for text in inputs.route)
    vehicle = any(leg.vehicle for leg in legs)
    if inputs.drop_m is not None:
        flat = Spread(low=inputs.drop_m, best=inputs.drop_m, high=inputs.drop_m)
        more = [leg for leg in legs if leg.drop_m.best > inputs.drop_m]
        why = "stated"
        if more:
            top = max(more, key=lambda leg: leg.drop_m.best)
            why = f"stated, lower than the {top.drop_m.best:g} m taken for '{top.label}' otherwise"
        return DropChoice(drop_m=flat, why=why, legs=legs, worst=None, vehicle=vehicle, seen="stated")
    worst = max(range(len(legs)), key=lambda i: (legs[i].drop_m.best, legs[i].drop_m.high))
    governing = legs[worst]
    why = f"'{governing.label}' governs the route: {governing.words} ({governing.seen})"
    return DropChoice(drop_m=governing.drop_m, why=why, legs=legs, worst=worst, vehicle=vehicle, seen=governing.seen)


def _leg(text: str, inputs: CushionInputs) -> RouteLeg:
    label, colon, kind = text.rpartition(":")
    name = kind.strip()
    leg = handling_leg(name, where=f"{inputs.find}, route")
    shown = label.strip() if colon and label.strip() else leg.name
    if not leg.schedule:
        low, best, high = leg.drop_low_m or 0.0, leg.drop_best_m or 0.0, leg.drop_high_m or 0.0
        drop, note, seen, source = Spread(low=low, best=best, high=high), "", leg.seen, leg.source
    else:
        found = drop_of(leg.schedule, leg.level, inputs.mass_kg)
        called = f"{leg.schedule}{f' level {leg.level}' if leg.level else ''}"
        if found is None:
            raise BadInput(
                f"{called} has no drop height for {inputs.mass_kg:g} kg",
                where=f"{inputs.find}, route '{shown}'",
                limit="the masses of the table drop_heights",
                do="State drop_height_m for this journey",
            )
        drop = Spread(low=found.drop_m, best=found.drop_m, high=found.drop_m)
        note = "; ".join(part for part in (f"{called}, by the mass of the block alone", found.note) if part)
        seen, source = found.seen, found.source
    return RouteLeg(
        label=shown,
        kind=leg.name,
        words=leg.words,
        drop_m=drop,
        vehicle=leg.vehicle,
        note=note,
        source=source,
        seen=seen,
    )
