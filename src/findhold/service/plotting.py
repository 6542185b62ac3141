"""The plan of a feature: finds and samples of the ledger at their places, edges and pegs from a file of points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from findhold.draw.marks import Drawing
from findhold.draw.pdf import drawing_pdf
from findhold.draw.svg import to_svg
from findhold.errors import BadInput, UnknownName
from findhold.record.events import stream_of
from findhold.register.kinds import plain as plain_heading
from findhold.register.plot import PlanSheet, draw_plan
from findhold.register.plot_points import Distance, PlotOutline, PlotPoint, distances
from findhold.register.readfile import read_sheet
from findhold.service.choices import read_choices
from findhold.service.folder import file_name, write_file
from findhold.service.office import Office
from findhold.store.ledger import Thing, counting_order
from findhold.store.whereabouts import contexts_in_cut, finds_of_contexts

MOST_POINTS = 400
"""Finds and samples on one plan; more could not be read on any paper."""
_NAME = ("outline", "line", "edge", "name", "feature", "umriss", "linie")
_EAST, _NORTH, _LEVEL = ("easting", "e", "east", "x"), ("northing", "n", "north", "y"), ("level", "z", "height")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlotRequest:
    """What to plot: a feature (cut or context) or everything, its edges, the scale, and the distances asked for."""

    feature: str | None = None
    site: str | None = None
    outlines: Path | None = None
    scale: int | None = None
    paper: str = "A4"
    sheet_no: str = "1"
    pairs: tuple[tuple[str, str], ...] = ()
    without: tuple[str, ...] = ()
    """Numbers that a person leaves off the plan, such as a point of another place."""
    out: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plotted:
    """The files made, how many points are on the sheet, which have no position, and the distances asked for."""

    files: tuple[str, ...]
    points: int
    without_position: tuple[str, ...]
    distances: tuple[Distance, ...]


def plot_feature(office: Office, request: PlotRequest) -> Plotted:
    """Draw the plan as SVG and PDF at scale.

    Raises
    ------
    UnknownName : no such feature. Mistakes : a position only a person can settle. BadInput : nothing to draw.
    """
    site = office.site(request.site)
    points = [point for point in plot_points(office, site, request.feature) if point.number not in request.without]
    lines, pegs = _outlines(request.outlines, request.feature)
    sheet = plan_sheet(office, site, request)
    drawing = draw_plan((*points, *pegs), lines, sheet)
    files = _write(office, site, request, drawing)
    return Plotted(
        files=tuple(str(file) for file in files),
        points=sum(point.plan is not None for point in points),
        without_position=tuple(point.number for point in points if point.plan is None),
        distances=distances(points, request.pairs) if request.pairs else (),
    )


def plan_sheet(office: Office, site: Thing, request: PlotRequest) -> PlanSheet:
    """What the sheet says of itself; raises UnknownName for a paper there is not."""
    if request.paper not in ("A4", "A3"):
        raise UnknownName("paper", request.paper, ["A4", "A3"], where="--paper")
    paper: Literal["A4", "A3"] = "A3" if request.paper == "A3" else "A4"
    symbols = read_choices().numbers
    title = (
        f"Finds from {_feature_words(office, site, request.feature)}"
        if request.feature
        else "All finds with a position"
    )
    return PlanSheet(
        title=title,
        site_code=site.number,
        site_name=site.facts["name"],
        sheet_no=request.sheet_no,
        grid=site.facts["grid"],
        vertical_datum=site.facts["vertical_datum"],
        author=office.person,
        drawn_on=office.in_site_zone(office.now(), site).date(),
        scale=request.scale,
        paper=paper,
        symbols={
            "registered": symbols.registered,
            "bulk": "square",
            "sample": symbols.sample,
            "context": "square brackets",
        },
        distances=request.pairs,
    )


def _write(office: Office, site: Thing, request: PlotRequest, drawing: Drawing) -> list[Path]:
    """The drawing as SVG and PDF, or only the one that the file's name asks for."""
    base = request.out or Path(file_name(site.number, request.feature or "all", "plan", ending=""))
    stem = base.with_suffix("") if base.suffix in (".svg", ".pdf") else base
    wanted = (base.suffix,) if base.suffix in (".svg", ".pdf") else (".svg", ".pdf")
    files: list[Path] = []
    if ".svg" in wanted:
        files.append(write_file(stem.with_name(stem.name + ".svg"), to_svg(drawing).encode()))
    if ".pdf" in wanted:
        pdf = drawing_pdf([drawing], title=drawing.title, date=office.in_site_zone(office.now(), site))
        files.append(write_file(stem.with_name(stem.name + ".pdf"), pdf))
    return files


def plot_points(office: Office, site: Thing, feature: str | None) -> list[PlotPoint]:
    """Finds and samples of a feature (None: of the whole site) as points.

    Raises
    ------
    UnknownName : no such feature. BadInput : nothing was found there.
    """
    points = []
    for thing in _things(office, site, feature):
        facts = thing.facts
        points.append(
            PlotPoint(
                number=thing.number,
                kind="sample" if thing.kind == "sample" else facts.get("kind") or "registered",
                easting_m=facts.get("easting_m"),
                northing_m=facts.get("northing_m"),
                level_m=facts.get("level_m"),
                label=facts.get("what") or "",
            )
        )
    if not points:
        raise BadInput(
            "there is nothing to plot",
            where=f"feature {feature}" if feature else f"site {site.number}",
            do="Import finds with eastings and northings first",
        )
    return points


def _things(office: Office, site: Thing, feature: str | None) -> list[Thing]:
    """Finds, then samples, each in the order their numbers are counted."""
    if feature is None:
        return [*office.ledger.states("find", site.number), *office.ledger.states("sample", site.number)]
    wanted = _contexts_of(office, site, feature)
    with office.ledger.reading() as connection:
        found = finds_of_contexts(connection, site.number, wanted, MOST_POINTS + 1)
    if len(found) > MOST_POINTS:
        raise BadInput(
            f"more than {MOST_POINTS} finds and samples are from it",
            where=f"feature {feature}",
            do="Plot its contexts one by one",
        )
    return sorted(found, key=lambda thing: (thing.kind == "sample", counting_order(thing.number)))


def _contexts_of(office: Office, site: Thing, feature: str) -> list[str]:
    """The feature and every context whose cut it is."""
    if office.ledger.state(stream_of("context", site.number, feature)) is None:
        known = [thing.number for thing in office.ledger.states("context", site.number)]
        raise UnknownName("context", feature, known, where=f"site {site.number}")
    with office.ledger.reading() as connection:
        return [feature, *contexts_in_cut(connection, site.number, feature, MOST_POINTS)]


def _feature_words(office: Office, site: Thing, feature: str) -> str:
    thing = office.ledger.state(stream_of("context", site.number, feature))
    if thing is None:
        return f"[{feature}]"
    text = str(thing.facts.get("description") or thing.facts.get("type") or "context")
    return f"[{feature}], {text[0].lower()}{text[1:]}"


def _outlines(path: Path | None, feature: str | None) -> tuple[tuple[PlotOutline, ...], tuple[PlotPoint, ...]]:
    """Edges and pegs from a file of points: a name met once is a peg, a name met three times or more is an edge."""
    if path is None:
        return (), ()
    try:
        sheet = read_sheet(path.read_bytes(), path.name)
    except OSError as error:
        wrong = f"the file of outlines cannot be read ({error.strerror})"
        raise BadInput(wrong, where=str(path), do="Check the path") from error
    name, east, north = (_column(sheet.headings, words, path.name) for words in (_NAME, _EAST, _NORTH))
    level = next((place for place, text in enumerate(sheet.headings) if plain_heading(text) in _LEVEL), None)
    groups: dict[str, list[tuple[float, float, float | None]]] = {}
    for row, number in zip(sheet.rows, sheet.row_numbers, strict=True):
        place = (_metres(row[east], path, number), _metres(row[north], path, number))
        height = None if level is None or row[level] == "" else _metres(row[level], path, number)
        groups.setdefault(str(row[name]), []).append((*place, height))
    lines, pegs = [], []
    for key, places in groups.items():
        if len(places) == 1:
            e, n, z = places[0]
            pegs.append(PlotPoint(number=key, kind="peg", easting_m=e, northing_m=n, level_m=z))
        elif feature is None or f"[{feature}]" in key or feature in key.split():
            edge = tuple((e, n) for e, n, _ in places)
            lines.append(PlotOutline(name=key, points=edge, closed=len(edge) > 2, broken="base" in key.casefold()))
    return tuple(lines), _near(pegs, lines, feature)


def _near(pegs: Sequence[PlotPoint], lines: Sequence[PlotOutline], feature: str | None) -> tuple[PlotPoint, ...]:
    """For one feature, only pegs within a metre of its edge: a far peg would make the plan small."""
    if feature is None or not lines:
        return tuple(pegs)
    edge = [point for line in lines for point in line.points]
    return tuple(
        peg for peg in pegs if peg.plan and min(max(abs(peg.plan[0] - e), abs(peg.plan[1] - n)) for e, n in edge) <= 1.0
    )


def _column(headings: Sequence[str], words: Sequence[str], file: str) -> int:
    for place, heading in enumerate(headings):
        if plain_heading(heading) in words:
            return place
    raise BadInput(
        f"no column for {words[0]}",
        where=file,
        limit=", ".join(words),
        do="Give the outlines a column with that heading",
    )


def _metres(cell: Any, path: Path, row: int) -> float:
    try:
        return float(str(cell).replace(",", "."))
    except ValueError as error:
        raise BadInput(
            f"{cell!r} is not a number of metres", where=f"{path.name}, row {row}", do="Mend the coordinate"
        ) from error
