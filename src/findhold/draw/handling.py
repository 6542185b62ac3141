"""Handling marks: our own drawings after the descriptions in ISO 780, in black, each with one meaning.

They do not stand for protection, and they are not hazard signs; those are other standards' business.
"""

from __future__ import annotations

from collections.abc import Callable

from findhold.draw.marks import FILM, INK, Circle, Curve, Mark, Pen, Point, Text
from findhold.errors import BadInput, UnknownName

GRID = 20.0
"""Marks are drawn on a square of 20 by 20 units and scaled."""


def handling_mark(
    name: str, at: Point, size_mm: float, *, low_c: float | None = None, high_c: float | None = None
) -> tuple[Mark, ...]:
    """One handling mark.

    Parameters
    ----------
    name : a key of HANDLING_MARKS.
    at : its top left corner [mm].
    size_mm : side of its square [mm].
    low_c, high_c : both limits, only for the temperature mark, which is never drawn without them [°C].

    Raises
    ------
    UnknownName: there is no such mark.
    BadInput: a temperature mark without both limits, or with the low one above the high one.

    Source
    ------
    ISO 780, symbol descriptions; the artwork is our own.
    """
    if name not in HANDLING_MARKS:
        raise UnknownName("handling mark", name, list(HANDLING_MARKS))
    if name == "temperature limits":
        return _temperature(at, size_mm / GRID, low_c, high_c)
    return HANDLING_MARKS[name](at, size_mm / GRID)


def top_arrow(at: Point, height_mm: float) -> tuple[Mark, ...]:
    """A heavy arrow upwards; the word TOP belongs beside it.

    Parameters
    ----------
    at : top left corner [mm].
    height_mm : its height [mm]; it is 0.7 times as wide.
    """
    return (_solid("M7 0L14 9L9.4 9L9.4 20L4.6 20L4.6 9L0 9Z", at, height_mm / GRID),)


def _solid(d: str, at: Point, scale: float, fill: str = INK) -> Curve:
    return Curve(d=d, at=at, scale=scale, pen=None, fill=fill)


def _stroke(d: str, at: Point, scale: float, width: float = 1.1, colour: str = INK) -> Curve:
    return Curve(d=d, at=at, scale=scale, pen=Pen(width_mm=width * scale, colour=colour))


def _this_way_up(at: Point, scale: float) -> tuple[Mark, ...]:
    arrow = "M{0} 1L{1} 7.6L{2} 7.6L{2} 15L{3} 15L{3} 7.6L{4} 7.6Z"
    left = arrow.format(5.4, 9.4, 6.9, 3.9, 1.4)
    right = arrow.format(14.6, 18.6, 16.1, 13.1, 10.6)
    return (_solid(left + right + "M1.4 17L18.6 17L18.6 19L1.4 19Z", at, scale),)


def _fragile(at: Point, scale: float) -> tuple[Mark, ...]:
    glass = (
        "M4.4 1L15.6 1C15.6 6.8 14.2 10.8 10.9 11.5L10.9 16.4L14.9 18L14.9 19.2L5.1 19.2L5.1 18"
        "L9.1 16.4L9.1 11.5C5.8 10.8 4.4 6.8 4.4 1Z"
    )
    crack = "M11.6 0.8L9.7 3.6L11.8 5.2L10.2 8"
    return (_solid(glass, at, scale), _stroke(crack, at, scale, 0.9, FILM))


def _keep_dark(at: Point, scale: float) -> tuple[Mark, ...]:
    x, y = at
    sun = Circle(centre=(x + 4.6 * scale, y + 4.4 * scale), radius_mm=2.1 * scale, pen=None, fill=INK)
    rays = (
        "M4.6 0.6L4.6 1.2M0.8 4.4L1.4 4.4M1.9 1.7L2.3 2.1M7.3 1.7L6.9 2.1M1.9 7.1L2.3 6.7M4.6 7.6L4.6 9.2"
        "M7.8 4.4L10.4 4.4M7 6.8L8.6 8.4"
    )
    return (
        sun,
        _stroke(rays, at, scale, 0.9),
        _stroke("M5.6 13.4L12.4 7.6L19.2 13.4", at, scale, 1.5),
        _stroke("M8.6 13.8L8.6 19.2L16.2 19.2L16.2 13.8Z", at, scale, 1.1),
    )


def _keep_dry(at: Point, scale: float) -> tuple[Mark, ...]:
    canopy = (
        "M1.6 12C1.6 7.6 5.2 5 10 5C14.8 5 18.4 7.6 18.4 12C17 10.6 14.4 10.6 12.9 12"
        "C11.6 10.6 8.4 10.6 7.1 12C5.6 10.6 3 10.6 1.6 12Z"
    )
    rain = "M4.4 0.8L3.8 3.2M8.2 0.8L7.8 2.8M12.2 0.8L12 2.8M16.2 0.8L16.4 3.2"
    return (
        _solid(canopy, at, scale),
        _stroke("M10 11L10 17.2C10 19.6 6.8 19.6 6.8 17.2", at, scale, 1.2),
        _stroke(rain, at, scale, 0.9),
    )


def _do_not_stack(at: Point, scale: float) -> tuple[Mark, ...]:
    return (
        _stroke("M4.4 1.6L15.6 1.6L15.6 8.6L4.4 8.6Z", at, scale, 0.9),
        _solid("M3 11L17 11L17 19L3 19Z", at, scale),
        _stroke("M1.4 0.8L18.6 9.4M18.6 0.8L1.4 9.4", at, scale, 1.6),
    )


def _temperature(at: Point, scale: float, low_c: float | None, high_c: float | None) -> tuple[Mark, ...]:
    if low_c is None or high_c is None:
        raise BadInput("a temperature mark needs both limits", do="Give the lowest and the highest temperature in °C")
    if low_c > high_c:
        raise BadInput(
            f"the low temperature limit {low_c:g} °C is above the high one, {high_c:g} °C",
            do="Give the lower one first",
        )
    x, y = at
    size = 5.0 * scale
    bulb = Circle(centre=(x + 10 * scale, y + 17 * scale), radius_mm=2.2 * scale, pen=None, fill=INK)
    return (
        _stroke("M8.8 15.2L8.8 2.2C8.8 0.6 11.2 0.6 11.2 2.2L11.2 15.2", at, scale, 0.8),
        _stroke("M10 16L10 9", at, scale, 1.2),
        bulb,
        _stroke("M12.4 7.2L19.6 7.2M0.4 13.6L7.6 13.6", at, scale, 0.9),
        Text(
            at=(x + 19.8 * scale, y + 6.0 * scale),
            text=_degrees(high_c),
            size_mm=size,
            anchor="end",
            bold=True,
            condensed=True,
        ),
        Text(at=(x + 0.2 * scale, y + 12.4 * scale), text=_degrees(low_c), size_mm=size, bold=True, condensed=True),
    )


def _degrees(temp_c: float) -> str:
    return f"{temp_c:g}°".replace("-", "−")


HANDLING_MARKS: dict[str, Callable[[Point, float], tuple[Mark, ...]]] = {
    "this way up": _this_way_up,
    "fragile": _fragile,
    "keep away from sunlight": _keep_dark,
    "keep away from rain": _keep_dry,
    "do not stack": _do_not_stack,
    "temperature limits": lambda at, scale: _temperature(at, scale, None, None),
}
