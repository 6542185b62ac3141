"""People, stores, boxes and materials: what changes from week to week."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import Field

from findhold.api.desk import Signed
from findhold.api.words import Answer, Short, Words
from findhold.service import changing
from findhold.service.office import Office
from findhold.service.wire import plain

router = APIRouter(tags=["settings"])


class ChangeWords(Words):
    """What is to stand in some fields of one thing, in the words of `findhold change`."""

    kind: Short = Field(description="person, store, box or material.")
    name: Short
    fields: dict[Short, Short] = Field(min_length=1, max_length=20, description='By field; "" empties one.')
    was: dict[Short, Short] = Field(
        default_factory=dict, max_length=20, description="What stood there when it was read."
    )
    reason: str = Field(default="", max_length=2000)


@router.get("/changes/{kind}/{name}")
def thing(kind: str, name: str, desk: Signed) -> Answer:
    """One thing: the fields that may be changed, its other facts, and its changes, newest first."""

    def told(office: Office) -> Answer:
        answer: Answer = plain(changing.thing_told(office, kind, name))
        return answer

    return desk.look(told)


@router.post("/changes")
def change(words: ChangeWords, desk: Signed) -> Answer:
    """Record what stands in some fields now, as one event; as `findhold change --json`."""
    request = changing.ChangeRequest(**words.model_dump())
    return desk.record("change", words.model_dump(), lambda office: changing.change_thing(office, request))
