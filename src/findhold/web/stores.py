"""Stores: what stands in each, drawn to scale; its readings; failures and logger files."""

from __future__ import annotations

import hashlib
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.errors import BadInput, FindholdError, UnknownName
from findhold.service import stores
from findhold.service.doorway import status_of
from findhold.service.files_out import brought
from findhold.service.office import Office
from findhold.service.once import answer_of
from findhold.service.showing.store_forms import answers_typed, failure_typed, take_back_typed
from findhold.service.showing.store_readings import DAYS, store_readings
from findhold.service.showing.stores_seen import StoreSeen, store_seen, stores_seen
from findhold.web.desk import Desk, Signed
from findhold.web.drawn import Over, with_links
from findhold.web.navigation import Nav

NAV = Nav(word="Stores", path="/stores", order=50)
router = APIRouter()
HAPPENED = ("failure", "take back a failure", "log")


@router.get("/stores")
def stores_page(desk: Signed) -> Response:
    """Every store with its boxes."""
    with desk.looking() as office:
        seen = stores_seen(office)
    return desk.page("stores.html", stores=seen, fronts={one.name: _front(desk, one) for one in seen})


@router.get("/stores/{name}")
def store_page(
    name: str, desk: Signed, days: Annotated[int, Query(ge=1, le=400)] = DAYS[1], told: str = ""
) -> Response:
    """One store: its boxes, its readings, and what was just recorded of it."""
    with desk.looking() as office:
        answer = _answer(office, name, told) if told else None
    return _page(desk, name, days=days, told=answer)


@router.post("/stores/{name}/failures")
def failure(name: str, desk: Signed) -> Response:
    """A failure typed by hand: looked at first, or recorded."""
    dry_run = desk.typed.get("do") == "look"

    def recorded(office: Office) -> dict[str, Any]:
        request = failure_typed(office, name, desk.typed, dry_run=dry_run)
        return stores.store_answer(stores.record_failure(office, request))

    return _done(desk, name, "failure", recorded, dry_run=dry_run)


@router.post("/stores/{name}/take-back")
def take_back(name: str, desk: Signed) -> Response:
    """A failure recorded for the wrong store or time."""

    def recorded(office: Office) -> dict[str, Any]:
        return stores.store_answer(stores.take_back(office, take_back_typed(office, name, desk.typed)))

    return _done(desk, name, "take back a failure", recorded, dry_run=False)


@router.post("/stores/{name}/logs")
def log(name: str, desk: Signed) -> Response:
    """A logger's file: looked at first, or recorded."""
    dry_run = desk.typed.get("do") == "look"
    file = desk.files.get("file")
    data = b"" if file is None else file.file.read()

    def recorded(office: Office) -> dict[str, Any]:
        if not data:
            raise BadInput("no file was chosen", where="logger's file", do="Choose the file that the logger saved")
        with brought(data, ".csv") as path:
            request = stores.LogRequest(
                file=path,
                store=name,
                zone=desk.typed.get("zone", "").strip() or None,
                answers=answers_typed(desk.typed),
                dry_run=dry_run,
            )
            return stores.store_answer(stores.record_log(office, request))

    return _done(desk, name, "log", recorded, dry_run=dry_run, sha256=hashlib.sha256(data).hexdigest())


def _done(desk: Desk, name: str, operation: str, act: Any, *, dry_run: bool, **more: str) -> Response:
    """Do it once and show what came of it; what is wrong is told on the same page, with what was typed."""
    words = {"store": name, **{key: value for key, value in desk.typed.items() if not key.startswith("_")}, **more}
    try:
        if dry_run:
            with desk.looking() as office:
                told = act(office)
            return _page(desk, name, told=told)
        desk.record(operation, words, act)
    except FindholdError as error:
        return _page(desk, name, status=status_of(error), trouble=error.as_dict(), asked_of=operation)
    answer = desk.go(f"/stores/{quote(name, safe='')}", told=desk.typed.get("_key"))
    answer.headers["location"] += "#told-head"
    return answer


def _page(desk: Desk, name: str, *, status: int = 200, days: int = DAYS[1], **words: Any) -> Response:
    with desk.looking() as office:
        seen = store_seen(office, name)
        readings = store_readings(office, name, days)
    told = {"told": None, "asked_of": "", **words}
    front = _front(desk, seen)
    return desk.page("store.html", status=status, store=seen, front=front, readings=readings, lengths=DAYS, **told)


def _answer(office: Office, name: str, key: str) -> dict[str, Any] | None:
    """What was recorded under a key, when that is about this store."""
    kept = answer_of(office, key)
    if kept is None or kept["operation"] not in HAPPENED:
        raise UnknownName("receipt", key[:60], [])
    told: dict[str, Any] = kept["answer"]
    return told if str(told.get("store", "")).casefold() == name.casefold() else None


def _front(desk: Desk, seen: StoreSeen) -> str | None:
    """The front of a store with a link on each box."""
    if seen.picture is None:
        return None
    boxes = {f"{box.site}/{box.number}": box for box in seen.boxes}
    links = []
    for spot in seen.picture.spots:
        box = boxes[spot.key]
        links.append(
            Over(
                href=desk.link(f"/finds/{quote(box.number, safe='')}", site=box.site),
                words=f"find {box.number}, {box.what or 'no name'}: {box.left_words}, {box.word}",
                left_mm=spot.left_mm,
                top_mm=spot.top_mm,
                width_mm=spot.width_mm,
                height_mm=spot.height_mm,
            )
        )
    return with_links(seen.picture.svg, links)
