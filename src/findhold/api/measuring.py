"""Measure a find: by tape, or from a scan that is brought."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, UploadFile
from pydantic import Field

from findhold.api.desk import Signed
from findhold.api.words import Answer, Number, Short, Words, answers_of
from findhold.errors import BadInput
from findhold.service.files_out import brought
from findhold.service.office import Office
from findhold.service.packing import measuring
from findhold.service.wire import plain

router = APIRouter(prefix="/finds/{number}", tags=["measure"])
SCANS = (".ply", ".obj", ".stl", ".glb")


class TapeAsked(Words):
    """Sizes by tape, in the words of `findhold measure`."""

    size: Short | None = Field(default=None, description="Length, width, height in mm: 230x210x140.")
    profile: str | None = Field(default=None, max_length=4000, description="'0:180x160 60:230x210 140:150x140'.")
    section: Literal["ellipse", "rectangle"] | None = None
    mass: Short | None = Field(default=None, description="As lifted: '12.2 kg'.")
    soil: Short | None = None
    note: str = Field(default="", max_length=2000)
    answers: dict[Short, Short] = Field(default_factory=dict, max_length=40, description="To questions asked before.")
    site: str | None = Field(default=None, max_length=16)
    dry_run: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanAsked:
    """What is said beside a scan."""

    units: str | None
    up: str | None
    mass: str | None
    answers: dict[str, str]
    site: str | None
    dry_run: bool


@router.post("/measures")
def tape(number: Number, words: TapeAsked, desk: Signed) -> Answer:
    """Record sizes by tape; as `findhold measure --json`."""
    typed = words.model_dump()
    del typed["dry_run"]
    request = measuring.MeasureRequest(find=number, **typed, record=not words.dry_run)

    def measured(office: Office) -> Answer:
        return measuring.measure(office, request).shape

    if words.dry_run:
        return desk.look(measured)
    return desk.record("measure", {"find": number, **words.model_dump()}, measured)


def scan_asked(
    units: Annotated[Literal["mm", "cm", "m", "in"] | None, Form(description="Unit of the scan.")] = None,
    up: Annotated[Literal["z", "y", "x", "-z", "-y", "-x"] | None, Form(description="Axis that points up.")] = None,
    mass: Annotated[str | None, Form(max_length=64)] = None,
    answers: Annotated[str, Form(max_length=10_000, description="Answers to its questions, as a JSON object.")] = "{}",
    site: Annotated[str | None, Form(max_length=16)] = None,
    dry_run: Annotated[bool, Form()] = False,
) -> ScanAsked:
    """The words that come beside a scan."""
    return ScanAsked(units=units, up=up, mass=mass, answers=answers_of(answers), site=site, dry_run=dry_run)


@router.post("/scans")
def scan(
    number: Number,
    desk: Signed,
    file: Annotated[UploadFile, File(description="PLY, OBJ, STL or GLB.")],
    asked: Annotated[ScanAsked, Depends(scan_asked)],
) -> Answer:
    """Measure a find from its scan and keep it; as `findhold measure --scan --json`."""
    data, ending = file.file.read(), PurePath(file.filename or "").suffix.lower()
    if ending not in SCANS:
        raise BadInput("this is no scan", where="file", limit=", ".join(SCANS), do="Send the file of the scan")
    request = measuring.MeasureRequest(
        find=number,
        site=asked.site,
        units=asked.units,
        up=asked.up,
        mass=asked.mass,
        answers=asked.answers,
        record=not asked.dry_run,
    )

    def measured(office: Office) -> Answer:
        with brought(data, ending, "scan") as path:
            return measuring.measure(office, replace(request, scan=path)).shape

    if asked.dry_run:
        return desk.look(measured)
    words = {"find": number, "sha256": hashlib.sha256(data).hexdigest(), **plain(asked)}
    return desk.record("scan", words, measured)
