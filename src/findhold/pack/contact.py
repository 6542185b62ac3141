"""What touches what: packing against planned analyses, and packing and acts against the state of the find.

A forbidden pair stands until a named person overrides it with a reason; it stays on the list either way.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from findhold.errors import Question, UnknownName
from findhold.pack.asked import Asked
from findhold.pack.damp import SheetDose, bag_touches
from findhold.pack.inputs import Override
from findhold.sources import source
from findhold.tables.contact import (
    StateRule,
    Verdict,
    analysis_names,
    contact_rule,
    find_act,
    find_analysis,
    state_rules,
)
from findhold.tables.materials import FindMaterial, PackingMaterial, packing_material
from findhold.tables.naming import plain_name

IMAGING = "imaging"
OTHER = "other"
_STRICTEST = (
    "until the specialist answers handle it at its strictest: two pairs of unpowdered gloves, clean foil or "
    "polyethylene next to it, no washing, nothing stuck on, marked or treated."
)
_IMAGING_ACT = "CT or X-ray"


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """A pair that is forbidden or wants a control; `analysis` is the analysis or the state rule it is about."""

    material: str
    analysis: str
    verdict: Verdict
    source: str
    text: str
    remedy: str
    overridden_by: str | None = None
    reason: str | None = None
    seen: str = ""
    """How far the source was seen."""

    @property
    def stops(self) -> bool:
        """Forbidden, and nobody has let it pass."""
        return self.verdict == "forbidden" and self.overridden_by is None


def contact_material(asked: Asked, dose: SheetDose) -> PackingMaterial:
    """What touches the find: the barrier; else the bag when it lies next to it; else the wrapping."""
    if asked.barrier is not None:
        return asked.barrier
    if asked.bag is not None and bag_touches(asked, dose):
        return asked.bag
    return asked.wrapping


def conflicts(asked: Asked, dose: SheetDose) -> tuple[Conflict, ...]:
    """Every forbidden pair and every pair that wants a control, the box's wall left out.

    Parameters
    ----------
    asked, dose : a checked request and how it is wetted.

    Returns
    -------
    Conflicts, forbidden ones first; overridden ones carry person and reason.

    Source: tables contact_rules and state_rules, each row with its own source and mark.
    """
    found = [*_analysis_conflicts(asked, dose), *_state_conflicts(asked, dose)]
    return tuple(_sorted(_overridden(found, asked.inputs.overrides)))


def wall_conflicts(asked: Asked, wall: str) -> tuple[Conflict, ...]:
    """Conflicts of one wall material (by the name of the stock list) with the find."""
    material = asked.walls[wall]
    rules = (rule for rule in state_rules() if rule.kind in ("wall", "any") and _applies(rule, asked))
    found = [_from_rule(rule, material.name) for rule in rules if _names(rule, material, padded=True)]
    return tuple(_sorted(_overridden(found, asked.inputs.overrides)))


def unknown_pairs(asked: Asked, dose: SheetDose) -> tuple[str, ...]:
    """Planned analyses for which no rule about the contact material is known, as sentences."""
    material = contact_material(asked, dose)
    lacking = [a.name for a in asked.analyses if contact_rule(material.contact, a.name).verdict == "no rule known"]
    return tuple(
        f"An analysis not in the tables is planned: no contact rule is known for it and {material.name}; {_STRICTEST}"
        if name == OTHER
        else f"No contact rule is known for {name} and {material.name}: ask the laboratory."
        for name in lacking
    )


def override_questions(asked: Asked, found: Iterable[Conflict]) -> tuple[Question, ...]:
    """Overrides that answer nothing in this plan, as questions.

    Raises
    ------
    UnknownName : an override names a rule that does not exist.
    """
    standing = list(found)
    questions = []
    for override in asked.inputs.overrides:
        _check_rule_name(override, asked.inputs.find)
        if not any(_covers(override, conflict) for conflict in standing):
            text = (
                f"{asked.inputs.find}: the override of {override.material} for {override.rule} by {override.person} "
                "answers nothing forbidden in this plan. Leave it out?"
            )
            questions.append(Question(about="overrides", text=text, choices=("leave it out", "the name is wrong")))
    return tuple(questions)


def _analysis_conflicts(asked: Asked, dose: SheetDose) -> Iterator[Conflict]:
    touching = contact_material(asked, dose)
    pairs = [(touching.name, touching.contact)]
    pairs += [(act.name, act.contact) for act in asked.acts if act.contact]
    planned = [analysis.name for analysis in asked.analyses]
    if IMAGING in planned and _IMAGING_ACT not in {act.name for act in asked.acts}:
        pairs.append((_IMAGING_ACT, find_act(_IMAGING_ACT).contact))
    for name, contact in pairs:
        for analysis in planned:
            rule = contact_rule(contact, analysis)
            if rule.verdict in ("forbidden", "with a control"):
                yield Conflict(
                    material=name,
                    analysis=analysis,
                    verdict=rule.verdict,
                    source=source(rule.source).citation(),
                    text=rule.text or f"{name} and {analysis}: {rule.verdict}",
                    remedy=rule.remedy or rule.control,
                    seen=rule.seen,
                )


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
        if not _applies(rule, asked):
            continue
        if rule.kind == "state":
            yield _from_rule(rule, asked.material.name)
        elif rule.kind == "water" and dose.g_per_sheet > 0:
            yield _from_rule(rule, "water")
        elif rule.kind == "act":
            yield from (_from_rule(rule, act.name) for act in asked.acts if act.name in rule.things)
        for material in laid.get(rule.kind, ()):
            if _names(rule, material, padded=padded):
                yield _from_rule(rule, material.name)


def _applies(rule: StateRule, asked: Asked) -> bool:
    # Rules of water and of the kept state go by the state it is to be kept in; what harms a damp find harms one that
    # was found damp and is not yet dry.
    states = {asked.kept} if rule.kind in ("state", "water") else {asked.kept, asked.inputs.state}
    state = "any" in rule.states or not states.isdisjoint(rule.states)
    bare = not rule.only_bare or asked.soil is None
    return state and bare and any(_of_material(word, asked.material) for word in rule.materials)


def _of_material(word: str, material: FindMaterial) -> bool:
    return word in ("any", material.name, f"group:{material.group}")


def _names(rule: StateRule, material: PackingMaterial, *, padded: bool) -> bool:
    """Whether a rule speaks of a packing material: by name, by its contact row, or by a property."""
    said = {material.name, material.contact}
    said |= {word for word in ("pvc", "metal", "fibrous") if getattr(material, word)}
    if material.closure in ("sealed", "perforated"):
        said.add(f"{material.closure} bag")
    if material.closure == "sealed" and not padded:
        said.add("sealed bag without pad")
    return not said.isdisjoint(rule.things)


def _from_rule(rule: StateRule, material: str) -> Conflict:
    return Conflict(
        material=material,
        analysis=rule.rule,
        verdict=rule.verdict,
        source=source(rule.source).citation(),
        text=rule.text,
        remedy=rule.remedy,
        seen=rule.seen,
    )


def _sorted(found: Iterable[Conflict]) -> list[Conflict]:
    return sorted(dict.fromkeys(found), key=lambda conflict: conflict.verdict != "forbidden")


def _overridden(found: Iterable[Conflict], overrides: tuple[Override, ...]) -> Iterator[Conflict]:
    for conflict in found:
        by = next((o for o in overrides if _covers(o, conflict)), None)
        yield conflict if by is None else replace(conflict, overridden_by=by.person.strip(), reason=by.reason.strip())


def _covers(override: Override, conflict: Conflict) -> bool:
    if conflict.verdict != "forbidden":
        return False
    return _same_thing(override.material, conflict.material) and _same_rule(override.rule, conflict.analysis)


def _same_thing(typed: str, name: str) -> bool:
    if plain_name(typed) == plain_name(name):
        return True
    for look_up in (packing_material, find_act):
        try:
            if look_up(typed).name == name:
                return True
        except UnknownName:
            continue
    return False


def _same_rule(typed: str, name: str) -> bool:
    if plain_name(typed) == plain_name(name):
        return True
    try:
        return find_analysis(typed).name == name
    except UnknownName:
        return False


def _check_rule_name(override: Override, where: str) -> None:
    rules = [rule.rule for rule in state_rules()]
    if plain_name(override.rule) in {plain_name(rule) for rule in rules}:
        return
    try:
        find_analysis(override.rule)
    except UnknownName as error:
        raise UnknownName("analysis or rule", override.rule, [*analysis_names(), *rules], where=where) from error
