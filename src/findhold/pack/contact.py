"""What stands against a plan: what touches what, state against packing and acts, parts of a find, what came too early.

A forbidden pair stands until a named person overrides it with a reason; it stays on the list either way. What parts of
a composite want of each other, and what was done too early, wants a person's word too, and an override is that word.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from findhold.pack.asked import Asked
from findhold.pack.care.composite import unknown_parts
from findhold.pack.care.conflict import Conflict
from findhold.pack.care.deciding import composite_conflicts, order_conflicts, overridden
from findhold.pack.care.order import sampled_first
from findhold.pack.care.parts import materials_of, parts_of, speaks_of
from findhold.pack.care.rays import in_order
from findhold.pack.damp import SheetDose, bag_touches
from findhold.pack.kept import keeps_dark
from findhold.sources import source
from findhold.tables.contact import StateRule, contact_rule, find_act, state_rules
from findhold.tables.materials import PackingMaterial

IMAGING = "imaging"
OTHER = "other"
_STRICTEST = (
    "until the specialist answers handle it at its strictest: two pairs of unpowdered gloves, clean foil or "
    "polyethylene next to it, no washing, nothing stuck on, marked or treated."
)
_IMAGING_ACT = "CT or X-ray"
_GRAVE = {"destroys": 0, "contaminates": 1, "hampers": 2}


def contact_material(asked: Asked, dose: SheetDose) -> PackingMaterial:
    """What touches the find: the barrier; else the bag when it lies next to it; else the wrapping."""
    if asked.barrier is not None:
        return asked.barrier
    if asked.bag is not None and bag_touches(asked, dose):
        return asked.bag
    return asked.wrapping


def conflicts(asked: Asked, dose: SheetDose) -> tuple[Conflict, ...]:
    """Every forbidden pair, every pair that wants a control, and what a person has to choose; the box's wall left out.

    Parameters
    ----------
    asked, dose : a checked request and how it is wetted.

    Returns
    -------
    Conflicts, forbidden ones first; overridden ones carry person and reason.

    Source: tables contact_rules, state_rules, composites and order_rules, each row with its own source and mark.
    """
    found = [*_analysis_conflicts(asked, dose), *_state_conflicts(asked, dose), *composite_conflicts(asked)]
    found = [*found, *(clash for clash in order_conflicts(asked) if not _said(clash, found))]
    found = [one for one in found if not any(_outdone(one, clash) for clash in found)]
    return tuple(_sorted(overridden(found, asked.inputs.overrides)))


def wall_conflicts(asked: Asked, wall: str) -> tuple[Conflict, ...]:
    """Conflicts of one wall material (by the name of the stock list) with the find."""
    material = asked.walls[wall]
    rules = (rule for rule in state_rules() if rule.kind in ("wall", "any") and applies(rule, asked))
    found = [_from_rule(rule, material.name, asked) for rule in rules if _names(rule, material, padded=True)]
    return tuple(_sorted(overridden(found, asked.inputs.overrides)))


def unknown_pairs(asked: Asked, dose: SheetDose) -> tuple[str, ...]:
    """Planned analyses and pairs of parts for which no rule is known, as sentences."""
    material = contact_material(asked, dose)
    lacking = [a.name for a in asked.analyses if contact_rule(material.contact, a.name).verdict == "no rule known"]
    parts = (
        f"No rule is known for {one} with {other} in one find: ask a conservator what the one does to the other."
        for one, other in unknown_parts(asked)
    )
    analyses = (
        f"An analysis not in the tables is planned: no contact rule is known for it and {material.name}; {_STRICTEST}"
        if name == OTHER
        else f"No contact rule is known for {name} and {material.name}: ask the laboratory."
        for name in lacking
    )
    return (*analyses, *parts)


def _analysis_conflicts(asked: Asked, dose: SheetDose) -> Iterator[Conflict]:
    touching = contact_material(asked, dose)
    pairs = [(touching.name, touching.contact)]
    pairs += [(act.name, act.contact) for act in asked.acts if act.contact]
    planned, acts = [analysis.name for analysis in asked.analyses], {act.name for act in asked.acts} | {_IMAGING_ACT}
    if IMAGING in planned and _IMAGING_ACT not in {act.name for act in asked.acts}:
        pairs.append((_IMAGING_ACT, find_act(_IMAGING_ACT).contact))
    for name, contact in pairs:
        for analysis in planned:
            rule = contact_rule(contact, analysis)
            if rule.verdict in ("forbidden", "with a control"):
                found = Conflict(
                    material=name,
                    analysis=analysis,
                    verdict=rule.verdict,
                    source=source(rule.source).citation(),
                    text=rule.text or f"{name} and {analysis}: {rule.verdict}",
                    remedy=rule.remedy or rule.control,
                    seen=rule.seen,
                    severity=rule.severity,
                )
                if name in acts and sampled_first(asked, analysis, name):
                    remedy = f"Keep to the dates: the {analysis} sample is taken before {name}."
                    found = replace(found, verdict="with a control", remedy=remedy)
                yield found


def _state_conflicts(asked: Asked, dose: SheetDose) -> Iterator[Conflict]:
    touching = contact_material(asked, dose)
    laid: dict[str, list[PackingMaterial]] = {
        "contact": [touching],
        "wrapping": [material for material in (asked.wrapping, asked.bag) if material is not None],
        "any": [m for m in (asked.wrapping, asked.barrier, asked.bag) if m is not None],
    }
    if asked.bag is not None and bag_touches(asked, dose):
        laid["wrapping"] = [asked.bag]
    padded = asked.wrapping.pad and asked.inputs.sheets != 0
    for rule in state_rules():
        if not applies(rule, asked):
            continue
        if rule.kind == "state":
            yield _from_rule(rule, _spoken_of(rule, asked), asked)
        elif rule.kind == "water" and dose.g_per_sheet > 0:
            yield _from_rule(rule, "water", asked)
        elif rule.kind == "act":
            yield from (_from_rule(rule, act.name, asked) for act in asked.acts if act.name in rule.things)
        for material in laid.get(rule.kind, ()):
            if _names(rule, material, padded=padded):
                yield _from_rule(rule, material.name, asked)


def applies(rule: StateRule, asked: Asked) -> bool:
    """Whether a rule of state speaks of this find: by its state, its soil, its material and parts."""
    # Rules of water and of the kept state go by the state it is to be kept in; what harms a damp find harms one that
    # was found damp and is not yet dry.
    states = {asked.kept} if rule.kind in ("state", "water") else {asked.kept, asked.inputs.state}
    state = "any" in rule.states or not states.isdisjoint(rule.states)
    bare = not rule.only_bare or asked.soil is None
    return state and bare and any(speaks_of(word, asked) for word in rule.materials)


def _spoken_of(rule: StateRule, asked: Asked) -> str:
    """The material or part that a rule of the state itself speaks of."""
    words = set(rule.materials)
    own = (m.name for m in materials_of(asked) if not words.isdisjoint({"any", m.name, f"group:{m.group}"}))
    return next(own, None) or next((part for part in parts_of(asked) if part in words), asked.material.name)


def _names(rule: StateRule, material: PackingMaterial, *, padded: bool) -> bool:
    """Whether a rule speaks of a packing material: by name, by its contact row, or by a property."""
    said = {material.name, material.contact}
    said |= {word for word in ("pvc", "metal", "fibrous") if getattr(material, word)}
    if material.closure in ("sealed", "perforated"):
        said.add(f"{material.closure} bag")
    if material.closure == "sealed" and not padded:
        said.add("sealed bag without pad")
    return not said.isdisjoint(rule.things)


def _from_rule(rule: StateRule, material: str, asked: Asked) -> Conflict:
    dark = keeps_dark(asked.inputs)
    return Conflict(
        material=material,
        analysis=rule.rule,
        verdict=rule.verdict,
        source=source(rule.source).citation(),
        text=in_order(rule.text, dated_by_light=dark),
        remedy=in_order(rule.remedy, dated_by_light=dark),
        seen=rule.seen,
        kind="state",
    )


def _said(clash: Conflict, found: Iterable[Conflict]) -> bool:
    """Whether a contact rule has already forbidden the same pair, or told it where the clash only tells it too."""
    same = [one for one in found if (one.material, one.analysis) == (clash.material, clash.analysis)]
    return any(one.verdict == "forbidden" or clash.verdict != "forbidden" for one in same)


def _outdone(one: Conflict, clash: Conflict) -> bool:
    """Whether a graver clash of order stands for the same pair."""
    same = (one.material, one.analysis) == (clash.material, clash.analysis)
    return same and one.kind != "order" and clash.kind == "order"


def _sorted(found: Iterable[Conflict]) -> list[Conflict]:
    """Each conflict once: forbidden ones first, then those that leave a choice, then by how much is lost."""
    return sorted(
        dict.fromkeys(found),
        key=lambda one: (one.verdict != "forbidden", not one.choices, _GRAVE.get(one.severity, len(_GRAVE))),
    )
