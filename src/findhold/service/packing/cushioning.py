"""A cushion against a drop: [cushion] of a scenario or of settings.toml, its plan, and the room it takes in the box."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from findhold.cushion import said
from findhold.cushion.bearing import Bearing, Standing, bearing_of
from findhold.cushion.choose import Design, faces_of
from findhold.cushion.inputs import CushionInputs, Declared
from findhold.cushion.plan import YES, CushionPlan, FaceCushion, Layout, plan_cushion
from findhold.errors import BadInput
from findhold.pack.inputs import CushionNeed, FaceNeed, PlanInputs
from findhold.pack.plan import Plan
from findhold.service.case import Case
from findhold.service.packing.curve_file import read_curve
from findhold.service.wire import plain
from findhold.tables.materials import packing_material

FOAM = "polyethylene foam"
FOAM_MM = (25.0, 50.0)
"""Sheets taken when none are stated (judgement), always said as an assumption."""
_PLAIN = ("drop_height_m", "clay_strength_kpa", "sink_mm")


def with_cushion(
    case: Case, section: Mapping[str, Any], folder: Path, *, ring_foot_mm: Sequence[float] | None = None
) -> Case:
    """The case with how its block stands and, when one is asked for, its cushion and the room that wants in the box.

    Parameters
    ----------
    case : as read. section : keys of [cushion], checked; empty = none asked for. folder : where its curve file stands.
    ring_foot_mm : middle diameter and width of a ring foot [mm]; None = none known.

    Raises
    ------
    BadInput, UnknownName : the section, the route or the curve file cannot be used; block or mass are not known.
    """
    stands = replace(case, standing=_standing(case.plan, section, ring_foot_mm))
    if not section:
        return stands
    planned = plan_cushion(_inputs(case.plan, section, folder))
    return replace(stands, cushion=planned, plan=replace(case.plan, cushion=cushion_need(planned)))


def support_of(case: Case, plan: Plan) -> Bearing | None:
    """What the block presses on its bed as planned; None where its sizes or mass are not known."""
    if case.standing is None:
        return None
    bed_mm = None if plan.clearance_mm is None else plan.clearance_mm.bed
    under_water = plan.dose_way == "submerged"
    return bearing_of(case.standing, bed_mm, turn_deg=plan.turn_deg, under_water=under_water)


def cushion_need(planned: CushionPlan) -> CushionNeed | None:
    """What a planned cushion wants on the faces, for choosing the box; None where there is no cushion to lay."""
    layout = planned.layout
    if layout is None:
        return None
    return CushionNeed(
        bed_mm=layout.bed_mm,
        side_mm=layout.side_mm,
        top_mm=layout.top_mm,
        board_mm=layout.board_mm,
        material=layout.material,
        area_mm2=layout.area_mm2,
        pads=layout.pads,
        why=layout.why,
        faces=tuple(
            _face_need(face, face.design, planned, layout) for face in planned.faces if face.design is not None
        ),
    )


def _face_need(face: FaceCushion, design: Design, planned: CushionPlan, layout: Layout) -> FaceNeed:
    """One kind of face, for the cut list."""
    sizes = next(one for one in faces_of(planned.block_mm) if one.name == face.name)
    board_mm = 0.0 if face.board is None else face.board.board_mm
    return FaceNeed(
        face=face.name,
        many=face.many,
        length_mm=sizes.length_mm,
        width_mm=sizes.width_mm,
        foam_mm=design.thickness_mm,
        sheets_mm=design.sheets_mm,
        pads=design.pads if design.way == "pads" else 0,
        pad_mm=design.pad_mm,
        board_mm=layout.board_mm if face.name == "base" else board_mm,
    )


def cushion_lines(planned: CushionPlan | None) -> tuple[str, ...]:
    """The cushion in short lines for the packing sheet, its warnings last; none when there is none.

    What to lay stands in the cut list; what else could be got, only where there is no cushion to lay.
    """
    if planned is None:
        return ()
    return (*said.sheet_lines(planned), *said.warnings(planned))


def packing_answer(case: Case, plan: Plan) -> dict[str, Any]:
    """Support and cushion of a plan, for the public shape of `plan --json`; each null where there is none."""
    return {"support": plain(support_of(case, plan)), "cushion": cushion_answer(case.cushion)}


def cushion_answer(planned: CushionPlan | None) -> dict[str, Any] | None:
    """A cushion in the public shape of `plan --json`; figures that cannot be told are null."""
    if planned is None:
        return None
    shape = _without_nan(plain(planned))
    declared = shape.pop("declared")
    return {
        **shape,
        "fragility_g": declared["fragility_g"],
        "declared_by": declared["person"],
        "declared_on": declared["day"],
        "met": planned.keeps == YES,
        "verdict": planned.verdict,
        "need": plain(cushion_need(planned)),
        "lines": list(said.cushion_lines(planned)),
        "warnings": list(said.warnings(planned)),
        "assumptions": list(said.assumptions(planned)),
        "sources": list(said.sources(planned)),
    }


def _inputs(plan: PlanInputs, section: Mapping[str, Any], folder: Path) -> CushionInputs:
    """The request, from the plan's own find and the section."""
    if plan.block_mm is None or plan.mass_kg is None:
        raise BadInput(
            "a cushion needs the block's sizes and mass", where=plan.find, do="Measure and weigh it, then plan again"
        )
    foam = packing_material(section.get("foam", FOAM), where=f"{plan.find}, [cushion] foam").name
    curve = None if "curve" not in section else read_curve(folder / section["curve"], foam)
    stated = {name: None if name not in section else float(section[name]) for name in _PLAIN}
    return CushionInputs(
        find=plan.find,
        block_mm=plan.block_mm,
        mass_kg=plan.mass_kg,
        declared=Declared(
            fragility_g=float(section["fragility_g"]), person=section["declared_by"], day=_day(section["declared_on"])
        ),
        soil=plan.soil,
        drop_m=stated["drop_height_m"],
        route=tuple(section.get("route", ())),
        foam=foam,
        foam_mm=tuple(float(mm) for mm in section.get("foam_thickness_mm", FOAM_MM)),
        curve=curve,
        taken=() if "foam_thickness_mm" in section else (_foam_words(foam),),
        board_mm=float(section.get("board_mm", plan.board_mm)),
        clay_strength_kpa=stated["clay_strength_kpa"],
        sink_mm=stated["sink_mm"],
    )


def _standing(plan: PlanInputs, section: Mapping[str, Any], ring_foot_mm: Sequence[float] | None) -> Standing | None:
    """How the block stands, as far as it was measured."""
    if plan.block_mm is None or not plan.mass_kg:
        return None
    return Standing(
        block_mm=plan.block_mm,
        mass_kg=plan.mass_kg,
        ring_foot_mm=None if ring_foot_mm is None else (float(ring_foot_mm[0]), float(ring_foot_mm[1])),
        sink_mm=float(section["sink_mm"]) if "sink_mm" in section else None,
        profile_mm=plan.profile_mm,
        side_outline_mm=plan.side_outline_mm,
        end_outline_mm=plan.end_outline_mm,
    )


def _day(value: Any) -> date:
    return date.fromisoformat(value) if isinstance(value, str) else value


def _foam_words(foam: str) -> str:
    sheets = " and ".join(f"{mm:g}" for mm in FOAM_MM)
    return f"Sheets of {foam} of {sheets} mm are taken to be in stock (foam_thickness_mm was not stated; judgement)."


def _without_nan(value: Any) -> Any:
    """Plain data with null for a figure that is not a number: JSON and the ledger know none."""
    if isinstance(value, dict):
        return {name: _without_nan(item) for name, item in value.items()}
    if isinstance(value, list):
        return [_without_nan(item) for item in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
