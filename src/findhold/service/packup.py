"""Everything needed to pack, label and hold every find: plans, forecasts, sheets, labels, calendar, one table."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from findhold.dates.instants import zone_named
from findhold.errors import FindholdError
from findhold.pack.care.conflict import Conflict
from findhold.service.diary import DueRequest, due
from findhold.service.folder import file_name, write_file
from findhold.service.holds import Held, Holding, HoldRequest, Progress, keep_finds, plan_finds
from findhold.service.labelling import LabelRequest, make_labels
from findhold.service.lastday import open_by, opening_closed
from findhold.service.office import Office
from findhold.service.packing.drawing import DrawnBox, block_label, drawable, write_drawings
from findhold.service.papers import packing_sheets
from findhold.service.pictures import forecast_sheets
from findhold.store.ledger import Thing


@dataclass(frozen=True, slots=True, kw_only=True)
class PackRow:
    """One line of the table a finds officer works from."""

    find: str
    what: str
    box: str | None
    box_id: str | None
    sheets: int
    dose_g: float
    keep_until: datetime | None
    governing_limit: str | None
    open_at: datetime | None
    can_keep: bool | None
    next_check: datetime | None
    open_by: date | None
    """The last open day before the keep-until date."""
    questions: tuple[str, ...]
    opening_closed: str
    """Why the planned opening falls on a day when nobody comes; empty when somebody does."""
    trouble: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedUp:
    """What was made: the rows of the table, the files, and the finds that stop until a person decides."""

    site: str
    zone: str
    rows: tuple[PackRow, ...]
    files: tuple[str, ...]
    stopped: tuple[Held, ...]
    refused: tuple[tuple[str, FindholdError], ...]


def pack_up(
    office: Office, request: HoldRequest, out: Path, progress: Progress | None = None, drawings: Path | None = None
) -> PackedUp:
    """Plan, forecast, record and print everything for the finds of a request into one folder; drawings into another.

    Finds that stop (a forbidden contact, no box, facts missing) are listed with what to do; the others are finished.
    """
    planned = plan_finds(office, request, progress)
    good = tuple(one.number for one in planned.held if not one.plan.stopped)
    stopped = tuple(one for one in planned.held if one.plan.stopped)
    files: list[Path] = []
    refused = planned.refused
    kept: tuple[Held, ...] = ()
    if good:
        done = _keep_dry(office, replace(request, finds=good, go_on=True), progress)
        kept, refused = done.held, (*refused, *done.refused)
        if progress:
            progress("packing sheets, labels, calendar", len(good), len(good))
    if kept:
        files = _write(office, planned.site, kept, out)
        files += [] if drawings is None else draw_boxes(office, planned.site, kept, drawings)
    rows = _rows(office, kept, stopped, refused)
    if rows:
        files.append(write_file(out / file_name(planned.site.number, "table", ending=".csv"), _table(rows)))
    return PackedUp(
        site=planned.site.number,
        zone=planned.site.facts["zone"],
        rows=rows,
        files=tuple(str(file) for file in files),
        stopped=stopped,
        refused=refused,
    )


def _keep_dry(office: Office, request: HoldRequest, progress: Progress | None) -> Holding:
    """Forecast the holds; those whose lid would drip get absorbent sheets in their plan and are forecast again."""
    done = keep_finds(office, request, progress)
    wet = tuple(one.number for one in done.held if one.kept and one.kept.forecast.drip_g.high > 0.0)
    if not wet or not request.record:
        return done
    planned = plan_finds(office, replace(request, finds=wet), progress)
    good = tuple(one.number for one in planned.held if not one.plan.stopped)
    again = {one.number: one for one in keep_finds(office, replace(request, finds=good), progress).held} if good else {}
    return replace(done, held=tuple(again.get(one.number, one) for one in done.held))


def _write(office: Office, site: Thing, kept: Sequence[Held], out: Path) -> list[Path]:
    code = site.number
    several = f"{len(kept)}-finds" if len(kept) > 1 else kept[0].number
    labels = out / file_name(code, several, "labels", ending=".pdf")
    make_labels(office, LabelRequest(finds=tuple(one.number for one in kept), site=code, out=labels))
    sheets = out / file_name(code, several, "packing-sheets", ending=".pdf")
    write_file(sheets, packing_sheets(office, site, kept))
    forecasts = out / file_name(code, several, "forecast-sheets", ending=".pdf")
    write_file(forecasts, forecast_sheets(office, site, kept))
    calendar = out / file_name(code, "checks-and-openings", ending=".ics")
    due(office, DueRequest(site=code, calendar=calendar))
    return [labels, sheets, forecasts, calendar]


def draw_boxes(office: Office, site: Thing, held: Sequence[Held], out: Path) -> list[Path]:
    """Write the drawings of every box whose plan does not stop into a folder: sections, plan, order of work."""
    boxes = [
        DrawnBox(
            parts=(site.number, one.number),
            plan=one.plan,
            label=block_label(one.plan, one.number),
            what=one.find.facts.get("what") or f"find {one.number}",
            place=f"find {one.number} · {site.number}" + (f" · {one.box_id}" if one.box_id else ""),
        )
        for one in held
        if drawable(one.plan)
    ]
    date = office.in_site_zone(office.now(), site)
    return [Path(file) for file in write_drawings(boxes, out, date=date)]


def _rows(
    office: Office, kept: Sequence[Held], stopped: Sequence[Held], refused: Sequence[tuple[str, FindholdError]]
) -> tuple[PackRow, ...]:
    now = office.now()
    rows = [_kept_row(one, now) for one in kept]
    rows += [_stopped_row(one) for one in stopped]
    rows += [
        PackRow(
            find=number,
            what="",
            box=None,
            box_id=None,
            sheets=0,
            dose_g=0.0,
            keep_until=None,
            governing_limit=None,
            open_at=None,
            can_keep=None,
            next_check=None,
            open_by=None,
            questions=(),
            opening_closed="",
            trouble=error.sentence(),
        )
        for number, error in refused
    ]
    return tuple(rows)


def _kept_row(one: Held, now: datetime) -> PackRow:
    if one.kept is None:
        raise ValueError("a kept row needs a forecast")
    told, checks = one.kept.forecast, one.kept.checks
    ahead = [check.at for check in checks if check.at >= now]
    return PackRow(
        find=one.number,
        what=one.find.facts.get("what") or "",
        box=one.plan.box.name if one.plan.box else None,
        box_id=one.box_id,
        sheets=one.plan.sheets,
        dose_g=one.plan.dose_g,
        keep_until=told.keep_until.astimezone(zone_named(one.case.zone)),
        governing_limit=told.governing_limit,
        open_at=one.case.open_at,
        can_keep=told.can_keep,
        next_check=ahead[0] if ahead else None,
        open_by=open_by(told.keep_until, one.case.zone, one.case.closures),
        questions=tuple(question.text for question in one.plan.questions),
        opening_closed=opening_closed(one.case) or "",
        trouble="",
    )


def _stopped_row(one: Held) -> PackRow:
    return PackRow(
        find=one.number,
        what=one.find.facts.get("what") or "",
        box=one.plan.box.name if one.plan.box else None,
        box_id=None,
        sheets=one.plan.sheets,
        dose_g=one.plan.dose_g,
        keep_until=None,
        governing_limit=None,
        open_at=one.case.open_at,
        can_keep=None,
        next_check=None,
        open_by=None,
        questions=tuple(question.text for question in one.plan.questions),
        opening_closed=opening_closed(one.case) or "",
        trouble=why_stopped(one),
    )


def why_stopped(one: Held) -> str:
    """Why a plan stops and what to do, one sentence or two."""
    if one.plan.box is None:
        return one.plan.no_box or f"No box fits. {one.plan.make}"
    stops = [conflict for conflict in one.plan.conflicts if conflict.stops]
    told = " ".join(
        item.sentence if item.kind == "state" else f"{item.material} must not touch it ({item.analysis}): {item.remedy}"
        for item in stops
    )
    return f"{told} Or a named person overrides it: {override_words(one.number, stops)}"


def override_words(number: str, stops: Sequence[Conflict]) -> str:
    """The command that overrides the conflicts that stop a plan."""
    pairs = " ".join(f'--override "{item.material}:{item.analysis}"' for item in stops)
    return f'findhold plan {number} {pairs} --allowed-by NAME --reason "WHY"'


def _csv_cell(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat(timespec="minutes")
    if isinstance(value, float):
        return round(value, 1)
    return "; ".join(value) if isinstance(value, tuple) else value


def _table(rows: Sequence[PackRow]) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(PackRow.__dataclass_fields__)
    for row in rows:
        values = [getattr(row, name) for name in PackRow.__dataclass_fields__]
        writer.writerow([_csv_cell(value) for value in values])
    return text.getvalue().encode("utf-8-sig")
