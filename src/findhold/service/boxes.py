"""Which hold a person means by what is written on its box or its find, and what the other boxes should weigh."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

import numpy as np

from findhold.check.reading import rule
from findhold.check.weighing import OtherBox
from findhold.errors import BadInput, UnknownName
from findhold.record.identity import Identity, parse_identity
from findhold.service.office import Office
from findhold.store.ledger import Thing

FORM = "the box's or the find's identity (WCR26-B1-U, WCR26-F37-5), B1 for box 1, or the find's number"


def site_of(office: Office, text: str, code: str | None) -> Thing:
    """The site that an identity names, else the one asked for, else the only one.

    Raises
    ------
    BadInput : the identity belongs to another site than the one asked for, or its check character is wrong.
    """
    found = _identity(text)
    if found is None:
        return office.site(code)
    if code is not None and found.site != code:
        raise BadInput(
            f"{text!r} is of site {found.site}",
            where=f"--site {code}",
            do=f"Leave --site out, or read the label again: is it of {code}?",
        )
    return office.site(found.site)


def find_hold(text: str, site: Thing, holds: Sequence[Thing]) -> Thing:
    """The hold of a box, by the box's identity, the box's number or the find's number.

    Parameters
    ----------
    text : WCR26-B1-U, WCR26-F37-5, B1 for box 1, F37 or 37 for find 37; a bare number that is both is asked about.
    site : the site.
    holds : of the site.

    Raises
    ------
    BadInput : it names a sample, or could be a box or a find; or the check character does not fit.
    UnknownName : there is no such box.
    """
    if not holds:
        raise BadInput("no box is planned yet", where=f"site {site.number}", do="Run: findhold plan --all")
    found = _identity(text)
    if found is not None and found.letter == "S":
        raise BadInput(f"{text!r} is a sample, not a box", where="box", limit=FORM, do="Read the label of the box")
    boxes = {str(hold.facts["box_no"]): hold for hold in holds}
    finds = {hold.facts["find"]: hold for hold in holds}
    if found is not None:
        pool, number = (boxes, found.number) if found.letter == "B" else (finds, found.number)
        if number in pool:
            return pool[number]
        raise UnknownName("box", text, _known(holds), where=f"site {site.number}")
    plain = text.strip().strip("[]()<>△").strip()
    lettered = re.fullmatch(r"([BbFf])[\s.-]*0*(\d+\w*)", plain)
    meant = {hold.stream: hold for hold in (finds.get(plain),) if hold is not None}
    if lettered:
        pool = boxes if lettered[1] in "Bb" else finds
        meant |= {hold.stream: hold for hold in (pool.get(lettered[2].upper()),) if hold is not None}
    elif plain in boxes:
        meant |= {boxes[plain].stream: boxes[plain]}
    if not meant:
        raise UnknownName("box", text, _known(holds), where=f"site {site.number}")
    if len(meant) > 1:
        raise BadInput(
            f"{plain!r} is a find and a box",
            where="box",
            limit=FORM,
            do="Type " + " or ".join(f"{_told(hold)}" for hold in meant.values()),
        )
    return next(iter(meant.values()))


def other_boxes(holds: Iterable[Thing], own: Thing, at: datetime) -> tuple[OtherBox, ...]:
    """What the other boxes of the site should weigh at an instant, from their recorded forecasts.

    A box that was weighed is known within its mass band, one that was not within a few per cent of its plan.
    """
    found = []
    for hold in holds:
        bands = hold.facts.get("forecast", {}).get("mass_band") or ()
        if hold.stream == own.stream or not bands:
            continue
        low_kg, high_kg = (_between(bands, f"{edge}_kg", at) for edge in ("low", "high"))
        room_kg = rule("other_box_g") / 1000.0
        if not any(row["verdict"]["counted"] for row in hold.facts.get("weighings", ())):
            room_kg = rule("other_planned_share") * high_kg
        found.append(OtherBox(box_id=hold.facts["box_id"], low_kg=low_kg - room_kg, high_kg=high_kg + room_kg))
    return tuple(found)


def _between(bands: Sequence[dict[str, Any]], edge: str, at: datetime) -> float:
    """An edge of the mass bands at an instant, straight between checks."""
    when = [datetime.fromisoformat(band["at"]).timestamp() for band in bands]
    return float(np.interp(at.timestamp(), when, [band[edge] for band in bands]))


def _identity(text: str) -> Identity | None:
    """The identity that the text is, None when it has not the form of one; raises BadInput when it does not check."""
    tidy = re.sub(r"[\s‐‑‒–—−-]+", "-", text.strip())
    return parse_identity(text) if tidy.count("-") >= 2 else None


def _known(holds: Sequence[Thing]) -> list[str]:
    return [name for hold in holds for name in (hold.facts["box_id"], f"B{hold.facts['box_no']}", hold.facts["find"])]


def _told(hold: Thing) -> str:
    return f"{hold.facts['box_id']} (box {hold.facts['box_no']}, find {hold.facts['find']})"
