"""Templates, and how figures and dates are written in them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextvars import ContextVar
from datetime import date, datetime, tzinfo
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

from findhold.rounding import as_typed, told_expected, told_span

_ZONE: ContextVar[tzinfo | None] = ContextVar("zone", default=None)
"""The clock of the site that a page is about: every instant on it is told by that clock."""


def render(template: str, words: Mapping[str, Any]) -> str:
    """A template with its words; everything is escaped unless it was made by the service as a drawing."""
    before = _ZONE.set(words.get("clock_zone"))
    try:
        return environment().get_template(template).render(words)
    finally:
        _ZONE.reset(before)


@cache
def environment() -> Environment:
    """The one environment: strict about unknown names, tidy about white space."""
    made = Environment(
        loader=PackageLoader("findhold.web"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["trouble"] = None
    made.filters.update(
        pair=pair,
        setting=setting,
        dated=dated,
        day=day,
        clock=clock,
        when=when,
        for_field=for_field,
        day_long=day_long,
        mass=mass,
        span=span,
        expected=expected,
        typed=typed,
        figure=figure,
        words=words,
    )
    return made


def _moment(value: str | date | datetime) -> date:
    if isinstance(value, str):
        value = datetime.fromisoformat(value) if len(value) > 10 else date.fromisoformat(value)
    zone = _ZONE.get()
    if zone is not None and isinstance(value, datetime) and value.utcoffset() is not None:
        return value.astimezone(zone)
    return value


def day(value: str | date | datetime | None) -> str:
    """Fri 7 Aug; nothing for nothing."""
    if value is None:
        return ""
    at = _moment(value)
    return f"{at:%a} {at.day} {at:%b}"


def dated(value: str | date | datetime | None) -> str:
    """7 Aug 2026; nothing for nothing."""
    if value is None:
        return ""
    at = _moment(value)
    return f"{at.day} {at:%b %Y}"


def day_long(value: str | date | datetime | None) -> str:
    """Friday 7 August 2026."""
    if value is None:
        return ""
    at = _moment(value)
    return f"{at:%A} {at.day} {at:%B %Y}"


def clock(value: str | datetime | None) -> str:
    """09:30; nothing for a day without a time."""
    at = None if value is None else _moment(value)
    return f"{at:%H:%M}" if isinstance(at, datetime) else ""


def when(value: str | datetime | None) -> str:
    """Fri 7 Aug 2026, 09:30."""
    if value is None:
        return ""
    at = _moment(value)
    return f"{at:%a} {at.day} {at:%b %Y}" + (f", {at:%H:%M}" if isinstance(at, datetime) else "")


def for_field(value: str | datetime | None) -> str:
    """2026-08-07T09:30, as a field for day and time takes it."""
    return "" if value is None else f"{_moment(value):%Y-%m-%dT%H:%M}"


def mass(value: float | None, places: int = 3) -> str:
    """13.040 kg, or nothing when it is not known."""
    return "" if value is None else f"{value:.{places}f} kg"


def typed(row: Mapping[str, Any]) -> str:
    """A weighing with the digits it was typed with."""
    return as_typed(row["mass_kg"], row.get("typed_step_g"))


def expected(band: Mapping[str, Any], weighings: Sequence[Any]) -> str:
    """The mass to expect at a check, no finer than it is known."""
    return told_expected(band["low_kg"], band["best_kg"], band["high_kg"], weighed=bool(weighings))


def span(edges: Sequence[float]) -> str:
    """Low and high edge of a band of masses: 13.03 to 13.06 kg."""
    return told_span(edges[0], edges[1])


def figure(value: float | None, places: int = 1) -> str:
    """A plain figure, or a dash when it is not known."""
    return "–" if value is None else f"{value:.{places}f}".rstrip("0").rstrip(".") if places else f"{value:.0f}"


def words(value: Any) -> str:
    """A fact in words: lists with commas, yes and no, names without underscores."""
    if value is None or value == "":
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, list | tuple):
        return ", ".join(words(item) for item in value) or "–"
    if isinstance(value, dict):
        return "; ".join(f"{str(name).replace('_', ' ')} {words(item)}" for name, item in value.items()) or "–"
    return str(value)


def pair(text: str) -> tuple[str, str]:
    """A choice whose word is its value."""
    return text, text


_UNITS = {"mm": "mm", "kg": "kg", "g": "g", "c": "°C", "kpa": "kPa", "h": "h", "gsm": "g/m²", "pa": "Pa"}


def setting(name: str) -> str:
    """The name of a setting as people read it: warm_c becomes "warm [°C]", density_kg_per_m3 "density [kg/m³]"."""
    head, per, below = name.partition("_per_")
    *told, last = head.split("_")
    if per and told and last in _UNITS:
        return f"{' '.join(told)} [{_UNITS[last]}/{below.replace('m3', 'm³').replace('_', ' ')}]"
    if not per and told and last in _UNITS:
        return f"{' '.join(told)} [{_UNITS[last]}]"
    return name.replace("_", " ")
