"""Reading: lists of things, and one find's facts and story."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Any

from findhold.errors import UnknownName
from findhold.record.events import stream_of
from findhold.service.office import Office
from findhold.service.showing.still_so import labels_outdated, plan_outdated
from findhold.service.stay import stays_told, store_events
from findhold.service.store_words import STORE_WORDS, event_words
from findhold.service.storytelling import told
from findhold.store.ledger import Thing

LISTS: dict[str, str] = {
    "finds": "find",
    "contexts": "context",
    "samples": "sample",
    "people": "person",
    "stores": "store",
    "shelves": "shelf",
    "boxes": "box",
    "materials": "material",
    "closures": "closure",
    "holds": "hold",
    "sites": "site",
    "files": "file",
}
"""What can be listed: the plural word people type, and the kind it means."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """Things of one kind as they stand, each as its facts."""

    kind: str
    rows: tuple[dict[str, Any], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoryLine:
    """One event of a story, for reading."""

    at: str
    person: str
    word: str
    meaning: str
    body: dict[str, Any]
    hash: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FindSheet:
    """A find as it stands: its facts, its hold (None before it is planned), and its story.

    plan_outdated, labels_outdated : why plan and labels no longer say what is so; "" while they do.
    """

    site: str
    number: str
    facts: dict[str, Any]
    hold: dict[str, Any] | None
    story: tuple[StoryLine, ...]
    plan_outdated: str
    labels_outdated: str


def list_things(office: Office, what: str, site: str | None = None) -> Listing:
    """Everything of one kind; raises UnknownName for a word that lists nothing."""
    kind = LISTS.get(what) or (what if what in LISTS.values() else None)
    if kind is None:
        raise UnknownName("list", what, list(LISTS))
    things = office.ledger.states(kind, site)
    return Listing(kind=what, rows=tuple(thing.facts for thing in things))


def find_thing(office: Office, number: str, site: Thing) -> Thing:
    """One find by the number people say; raises UnknownName with near numbers."""
    wanted = number.strip().strip("[]()<>△").strip()
    thing = office.ledger.state(stream_of("find", site.number, wanted))
    if thing is None:
        known = [find.number for find in office.ledger.states("find", site.number)]
        raise UnknownName("find", wanted, known, where=f"site {site.number}")
    return thing


def hold_of(office: Office, site: str, number: str) -> Thing | None:
    """The hold of a find, None before its box was planned."""
    for hold in office.ledger.states("hold", site):
        if hold.facts.get("find") == number:
            return hold
    return None


def show_find(office: Office, number: str, site_code: str | None = None) -> FindSheet:
    """A find's facts, its hold and its whole story in order."""
    site = office.site(site_code)
    find = find_thing(office, number, site)
    hold = hold_of(office, site.number, find.number)
    events = office.ledger.story(find.stream) + (office.ledger.story(hold.stream) if hold else [])
    packed = hold.facts.get("packed_at") if hold else None
    begin = datetime.fromisoformat(packed) if packed else None
    if hold and begin is not None:
        until = hold.facts.get("open_at")
        stays = stays_told([*office.ledger.story(find.stream), *office.ledger.story(hold.stream)])
        events += store_events(office, stays, begin, datetime.fromisoformat(until) if until else None)
    events.sort(key=lambda event: (event.clock, event.device, event.device_seq))
    lines = tuple(
        StoryLine(
            at=event.at.astimezone(timezone(timedelta(minutes=event.offset_min))).isoformat(timespec="minutes"),
            person=event.person,
            word=event.word,
            meaning=event_words(event, site.facts["zone"], begin) if event.word in STORE_WORDS else told(event),
            body={key: value for key, value in event.body.items() if key != "series"},
            hash=event.hash,
        )
        for event in events
    )
    return FindSheet(
        site=site.number,
        number=find.number,
        facts=find.facts,
        hold=hold.facts if hold else None,
        story=lines,
        plan_outdated=plan_outdated(find.facts, hold.facts if hold else None),
        labels_outdated=labels_outdated(find.facts, hold.facts if hold else None, site.facts["zone"]),
    )
