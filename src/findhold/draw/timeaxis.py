"""The time axis: instants to millimetres, days ticked in a site's zone, words at stems kept apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import Mark, Path, Pen, Text

DATE_MM = 2.1
"""Font size of the dates [mm]."""
DATES_DEPTH_MM = 4.6
"""From the axis to the foot of the dates [mm]."""
_FINE = Pen(width_mm=0.13)
_STEPS_DAYS = (1, 2, 7, 14, 28, 56, 112, 224, 448, 896)
_OVERHANG_MM = 4.0
"""How far the last date may reach beyond the axis [mm]."""
_HOURS_FROM_MM = 16.0
"""A day at least this long [mm] is ticked every six hours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeRuler:
    """Instants to millimetres along an axis; in UTC, because a zone's own clock hides the hour it skips."""

    start: datetime
    end: datetime
    zone: tzinfo
    left_mm: float
    right_mm: float

    def x(self, at: datetime) -> float:
        """Where an instant stands [mm]."""
        share = (at - self.start) / (self.end - self.start)
        return self.left_mm + share * (self.right_mm - self.left_mm)

    def day(self, on: date) -> float:
        """Where a day begins, kept inside the axis [mm]."""
        return self.x(min(max(self.midnight(on), self.start), self.end))

    def midnight(self, on: date) -> datetime:
        """The instant at which a day begins at the site."""
        return self.clock(on, 0)

    def clock(self, on: date, hour: int) -> datetime:
        """The instant at which the site's clock shows an hour of a day."""
        return datetime.combine(on, time(hour), self.zone).astimezone(UTC)


def day_words(on: date, *, year: bool = False, weekday: bool = True) -> str:
    """A day as it is said: Tue 11 Aug, with the year where it is not clear."""
    names = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    lead = f"{names[on.weekday()]} " if weekday else ""
    return f"{lead}{on.day} {months[on.month - 1]}" + (f" {on.year}" if year else "")


def day_ticks(ruler: TimeRuler, axis_mm: float) -> list[Mark]:
    """Weeks (days in a short axis) marked off under the axis, as many of them dated as have room.

    Parameters
    ----------
    ruler : the axis; the last date may reach 4 mm beyond its right end.
    axis_mm : the axis's height on the paper [mm].
    """
    first, last = ruler.start.astimezone(ruler.zone).date(), ruler.end.astimezone(ruler.zone).date()
    per_day = (ruler.right_mm - ruler.left_mm) / ((ruler.end - ruler.start) / timedelta(days=1))
    wide = text_width_mm("28 Aug 2028", DATE_MM) + 5.0  # 5: the first and last may be moved inwards
    short = (last - first).days < 14
    step = next((days for days in _STEPS_DAYS if (short or days >= 7) and days * per_day >= wide), _STEPS_DAYS[-1])
    fine = 1 if per_day >= 1.2 else 7 if 7 * per_day >= 1.2 else step
    monday = first - timedelta(days=first.weekday())
    marks: list[Mark] = []
    year = None
    for number in range((last - monday).days + 1):
        on = monday + timedelta(days=number)
        at = ruler.midnight(on)
        dated = number % step == 0 if step >= 7 else (on - first).days % step == 0
        if per_day >= _HOURS_FROM_MM:
            marks += _hour_ticks(ruler, on, axis_mm)
        if not ruler.start <= at <= ruler.end or not (dated or number % fine == 0):
            continue
        x = ruler.x(at)
        long = 1.7 if dated else 1.2 if number % 7 == 0 else 0.7
        marks.append(Path(points=((x, axis_mm), (x, axis_mm + long)), pen=_FINE))
        if dated and ruler.left_mm - 2.0 <= x <= ruler.right_mm + 2.0:
            words = day_words(on, year=on.year != year, weekday=False)
            half = text_width_mm(words, DATE_MM) / 2
            place = min(max(x, half + 0.5), ruler.right_mm + _OVERHANG_MM - half - 0.3)
            marks.append(Text(at=(place, axis_mm + 4.0), text=words, size_mm=DATE_MM, anchor="middle"))
            year = on.year
    return marks


def _hour_ticks(ruler: TimeRuler, on: date, axis_mm: float) -> list[Mark]:
    """A day's sixth, twelfth and eighteenth hour on the site's clock."""
    inside = [at for at in (ruler.clock(on, hour) for hour in (6, 12, 18)) if ruler.start <= at <= ruler.end]
    return [Path(points=((ruler.x(at), axis_mm), (ruler.x(at), axis_mm + 0.5)), pen=_FINE) for at in inside]


def tiers(stems_mm: Sequence[float], widths_mm: Sequence[float], *, gap_mm: float = 2.0) -> list[int]:
    """Tiers for words that stand at the right of their stems: no two meet and no stem runs through a word.

    Parameters
    ----------
    stems_mm : places of the stems, from left to right [mm].
    widths_mm : widths of the words [mm].
    gap_mm : clear space kept between a word and the next stem [mm].

    Returns
    -------
    One tier for each, 0 the lowest.
    """
    placed: list[tuple[float, int]] = []
    for x, width in reversed(list(zip(stems_mm, widths_mm, strict=True))):
        met = [tier for stem, tier in placed if stem <= x + width + gap_mm]
        placed.append((x, 1 + max(met) if met else 0))
    return [tier for _, tier in reversed(placed)]


def right_room_mm(shares: Sequence[float], widths_mm: Sequence[float], *, left_mm: float, width_mm: float) -> float:
    """The least room at the right end of an axis, so that words at the right of their stems stay on the paper.

    Parameters
    ----------
    shares : where each stem stands along the axis, 0 to 1 [fraction].
    widths_mm : widths of the words, their distance from the stem included [mm].
    left_mm, width_mm : where the axis begins, and the paper [mm].

    Returns
    -------
    The room [mm]; not above zero when any room will do.
    """
    needs = [
        (left_mm + share * (width_mm - left_mm) + width - width_mm) / share
        for share, width in zip(shares, widths_mm, strict=True)
        if share > 0
    ]
    return max(needs, default=0.0)
