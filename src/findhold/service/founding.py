"""Begin a ledger with its first site, and enter further sites."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from findhold.dates.instants import zone_named
from findhold.errors import BadInput
from findhold.record.events import NewEvent, stream_of
from findhold.service import settings
from findhold.service.office import wall_clock
from findhold.store.ledger import Stamp, create

DEFAULT_ZONE = "Europe/London"
DEFAULT_GRID = "British National Grid (EPSG:27700)"
DEFAULT_DATUM = "Ordnance Datum Newlyn (ODN)"
SITE_CODE = re.compile(r"^[A-Z0-9][A-Z0-9-]{0,15}$")


@dataclass(frozen=True, slots=True, kw_only=True)
class NewLedger:
    """A ledger to begin: where, and the facts of its first site."""

    path: Path
    site: str
    name: str
    zone: str = DEFAULT_ZONE
    grid: str = DEFAULT_GRID
    vertical_datum: str = DEFAULT_DATUM
    jurisdiction: str = ""
    person: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerBegun:
    """The new ledger: its path, its site's facts and the hash of its first events."""

    ledger: str
    site: str
    name: str
    zone: str
    grid: str
    vertical_datum: str
    newest_hash: str


def new_ledger(request: NewLedger, *, now: Callable[[], datetime] = wall_clock) -> LedgerBegun:
    """Begin a ledger file; nothing is left behind when it cannot be made.

    Raises
    ------
    BadInput : the site code or name cannot be used.
    UnknownName : no such time zone.
    LedgerTrouble : the file exists, or the folder cannot be written.
    """
    if not SITE_CODE.match(request.site):
        raise BadInput(
            f"{request.site!r} cannot be a site code",
            where="--site",
            limit="1 to 16 capital letters, digits and hyphens, as it is written on every label",
            do="Write it in capitals, for example WCR26",
        )
    if not request.name.strip():
        raise BadInput("the site has no name", where="--name", do='Give its name, for example --name "Withy Carr"')
    zone_named(request.zone, where="--zone")
    facts = {
        "code": request.site,
        "name": request.name.strip(),
        "zone": request.zone,
        "grid": request.grid,
        "vertical_datum": request.vertical_datum,
        "jurisdiction": request.jurisdiction,
    }
    stamp = Stamp(person=settings.person_name(request.person), device=settings.device_name(), now=now())
    opened = NewEvent(word="ledger.opened.1", stream="ledger/main", body={"name": request.name.strip(), "format": 1})
    site = NewEvent(word="site.entered.1", stream=stream_of("site", request.site), body=facts)
    ledger = create(request.path, stamp, [opened, site])
    _, newest = ledger.head()
    ledger.close()
    return LedgerBegun(
        ledger=str(request.path),
        site=request.site,
        name=facts["name"],
        zone=request.zone,
        grid=request.grid,
        vertical_datum=request.vertical_datum,
        newest_hash=newest,
    )
