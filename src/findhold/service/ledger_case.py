"""A find of the ledger as a case: its facts, store, stock, closures, and what was taken without being told."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from findhold.dates.closures import Closure
from findhold.dates.instants import at_hour, zone_named
from findhold.errors import BadInput
from findhold.keep.inputs import Climate
from findhold.pack.inputs import Override, PlanInputs, StockBox
from findhold.pack.measures import usable_stock
from findhold.record.events import UNIT
from findhold.service.case import Case
from findhold.service.choices import Choices
from findhold.service.office import Office
from findhold.service.packing.cushioning import with_cushion
from findhold.service.rounds.public_days import with_holidays
from findhold.service.scenario_case import (
    COLD_STORE_C,
    FIND_TEMP_C,
    dose_temp_c,
    measured_fields,
    stock_box,
    taken_for_boxes,
)
from findhold.service.settings import settings_folder
from findhold.service.settled import barrier_asked
from findhold.service.stay import Span, Stay, climate_of_stays, stays_of, store_records
from findhold.service.store_record import StoreRecord
from findhold.store.ledger import Thing
from findhold.tables.load import table

PACKING_DELAY = timedelta(hours=6)
"""From exposure to the lid closed when nobody wrote it down (judgement: same day, as common practice asks)."""

_NEEDED = ("material", "state", "length_mm", "width_mm", "height_mm", "mass_kg")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a person adds on the command line to what the ledger knows of a find."""

    packed_at: datetime | None = None
    stood_since: datetime | None = None
    """Since when it stood in its store, when that is before packed_at: packed anew, or the date was corrected."""
    barrier: str | None = None
    wrapping: str | None = None
    box: str | None = None
    sheets: int | None = None
    """Sheets of the wrapping, instead of what the plan reckons."""
    overrides: tuple[Override, ...] = ()
    place_carried_kg: float = 0.0
    """Packed mass of the other boxes planned for the same store."""
    lid_water_g: float | None = None
    """Water that would drip from the lid by the last forecast, high edge, with what is planned for already."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelves:
    """What is the same for every find of a run: stock, stores, closures, settings and the moment."""

    site: Thing
    stock: tuple[StockBox, ...]
    taken: tuple[str, ...]
    """What is taken for boxes that the stock list describes only in part."""
    stores: dict[str, dict[str, Any]]
    closures: tuple[tuple[str | None, Closure], ...]
    choices: Choices
    now: datetime
    records: dict[str, StoreRecord] = field(default_factory=dict)
    """Readings and failures by store; a store without any is not among them."""
    stays: dict[str, tuple[Stay, ...]] = field(default_factory=dict)
    """Finds whose store was changed, by number: where they stood since when."""


def shelves(office: Office, site: Thing, choices: Choices) -> Shelves:
    """Read stock, stores and closures once."""
    boxes = [thing.facts for thing in office.ledger.states("box", UNIT)]
    stores = {thing.number: thing.facts for thing in office.ledger.states("store", UNIT)}
    closures = tuple(closure_told(thing.facts) for thing in office.ledger.states("closure", UNIT))
    closures = with_holidays(closures, office.now().date())
    stock, left_out = usable_stock(tuple(stock_box(facts) for facts in boxes))
    return Shelves(
        site=site,
        stock=stock,
        taken=(*left_out, *taken_for_boxes(boxes)),
        stores=stores,
        closures=closures,
        choices=choices,
        now=office.now(),
        records=store_records(office),
        stays=stays_of(office, site.number),
    )


def case_of_find(find: Thing, shelf: Shelves, asked: Asked) -> Case:
    """The case of one find of the ledger.

    Raises
    ------
    BadInput : a size, mass, material, state, store or time that the plan needs is not in the register.
    """
    facts, zone, where = find.facts, shelf.site.facts["zone"], f"find {find.number}"
    _complete(facts, where)
    assumed: list[str] = list(shelf.taken)
    exposed_at = _exposed_at(facts, zone, assumed)
    open_at = _instant(facts.get("open_at"), zone)
    packed_at = asked.packed_at or _instant(facts.get("packed_at"), zone)
    if packed_at is None and exposed_at is not None:
        packed_at = _packed_at(exposed_at, open_at, shelf.now, assumed)
    store = _store(facts, shelf, where)
    assumed.append(f"The find is taken at {FIND_TEMP_C:g} °C when packed (not measured; judgement).")
    climate, _ = climate_of_find(find, shelf, packed_at, asked.stood_since)
    case = Case(
        title=where,
        plan=_plan_inputs(facts, where, store, shelf, asked),
        climate=climate,
        exposed_at=exposed_at,
        packed_at=packed_at,
        open_at=open_at,
        find_temp_c=FIND_TEMP_C,
        zone=zone,
        closures=tuple(closure for name, closure in shelf.closures if name in (None, facts.get("store"))),
        policy=shelf.choices.policy,
        deadlines=_deadlines(facts, exposed_at, assumed),
        assumed=tuple(assumed),
        stores=tuple(
            (name, float(row["temp_c"])) for name, row in shelf.stores.items() if row.get("temp_c") is not None
        ),
    )
    return with_cushion(case, shelf.choices.cushion, settings_folder())


def _deadlines(
    facts: dict[str, Any], exposed_at: datetime | None, assumed: list[str]
) -> tuple[tuple[str, datetime], ...]:
    """The day by which a find flagged as treasure is usually reported; never a statement of law."""
    if not facts.get("treasure") or exposed_at is None:
        return ()
    row = table("deadlines").by("name")["treasure report"]
    days = float(row["days"])
    assumed.append(
        f"Flagged as treasure or the state's: {days:g} days from the find are taken for the report "
        f"({row['words']}; {row['seen']}). Check local rules: the time and the place differ."
    )
    return (("treasure report", exposed_at + timedelta(days=days)),)


def climate_of_find(
    find: Thing, shelf: Shelves, packed_at: datetime | None, stood_since: datetime | None = None
) -> tuple[Climate | None, list[str]]:
    """The air round a find's box from packing on, and what was assumed of it; None when nothing is known.

    stood_since : an earlier instant from which it stood there; failures from then on count.
    Where its stores were logged the readings stand; else the stated set-point does, and typed failures drift from it.
    """
    stays = stays_of_find(find, shelf)
    if packed_at is None:
        store = _store(find.facts, shelf, f"find {find.number}")
        return (None if store.get("temp_c") is None else Climate(temp_c=store["temp_c"], rh=store.get("rh"))), []
    zone = shelf.site.facts["zone"]
    until = _instant(find.facts.get("open_at"), zone)
    span = Span(packed_at=packed_at, stood_since=stood_since, until=until)
    return climate_of_stays(stays, shelf.stores, shelf.records, span, zone=zone)


def place_of(find: Thing, shelf: Shelves) -> str | None:
    """Name of the store a find goes to; None when the plan will say what is missing."""
    named = find.facts.get("store")
    if named is None and len(shelf.stores) == 1:
        return next(iter(shelf.stores))
    return named if named in shelf.stores else None


def stays_of_find(find: Thing, shelf: Shelves) -> tuple[Stay, ...]:
    """Where a find stood since when; one stay when its store was never changed."""
    moved = shelf.stays.get(find.number, ())
    known = tuple(stay for stay in moved if stay.store in shelf.stores)
    if known:
        return known
    store = _store(find.facts, shelf, f"find {find.number}")
    return (Stay(store=store["name"], since=None),)


def _complete(facts: dict[str, Any], where: str) -> None:
    lacking = [name.replace("_", " ") for name in _NEEDED if facts.get(name) is None]
    if lacking:
        do = "Enter it in the register and import the file again"
        if facts.get("other"):
            unused = ", ".join(facts["other"])
            do += f'; or say which unused column it is ({unused}): import FILE --answer "column NAME={lacking[0]}"'
        raise BadInput(f"the register lacks {', '.join(lacking)}", where=where, do=do)


def _plan_inputs(facts: dict[str, Any], where: str, store: dict[str, Any], shelf: Shelves, asked: Asked) -> PlanInputs:
    flags = tuple(name.replace("_", " ") for name in ("human_remains", "treasure") if facts.get(name))
    return PlanInputs(
        find=where,
        material=facts["material"],
        state=facts["state"],
        block_mm=(facts["length_mm"], facts["width_mm"], facts["height_mm"]),
        mass_kg=facts["mass_kg"],
        soil=facts.get("soil"),
        water_content=facts.get("water_content"),
        analyses=tuple(facts.get("analyses") or ()),
        parts=tuple(facts.get("part_materials") or ()),
        acts=tuple(facts.get("done") or ()),
        stock=shelf.stock,
        wanted_box=asked.box or facts.get("box"),
        place=store.get("name"),
        place_temp_c=store.get("temp_c"),
        place_rh=store.get("rh"),
        wrapping=asked.wrapping or "tissue",
        **barrier_asked(asked.barrier or facts.get("barrier")),
        flags=flags,
        temp_c=dose_temp_c(COLD_STORE_C if store.get("temp_c") is None else store["temp_c"]),
        fridge_inside_mm=_inside(store),
        place_kind=store.get("kind") or "fridge",
        place_max_load_kg=store.get("max_load_kg"),
        place_carried_kg=asked.place_carried_kg,
        lid_water_g=asked.lid_water_g,
        sheets=asked.sheets,
        overrides=asked.overrides,
        defaults=shelf.choices.packing,
        **measured_fields(facts),
    )


def closure_told(facts: dict[str, Any]) -> tuple[str | None, Closure]:
    """A closure of the ledger, and the store it is of (None: of the whole unit)."""
    first, last = (
        date.fromisoformat(facts["first_day"]),
        date.fromisoformat(facts.get("last_day") or facts["first_day"]),
    )
    return facts.get("store"), Closure(
        first_day=first,
        last_day=last,
        reason=facts.get("reason") or "closed",
        who=facts.get("duty_holder") or "",
    )


def _instant(text: str | None, zone: str) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text).astimezone(zone_named(zone))


def _exposed_at(facts: dict[str, Any], zone: str, assumed: list[str]) -> datetime | None:
    exposed = _instant(facts.get("exposed_at"), zone)
    if exposed is not None or facts.get("found_on") is None:
        return exposed
    assumed.append(
        "First exposure is not in the register: the start of the day it was found is taken, the earliest it can be."
    )
    return at_hour(date.fromisoformat(facts["found_on"]), 0, zone)


def _packed_at(exposed: datetime, opens: datetime | None, now: datetime, assumed: list[str]) -> datetime:
    """Now, when now lies between exposure and opening; else the same day's end, said as an assumption."""
    if exposed <= now and (opens is None or now < opens) and now - exposed < timedelta(days=60):
        assumed.append("Packing time: now, because the register gives none.")
        return now.astimezone(exposed.tzinfo)
    packed = exposed + PACKING_DELAY
    if opens is not None and packed >= opens:
        packed = exposed
    assumed.append(
        f"Packing time is not in the register: taken {(packed - exposed).total_seconds() / 3600:g} h after exposure."
    )
    return packed


def _store(facts: dict[str, Any], shelf: Shelves, where: str) -> dict[str, Any]:
    name = facts.get("store")
    if name is None:
        if len(shelf.stores) == 1:
            return next(iter(shelf.stores.values()))
        raise BadInput(
            "no store is named for it",
            where=where,
            limit=", ".join(shelf.stores) or "none is entered yet",
            do="Write the store in the register, or import the stores first",
        )
    if name not in shelf.stores:
        raise BadInput(
            f"its store {name!r} is not entered",
            where=where,
            limit=", ".join(shelf.stores) or "none is entered yet",
            do="Import the stores (name, temperature, humidity), then plan again",
        )
    return shelf.stores[name]


def _inside(store: dict[str, Any]) -> tuple[float, float, float] | None:
    sizes = [store.get(f"inside_{side}_mm") for side in "lwh"]
    if any(size is None for size in sizes):
        return None
    return (float(sizes[0] or 0), float(sizes[1] or 0), float(sizes[2] or 0))
