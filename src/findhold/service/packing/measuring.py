"""Measuring: a find by tape or from a scan, told, and recorded with the scan kept beside the ledger."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from findhold.check.typed_mass import read_mass
from findhold.errors import BadInput
from findhold.lift.measured.block import Known, MeasuredBlock, Size
from findhold.lift.measured.scan import ScanReading, measure_scan
from findhold.lift.measured.tape import TapeReading, measure_tape
from findhold.record.events import NewEvent
from findhold.service.answers import cited
from findhold.service.finder import find_thing, hold_of
from findhold.service.office import Office
from findhold.service.packing.scanning import measured_facts, read_scan
from findhold.service.wire import plain
from findhold.store.filebox import checksum, keep_file
from findhold.store.ledger import Thing
from findhold.tables.materials import find_material

_NUMBER = r"\d+(?:[.,]\d+)?"
_SIZE = re.compile(rf"\s*({_NUMBER})\s*[x×*]\s*({_NUMBER})\s*[x×*]\s*({_NUMBER})\s*(mm|cm|m)?\s*")
_ROW = re.compile(rf"({_NUMBER}):({_NUMBER})[x×*]({_NUMBER})")
_UNIT_MM = {None: 1.0, "mm": 1.0, "cm": 10.0, "m": 1000.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureRequest:
    """One measurement as typed; None for what was not said.

    size : "230x210x140". profile : "0:180x160 60:230x210 140:150x140", heights from the base up. mass : "12.2 kg".
    section : ellipse or rectangle. scan : a file; units and up as declared. answers : to questions asked before.
    """

    find: str | None = None
    site: str | None = None
    size: str | None = None
    profile: str | None = None
    section: str | None = None
    mass: str | None = None
    soil: str | None = None
    scan: Path | None = None
    units: str | None = None
    up: str | None = None
    note: str = ""
    answers: Mapping[str, str] = field(default_factory=dict)
    record: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureTold:
    """A measurement and what it changed.

    before_mm : the sizes the register had, None for a find without any. plan_again : the box that was planned for other
    sizes, None when none was. known_before : just this was recorded already.
    """

    block: MeasuredBlock
    shape: dict[str, Any]
    recorded: bool
    known_before: bool
    plan_again: str | None


def measure_alone(request: MeasureRequest) -> MeasureTold:
    """Measure without a ledger; nothing is recorded.

    Raises
    ------
    BadInput, Mistakes : as measure_scan and measure_tape.
    """
    known = _known(request, {}, "the find" if request.scan is None else request.scan.name)
    block, data = _measured(request, known)
    shape = {**measured_answer(block), "find": None, "sha256": None if data is None else checksum(data)}
    return _told(block, {**shape, "before_mm": None}, recorded=False, known_before=False, plan_again=None)


def measure(office: Office, request: MeasureRequest) -> MeasureTold:
    """Measure a find of the ledger and record it, the scan's file with it; a later measurement replaces an earlier one.

    Raises
    ------
    BadInput, Mistakes : as measure_scan and measure_tape; nothing is recorded then. UnknownName : no such find.
    """
    site = office.site(request.site)
    find = find_thing(office, request.find or "", site)
    known = _known(request, find.facts, f"find {find.number}")
    block, data = _measured(request, known)
    body = _body(block, request, data)
    known_before = _is_known(office, find, body)
    hold = hold_of(office, site.number, find.number)
    recorded = request.record and not known_before
    if recorded:
        if data is not None and request.scan is not None:
            body["kept_as"] = keep_file(office.ledger.path, data, request.scan.suffix.lower())
        with office.ledger.writing(office.stamp()) as writing:
            writing.append([NewEvent(word="find.measured.1", stream=find.stream, body=body)])
    before = [find.facts.get(f"{side}_mm") for side in ("length", "width", "height")]
    shape = {
        **measured_answer(block),
        "find": find.number,
        "what": find.facts.get("what"),
        "sha256": body.get("sha256"),
        "before_mm": None if None in before else before,
    }
    # A box planned for the sizes before says nothing about the find as it is measured now.
    again = hold.facts["box_id"] if hold is not None and not known_before else None
    return _told(block, shape, recorded=recorded, known_before=known_before, plan_again=again)


def measured_answer(block: MeasuredBlock) -> dict[str, Any]:
    """A measured block in the public shape of `measure --json`."""
    return {**plain(block), "sources": [cited(key) for key in block.sources]}


def _told(
    block: MeasuredBlock, shape: dict[str, Any], *, recorded: bool, known_before: bool, plan_again: str | None
) -> MeasureTold:
    said = {"recorded": recorded, "known_before": known_before, "plan_again": plan_again}
    return MeasureTold(
        block=block, shape={**shape, **said}, recorded=recorded, known_before=known_before, plan_again=plan_again
    )


def _known(request: MeasureRequest, facts: Mapping[str, Any], name: str) -> Known:
    """What is known of the find: the register's facts, and the mass as typed now."""
    mass_kg = facts.get("mass_kg")
    if request.mass is not None:
        # A find has no earlier weighing that could settle a mark before three digits, so it must be plain.
        meanings = read_mass(request.mass)
        if len(meanings) > 1:
            shown = " or ".join(f"{one.mass_kg:.10g} kg" for one in meanings)
            do = "Write it with a point and without thousands marks"
            raise BadInput(f"{request.mass!r} may be {shown}", where="--mass", do=do)
        mass_kg = meanings[0].mass_kg
    material = facts.get("material")
    return Known(
        find=name,
        material=None if material is None else find_material(material, where=name).name,
        state=facts.get("state"),
        soil=request.soil or facts.get("soil"),
        mass_kg=mass_kg,
        answers=request.answers,
    )


def _measured(request: MeasureRequest, known: Known) -> tuple[MeasuredBlock, bytes | None]:
    """The block, and the bytes of the scan it was measured from."""
    taped = request.size is not None or request.profile is not None
    if request.scan is not None and taped:
        do = "Give --scan or --size with --profile, not both; the later one you record stands"
        raise BadInput("a scan and a tape measure were both given", where=known.find, do=do)
    if request.scan is not None:
        data = read_scan(request.scan)
        reading = ScanReading(data=data, name=request.scan.name, units=request.units, up=request.up)
        return measure_scan(reading, known), data
    if request.units is not None or request.up is not None:
        do = "Give --scan FILE; sizes by tape are in mm, or end in cm or m"
        raise BadInput("--units and --up are about a scan", where=known.find, do=do)
    tape = TapeReading(
        size_mm=None if request.size is None else read_size(request.size),
        profile_mm=() if request.profile is None else read_profile(request.profile),
        section=request.section,
    )
    return measure_tape(tape, known), None


def read_size(text: str) -> Size:
    """Three sizes as typed, "230x210x140" in mm, or with cm or m behind them [mm]; raises BadInput."""
    found = _SIZE.fullmatch(text)
    if found is None:
        raise BadInput(
            f"{text!r} is not three sizes",
            where="--size",
            limit="length x width x height in mm",
            do="Write 230x210x140",
        )
    factor = _UNIT_MM[found[4]]
    length, width, height = (float(found[i].replace(",", ".")) * factor for i in (1, 2, 3))
    return (length, width, height)


def read_profile(text: str) -> tuple[Size, ...]:
    """Rows of a profile as typed, "0:180x160 60:230x210" in mm: height, length, width [mm]; raises BadInput."""
    rows = []
    for word in re.split(r"[\s;]+", text.strip()):
        found = _ROW.fullmatch(word)
        if found is None:
            raise BadInput(
                f"{word!r} is no row of a profile",
                where="--profile",
                limit="height:length x width in mm, from the base (0) up",
                do='Write for example "0:180x160 60:230x210 140:150x140"',
            )
        rows.append(tuple(float(found[i].replace(",", ".")) for i in (1, 2, 3)))
    return tuple((row[0], row[1], row[2]) for row in rows)


def _body(block: MeasuredBlock, request: MeasureRequest, data: bytes | None) -> dict[str, Any]:
    """The event's body: the measured block, and how it came about."""
    facts = measured_facts(block)
    size = [facts.pop(f"{side}_mm") for side in ("length", "width", "height")]
    told = plain(replace(block, sources=()))
    body = {**told, **facts, "size_mm": size, "note": request.note.strip(), "answers": dict(request.answers)}
    if request.mass is None:
        body["mass_kg"] = None  # the register's own mass was not measured now
    if data is not None and request.scan is not None:
        body |= {"file": request.scan.name, "sha256": checksum(data)}
    return body


def _is_known(office: Office, find: Thing, body: dict[str, Any]) -> bool:
    """Whether the newest measurement of the find says just this, and nothing was corrected since."""
    words = ("find.measured.1", "thing.corrected.1")
    story = [event for event in office.ledger.story(find.stream) if event.word in words]
    if not story or story[-1].word != "find.measured.1":
        return False
    return {key: value for key, value in story[-1].body.items() if key != "kept_as"} == body
