"""What may touch what: planned analyses, contact rules, state rules, acts, and the cautions that go with them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, cast

from findhold.errors import UnknownName
from findhold.tables.load import table
from findhold.tables.naming import listed, name_index, resolve

Verdict = Literal["forbidden", "with a control", "allowed", "no rule known"]
Severity = Literal["destroys", "contaminates", "hampers", "harmless", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysis:
    """A planned analysis: the controls it ships with (soil, blank or none), its gloves and its usual amount."""

    name: str
    controls: str
    gloves: str
    amount: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactRule:
    """One analysis against one contact or act; `severity` is what is lost if it happens, graded by ourselves."""

    contact: str
    analysis: str
    verdict: Verdict
    severity: Severity
    text: str
    remedy: str
    control: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StateRule:
    """One rule of state and material against packing or an act."""

    rule: str
    kind: str
    materials: tuple[str, ...]
    states: tuple[str, ...]
    only_bare: bool
    things: tuple[str, ...]
    verdict: Verdict
    text: str
    remedy: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """Something done or planned; `contact` names the rows of contact_rules that it is read under."""

    name: str
    contact: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionText:
    """A caution and when it is printed: always, by state (damp, dry, found damp, desiccated), heavy, or for a flag."""

    name: str
    when: str
    text: str
    source: str
    seen: str


def find_analysis(name: str, *, where: str = "") -> Analysis:
    """A planned analysis by any of its names; raises UnknownName with near names."""
    row = _analyses()[resolve("analysis", name, _analysis_index(), where=where)]
    return Analysis(**{key: row[key] for key in ("name", "controls", "gloves", "amount", "source", "seen")})


def find_act(name: str, *, where: str = "") -> Act:
    """An act by any of its names; raises UnknownName with near names."""
    row = _acts()[resolve("act", name, _act_index(), where=where)]
    return Act(name=row["name"], contact=row["contact"])


def act_names() -> tuple[str, ...]:
    """All acts."""
    return tuple(_acts())


def analysis_names() -> tuple[str, ...]:
    """All analyses."""
    return tuple(_analyses())


def contact_rule(contact: str, analysis: str) -> ContactRule:
    """The rule for a contact and an analysis; its verdict may be "no rule known", which is not a permission.

    Raises
    ------
    UnknownName : a contact or an analysis that the matrix does not have.
    """
    rule = _contact_rules().get((contact, analysis))
    if rule is None:
        raise UnknownName("pair of contact and analysis", f"{contact} and {analysis}", list(contact_names()))
    return rule


@cache
def contact_names() -> tuple[str, ...]:
    """All contacts and acts that the matrix has, in the order of the table."""
    return tuple(dict.fromkeys(contact for contact, _ in _contact_rules()))


@cache
def state_rules() -> tuple[StateRule, ...]:
    """All rules of state and material, in the order of the table."""
    return tuple(
        StateRule(
            rule=row["rule"],
            kind=row["kind"],
            materials=listed(row["materials"]),
            states=listed(row["state"]),
            only_bare=row["bare"] == "bare",
            things=listed(row["things"]),
            verdict=cast(Verdict, row["verdict"]),
            text=row["text"],
            remedy=row["remedy"],
            source=row["source"],
            seen=row["seen"],
        )
        for row in table("state_rules").rows
    )


@cache
def caution_texts() -> tuple[CautionText, ...]:
    """All cautions, in the order of the table."""
    keys = ("name", "when", "text", "source", "seen")
    return tuple(CautionText(**{key: row[key] for key in keys}) for row in table("cautions").rows)


@cache
def _analyses() -> dict[str, dict[str, str]]:
    return table("analyses").by("name")


@cache
def _acts() -> dict[str, dict[str, str]]:
    return table("acts").by("name")


@cache
def _analysis_index() -> dict[str, str]:
    return name_index("analysis", ((row["name"], listed(row["aliases"])) for row in _analyses().values()))


@cache
def _act_index() -> dict[str, str]:
    return name_index("act", ((row["name"], listed(row["aliases"])) for row in _acts().values()))


@cache
def _contact_rules() -> dict[tuple[str, str], ContactRule]:
    rules = {}
    for row in table("contact_rules").rows:
        keys = ("contact", "analysis", "text", "remedy", "control", "source", "seen")
        verdict, severity = cast(Verdict, row["verdict"]), cast(Severity, row["severity"])
        rule = ContactRule(verdict=verdict, severity=severity, **{key: row[key] for key in keys})
        rules[rule.contact, rule.analysis] = rule
    return rules
