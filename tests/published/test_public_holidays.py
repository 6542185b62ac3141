"""Public holidays against a list typed from eight regions, and Easter against an independent reckoning."""

from datetime import date, timedelta

import pytest
from dateutil.easter import easter

from findhold.dates.holidays import country_code, public_holidays, region_code
from findhold.errors import BadInput, UnknownName

REGIONS = {
    "England": ("GB", "ENG"),
    "Scotland": ("United Kingdom", "Scotland"),
    "Northern Ireland": ("GBR", "NIR"),
    "Ireland": ("IE", ""),
    "France": ("FR", ""),
    "Netherlands": ("Netherlands", ""),
    "Germany (federal)": ("DE", ""),
    "Germany Bavaria": ("DE", "Bayern"),
}
EASTER_MONDAY = {"England", "Northern Ireland", "Ireland", "France", "Netherlands", "Germany (federal)"}


def days(region, first, last):
    found = public_holidays(*REGIONS[region], first, last)
    assert found.unknown_years == ()
    return {closure.first_day for closure in found.closures}


@pytest.mark.parametrize("region", REGIONS)
def test_the_holidays_of_three_years_are_those_of_the_list(region, authority):
    # Table records_public_holidays_2025_2027.csv, eight regions.
    listed = {
        date.fromisoformat(row["date"])
        for row in authority("records_public_holidays_2025_2027.csv")
        if row["region"] == region
    }
    assert listed
    assert days(region, date(2025, 1, 1), date(2027, 12, 31)) == listed


@pytest.mark.parametrize("region", sorted(EASTER_MONDAY))
def test_easter_monday_of_a_century_is_the_day_after_an_independent_easter(region):
    found = days(region, date(2000, 1, 1), date(2099, 12, 31))
    assert all(easter(year) + timedelta(days=1) in found for year in range(2000, 2100))


@pytest.mark.parametrize(
    "sunday",
    # Gregorian Easter Sundays as printed: the latest possible, and some of this century.
    ["1943-04-25", "2038-04-25", "1961-04-02", "2000-04-23", "2024-03-31", "2025-04-20", "2026-04-05", "2027-03-28"],
)
def test_printed_easters_are_followed_by_a_holiday_in_england(sunday):
    monday = date.fromisoformat(sunday) + timedelta(days=1)
    assert monday in days("England", monday, monday)


def test_good_friday_is_a_holiday_in_england_two_days_before_an_independent_easter():
    found = days("England", date(2000, 1, 1), date(2099, 12, 31))
    assert all(easter(year) - timedelta(days=2) in found for year in range(2000, 2100))


def test_an_unknown_country_or_region_offers_near_names():
    with pytest.raises(UnknownName, match="United Kingdom"):
        country_code("Untied Kingdom", "settings.toml [calendar]")
    with pytest.raises(UnknownName, match="Scotland"):
        region_code("GB", "Scottland")
    with pytest.raises(BadInput, match="same everywhere"):
        region_code("IE", "Munster")


def test_years_beyond_the_list_are_told_and_not_guessed():
    found = public_holidays("GB", "ENG", date(2100, 12, 1), date(2101, 12, 31))
    assert found.unknown_years == (2101,)
    assert {closure.first_day.year for closure in found.closures} == {2100}
