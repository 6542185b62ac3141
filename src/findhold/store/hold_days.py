"""The days of every hold in a few words each, kept beside the states so that a list of ten thousand is read at once.

A hold's state holds its whole plan and forecast; a list of what is due needs a twentieth of it. A table of the file
keeps that twentieth: triggers write it whenever a state changes, so no program can forget to. It says nothing of its
own, and a ledger that lacks it is whole and gets it when it is next opened for writing.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, bindparam, text

_FACTS = ("box_id", "box_no", "find", "open_at", "alarm", "forecast_no", "most_checks", "shelved", "next_at")
_FORECAST = ("keep_until", "governing_limit", "can_keep", "open_by")
CHECK = ("at", "reason", "needs_duty_holder", "low_kg", "best_kg", "high_kg")
"""What each of `checks` holds, in this order; the masses are null where no band is forecast."""
WEIGHING = ("at", "mass_kg", "counted", "look")
"""What each of `weighings` holds, in this order."""
_PLAN = ("gross_mass_kg", "place")


def _told(row: str) -> str:
    """The few words of a hold as one JSON text, from the column `body` of a row."""
    parts = [f"'{name}', json_extract({row}.body, '$.{name}')" for name in _FACTS]
    parts += [f"'{name}', json_extract({row}.body, '$.forecast.{name}')" for name in _FORECAST]
    parts += [f"'{name}', json_extract({row}.body, '$.plan.{name}')" for name in _PLAN]
    asked = [f"json_extract(asked.value, '$.{name}')" for name in CHECK[:3]]
    band = [f"json_extract(band.value, '$.{name}')" for name in CHECK[3:]]
    checks = (
        f"SELECT json_group_array(json_array({', '.join([*asked, *band])}))"
        f" FROM json_each({row}.body, '$.forecast.checks') AS asked"
        f" LEFT JOIN json_each({row}.body, '$.forecast.mass_band') AS band"
        f" ON json_extract(band.value, '$.at') = {asked[0]}"
    )
    weighed = [f"json_extract(value, '$.{name}')" for name in ("at", "mass_kg", "verdict.counted", "look")]
    weighings = f"SELECT json_group_array(json_array({', '.join(weighed)})) FROM json_each({row}.body, '$.weighings')"
    parts += [f"'checks', json(({checks}))", f"'weighings', json(({weighings}))"]
    return f"json_object({', '.join(parts)})"


# Deleted and inserted: "or replace" in a trigger gives way to the conflict rule of the statement that fired it.
_WRITE = "DELETE FROM hold_days WHERE stream = NEW.stream; INSERT INTO hold_days (stream, site, find, told) "
_NEW = f"{_WRITE}VALUES (NEW.stream, NEW.site, json_extract(NEW.body, '$.find'), {_told('NEW')})"
_KEPT: dict[str, str] = {
    "hold_days": "CREATE TABLE hold_days (stream TEXT PRIMARY KEY, site TEXT NOT NULL, find TEXT, told TEXT NOT NULL)",
    "hold_days_new": (f"CREATE TRIGGER hold_days_new AFTER INSERT ON state WHEN NEW.kind = 'hold' BEGIN {_NEW}; END"),
    "hold_days_changed": (
        f"CREATE TRIGGER hold_days_changed AFTER UPDATE ON state WHEN NEW.kind = 'hold' BEGIN {_NEW}; END"
    ),
    "hold_days_gone": (
        "CREATE TRIGGER hold_days_gone AFTER DELETE ON state WHEN OLD.kind = 'hold' BEGIN "
        "DELETE FROM hold_days WHERE stream = OLD.stream; END"
    ),
}
_FROM_STATE = (
    f"SELECT state.stream, state.site, json_extract(state.body, '$.find') AS find, {_told('state')} AS told"
    " FROM state WHERE state.kind = 'hold'"
)
_ABOUT = """
SELECT days.stream, days.told, json_extract(find.body, '$.store'), json_extract(find.body, '$.what'),
 json_extract(find.body, '$.kind'), json_extract(find.body, '$.human_remains'), json_extract(find.body, '$.hazards')
FROM ({days}) AS days LEFT JOIN state AS find
 ON find.stream = 'find/' || days.site || '/' || replace(replace(days.find, '%', '%25'), '/', '%2F')
WHERE days.site = :site
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldDays:
    """The days of one hold: `facts` flat, its checks and weighings as short lists, and what its find's row says."""

    stream: str
    facts: dict[str, Any]
    store: str
    what: str
    registered: bool
    flags: tuple[str, ...] = ()
    """Human remains, and hazards as the register words them."""


def hold_days(connection: Connection, site: str, streams: Sequence[str] | None = None) -> list[HoldDays]:
    """The days of some holds of a site, or (None) of every one, in no order."""
    kept = "SELECT stream, site, find, told FROM hold_days" if _there(connection) else _FROM_STATE
    query = text(_ABOUT.format(days=kept))
    if streams is None:
        rows = connection.execute(query, {"site": site}).all()
    else:
        some = text(f"{query.text} AND days.stream IN :streams").bindparams(bindparam("streams", expanding=True))
        rows = connection.execute(some, {"site": site, "streams": list(streams)}).all()
    # One text for all: the decoder is entered once, not ten thousand times.
    told = json.loads(f"[{','.join(row[1] for row in rows)}]")
    return [
        HoldDays(
            stream=row[0],
            facts=facts,
            store=row[2] or "",
            what=row[3] or "",
            registered=(row[4] or "registered") == "registered",
            flags=(*(["human remains"] if row[5] else []), *(json.loads(row[6]) if row[6] else [])),
        )
        for row, facts in zip(rows, told, strict=True)
    ]


def keep_hold_days(connection: Connection) -> None:
    """Make the table and its triggers where they are missing or of another version, and fill it from the states."""
    if _there(connection):
        return
    for name in list(_KEPT)[1:]:
        connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")
    connection.exec_driver_sql("DROP TABLE IF EXISTS hold_days")
    for statement in _KEPT.values():
        connection.exec_driver_sql(statement)
    connection.exec_driver_sql(f"INSERT INTO hold_days (stream, site, find, told) {_FROM_STATE}")


def hold_days_kept(connection: Connection) -> bool:
    """True when the table is there, with this version's triggers."""
    return _there(connection)


def wrong_hold_days(connection: Connection) -> str | None:
    """The first hold whose days do not follow from its state; None when all do, or there is no such table."""
    if not _there(connection):
        return None
    kept = "SELECT stream, site, find, told FROM hold_days"
    for one, other in ((kept, _FROM_STATE), (_FROM_STATE, kept)):
        row = connection.exec_driver_sql(f"{one} EXCEPT {other} LIMIT 1").first()
        if row is not None:
            return str(row[0])
    return None


def _there(connection: Connection) -> bool:
    rows = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE name LIKE 'hold_days%'").all()
    present = {row[0]: row[1] for row in rows}
    return all(present.get(name) == statement for name, statement in _KEPT.items())
