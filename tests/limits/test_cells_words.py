"""Cells that are no quantities: numbers on the site, flags, lists, choices and dates."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.errors import BadInput
from findhold.register.cells import identifier, read_column, split_list
from findhold.register.kinds import FIELD_TYPES, KINDS, all_heading_words, choice_words, heading_words, plain
from findhold.register.numbers import ColumnFacts

FIND = KINDS["find"].fields
SUMMER = timezone(timedelta(hours=1))


def read(cells, name, zone="Europe/London", **answers):
    return read_column(cells, FIND[name], ColumnFacts(heading="Head", answers=answers), zone)


@pytest.mark.parametrize(
    "typed",
    [
        "37",
        "(37)",
        "[37]",
        "<37>",
        "{37}",
        "△37",
        "Δ37",
        "◇ 37",
        "#37",
        "No. 37",
        "Nr 37",
        " 37 ",
        "\u00a037",
        "'37",
        "37.0",
        37,
        37.0,
        "⟨37⟩",
    ],
)
def test_brackets_and_symbols_come_off_a_number_and_say_nothing(typed):
    assert identifier(typed) == "37"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("SF37", "SF37"),
        ("37.1", "37.1"),
        ("B216", "B216"),
        ("216/2", "216/2"),
        ("037", "037"),
        ("37 a", "37 a"),
        (37.5, "37.5"),
    ],
)
def test_what_belongs_to_a_number_stays(typed, kept):
    assert identifier(typed) == kept


@pytest.mark.parametrize("typed", [datetime(2026, 2, 1), date(2026, 2, 1), True, "()", "1.2E+05", "1,234"])
def test_a_number_that_the_spreadsheet_spoilt_is_a_mistake(typed):
    with pytest.raises(BadInput):
        identifier(typed)


@pytest.mark.parametrize("typed", ["yes", "Y", "x", "ja", "Oui", "TRUE", "1", "✓", True])
def test_every_way_to_say_yes_is_yes(typed):
    assert read([typed], "human_remains").values == [True]


@pytest.mark.parametrize("typed", ["no", "N", "nein", "non", "FALSE", "0", "none", False, 0])
def test_every_way_to_say_no_is_no(typed):
    assert read([typed], "human_remains").values == [False]


def test_an_empty_flag_says_nothing_and_a_doubtful_one_is_a_mistake():
    reading = read(["", "-", "possibly", "?"], "human_remains")
    assert reading.values == [None] * 4
    assert set(reading.bad) == {2, 3}


@pytest.mark.parametrize(
    "typed",
    [
        "lipid; 14C",
        "lipid, 14C",
        "lipid/14C",
        "lipid + 14C",
        "lipid & 14C",
        "lipid and 14C",
        "lipid;14C;",
        "lipid\n14C",
        "lipid; lipid; 14C",
    ],
)
def test_a_list_is_split_at_every_mark_people_use(typed):
    assert split_list(typed) == ("lipid", "14C")


@pytest.mark.parametrize(
    ("typed", "state"),
    [
        ("damp", "damp"),
        ("W/L", "waterlogged"),
        ("Waterlogged", "waterlogged"),
        ("trocken", "dry"),
        ("feucht", "damp"),
        ("sec", "dry"),
    ],
)
def test_trade_words_and_other_languages_are_choices(typed, state):
    assert read([typed], "state").values == [state]


def test_wet_can_be_damp_or_waterlogged_so_it_is_asked_once_for_the_column():
    reading = read(["wet", "damp", "wet"], "state")
    (question,) = reading.questions
    assert question.choices == ("damp", "waterlogged")
    assert reading.values == [None, "damp", None]
    assert read(["wet", "damp", "wet"], "state", **{question.about: "waterlogged"}).values == [
        "waterlogged",
        "damp",
        "waterlogged",
    ]


def test_an_unknown_choice_is_a_mistake_with_the_choices_and_the_near_one():
    wrong, allowed = read(["waterloged"], "state").bad[0]
    assert "did you mean waterlogged?" in wrong
    assert allowed == "dry, damp, waterlogged"


def test_an_error_of_the_spreadsheet_is_a_mistake_in_any_field():
    for name in ("what", "number", "mass_kg", "state", "exposed_at"):
        assert "error of the spreadsheet" in read(["#REF!"], name).bad[0][0]


def test_dashes_and_the_like_are_empty_and_told():
    reading = read(["-", "n/a", "12"], "mass_kg", **{"Head: unit": "g"})
    assert reading.values == [None, None, 0.012]
    assert any("read as empty" in note for note in reading.notes)
    assert read(["-"], "what").values == ["-"]


def test_a_date_that_only_the_whole_column_decides_is_decided_by_it():
    assert read(["03/07/2026", "27/07/2026"], "found_on").values == [date(2026, 7, 3), date(2026, 7, 27)]
    assert read(["03/07/2026", "07/27/2026"], "found_on").values == [date(2026, 3, 7), date(2026, 7, 27)]


def test_a_date_that_nothing_decides_is_a_question_and_its_answer_is_obeyed():
    reading = read(["03/07/2026", "04/08/2026"], "found_on")
    (question,) = reading.questions
    assert reading.values == [None, None]
    answered = read(["03/07/2026", "04/08/2026"], "found_on", **{question.about: "month first"})
    assert answered.values == [date(2026, 3, 7), date(2026, 4, 8)]


def test_times_take_the_zone_of_the_site_with_the_offset_of_their_day():
    reading = read(["28/07/2026 10:20", "28/01/2026 10:20", datetime(2026, 7, 28, 10, 20)], "exposed_at")
    summer, winter, typed = reading.values
    assert summer == typed == datetime(2026, 7, 28, 10, 20, tzinfo=SUMMER)
    assert winter == datetime(2026, 1, 28, 10, 20, tzinfo=UTC)


def test_times_without_any_zone_are_asked_about_and_broken_dates_told_with_it():
    reading = read(["28/07/2026 10:20", "31/06/2026"], "exposed_at", zone=None)
    (question,) = reading.questions
    assert "zone" in question.about
    assert set(reading.bad) == {1}
    answered = read(["28/07/2026 10:20"], "exposed_at", zone=None, **{question.about: "Europe/London"})
    assert answered.values == [datetime(2026, 7, 28, 10, 20, tzinfo=SUMMER)]


def test_a_time_that_happens_twice_or_never_is_a_mistake_also_from_a_workbook():
    twice, never = datetime(2026, 10, 25, 1, 30), datetime(2026, 3, 29, 1, 30)  # Britain's changes of 2026
    assert set(read([twice, never, datetime(2026, 7, 1, 1, 30)], "exposed_at").bad) == {0, 1}


def test_a_day_without_a_time_takes_the_edge_that_never_flatters_the_wait():
    exposed = read([datetime(2026, 7, 28), "29.07.2026"], "exposed_at")
    assert exposed.values == [datetime(2026, 7, d, 0, 0, tzinfo=SUMMER) for d in (28, 29)]
    assert exposed.day_only == {0, 1}
    opened = read(["29.07.2026"], "open_at")
    assert opened.values == [datetime(2026, 7, 29, 23, 59, tzinfo=SUMMER)]
    assert any("23:59, the latest" in note for note in opened.notes)


def test_maße_and_masse_are_two_headings():
    assert plain("Maße") != plain("Masse")
    assert heading_words("find")["maße"] == ("size",)
    assert heading_words("find")["masse"] == ("mass_kg",)


def test_the_field_table_is_whole():
    for kind in KINDS.values():
        assert all(name in kind.fields for name in kind.key)
        assert kind.fields[kind.key[0]].required
        for spec in kind.fields.values():
            assert spec.type in FIELD_TYPES
            if spec.type == "choice":
                words = choice_words(spec.word_list)
                assert {choice for meant in words.values() for choice in meant} <= set(spec.choices)
            for word, names in heading_words(kind.name).items():
                assert len(names) == 1 or (kind.name, word) in {("find", "description"), ("box", "wall")}
    assert "find no" in all_heading_words()


@given(st.integers(1, 10**9), st.sampled_from(["{}", "({})", "[{}]", "<{}>", " {} ", "{}.0", "△{}"]))
def test_any_number_comes_out_of_any_bracket(number, form):
    assert identifier(form.format(number)) == str(number)


def test_cells_of_a_workbook_become_text_without_a_needless_nought():
    assert read([5.0, 5.25, True, 7, "a  b"], "what").values == ["5", "5.25", "yes", "7", "a b"]
    assert "date" in read([datetime(2026, 2, 1)], "what").bad[0][0]


def test_a_workbook_date_is_taken_and_a_bare_number_or_time_is_not():
    reading = read([date(2026, 7, 28), datetime(2026, 7, 28, 9), 46231.5], "found_on")
    assert reading.values[:2] == [date(2026, 7, 28)] * 2
    assert set(reading.bad) == {2}
