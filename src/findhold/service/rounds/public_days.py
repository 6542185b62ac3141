"""Public holidays as the settings ask for them; closures of the whole unit like any other."""

from __future__ import annotations

from datetime import date, timedelta

from findhold.dates.closures import Closure
from findhold.dates.holidays import public_holidays
from findhold.service.rounds.chosen import CalendarChosen, read_calendar

BEHIND, AHEAD = timedelta(days=120), timedelta(days=400)
"""How far public holidays are looked up before and after a day."""


def holidays_chosen(chosen: CalendarChosen, today: date) -> tuple[tuple[Closure, ...], tuple[str, ...]]:
    """Public holidays round a day, and what is to be said of them."""
    if not chosen.country:
        words = 'Public holidays are not known: write [calendar] country = "GB" and region = "ENG" in settings.toml.'
        return (), (words,)
    where = "settings.toml [calendar]"
    found = public_holidays(chosen.country, chosen.region, today - BEHIND, today + AHEAD, where)
    lacking = ", ".join(str(year) for year in found.unknown_years)
    notes = (f"Public holidays of {lacking} are beyond the list: enter them as closures.",) if lacking else ()
    return found.closures, notes


def with_holidays(
    closures: tuple[tuple[str | None, Closure], ...], today: date
) -> tuple[tuple[str | None, Closure], ...]:
    """Closures of the register and the public holidays that no closure of the whole unit holds already."""
    whole = [closure for store, closure in closures if not store]
    found, _ = holidays_chosen(read_calendar(), today)
    more = [one for one in found if not any(closure.holds(one.first_day) for closure in whole)]
    return (*closures, *((None, one) for one in more))
