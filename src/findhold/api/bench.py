"""At the bench and the fridge door: rounds with what a device needs by itself, checks, steps, photographs, shelves."""

from __future__ import annotations

import hashlib
from typing import Annotated, Any, Literal

from fastapi import APIRouter, File, Form, Header, Query, UploadFile
from pydantic import Field, ValidationError

from findhold.api.desk import Desk, Signed
from findhold.api.words import Answer, Members, Moment, Number, Short, Words
from findhold.errors import BadInput
from findhold.service.bench import answer_words, checks, closing, codes, packing, photos, rounds, shelving, trying
from findhold.service.bench.clock import DeviceClock, moment
from findhold.service.office import Office
from findhold.service.signing import RefusedError
from findhold.service.wire import plain

router = APIRouter(prefix="/bench", tags=["bench"])
Site = Annotated[str | None, Query(max_length=16, description="The site, when the ledger holds several.")]
Clock = Annotated[
    str,
    Header(
        alias="X-Findhold-Clock",
        max_length=64,
        description="The device's clock at sending, with its offset: how far it is ahead is put right and recorded.",
    ),
]


class DoneWords(Words):
    """What everything done on a device says of itself: when by its clock, on which device, by whom."""

    at: Moment | None = Field(default=None, description="When it was done, by the device's clock; None: now, here.")
    device: str = Field(default="", max_length=64, description="The device's own name.")
    person: str | None = Field(default=None, max_length=200, description="Who did it; must be who is signed in.")
    site: str | None = Field(default=None, max_length=16)

    def clock(self, now_at: str) -> DeviceClock | None:
        """The device's clock; None when the thing is done here and now."""
        return None if self.at is None else DeviceClock(seen_at=self.at, now_at=now_at, device=self.device)


class CheckWords(DoneWords):
    """One check of one box."""

    box: str = Field(min_length=1, max_length=2000, description="Any code of the box, or its speaking text.")
    mass: str = Field(default="", max_length=64, description="Left out: it was looked at and not weighed.")
    look: Literal["dry", "right", "dripping", "mould"]
    wiped: bool | None = None
    opened: bool = False
    water_g: float = Field(default=0.0, ge=0, le=100_000)
    note: str = Field(default="", max_length=2000)
    why: str = Field(default="", max_length=400, description="Why a first mass far from the plan is right.")
    members: Members = 1000


class PhotoWords(DoneWords):
    """What a photograph is of."""

    box: str = Field(min_length=1, max_length=2000, description="Any code of the box.")
    about: str = Field(default="packing", min_length=1, max_length=200)
    note: str = Field(default="", max_length=2000)
    keep_details: bool = Field(default=False, description="Keep camera, time and position inside it.")


class TickWords(DoneWords):
    """A step done."""

    step: str = Field(min_length=1, max_length=64, description="The step's code.")
    tick: str | None = Field(default=None, max_length=64, description="The tick's own UUID.")
    mass: str = Field(default="", max_length=64, description="The empty box, in the step that asks for it.")
    note: str = Field(default="", max_length=2000)


class UndoWords(DoneWords):
    """A tick taken back."""

    tick: str = Field(min_length=1, max_length=64)


class CloseWords(DoneWords):
    """The packed box on the balance."""

    mass: str = Field(min_length=1, max_length=64)
    closed: bool = Field(default=True, description="The lid was closed just now: the wait counts from here.")
    reason: str = Field(default="", max_length=400, description="Why, when a packing date is stated or recorded.")
    wiped: bool | None = True
    note: str = Field(default="", max_length=2000)
    why: str = Field(default="", max_length=400, description="Why a first mass far from the plan is right.")
    members: Members = 1000


class PackedWords(DoneWords):
    """A packing date put right; `at` is when that was done, `packed` the date."""

    packed: str = Field(min_length=1, max_length=64, description="Day and time; the site's clock without an offset.")
    reason: str = Field(min_length=1, max_length=400)
    members: Members = 1000


class UnpackedWords(DoneWords):
    """The last packing date set at the bench taken back."""

    reason: str = Field(default="", max_length=400)
    members: Members = 1000


class ShelveWords(DoneWords):
    """A box put away."""

    place: str = Field(min_length=1, max_length=400, description="The store's code as scanned, or its name.")
    shelf: str = Field(default="", max_length=40)
    scanned: bool = False
    members: Members = 1000


class CodeWords(Words):
    """A text that was scanned or typed."""

    text: str = Field(min_length=1, max_length=2000)
    site: str | None = Field(default=None, max_length=16)


class TryWords(Words):
    """What is tried, as typed; "" leaves what is recorded."""

    length_mm: Short = ""
    width_mm: Short = ""
    height_mm: Short = ""
    mass_kg: Short = ""
    sheets: Short = ""
    wrapping: Short = ""
    barrier: Short = ""
    analyses: tuple[Short, ...] | None = Field(default=None, max_length=40, strict=False)
    site: str | None = Field(default=None, max_length=16)
    members: Members = 1000

    def request(self, number: str) -> trying.TryRequest:
        """The request to the service."""
        return trying.TryRequest(find=number, **self.model_dump())


@router.get("/visit")
def visit(desk: Signed) -> Answer:
    """Who is signed in, and the token that everything that writes must carry; for pages kept by a device."""
    return {
        "person": desk.visit.person,
        "token": desk.doorway.token(desk.visit),
        "now": plain(desk.doorway.now()),
    }


@router.get("/rounds")
def stores(desk: Signed, site: Site = None) -> Answer:
    """The stores to make a round of, the one with most to do first."""
    return desk.look(lambda office: {"stores": plain(rounds.stores_to_round(office, site))})


@router.get("/rounds/{store}")
def round_of(store: str, desk: Signed, site: Site = None) -> Answer:
    """The boxes of a store, soonest due first, and the words of every answer; for a device to keep."""

    def told(office: Office) -> Answer:
        return {**plain(rounds.round_list(office, store, site)), "words": answer_words.answer_words(office)}

    return desk.look(told)


@router.get("/kits")
def kits(
    desk: Signed,
    box: Annotated[list[str] | None, Query(max_length=rounds.KITS_AT_ONCE, description="Box identities.")] = None,
    site: Site = None,
) -> Answer:
    """Thresholds by day for some boxes: a device that has them answers a weighing as the service would."""

    def told(office: Office) -> Answer:
        made = rounds.round_kits(office, site, tuple(box or ()))
        return {"kits": {name: {"seq": seq, **plain(kit)} for name, (seq, kit) in made.items()}}

    return desk.look(told)


@router.post("/checks")
def check(words: CheckWords, desk: Signed, x_clock: Clock = "") -> Answer:
    """Record a check of a box: right, watch or act; as `findhold weigh --json` says it."""
    _own(words, desk)
    request = checks.CheckRequest(
        **words.model_dump(exclude={"at", "device", "person"}),
        clock=words.clock(x_clock),
    )
    return desk.record("check", words.model_dump(), lambda office: checks.check_box(office, request))


@router.post("/codes")
def code(words: CodeWords, desk: Signed) -> Answer:
    """What a scanned or typed text means: a box or a store."""
    return desk.look(lambda office: _meant(codes.read_code(office, words.text, words.site)))


@router.post("/codes/picture")
def code_picture(
    desk: Signed,
    picture: Annotated[UploadFile, File(description="A photograph of a label or a store's code; not kept.")],
    site: Annotated[str | None, Form(max_length=16)] = None,
) -> Answer:
    """What the code in a photograph means."""
    data = picture.file.read()
    return desk.look(lambda office: _meant(codes.read_picture(office, data, site)))


@router.post("/photos")
def photo(
    desk: Signed,
    picture: Annotated[UploadFile, File(description="JPEG, PNG, WebP or TIFF; made anew here.")],
    words: Annotated[str, Form(max_length=8000, description="PhotoWords as JSON: box, about, note, at, person ...")],
    x_clock: Clock = "",
) -> Answer:
    """Keep a photograph with a box; where it was taken stays out of it unless keep_details is true."""
    said = _photo_words(words)
    _own(said, desk)
    data = picture.file.read()

    def kept(office: Office) -> Answer:
        hold = codes.hold_of_code(office, said.box, said.site)
        asked = photos.PhotoRequest(
            data=data,
            about=said.about,
            note=said.note,
            keep_details=said.keep_details,
            moment=moment(office, said.clock(x_clock)),
        )
        return {"box_id": hold.facts["box_id"], **photos.keep_on_hold(office, hold, asked)}

    return desk.record("photo", {**said.model_dump(), "sha256": hashlib.sha256(data).hexdigest()}, kept)


@router.get("/packs")
def packs(desk: Signed, site: Site = None) -> Answer:
    """Finds at the bench, begun ones first."""
    return desk.look(lambda office: {"finds": plain(packing.pack_list(office, site))})


@router.get("/packs/{number}")
def pack(number: str, desk: Signed, site: Site = None) -> Answer:
    """A find at the bench: plan, steps, who ticked what and when."""
    return desk.look(lambda office: packing.view_answer(packing.pack_view(office, number, site)))


@router.post("/packs/{number}/ticks")
def tick(number: Number, words: TickWords, desk: Signed, x_clock: Clock = "") -> Answer:
    """Tick a step as done; two people may both tick it."""
    _own(words, desk)
    request = packing.TickRequest(
        find=number, **words.model_dump(exclude={"at", "device", "person"}), clock=words.clock(x_clock)
    )
    return _recorded(desk, "tick", number, words, lambda office: packing.tick_step(office, request))


@router.post("/packs/{number}/undo")
def undo(number: Number, words: UndoWords, desk: Signed, x_clock: Clock = "") -> Answer:
    """Take a tick back, as an event of its own."""
    _own(words, desk)
    request = packing.UndoRequest(find=number, tick=words.tick, site=words.site, clock=words.clock(x_clock))
    return _recorded(desk, "undo", number, words, lambda office: packing.undo_step(office, request))


@router.post("/packs/{number}/weigh")
def close(number: Number, words: CloseWords, desk: Signed, x_clock: Clock = "") -> Answer:
    """Close the lid and weigh: the wait counts from there."""
    _own(words, desk)
    request = closing.CloseRequest(
        find=number, **words.model_dump(exclude={"at", "device", "person"}), clock=words.clock(x_clock)
    )
    return _recorded(desk, "close", number, words, lambda office: closing.close_and_weigh(office, request))


@router.post("/packs/{number}/packed")
def packed(number: Number, words: PackedWords, desk: Signed, x_clock: Clock = "") -> Answer:
    """Put the packing date right, with the reason; the box is forecast from there."""
    _own(words, desk)
    request = closing.PackedRequest(
        find=number,
        at=words.packed,
        clock=words.clock(x_clock),
        **words.model_dump(include={"reason", "site", "members"}),
    )
    return _recorded(desk, "packed", number, words, lambda office: closing.correct_packed(office, request))


@router.post("/packs/{number}/packed/undo")
def unpacked(number: Number, words: UnpackedWords, desk: Signed, x_clock: Clock = "") -> Answer:
    """Take the last packing date set at the bench back; the one before it holds again."""
    _own(words, desk)
    request = closing.UnpackedRequest(
        find=number, clock=words.clock(x_clock), **words.model_dump(include={"reason", "site", "members"})
    )
    return _recorded(desk, "packed undone", number, words, lambda office: closing.undo_packed(office, request))


@router.post("/packs/{number}/shelve")
def shelve(number: Number, words: ShelveWords, desk: Signed, x_clock: Clock = "") -> Answer:
    """Put a box into a store; another one than the register has is forecast anew."""
    _own(words, desk)
    request = shelving.ShelveRequest(
        find=number, **words.model_dump(exclude={"at", "device", "person"}), clock=words.clock(x_clock)
    )
    return _recorded(desk, "shelve", number, words, lambda office: shelving.shelve(office, request))


@router.post("/packs/{number}/try")
def try_it(number: Number, words: TryWords, desk: Signed) -> Answer:
    """Box, bed, dose and contacts as they would be; nothing is recorded."""
    return desk.look(lambda office: plain(trying.try_plan(office, words.request(number))))


@router.post("/packs/{number}/plan")
def save(number: Number, words: TryWords, desk: Signed) -> Answer:
    """Record what was tried, and plan and forecast the box for it."""
    request = words.request(number)
    told = {"find": number, **words.model_dump()}
    return desk.record("save plan", told, lambda office: trying.save_plan(office, request))


def _recorded(desk: Desk, operation: str, number: str, words: DoneWords, act: Any) -> Answer:
    return desk.record(operation, {"find": number, **words.model_dump()}, act)


def _own(words: DoneWords, desk: Desk) -> None:
    """Refuse what another person did: it must be sent under their own name."""
    if words.person is not None and words.person != desk.visit.person:
        raise RefusedError(
            f"this was done by {words.person}, and {desk.visit.person} is signed in",
            where="person",
            do=f"Sign in as {words.person} to send it; it stays on the device until then",
        )


def _photo_words(text: str) -> PhotoWords:
    try:
        return PhotoWords.model_validate_json(text)
    except ValidationError as error:
        wrong = "; ".join(f"{'.'.join(map(str, item['loc'])) or 'words'}: {item['msg']}" for item in error.errors())
        do = 'Send a JSON object, for example {"box": "B1", "about": "mould at a check"}'
        raise BadInput("the words of the photograph cannot be read", where="words", limit=wrong, do=do) from error


def _meant(found: codes.BoxCode | codes.PlaceCode) -> Answer:
    kind = "box" if isinstance(found, codes.BoxCode) else "store"
    return {"kind": kind, **plain(found)}
