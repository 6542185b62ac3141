"""Look-ups for pictures: what stands in a store, what waits longest, what was found in a feature; a few rows each."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, text

from findhold.store.beside.hold_days import HOLD_DAYS
from findhold.store.ledger import Thing

# The kinds stand in the text: the indexes are of one kind each, and only a literal tells the planner which.
_STANDING = """
SELECT find.stream, find.body, find.seq, held.stream, held.body, held.seq
FROM ({days}) AS days JOIN state AS held ON held.stream = days.stream JOIN state AS find
 ON find.stream = 'find/' || days.site || '/' || replace(replace(days.find, '%', '%25'), '/', '%2F')
WHERE days.site = :site AND days.over = 0 AND json_extract(find.body, '$.store') = :store LIMIT :most
"""
_BARE = """
SELECT stream, body, seq FROM state WHERE kind = 'find' AND site = :site AND json_extract(body, '$.store') = :store
 AND NOT EXISTS (SELECT 1 FROM state AS held WHERE held.kind = 'hold' AND held.site = state.site
 AND json_extract(held.body, '$.find') = json_extract(state.body, '$.number')) LIMIT :most
"""
_WORST = """
SELECT stream, body, seq FROM state WHERE state.kind = 'hold' AND site = :site
 AND (json_extract(body, '$.ended') IS NULL OR json_extract(body, '$.over') IS NOT NULL)
 AND json_extract(body, '$.forecast.keep_until') > :after
ORDER BY json_extract(body, '$.forecast.keep_until') LIMIT :most
"""
_IN_CUT = """
SELECT json_extract(state.body, '$.number') FROM state WHERE state.kind = 'context' AND site = :site
 AND json_extract(state.body, '$.cut') = :cut LIMIT :most
"""
_FROM_FIND = """
SELECT stream, body, seq FROM state WHERE state.kind = 'find' AND site = :site
 AND json_extract(state.body, '$.context') = :context LIMIT :most
"""
_FROM_SAMPLE = _FROM_FIND.replace("'find'", "'sample'")
_CUTS = """
SELECT stream, body, seq FROM state WHERE state.kind = 'context' AND site = :site
 AND json_extract(state.body, '$.type') = 'cut' LIMIT :most
"""


def finds_of_store(connection: Connection, site: str, store: str, limit: int) -> list[tuple[Thing, Thing | None]]:
    """Finds of a site that stand in a store, each with its hold, then those that no box is planned for; none opened."""
    asked = {"site": site, "store": store, "most": limit}
    boxed = connection.execute(text(_STANDING.format(days=HOLD_DAYS.rows(connection))), asked).all()
    bare = connection.execute(text(_BARE), {**asked, "most": limit - len(boxed)}).all()
    return [*((_thing(row), _thing(row[3:6])) for row in boxed), *((_thing(row), None) for row in bare)]


def holds_by_keep_until(connection: Connection, site: str, limit: int, after: str = "") -> list[Thing]:
    """Forecast holds of a site that wait, or that something was chosen for, the earliest keep-until date first.

    `after` (a date as recorded) begins behind that one.
    """
    rows = connection.execute(text(_WORST), {"site": site, "most": limit, "after": after}).all()
    return [_thing(row) for row in rows]


def contexts_in_cut(connection: Connection, site: str, cut: str, limit: int) -> list[str]:
    """Numbers of the contexts that lie in a cut."""
    rows = connection.execute(text(_IN_CUT), {"site": site, "cut": cut, "most": limit}).all()
    return [str(row[0]) for row in rows]


def cuts_of_site(connection: Connection, site: str, limit: int) -> list[Thing]:
    """Cuts of a site, a few, for choosing one."""
    return [_thing(row) for row in connection.execute(text(_CUTS), {"site": site, "most": limit}).all()]


def finds_of_contexts(connection: Connection, site: str, contexts: Sequence[str], limit: int) -> list[Thing]:
    """Finds, then samples, of some contexts."""
    found: list[Thing] = []
    for query in (_FROM_FIND, _FROM_SAMPLE):
        for context in contexts:
            asked = {"site": site, "context": context, "most": max(limit - len(found), 0)}
            found += [_thing(row) for row in connection.execute(text(query), asked).all()]
    return found


def _thing(row: Any) -> Thing:
    return Thing(stream=row[0], facts=json.loads(row[1]), seq=row[2])
