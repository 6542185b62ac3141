"""Labels: made from the record, read back before they are given out; a photographed label beside its record."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from findhold.errors import BadInput, UnknownName
from findhold.label.layout import LabelStock, stock_named
from findhold.label.payload import Restored
from findhold.label.readback import one_label, read_image
from findhold.label.release import Released, release
from findhold.label.wording import PARTS, LabelFacts
from findhold.record.events import NewEvent, stream_of
from findhold.record.identity import parse_identity
from findhold.service.choices import read_choices
from findhold.service.finder import find_thing
from findhold.service.folder import file_name, write_file
from findhold.service.office import Office
from findhold.service.showing.still_so import labels_made_for
from findhold.service.wire import plain
from findhold.store.ledger import Thing


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelRequest:
    """Labels to make: finds (none named: every planned one), parts, stock by name or size, and the file."""

    finds: tuple[str, ...] = ()
    site: str | None = None
    parts: tuple[str, ...] = PARTS
    stock: str | None = None
    out: Path | None = None
    record: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Labelled:
    """The file made, how many labels are in it, what every label was read back as, and what had to be left out."""

    file: str
    count: int
    pages: int
    stock: str
    names: tuple[str, ...]
    read_back: int
    left_out: tuple[tuple[str, ...], ...]
    without_keep_until: tuple[str, ...]
    """Finds whose labels carry no keep-until date, because nothing is forecast yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelSeen:
    """A label as it was read from a picture, beside the record; differences are things to settle."""

    find_id: str | None
    box_id: str | None
    codes: tuple[str, ...]
    restored: Restored | None
    site_known: bool | None
    record: dict[str, Any] | None
    hold: dict[str, Any] | None
    differences: tuple[str, ...]


def make_labels(office: Office, request: LabelRequest) -> Labelled:
    """Make the labels of planned finds; every code is read back from the finished pages before the file is written.

    Raises
    ------
    BadInput : a find has no planned box, or a label does not fit the stock.
    UnreadableLabelError : a code does not read back; no file is written.
    """
    site = office.site(request.site)
    holds = {hold.facts["find"]: hold for hold in office.ledger.states("hold", site.number)}
    chosen = [_hold(holds, number) for number in request.finds] or list(holds.values())
    if not chosen:
        raise BadInput("no box is planned yet", where=f"site {site.number}", do="Run: findhold plan --all")
    stock = label_stock(request.stock or read_choices().label_stock)
    facts = [label_facts(office, site, hold) for hold in chosen]
    orders = [(one, _part(part)) for one in facts for part in request.parts]
    made = release(orders, stock, date=office.in_site_zone(office.now(), site))
    name = file_name(site.number, "-".join(request.finds[:4]) or "all", "label", ending=".pdf")
    file = write_file(request.out or Path(name), made.pdf)
    if request.record:
        _record(office, chosen, request, stock, made)
    return Labelled(
        file=str(file),
        count=made.count,
        pages=made.pages,
        stock=stock.name,
        names=made.names,
        read_back=len(made.read_back),
        left_out=made.dropped,
        without_keep_until=tuple(hold.facts["find"] for hold in chosen if not hold.facts.get("forecast")),
    )


def label_stock(name: str) -> LabelStock:
    """A stock by its name in the list, or a roll of any size given as "62x29" (millimetres)."""
    size = name.lower().replace(" ", "").removesuffix("mm").split("x")
    if len(size) == 2 and all(part.replace(".", "", 1).isdigit() for part in size):
        width, height = (float(part) for part in size)
        if not (15 <= width <= 300 and 10 <= height <= 420):
            raise BadInput(
                f"a label of {width:g} x {height:g} mm cannot be used",
                where="--stock",
                limit="15 to 300 mm wide, 10 to 420 mm high",
                do="Measure the label in the drawer and give width x height",
            )
        return LabelStock(name=f"{width:g} x {height:g} mm", width_mm=width, height_mm=height)
    return stock_named(name)


def label_facts(office: Office, site: Thing, hold: Thing) -> LabelFacts:
    """Everything the labels of one hold say, from the record."""
    find = find_thing(office, hold.facts["find"], site).facts
    forecast = hold.facts.get("forecast") or {}
    plan = hold.facts["plan"]
    keep_until = forecast.get("keep_until")
    packed = hold.facts.get("packed_at")
    stated = packed is not None and hold.facts.get("packed_stated") is not False
    return LabelFacts(
        site_code=site.number,
        site_name=site.facts["name"],
        find_number=hold.facts["find"],
        find_kind=find.get("kind") or "registered",
        context=find.get("context") or "not recorded",
        what=find.get("what") or "",
        material=plan["material"],
        state=plan["state"],
        find_id=hold.facts["find_id"],
        box_id=hold.facts["box_id"],
        packed_on=_day(office, packed, site) if stated else None,
        easting_m=find.get("easting_m"),
        northing_m=find.get("northing_m"),
        level_m=find.get("level_m"),
        grid=site.facts["grid"],
        vertical_datum=site.facts["vertical_datum"],
        keep_until=_day(office, keep_until, site),
        analyses=tuple(find.get("analyses") or ()),
        flags=_flags(find, plan),
        person=office.person if stated else "",
        mass_kg=plan.get("gross_mass_kg"),
        place=find.get("store") or "",
        symbols=read_choices().numbers,
        kept=plan.get("kept"),
    )


def _flags(find: dict[str, Any], plan: dict[str, Any]) -> tuple[str, ...]:
    """Flags of the register and those the plan took from the material, in plain words, none twice."""
    flags = [name.replace("_", " ") for name in ("human_remains", "treasure") if find.get(name)]
    flags += [str(word).casefold().replace("_", " ") for word in (*plan.get("flags", ()), *(find.get("hazards") or ()))]
    return tuple(dict.fromkeys(flags))


def read_label(office: Office | None, picture: Path) -> LabelSeen:
    """Read a photographed or scanned label and set it beside the record.

    Parameters
    ----------
    office : the office on a ledger, or None to read without one.
    picture : PNG, JPEG, TIFF or PDF.

    Raises
    ------
    BadInput : no code can be read, codes of different labels are in the picture, or the label is of another site.
    """
    try:
        data = picture.read_bytes()
    except OSError as error:
        wrong = f"the picture cannot be read ({error.strerror})"
        raise BadInput(wrong, where=str(picture), do="Check the path") from error
    codes = read_image(data)
    read = one_label(codes)
    site_code = parse_identity(read.find_id or read.box_id or "").site
    thing, hold, known = None, None, None
    if office is not None:
        known = _known_site(office, site_code, picture)
        hold = _hold_of_identity(office, site_code, read.box_id, read.find_id)
        number = hold.facts["find"] if hold else (read.restored.find_number if read.restored else None)
        if number is None and read.find_id:
            number = parse_identity(read.find_id).number.lstrip("0") or "0"
        thing = office.ledger.state(stream_of("find", site_code, number)) if number else None
    return LabelSeen(
        find_id=read.find_id,
        box_id=read.box_id,
        codes=tuple(code.text for code in codes),
        restored=read.restored,
        site_known=known,
        record=thing.facts if thing else None,
        hold=_hold_summary(hold),
        differences=_differences(read.restored, read.box_id, thing, hold) if office is not None else (),
    )


def _known_site(office: Office, code: str, picture: Path) -> bool:
    codes = [site.number for site in office.ledger.states("site")]
    if code not in codes:
        raise BadInput(
            f"this label belongs to site {code}, not to this ledger",
            where=picture.name,
            limit=f"labels of {', '.join(codes)}",
            do=f"Open the ledger of {code}, or set the box aside and ask whose it is",
        )
    return True


def _hold_of_identity(office: Office, site: str, box_id: str | None, find_id: str | None) -> Thing | None:
    for hold in office.ledger.states("hold", site):
        if hold.facts["box_id"] == box_id or (box_id is None and hold.facts["find_id"] == find_id):
            return hold
    return None


def _hold_summary(hold: Thing | None) -> dict[str, Any] | None:
    if hold is None:
        return None
    forecast = hold.facts.get("forecast") or {}
    return {
        "box_id": hold.facts["box_id"],
        "find": hold.facts["find"],
        "box": hold.facts["plan"]["box"],
        "keep_until": forecast.get("keep_until"),
        "governing_limit": forecast.get("governing_limit"),
    }


def _differences(
    restored: Restored | None, box_id: str | None, thing: Thing | None, hold: Thing | None
) -> tuple[str, ...]:
    """What the label says otherwise than the record does."""
    if thing is None:
        return ("no such find in this ledger",)
    found = []
    if restored is not None:
        pairs = [
            ("context", restored.context, thing.facts.get("context")),
            ("what it is", restored.what, thing.facts.get("what")),
            ("easting", restored.easting_m, thing.facts.get("easting_m")),
            ("northing", restored.northing_m, thing.facts.get("northing_m")),
            ("level", restored.level_m, thing.facts.get("level_m")),
        ]
        found = [
            f"{name}: label {on_label}, record {in_record}"
            for name, on_label, in_record in pairs
            if not _same(on_label, in_record)
        ]
    if hold is None:
        found.append("the record has no box for it")
    elif box_id is not None and hold.facts["box_id"] != box_id:
        found.append(f"box: label {box_id}, record {hold.facts['box_id']}")
    return tuple(found)


def _same(on_label: Any, in_record: Any) -> bool:
    if isinstance(on_label, float) and isinstance(in_record, int | float):
        return abs(on_label - in_record) < 0.0006
    if isinstance(on_label, str):
        return " ".join(on_label.split()) == " ".join(str(in_record or "").split())
    return on_label is None or on_label == in_record


def _hold(holds: dict[str, Thing], number: str) -> Thing:
    number = number.strip().strip("[]()<>").strip()
    if number not in holds:
        raise BadInput(
            "no box is planned for it yet",
            where=f"find {number}",
            do=f"Run: findhold plan {number}, and settle what stops it if it stops",
        )
    return holds[number]


def _part(part: str) -> Any:
    if part not in PARTS:
        raise UnknownName("part of a label set", part, list(PARTS), where="--part")
    return part


def _day(office: Office, text: str | None, site: Thing) -> date | None:
    return office.in_site_zone(datetime.fromisoformat(text), site).date() if text else None


def _record(office: Office, holds: Sequence[Thing], request: LabelRequest, stock: LabelStock, made: Released) -> None:
    site = office.site(request.site)
    body = {"parts": list(request.parts), "stock": stock.name, "sha256": hashlib.sha256(made.pdf).hexdigest()}
    finds = {hold.stream: find_thing(office, hold.facts["find"], site).facts for hold in holds}
    each = len(request.parts)  # labels come out hold by hold, part by part
    events = [
        NewEvent(
            word="hold.labelled.1",
            stream=hold.stream,
            body={
                **body,
                "made_for": labels_made_for(finds[hold.stream], hold.facts, site.facts["zone"]),
                "read_back": plain(made.read_back[place * each : (place + 1) * each]),
            },
        )
        for place, hold in enumerate(holds)
    ]
    with office.ledger.writing(office.stamp()) as writing:
        writing.append(events)
