"""Public holidays of a country and region, from a maintained list of the laws that set them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from findhold.dates.closures import Closure
from findhold.errors import BadInput, UnknownName

_ENGLISH = ("en_GB", "en_US")


@dataclass(frozen=True, slots=True, kw_only=True)
class PublicHolidays:
    """Public holidays of some years, each as a closure of one day, and the years that the list does not reach."""

    closures: tuple[Closure, ...]
    unknown_years: tuple[int, ...] = ()


def country_code(name: str, where: str = "") -> str:
    """The two letters of a country, from them, from its three letters or from its English name.

    Raises
    ------
    UnknownName : no such country; near names are offered.
    """
    names, codes = _countries()
    wanted = " ".join(name.split()).casefold()
    code = names.get(wanted) or codes.get(wanted)
    if code is None:
        known = [*names, *codes.values()] if len(wanted) <= 3 else list(names)
        raise UnknownName("country", name, [word if len(word) <= 3 else word.title() for word in known], where=where)
    return code


def region_code(country: str, name: str, where: str = "") -> str:
    """The code of a country's region, from it or from the region's name.

    Raises
    ------
    UnknownName : the country has no such region; near names are offered.
    BadInput : the list knows no regions of this country.
    """
    listed = _listed(country)
    known = {code.casefold(): code for code in listed.subdivisions}
    known |= {alias.casefold(): code for alias, code in listed.subdivisions_aliases.items()}
    if not known:
        raise BadInput(
            f"public holidays of {country} are the same everywhere, or no regions are known",
            where=where,
            do="Leave the region out",
        )
    code = known.get(" ".join(name.split()).casefold())
    if code is None:
        words = [*listed.subdivisions_aliases, *listed.subdivisions]
        raise UnknownName(f"region of {country}", name, list(dict.fromkeys(words)), where=where)
    return str(code)


def public_holidays(country: str, region: str, first: date, last: date, where: str = "") -> PublicHolidays:
    """Every public holiday from one day to another, substitute days included.

    Not for days that a government proclaims after this program's list was made, and not for what a unit itself grants.

    Parameters
    ----------
    country, region : codes or English names; region "" for the days that the whole country has.
    first, last : both included.
    where : what names the country, for the error.

    Returns
    -------
    Closures of one day each in order, and the years outside the list, for which nothing is known.

    Raises
    ------
    UnknownName : no such country or region.

    Source
    ------
    [holidays-library], seen: compared day by day with eight regions' lists and with Easter reckoned independently.
    """
    code = country_code(country, where)
    part = region_code(code, region, where) if region.strip() else None
    years = range(first.year, last.year + 1)
    listed = _listed(code)
    known = [year for year in years if listed.start_year <= year <= listed.end_year]
    found = _days(code, part, tuple(known)) if known else {}
    return PublicHolidays(
        closures=tuple(
            Closure(first_day=day, last_day=day, reason=name)
            for day, name in sorted(found.items())
            if first <= day <= last
        ),
        unknown_years=tuple(year for year in years if year not in known),
    )


@cache
def _countries() -> tuple[dict[str, str], dict[str, str]]:
    """Codes by English name and by any code, in lower case."""
    from holidays.registry import COUNTRIES

    names: dict[str, str] = {}
    codes: dict[str, str] = {}
    for module, (_, code, *others) in COUNTRIES.items():
        names[module.replace("_", " ")] = code
        codes |= {other.casefold(): code for other in (code, *others)}
    return names, codes


@cache
def _listed(code: str) -> Any:
    from holidays import country_holidays

    return country_holidays(code)


def _days(code: str, region: str | None, years: tuple[int, ...]) -> dict[date, str]:
    from holidays import country_holidays

    listed = _listed(code)
    own = str(listed.default_language or "")
    language = own if own.startswith("en") else next((n for n in _ENGLISH if n in listed.supported_languages), None)
    return dict(country_holidays(code, subdiv=region, years=years, language=language))
