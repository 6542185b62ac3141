"""Files for a browser: made whole in memory or in a folder of their own that is gone afterwards, named by us."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from findhold.service.diary import DueRequest, due
from findhold.service.folder import file_name
from findhold.service.holds import HoldRequest, keep_finds
from findhold.service.labelling import LabelRequest, make_labels
from findhold.service.office import Office
from findhold.service.papers import packing_sheets
from findhold.service.pictures import forecast_sheets
from findhold.service.plotting import PlotRequest, plot_feature
from findhold.service.wire import plain

PDF, SVG, CALENDAR = "application/pdf", "image/svg+xml", "text/calendar; charset=utf-8"


@dataclass(frozen=True, slots=True, kw_only=True)
class FileOut:
    """A file to hand out: its name, what it is, its bytes, and what was said when it was made (paths left out)."""

    name: str
    media_type: str
    data: bytes
    shape: dict[str, Any]


def label_file(office: Office, request: LabelRequest) -> FileOut:
    """Labels as a PDF, each code read back; recorded when the request says so."""
    with _folder() as folder:
        site = office.site(request.site)
        name = file_name(site.number, "-".join(request.finds[:4]) or "all", "label", ending=".pdf")
        made = make_labels(office, replace(request, out=folder / name))
        data = (folder / name).read_bytes()
    return FileOut(name=name, media_type=PDF, data=data, shape={**plain(made), "file": name})


def packing_sheet_file(office: Office, request: HoldRequest) -> FileOut:
    """The packing sheets of planned finds as a PDF; the forecast is worked out for it and not recorded."""
    done = keep_finds(office, replace(request, record=False))
    name = file_name(done.site.number, *request.finds[:4], "packing-sheet", ending=".pdf")
    data = packing_sheets(office, done.site, done.held)
    return FileOut(name=name, media_type=PDF, data=data, shape={"file": name, "sheets": len(done.held)})


def forecast_sheet_file(office: Office, request: HoldRequest) -> FileOut:
    """The forecast sheets of planned finds as a PDF; worked out for it and not recorded."""
    done = keep_finds(office, replace(request, record=False, all_options=True))
    name = file_name(done.site.number, *request.finds[:4], "forecast-sheet", ending=".pdf")
    data = forecast_sheets(office, done.site, done.held)
    return FileOut(name=name, media_type=PDF, data=data, shape={"file": name, "sheets": len(done.held)})


def plan_file(office: Office, request: PlotRequest, ending: str = ".svg") -> FileOut:
    """The plan of a feature as SVG or PDF, with the distances asked for."""
    with _folder() as folder:
        site = office.site(request.site)
        name = file_name(site.number, request.feature or "all", "plan", ending=ending)
        made = plot_feature(office, replace(request, out=folder / name))
        data = (folder / name).read_bytes()
    media_type = PDF if ending == ".pdf" else SVG
    return FileOut(name=name, media_type=media_type, data=data, shape={**plain(made), "files": [name]})


def calendar_file(office: Office, request: DueRequest) -> FileOut:
    """Checks, openings and keep-until dates as a calendar file."""
    with _folder() as folder:
        site = office.site(request.site)
        name = file_name(site.number, "holds", ending=".ics")
        found = due(office, replace(request, calendar=folder / name))
        data = (folder / name).read_bytes()
    return FileOut(
        name=name, media_type=CALENDAR, data=data, shape={"calendar": name, "calendar_events": found.calendar_events}
    )


@contextmanager
def brought(data: bytes, ending: str, name: str = "brought") -> Iterator[Path]:
    """What a browser brought, as a file of a name of ours, for use cases that read files; gone afterwards."""
    with _folder() as folder:
        path = folder / f"{name}{ending}"
        path.write_bytes(data)
        yield path


@contextmanager
def _folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="findhold-") as name:
        yield Path(name)
