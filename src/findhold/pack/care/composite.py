"""Parts of one find that want different things: the conflict, the least-bad course, who decides, by when."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from findhold.pack.asked import Asked
from findhold.pack.care.parts import is_meant, parts_of
from findhold.tables.firstaid import CompositeRule, composite_rules


@dataclass(frozen=True, slots=True, kw_only=True)
class Composite:
    """Two parts of the find and the rule that speaks of them."""

    part: str
    other: str
    rule: CompositeRule

    @property
    def pair(self) -> str:
        """The two parts in words: "iron with leather"."""
        return f"{self.part} with {self.other}"

    @property
    def by(self) -> str:
        """By when it is decided, in words."""
        return f"within {self.rule.within_days:g} days of first exposure"


def composites(asked: Asked) -> Iterator[Composite]:
    """Every two parts of the find that a rule speaks of, in the state found or kept; one rule for each pair.

    Not for parts nobody has stated: nothing is read out of a description.

    Source: table composites, each row with its own source and mark; the courses are our own judgement.
    """
    states = {"any", asked.kept, asked.inputs.state}
    for one, two in combinations(parts_of(asked), 2):
        for rule in composite_rules():
            if states.isdisjoint(rule.states):
                continue
            pair = _met(rule, one, two)
            if pair is not None:
                yield Composite(part=pair[0], other=pair[1], rule=rule)
                break


def unknown_parts(asked: Asked) -> Iterator[tuple[str, str]]:
    """Two parts of the find that no rule speaks of in this state; no rule is not a permission."""
    told = {frozenset((found.part, found.other)) for found in composites(asked)}
    yield from (pair for pair in combinations(parts_of(asked), 2) if frozenset(pair) not in told)


def _met(rule: CompositeRule, one: str, two: str) -> tuple[str, str] | None:
    """The pair the way round the rule names it; None when the rule does not speak of it."""
    for first, second in ((one, two), (two, one)):
        if any(is_meant(word, first) for word in rule.part) and any(is_meant(word, second) for word in rule.other):
            return first, second
    return None
