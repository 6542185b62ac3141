"""What a scanned, decoded or typed text means: a box, or a place to put it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from findhold.errors import BadInput, UnknownName
from findhold.label.payload import is_speaking, restore
from findhold.label.readback import one_label, read_image
from findhold.record.events import UNIT, stream_of
from findhold.record.identity import parse_identity
from findhold.service.boxes import find_hold, site_of
from findhold.service.office import Office
from findhold.service.stores import find_store
from findhold.store.ledger import Thing

STORE_WORD, SHELF_WORD = "STORE", "SHELF"


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxCode:
    """A box that a text names: its site, its identity, its find."""

    site: str
    box_id: str
    find: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceCode:
    """A place that a text names: a store of the ledger, and a shelf in it when one is named."""

    store: str
    shelf: str = ""


def place_text(store: str, shelf: str = "") -> str:
    """What the code on a store or a shelf says; `read_code` is its inverse."""
    return f"{STORE_WORD} {store}" + (f"\n{SHELF_WORD} {shelf}" if shelf else "")


def read_code(office: Office, text: str, site: str | None = None) -> BoxCode | PlaceCode:
    """What a text means that was scanned, decoded or typed.

    Parameters
    ----------
    text : a label's speaking text, an identity, B1 for box 1, a find's number; or the code of a store.

    Raises
    ------
    BadInput : it is not whole, or could be two things. UnknownName : there is no such box or store.
    """
    if text.strip().upper().startswith(f"{STORE_WORD} "):
        return read_place(office, text)
    hold = hold_of_code(office, text, site)
    return BoxCode(site=hold.stream.split("/")[1], box_id=hold.facts["box_id"], find=hold.facts["find"])


def hold_of_code(office: Office, text: str, site: str | None = None) -> Thing:
    """The hold that a text names; raises as `read_code`."""
    meant = restore(text).box_id if is_speaking(text) else text.strip()
    if not meant:
        raise BadInput("nothing was scanned or typed", where="box", do="Scan the label, or type the box's number")
    place = site_of(office, meant, site)
    # A whole identity of a box leads straight to it; anything shorter may be two things and is looked for among all.
    straight = hold_of_box(office, meant)
    if straight is not None:
        return straight
    try:
        return find_hold(meant, place, office.ledger.states("hold", place.number))
    except UnknownName as error:
        if not error.near:
            error.do = "Read the label again, or choose the box in a list"
        raise


def hold_of_box(office: Office, box_id: str) -> Thing | None:
    """The hold of a box's whole identity; None when the text is none, or there is no such box."""
    try:
        found = parse_identity(box_id)
    except BadInput:
        return None
    return office.ledger.state(stream_of("hold", found.site, f"B{found.number}")) if found.letter == "B" else None


def read_place(office: Office, text: str) -> PlaceCode:
    """The place that a text names: the code of a store or a shelf, or just the store's name."""
    lines = [line.strip() for line in text.strip().splitlines()]
    store, shelf = lines[0] if lines else "", ""
    if store.upper().startswith(f"{STORE_WORD} "):
        store = store[len(STORE_WORD) + 1 :]
    for line in lines[1:]:
        if line.upper().startswith(f"{SHELF_WORD} "):
            shelf = line[len(SHELF_WORD) + 1 :].strip()
    if not store:
        raise BadInput("no store was scanned or chosen", where="store", do="Scan the store's code, or choose it")
    return PlaceCode(store=find_store(office, store).number, shelf=shelf)


def read_picture(office: Office, data: bytes, site: str | None = None) -> BoxCode | PlaceCode:
    """What the code in a photograph means; the picture is not kept.

    Raises
    ------
    BadInput : no code can be read, or codes of different labels are in it. UnknownName : there is no such box or store.
    """
    codes = read_image(data)
    places = [code.text for code in codes if code.text.upper().startswith(f"{STORE_WORD} ")]
    if places:
        return read_place(office, places[0])
    label = one_label(codes)
    return read_code(office, label.box_id or label.find_id or "", site)


def stores_to_choose(office: Office) -> tuple[dict[str, Any], ...]:
    """The unit's stores by name, with their kind and temperature."""
    stores = office.ledger.states("store", UNIT)
    return tuple(
        {"name": one.number, "kind": one.facts.get("kind"), "temp_c": one.facts.get("temp_c")} for one in stores
    )
