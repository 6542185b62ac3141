"""How long jobs take at the bench where nothing else is said, and what they need."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.tables.load import table


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
