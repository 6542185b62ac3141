"""Headings as people write them and the fields they mean; what is loose is asked, what is settled is kept."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.errors import BadInput, UnknownName
from findhold.register.kinds import KINDS
from findhold.register.mapping import IGNORE, Mapping, fitted, from_text, propose, to_text
from findhold.register.readfile import read_sheet


def sheet_of(*headings, name="file.csv"):
    return read_sheet((";".join(headings) + "\n" + ";".join(["a1"] * len(headings)) + "\n").encode(), name)


@pytest.mark.parametrize(
    ("headings", "kind", "columns"),
    [
        ("SF No.|Cxt|Object|Wt (g)", "find", "number context what mass_kg"),
        ("Fund-Nr.|Fundart|Befund|Bezeichnung|Masse (g)", "find", "number kind context what mass_kg"),
        ("Context|Type|Description|Cut", "context", "number type description cut"),
        ("Sample No|Context|Vol (l)|With find", "sample", "number context volume_l find"),
        ("Échantillon|US|Volume (l)|Analyses", "sample", "number context volume_l analyses"),
        ("Name|Initials|Role", "person", "name initials role"),
        ("Store|Type|Temp °C|RH %", "store", "name kind temp_c rh"),
        (
            "Box|Inside L (mm)|Inside W (mm)|Inside H (mm)|Wall|Wall (mm)",
            "box",
            "name inside_l_mm inside_w_mm inside_h_mm wall wall_mm",
        ),
        (
            "SF number (triangle)|Context number|Weight in grams|Human?",
            "find",
            "number context mass_kg human_remains",
        ),
        ("From|To|Reason", "closure", "first_day last_day reason"),
    ],
)
def test_headings_of_the_trade_are_understood_without_a_question(headings, kind, columns):
    mapping = propose(sheet_of(*headings.split("|")))
    assert mapping.kind == kind
    assert mapping.questions == ()
    assert list(mapping.columns.values()) == columns.split()
    assert mapping.confident


@pytest.mark.parametrize("kind", list(KINDS))
def test_the_field_names_themselves_are_headings(kind):
    names = [name for name in KINDS[kind].fields if name != "size"]
    assert list(propose(sheet_of(*names), kind).columns.values()) == names


def test_a_unit_in_the_heading_chooses_between_two_fields_of_one_word():
    mapping = propose(sheet_of("Box", "Wall (mm)", "Inside (cm)"), "box")
    assert mapping.columns == {"Box": "name", "Wall (mm)": "wall_mm", "Inside (cm)": "size"}
    assert mapping.units == {"Wall (mm)": "mm", "Inside (cm)": "cm"}
    assert mapping.confident


def test_a_heading_that_is_nearly_a_field_is_asked_about_and_the_answer_is_kept():
    sheet = sheet_of("SF No", "Contxt", "Object")
    mapping = propose(sheet, "find")
    (question,) = mapping.questions
    assert question.about == "column Contxt"
    assert question.choices[0] == "context"
    settled = propose(sheet, "find", {"column Contxt": "context"})
    assert settled.columns["Contxt"] == "context"
    assert settled.confident


def test_two_columns_for_one_field_are_asked_about():
    sheet = sheet_of("SF No", "Context", "Weight (g)", "Mass (g)")
    mapping = propose(sheet, "find")
    assert [q.about for q in mapping.questions] == ["column Mass (g)"]
    assert propose(sheet, "find", {"column Mass (g)": IGNORE}).confident


def test_a_needed_column_that_is_not_there_is_asked_for():
    mapping = propose(sheet_of("SF No", "Where it lay", "Object"), "find")
    (question,) = mapping.questions
    assert question.about == "field context"
    assert "Where it lay" in question.choices
    sheet = sheet_of("SF No", "Where it lay", "Object")
    assert propose(sheet, "find", {"field context": "Where it lay"}).columns["Where it lay"] == "context"


def test_small_find_numbers_say_registered_by_their_heading_and_no_bracket_does():
    assert propose(sheet_of("SF No", "Context"), "find").fixed == {"kind": "registered"}
    plain_number = propose(sheet_of("No", "Context"), "find")
    assert plain_number.fixed == {}
    assert [q.about for q in plain_number.questions] == ["field kind"]
    assert propose(sheet_of("No", "Context"), "find", {"field kind": "bulk"}).fixed == {"kind": "bulk"}


def test_headings_that_fit_no_kind_or_several_are_asked_about():
    mapping = propose(sheet_of("Alpha", "Beta"))
    assert (mapping.kind, mapping.confident) == ("", False)
    assert mapping.questions[0].about == "kind"
    assert propose(sheet_of("Alpha", "Beta"), answers={"kind": "person"}).kind == "person"


def test_a_file_of_which_little_is_understood_is_asked_about():
    mapping = propose(sheet_of("Context", "Alpha", "Beta", "Gamma"))
    assert [q.about for q in mapping.questions] == ["kind"]


def test_answers_about_one_number_or_one_file_are_not_kept_with_the_mapping():
    answers = {"find 37: context": "correct the ledger", "missing level": "leave empty", "State: wet": "damp"}
    mapping = Mapping(kind="find", columns={"A": "number"}, answers=answers)
    assert from_text(to_text(mapping)).answers == {"State: wet": "damp"}


def test_columns_that_mean_nothing_here_are_listed_as_not_read():
    assert propose(sheet_of("SF No", "Context", "Phase of moon"), "find").unmapped == ("Phase of moon",)


TEXT = st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), min_size=1, max_size=20)


@given(
    st.dictionaries(TEXT, st.sampled_from(list(KINDS["find"].fields)), max_size=8),
    st.dictionaries(TEXT, TEXT, max_size=4),
    st.lists(TEXT, max_size=3),
)
def test_a_mapping_file_gives_back_the_mapping(columns, answers, ignored):
    by_field = {name: heading for heading, name in columns.items()}
    columns = {heading: name for name, heading in by_field.items()}
    mapping = Mapping(kind="find", columns=columns, answers=answers, unmapped=tuple(ignored))
    assert from_text(to_text(mapping)) == mapping


def test_a_remembered_mapping_is_laid_on_a_new_file():
    kept = from_text(to_text(propose(sheet_of("SF No", "Context", "Wt (g)"), "find")))
    laid = fitted(kept, sheet_of("Context", "SF No", "New column", "Wt (g)"))
    assert laid.columns == kept.columns
    assert laid.unmapped == ("New column",)
    assert laid.units == {"Wt (g)": "g"}
    assert laid.fixed == {"kind": "registered"}


@pytest.mark.parametrize(
    ("text", "error", "told"),
    [
        ("kind = ", BadInput, "not TOML"),
        ('[columns]\n"A" = "number"', BadInput, "what the rows are"),
        ('kind = "finds"', UnknownName, "find"),
        ('kind = "find"\n[columns]\n"A" = "mass"', UnknownName, "mass_kg"),
        ('kind = "find"\n[column]\n"A" = "number"', UnknownName, "columns"),
        ('kind = "find"\n[columns]\n"A" = "number"\n"B" = "number"', BadInput, "two columns"),
        ('kind = "find"\n[columns]\n"A" = "mass_kg"\n[units]\n"A" = "mm"', BadInput, "does not fit"),
        ('kind = "find"\n[columns]\n"A" = "mass_kg"\n[units]\n"A" = "stone"', UnknownName, "unit"),
        ('kind = "find"\n[columns]\n"A" = "mass_kg"\n[units]\n"B" = "g"', UnknownName, "column"),
        ('kind = "find"\n[columns]\n"A" = 3', BadInput, "texts"),
        ('kind = "find"\nnot_read = "A"', BadInput, "no list"),
    ],
)
def test_a_wrong_mapping_file_is_refused_with_what_is_wrong(text, error, told):
    with pytest.raises(error, match=told):
        from_text(text)
