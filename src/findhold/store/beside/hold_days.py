"""The days of every hold in a few words each, kept beside the states so that a list of ten thousand is read at once.

A hold's state holds its whole plan and forecast; a list of what is due needs a twentieth of it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, bindparam, text

from findhold.store.beside.find_words import FIND_WORDS
from findhold.store.beside.rests import MEASURED_AT, rests_text
from findhold.store.beside.table import Beside

_FACTS = (
    *("box_id", "box_no", "find", "find_id", "open_at", "alarm", "mass_wrong", "forecast_no", "most_checks"),
    *("shelved", "next_at", "ended"),
)
_FORECAST = ("keep_until", "governing_limit", "can_keep", "open_by")
CHECK = ("at", "reason", "needs_duty_holder", "low_kg", "best_kg", "high_kg")
"""What each of `checks` holds, in this order; the masses are null where no band is forecast."""
WEIGHING = ("at", "mass_kg", "counted", "look")
"""What each of `weighings` holds, in this order."""
LOOK = ("at", "look")
"""What each of `looks` holds: visits on which the box was looked at and not weighed."""
_PLAN = ("gross_mass_kg", "place", "kept")
_TARE = "box_facts.tare_kg"
"""The empty box as the stock list has it, in the plan."""


def _told(row: str) -> str:
    """The few words of a hold as one JSON text, from the column `body` of a row."""
    parts = [f"'{name}', json_extract({row}.body, '$.{name}')" for name in _FACTS]
    parts += [f"'{name}', json_extract({row}.body, '$.forecast.{name}')" for name in _FORECAST]
    parts += [f"'{name}', json_extract({row}.body, '$.plan.{name}')" for name in _PLAN]
    tared = (
        f"SELECT json_extract(value, '$.mass_kg') FROM json_each({row}.body, '$.ticks')"
        " WHERE json_extract(value, '$.mass_kg') > 0 AND json_extract(value, '$.undone_by') IS NULL"
        " ORDER BY key DESC LIMIT 1"
    )
    parts.append(f"'tare_kg', coalesce(({tared}), json_extract({row}.body, '$.plan.{_TARE}'))")
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
    seen = ", ".join(f"json_extract(value, '$.{name}')" for name in LOOK)
    looks = f"SELECT json_group_array(json_array({seen})) FROM json_each({row}.body, '$.looks')"
    parts += [f"'checks', json(({checks}))", f"'weighings', json(({weighings}))", f"'looks', json(({looks}))"]
    return f"json_object({', '.join(parts)})"


def _rests(row: str) -> str:
    """What the plan rests on; null where it was not told."""
    told = rests_text(f"{row}.body", "$.rests_on", f"$.rests_on.{MEASURED_AT}")
    return f"CASE WHEN json_extract({row}.body, '$.rests_on') IS NOT NULL THEN {told} END"


HOLD_DAYS = Beside(
    name="hold_days",
    kind="hold",
    columns=("site TEXT NOT NULL", "over INTEGER NOT NULL", "find", "seq INTEGER", "told TEXT NOT NULL", "rests TEXT"),
    values=lambda row: (
        f"{row}.site",
        f"json_extract({row}.body, '$.ended') IS NOT NULL",
        f"json_extract({row}.body, '$.find')",
        f"{row}.seq",
        _told(row),
        _rests(row),
    ),
    # What is over lies apart: a list of what waits does not pass it.
    order="site, over",
)
_ABOUT = """
SELECT days.stream, days.told, json_extract(find.body, '$.store'), json_extract(find.body, '$.what'),
 json_extract(find.body, '$.kind'), json_extract(find.body, '$.human_remains'), json_extract(find.body, '$.hazards'),
 days.seq
FROM ({days}) AS days LEFT JOIN state AS find
 ON find.stream = 'find/' || days.site || '/' || replace(replace(days.find, '%', '%25'), '/', '%2F')
WHERE days.site = :site
"""


_CHANGED = """
SELECT days.find FROM ({days}) AS days JOIN ({words}) AS words ON words.site = days.site AND words.number = days.find
WHERE days.site = :site AND days.over = 0 AND days.rests <> words.rests
ORDER BY words.count, words.number LIMIT :most
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldDays:
    """The days of one hold: `facts` flat, its checks and weighings as short lists, and what its find's row says."""

    stream: str
    seq: int
    """The last event that touched it."""
    facts: dict[str, Any]
    store: str
    what: str
    registered: bool
    flags: tuple[str, ...] = ()
    """Human remains, and hazards as the register words them."""


def hold_days(
    connection: Connection, site: str, streams: Sequence[str] | None = None, *, ended: bool = False
) -> list[HoldDays]:
    """The days of some holds of a site, or (None) of every one, in no order; with `ended` also those that are over."""
    query, asked = _ABOUT.format(days=HOLD_DAYS.rows(connection)), {"site": site}
    if not ended:
        query += " AND days.over = 0"
    if streams is None:
        rows = connection.execute(text(query), asked).all()
    else:
        some = text(f"{query} AND days.stream IN :streams").bindparams(bindparam("streams", expanding=True))
        rows = connection.execute(some, {**asked, "streams": list(streams)}).all()
    # One text for all: the decoder is entered once, not ten thousand times.
    told = json.loads(f"[{','.join(row[1] for row in rows)}]")
    return [
        HoldDays(
            stream=row[0],
            seq=row[7],
            facts=facts,
            store=row[2] or "",
            what=row[3] or "",
            registered=(row[4] or "registered") == "registered",
            flags=(*(["human remains"] if row[5] else []), *(json.loads(row[6]) if row[6] else [])),
        )
        for row, facts in zip(rows, told, strict=True)
    ]


def finds_planned_for_others(connection: Connection, site: str, most: int) -> list[str]:
    """Numbers of finds whose facts changed since their box was planned, in counting order."""
    query = _CHANGED.format(days=HOLD_DAYS.rows(connection), words=FIND_WORDS.rows(connection))
    return list(connection.execute(text(query), {"site": site, "most": most}).scalars())
