"""Pack: a find at the bench, step by step; ticks, photographs, the first weighing, the shelf; what if, live."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Callable
from pathlib import PurePath
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter
from starlette.responses import Response

from findhold.errors import BadInput, FindholdError, Mistakes, UnknownName
from findhold.service.bench import answer_words, closing, codes, packing, photos, shelving, trying
from findhold.service.bench.clock import moment
from findhold.service.files_out import brought
from findhold.service.network import address_svg
from findhold.service.office import Office
from findhold.service.once import answer_of
from findhold.service.packing import measuring
from findhold.web.desk import Desk, Signed, handed_out, refusal
from findhold.web.navigation import Nav
from findhold.web.round import mass_typed, sent_already

NAV = Nav(word="Pack", path="/pack", order=30)
router = APIRouter()
TRIED = ("length_mm", "width_mm", "height_mm", "mass_kg", "sheets", "wrapping", "barrier")
SCANS = (".ply", ".obj", ".stl", ".glb")


@router.get("/pack")
def pack_list(desk: Signed) -> Response:
    """Finds at the bench: begun ones first."""
    with desk.looking() as office:
        rows = packing.pack_list(office, desk.site(office))
    return desk.page("pack_list.html", rows=rows)


@router.post("/pack")
def find_to_pack(desk: Signed) -> Response:
    """A find by its number, or by what was scanned."""
    with desk.looking() as office:
        try:
            number = _find_of(office, desk)
        except FindholdError as error:
            return refusal(desk, error, "pack_list.html", rows=packing.pack_list(office, desk.site(office)))
    return desk.go(f"/pack/{quote(number, safe='')}")


def _find_of(office: Office, desk: Desk) -> str:
    text = desk.typed.get("find", "")
    try:
        return packing.pack_view(office, text, desk.site(office)).number
    except FindholdError as error:
        try:
            found = codes.read_code(office, text, desk.site(office))
        except FindholdError:
            if isinstance(error, UnknownName) and not error.near:
                error.do = "Read the number again, or choose the find in the lists below or under Finds"
            raise error from None
        if isinstance(found, codes.BoxCode):
            return found.find
        raise


@router.get("/pack/store-codes")
def store_codes(desk: Signed) -> Response:
    """A code for each store, to print and stick on its door."""
    with desk.looking() as office:
        names = [store["name"] for store in codes.stores_to_choose(office)]
    return desk.page("store_codes.html", codes=[(name, address_svg(codes.place_text(name))) for name in names])


@router.get("/pack/{number}")
def pack_page(number: str, desk: Signed) -> Response:
    """One find: what to do, what is done, and what would be if it were measured otherwise."""
    with desk.looking() as office:
        words = _shown(office, desk, number)
        if desk.request.query_params.get("try"):
            try:
                words["tried"] = trying.try_plan(office, _try_request(desk, number, dict(desk.request.query_params)))
            except FindholdError as error:
                words["try_trouble"] = error.as_dict()
    part = desk.request.headers.get("x-findhold-part") == "try"
    return desk.page("pack_try.html" if part else "pack.html", **words)


@router.post("/pack/{number}/tick")
def tick(number: str, desk: Signed) -> Response:
    """Tick a step."""
    typed = desk.typed
    request = packing.TickRequest(
        find=number, step=typed.get("step", ""), tick=typed.get("_key"), mass=typed.get("mass", ""), site=_site(desk)
    )
    return _recorded(desk, number, "tick", lambda office: packing.tick_step(office, request), "step-" + request.step)


@router.post("/pack/{number}/undo")
def undo(number: str, desk: Signed) -> Response:
    """Take a tick back."""
    request = packing.UndoRequest(find=number, tick=desk.typed.get("tick", ""), site=_site(desk))
    return _recorded(desk, number, "undo", lambda office: packing.undo_step(office, request), "steps")


@router.post("/pack/{number}/weigh")
def weigh(number: str, desk: Signed) -> Response:
    """Close the lid and weigh."""
    typed = desk.typed
    request = closing.CloseRequest(
        find=number,
        mass=mass_typed(desk),
        why=typed.get("why", ""),
        closed=typed.get("closed") == "yes",
        reason=typed.get("reason", ""),
        site=_site(desk),
    )
    if typed.get("sure") != mass_typed(desk):
        with desk.looking() as office:
            shown = _shown(office, desk, number)
            try:
                question = closing.close_question(office, request)
            except FindholdError as error:
                return refusal(desk, error, "pack.html", **{**shown, "trouble_at": "weigh"})
            if question is not None:
                shown |= {"question": question, "sure": mass_typed(desk)}
                return desk.page("pack.html", status=422, **shown)
    return _recorded(desk, number, "close", lambda office: closing.close_and_weigh(office, request), "weigh")


@router.post("/pack/{number}/packed")
def packed(number: str, desk: Signed) -> Response:
    """Put the packing date right."""
    at, reason = desk.typed.get("at", ""), desk.typed.get("reason_packed", "")
    request = closing.PackedRequest(find=number, at=at, reason=reason, site=_site(desk))
    return _recorded(desk, number, "packed", lambda office: closing.correct_packed(office, request), "packed")


@router.post("/pack/{number}/packed/undo")
def unpacked(number: str, desk: Signed) -> Response:
    """Take the last packing date back."""
    request = closing.UnpackedRequest(find=number, site=_site(desk))
    return _recorded(desk, number, "packed undone", lambda office: closing.undo_packed(office, request), "packed")


@router.post("/pack/{number}/shelve")
def shelve(number: str, desk: Signed) -> Response:
    """Put the box away."""
    scanned = desk.typed.get("scanned", "").strip()
    request = shelving.ShelveRequest(
        find=number,
        place=scanned or desk.typed.get("store", ""),
        shelf=desk.typed.get("shelf", ""),
        scanned=bool(scanned),
        site=_site(desk),
    )
    answer = _recorded(desk, number, "shelve", lambda office: shelving.shelve(office, request), "shelve")
    back = desk.typed.get("back", "")
    if back and answer.status_code < 400:
        return desk.go(f"/round/{quote(back, safe='')}")
    return answer


@router.post("/pack/{number}/photo")
def photo(number: str, desk: Signed) -> Response:
    """Keep a photograph."""
    picture = desk.files.get("picture")
    data = picture.file.read() if picture is not None else b""

    def kept(office: Office) -> dict[str, Any]:
        if not data:
            raise BadInput("no photograph was chosen", where="photograph", do="Take or choose one")
        hold = packing.bench_hold(office, number, _site(desk))
        asked = photos.PhotoRequest(
            data=data,
            about=desk.typed.get("about") or "packing",
            moment=moment(office, None),
            note=desk.typed.get("note", ""),
            keep_details=desk.typed.get("keep_details") == "yes",
        )
        return photos.keep_on_hold(office, hold, asked)

    return _recorded(desk, number, "photo", kept, "photos", sha256=hashlib.sha256(data).hexdigest())


@router.post("/pack/{number}/plan")
def save(number: str, desk: Signed) -> Response:
    """Record what was tried, and plan the box for it."""
    request = _try_request(desk, number, dict(desk.typed))
    return _recorded(desk, number, "save plan", lambda office: trying.save_plan(office, request), "plan")


@router.post("/pack/{number}/scan")
def scan(number: str, desk: Signed) -> Response:
    """Measure the find from a scan; a question about its unit or which way is up is asked on the same page."""
    file = desk.files.get("scan")
    data = file.file.read() if file is not None else b""
    ending = PurePath(file.filename or "").suffix.lower() if file is not None else ""

    def measured(office: Office) -> dict[str, Any]:
        if not data or ending not in SCANS:
            limit = ", ".join(SCANS)
            raise BadInput("no scan was chosen", where="scan", limit=limit, do="Choose the file of the scan")
        with brought(data, ending, "scan") as path:
            asked = measuring.MeasureRequest(
                find=number,
                site=_site(desk),
                scan=path,
                units=desk.typed.get("units") or None,
                up=desk.typed.get("up") or None,
            )
            return measuring.measure(office, asked).shape

    return _recorded(desk, number, "scan", measured, "plan", sha256=hashlib.sha256(data).hexdigest())


@router.get("/pack/{number}/photos/{sha256}")
def photo_file(number: str, sha256: str, desk: Signed) -> Response:
    """A photograph kept with the find's box."""
    with desk.looking() as office:
        hold = packing.bench_hold(office, number, _site(desk))
        return handed_out(photos.photo_file(office, hold, sha256))


def _site(desk: Desk) -> str | None:
    return desk.request.query_params.get("site")


def _recorded(
    desk: Desk, number: str, operation: str, act: Callable[[Office], dict[str, Any]], place: str, **more: str
) -> Response:
    """Do what writes, and lead back to its place on the page; what is wrong is told on the page as it was typed."""
    words = {name: value for name, value in desk.typed.items() if name != "_key"}
    try:
        desk.record(operation, {"find": number, **words, **more}, act)
    except FindholdError as error:
        with desk.looking() as office:
            shown = _shown(office, desk, number)
        shown |= {"asked": error.questions if isinstance(error, Mistakes) else (), "trouble_at": place}
        return refusal(desk, sent_already(error), "pack.html", **shown)
    told = "weighed" if operation == "close" else "planned" if operation == "save plan" else None
    answer = desk.go(f"/pack/{quote(number, safe='')}", done=desk.typed.get("_key") if told else None)
    answer.headers["location"] += f"#{place}"
    return answer


def _try_request(desk: Desk, number: str, typed: dict[str, str]) -> trying.TryRequest:
    chosen = [name.removeprefix("analysis-") for name in typed if name.startswith("analysis-")]
    return trying.TryRequest(
        find=number,
        site=_site(desk),
        analyses=tuple(chosen) if "with_analyses" in typed else None,
        **{name: typed.get(name, "") for name in TRIED},  # type: ignore[arg-type]  # texts by name
    )


def _shown(office: Office, desk: Desk, number: str) -> dict[str, Any]:
    view = packing.pack_view(office, number, desk.site(office))
    key = desk.request.query_params.get("done")
    return {
        "view": view,
        "shares": answer_words.mass_shares(),
        "packed_known": packing.packed_known(view.hold or {}),
        "stores": codes.stores_to_choose(office),
        "choices": trying.choices_to_try(),
        "new_key": uuid.uuid4,
        "tried": None,
        "try_trouble": None,
        "asked": (),
        "question": None,
        "trouble_at": "",
        "sure": "",
        "receipt": answer_of(office, key) if key else None,
    }
