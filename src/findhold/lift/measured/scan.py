"""Measuring from a scan: unit and up settled, then sizes, volume, centre, profile and outlines in the block's frame."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from findhold.errors import BadInput, Question
from findhold.geometry.footprint import Footprint, least_rectangle, turn
from findhold.geometry.mesh.body import Body, weigh_up
from findhold.geometry.mesh.crossing import Crossing, cross_check
from findhold.geometry.mesh.files import check_head, read_mesh
from findhold.geometry.mesh.outline import sections, shortened, silhouettes, simplified
from findhold.geometry.mesh.raw import FloatArray, IntArray, Limits, RawMesh
from findhold.geometry.mesh.surface import Surface, join
from findhold.lift.measured.block import (
    HoleSeen,
    Known,
    MeasuredBlock,
    ScanFacts,
    Size,
    density_questions,
    density_range,
    mass_band,
    rule,
)
from findhold.lift.measured.frame import Frame, settle_frame
from findhold.lift.measured.words import questions_of, remarks_of

_MM3_PER_L = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanReading:
    """A scan's file; units and up as declared, None to have them taken from the file, or asked about."""

    data: bytes
    name: str
    units: str | None = None
    up: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Volumes:
    """Volume of a scan [L]: best None when none can be given, low to high what it can be, and why in words."""

    best_l: float | None
    low_l: float | None
    high_l: float
    cog_mm: Size
    why: str


def scan_limits() -> Limits:
    """How large a scan may be."""
    return Limits(
        bytes_most=int(rule("scan_mb_most") * 1e6),
        triangles_most=int(rule("scan_triangles_most")),
        decimate_to=int(rule("scan_decimate_to")),
    )


def look_at_file(head: bytes, size_bytes: int, name: str) -> str:
    """What a scan's file is, from its first bytes, before the rest is read; raises as files.check_head."""
    return check_head(head, size_bytes, name, scan_limits())


def measure_scan(reading: ScanReading, known: Known) -> MeasuredBlock:
    """The block of a scan.

    Not for scans of several finds: the largest piece and those of some size are measured as one.

    Parameters
    ----------
    reading : the file's bytes and name; its unit and the axis that points up, when they are known.
    known : material, state, soil, mass, and answers to questions asked before (about "units" or "up").

    Returns
    -------
    MeasuredBlock: sizes are exact for the triangles; volume and centre are None where the surface allows none.

    Raises
    ------
    BadInput : the file cannot be read (see geometry.mesh.files), or everything in it lies in one plane.
    Mistakes : a question about the unit or the axis without whose answer nothing can be measured.

    Source: least rectangle, divergence theorem; computed.
    """
    raw = read_mesh(reading.data, reading.name, scan_limits())
    surface = join(raw.corners, raw.triangles, rule("piece_share"))
    if not len(surface.triangles):
        raise BadInput(
            "every triangle of the scan is flat: two of its corners are the same",
            where=reading.name,
            do="Export the scan with more digits, or in millimetres",
        )
    frame = settle_frame(raw, surface, (reading.units, reading.up), known)
    placed, stray, footprint = _placed(surface, frame, reading.name)
    body = weigh_up(placed)
    if body is None or float(placed.corners[:, 2].max()) <= 0.0 or footprint.width_mm <= 0.0:
        do = "Scan the find from all sides, or measure it by tape"
        raise BadInput("everything in the scan lies in one plane", where=reading.name, do=do)
    crossing = cross_check(placed.corners, placed.triangles) if placed.closed else None
    return _told(
        _Seen(raw=raw, surface=placed, frame=frame, footprint=footprint, body=body, crossing=crossing, stray=stray),
        reading.name,
        known,
    )


def placed_scan(reading: ScanReading, known: Known) -> tuple[FloatArray, IntArray]:
    """A scan as it lies in the block's frame, to be looked at: corners of shape (n, 3) [mm], base at 0, and triangles.

    Parameters and errors as `measure_scan`; nothing is measured.
    """
    raw = read_mesh(reading.data, reading.name, scan_limits())
    surface = join(raw.corners, raw.triangles, rule("piece_share"))
    if not len(surface.triangles):
        raise BadInput("every triangle of the scan is flat", where=reading.name, do="Export the scan with more digits")
    placed, _, _ = _placed(surface, settle_frame(raw, surface, (reading.units, reading.up), known), reading.name)
    return placed.corners, placed.triangles


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """A scan in the block's frame with all that was worked out of it; stray are the corners left out, in that frame."""

    raw: RawMesh
    surface: Surface
    frame: Frame
    footprint: Footprint
    body: Body
    crossing: Crossing | None
    stray: FloatArray

    @property
    def size_mm(self) -> Size:
        return (self.footprint.length_mm, self.footprint.width_mm, float(self.surface.corners[:, 2].max()))


def _placed(surface: Surface, frame: Frame, name: str) -> tuple[Surface, FloatArray, Footprint]:
    """Surface and left-out corners in the block's frame, and the footprint."""
    upright = frame.upright(surface.corners)
    if not len(upright):
        raise BadInput("nothing of the scan is left", where=name, do="Export it again")
    footprint = least_rectangle(upright[:, :2])
    base = float(upright[:, 2].min())

    def place(points: FloatArray) -> FloatArray:
        flat = turn(points[:, :2], -footprint.angle_deg) - footprint.corner
        return np.column_stack([flat, points[:, 2] - base])

    stray = place(frame.upright(surface.left_out)) if len(surface.left_out) else surface.left_out
    return replace(surface, corners=place(upright)), stray, footprint


def _told(seen: _Seen, name: str, known: Known) -> MeasuredBlock:
    size = seen.size_mm
    volumes = _volumes(seen)
    profile, miss = _profile(seen.surface.corners, seen.surface.edges)
    side, end = silhouettes(seen.surface.corners, seen.surface.edges)
    facts = _facts(seen, name)
    band = None
    if known.mass_kg is None and volumes.best_l is not None:
        band = mass_band(known, (volumes.low_l or volumes.best_l, volumes.best_l, volumes.high_l))
    grown = _grown(seen, size)
    low = volumes.low_l or volumes.high_l
    questions: tuple[Question, ...] = (
        *questions_of(facts, seen.surface.pieces, grown, known),
        *density_questions(known, low, volumes.high_l),
    )
    return MeasuredBlock(
        size_mm=size,
        volume_l=volumes.best_l,
        volume_low_l=volumes.low_l,
        volume_high_l=volumes.high_l,
        mass_kg=known.mass_kg,
        mass_band=band,
        cog_mm=volumes.cog_mm,
        profile_mm=profile,
        plan_outline_mm=simplified(seen.footprint.hull),
        side_outline_mm=side,
        end_outline_mm=end,
        how="scan",
        section="",
        scan=facts,
        remarks=(*remarks_of(facts, seen.surface, size), volumes.why, *_more(seen, miss, band, known)),
        questions=questions,
        sources=("organic-soils-table-3-5", "findhold-judgement") if density_range(known) else ("findhold-judgement",),
    )


def _volumes(seen: _Seen) -> Volumes:
    body, crossing = seen.body, seen.crossing
    hull_l = body.hull_mm3 / _MM3_PER_L
    best = None if body.volume_mm3 is None else body.volume_mm3 / _MM3_PER_L
    if crossing is not None and crossing.bad:
        covered = min(crossing.covered_mm3 / _MM3_PER_L, hull_l)
        why = (
            f"The surface runs through itself, so that some space counts twice or not at all; lines through it cover "
            f"{covered:.3g} L."
        )
        edges = (covered, covered if best is None else best)
        cog = body.centre_mm or body.hull_centre_mm
        return Volumes(best_l=covered, low_l=min(edges), high_l=max(edges), cog_mm=cog, why=why)
    if best is None or body.centre_mm is None:
        why = (
            f"No volume can be told from this surface; it is not more than its hull, {hull_l:.3g} L. The centre of "
            "gravity is that of the hull."
        )
        return Volumes(best_l=None, low_l=None, high_l=hull_l, cog_mm=body.hull_centre_mm, why=why)
    if not body.closed:
        why = (
            f"The scan is open: {best:.3g} L with flat lids over its holes, and not more than its hull, {hull_l:.3g} L."
        )
        return Volumes(best_l=best, low_l=best, high_l=hull_l, cog_mm=body.centre_mm, why=why)
    why = f"The scan is closed and encloses {best:.3g} L."
    if best < rule("hollow_share") * hull_l:
        why += (
            f" Its hull holds {hull_l:.3g} L: it is hollow, open like a bowl, or spread out. What fills it is not in "
            "the volume."
        )
        return Volumes(best_l=best, low_l=best, high_l=hull_l, cog_mm=body.centre_mm, why=why)
    return Volumes(best_l=best, low_l=best, high_l=best, cog_mm=body.centre_mm, why=why)


def _profile(corners: FloatArray, edges: IntArray) -> tuple[tuple[Size, ...], float]:
    heights = sections(corners, edges, rule("sink_mm"))
    return shortened(heights, rule("profile_within_mm"), int(rule("profile_rows_most")))


def _facts(seen: _Seen, name: str) -> ScanFacts:
    surface, left_out = seen.surface, [piece for piece in seen.surface.pieces if not piece.kept]
    return ScanFacts(
        file=name,
        kind=seen.raw.kind,
        triangles=len(seen.raw.triangles),
        corners=len(surface.corners),
        unit=seen.frame.unit,
        unit_why=seen.frame.unit_why,
        up=seen.frame.up,
        up_why=seen.frame.up_why,
        turned_deg=seen.footprint.angle_deg,
        closed=surface.closed,
        hull_l=seen.body.hull_mm3 / _MM3_PER_L,
        holes=tuple(
            HoleSeen(perimeter_mm=hole.perimeter_mm, centre_mm=hole.centre_mm) for hole in seen.body.holes[:12]
        ),
        pieces_kept=len(surface.pieces) - len(left_out),
        pieces_left_out=len(left_out),
        left_out_share=sum(piece.share for piece in left_out),
        doubles=surface.doubles,
        flat=surface.flat,
        turned=surface.turned,
        inside_out=surface.inside_out,
        crossing_lines=None if seen.crossing is None else seen.crossing.lines,
        crossing_bad=0 if seen.crossing is None else seen.crossing.bad,
    )


def _grown(seen: _Seen, size: Size) -> float:
    """By how much the pieces left out would reach beyond the find [mm]; 0 when they do not."""
    if not len(seen.stray):
        return 0.0
    beyond = np.maximum(-seen.stray, seen.stray - np.array(size))
    return max(0.0, float(beyond.max()))


def _more(seen: _Seen, miss_mm: float, band: object, known: Known) -> tuple[str, ...]:
    """What else is worth knowing: the profile's coarseness, the centre's assumption, the coordinates' grain."""
    said = [
        *seen.raw.notes,
        f"Straight lines between the heights of the profile are within {miss_mm:.1f} mm of the scan.",
    ]
    said.append("The centre of gravity is that of one density everywhere: a vessel or a stone in the block moves it.")
    grain = seen.frame.grain_mm(seen.raw.corners)
    if grain > rule("grain_mm"):
        said.append(
            f"The scan's coordinates go in steps of {grain:.2g} mm, because it lies far from its origin: move it to "
            "the origin before it is exported."
        )
    if seen.crossing is not None:
        said.append(
            f"That the surface does not run through itself was tried along {seen.crossing.lines} lines, at most "
            f"{seen.crossing.spacing_mm:.1f} mm apart; what is narrower may be missed."
            if not seen.crossing.bad
            else f"It runs through itself on {seen.crossing.bad} of {seen.crossing.lines} lines, up to "
            f"{seen.crossing.deepest_mm:.1f} mm deep."
        )
    if band is not None:
        said.append(f"Not weighed: the mass is told by the unit weights of {known.soil}. Weigh it.")
    return tuple(said)
