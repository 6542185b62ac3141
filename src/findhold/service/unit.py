"""What the unit has chosen and what it has: policy, packing, stock, stores, people, closures, sources."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from findhold.record.events import UNIT
from findhold.service.choices import read_choices
from findhold.service.office import Office
from findhold.service.rounds.calendar import unit_calendar
from findhold.service.rounds.chosen import sections
from findhold.service.rounds.telling_whom import not_to_be_called
from findhold.service.signing import read_passphrases
from findhold.service.wire import plain
from findhold.sources import bibliography


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """Everything of the settings page; `policy` and `packing` by name."""

    ledger: str
    events: int
    newest_hash: str
    device: str
    policy: dict[str, Any]
    packing: dict[str, Any]
    numbers: dict[str, str]
    label_stock: str
    sites: tuple[dict[str, Any], ...]
    people: tuple[dict[str, Any], ...]
    with_passphrase: tuple[str, ...]
    stores: tuple[dict[str, Any], ...]
    boxes: tuple[dict[str, Any], ...]
    materials: tuple[dict[str, Any], ...]
    closures: tuple[dict[str, Any], ...]
    not_to_be_called: tuple[str, ...]
    """Duty holders and conservators without a telephone number, in sentences."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceLine:
    """One source of the figures, as it is cited, and how far it was read."""

    key: str
    citation: str


def unit(office: Office) -> Unit:
    """What the unit has chosen and what it has."""
    choices = read_choices()
    count, newest = office.ledger.head()

    def of(kind: str) -> tuple[dict[str, Any], ...]:
        return tuple(thing.facts for thing in office.ledger.states(kind, UNIT))

    return Unit(
        ledger=office.ledger.path.name,
        events=count,
        newest_hash=newest,
        device=office.device,
        policy=_named(choices.policy),
        packing=_named(choices.packing),
        numbers=_named(choices.numbers),
        label_stock=choices.label_stock,
        sites=tuple(site.facts for site in office.ledger.states("site")),
        people=of("person"),
        with_passphrase=tuple(read_passphrases()),
        stores=tuple(
            {name: value for name, value in facts.items() if name not in ("logs", "failures")} for facts in of("store")
        ),
        boxes=of("box"),
        materials=of("material"),
        closures=of("closure"),
        not_to_be_called=not_to_be_called(unit_calendar(office, office.now().date()).roster),
    )


def chosen_in_file() -> dict[str, dict[str, Any]]:
    """Policy and packing as settings.toml gives them, by section and key; what it does not say is built in."""
    values = sections()
    return {name: dict(values.get(name, {})) for name in ("policy", "packing")}


def sources() -> tuple[SourceLine, ...]:
    """The bibliography, by key."""
    return tuple(SourceLine(key=key, citation=source.citation()) for key, source in sorted(bibliography().items()))


def _named(choice: Any) -> dict[str, Any]:
    return {item.name: plain(getattr(choice, item.name)) for item in fields(choice)}
