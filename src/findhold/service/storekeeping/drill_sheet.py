"""The sheet to carry when a store failed, from the drill."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from findhold.dates.instants import day_for_people
from findhold.paper.drill_sheet import CarryRow, DrillSheet, StayRow, drill_sheet_pdf
from findhold.service.choices import read_choices
from findhold.service.files_out import PDF, FileOut
from findhold.service.folder import file_name, write_file
from findhold.service.office import Office
from findhold.service.rounds.telling_whom import Call
from findhold.service.storekeeping.drill import Drill, DrillBox, least_bad
from findhold.service.storekeeping.suggesting import keeps_words
from findhold.stores.places import Place
from findhold.tables.load import table
from findhold.tables.storing import store_rule

MOST_CALLS = 5
_CAUTIONS = ("never freeze", "mould and dust", "soil and water", "conservator")


def write_drill_sheet(office: Office, told: Drill, file: Path) -> str:
    """Write the sheet; returns the file's path."""
    return str(write_file(file, drill_sheet_file(office, told).data))


def drill_sheet_file(office: Office, told: Drill) -> FileOut:
    """The sheet of a drill as a PDF.

    Raises
    ------
    BadInput : no box stands in the store.
    """
    carried = carrying_order(told)
    targets = dict.fromkeys(box.place.store for box in carried if box.place is not None)
    flags = {flag.casefold() for box in told.boxes for flag in box.flags}
    raised = [name for name in ("human remains", "lead", "ordnance") if any(name in flag for flag in flags)]
    raised += ["lifting"] if any(box.mass_kg >= read_choices().stores.heavy_kg for box in told.boxes) else []
    rows = table("cautions").by("name")
    sheet = DrillSheet(
        store=told.store,
        site=f"{told.site} {told.site_name}",
        off=f"is OFF since {_when(told.since)}, room at {told.room_c:g} °C",
        warm=_warm(told),
        rows=tuple(_carry(number, box, told) for number, box in enumerate(carried, 1)),
        staying=tuple(_stay(box) for box in told.boxes if box.place is None),
        staying_proof=""
        if told.all_placed
        else "(proved: no more boxes find room)"
        if told.most_proved
        else "(another arrangement might place more)",
        first=tuple(text for when, text in told.acts if when != "after"),
        after=tuple(text for when, text in told.acts if when == "after"),
        call_first=_call(told.call_first),
        calls=tuple(_call(call) for call in told.calls[:MOST_CALLS]),
        thermometers=(told.store, *targets),
        cautions=tuple(rows[name]["text"] for name in (*raised, *_CAUTIONS)),
        notes=_notes(told),
        printed_at=told.now,
        person=office.person,
        seal=office.ledger.head()[1][:16],
    )
    name = file_name(told.site, told.store, told.since.date().isoformat(), "off", ending=".pdf")
    shape = {"file": name, "boxes": len(told.boxes), "placed": len(carried)}
    return FileOut(name=name, media_type=PDF, data=drill_sheet_pdf(sheet, date=told.now), shape=shape)


def carrying_order(told: Drill) -> tuple[DrillBox, ...]:
    """Boxes that go somewhere, trip by trip: the store of the worst box first, and in each trip the worst first."""
    placed = [box for box in told.boxes if box.place is not None]
    stores = list(dict.fromkeys(box.place.store for box in placed if box.place is not None))
    return tuple(box for store in stores for box in placed if box.place is not None and box.place.store == store)


def _carry(number: int, box: DrillBox, told: Drill) -> CarryRow:
    place = box.place
    if place is None:
        raise ValueError("a box that is carried has a place")
    lately = dict(told.failed_lately).get(place.store, "")
    keeps = keeps_words(place.keeping, told.zone, told.now) if place.keeping else ""
    return CarryRow(
        rank=str(number),
        box=box.box,
        box_id=box.box_id,
        find=box.find,
        registered=box.registered,
        what=box.what,
        signs=", ".join(box.flags),
        stands=f"shelf {box.on}" if box.on else "shelf not recorded",
        to_store=place.store,
        to_shelf=place.shelf,
        spot=_where(place),
        stays=box.told.do if box.told else "not forecast: take it first",
        keeps="; ".join(part for part in (lately, keeps, *(store_rule(one.rule).do for one in place.against)) if part),
        mass="\n".join(_mass(box)),
    )


def _mass(box: DrillBox) -> tuple[str, ...]:
    """The mass [kg], how it is known, and that it takes two people."""
    digits = 3 if box.mass_kg < 10.0 else 2
    two = ("2 people",) if box.mass_kg >= read_choices().stores.heavy_kg else ()
    return (f"{box.mass_kg:.{digits}f}", "weighed" if box.weighed else "planned", *two)


def _where(place: Place) -> str:
    """The shelf by its height, for names of shelves are not written on all of them, and the spot on it."""
    said = [] if place.above_floor_mm is None else [f"{place.above_floor_mm / 10:.0f} cm over the floor"]
    spot = place.spot
    if spot is not None and spot.left_mm is not None:
        firm = place.firm or not place.beside
        left = "at the left wall" if spot.left_mm < 1 else f"{spot.left_mm / 10:.0f} cm from the left"
        beside = f"beside {', '.join(place.beside[:3])}{' ...' if len(place.beside) > 3 else ''}"
        said += [left if firm else beside, "long side " + ("to the back" if spot.turned else "along the front")]
    return ", ".join(said)


def _stay(box: DrillBox) -> StayRow:
    return StayRow(
        box=box.box,
        box_id=box.box_id,
        find=box.find,
        registered=box.registered,
        what=box.what,
        signs=", ".join(box.flags),
        stands=f"on shelf {box.on}" if box.on else "",
        mass=" kg, ".join((_mass(box)[0], ", ".join(_mass(box)[1:]))),
        why=() if box.leave else box.why_not[:6],
        do=least_bad(box),
    )


def _warm(told: Drill) -> str:
    if told.warm_at is None:
        return ""
    return f"Kept shut, it passes {told.warm_c:g} °C about {_when(told.warm_at)} (reckoned; read the thermometer)."


def _notes(told: Drill) -> tuple[str, ...]:
    said = [f"{name}: {where}." for name, where in told.stores if where]
    if told.assumed:
        said.append(f"Shelf not recorded of finds {', '.join(told.assumed)}: room is reckoned as if they stood well.")
    said.append(
        f'Type in each move: Stores page, {told.store}; or findhold move FIND --to "STORE" --shelf N --at TIME.'
    )
    return tuple(said)


def _call(call: Call) -> tuple[str, str, str]:
    return call.name, call.role_words(), call.phone


def _when(at: datetime) -> str:
    day = day_for_people(at.date()).rsplit(" ", 1)[0]
    return f"{day}, {at:%H:%M}"
