"""The table that a long list is read from: its columns, its triggers, and how it is made true."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import Connection


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """One such table: of which kind of thing, its columns after `stream` as declared, and their values from a row.

    `values` gets the name of a row of `state` (or NEW) and gives one SQL expression for each column.
    """

    name: str
    kind: str
    columns: tuple[str, ...]
    values: Callable[[str], tuple[str, ...]]
    order: str = ""
    """Columns that its rows lie in the order of; "" for none."""

    def from_state(self) -> str:
        """The query that gives the table's rows from the states."""
        named = ", ".join(
            f"{value} AS {column.split()[0]}" for column, value in zip(self.columns, self.values("state"), strict=True)
        )
        return f"SELECT state.stream, {named} FROM state WHERE state.kind = '{self.kind}'"

    def rows(self, connection: Connection) -> str:
        """The query to read it by: the table itself, or what it would hold where the file lacks it."""
        return f"SELECT {self._names()} FROM {self.name}" if self.kept(connection) else self.from_state()

    def kept(self, connection: Connection) -> bool:
        """True when the table is there, with this version's triggers."""
        pattern = f"{self.name}%"
        rows = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE name LIKE ?", (pattern,)).all()
        present = {row[0]: row[1] for row in rows}
        return all(present.get(name) == statement for name, statement in self._statements().items())

    def keep(self, connection: Connection) -> None:
        """Make the table and its triggers where they are missing or of another version, and fill it from the states."""
        if self.kept(connection):
            return
        for event in ("new", "changed", "gone"):
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {self.name}_{event}")
        connection.exec_driver_sql(f"DROP TABLE IF EXISTS {self.name}")
        for statement in self._statements().values():
            connection.exec_driver_sql(statement)
        connection.exec_driver_sql(f"INSERT INTO {self.name} ({self._names()}) {self.from_state()}")

    def wrong(self, connection: Connection) -> str | None:
        """The first thing whose row does not follow from its state; None when all do, or there is no such table."""
        if not self.kept(connection):
            return None
        kept = f"SELECT {self._names()} FROM {self.name}"
        for one, other in ((kept, self.from_state()), (self.from_state(), kept)):
            row = connection.exec_driver_sql(f"{one} EXCEPT {other} LIMIT 1").first()
            if row is not None:
                return str(row[0])
        return None

    def _names(self) -> str:
        return ", ".join(["stream", *(column.split()[0] for column in self.columns)])

    def _statements(self) -> dict[str, str]:
        name, when = self.name, f"WHEN NEW.kind = '{self.kind}'"
        # Deleted and inserted: "or replace" in a trigger gives way to the conflict rule of the statement that fired it.
        write = (
            f"DELETE FROM {name} WHERE stream = NEW.stream; INSERT INTO {name} ({self._names()}) "
            f"VALUES (NEW.stream, {', '.join(self.values('NEW'))})"
        )
        own = f", PRIMARY KEY ({self.order}, stream)) WITHOUT ROWID" if self.order else ", PRIMARY KEY (stream))"
        made = {
            name: f"CREATE TABLE {name} (stream TEXT NOT NULL, {', '.join(self.columns)}{own}",
            f"{name}_new": f"CREATE TRIGGER {name}_new AFTER INSERT ON state {when} BEGIN {write}; END",
            f"{name}_changed": f"CREATE TRIGGER {name}_changed AFTER UPDATE ON state {when} BEGIN {write}; END",
            f"{name}_gone": (
                f"CREATE TRIGGER {name}_gone AFTER DELETE ON state WHEN OLD.kind = '{self.kind}' BEGIN "
                f"DELETE FROM {name} WHERE stream = OLD.stream; END"
            ),
        }
        if self.order:
            made[f"{name}_stream"] = f"CREATE UNIQUE INDEX {name}_stream ON {name} (stream)"
        return made
