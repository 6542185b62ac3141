"""A find's scan in its box, to be turned about: a coarse mesh in the box's own millimetres, and the box as planned."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import Any

import numpy as np

from findhold.errors import BadInput, FindholdError, LedgerTrouble, UnknownName
from findhold.geometry.footprint import turn
from findhold.geometry.mesh.clustered import clustered
from findhold.geometry.mesh.raw import FloatArray, IntArray
from findhold.lift.measured.block import Known
from findhold.lift.measured.scan import ScanReading, placed_scan
from findhold.record.events import Event, stream_of
from findhold.service.office import Office
from findhold.service.recorded import section_svg
from findhold.service.sheets import near_finds
from findhold.store.filebox import filebox, kept_fault
from findhold.store.ledger import Thing, read_state
from findhold.store.lookup import hold_of_find

MOST_TRIANGLES = 100_000
MAGIC = b"FHV1"
"""Then the numbers of corners and triangles (uint32), corners as float32 x, y, z [mm], triangles as uint32, all little
endian; x along the box, y across, z up, from the inner corner of the box's floor."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxSeen:
    """The box that was planned: inside and wall [mm], and what is free round the block [mm]."""

    name: str
    inside_mm: tuple[float, float, float]
    wall_mm: float
    bed_mm: float
    lid_gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ViewSeen:
    """What the page of the view says: whether there is a scan, the box, and the section to fall back on."""

    site: str
    number: str
    what: str
    size_mm: tuple[float, float, float] | None
    scan: str
    """The scan's file as it was called; "" when the find was not measured from one."""
    how: str
    box: BoxSeen | None
    other_sizes: bool
    """True when the box was planned for other sizes than are measured now."""
    section_svg: str | None
    trouble: str


def view_seen(office: Office, number: str, site_code: str | None = None) -> ViewSeen:
    """What there is to see of a find in its box; raises UnknownName when there is no such find."""
    site, find, hold = _found(office, number, site_code)
    facts, plan = find.facts, (hold.facts.get("plan") or {}) if hold else {}
    event = _scanned(office, find)
    sides = [facts.get(f"{side}_mm") for side in ("length", "width", "height")]
    size = None if None in sides else (float(sides[0] or 0), float(sides[1] or 0), float(sides[2] or 0))
    section, trouble = None, ""
    if hold is not None and plan:
        try:
            section = section_svg(find.number, hold.facts)
        except FindholdError as error:
            trouble = error.sentence()
    planned = plan.get("block_mm")
    return ViewSeen(
        site=site.number,
        number=find.number,
        what=str(facts.get("what") or ""),
        size_mm=size,
        scan="" if event is None else str(event.body.get("file") or "scan"),
        how=str((facts.get("measured") or {}).get("how") or ""),
        box=_box(plan),
        other_sizes=size is not None and planned is not None and _differs(size, planned),
        section_svg=section,
        trouble=trouble,
    )


def scan_in_box(office: Office, number: str, site_code: str | None = None) -> bytes:
    """The scan in its box as bytes (see MAGIC), at most 100 000 triangles; without a box it lies at the origin.

    Raises
    ------
    UnknownName : no such find. BadInput : it was not measured from a scan. LedgerTrouble : the file is gone or changed.
    """
    _, find, hold = _found(office, number, site_code)
    event = _scanned(office, find)
    if event is None:
        raise BadInput(
            "there is no scan of it",
            where=f"find {find.number}",
            do=f"Measure it from one: findhold measure {find.number} --scan FILE",
        )
    corners, triangles = placed_scan(_reading(office, event), _known(find, event))
    corners, triangles = clustered(corners, triangles, MOST_TRIANGLES)
    plan = (hold.facts.get("plan") or {}) if hold else {}
    return _packed(_in_box(corners, plan), triangles)


def _found(office: Office, number: str, site_code: str | None) -> tuple[Thing, Thing, Thing | None]:
    site = office.site(site_code)
    wanted = number.strip().strip("[]()<>△").strip()
    with office.ledger.reading() as connection:
        find = read_state(connection, stream_of("find", site.number, wanted))
        hold = hold_of_find(connection, site.number, wanted) if find else None
    if find is None:
        raise UnknownName("find", wanted, near_finds(office, site.number, wanted), where=f"site {site.number}")
    return site, find, hold


def _scanned(office: Office, find: Thing) -> Event | None:
    """The measurement that stands, when it was made from a scan that was kept."""
    if (find.facts.get("measured") or {}).get("how") != "scan":
        return None
    made = [event for event in office.ledger.story(find.stream) if event.word == "find.measured.1"]
    return made[-1] if made and made[-1].body.get("sha256") else None


def _reading(office: Office, event: Event) -> ScanReading:
    """The kept file, proved by its checksum, with unit and up as they were settled."""
    sha256 = str(event.body["sha256"])
    fault = kept_fault(office.ledger.path, sha256)
    if fault is not None:
        raise LedgerTrouble(fault, where=str(event.body.get("file")), do="Copy the file back from where it was kept")
    kept = min(filebox(office.ledger.path).glob(f"{sha256}*"))
    settled: dict[str, Any] = event.body.get("scan") or {}
    name = f"scan{kept.suffix}"
    return ScanReading(data=kept.read_bytes(), name=name, units=settled.get("unit"), up=settled.get("up"))


def _known(find: Thing, event: Event) -> Known:
    return Known(
        find=f"find {find.number}",
        material=None,
        state=find.facts.get("state"),
        soil=None,
        mass_kg=None,
        answers=event.body.get("answers") or {},
    )


def _box(plan: dict[str, Any]) -> BoxSeen | None:
    facts, gap = plan.get("box_facts"), plan.get("clearance_mm")
    if not facts or not gap:
        return None
    length, width, height = (float(side) for side in facts["inside_mm"])
    return BoxSeen(
        name=str(facts["name"]),
        inside_mm=(length, width, height),
        wall_mm=float(facts["wall_mm"]),
        bed_mm=float(gap["bed"]),
        lid_gap_mm=float(gap["lid_gap"]),
    )


def _differs(size: tuple[float, float, float], planned: list[float]) -> bool:
    return any(abs(a - b) > 1.0 for a, b in zip(sorted(size), sorted(float(side) for side in planned), strict=True))


def _in_box(corners: FloatArray, plan: dict[str, Any]) -> FloatArray:
    """Corners turned as planned, in the middle of the box, on the bed."""
    box = _box(plan)
    if box is None:
        return corners
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2.0
    flat = turn(corners[:, :2] - middle[:2], float(plan.get("turn_deg") or 0.0))
    flat = flat - (flat.min(axis=0) + flat.max(axis=0)) / 2.0
    return np.column_stack([flat + np.array(box.inside_mm[:2]) / 2.0, corners[:, 2] + box.bed_mm])


def _packed(corners: FloatArray, triangles: IntArray) -> bytes:
    head = MAGIC + struct.pack("<II", len(corners), len(triangles))
    return head + corners.astype("<f4").tobytes() + triangles.astype("<u4").tobytes()
