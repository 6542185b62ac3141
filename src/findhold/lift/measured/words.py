"""What a scan gives rise to say: how it was read, what is wrong with its surface, and what a person must settle."""

from __future__ import annotations

from collections.abc import Sequence

from findhold.errors import Question
from findhold.geometry.mesh.surface import Piece, Surface
from findhold.lift.measured.block import HoleSeen, Known, ScanFacts, Size, rule

_NAMED = 5
"""So many holes are told one by one."""


def remarks_of(facts: ScanFacts, surface: Surface, size: Size) -> tuple[str, ...]:
    """What was read, taken and left out, in sentences."""
    lines = [
        f"{facts.file}: {facts.kind}, {facts.triangles} triangles; unit {facts.unit} ({facts.unit_why}); "
        f"{facts.up} up ({facts.up_why}).",
        f"Least rectangle in plan, the vertical kept: its length lies {facts.turned_deg:.1f}° from the scan's x.",
    ]
    if facts.holes:
        lines.append(_holes_words(facts.holes, size, len(surface.open_edges)))
    if facts.pieces_left_out:
        many = f"{facts.pieces_left_out} loose pieces" if facts.pieces_left_out > 1 else "One loose piece"
        lines.append(
            f"{many}, {facts.left_out_share:.2%} of the scan's area, left out: each has less than "
            f"{rule('piece_share'):.0%} of it, as crumbs, supports and noise have."
        )
    if facts.turned:
        lines.append(f"{facts.turned} triangles faced the other way than their neighbours and were turned.")
    if facts.inside_out:
        lines.append("The scan, or a piece of it, was inside out: its triangles faced inwards and were turned.")
    if not surface.one_sided:
        lines.append("The triangles cannot all be made to face alike: neighbours contradict each other.")
    if facts.doubles:
        lines.append(f"{facts.doubles} triangles lay in the file twice; each was counted once.")
    if facts.flat:
        lines.append(f"{facts.flat} triangles without area were dropped.")
    if surface.many_edges:
        lines.append(f"{surface.many_edges} edges belong to three triangles or more: walls touch there.")
    return tuple(lines)


def questions_of(facts: ScanFacts, pieces: Sequence[Piece], grown_mm: float, known: Known) -> tuple[Question, ...]:
    """What only a person can settle about a scan; the measurement stands meanwhile."""
    found = []
    if not facts.closed:
        text = (
            f"{known.find}: the scan is open ({len(facts.holes)} holes told). Is a side missing that it stood on, or "
            "was it not seen from everywhere?"
        )
        found.append(
            Question(about="holes", text=text, choices=("it stood on that side", "not seen", "a real opening"))
        )
    if facts.crossing_bad:
        text = f"{known.find}: the scan's surface runs through itself. Was it joined from two scans that do not fit?"
        found.append(Question(about="crossing", text=text, choices=("join it again", "weigh and go on")))
    kept = [piece for piece in pieces if piece.kept]
    if len(kept) > 1:
        shares = ", ".join(f"{piece.share:.0%}" for piece in kept)
        text = (
            f"{known.find}: the scan has {len(kept)} pieces ({shares} of its area), taken as one. Do all belong to it?"
        )
        found.append(Question(about="pieces", text=text, choices=("all belong to it", "cut the others away")))
    if grown_mm > rule("stray_size_mm"):
        text = (
            f"{known.find}: pieces that were left out reach {grown_mm:.0f} mm beyond it. Are they part of the find "
            "(a root, a rim sherd) or noise?"
        )
        found.append(
            Question(about="left out", text=text, choices=("noise", "part of the find: join them in the scan"))
        )
    return tuple(found)


def _holes_words(holes: Sequence[HoleSeen], size: Size, open_edges: int) -> str:
    told = ", ".join(f"{hole.perimeter_mm:.0f} mm round {_place(hole, size)}" for hole in holes[:_NAMED])
    more = len(holes) - _NAMED
    rest = "" if more <= 0 else f", and {more}{' or more' if len(holes) == 12 else ''} smaller"
    return f"Holes, largest first: {told}{rest} ({open_edges} open edges)."


def _place(hole: HoleSeen, size: Size) -> str:
    height = hole.centre_mm[2] / size[2] if size[2] else 0.5
    if height < 0.1:
        return "underneath"
    return "on top" if height > 0.9 else f"{hole.centre_mm[2]:.0f} mm up"
