"""Packing sheets: the plan, the forecast and the record of each hold, on one page a box."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta, tzinfo

from findhold.cushion.plan import YES
from findhold.cushion.said import verdict_line
from findhold.dates.instants import day_for_people, for_people, zone_named
from findhold.keep.limits import Limit
from findhold.keep.massband import MassBand
from findhold.keep.options import EARLIER
from findhold.lift.plan import lift_lines
from findhold.pack.care.blanks import Control
from findhold.pack.care.conflict import Conflict
from findhold.pack.care.first_aid import headlines
from findhold.paper.packed import SectionSpec
from findhold.paper.sheet import CheckRow, LimitRow, PackingSheet, StripArgs, packing_sheet_pdf
from findhold.paper.strip import StripMoment
from findhold.service.answers import assumptions_of, cited
from findhold.service.case import Case, Kept
from findhold.service.holds import Held
from findhold.service.lastday import open_by, opening_closed
from findhold.service.office import Office
from findhold.service.packing.cushioning import cushion_lines
from findhold.service.packing.cut_words import cut_lines
from findhold.service.packing.drawing import block_label, section_spec, step_pictures
from findhold.service.packing.lifting import lift_of_plan
from findhold.store.ledger import Thing

_TOLD = ("parts: ", "order: ")
"""What questions are about whose conflict is printed with who decides already."""
_STRIP_MARGIN = timedelta(days=2)


def packing_sheets(office: Office, site: Thing, held: Sequence[Held]) -> bytes:
    """One A4 page for each hold that has a box and a forecast.

    Raises
    ------
    BadInput : there is no such hold, or a page would be too full to read.
    """
    _, seal = office.ledger.head()
    printed_at = office.in_site_zone(office.now(), site)
    sheets = [
        _sheet(site, one, one.kept, seal=seal, printed_at=printed_at, person=office.person)
        for one in held
        if one.kept is not None and one.plan.box is not None
    ]
    return packing_sheet_pdf(sheets, date=printed_at)


def _sheet(site: Thing, one: Held, kept: Kept, *, seal: str, printed_at: datetime, person: str) -> PackingSheet:
    plan, case, told, facts = one.plan, one.case, kept.forecast, one.find.facts
    zone = case.zone
    box = plan.box
    return PackingSheet(
        site_code=site.number,
        site_name=site.facts["name"],
        find_number=one.number,
        find_id=one.find_id,
        box_id=one.box_id or "",
        context=facts.get("context") or "",
        what=facts.get("what") or "",
        material=plan.material,
        state=f"{plan.state} · keep {'wet' if plan.kept == 'waterlogged' else plan.kept}",
        box_name=box.name if box else "",
        box_n=1,
        box_of=1,
        layers=tuple(f"{layer.name}{_mm(layer.thickness_mm)}{_note(layer.note)}" for layer in plan.layers),
        sheets=plan.sheets,
        dose_g_per_sheet=plan.dose_g_per_sheet,
        dose_g=plan.dose_g,
        dose_note=_dose_note(one),
        dose_by_hand=_by_hand(one),
        masses=tuple((part.name, part.mass_kg) for part in plan.masses),
        packed_kg=plan.gross_mass_kg,
        packed_spread_kg=plan.gross_spread_kg,
        weighed=one.shape.get("learned") is not None,
        steps=tuple(step.text for step in plan.steps),
        conflicts=(
            *(_conflict_words(item) for item in plan.conflicts if item.overridden_by is None),
            *((plan.kept_why,) if plan.kept != plan.state else ()),
            *(f"To settle: {question.text}" for question in plan.questions if not question.about.startswith(_TOLD)),
            *_kept_cushion(case),
            *plan.warnings,
        ),
        controls=tuple(_control_words(control) for control in plan.controls),
        overrides=tuple(_override_words(item) for item in plan.conflicts if item.overridden_by is not None),
        limits=tuple(limit_row(limit, zone) for limit in told.limits),
        keep_until=day_for_people(told.keep_until.astimezone(zone_named(zone)).date()),
        governing=told.governing_limit,
        can_keep=can_keep_words(case, kept),
        what_to_do=what_to_do(case, kept, printed_at),
        checks=tuple(_check_row(band, zone) for band in told.mass_band),
        cautions=tuple(caution.text for caution in plan.cautions),
        flags=(*plan.flags, *(str(hazard) for hazard in facts.get("hazards") or ())),
        assumptions=assumptions_of(kept),
        sources=tuple(dict.fromkeys(cited(key) for key in (*told.sources, *plan.sources))),
        ledger_seal=seal,
        printed_at=printed_at,
        person=person,
        section=section_of(one),
        pictures=step_pictures(plan),
        lift=lift_lines(lift_of_plan(plan, case.plan, dict(case.lift))),
        cushion=cushion_lines(case.cushion),
        cut=cut_lines(plan),
        first_aid=headlines(plan.first_aid),
        strip=strip_of(case, kept),
        analyses=tuple(case.plan.analyses),
        symbol="triangle" if facts.get("kind", "registered") == "registered" else "none",
    )


def _kept_cushion(case: Case) -> tuple[str, ...]:
    """The verdict of a cushion that keeps its limit, for the front; any other stands among the plan's warnings."""
    return (verdict_line(case.cushion),) if case.cushion is not None and case.cushion.keeps == YES else ()


def _control_words(control: Control) -> str:
    later = "" if control.taken == "at packing" else f", {control.taken}"
    return f"{control.what}, {control.how_much}{later}"


def _conflict_words(conflict: Conflict) -> str:
    if not conflict.choices:
        return conflict.sentence
    said = f"{conflict.pair}: {conflict.text}. {conflict.remedy} Who decides: {conflict.who}, {conflict.by}."
    return said[:1].upper() + said[1:]


def _override_words(conflict: Conflict) -> str:
    word = "settled" if conflict.choices else "allowed"
    pair = f"{conflict.pair} ({conflict.text})" if conflict.kind == "state" else conflict.pair
    return f"{pair} {word} by {conflict.overridden_by}: {conflict.reason}"


def _check_row(band: MassBand, zone: str) -> CheckRow:
    return CheckRow(on=for_people(band.at, zone), low_kg=band.low_kg, best_kg=band.best_kg, high_kg=band.high_kg)


def section_of(one: Held) -> SectionSpec:
    """The packed box of a find as its drawings take it."""
    return section_spec(one.plan, block_label(one.plan, one.number))


def can_keep_words(case: Case, kept: Kept) -> str:
    """Whether the planned opening can be kept, in words."""
    told = kept.forecast
    if case.open_at is None or told.can_keep is None:
        return "No opening is planned: book one before the keep-until date."
    day = day_for_people(case.open_at.astimezone(zone_named(case.zone)).date())
    closed = opening_closed(case)
    if told.can_keep and closed is not None:
        return f"In time, but the opening planned for {day} falls in a closure ({closed}): book another day."
    if told.can_keep:
        return f"Yes: the opening planned for {day} is in time."
    return f"No: the opening planned for {day} is too late."


def what_to_do(case: Case, kept: Kept, now: datetime | None = None) -> str:
    """The next thing to do, one sentence, as seen now (None: as seen at packing)."""
    told = kept.forecast
    now = now or case.packed_at or told.keep_until
    last = open_by(told.keep_until, case.zone, case.closures)
    by = day_for_people(last) if last is not None else _day(told.keep_until, case.zone)
    if last is not None and now.date() > last:
        return "Its keep-until date has passed: open it now, or ask the conservator now."
    if case.open_at is None or told.can_keep is None:
        return f"Book the opening for {by} at the latest."
    closed = opening_closed(case)
    if told.can_keep and closed is not None:
        return f"Nobody is there on the planned opening day ({closed}): open it on {by} at the latest."
    if told.can_keep:
        ahead = [check.at for check in kept.checks if check.at >= now]
        if ahead:
            return f"Check it on {for_people(ahead[0], case.zone)}."
        return f"Open it as planned, on {for_people(case.open_at, case.zone)}."
    helping = next((option for option in kept.options if option.can_keep), None)
    if helping is not None and helping.name != EARLIER:
        return helping.text
    return f"Open it on {by} at the latest, the last open day before its keep-until date."


def _day(at: datetime, zone: str) -> str:
    return day_for_people(at.astimezone(zone_named(zone)).date())


def _mm(thickness_mm: float) -> str:
    return f", {thickness_mm:g} mm" if thickness_mm >= 1 else ""


def _note(note: str) -> str:
    return f" ({note})" if note else ""


def _by_hand(one: Held) -> bool:
    """Whether the wrapping is to be damp and nobody has said how damp."""
    return any(question.about == "water_g_per_g" for question in one.plan.questions)


def _dose_note(one: Held) -> str:
    band = one.plan.dose_band
    if _by_hand(one):
        return "Not computed for this wrapping: as damp as the find, never dripping. Ask the conservator."
    if one.plan.dose_way != "sheets" or not one.plan.sheets:
        return ""
    if one.plan.dose_over_g:
        over = f"STATED, over the limit of {band.upper_limit:.1f} g: water is free and drips"
        return f"{over}; {band.low:.1f} to {band.high:.1f} g a sheet will do."
    most = f"never more than {band.upper_limit:.1f} g (no free water)"
    return f"{band.low:.1f} to {band.high:.1f} g a sheet will do; {most}."


def limit_row(limit: Limit, zone: str) -> LimitRow:
    """A limit as the sheets print it: its dates on the site's clock."""

    def day(at: datetime | None) -> str:
        if at is None:
            return "not reached"
        local: date = at.astimezone(zone_named(zone)).date()
        return f"{local.day} {local:%b %Y}"

    return LimitRow(
        name=limit.name,
        low=day(limit.date_low),
        best=day(limit.date_best),
        high=day(limit.date_high),
        source=cited(limit.source),
    )


def strip_of(case: Case, kept: Kept) -> StripArgs | None:
    """The wait as a strip of time; None while exposure or packing is not known."""
    if case.exposed_at is None or case.packed_at is None:
        return None
    zone: tzinfo = zone_named(case.zone)
    told = kept.forecast
    governing = next(limit for limit in told.limits if limit.name == told.governing_limit)
    moments = [
        StripMoment(at=case.exposed_at, name="exposed", kind="exposed"),
        StripMoment(at=case.packed_at, name="packed", kind="packed"),
        StripMoment(at=told.keep_until, name="keep until", kind="keep_until"),
        *(StripMoment(at=check.at, name="check", kind="check") for check in kept.checks),
    ]
    if case.open_at is not None:
        moments.append(StripMoment(at=case.open_at, name="planned opening", kind="open"))
    last = max(moment.at for moment in moments)
    return StripArgs(
        start=case.exposed_at - timedelta(days=1),
        end=last + _STRIP_MARGIN,
        zone=zone,
        moments=tuple(moments),
        keep_band=(governing.date_low, governing.date_best, governing.date_high),
        closures=tuple((closure.first_day, closure.last_day, closure.reason) for closure in case.closures),
    )
