"""Look-ups for pages: a few rows by an index, however long the ledger is."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Select, and_, desc, exists, func, literal_column, or_, select

from findhold.record.events import Event
from findhold.store import schema
from findhold.store.ledger import Thing, event_of
from findhold.store.schema import COUNT_OF, FIND_OF, NEXT_AT, NUMBER_OF

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
    """Holds that nothing is forecast for."""
    return _read(connection, _things("hold", site).where(NEXT_AT.is_(None)).limit(limit))


def finds_without_box(connection: Connection, site: str, states: Sequence[str], limit: int) -> list[Thing]:
    """Finds in one of these states that no box is planned for, in the order their numbers are counted."""
    query = (
        _things("find", site).where(_fact("state").in_(states), ~_held(site)).order_by(COUNT_OF, NUMBER_OF).limit(limit)
    )
    return _read(connection, query)


def finds_page(connection: Connection, asked: FindsAsked) -> list[Thing]:
    """One page of finds in the order their numbers are counted."""
    query = _things("find", asked.site)
    if asked.words:
        text = func.lower(
            func.coalesce(_fact("what"), "")
            + " "
            + func.coalesce(_fact("material"), "")
            + " "
            + func.coalesce(_fact("context"), "")
            + " "
            + NUMBER_OF
        )
        for word in asked.words.lower().split()[:8]:
            query = query.where(text.contains(word, autoescape=True))
    if asked.store:
        query = query.where(_fact("store") == asked.store)
    if asked.state:
        query = query.where(_fact("state") == asked.state)
    if asked.held is not None:
        query = query.where(_held(asked.site) if asked.held else ~_held(asked.site))
    if asked.after is not None:
        count, number = asked.after
        query = query.where(or_(count < COUNT_OF, and_(count == COUNT_OF, number < NUMBER_OF)))
    return _read(connection, query.order_by(COUNT_OF, NUMBER_OF).limit(asked.limit))


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


def _held(site: str) -> Any:
    hold = schema.state.alias("held")
    return exists(
        select(literal_column("1"))
        .select_from(hold)
        .where(
            literal_column("held.kind = 'hold'"),
            hold.c.site == site,
            literal_column("json_extract(held.body, '$.find') = json_extract(state.body, '$.number')"),
        )
    )


def _read(connection: Connection, query: Select[Any]) -> list[Thing]:
    return [Thing(stream=row[0], facts=json.loads(row[1]), seq=row[2]) for row in connection.execute(query)]
