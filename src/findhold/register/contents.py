"""What the cells of a column say about it: a column whose cells are all words of one list of choices."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

from findhold.register.kinds import KINDS, choice_words

_SHOWN_WORDS = 4
_ORDINARY_SHARE = 0.5  # of the rows, before one-word cells in a column of free text are remarkable


def fields_by_cells(cells: Iterable[Any], kind: str, names: Iterable[str]) -> tuple[str, ...]:
    """Those of the named fields whose list of choices holds every filled cell; none for an empty column.

    Not for deciding what a column means: words are often in several lists, and in free text. It is a question.
    """
    met = {cell.lower() if isinstance(cell, str) else "" for cell in cells if cell != ""}
    if not met or "" in met:
        return ()
    return tuple(name for name in names if met <= _words(kind, name))


def mostly_filled(cells: Iterable[Any]) -> bool:
    """True when at least half of the cells hold something."""
    listed = list(cells)
    return sum(1 for cell in listed if cell != "") >= _ORDINARY_SHARE * max(1, len(listed))


def shown_words(cells: Iterable[Any]) -> str:
    """The first different words of a column, for a question."""
    met = list(dict.fromkeys(str(cell) for cell in cells if cell != ""))
    return ", ".join(met[:_SHOWN_WORDS]) + (", ..." if len(met) > _SHOWN_WORDS else "")


def choice_fields(kind: str, taken: Iterable[str]) -> tuple[str, ...]:
    """Fields of a kind with a list of choices that no column has yet."""
    used = set(taken)
    return tuple(name for name, spec in KINDS[kind].fields.items() if spec.choices and name not in used)


@cache
def _words(kind: str, name: str) -> frozenset[str]:
    spec = KINDS[kind].fields[name]
    return frozenset(word.lower() for word in (*spec.choices, *choice_words(spec.word_list)))
