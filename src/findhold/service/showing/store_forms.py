"""What is typed on a store's page, as requests: clock times of the site, the room, a logger's answers."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from findhold.dates.instants import in_zone, require_aware, zone_named
from findhold.errors import BadInput
from findhold.service.office import Office
from findhold.service.store_boxes import Ensemble
from findhold.service.storekeeping.drill import DrillRequest
from findhold.service.storekeeping.moving import MoveRequest
from findhold.service.stores import FailureRequest, TakeBack

ANSWER = "answer:"
"""Begins the name of a field that answers a question about a logger's file."""
DRILL_MEMBERS = 300
"""Members of a drill's forecasts at a page, which is waited for; what is recorded is reckoned with the full number."""


def failure_typed(office: Office, store: str, typed: Mapping[str, str], *, dry_run: bool) -> FailureRequest:
    """A failure as typed: begins, ends ("" while it is still off), room; times are read on the site's clock.

    Raises
    ------
    BadInput : a time or the room is missing or cannot be read, or the time happens twice or never.
    """
    begins, ends = typed.get("begins", "").strip(), typed.get("ends", "").strip()
    if not begins:
        raise BadInput("it is not said since when it was off", where="off since", do="Give the day and the time")
    since = _instant(office, begins, "off since")
    until = _instant(office, ends, "on again") if ends else None
    return FailureRequest(
        store=store,
        begins=since,
        ends=until,
        room_c=_room_c(typed.get("room", "")),
        dry_run=dry_run,
    )


def take_back_typed(office: Office, store: str, typed: Mapping[str, str]) -> TakeBack:
    """A failure taken back: its beginning as recorded, and the reason."""
    return TakeBack(
        store=store, reason=typed.get("reason", ""), begins=_instant(office, typed.get("begins", ""), "the failure")
    )


def move_typed(office: Office, typed: Mapping[str, str], person: str, site: str | None) -> MoveRequest:
    """A box put somewhere, as typed; time "" is now, a rule is let pass by the person at the page."""
    at = typed.get("at", "").strip()
    rule = typed.get("override", "").strip()
    return MoveRequest(
        find=typed.get("find", "").strip(),
        to=typed.get("store", ""),
        shelf=typed.get("shelf", ""),
        spot=typed.get("spot", ""),
        at=_instant(office, at, "moved at") if at else None,
        site=site,
        overrides=(rule,) if rule else (),
        reason=typed.get("reason", ""),
        person=person,
    )


def drill_typed(office: Office, store: str, since: str, room: str, site: str | None) -> DrillRequest:
    """A drill as asked for on a page; "" takes the failure that is recorded."""
    return DrillRequest(
        store=store,
        since=_instant(office, since, "off since") if since.strip() else None,
        room_c=_room_c(room) if room.strip() else None,
        ensemble=Ensemble(site=site, members=DRILL_MEMBERS),
    )


def answers_typed(typed: Mapping[str, str]) -> dict[str, str]:
    """Answers to a logger's questions, by what each is about."""
    return {
        name.removeprefix(ANSWER): value for name, value in typed.items() if name.startswith(ANSWER) and value.strip()
    }


def _instant(office: Office, text: str, where: str) -> datetime:
    try:
        at = datetime.fromisoformat(text)
    except ValueError as error:
        raise BadInput(
            f"{text[:40]!r} is not a day and time", where=where, do="Write it like 2026-07-31 20:00, or choose it"
        ) from error
    if at.tzinfo is not None:
        return require_aware(at, where)
    sites = office.ledger.states("site")
    zone = zone_named(str(sites[0].facts["zone"])) if sites else zone_named("UTC")
    return in_zone(at, zone)


def _room_c(text: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError as error:
        raise BadInput(
            "the room's temperature is missing" if not text.strip() else f"{text[:20]!r} is no temperature",
            where="room",
            limit="degrees Celsius",
            do="Write it like 19, as a thermometer beside the store shows it; estimate it if there is none",
        ) from error
