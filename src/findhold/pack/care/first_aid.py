"""First aid in a few lines: how a find of this material and state is kept, in what, how long, and who decides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from findhold.pack.asked import Asked
from findhold.pack.care.parts import materials_of
from findhold.pack.care.rays import in_order
from findhold.pack.kept import hold_limit, keeps_dark, wanted_rh, wanted_temp
from findhold.tables.firstaid import FirstAidRow, Urgency, Wash, first_aid_row
from findhold.tables.materials import FindMaterial

_WASH: dict[Wash, str] = {
    "never": "Never wash it.",
    "no": "Do not wash it.",
    "ask": "Do not wash it before who decides has said so; never when residues, DNA, protein or a date are planned.",
}
_SOON: dict[Urgency, str] = {"today": "today", "days": "within days", "weeks": "within weeks", "none": "when it suits"}
_WASH_SOURCE = ("hampshire-finds-care", "seen")
"""Metals are never washed; nothing fragile, flaking, porous, painted, or with residues on it is cleaned."""
_DECIDES_SOURCE = ("findhold-judgement", "judgement")
_SOIL_BLOCK = "soil block"
_GRAVE = ("destroys", "contaminates", "hampers", "harmless")
_URGENT: tuple[Urgency, ...] = ("today", "days", "weeks", "none")


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstAidLine:
    """One thing to do, why, and the passport of the row it comes from; `topic` is keep, container, wash or decide."""

    topic: str
    material: str
    what: str
    why: str
    urgency: str
    severity: str
    source: str
    """Key of the bibliography."""
    seen: str


def first_aid(asked: Asked) -> tuple[FirstAidLine, ...]:
    """First aid for a find as it was found, gravest first; a part that asks for more adds its own line.

    Parameters
    ----------
    asked : a checked request.

    Returns
    -------
    Lines for the find's own material (keep, container, wash, decide), then one for each part whose row is graver or
    more urgent, or forbids a washing that the find's own row leaves open.

    Source: tables first_aid and find_materials, each row with its own source and mark.
    """
    own, *parts = materials_of(asked)
    row = first_aid_row(own.name, asked.inputs.state)
    lines = [*_own(asked, own, row)]
    for part in parts:
        other = first_aid_row(part.name, asked.inputs.state)
        if _asks_more(other, row):
            lines.append(
                _line(
                    other,
                    "part",
                    f"Its {part.name}: {_SOON[other.urgency]}; {other.decides}; loose: {other.container}.",
                    other.why,
                )
            )
    return tuple(lines)


def headlines(lines: tuple[FirstAidLine, ...], most: int = 8) -> tuple[str, ...]:
    """First aid as sentences for a sheet, at most `most` of them: what, why, and the mark where it was not seen."""
    said = []
    for line in lines[:most]:
        mark = "" if line.seen == "seen" else f" [{line.seen}]"
        said.append(f"{line.what}{f' Why: {line.why}.' if line.why else ''}{mark}")
    return tuple(said)


def _own(asked: Asked, material: FindMaterial, row: FirstAidRow) -> Iterator[FirstAidLine]:
    limit = hold_limit(asked.inputs, material)
    yield _line(row, "keep", _keep_words(asked, material, row), row.why)
    yield _container(asked, row)
    yield replace(_line(row, "wash", _WASH[row.wash], ""), source=_WASH_SOURCE[0], seen=_WASH_SOURCE[1])
    soon = "" if row.urgency == "none" else f", {_SOON[row.urgency]}"
    who = f"Who decides: {row.decides}{soon}"
    if limit is not None:
        yield FirstAidLine(
            topic="decide",
            material=material.name,
            what=f"{who}; held {limit.days:g} days at most.",
            why=limit.words,
            urgency=row.urgency,
            severity=row.severity,
            source=limit.source,
            seen=limit.seen,
        )
    else:
        known = _line(row, "decide", f"{who}; no longest hold is known.", "")
        yield replace(known, source=_DECIDES_SOURCE[0], seen=_DECIDES_SOURCE[1])


def _container(asked: Asked, row: FirstAidRow) -> FirstAidLine:
    """What it is put into: in its soil as its row says, or as any soil block; else as a loose find."""
    if asked.soil is None:
        return _line(row, "container", f"Pack: {row.container}.", "")
    if row.in_soil:
        said = in_order(row.in_soil, dated_by_light=keeps_dark(asked.inputs))
        return _line(row, "container", f"Pack: {said}.", "")
    block = first_aid_row(_SOIL_BLOCK, asked.inputs.state)
    return _line(block, "container", f"Pack: its soil block, whole; {block.container}.", "")


def _keep_words(asked: Asked, material: FindMaterial, row: FirstAidRow) -> str:
    """State, temperature, humidity and light in one sentence."""
    state = {"waterlogged": "wet"}.get(asked.kept, asked.kept)
    if asked.kept == "dry":
        rh = wanted_rh(material)
        wants = [rh] if rh else []
        if material.dry_temp_high_c is not None:
            low = "" if material.dry_temp_low_c is None else f"{material.dry_temp_low_c:g}-"
            wants.append(f"{low or 'at most '}{material.dry_temp_high_c:g} °C")
        return f"Keep it {', '.join([state, *wants, row.light, 'steady'])}."
    return f"Keep it {state}, {wanted_temp(material)}, {row.light}, never frozen."


def _asks_more(part: FirstAidRow, own: FirstAidRow) -> bool:
    """Whether a part is graver or more urgent than the find's own material, or forbids what that leaves open."""
    graver = _GRAVE.index(part.severity) < _GRAVE.index(own.severity)
    sooner = _URGENT.index(part.urgency) < _URGENT.index(own.urgency)
    return graver or sooner or (part.wash != "ask" and own.wash == "ask")


def _line(row: FirstAidRow, topic: str, what: str, why: str) -> FirstAidLine:
    return FirstAidLine(
        topic=topic,
        material=row.material,
        what=what,
        why=why,
        urgency=row.urgency,
        severity=row.severity,
        source=row.source,
        seen=row.seen,
    )
