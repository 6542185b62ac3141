"""The office: the real ledger, the person, the device and the clock, chosen in this one place."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from pathlib import Path

from findhold.dates.instants import zone_named
from findhold.errors import BadInput, UnknownName
from findhold.service import settings
from findhold.store.ledger import Ledger, Stamp, Thing, open_ledger


def wall_clock() -> datetime:
    """Now, with the offset of this computer's zone."""
    return datetime.now(UTC).astimezone()


@dataclass(frozen=True, slots=True, kw_only=True)
class Office:
    """Everything a use case needs from the outside world."""

    ledger: Ledger
    person: str
    device: str
    now: Callable[[], datetime] = wall_clock

    def stamp(self) -> Stamp:
        """Who, where and when, for the events about to be written."""
        return Stamp(person=self.person, device=self.device, now=self.now())

    def site(self, code: str | None = None) -> Thing:
        """The site named, or the only one; raises UnknownName or BadInput when that is not clear."""
        sites = self.ledger.states("site")
        if code is not None:
            for site in sites:
                if site.number == code:
                    return site
            raise UnknownName("site", code, [site.number for site in sites])
        if len(sites) != 1:
            codes = ", ".join(site.number for site in sites)
            raise BadInput("this ledger holds several sites", limit=codes, do="Add --site CODE")
        return sites[0]

    def clock_of(self, site: Thing) -> tzinfo:
        """The zone that a site's clocks go by."""
        return zone_named(str(site.facts["zone"]))

    def in_site_zone(self, at: datetime, site: Thing) -> datetime:
        """An instant with the offset of the site's zone."""
        return at.astimezone(self.clock_of(site))


@contextmanager
def office(
    ledger: str | None,
    *,
    person: str | None = None,
    read_only: bool = False,
    now: Callable[[], datetime] = wall_clock,
) -> Iterator[Office]:
    """Open the office on a ledger and close it again."""
    path: Path = settings.ledger_path(ledger)
    opened = open_ledger(path, read_only=read_only)
    try:
        device = "reader" if read_only else settings.device_name()
        yield Office(ledger=opened, person=settings.person_name(person), device=device, now=now)
    finally:
        opened.close()
