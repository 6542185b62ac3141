"""Marks to SVG text, in millimetres, for the page, for a file and for the PDF engine alike."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from itertools import chain
from xml.sax.saxutils import escape, quoteattr

from findhold.draw.hatch import hatch_lines, hatch_named
from findhold.draw.lettering import FAMILY
from findhold.draw.marks import FILM, INK, Circle, Curve, Drawing, Mark, Matrix, Path, Pen, Point, Text

DARK_RUN = re.compile(b"\x01+")
PAPER = "#ffffff"
PRINT_INK = "#000000"


def to_svg(drawing: Drawing, *, paper: bool = False) -> str:
    """A drawing as SVG text at true size.

    Parameters
    ----------
    drawing : the sheet and its marks [mm].
    paper : for print: white instead of film, and pure black instead of ink, which one-colour printers would speckle.

    Returns
    -------
    SVG with width, height and viewBox in mm, a title and a description for screen readers, text as text, and
    hatches as real lines (no patterns, so every reader draws the same).
    """
    ground = PAPER if paper else FILM
    w, h = _n(drawing.width_mm), _n(drawing.height_mm)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}"'
        f' role="img" font-family="{FAMILY}, sans-serif" fill="none" stroke-linecap="round" stroke-linejoin="round">'
    )
    parts = [head, f"<title>{escape(drawing.title)}</title>"]
    if drawing.description:
        parts.append(f"<desc>{escape(drawing.description)}</desc>")
    parts.append(f'<rect width="{w}" height="{h}" fill="{ground}"/>')
    parts += marks_svg(drawing.marks, ground=ground)
    parts.append("</svg>")
    text = "\n".join(parts)
    return text.replace(f'"{INK}"', f'"{PRINT_INK}"') if paper else text


def marks_svg(marks: Iterable[Mark], *, ground: str = FILM) -> list[str]:
    """Each mark as SVG elements, in drawing order, without the sheet round them."""
    return list(chain.from_iterable(_mark(mark, ground) for mark in marks))


def _mark(mark: Mark, ground: str) -> list[str]:
    if isinstance(mark, Path):
        return _path(mark, ground)
    if isinstance(mark, Circle):
        x, y = mark.centre
        form = f"{_fill(mark.fill, ground)}{_pen(mark.pen)}"
        return [f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(mark.radius_mm)}"{form}/>']
    if isinstance(mark, Text):
        return [_text(mark, ground)]
    if isinstance(mark, Matrix):
        return [_matrix(mark)]
    return [_curve(mark, ground)]


def _path(path: Path, ground: str) -> list[str]:
    """The area's fill, then its hatch, then its outline on top."""
    shape = _line(path.points) + ("Z" if path.closed else "")
    parts = []
    if path.hatch and path.closed:
        if path.fill:
            parts.append(f'<path d="{shape}"{_fill(path.fill, ground)}/>')
        lines = "".join(_line(line) for line in hatch_lines(path.hatch, path.points))
        if lines:
            width = hatch_named(path.hatch).pen_mm
            colour = path.pen.colour if path.pen else INK
            parts.append(f'<path d="{lines}" stroke="{colour}" stroke-width="{_n(width)}"/>')
        if path.pen:
            parts.append(f'<path d="{shape}"{_pen(path.pen)}/>')
        return parts
    return [f'<path d="{shape}"{_fill(path.fill, ground)}{_pen(path.pen)}/>']


def _text(text: Text, ground: str) -> str:
    x, y = text.at
    form = f' font-size="{_n(text.size_mm)}"'
    form += ' font-weight="700"' if text.bold else ""
    form += ' font-stretch="condensed"' if text.condensed else ""
    form += f' text-anchor="{text.anchor}"' if text.anchor != "start" else ""
    form += f' transform="rotate({_n(text.turn_deg)} {_n(x)} {_n(y)})"' if text.turn_deg else ""
    if text.halo:
        form += f' paint-order="stroke" stroke="{ground}" stroke-width="{_n(text.size_mm * 0.35)}"'
    return f'<text x="{_n(x)}" y="{_n(y)}" fill={quoteattr(text.colour)}{form}>{escape(text.text)}</text>'


def _curve(curve: Curve, ground: str) -> str:
    """A drawn symbol; the pen keeps its stated width whatever the scale."""
    x, y = curve.at
    pen = curve.pen
    if pen and curve.scale != 1.0:
        dash = tuple(d / curve.scale for d in pen.dash_mm)
        pen = Pen(width_mm=pen.width_mm / curve.scale, colour=pen.colour, dash_mm=dash)
    move = f' transform="translate({_n(x)} {_n(y)}) scale({_n(curve.scale)})"' if curve.at != (0.0, 0.0) else ""
    if not move and curve.scale != 1.0:
        move = f' transform="scale({_n(curve.scale)})"'
    return f"<path d={quoteattr(curve.d)}{_fill(curve.fill, ground)}{_pen(pen)}{move}/>"


@lru_cache(maxsize=4096)
def matrix_path(modules: tuple[tuple[bool, ...], ...]) -> str:
    """A code's dark modules as one SVG path in units of one module, so that no seam shows between its rows."""
    parts = []
    for row, dark in enumerate(modules):
        for run in DARK_RUN.finditer(bytes(dark)):
            count = run.end() - run.start()
            parts.append(f"M{run.start()} {row}h{count}v1h-{count}z")
    return "".join(parts)


def _matrix(matrix: Matrix) -> str:
    x, y = matrix.at
    place = f"translate({_n(x)} {_n(y)}) scale({_n(matrix.module_mm)})"
    return f'<path d="{matrix_path(matrix.modules)}" fill="{INK}" shape-rendering="crispEdges" transform="{place}"/>'


def _line(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points)


def _fill(fill: str | None, ground: str) -> str:
    if not fill:
        return ""
    return f' fill="{ground if fill.lower() == FILM else fill}"'


def _pen(pen: Pen | None) -> str:
    if not pen:
        return ""
    dash = f' stroke-dasharray="{" ".join(_n(d) for d in pen.dash_mm)}"' if pen.dash_mm else ""
    return f' stroke="{pen.colour}" stroke-width="{_n(pen.width_mm)}"{dash}'


def _n(number: float) -> str:
    """A length with micrometre fineness and no trailing noughts."""
    text = f"{number:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
