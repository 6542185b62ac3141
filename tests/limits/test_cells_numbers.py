"""Quantities as typed: marks, units and ranges; what a column cannot decide is asked."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.register.kinds import KINDS
from findhold.register.numbers import ColumnFacts, read_numbers, read_sizes, split_unit

FIND = KINDS["find"].fields
STORE = KINDS["store"].fields


def read(cells, field=FIND["mass_kg"], unit="g", **answers):
    return read_numbers(cells, field, ColumnFacts(heading="Mass", unit=unit, answers=answers))


@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        ("1250", 1250),
        ("12.5", 12.5),
        ("12,5", 12.5),
        ("0,125", 0.125),
        ("1,234.5", 1234.5),
        ("1.234,5", 1234.5),
        ("1 234,5", 1234.5),
        ("1\u00a0234.5", 1234.5),
        ("1\u202f234", 1234),
        ("1'234.50", 1234.5),
        ("1’234", 1234),
        ("1,234,567", 1234567),
        ("1.234.567", 1234567),
        ("1234,567", 1234.567),
        ("+12.5", 12.5),
        (".5", 0.5),
        ("12.", 12),
        ("12.5 g", 12.5),
        ("12.5g", 12.5),
        ("1.25 kg", 1250),
        ("1,25kg", 1250),
        ("250 mg", 0.25),
        ("2 lb", 2 * 453.59237),  # the pound is 0.45359237 kg by definition
        (12.5, 12.5),
        (12, 12),
    ],
)
def test_a_mass_that_can_be_read_one_way_is_read_that_way(typed, grams):
    reading = read([typed])
    assert reading.values == [pytest.approx(grams / 1000, rel=1e-12)]
    assert not reading.bad
    assert not reading.questions


@pytest.mark.parametrize(
    "typed",
    [
        "twelve",
        "1,23,4",
        "12.34.5",
        "1.234,5.6",
        "12 34",
        "12-14",
        "c. 12",
        "~12",
        "<5",
        "12?",
        "12 x",
        "12 mm",
        "--5",
        True,
    ],
)
def test_a_cell_that_is_no_plain_mass_is_a_mistake_that_says_what_is_allowed(typed):
    reading = read([typed])
    assert reading.values == [None]
    wrong, allowed = reading.bad[0]
    assert wrong
    assert allowed


def test_the_whole_column_decides_what_a_comma_before_three_digits_means():
    assert read(["1,234", "12,5"]).values == [0.001234, 0.0125]
    assert read(["1,234", "12.5"]).values == [1.234, 0.0125]
    assert read(["1,234", "1,234,000"]).values == [1.234, 1234.0]
    assert read(["1.234", "0.5"]).values == [0.001234, 0.0005]
    assert read(["1.234", "0,5"]).values == [1.234, 0.0005]


def test_a_comma_that_nothing_decides_is_a_question_with_both_readings():
    reading = read(["1,234", "2,500", "750"])
    (question,) = reading.questions
    assert "1.234 or 1234" in question.text
    assert question.choices == ("decimal comma", "thousands comma")
    assert reading.values == [None, None, 0.75]
    answered = read(["1,234", "2,500", "750"], **{question.about: "thousands comma"})
    assert answered.values == [1.234, 2.5, 0.75]
    assert not answered.questions
    answered = read(["1,234", "2,500", "750"], **{question.about: "decimal comma"})
    assert answered.values == [0.001234, 0.0025, 0.75]


def test_a_column_that_proves_both_marks_leaves_the_open_ones_to_a_question():
    reading = read(["1,5", "1.5", "1,234"])
    assert [q.about for q in reading.questions] == ["Mass: comma"]
    assert reading.values[:2] == [0.0015, 0.0015]


def test_a_reading_that_no_real_thing_can_have_is_ruled_out():
    level = FIND["level_m"]  # -500 to 9000 m: the highest ground on earth lies below it
    assert read(["51.620", "12.345"], level, "m").values == [51.62, 12.345]
    assert read(["1.234"], level, "m").questions


def test_pieces_are_whole_so_their_comma_can_only_be_thousands_unless_they_end_in_noughts():
    count = FIND["count"]
    assert read(["1,234", "5"], count, "").values == [1234, 5]
    assert read(["1.000", "12.000"], count, "").questions
    assert 0 in read(["1.5"], count, "").bad


def test_a_column_without_any_unit_is_asked_about_and_negative_cells_are_told_with_it():
    reading = read(["12", "-3", "0"], unit="")
    (question,) = reading.questions
    assert question.choices == ("g", "kg")
    assert set(reading.bad) == {1, 2}
    assert read(["12"], unit="", **{question.about: "kg"}).values == [12.0]


def test_a_unit_in_the_cell_goes_before_the_unit_of_the_heading():
    reading = read(["12", "1.5 kg"])
    assert reading.values == [0.012, 1.5]
    assert any("own unit" in note for note in reading.notes)


@pytest.mark.parametrize("typed", ["0", "-3", 0, -0.5, "6000 kg"])
def test_masses_and_lengths_above_zero_and_below_what_can_be_lifted_only(typed):
    assert 0 in read([typed]).bad


def test_humidity_typed_as_55_is_a_mistake_and_with_its_sign_or_heading_it_is_read():
    humidity = STORE["rh"]
    wrong, allowed = read(["55"], humidity, "").bad[0]
    assert "55 %" in allowed
    assert wrong == "is no fraction"
    assert read(["55 %", "0.6"], humidity, "").values == [0.55, 0.6]
    assert read([75], humidity, "%").values == [0.75]


def test_a_date_made_of_a_number_by_the_spreadsheet_is_a_mistake():
    from datetime import datetime

    assert "date" in read([datetime(2026, 2, 1)]).bad[0][0]


@pytest.mark.parametrize(
    "typed", ["320 x 280 x 240", "320×280×240 mm", "32 x 28 x 24 cm", "32 cm x 28 cm x 24 cm", "320*280*240"]
)
def test_a_size_in_one_cell_is_three_lengths_in_the_order_typed(typed):
    parts = read_sizes([typed], FIND["size"], ColumnFacts(heading="Size", unit="mm"))
    assert [part.values for part in parts] == [[320.0], [280.0], [240.0]]


def test_a_size_with_two_lengths_is_a_mistake():
    first, _, _ = read_sizes(["320 x 280"], FIND["size"], ColumnFacts(heading="Size", unit="mm"))
    assert "three lengths" in first.bad[0][1]


@pytest.mark.parametrize(
    ("heading", "name", "unit"),
    [
        ("Mass (g)", "Mass", "g"),
        ("L [cm]", "L", "cm"),
        ("mass_kg", "mass", "kg"),
        ("Gewicht in g", "Gewicht", "g"),
        ("Wt g", "Wt", "g"),
        ("Länge/cm", "Länge", "cm"),
        ("Level (m OD)", "Level", "m"),
        ("Temp °C", "Temp", "°C"),
        ("RH %", "RH", "%"),
        ("To (last day)", "To (last day)", ""),
        ("Item", "Item", ""),
        ("g", "g", ""),
    ],
)
def test_the_unit_of_a_heading_is_found_where_people_write_it(heading, name, unit):
    assert split_unit(heading) == (name, unit)


def written(value, decimal, thousands):
    text = f"{value:,.2f}"
    return text.replace(",", "T").replace(".", decimal).replace("T", thousands)


@given(
    st.lists(st.integers(1, 500_000_000), min_size=1, max_size=20),
    st.sampled_from(
        [(",", "."), (".", ","), (",", " "), (".", " "), (",", ""), (".", ""), (".", "'"), (",", "\u00a0")]
    ),
)
def test_any_amounts_written_in_one_manner_are_read_back(hundredths, manner):
    amounts = [n / 100 for n in hundredths]
    reading = read([written(a, *manner) for a in amounts])
    assert not reading.bad
    assert not reading.questions
    assert reading.values == pytest.approx([a / 1000 for a in amounts], rel=1e-11)


@pytest.mark.parametrize("typed", [float("inf"), float("nan"), "1 234x5", "1 234.5.6"])
def test_what_is_no_finite_number_is_a_mistake(typed):
    assert 0 in read([typed]).bad


def test_a_number_without_range_says_only_its_unit():
    assert read(["x"], FIND["easting_m"], "m").bad[0][1] == "one number in m"


def test_empty_sizes_are_empty():
    parts = read_sizes(["", "1 x 2 x 3"], FIND["size"], ColumnFacts(heading="Size", unit="cm"))
    assert [part.values for part in parts] == [[None, 10.0], [None, 20.0], [None, 30.0]]
