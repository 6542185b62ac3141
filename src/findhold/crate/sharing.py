"""Which finds may share one box with dividers between them, and why not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from findhold.tables.contact import contact_rule, find_analysis
from findhold.tables.materials import find_material, packing_material

State = Literal["dry", "damp", "waterlogged"]
Size = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sharer:
    """A find that is to share a box: its size with its wrapping [mm], mass, state, material and planned analyses."""

    number: str
    what: str = ""
    size_mm: Size
    mass_kg: float
    state: State
    material: str
    context: str = ""
    human_remains: bool = False
    analyses: tuple[str, ...] = ()
    wrapping: str = "tissue"
    """What lies round it and so touches dividers and air of the box."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """Two finds, or one find and the dividers, that may not share, and why."""

    numbers: tuple[str, ...]
    why: str
    source: str
    seen: str


def why_not_share(one: Sharer, other: Sharer) -> tuple[Apart, ...]:
    """Every reason why two finds may not share a box; empty when they may.

    Same state; no metal with damp; no human remains with others; and what wraps the one may not spoil what is planned
    for the other. That no reason is found is no promise: a pair without a rule is listed by `untested`.
    """
    pair = (one.number, other.number)
    found = []
    if _human(one) != _human(other):
        found.append(_judged(pair, "human remains are kept by themselves"))
    if one.state != other.state:
        found.append(_judged(pair, f"one is {one.state}, the other {other.state}: one box has one climate"))
    metal = [find_material(sharer.material, where=f"find {sharer.number}").group == "metal" for sharer in (one, other)]
    if metal[0] != metal[1] and "dry" not in (one.state, other.state):
        found.append(_judged(pair, "metal and another damp find: what keeps the one spoils the other"))
    for wrapped, analysed in ((one, other), (other, one)):
        found += [Apart(numbers=pair, why=why, source=s, seen=m) for why, s, m in _spoils(wrapped.wrapping, analysed)]
    return tuple(found)


def why_no_divider(sharer: Sharer, divider: str) -> tuple[Apart, ...]:
    """Reasons why a find may not stand beside dividers of a material."""
    return tuple(
        Apart(numbers=(sharer.number,), why=why, source=source, seen=seen)
        for why, source, seen in _spoils(divider, sharer)
    )


def untested(sharer: Sharer, materials: tuple[str, ...]) -> tuple[str, ...]:
    """Pairs of material and analysis for which no rule is known, in words; that is not a permission."""
    said = []
    for name in dict.fromkeys(materials):
        contact = packing_material(name).contact
        for analysis in sharer.analyses:
            rule = contact_rule(contact, find_analysis(analysis, where=f"find {sharer.number}").name)
            if rule.verdict == "no rule known":
                said.append(f"{name} beside find {sharer.number} ({rule.analysis}): no rule known; ask the specialist")
    return tuple(said)


def _spoils(material: str, sharer: Sharer) -> list[tuple[str, str, str]]:
    """Forbidden contacts of a material with the analyses planned for a find: words, source, mark."""
    contact = packing_material(material).contact
    found = []
    for name in sharer.analyses:
        rule = contact_rule(contact, find_analysis(name, where=f"find {sharer.number}").name)
        if rule.verdict == "forbidden":
            why = f"{material} must not come near find {sharer.number}, planned for {rule.analysis}: {rule.text}"
            found.append((why, rule.source, rule.seen))
    return found


def _human(sharer: Sharer) -> bool:
    return sharer.human_remains or "human remains" in find_material(sharer.material).flags


def _judged(pair: tuple[str, str], why: str) -> Apart:
    return Apart(numbers=pair, why=why, source="findhold-judgement", seen="judgement")
