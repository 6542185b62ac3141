"""What a register may leave open or say wrongly, told or asked: headings of three countries, days, strays, units."""

from datetime import datetime, timedelta, timezone

import numpy as np
import pytest

from findhold.errors import UnknownName
from findhold.register.intake import Known, intake
from findhold.register.kinds import KINDS, heading_words
from findhold.register.mapping import answered, check_answers, from_text, propose, to_text
from findhold.register.positions import APART_ANSWER, STRAY_ANSWER
from findhold.register.readfile import read_sheet
from findhold.register.rules import SiteFacts
from findhold.register.strays import digits, find_strays, other_digits
from findhold.register.values import as_it_stands, before, worded

SITE = SiteFacts(code="WCR26", zone="Europe/London", grid="EPSG:27700", vertical_datum="ODN")
CONTEXTS = {number: {"number": number} for number in ("217", "218")}
SUMMER = timezone(timedelta(hours=1))
NOW = datetime(2026, 8, 1, 12, tzinfo=SUMMER)
KNOWN = Known(things={"context": CONTEXTS}, now=NOW)


def sheet_of(head, *rows, name="file.csv"):
    return read_sheet("\n".join([head, *rows]).encode(), name)


def take(head, *rows, kind="find", known=KNOWN, answers=None, site=SITE):
    sheet = sheet_of(head, *rows)
    given = answers or {}
    return intake(sheet, propose(sheet, kind, given), site=site, known=known, answers=given)


def asked(taken):
    return [question.about for question in taken.questions]


# --- headings -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("headings", "kind", "columns"),
    [
        ("Fridge name;Kind;Temp °C;Humidity %", "store", "name kind temp_c rh"),
        ("Cold store;Type;Set temp (°C);RH %", "store", "name kind temp_c rh"),
        ("Room name;Kind of store;°C", "store", "name kind temp_c"),
        ("Kühlschrank;Lagerart;Solltemperatur (°C);Luftfeuchtigkeit (%)", "store", "name kind temp_c rh"),
        ("Réfrigérateur;Type de stockage;Température (°C);Hygrométrie (%)", "store", "name kind temp_c rh"),
        ("SF;Ctx;Thing;To be analysed", "find", "number context what analyses"),
        ("Artefact no;Cxt no;Artefact;Analyses wanted", "find", "number context what analyses"),
        ("Fundzettel Nr.;Befund-Nr.;Objektart;Gewünschte Analysen", "find", "number context what analyses"),
        ("N° d'isolat;N° US;Dénomination;Analyses souhaitées", "find", "number context what analyses"),
        ("Sample no;Ctxt;Sampled on;Sampled by", "sample", "number context taken_on taken_by"),
        ("N° de prélèvement;N° US;Date du prélèvement;Préleveur", "sample", "number context taken_on taken_by"),
        ("Container type;Int length (mm);Int width (mm);Int height (mm)", "box",
         "name inside_l_mm inside_w_mm inside_h_mm"),
        ("Geschlossen von;Geschlossen bis;Grund", "closure", "first_day last_day reason"),
        ("Fermé du;Fermé jusqu'au;Motif", "closure", "first_day last_day reason"),
    ],
)  # fmt: skip
def test_headings_of_three_countries_are_understood(headings, kind, columns):
    mapping = propose(sheet_of(headings, ";".join("a1" for _ in headings.split(";"))))
    assert (mapping.kind, list(mapping.columns.values())) == (kind, columns.split())


@pytest.mark.parametrize("kind", list(KINDS))
def test_no_heading_word_is_an_empty_one_and_few_are_shared(kind):
    words = heading_words(kind)
    assert "" not in words
    shared = {word for word, fields in words.items() if len(fields) > 1}
    # A wall with a unit is its thickness; a description is what the find is, unless another column says that.
    assert shared == {"find": {"description"}, "box": {"wall"}}.get(kind, set())


def test_a_file_that_only_adds_to_known_finds_is_told_by_its_key():
    assert propose(sheet_of("SF no;E;N;Level", "37;1;2;3")).kind == "find"
    assert propose(sheet_of("No;E;N;Level", "37;1;2;3")).kind == ""


# --- cells that speak louder than the heading ---------------------------------------------------------------


def test_a_column_of_choices_under_another_heading_is_asked_about():
    taken = take("SF;Ctx;Type", "37;217;bulk", "41;218;registered")
    (question,) = taken.questions
    assert question.about == "column Type"
    assert question.choices == ("kind", "not used")
    assert "bulk, registered" in question.text
    kinds = take("SF;Ctx;Type", "37;217;bulk", "41;218;registered", answers={"column Type": "kind"})
    assert [row.fields["kind"] for row in kinds.new] == ["bulk", "registered"]
    left = take("SF;Ctx;Type", "37;217;bulk", answers={"column Type": "not used"})
    assert left.settled
    assert left.new[0].fields["other"] == {"Type": "bulk"}


def test_a_choice_offered_is_not_also_called_missing():
    taken = take("Find no;Ctx;Thing;Class", "37;217;jar;bulk")
    assert asked(taken) == ["column Class"]
    assert taken.mistakes == ()
    assert asked(take("Find no;Contxt;Kind", "37;217;bulk")) == ["column Contxt"]


def test_types_of_contexts_under_what_are_asked_about_and_descriptions_are_not():
    mapping = propose(sheet_of("Ctx;What;Notes", "1;cut;x", "2;fill;y"), "context")
    assert [(q.about, q.choices) for q in mapping.questions] == [("column What", ("type", "description"))]
    assert propose(sheet_of("Ctx;What;Notes", "1;cut of a pit;x", "2;fill;y"), "context").confident
    settled = propose(sheet_of("Ctx;What;Notes", "1;cut;x"), "context", {"column What": "type"})
    assert settled.confident
    assert settled.columns["What"] == "type"


@pytest.mark.parametrize(
    ("head", "row"),
    [
        ("SF;Ctx;Kind;Shade", "37;217;bulk;dry"),  # damp or dry under a heading of the unit's own
        ("SF;Ctx;Kind;Round it", "37;217;bulk;loam"),
    ],
)
def test_other_lists_of_choices_are_noticed_too(head, row):
    assert len(take(head, row).questions) == 1


def test_empty_and_mixed_columns_and_those_whose_field_is_there_are_no_question():
    assert take("SF;Ctx;Type", "37;217;").settled
    assert take("SF;Ctx;Type", "37;217;bulk", "41;218;jar").settled
    assert take("SF;Ctx;Kind;Type", "37;217;bulk;bulk").settled
    # One word in a note is free text.
    assert take("SF;Ctx;Note", "37;217;dry", "41;218;", "42;218;").settled


# --- answers ------------------------------------------------------------------------------------------------


def test_answers_that_name_nothing_are_refused():
    sheet = sheet_of("SF;Ctx;Type", "37;217;bulk")
    for about, answer in (("column Typ", "kind"), ("column Type", "kin"), ("field kin", "Type"), ("field kind", "Typ")):
        with pytest.raises(UnknownName):
            check_answers(sheet, "find", {about: answer})
    check_answers(sheet, "find", {"field kind": "bulk", "column Type": "not read", "column D: unit": "g"})


def test_a_kept_mapping_is_corrected_by_an_answer_and_a_displaced_column_is_kept_as_it_stands():
    sheet = sheet_of("SF;Ctx;Where;Wt (g)", "37;217;218;12")
    kept = from_text(to_text(propose(sheet, "find")))
    assert kept.unmapped == ("Where",)
    corrected = answered(kept, sheet, {"field context": "Where"})
    assert corrected.columns == {"SF": "number", "Wt (g)": "mass_kg", "Where": "context"}
    assert corrected.unmapped == ("Ctx",)
    assert corrected.units == {"Wt (g)": "g"}
    assert answered(kept, sheet, {}).columns == kept.columns


def test_a_mapping_file_of_the_first_version_is_still_read():
    assert from_text('kind = "find"\nnot_read = ["A"]\nnot_used = ["B"]\n').unmapped == ("B", "A")


def test_columns_are_offered_the_likeliest_first():
    mapping = propose(sheet_of("SF;Colour;Cntext number;Shade", "1;2;3;4"), "find")
    about = {question.about: question for question in mapping.questions}
    question = about.get("field context") or about["column Cntext number"]
    assert question.choices[0] in {"Cntext number", "context"}


# --- days ---------------------------------------------------------------------------------------------------


DAYS = "SF;Ctx;Exposed;Packed;Planned opening"


@pytest.mark.parametrize(
    ("days", "wrong"),
    [
        ("2026-07-28 10:20;2026-07-27 09:00;", [("Packed", "first exposed, which is 2026-07-28 10:20")]),
        (";2026-07-28 10:20;2026-07-27 09:00", [("Planned opening", "lid closed, which is 2026-07-28 10:20")]),
        ("2026-07-28 10:20;;2026-07-27 09:00", [("Planned opening", "first exposed, which is 2026-07-28 10:20")]),
        ("2026-07-28 10:20;2026-07-29 10:20;2026-07-27 09:00", [("Planned opening", "first exposed")]),
        ("2026-07-28 10:20;2026-07-28;2026-07-28", []),  # a day without a time is no earlier than a time on it
        ("2026-07-28;2026-07-28 09:00;2026-07-28", []),
        ("2026-07-28;2026-07-27;", [("Packed", "first exposed")]),
    ],
)
def test_days_out_of_their_order_are_mistakes_with_both_values(days, wrong):
    taken = take(DAYS, f"37;217;{days}")
    assert [m.column for m in taken.mistakes] == [column for column, _ in wrong]
    for mistake, (_, words) in zip(taken.mistakes, wrong, strict=True):
        assert f"lies before {words}" in mistake.wrong
        assert mistake.value.startswith("2026-07-27")


def test_days_are_compared_with_those_of_the_ledger():
    known = KNOWN.plus(take("SF;Ctx;Exposed;Planned opening", "37;217;2026-07-28 10:20;2026-07-30 09:00"))
    early = take("SF;Packed", "37;2026-07-27 09:00", known=known)
    assert "lies before first exposed, which is 2026-07-28 10:20 in the ledger" in early.mistakes[0].wrong
    late = take("SF;Packed", "37;2026-07-31 09:00", known=known)
    assert "lies after planned opening, which is 2026-07-30 09:00 in the ledger" in late.mistakes[0].wrong
    assert take("SF;Packed", "37;2026-07-28 12:00", known=known).settled


def test_a_find_exposed_after_the_import_is_asked_about_once_for_its_column():
    rows = ("37;217;2062-07-28 10:20", "41;218;2062-07-28", "42;218;2026-08-02 11:00")
    taken = take("SF;Ctx;Exposed", *rows)
    (question,) = taken.questions
    assert question.about == "Exposed: days to come"
    assert "2026-08-01" in question.text
    assert "rows 2 and 3: for example 2062-07-28 10:20" in question.text
    sure = take("SF;Ctx;Exposed", *rows, answers={question.about: "the days are right"})
    assert sure.settled
    assert take("SF;Ctx;Exposed", *rows, known=KNOWN.plus(sure)).settled
    assert take("SF;Ctx;Planned opening", "37;217;2062-07-28 10:20").settled
    assert take("SF;Ctx;Exposed", *rows, known=Known(things=KNOWN.things)).settled


@pytest.mark.parametrize(
    ("kind", "head", "row", "about"),
    [
        ("find", "SF;Ctx;Found on", "37;217;2026-09-01", ["Found on: days to come"]),
        ("sample", "Sample;Ctx;Taken on", "3;217;2026-09-01", ["Taken on: days to come"]),
        ("context", "Context;Excavated", "3;2026-09-01", ["Excavated: days to come"]),
        ("closure", "From;To", "2026-09-01;2026-09-02", []),
    ],
)
def test_what_has_happened_lies_behind_and_a_closure_may_lie_ahead(kind, head, row, about):
    assert asked(take(head, row, kind=kind)) == about


# --- filling ------------------------------------------------------------------------------------------------


def test_what_fills_an_empty_place_is_no_difference_and_needs_no_other_column():
    known = KNOWN.plus(take("Find no;Ctx;Kind;What", "37;217;bulk;jar"))
    taken = take("SF;E;N;Level;Analyses", "37;451382.9;206866.2;51.6;lipid", known=known)
    assert taken.settled
    assert (taken.new, taken.changed, taken.unchanged) == ((), (), 0)
    assert {change.field for change in taken.filled} == {"easting_m", "northing_m", "level_m", "analyses"}
    assert not any("registered" in note for note in taken.notes)
    after = take("SF;E;N;Level;Analyses", "37;451382.9;206866.2;51.6;lipid", known=known.plus(taken))
    assert (after.filled, after.changed, after.unchanged) == ((), (), 1)


def test_half_a_position_may_complete_the_one_in_the_ledger():
    known = Known(things={"context": CONTEXTS, "find": {"37": {"number": "37", "easting_m": 451382.9}}})
    assert take("SF;N", "37;206866.2", known=known).settled


def test_a_kind_that_a_person_states_for_all_rows_does_contradict():
    known = KNOWN.plus(take("Find no;Ctx;Kind", "37;217;bulk"))
    taken = take("No;Ctx", "37;217", known=known, answers={"field kind": "registered"})
    assert [(change.field, *change.words()) for change in taken.changed] == [("kind", "bulk", "registered")]


def test_kept_cells_move_only_when_they_say_the_same():
    first = take("SF;Ctx;Drawer", "37;217;A 3")
    known = KNOWN.plus(first)
    same = take("SF;Ctx;Drawer", "37;217;A 3", known=known, answers={"column Drawer": "note"})
    assert {change.field: change.new for change in same.filled} == {"note": "A 3", "other": None}
    other = take("SF;Ctx;Drawer", "37;217;B 9", known=known, answers={"column Drawer": "note"})
    assert [change.words() for change in other.changed] == [("Drawer: A 3", "nothing")]
    empty = take("SF;Ctx;Drawer", "37;217;", known=known, answers={"column Drawer": "note"})
    assert empty.unchanged == 1


def test_rows_are_kept_when_no_column_has_a_field():
    taken = take("Alpha;Beta", "1;2")
    assert {"field number", "field context"} <= set(asked(taken))


# --- the limit in the unit of the column --------------------------------------------------------------------


def test_a_value_too_large_says_how_it_was_read_and_the_limit_in_its_unit():
    # 12.000 beside 1,5 can only be twelve thousand; the limit of 10 m is 1000 cm.
    (mistake,) = take("SF;Ctx;Length (cm)", "37;217;12.000", "41;218;1,5").mistakes
    assert mistake.line() == (
        "row 2, Length (cm): '12.000' was read as 12000 cm, which is too large. Allowed: one number above 0 to 1000 cm."
    )
    (own,) = take("SF;Ctx;Mass (g)", "37;217;6000 kg").mistakes
    assert "was read as 6000 kg" in own.wrong
    assert own.allowed == "one number above 0 to 5000 kg"
    (word,) = take("SF;Ctx;Mass (g)", "37;217;heavy").mistakes
    assert word.allowed == "one number above 0 to 5000000 g"


# --- points far away ----------------------------------------------------------------------------------------


HEAD = "SF;Ctx;E;N;Level"


def find(number, east, north=206866.2):
    return f"{number};217;{east};{north};51.6"


@pytest.mark.parametrize("others", [2, 3, 12])
def test_an_easting_with_a_digit_too_many_is_asked_about_with_its_digits(others):
    rows = [find(n, 451383.1 + n / 10) for n in range(1, others + 1)]
    taken = take(HEAD, *rows, find(99, 4513841))
    (question,) = taken.questions
    assert question.about == "find 99: position"
    assert "4062.5 km" in question.text
    assert "Its easting 4513841 has 7 digits before the decimal mark, the others have 6." in question.text
    assert take(HEAD, *rows, find(99, 4513841), answers={"find 99: position": STRAY_ANSWER}).settled


def test_a_digit_too_few_is_asked_about_even_where_it_is_not_far():
    rows = [f"{n};217;{512 + n / 10};{800 + n / 10};51.6" for n in range(1, 9)]
    taken = take(HEAD, *rows, "99;217;51.2;800.5;51.6")
    assert asked(taken) == ["find 99: position"]
    assert "461 m" in taken.questions[0].text
    assert "has 2 digits before the decimal mark, the others have 3" in taken.questions[0].text
    # On a local grid whose hundred lies in the trench a digit more or less says nothing.
    assert take(HEAD, *[f"{n};217;{96 + n};{240 + n};51.6" for n in range(1, 9)]).settled


def test_two_points_alone_far_apart_are_one_question():
    taken = take(HEAD, find(1, 451383.1), find(2, 4513841))
    assert asked(taken) == ["positions far apart"]
    assert "4062.5 km apart (row 2; row 3)" in taken.questions[0].text
    assert take(HEAD, find(1, 451383.1), find(2, 4513841), answers={"positions far apart": APART_ANSWER}).settled
    assert take(HEAD, find(1, 451383.1), find(2, 451790.4)).settled


def test_one_point_of_the_ledger_is_enough_to_ask():
    known = KNOWN.plus(take(HEAD, find(1, 451383.1)))
    assert asked(take(HEAD, find(2, 452483.1), known=known)) == ["find 2: position"]
    assert take(HEAD, find(2, 451483.1), known=known).settled
    assert take(HEAD, find(1, 451383.1), known=known).settled


def test_many_strays_are_one_question():
    rows = [find(n, 451383.1 + n) for n in range(1, 12)]
    strays = [find(n, 541383.1 + n) for n in range(20, 28)]
    taken = take(HEAD, *rows, *strays)
    assert asked(taken) == ["positions far apart"]
    assert "8 points lie far from the others" in taken.questions[0].text


def test_a_long_site_is_one_place_when_its_points_lead_from_one_to_the_next():
    # A pipeline of 8 km with a find every 400 m: the rule's gap is 500 m.
    assert take(HEAD, *[find(n, 451000 + 400 * n) for n in range(1, 21)]).settled


def test_strays_are_those_that_a_gap_divides_from_the_ledger_or_from_most():
    points = np.array([[0.0, 0.0], [10.0, 5.0], [0.0, 900.0]])
    none = np.empty((0, 2))
    assert find_strays(points, none, 500.0).apart.tolist() == [False, False, True]
    assert find_strays(points, np.array([[0.0, 910.0]]), 500.0).apart.tolist() == [True, True, False]
    assert find_strays(points, none, 900.0).apart.tolist() == [False, False, False]
    halves = find_strays(points[1:], none, 500.0)
    assert halves.parts is not None
    assert not halves.apart.any()


def test_digits_before_the_mark_are_counted():
    assert digits(np.array([0.4, 9.99, 10.0, 99.9, 1000.0, -451383.2, 4513841.0])).tolist() == [1, 1, 2, 2, 4, 6, 7]
    home = np.array([[100.0, 9.0], [200.0, 10.0], [300.0, 11.0], [400.0, 9.5]])
    # On the second axis two numbers of digits are equally common, so nothing is said there.
    assert other_digits(np.array([[1000.0, 100.0], [500.0, 5.0]]), home).tolist() == [[3, 0], [0, 0]]


# --- words --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (None, "nothing"), ((), "nothing"), (True, "yes"), (False, "no"), (0.5, "0.5 kg"),
        (["XRF", "lipid"], "XRF, lipid"),
        ({"Type": "bulk", "Shade": "grey"}, "Type: bulk; Shade: grey"), ("jar", "jar"), (3, "3 kg"),
        (datetime(2026, 7, 28, 10, 20, tzinfo=SUMMER), "2026-07-28 10:20"),
        (datetime(2026, 7, 28).date(), "2026-07-28"),
    ],
)  # fmt: skip
def test_values_are_worded_as_a_person_writes_them(value, words):
    assert worded(value, "kg") == words


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        ("A 3", "A 3"), (37, "37"), (37.0, "37"), (4.25, "4.25"), (True, "yes"), (datetime(2026, 7, 28), "2026-07-28"),
        (datetime(2026, 7, 28, 10, 20, 30), "2026-07-28 10:20:30"),
    ],
)  # fmt: skip
def test_cells_are_kept_as_they_stand(cell, text):
    assert as_it_stands(cell) == text


def test_a_time_at_the_edge_of_a_day_stands_for_the_day():
    day = datetime(2026, 7, 28, tzinfo=SUMMER)
    assert not before(day, day.replace(hour=10))
    assert before(day.replace(hour=9), day.replace(hour=10))
    assert before(day - timedelta(days=1), day.replace(hour=10))
    assert before(day.date(), (day + timedelta(days=1)).date())
    assert not before(day.replace(hour=9), day.replace(hour=23, minute=59))
