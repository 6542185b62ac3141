"""First aid by material and state, parts of composites and what they want of each other, and blanks to keep."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, cast

from findhold.tables.contact import Severity
from findhold.tables.load import table
from findhold.tables.materials import find_material, find_material_names
from findhold.tables.naming import listed, name_index, plain_name, resolve

Urgency = Literal["today", "days", "weeks", "none"]
Wash = Literal["never", "no", "ask"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstAidRow:
    """First aid of one material in one state as found; temperature and longest hold stand with the material."""

    material: str
    state: str
    keep: str
    """dry, damp or wet."""
    container: str
    in_soil: str
    """Container of a find in its soil block; empty: as any soil block."""
    wash: Wash
    light: str
    decides: str
    urgency: Urgency
    """How soon who decides should see it."""
    severity: Severity
    """What is lost when it is not kept so."""
    cautions: tuple[str, ...]
    why: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CompositeRule:
    """Two parts of one find that want different things, the least-bad course, and who decides within how many days."""

    rule: str
    part: tuple[str, ...]
    other: tuple[str, ...]
    states: tuple[str, ...]
    text: str
    course: str
    choices: tuple[str, ...]
    who: str
    within_days: float
    severity: Severity
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankRule:
    """A thing of which a clean piece is kept: when it is there, how much, how wrapped, for which analyses."""

    name: str
    role: str
    contact: str
    amount: str
    wrapped: str
    taken: str
    analyses: tuple[str, ...]
    why: str
    source: str
    seen: str


def first_aid_row(material: str, state: str) -> FirstAidRow:
    """First aid of a material (by its own name) in a state as found; the table has every pair."""
    return _first_aid()[material, state]


def find_part(name: str, *, where: str = "") -> str:
    """The name of a part of a find: a material of find_materials, or a part of find_parts, by any of its names.

    Raises
    ------
    UnknownName : neither a material nor a part; near names are offered.
    """
    return resolve("part of a find", name, _part_index(), where=where)


@cache
def part_group(part: str) -> str | None:
    """The group of a part that is a material (metal, organic ...); None for a part that is none."""
    return find_material(part).group if part in find_material_names() else None


def part_names() -> tuple[str, ...]:
    """Parts that are no material of their own."""
    return tuple(row["name"] for row in table("find_parts").rows)


@cache
def composite_rules() -> tuple[CompositeRule, ...]:
    """All conflicts between parts, in the order of the table."""
    return tuple(
        CompositeRule(
            rule=row["rule"],
            part=listed(row["part"]),
            other=listed(row["other"]),
            states=listed(row["states"]),
            text=row["text"],
            course=row["course"],
            choices=listed(row["choices"]),
            who=row["who"],
            within_days=float(row["within_days"]),
            severity=cast(Severity, row["severity"]),
            source=row["source"],
            seen=row["seen"],
        )
        for row in table("composites").rows
    )


@cache
def blank_rules() -> tuple[BlankRule, ...]:
    """All blanks, in the order of the table."""
    keys = ("name", "role", "contact", "amount", "wrapped", "taken", "why", "source", "seen")
    return tuple(
        BlankRule(analyses=listed(row["analyses"]), **{key: row[key] for key in keys}) for row in table("blanks").rows
    )


@cache
def _first_aid() -> dict[tuple[str, str], FirstAidRow]:
    plain = ("material", "state", "keep", "container", "in_soil", "light", "decides", "why", "source", "seen")
    return {
        (row["material"], row["state"]): FirstAidRow(
            wash=cast(Wash, row["wash"]),
            urgency=cast(Urgency, row["urgency"]),
            severity=cast(Severity, row["severity"]),
            cautions=listed(row["cautions"]),
            **{key: row[key] for key in plain},
        )
        for row in table("first_aid").rows
    }


@cache
def _part_index() -> dict[str, str]:
    """Names of materials and parts; where a looser name of a material is also a part's, the part stands."""
    parts = name_index("part", ((row["name"], listed(row["aliases"])) for row in table("find_parts").rows))
    index = {}
    for row in table("find_materials").rows:
        for typed in (row["name"], *listed(row["aliases"]), *listed(row["taken_for"])):
            index[plain_name(typed)] = row["name"]
    return index | parts
