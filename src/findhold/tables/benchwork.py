"""How long jobs take at the bench where nothing else is said, and what they need."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from findhold.tables.firstaid import first_aid_row
from findhold.tables.load import table
from findhold.tables.materials import find_material_names
from findhold.tables.naming import plain_name
from findhold.tables.ordering import find_doing

HUMAN_BONE = "human bone"


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchWork:
    """One kind of job: bench time [h] and equipment, with where the figures come from."""

    what: str
    bench_hours: float
    needs: tuple[str, ...]
    source: str
    seen: str


def bench_work(what: str) -> BenchWork:
    """The bench time of an analysis or of the opening, by its own name; what is not listed counts as `other`."""
    rows = table("bench_hours").by("what")
    row = rows.get(what, rows["other"])
    return BenchWork(
        what=what,
        bench_hours=float(row["bench_hours"]),
        needs=tuple(part for part in row["needs"].split("|") if part),
        source=row["source"],
        seen=row["seen"],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningSkill:
    """What a person must be entered with to open finds of a kind, and who that usually is, in words."""

    skill: str
    wanted: str


PLAIN_OPENING = OpeningSkill(skill="opening", wanted="somebody who opens finds")


def opening_skill(materials: Iterable[str], state: str, *, human: bool = False) -> OpeningSkill:
    """Who may open a find, from who decides on it in the table of first aid.

    Parameters
    ----------
    materials : of the find and of its parts; parts that are no material say nothing. state : as found.
    human : the register says that it holds human remains.

    Returns
    -------
    The skill; the stricter one where its materials differ.

    Source: our own reading of "who decides" (judgement); the unit's rules and the licence come first.
    """
    names = [name for name in (*materials, *([HUMAN_BONE] if human else [])) if name in find_material_names()]
    found = [row for name in names if (row := _decider(first_aid_row(name, state).decides)) is not None]
    if not found:
        return PLAIN_OPENING
    row = max(found, key=lambda one: int(one["rank"]))
    return OpeningSkill(skill=row["skill"], wanted=row["wanted"])


def find_skill(name: str, *, where: str = "") -> str:
    """The own name of a skill: an analysis, the opening, or the opening of one kind of find, by any of its names.

    Raises
    ------
    UnknownName : no such skill; near names are offered.
    """
    return _skills().get(plain_name(name)) or find_doing(name, where=where)


def _decider(decides: str) -> dict[str, str] | None:
    """The row of the first skill that fits who decides; None where anybody who opens finds will do."""
    for row in table("opening_skills").rows:
        if decides.startswith(row["decides"]):
            return None if row["also_named"] and row["also_named"] in decides else row
    return None


@cache
def _skills() -> dict[str, str]:
    return {
        plain_name(name): row["skill"]
        for row in table("opening_skills").rows
        for name in (row["skill"], *row["aliases"].split("|"))
    }
