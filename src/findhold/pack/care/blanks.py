"""Controls and blanks to keep: soil from about the find, and a clean piece of everything that comes near it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from findhold.pack.asked import Asked
from findhold.pack.contact import contact_material
from findhold.pack.damp import SheetDose, bag_touches
from findhold.tables.firstaid import BlankRule, blank_rules
from findhold.tables.materials import PackingMaterial

SOIL, BLANK = "soil control", "blank"
_SOILS = (
    "soil from inside, touching the wall (each spit)",
    "soil from outside, same context, at least 10 cm away",
    "soil of the context away from the find",
)
_WHATS = {
    "bed": "clean piece of the polyethylene foam of the bed",
    "glove": "one unused glove",
    "water": "the water used for the dose",
    "label": "an unused label, written on",
    "board": "a shaving of the carrying board",
    "damp box": "the condensation inside the lid",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """A control or blank to bag with the find: what, how much, for which analyses, how labelled and when taken."""

    what: str
    how_much: str
    analyses: tuple[str, ...]
    name: str = ""
    """In a word or two."""
    kind: str = BLANK
    """soil control or blank."""
    labelled: str = ""
    taken: str = "at packing"
    why: str = ""
    source: str = "findhold-judgement"
    seen: str = "judgement"


def blanks(asked: Asked, dose: SheetDose) -> tuple[Control, ...]:
    """Soil controls and blanks in one list, nothing twice: what is measured must be told from what was brought to it.

    Parameters
    ----------
    asked : a checked request.
    dose : how it is wetted; without water there is no blank of it.

    Returns
    -------
    Controls; empty when no planned analysis asks for any.

    Source: table blanks, each row with its own source and mark; which analyses want soil or blanks: table analyses.
    """
    wanting = {analysis.name: analysis.controls for analysis in asked.analyses if analysis.controls}
    if not wanting:
        return ()
    kept = (*_soils(asked, wanting), *_things(asked, dose, wanting))
    return tuple({control.what: control for control in kept}.values())


def _soils(asked: Asked, wanting: dict[str, str]) -> Iterator[Control]:
    """Soil inside, outside and away, for analyses that read it against the find."""
    with_soil = tuple(name for name, controls in wanting.items() if controls == "soil")
    if not with_soil or asked.soil is None:
        return
    low, high = asked.inputs.defaults.control_soil_low_g, asked.inputs.defaults.control_soil_high_g
    for place, what in enumerate(_SOILS):
        yield Control(
            what=what,
            how_much=f"{low:g}-{high:g} g, in foil then in a bag",
            analyses=with_soil,
            name=f"soil {('inside', 'outside', 'away')[place]}",
            kind=SOIL,
            labelled=f"CONTROL, find, context, {'inside, spit' if place == 0 else ('outside', 'away')[place - 1]}",
            taken="at the opening" if place == 0 else "at packing",
            why="what the soil holds is told from what the find holds",
            source="residue-sampling-barcelona",
            seen="seen",
        )


def _things(asked: Asked, dose: SheetDose, wanting: dict[str, str]) -> Iterator[Control]:
    """A clean piece of each packing material, then of glove, water, label, board, foam and condensation."""
    rules = blank_rules()
    for material in _packing(asked, dose):
        for rule in rules:
            if rule.role == "packing" and rule.contact == material.contact:
                yield from _control(rule, f"clean piece of the {material.name} used", material.name, wanting)
    wet = dose.g_per_sheet > 0 or dose.bag_water_g > 0
    there = {
        "bed": True,
        "glove": True,
        "water": wet,
        "label": True,
        "board": asked.inputs.board_mm > 0,
        "damp box": asked.kept == "damp",
    }
    for rule in rules:
        if there.get(rule.role, False):
            yield from _control(rule, _WHATS[rule.role], rule.name, wanting)


def _packing(asked: Asked, dose: SheetDose) -> Iterator[PackingMaterial]:
    """What lies in the box with the find, what touches it first; tissue that is not used is left out."""
    wrapping = None if bag_touches(asked, dose) else asked.wrapping
    used = (contact_material(asked, dose), wrapping, asked.barrier, asked.bag)
    yield from {material.name: material for material in used if material is not None}.values()


def _control(rule: BlankRule, what: str, name: str, wanting: dict[str, str]) -> Iterator[Control]:
    """The blank of one thing, when a planned analysis asks for it."""
    analyses = tuple(name for name in wanting if "any" in rule.analyses or name in rule.analyses)
    if analyses:
        yield Control(
            what=what,
            how_much=f"{rule.amount}, {rule.wrapped}",
            analyses=analyses,
            name=name,
            labelled="BLANK, find, product, batch, date",
            taken=rule.taken,
            why=rule.why,
            source=rule.source,
            seen=rule.seen,
        )
