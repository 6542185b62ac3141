"""What if: other sizes, sheets, wrapping or analyses, and what box, bed, dose and contacts would be; saved or not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from findhold.draw.svg import to_svg
from findhold.errors import BadInput, FindholdError, Mistake, Mistakes
from findhold.record.events import NewEvent
from findhold.service.answers import plan_answer
from findhold.service.case import plan_case
from findhold.service.choices import read_choices
from findhold.service.finder import find_thing, hold_of
from findhold.service.holds import HoldRequest, keep_finds, kept_overrides, plan_finds, stock_left
from findhold.service.ledger_case import Asked, case_of_find, shelves
from findhold.service.office import Office
from findhold.service.packing.drawing import block_label, section_spec
from findhold.service.packing.measuring import MeasureRequest, measure
from findhold.service.recorded import low_section
from findhold.service.settled import NO_BARRIER
from findhold.store.ledger import Thing
from findhold.tables.contact import analysis_names
from findhold.tables.materials import packing_material, packing_material_names

_ALSO_BARRIERS = ("Japanese tissue", "polyester fabric")
"""Soft sheets that are laid next to a find as well."""
_SIZES = ("length_mm", "width_mm", "height_mm")
_SHAPE = ("profile_mm", "plan_outline_mm", "side_outline_mm", "end_outline_mm", "cog_mm", "measured")


@dataclass(frozen=True, slots=True, kw_only=True)
class TryRequest:
    """What is tried, as typed; "" leaves what is recorded. analyses None leaves them too."""

    find: str
    length_mm: str = ""
    width_mm: str = ""
    height_mm: str = ""
    mass_kg: str = ""
    sheets: str = ""
    wrapping: str = ""
    barrier: str = ""
    analyses: tuple[str, ...] | None = None
    site: str | None = None
    members: int = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """A plan as it would be: its public shape, the section as SVG, and in words what differs from what is planned."""

    shape: dict[str, Any]
    section_svg: str | None
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Typed:
    """The figures of a request, read."""

    size_mm: dict[str, float]
    mass_kg: float | None
    sheets: int | None


def choices_to_try() -> dict[str, tuple[str, ...]]:
    """What can be chosen: analyses, materials to wrap in, sheets that keep two things apart."""
    made = [packing_material(name) for name in packing_material_names()]
    return {
        "analyses": analysis_names(),
        "wrappings": tuple(one.name for one in made if one.hatch == "tissue"),
        "barriers": (NO_BARRIER, *(one.name for one in made if one.closure == "barrier" or one.name in _ALSO_BARRIERS)),
    }


def try_plan(office: Office, request: TryRequest) -> Tried:
    """The plan as it would be; nothing is recorded.

    Raises
    ------
    BadInput : the find lacks what a plan needs. Mistakes : figures that cannot be, all at once.
    UnknownName : no such find, material or analysis.
    """
    site = office.site(request.site)
    find = find_thing(office, request.find, site)
    own = hold_of(office, site.number, find.number)
    typed = _typed(request, find.facts)
    tried = replace(find, facts=_facts(find.facts, request, typed))
    shelf = shelves(office, site, read_choices())
    others = [hold for hold in office.ledger.states("hold", site.number) if own is None or hold.stream != own.stream]
    used = Counter(hold.facts["plan"]["box"] for hold in others)
    shelf = replace(shelf, stock=stock_left(shelf.stock, used))
    plan = plan_case(case_of_find(tried, shelf, _asked(request, typed, own)))
    drawing = None
    if plan.box is not None and plan.clearance_mm is not None:
        drawing = to_svg(low_section(section_spec(plan, block_label(plan, find.number))))
    shape = plan_answer(plan)
    return Tried(
        shape=shape,
        section_svg=drawing,
        changes=_changes(own.facts["plan"] if own else None, shape),
    )


def save_plan(office: Office, request: TryRequest) -> dict[str, Any]:
    """Record what was tried: sizes and mass as measured, analyses as corrected, and the box planned and forecast anew.

    Returns
    -------
    The plan in the public shape of `plan --json`, what was recorded, and why no forecast could be made (or None).

    Raises
    ------
    As `try_plan`; nothing is recorded then.
    """
    site = office.site(request.site)
    find = find_thing(office, request.find, site)
    own = hold_of(office, site.number, find.number)
    typed = _typed(request, find.facts)
    recorded = _save_facts(office, find, request, typed)
    asked = replace(_asked(request, typed, own), overrides=())
    done = plan_finds(office, HoldRequest(finds=(find.number,), site=site.number, asked=asked))
    (held,) = done.held
    trouble = None
    if not held.plan.stopped:
        recorded.append("plan")
        try:
            keep_finds(office, HoldRequest(finds=(find.number,), site=site.number, members=request.members))
        except FindholdError as error:  # a plan stands also while something for the forecast is missing
            trouble = error.as_dict()
    return {**held.shape, "recorded": recorded, "not_forecast": trouble}


def _save_facts(office: Office, find: Thing, request: TryRequest, typed: _Typed) -> list[str]:
    """Record sizes, mass and analyses that differ from the register; says which."""
    recorded: list[str] = []
    facts = find.facts
    mass_new = typed.mass_kg is not None and typed.mass_kg != facts.get("mass_kg")
    if typed.size_mm or mass_new:
        sides = [typed.size_mm.get(side, facts.get(side)) for side in _SIZES]
        if None in sides:
            raise BadInput("length, width and height are needed together", where="size", do="Measure all three")
        size = "x".join(f"{side:.10g}" for side in sides)
        mass = None if typed.mass_kg is None else f"{typed.mass_kg:.10g} kg"
        measure(office, MeasureRequest(find=find.number, site=request.site, size=size, mass=mass, note="at the bench"))
        recorded.append("measures")
    if request.analyses is not None and list(request.analyses) != list(facts.get("analyses") or ()):
        body = {"fields": {"analyses": list(request.analyses)}, "reason": "set at the bench"}
        with office.ledger.writing(office.stamp()) as writing:
            writing.append([NewEvent(word="thing.corrected.1", stream=find.stream, body=body)])
        recorded.append("analyses")
    return recorded


def _asked(request: TryRequest, typed: _Typed, own: Thing | None) -> Asked:
    before = own.facts.get("asked", {}) if own is not None else {}
    return Asked(
        barrier=request.barrier or before.get("barrier"),
        wrapping=request.wrapping or before.get("wrapping"),
        sheets=typed.sheets if typed.sheets is not None else before.get("sheets"),
        overrides=kept_overrides(own),
    )


def _facts(facts: Mapping[str, Any], request: TryRequest, typed: _Typed) -> dict[str, Any]:
    """The find's facts with what is tried in their place."""
    changed: dict[str, Any] = dict(facts)
    if typed.size_mm:
        # Outlines and centre belong to the sizes they were measured with.
        changed = {key: value for key, value in changed.items() if key not in _SHAPE} | typed.size_mm
    if typed.mass_kg is not None:
        changed["mass_kg"] = typed.mass_kg
    if request.analyses is not None:
        changed["analyses"] = list(request.analyses)
    return changed


def _typed(request: TryRequest, facts: Mapping[str, Any]) -> _Typed:
    """Figures of the form, all mistakes at once; a figure that the register has already changes nothing."""
    mistakes: list[Mistake] = []

    def figure(name: str, text: str, most: float, unit: str) -> float | None:
        if not text.strip():
            return None
        try:
            value = float(text.strip().replace(",", ".").removesuffix(unit).strip())
        except ValueError:
            value = -1.0
        if 0.0 < value <= most:
            return value
        column, wrong = name.replace("_", " "), "is no figure that it can have"
        allowed = f"above 0, up to {most:g} {unit}".rstrip()
        mistakes.append(Mistake(file="", row=None, column=column, value=text, wrong=wrong, allowed=allowed))
        return None

    sizes = {side: figure(side.removesuffix("_mm"), getattr(request, side), 5000.0, "mm") for side in _SIZES}
    mass = figure("mass", request.mass_kg, 500.0, "kg")
    sheets = figure("sheets", request.sheets, 1000.0, "") if request.sheets.strip() != "0" else 0.0
    if mistakes:
        raise Mistakes(mistakes=mistakes)
    new = {side: value for side, value in sizes.items() if value is not None}
    same = all(facts.get(side) == value for side, value in new.items())
    return _Typed(size_mm={} if same else new, mass_kg=mass, sheets=None if sheets is None else int(sheets))


def _changes(before: Mapping[str, Any] | None, after: Mapping[str, Any]) -> tuple[str, ...]:
    """What would differ, in words."""
    if before is None:
        return ()
    said = []
    if before.get("box") != after["box"]:
        said.append(f"box {after['box'] or 'none'} instead of {before.get('box') or 'none'}")
    if before.get("sheets") != after["sheets"]:
        said.append(f"{after['sheets']} sheets instead of {before.get('sheets')}")
    if abs((before.get("dose_g") or 0.0) - after["dose_g"]) >= 0.5:
        said.append(f"{after['dose_g']:.0f} g of water instead of {before.get('dose_g') or 0.0:.0f} g")
    gross, was = after.get("gross_mass_kg"), before.get("gross_mass_kg")
    if gross and was and abs(gross - was) >= 0.005:
        said.append(f"{gross:.2f} kg packed instead of {was:.2f} kg")
    stops = {
        (item["material"], item["analysis"]) for item in before.get("conflicts", ()) if item["verdict"] == "forbidden"
    }
    new = (item for item in after["conflicts"] if item["verdict"] == "forbidden")
    new = (item for item in new if (item["material"], item["analysis"]) not in stops)
    return (*said, *(f"{item['material']} would be forbidden for {item['analysis']}" for item in new))
