"""What a person decides: parts that want different things, things done too early, and rules a person lets pass."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from findhold.errors import Question, UnknownName
from findhold.pack.asked import Asked
from findhold.pack.care.composite import composites
from findhold.pack.care.conflict import Conflict
from findhold.pack.care.order import Clash, called, order_for
from findhold.pack.care.rays import in_order
from findhold.pack.inputs import Override
from findhold.pack.kept import keeps_dark
from findhold.sources import source
from findhold.tables.contact import analysis_names, find_act, state_rules
from findhold.tables.firstaid import composite_rules
from findhold.tables.materials import packing_material
from findhold.tables.naming import plain_name
from findhold.tables.ordering import find_doing


def composite_conflicts(asked: Asked) -> Iterator[Conflict]:
    """What parts of the find want of each other: never stops a plan, always wants a person's choice.

    Source: table composites.
    """
    for found in composites(asked):
        rule = found.rule
        yield Conflict(
            material=found.pair,
            analysis=rule.rule,
            verdict="with a control",
            source=source(rule.source).citation(),
            text=rule.text,
            remedy=in_order(rule.course, dated_by_light=keeps_dark(asked.inputs)),
            seen=rule.seen,
            kind="parts",
            severity=rule.severity,
            who=rule.who,
            by=found.by,
            choices=rule.choices,
        )


def order_conflicts(asked: Asked) -> Iterator[Conflict]:
    """What was done, or is dated, before what it spoils: forbidden until a person says what becomes of the analysis.

    Source: table order_rules.
    """
    for clash in order_for(asked).clashes:
        yield _from_clash(clash)


def choice_questions(asked: Asked, found: Iterable[Conflict]) -> tuple[Question, ...]:
    """What only a person can choose, for every conflict that leaves a choice and that nobody has settled."""
    circle = order_for(asked).questions
    return (
        *(
            Question(
                about=f"{one.kind}: {one.pair}",
                text=f"{one.pair[:1].upper()}{one.pair[1:]}: {one.text}. Who decides: {one.who}, {one.by}.",
                choices=one.choices,
            )
            for one in found
            if one.open
        ),
        *circle,
    )


def override_questions(asked: Asked, found: Iterable[Conflict]) -> tuple[Question, ...]:
    """Overrides that answer nothing in this plan, as questions.

    Raises
    ------
    UnknownName : an override names a rule that does not exist.
    """
    return tuple(
        Question(
            about="overrides",
            text=f"{asked.inputs.find}: the override of {override.material} for {override.rule} by {override.person} "
            "answers nothing forbidden in this plan. Leave it out?",
            choices=("leave it out", "the name is wrong"),
        )
        for override in idle_overrides(asked, found)
    )


def idle_overrides(asked: Asked, found: Iterable[Conflict]) -> tuple[Override, ...]:
    """Overrides that answer nothing in this plan.

    Raises
    ------
    UnknownName : an override names a rule that does not exist.
    """
    standing = list(found)
    for override in asked.inputs.overrides:
        _check_rule_name(override, asked.inputs.find)
    return tuple(
        override for override in asked.inputs.overrides if not any(_covers(override, conflict) for conflict in standing)
    )


def _from_clash(clash: Clash) -> Conflict:
    """Something done too early as a conflict: what it destroys or soils is forbidden, what it hampers is told."""
    first, done = called(clash.first), called(clash.done)
    firm = clash.severity in ("destroys", "contaminates") and not clash.gives_way
    return Conflict(
        material=done,
        analysis=clash.first,
        verdict="forbidden" if firm else "with a control",
        source=source(clash.source).citation(),
        text=f"{clash.how}, and {first} should come first: {clash.why}",
        remedy=f"If it is not done yet, put {first} first. If it is, ask the {first} specialist whether that is still "
        "worth doing, and write down who said so.",
        seen=clash.seen,
        kind="order",
        severity=clash.severity,
        who=f"the {first} specialist",
        by="before anything more is done",
        choices=(
            f"{first} is put first",
            f"{first} is done all the same, its specialist knows",
            f"{first} is struck off",
        ),
    )


def overridden(found: Iterable[Conflict], overrides: tuple[Override, ...]) -> Iterator[Conflict]:
    """The conflicts, with person and reason where somebody let one pass or settled it."""
    for conflict in found:
        by = next((o for o in overrides if _covers(o, conflict)), None)
        yield conflict if by is None else replace(conflict, overridden_by=by.person.strip(), reason=by.reason.strip())


def _covers(override: Override, conflict: Conflict) -> bool:
    if conflict.verdict != "forbidden" and not conflict.choices:
        return False
    return _same_thing(override.material, conflict.material) and _same_rule(override.rule, conflict.analysis)


def _same_thing(typed: str, name: str) -> bool:
    if plain_name(typed) in {plain_name(part) for part in (name, *name.split(" with "))}:
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
        return find_doing(typed) == name
    except UnknownName:
        return False


def _check_rule_name(override: Override, where: str) -> None:
    rules = [rule.rule for rule in state_rules()] + [rule.rule for rule in composite_rules()]
    if plain_name(override.rule) in {plain_name(rule) for rule in rules}:
        return
    try:
        find_doing(override.rule)
    except UnknownName as error:
        raise UnknownName("analysis or rule", override.rule, [*analysis_names(), *rules], where=where) from error
