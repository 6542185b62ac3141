"""What has to come before what on the opening day: the things to do, their usual place, and the rules between them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import cast

from findhold.tables.contact import Severity, act_names, analysis_names, find_act, find_analysis
from findhold.tables.load import table
from findhold.tables.naming import plain_name, resolve

IMAGING, IMAGING_ACT = "imaging", "CT or X-ray"
"""The analysis, and the act that is the same thing."""
LAST_RANK = 99


@dataclass(frozen=True, slots=True, kw_only=True)
class Doing:
    """A thing to do: analysis, act or step; `rank` is its usual place where no rule decides."""

    name: str
    kind: str
    rank: int
    words: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRule:
    """One thing before another, and what is lost otherwise; a rule that gives way is left out of a circle."""

    before: str
    after: str
    why: str
    severity: Severity
    gives_way: bool
    source: str
    seen: str


@cache
def order_rules() -> tuple[OrderRule, ...]:
    """All rules of order, in the order of the table."""
    keys = ("before", "after", "why", "source", "seen")
    return tuple(
        OrderRule(
            severity=cast(Severity, row["severity"]),
            gives_way=row["gives_way"] == "yes",
            **{key: row[key] for key in keys},
        )
        for row in table("order_rules").rows
    )


def doing(name: str) -> Doing:
    """One thing to do by its own name; an act that the sequence does not place comes last."""
    known = _doings()
    if name in known:
        return known[name]
    row = table("acts").by("name")[name]
    return Doing(name=name, kind="act", rank=LAST_RANK, words=name, source=row["source"], seen=row["seen"])


def find_doing(name: str, *, where: str = "") -> str:
    """The own name of an analysis, act or step by any of its names; CT or X-ray is the analysis imaging.

    Raises
    ------
    UnknownName : no such analysis, act or step; near names are offered.
    """
    return resolve("analysis, act or step", name, _index(), where=where)


@cache
def _doings() -> dict[str, Doing]:
    return {
        row["name"]: Doing(
            rank=int(row["rank"]), **{key: row[key] for key in ("name", "kind", "words", "source", "seen")}
        )
        for row in table("order_steps").rows
    }


@cache
def _index() -> dict[str, str]:
    """Every name in use; where an act and an analysis share one, the analysis stands."""
    index = {plain_name(name): name for name in _doings()}
    for look_up, key, names in ((find_act, "acts", act_names()), (find_analysis, "analyses", analysis_names())):
        for row in table(key).rows:
            for typed in (row["name"], *(part.strip() for part in row["aliases"].split("|") if part.strip())):
                meant = look_up(typed).name
                index[plain_name(typed)] = IMAGING if meant == IMAGING_ACT else meant
        index |= {plain_name(name): IMAGING if name == IMAGING_ACT else name for name in names}
    return index
