"""What may stand where in a store: the rules with how hard each is, and their figures."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, cast

from findhold.errors import UnknownName
from findhold.tables.load import table

Severity = Literal["never", "forbidden", "advice"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreDefaults:
    """Figures a unit may change; what each means and rests on stands in the table store_rules."""

    height_mm: float
    room_mm: float
    plate_mm: float
    frost_c: float
    heavy_kg: float
    high_mm: float
    floor_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreRule:
    """One rule: its name, how hard it is, what it says, what to do, and how it is known."""

    name: str
    severity: Severity
    words: str
    do: str
    seen: str


_UNITS = {"mm": "mm", "kg": "kg", "degC": "c"}


@cache
def store_defaults() -> StoreDefaults:
    """The figures as shipped."""
    rows = [row for row in table("store_rules").rows if row["value"]]
    return StoreDefaults(**{f"{row['name']}_{_UNITS[row['unit']]}": float(row["value"]) for row in rows})


def store_rule(name: str) -> StoreRule:
    """One rule by its name; raises UnknownName when there is none."""
    rows = table("store_rules").by("name")
    if name not in rows:
        raise UnknownName("store rule", name, list(rows))
    row = rows[name]
    return StoreRule(
        name=name, severity=cast("Severity", row["severity"]), words=row["words"], do=row["do"], seen=row["seen"]
    )
