"""Stores: what happened to one, where a box can go, moving it, and the drill for a store that failed."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, File, Form, Query, Response, UploadFile
from pydantic import Field

from findhold.api.desk import Signed
from findhold.api.papers import PDF_ANSWER, Site
from findhold.api.words import Answer, Members, Moment, Number, Short, Words, answers_of
from findhold.service import stores
from findhold.service.files_out import brought
from findhold.service.office import Office
from findhold.service.requests import failure_request, moment_typed
from findhold.service.store_boxes import Ensemble
from findhold.service.storekeeping import drill as drills
from findhold.service.storekeeping import drill_sheet, moving, suggesting
from findhold.service.wire import plain

router = APIRouter(tags=["stores"])
Told = stores.StoreTold


class FailureAsked(Words):
    """A store that was off: from when, to when (null while it still is), and the room it stood in."""

    begins: Moment = Field(description="2026-07-31T20:00+01:00")
    ends: Moment | None = None
    room_c: float = Field(ge=-60, le=80, description="Temperature of the room [°C].")
    site: str | None = Field(default=None, max_length=16)
    dry_run: bool = False


class TakeBackAsked(Words):
    """A failure recorded for the wrong store or time, by its beginning."""

    begins: Moment
    reason: str = Field(min_length=1, max_length=2000)
    site: str | None = Field(default=None, max_length=16)


class MoveAsked(Words):
    """Where a box goes; a rule is let pass by the person who signed in, with a reason."""

    to: Short = Field(description="The store.")
    shelf: Short = ""
    spot: Short = Field(default="", description='A name, or "LEFT,FRONT" in mm, with T behind it when turned.')
    at: Moment | None = Field(default=None, description="When it was moved; null is now.")
    overrides: tuple[Short, ...] = Field(default=(), max_length=20, strict=False)
    reason: Short = ""
    members: Members = 1000
    site: str | None = Field(default=None, max_length=16)
    dry_run: bool = False


class DrillAsked(Words):
    """A store that failed; begins and room_c null take the failure that is recorded as still open."""

    begins: Moment | None = None
    room_c: float | None = Field(default=None, ge=-60, le=80, description="Temperature of the room [°C].")
    site: str | None = Field(default=None, max_length=16)
    members: Members = 1000
    record: bool = Field(default=False, description="Record the failure; moves are recorded one by one.")


@dataclass(frozen=True, slots=True, kw_only=True)
class LogAsked:
    """What is said beside a logger's file."""

    zone: str | None
    answers: dict[str, str]
    site: str | None
    dry_run: bool


@router.post("/stores/{store}/failures")
def failure(store: str, words: FailureAsked, desk: Signed) -> Answer:
    """Record a failure; every box of the store is forecast again; as `findhold import --failure --json`."""
    request = failure_request(
        store,
        words.begins,
        words.ends,
        words.room_c,
        dry_run=words.dry_run,
        ensemble=Ensemble(site=words.site),
    )

    def recorded(office: Office) -> Answer:
        return stores.store_answer(stores.record_failure(office, request))

    if words.dry_run:
        return desk.look(recorded)
    return desk.record("failure", {"store": store, **words.model_dump()}, recorded)


@router.post("/stores/{store}/failures/take-back")
def take_back(store: str, words: TakeBackAsked, desk: Signed) -> Answer:
    """Take a failure back, with the reason; as `findhold import --failure --take-back --json`."""
    ensemble = Ensemble(site=words.site)
    begins = failure_request(store, words.begins, None, 0.0, dry_run=False, ensemble=ensemble).begins
    request = stores.TakeBack(store=store, reason=words.reason, begins=begins, ensemble=ensemble)
    return desk.record(
        "take back a failure",
        {"store": store, **words.model_dump()},
        lambda office: stores.store_answer(stores.take_back(office, request)),
    )


def log_asked(
    zone: Annotated[
        str | None, Form(max_length=64, description="The logger's clock, if its file does not say.")
    ] = None,
    answers: Annotated[str, Form(max_length=10_000, description="Answers to its questions, as a JSON object.")] = "{}",
    site: Annotated[str | None, Form(max_length=16)] = None,
    dry_run: Annotated[bool, Form()] = False,
) -> LogAsked:
    """The words that come beside a logger's file."""
    return LogAsked(zone=zone, answers=answers_of(answers), site=site, dry_run=dry_run)


@router.post("/stores/{store}/logs")
def log(
    store: str,
    desk: Signed,
    file: Annotated[UploadFile, File(description="The logger's CSV.")],
    asked: Annotated[LogAsked, Depends(log_asked)],
) -> Answer:
    """Read a store's logger; every box of the store is forecast again; as `findhold import --logger --json`."""
    data = file.file.read()
    words = {"store": store, "sha256": hashlib.sha256(data).hexdigest(), **plain(asked)}

    def recorded(office: Office) -> Answer:
        with brought(data, ".csv") as path:
            request = stores.LogRequest(
                file=path,
                store=store,
                zone=asked.zone,
                answers=asked.answers,
                dry_run=asked.dry_run,
                ensemble=Ensemble(site=asked.site),
            )
            told = stores.store_answer(stores.record_log(office, request))
        return {**told, "log": {**told["log"], "file": "logger.csv"}} if told.get("log") else told

    return desk.look(recorded) if asked.dry_run else desk.record("log", words, recorded)


@router.get("/finds/{number}/places")
def places(number: str, desk: Signed, site: Site = None) -> Answer:
    """Where a box can go, best first, and where it may not; as `findhold move FIND --json`."""
    request = suggesting.SuggestRequest(find=number, site=site)
    return desk.look(lambda office: suggesting.suggested_shape(suggesting.suggest(office, request)))


@router.post("/finds/{number}/move")
def move(number: Number, words: MoveAsked, desk: Signed) -> Answer:
    """Move a box, or say what forbids it (`allowed` false, nothing recorded); as `findhold move FIND --to --json`."""
    asked = words.model_dump(exclude={"at"})
    request = moving.MoveRequest(find=number, person=desk.visit.person, at=moment_typed(words.at, "at"), **asked)

    def moved(office: Office) -> Answer:
        return moving.moved_shape(moving.move(office, request))

    return desk.look(moved) if words.dry_run else desk.record("move", {"find": number, **words.model_dump()}, moved)


@router.post("/stores/{store}/drill")
def drill(store: str, words: DrillAsked, desk: Signed) -> Answer:
    """A place for every box of a store that failed, worst first; as `findhold move --off STORE --json`."""
    request = _drill_request(store, words)

    def told(office: Office) -> Answer:
        return drills.drill_shape(drills.drill(office, request))

    return desk.record("drill", {"store": store, **words.model_dump()}, told) if words.record else desk.look(told)


@router.get("/stores/{store}/drill.pdf", response_class=Response, responses=PDF_ANSWER)
def drill_pdf(
    store: str,
    desk: Signed,
    begins: Annotated[str | None, Query(max_length=64)] = None,
    room_c: Annotated[float | None, Query(ge=-60, le=80)] = None,
    site: Site = None,
) -> Response:
    """The sheet to carry when a store failed; nothing is recorded."""
    request = _drill_request(store, DrillAsked(begins=begins, room_c=room_c, site=site))
    with desk.doorway.reading(desk.visit.person) as office:
        made = drill_sheet.drill_sheet_file(office, drills.drill(office, request))
    return Response(made.data, media_type=made.media_type)


def _drill_request(store: str, words: DrillAsked) -> drills.DrillRequest:
    ensemble = Ensemble(site=words.site, members=words.members)
    begins = moment_typed(words.begins, "begins")
    return drills.DrillRequest(store=store, since=begins, room_c=words.room_c, record=words.record, ensemble=ensemble)
