"""Round: one visit to a cold store; scan or type a box, weigh it, look, and read the answer."""

from __future__ import annotations

import hashlib
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter
from starlette.responses import Response

from findhold.errors import BadInput, FindholdError
from findhold.service import once
from findhold.service.bench import answer_words, checks, codes, rounds
from findhold.service.office import Office
from findhold.web.desk import Desk, Signed, refusal
from findhold.web.navigation import Nav

NAV = Nav(word="Round", path="/round", order=40)
router = APIRouter()


@router.get("/round")
def choose_store(desk: Signed) -> Response:
    """The stores, the one with most to do first."""
    with desk.looking() as office:
        stores = rounds.stores_to_round(office, desk.site(office))
    return desk.page("round_stores.html", stores=stores)


@router.get("/round/{store}")
def round_page(store: str, desk: Signed, box: str = "", done: str = "") -> Response:
    """The boxes of a store; one of them to check, or the answer to the check just made."""
    with desk.looking() as office:
        words = _shown(office, desk, store)
        if done:
            words["answer"] = _answer(office, done)
        elif box:
            try:
                words["chosen"] = _chosen(office, desk, box, words["round"].boxes)
            except FindholdError as error:
                return refusal(desk, error, "round.html", **words)
    return desk.page("round.html", **words)


@router.post("/round/{store}/find")
def find_box(store: str, desk: Signed) -> Response:
    """A box by what was scanned or typed, or by a photograph of its label."""
    picture = desk.files.get("picture")
    data = picture.file.read() if picture is not None else b""
    with desk.looking() as office:
        try:
            site = desk.site(office)
            found = codes.read_picture(office, data, site) if data else _typed(office, desk, site)
            if not isinstance(found, codes.BoxCode):
                return desk.go(f"/round/{quote(found.store, safe='')}")
        except FindholdError as error:
            return refusal(desk, error, "round.html", **_shown(office, desk, store))
    return desk.go(f"/round/{quote(store, safe='')}", box=found.box_id)


@router.post("/round/{store}/check")
def check(store: str, desk: Signed) -> Response:
    """Record a check and lead to its answer, so that reloading it sends nothing again."""
    request = check_request(desk)
    words = {name: value for name, value in desk.typed.items() if name != "_key"}
    words |= {"photo": hashlib.sha256(request.photo or b"").hexdigest()}
    try:
        if desk.typed.get("sure") != mass_typed(desk):
            with desk.looking() as office:
                question = checks.check_question(office, request)
                if question is not None:
                    shown = _shown(office, desk, store)
                    shown["chosen"] = _chosen(office, desk, request.box, shown["round"].boxes)
                    shown |= {"question": question, "sure": mass_typed(desk)}
                    return desk.page("round.html", status=422, **shown)
        desk.record("check", words, lambda office: checks.check_box(office, request))
    except FindholdError as error:
        error = sent_already(error)
        with desk.looking() as office:
            shown = _shown(office, desk, store)
            shown["chosen"] = _chosen(office, desk, request.box, shown["round"].boxes)
        return refusal(desk, error, "round.html", **shown)
    return desk.go(f"/round/{quote(store, safe='')}", done=desk.typed.get("_key"))


def sent_already(error: FindholdError) -> FindholdError:
    """A form that was sent and changed and sent again, in words for people; any other error as it is."""
    if not isinstance(error, once.KeyUsedError):
        return error
    return BadInput(
        "this form was sent already, and what it said then is recorded",
        do="If this is another thing done, send it once more: the form is fresh now",
    )


def check_request(desk: Desk) -> checks.CheckRequest:
    """A check as typed into the form."""
    typed, picture = desk.typed, desk.files.get("photo")
    return checks.CheckRequest(
        box=typed.get("box", ""),
        mass=mass_typed(desk),
        why=typed.get("why", ""),
        look=typed.get("look", ""),
        wiped={"yes": True, "no": False}.get(typed.get("wiped", "")),
        opened=typed.get("opened") == "yes",
        water_g=_grams(typed.get("water_g", "")),
        note=typed.get("note", ""),
        photo=picture.file.read() if picture is not None else None,
        keep_details=typed.get("keep_details") == "yes",
    )


def mass_typed(desk: Desk) -> str:
    """The mass of a form with its unit: the one typed with it, else the one chosen beside it; "" for no mass."""
    mass = desk.typed.get("mass", "").strip()
    return mass if not mass or any(letter.isalpha() for letter in mass) else f"{mass} {desk.typed.get('unit', 'kg')}"


def _grams(text: str) -> float:
    try:
        return float(text.replace(",", ".") or 0)
    except ValueError as error:
        raise BadInput(
            f"{text!r} is no figure",
            where="water added",
            limit="grams",
            do="Type the grams of water, or leave it empty",
        ) from error


def _typed(office: Office, desk: Desk, site: str) -> codes.BoxCode | codes.PlaceCode:
    return codes.read_code(office, desk.typed.get("box", ""), site)


def _shown(office: Office, desk: Desk, store: str) -> dict[str, Any]:
    told = rounds.round_list(office, store, desk.site(office))
    return {
        "round": told,
        "due_words": {box.box_id: rounds.due_words(box, told.zone) for box in told.boxes},
        "states": rounds.STATES,
        "looks": answer_words.look_choices(),
        "question": None,
        "sure": "",
        "chosen": None,
        "answer": None,
    }


def _chosen(office: Office, desk: Desk, text: str, boxes: tuple[rounds.RoundBox, ...]) -> rounds.RoundBox:
    hold = codes.hold_of_code(office, text, desk.site(office))
    here = [box for box in boxes if box.box_id == hold.facts["box_id"]]
    return here[0] if here else rounds.box_of(office, hold)


def _answer(office: Office, key: str) -> dict[str, Any] | None:
    found = once.answer_of(office, key)
    return None if found is None or found["operation"] != "check" else found["answer"]
