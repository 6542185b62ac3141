"""Look-ups for pages: a few rows by an index, however long the ledger is."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Select, Text, and_, column, desc, exists, literal_column, or_, select, text

from findhold.record.events import Event
from findhold.store import schema
from findhold.store.beside.find_words import FIND_WORDS
from findhold.store.ledger import Thing, event_of
from findhold.store.schema import FIND_OF, NEXT_AT

_STATE = schema.state.c


@dataclass(frozen=True, slots=True, kw_only=True)
class FindsAsked:
    """Which finds of a site, and where the page begins: after (number as it counts, number as written)."""

    site: str
    words: str = ""
    store: str = ""
    state: str = ""
    held: bool | None = None
    """True: with a box; False: without."""
    after: tuple[int, str] | None = None
    limit: int = 50


def hold_of_find(connection: Connection, site: str, number: str) -> Thing | None:
    """The hold of a find; None before its box was planned."""
    query = _things("hold", site).where(number == FIND_OF).limit(1)
    found = _read(connection, query)
    return found[0] if found else None


def samples_of_find(connection: Connection, site: str, number: str, limit: int) -> list[Thing]:
    """Samples that belong to a find."""
    return _read(connection, _things("sample", site).where(number == FIND_OF).limit(limit))


def holds_due(connection: Connection, site: str, until: str, limit: int) -> list[str]:
    """Streams of the holds on which something is due up to an instant (UTC text), earliest first."""
    query = _streams("hold", site).where(NEXT_AT.is_not(None), until >= NEXT_AT).order_by(NEXT_AT).limit(limit)
    return list(connection.execute(query).scalars())


def holds_without_date(connection: Connection, site: str, limit: int) -> list[Thing]:
    """Holds that nothing is forecast for and that have not ended."""
    waiting = _things("hold", site).where(NEXT_AT.is_(None), _fact("ended").is_(None))
    return _read(connection, waiting.limit(limit))


def finds_without_box(connection: Connection, site: str, states: Sequence[str], limit: int) -> list[Thing]:
    """Finds in one of these states that no box is planned for, in the order their numbers are counted."""
    query, seek = _finds(connection, site)
    return _read(connection, query.where(seek.state.in_(states), ~_held(site)).limit(limit))


def finds_page(connection: Connection, asked: FindsAsked) -> list[Thing]:
    """One page of finds in the order their numbers are counted."""
    query, seek = _finds(connection, asked.site)
    for word in asked.words.split()[:8]:
        # The database knows capitals of the Latin alphabet only: "Äxte" is looked for as it may be written.
        written = {word} if word.isascii() else {word, word.lower(), word.upper(), word.capitalize()}
        query = query.where(or_(*(seek.words.contains(one, autoescape=True) for one in sorted(written))))
    if asked.store:
        query = query.where(seek.store == asked.store)
    if asked.state:
        query = query.where(seek.state == asked.state)
    if asked.held is not None:
        query = query.where(_held(asked.site) if asked.held else ~_held(asked.site))
    if asked.after is not None:
        count, number = asked.after
        query = query.where(or_(count < seek["count"], and_(count == seek["count"], number < seek.number)))
    return _read(connection, query.limit(asked.limit))


def holds_of_finds(connection: Connection, site: str, numbers: Sequence[str]) -> list[str]:
    """Streams of the holds of a page of finds."""
    return list(connection.execute(_streams("hold", site).where(FIND_OF.in_(numbers))).scalars())


def story_tail(
    connection: Connection, streams: Sequence[str], *, before: int | None = None, limit: int
) -> list[tuple[int, Event]]:
    """The newest events of some streams with their place in the ledger, newest first; `before` goes further back."""
    query = select(schema.event).where(schema.event.c.stream.in_(streams))
    if before is not None:
        query = query.where(schema.event.c.seq < before)
    rows = connection.execute(query.order_by(desc(schema.event.c.seq)).limit(limit)).mappings()
    return [(row["seq"], event_of(row)) for row in rows]


def _things(kind: str, site: str) -> Select[Any]:
    # The kind is written out: the indexes are of one kind each, and only a literal tells the planner which.
    query = select(_STATE.stream, _STATE.body, _STATE.seq)
    return query.where(literal_column(f"state.kind = '{kind}'"), _STATE.site == site)


def _streams(kind: str, site: str) -> Select[Any]:
    return _things(kind, site).with_only_columns(_STATE.stream)


def _fact(name: str) -> Any:
    return literal_column(f"json_extract(state.body, '$.{name}')")


def _finds(connection: Connection, site: str) -> tuple[Select[Any], Any]:
    """The finds of a site in counting order, and the columns that they are sought by."""
    names = ("stream", "site", "count", "number", "store", "state", "words")
    seek = text(FIND_WORDS.rows(connection)).columns(*(column(name, Text) for name in names)).subquery("seek")
    query = select(_STATE.stream, _STATE.body, _STATE.seq).join_from(seek, schema.state, seek.c.stream == _STATE.stream)
    return query.where(seek.c.site == site).order_by(seek.c["count"], seek.c.number), seek.c


def _held(site: str) -> Any:
    hold = schema.state.alias("held")
    return exists(
        select(literal_column("1"))
        .select_from(hold)
        .where(
            literal_column("held.kind = 'hold'"),
            hold.c.site == site,
            literal_column("json_extract(held.body, '$.find') = seek.number"),
        )
    )


def _read(connection: Connection, query: Select[Any]) -> list[Thing]:
    return [Thing(stream=row[0], facts=json.loads(row[1]), seq=row[2]) for row in connection.execute(query)]
