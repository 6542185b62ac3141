"""Weighing a box, or looking at it alone."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter
from pydantic import Field

from findhold.api.desk import Signed
from findhold.api.words import Answer, Members, Moment, Words
from findhold.service import weighing

router = APIRouter(tags=["checks"])


class WeighWords(Words):
    """One weighing, in the words of `findhold weigh`."""

    box: str = Field(min_length=1, max_length=64, description="Identity on the label, B1 for box 1, or the find's no.")
    mass: str = Field(
        default="", max_length=64, description="As the balance shows it: '13.04 kg', '13040 g'; left out: a look alone."
    )
    at: Moment | None = Field(default=None, description="When, if not now; with its offset.")
    balance_g: float | None = Field(default=None, gt=0, le=10_000, description="Last digit of the balance [g].")
    wiped: bool | None = Field(default=None, description="Whether the box was cold and wiped dry.")
    opened: bool = Field(default=False, description="The lid was opened or refitted since the last weighing.")
    water_g: float = Field(default=0.0, ge=0, le=100_000, description="Water put in since then [g].")
    look: Literal["", "dry", "right", "dripping", "mould"] = Field(
        default="", description="What is seen; left out: nobody looked, and what was seen amiss before stands."
    )
    note: str = Field(default="", max_length=2000, description="Anything else, recorded with it.")
    why: str = Field(default="", max_length=400, description="Why a first mass far from the plan is right.")
    site: str | None = Field(default=None, max_length=16)
    members: Members = 1000


@router.post("/weighings")
def weigh(words: WeighWords, desk: Signed) -> Answer:
    """Record a weighing, or a look alone: verdict, what to do, next check, new dates; as `findhold weigh --json`."""
    typed = words.model_dump()
    request = weighing.WeighRequest(**typed)
    return desk.record("weigh", typed, lambda office: weighing.weigh(office, request).shape)
