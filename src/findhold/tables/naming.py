"""Names as people type them: case, hyphens, underscores and spaces make no difference; near names are offered."""

from __future__ import annotations

from collections.abc import Iterable

from findhold.errors import UnknownName


def plain_name(name: str) -> str:
    """A name without case, hyphens, underscores and doubled spaces."""
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split())


def listed(cell: str) -> tuple[str, ...]:
    """The parts of a table cell, separated by |."""
    return tuple(part.strip() for part in cell.split("|") if part.strip())


def name_index(kind: str, entries: Iterable[tuple[str, tuple[str, ...]]]) -> dict[str, str]:
    """Plain name to entry name, for (name, aliases) entries; a name with two meanings raises ValueError."""
    index: dict[str, str] = {}
    for name, aliases in entries:
        for typed in (name, *aliases):
            if index.setdefault(plain_name(typed), name) != name:
                raise ValueError(f"{kind}: {typed!r} means both {index[plain_name(typed)]!r} and {name!r}")
    return index


def resolve(kind: str, name: str, index: dict[str, str], *, where: str = "") -> str:
    """The entry a typed name means; raises UnknownName with near names."""
    found = index.get(plain_name(name))
    if found is None:
        typed = {plain: entry if plain == plain_name(entry) else plain for plain, entry in index.items()}
        raise UnknownName(kind, name, sorted(set(typed.values())), where=where)
    return found
