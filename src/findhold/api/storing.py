"""What happened to a store: its logger's file, a failure typed by hand, and taking either back."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, File, Form, UploadFile
from pydantic import Field

from findhold.api.desk import Signed
from findhold.api.words import Answer, Moment, Words, answers_of
from findhold.service import stores
from findhold.service.files_out import brought
from findhold.service.office import Office
from findhold.service.requests import failure_request
from findhold.service.store_boxes import Ensemble
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
