"""Rows of a file against the ledger: what is new, what fills an empty place, what differs, what is just so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from findhold.register.rules import Draft
from findhold.register.values import NOTHING, as_it_stands, same_value, worded

OTHER = "other"
"""The fact that keeps the cells of columns without a field: heading to text, as it stands in the file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One new thing: its fields in the units of their names, and the row it stands in.

    `day_only` names instants for which the file gave a day without a time.
    """

    kind: str
    key: str
    fields: dict[str, Any]
    row: int
    day_only: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One field in which the file says more than the ledger, or something else; told, never applied in silence.

    `filled` is true when the ledger had nothing there, so that nothing recorded is contradicted; `unit` is the one
    the values are in.
    """

    kind: str
    key: str
    field: str
    old: Any
    new: Any
    row: int
    heading: str = ""
    unit: str = ""
    filled: bool = False

    def words(self) -> tuple[str, str]:
        """The recorded value and the one of the file, as a person writes them."""
        return worded(self.old, self.unit), worded(self.new, self.unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """What a file brings: rows the ledger has not, empty places it fills, differences, and rows just as recorded."""

    new: tuple[Row, ...]
    filled: tuple[Change, ...]
    changed: tuple[Change, ...]
    unchanged: int


def compare(
    draft: Draft,
    recorded: Mapping[str, Mapping[str, Any]],
    stopped: set[int],
    day_only: Mapping[int, tuple[str, ...]],
) -> Comparison:
    """Every row with a key against what the ledger has under that key.

    Parameters
    ----------
    draft : the rows of the file.
    recorded : the things of this kind in the ledger, by key.
    stopped : rows left out, because their number is used for another thing.
    day_only : instants by row for which the file gave a day without a time.
    """
    new: list[Row] = []
    found: list[Change] = []
    unchanged = 0
    for index, (key, fields) in enumerate(zip(draft.keys, draft.rows, strict=True)):
        if key is None or index in stopped:
            continue
        rough = day_only.get(index, ())
        if key not in recorded:
            row = draft.numbers[index]
            new.append(Row(kind=draft.kind.name, key=key, fields=fields, row=row, day_only=rough))
            continue
        differences = _differences(draft, index, recorded[key], rough)
        found.extend(differences)
        unchanged += not differences
    return Comparison(
        new=tuple(new),
        filled=tuple(change for change in found if change.filled),
        changed=tuple(change for change in found if not change.filled),
        unchanged=unchanged,
    )


def _differences(draft: Draft, index: int, old: Mapping[str, Any], rough: tuple[str, ...]) -> list[Change]:
    """The fields of one row in which file and ledger differ."""
    kind, key, row = draft.kind, str(draft.keys[index]), draft.numbers[index]
    changes = [
        Change(
            kind=kind.name,
            key=key,
            field=name,
            old=old.get(name),
            new=value,
            row=row,
            heading=draft.headings.get(name, kind.fields[name].label),
            unit=kind.fields[name].unit,
            filled=old.get(name) in NOTHING,
        )
        for name, value in draft.rows[index].items()
        if name not in {OTHER, *draft.implied} and not same_value(old.get(name), value, day_only=name in rough)
    ]
    kept = _kept_cells(draft, index, old.get(OTHER) or {})
    return changes if kept is None else [*changes, kept]


def _kept_cells(draft: Draft, index: int, old: Mapping[str, str]) -> Change | None:
    """How the cells kept as they stand change: further ones, others, or ones that now have a field of their own."""
    here: dict[str, str] = draft.rows[index].get(OTHER, {})
    moved: dict[str, str] = {}
    for name, heading in draft.headings.items():
        text = as_it_stands(draft.raw(index, name)) if heading in old else ""
        if text:
            moved[heading] = text
    new = {heading: text for heading, text in old.items() if heading not in moved} | here
    if new == dict(old):
        return None
    # A kept text that the file now says otherwise is a difference, wherever the new one goes.
    contradicts = any(old.get(heading, text) != text for heading, text in {**here, **moved}.items())
    touched = [heading for heading in (*here, *moved) if old.get(heading) != new.get(heading)]
    return Change(
        kind=draft.kind.name,
        key=str(draft.keys[index]),
        field=OTHER,
        old=dict(old) or None,
        new=new or None,
        row=draft.numbers[index],
        heading=", ".join(touched),
        filled=not contradicts,
    )
