"""What is printed adds up, and no band is printed finer than it is wide nor narrower than it is."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.rounding import (
    as_typed,
    band_places,
    mass_places,
    told_band,
    told_expected,
    told_mass,
    told_parts,
    told_span,
)

MASSES = st.floats(min_value=0.0, max_value=80.0, allow_nan=False)


@given(st.lists(MASSES, min_size=1, max_size=9), st.sampled_from([2, 3]))
def test_printed_parts_add_up_to_the_printed_total(parts, places):
    told = told_parts(parts, places)
    unit = 10**places
    assert sum(round(float(text) * unit) for text in told) == round(float(f"{sum(parts):.{places}f}") * unit)
    assert all(abs(float(text) - part) <= 1.0 / unit + 1e-9 for text, part in zip(told, parts, strict=True))


@given(MASSES, st.floats(min_value=1e-5, max_value=2.0), st.floats(min_value=0.0, max_value=1.0))
def test_a_printed_band_holds_the_band_and_is_little_wider(low, width, share):
    high = low + width
    first, best, last = (float(text) for text in told_band(low, low + share * width, high))
    step = 10.0 ** -band_places(low, high)
    assert first <= low + 1e-6
    assert last >= high - 1e-6
    assert low - first <= step + 1e-9
    assert last - high <= step + 1e-9
    assert abs(best - (low + share * width)) <= step / 2 + 1e-9


@pytest.mark.parametrize(
    ("width_g", "places"),
    [(0.3, 4), (2.0, 4), (4.9, 4), (5.1, 3), (14.0, 3), (49.0, 3), (51.0, 2), (900.0, 2)],
)
def test_the_step_is_at_most_a_fifth_of_the_width(width_g, places):
    """Width over five, down to the next power of ten: 14 g / 5 = 2.8 g, so 1 g; never over 10 g nor under 0.1 g."""
    assert band_places(8.0, 8.0 + width_g / 1000) == places
    step_g = 1000 * 10.0**-places
    assert step_g <= width_g / 5 or math.isclose(step_g, 0.1)


def test_masses_have_one_form_everywhere():
    assert told_mass(8.0561) == "8.06 kg"
    assert told_mass(0.4534) == "0.453 kg"
    assert (mass_places(1.999), mass_places(2.0)) == (3, 2)
    assert told_span(13.0312, 13.0581) == "13.031 to 13.059 kg"


def test_a_mass_is_told_with_the_digits_it_was_typed_with():
    told = [
        as_typed(12.5, 100.0),
        as_typed(12.5, 1.0),
        as_typed(13.0, 1000.0),
        as_typed(0.4535, 0.1),
        as_typed(12.5, None),
    ]
    assert told == ["12.5 kg", "12.500 kg", "13 kg", "0.4535 kg", "12.50 kg"]


def test_before_any_weighing_the_planned_mass_is_told_and_no_band():
    edges = {"low_kg": 13.0514, "best_kg": 13.0522, "high_kg": 13.0529}
    assert told_expected(**edges, weighed=False) == "not weighed yet, planned about 13.05 kg"
    assert told_expected(**edges, weighed=True) == "13.0514 to 13.0529 kg"
