"""Read data/*.csv: a header of `# key: value` lines, then CSV; every row carries source and seen.

Header keys: `table` (what it is), `units` (column = unit; column = unit), `typed_by`, `notes`. Every row must have a
`source` column with a key of the bibliography and a `seen` column with one of sources.SEEN_WORDS; a row without a
passport is refused when the table is loaded, so it cannot reach a result.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

from findhold.errors import UnknownName
from findhold.sources import SEEN_WORDS, bibliography


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table: its header lines and its rows as text by column."""

    name: str
    header: dict[str, str]
    rows: tuple[dict[str, str], ...]

    def by(self, column: str) -> dict[str, dict[str, str]]:
        """Rows keyed by one column; the column must be unique."""
        keyed = {row[column]: row for row in self.rows}
        if len(keyed) != len(self.rows):
            raise ValueError(f"table {self.name}: column {column} is not unique")
        return keyed


@cache
def table(name: str) -> Table:
    """Read one table by its file name without .csv; raises ValueError when a row has no passport."""
    folder = resources.files("findhold.tables").joinpath("data")
    file = folder.joinpath(f"{name}.csv")
    if not file.is_file():
        known = [entry.name.removesuffix(".csv") for entry in folder.iterdir() if entry.name.endswith(".csv")]
        raise UnknownName("table", name, known)
    lines = file.read_text(encoding="utf-8").splitlines()
    header = {}
    for line in lines:
        if line.startswith("#"):
            key, _, value = line.lstrip("# ").partition(":")
            header[key.strip()] = value.strip()
    rows = tuple(csv.DictReader(line for line in lines if line and not line.startswith("#")))
    for number, row in enumerate(rows, 1):
        _check_passport(name, number, row)
    return Table(name=name, header=header, rows=rows)


def number(text: str) -> float | None:
    """A table cell as a number; None for an empty cell."""
    return float(text) if text.strip() else None


def _check_passport(name: str, line: int, row: dict[str, str]) -> None:
    if row.get("source") not in bibliography():
        raise ValueError(f"table {name} row {line}: source {row.get('source')!r} is not in sources.csv")
    if row.get("seen") not in SEEN_WORDS:
        raise ValueError(f"table {name} row {line}: seen is {row.get('seen')!r}, wanted one of {', '.join(SEEN_WORDS)}")
