"""What may stand with what, and on what, in one crate; and how heavy a crate may be."""

from __future__ import annotations

import math
from dataclasses import dataclass

from findhold.crate.board import bears_kg
from findhold.crate.inputs import Crate, CrateRequest, Item
from findhold.geometry.loading.parts import Pair, Rules
from findhold.tables.crates import CrateDefaults, mark_of
from findhold.tables.materials import find_material

HUMAN_DRY, HUMAN_DAMP, METAL, DAMP, DRY = "human remains, dry", "human remains, damp", "metal", "damp", "dry"
COMPANIES = (HUMAN_DRY, HUMAN_DAMP, METAL, DAMP, DRY)
_HUMAN = (HUMAN_DRY, HUMAN_DAMP)
APART: frozenset[Pair] = frozenset(
    {
        (METAL, DAMP),
        (DRY, DAMP),
        (HUMAN_DRY, HUMAN_DAMP),
        *((human, other) for human in _HUMAN for other in COMPANIES if other not in _HUMAN),
    }
)
"""Never in one crate: what is damp goes to the cold store, what is dry does not, and metal least of all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """How much may stand on a thing in all, and why."""

    bears_kg: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MassLimit:
    """What may go into a crate, and which limit that is."""

    net_kg: float
    gross_kg: float
    why: str


def company_of(item: Item) -> str:
    """With whom a thing may share a crate: human remains, metal kept dry, damp, or dry.

    Raises
    ------
    UnknownName : the material is not in the list.
    """
    damp = item.state != "dry"
    if is_human(item):
        return HUMAN_DAMP if damp else HUMAN_DRY
    if damp:
        return DAMP
    return METAL if group_of(item) == "metal" else DRY


def is_human(item: Item) -> bool:
    """True for human remains, flagged or by material."""
    if item.human_remains:
        return True
    return bool(item.material) and "human remains" in find_material(item.material, where=f"item {item.number}").flags


def group_of(item: Item) -> str:
    """Material group of a thing; empty when no material is stated."""
    return find_material(item.material, where=f"item {item.number}").group if item.material else ""


def why_apart(one: str, other: str) -> str:
    """Why two companies may not share a crate; empty when they may."""
    if (one, other) not in APART and (other, one) not in APART:
        return ""
    if (one in _HUMAN) != (other in _HUMAN):
        return "human remains are kept by themselves"
    if METAL in (one, other):
        return "damp goes for metal: metals kept dry never share a crate with damp finds"
    return "a crate of damp finds goes to the cold store, dry ones do not"


def bearing_of(item: Item, defaults: CrateDefaults) -> Bearing:
    """How much may stand on a thing in all, directly and through others."""
    if item.lidded and item.state != "dry":
        return Bearing(bears_kg=0.0, why="lidded damp box: nothing stands on it")
    if item.max_on_top_kg is not None:
        return Bearing(bears_kg=item.max_on_top_kg, why="as stated")
    if item.board is not None:
        length, width, _ = item.size_mm
        words = f"board box after {item.board.days:g} days at {item.board.rh:.0%} RH, by the strength formula"
        return Bearing(bears_kg=bears_kg(item.board, length, width), why=words)
    share = defaults.bears_share
    return Bearing(bears_kg=share * item.mass_kg, why=f"not stated: {share:g} times its own mass is taken")


def mass_limit(crate: Crate, request: CrateRequest) -> MassLimit:
    """What a crate may hold: its rating, the limit for a crate, and what those who carry it are given."""
    defaults = request.defaults
    people = request.persons
    carried = defaults.person_kg * (1.0 if people == 1 else people * defaults.team_share)
    who, gets = ("one person", "is") if people == 1 else (f"{people} people", "are")
    offers = [
        (defaults.crate_gross_kg - crate.tare_kg, "the limit for any crate"),
        (carried - crate.tare_kg, f"what {who} {gets} given to carry"),
    ]
    if crate.max_load_kg is not None:
        offers.append((crate.max_load_kg, "what the crate is rated for"))
    net, why = min(offers)
    return MassLimit(net_kg=max(0.0, net), gross_kg=max(0.0, net) + crate.tare_kg, why=why)


def rules_of(defaults: CrateDefaults) -> Rules:
    """The rules as the toolbox takes them."""
    return Rules(apart=APART, heavier=defaults.heavier_ratio)


def grams_up(mass_kg: float) -> int:
    """Mass in whole grams, never less [g]."""
    return math.ceil(mass_kg * 1000.0 - 1e-6)


def grams_down(mass_kg: float) -> int:
    """Mass in whole grams, never more [g]."""
    return math.floor(mass_kg * 1000.0 + 1e-6)


def assumed(request: CrateRequest) -> tuple[str, ...]:
    """What was taken without being told, with its mark."""
    defaults, said = request.defaults, []
    silent = [i for i in request.items if bearing_of(i, defaults).why.startswith("not stated")]
    if silent:
        said.append(
            f"Of {len(silent)} of {len(request.items)} things it is not stated what may stand on them: "
            f"{defaults.bears_share:g} times their own mass is taken ({mark_of('bears_share')})."
        )
    if any(not item.material and not item.human_remains for item in request.items):
        said.append("Things without a material are taken as not metal and not human remains: check their labels.")
    said.append(
        "Each thing counts in full on everything under it, however many share the load: who carries how much "
        "cannot be known."
    )
    said.append(
        f"Crate limits: {defaults.crate_gross_kg:g} kg in all ({mark_of('crate_gross_kg')}, one archive) and "
        f"{defaults.person_kg:g} kg a person ({mark_of('person_kg')}, the same); the depository's own come first."
    )
    return tuple(said)
