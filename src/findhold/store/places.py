"""Which holds are still at the bench, and the finds of some holds."""

from __future__ import annotations

import json
from collections.abc import Sequence

from sqlalchemy import Connection, text

from findhold.store.ledger import Thing

_AT_BENCH = text(
    "SELECT stream, body, seq FROM state WHERE kind = 'hold' AND site = :site"
    " AND json_extract(body, '$.ended') IS NULL AND json_extract(body, '$.shelved') IS NULL"
    " AND json_extract(body, '$.weighings') IS NULL LIMIT :most"
)
_FINDS = text("SELECT stream, body, seq FROM state WHERE stream IN (SELECT value FROM json_each(:streams))")


def holds_at_bench(connection: Connection, site: str, most: int) -> list[Thing]:
    """Holds of a site that were planned, and neither weighed nor shelved since."""
    rows = connection.execute(_AT_BENCH, {"site": site, "most": most})
    return [Thing(stream=row[0], facts=json.loads(row[1]), seq=row[2]) for row in rows]


def finds_of_holds(connection: Connection, site: str, holds: Sequence[Thing]) -> dict[str, Thing]:
    """The finds of some holds, by number."""
    streams = json.dumps([f"find/{site}/{_spelt(str(hold.facts['find']))}" for hold in holds])
    rows = connection.execute(_FINDS, {"streams": streams})
    things = [Thing(stream=row[0], facts=json.loads(row[1]), seq=row[2]) for row in rows]
    return {thing.number: thing for thing in things}


def _spelt(number: str) -> str:
    return number.replace("%", "%25").replace("/", "%2F")
