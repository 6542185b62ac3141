"""The bibliography: every number's passport names a key of this list.

The list itself is data (tables/data/sources.csv): key, author, title, body, year, seen. "seen" says how far the
source was read when the figure was taken: seen, code (seen carried in open code that cites it), memory, common
practice, judgement (a proposed default without authority, editable) or computed.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

from findhold.errors import UnknownName

SEEN_WORDS = ("seen", "code", "memory", "common practice", "judgement", "computed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One work that figures were taken from."""

    key: str
    author: str
    title: str
    body: str
    year: str
    seen: str

    def citation(self) -> str:
        """The source as one line for small print, with its mark when it was not seen."""
        lead = ", ".join(part for part in (self.author, self.title, self.body, self.year) if part)
        return lead if self.seen == "seen" else f"{lead} [{self.seen}]"


@cache
def bibliography() -> dict[str, Source]:
    """All sources by key."""
    text = resources.files("findhold.tables").joinpath("data/sources.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return {row["key"]: Source(**row) for row in rows}


def source(key: str) -> Source:
    """One source by its key; raises UnknownName with near keys."""
    known = bibliography()
    if key not in known:
        raise UnknownName("source", key, list(known))
    return known[key]
