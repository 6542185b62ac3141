"""The traps of real registers, each on its own, on the invented site WCR26; and what an import leaves behind."""

import io
import random
from datetime import datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from findhold.register.intake import Known, intake
from findhold.register.mapping import propose
from findhold.register.positions import LEVEL_ANSWER, ORDER_ANSWERS, STRAY_ANSWER
from findhold.register.readfile import read_sheet
from findhold.register.rules import BULK_ANSWER, REUSED_ANSWER, SiteFacts
from findhold.register.values import same_value

SITE = SiteFacts(code="WCR26", zone="Europe/London", grid="EPSG:27700", vertical_datum="ODN")
CONTEXTS = {number: {"number": number} for number in ("214", "215", "216", "217", "218")}
KNOWN = Known(things={"context": CONTEXTS, "store": {"Fridge 1": {"name": "Fridge 1"}}})
HEAD = "SF no;Cxt;What;L (mm);Wt (g);E;N;Level"
GOOD = ("37;217;jar;230;12200;451382.914;206866.207;51.62", "41;218;bowl;210;1350;451383.561;206865.742;51.53",
        "42;218;sole;245;110;451384.102;206866.655;51.55")  # fmt: skip


def take(*rows, head=HEAD, kind="find", known=KNOWN, site=SITE, answers=None, **rest):
    sheet = read_sheet("\n".join([head, *rows]).encode(), "register.csv")
    given_answers = answers or {}
    return intake(sheet, propose(sheet, kind, given_answers), site=site, known=known, answers=given_answers, **rest)


def told(taken):
    return [(m.row, m.column, m.value) for m in taken.mistakes]


def test_a_tidy_register_is_all_new_and_settled():
    taken = take(*GOOD)
    assert taken.settled
    assert [row.key for row in taken.new] == ["37", "41", "42"]
    first = taken.new[0]
    assert first.row == 2
    assert first.fields == {
        "number": "37", "context": "217", "what": "jar", "length_mm": 230.0, "mass_kg": 12.2, "kind": "registered",
        "easting_m": 451382.914, "northing_m": 206866.207, "level_m": 51.62,
    }  # fmt: skip


def test_the_same_file_again_changes_nothing():
    taken = take(*GOOD)
    again = take(*GOOD, known=KNOWN.plus(taken))
    assert (again.new, again.changed, again.unchanged) == ((), (), 3)
    assert again.settled


def test_a_cell_that_differs_from_the_ledger_is_a_change_with_both_values():
    known = KNOWN.plus(take(*GOOD))
    taken = take(GOOD[0].replace("12200", "12150"), *GOOD[1:], known=known)
    (change,) = taken.changed
    assert (change.key, change.field, change.old, change.new, change.row) == ("37", "mass_kg", 12.2, 12.15, 2)
    assert taken.unchanged == 2
    assert take(GOOD[0].replace("12200", "12150"), known=known.plus(taken)).changed == ()


def test_an_empty_cell_never_deletes_what_is_recorded():
    taken = take("37;217;;;;;;", known=KNOWN.plus(take(*GOOD)))
    assert (taken.new, taken.changed, taken.unchanged) == ((), (), 1)


def test_a_number_twice_in_the_file_is_a_mistake_at_the_second_row():
    taken = take(*GOOD, GOOD[0])
    assert told(taken) == [(5, "SF no", "37")]
    assert "row 2" in taken.mistakes[0].wrong


def test_a_number_with_a_leading_zero_is_not_another_number():
    assert told(take(*GOOD, "037;217;lid;;;;;")) == [(5, "SF no", "037")]
    taken = take("037;217;jar;;;;;", known=KNOWN.plus(take(*GOOD)))
    assert "'37' in the ledger" in taken.mistakes[0].wrong


def test_a_number_of_the_ledger_from_another_context_is_a_number_used_again():
    known = KNOWN.plus(take(*GOOD))
    taken = take("37;216;nail;;;;;", known=known)
    (mistake,) = taken.mistakes
    assert "from context 217, not 216" in mistake.wrong
    assert taken.changed == ()
    answered = take("37;216;jar;;;;;", known=known, answers={"find 37: context": REUSED_ANSWER})
    assert answered.settled
    assert [(c.field, c.old, c.new) for c in answered.changed] == [("context", "217", "216")]


def test_a_context_that_does_not_exist_is_a_mistake_with_near_ones():
    taken = take("37;271;jar;;;;;", "38;21;jar;;;;;")
    assert told(taken) == [(2, "Cxt", "271"), (3, "Cxt", "21")]
    assert "217" in taken.mistakes[0].allowed


def test_a_first_import_without_any_context_says_to_import_the_contexts_first():
    taken = take(GOOD[0], known=Known())
    assert "import the contexts first" in taken.mistakes[0].allowed


def test_a_cut_may_stand_in_the_same_file_below_its_fill():
    head = "Context;Type;Cut"
    assert take("215;fill;214", "214;cut;", head=head, kind="context", known=Known()).settled
    wrong = take("215;fill;231", "214;cut;214", head=head, kind="context", known=Known())
    assert told(wrong)[0] == (2, "Cut", "231")
    assert "points at itself" in wrong.mistakes[1].wrong


def test_a_find_without_a_context_is_a_mistake():
    assert told(take("37;;jar;;;;;")) == [(2, "Cxt", "")]


def test_brackets_come_off_and_no_type_is_inferred_from_them():
    taken = take("<37>;[217];jar;;;;;", "△41;(218);bowl;;;;;")
    assert [(row.key, row.fields["context"]) for row in taken.new] == [("37", "217"), ("41", "218")]
    loose = take("<37>;[217]", "(41);{218}", head="No;Context")
    assert [q.about for q in loose.questions] == ["field kind"]
    assert loose.mistakes == ()


def test_swapped_easting_and_northing_are_told_at_their_row_and_not_swapped():
    swapped = "48;217;comb;78;28;206865.168;451383.987;51.64"
    taken = take(*GOOD, swapped)
    (mistake,) = taken.mistakes
    assert (mistake.row, mistake.column) == (5, "E")
    assert "looks swapped" in mistake.wrong
    assert taken.new[3].fields["easting_m"] == 206865.168


def test_a_whole_file_swapped_shows_against_the_points_of_the_ledger():
    known = KNOWN.plus(take(*GOOD))
    rows = [f"{n};217;x;;;20686{n % 10}.1;45138{n % 10}.2;51.6" for n in (50, 51, 52)]
    taken = take(*rows, known=known)
    assert [m.row for m in taken.mistakes] == [2, 3, 4]
    assert all("like every point of this file" in m.wrong for m in taken.mistakes)


def test_a_stated_range_of_the_site_catches_swapped_and_outlying_points():
    site = SiteFacts(code="WCR26", zone="Europe/London", grid="EPSG:27700", vertical_datum="ODN",
                     easting_low=451300, easting_high=451500, northing_low=206800, northing_high=206900)  # fmt: skip
    taken = take(GOOD[0], "41;218;bowl;;;206865;451383;51.5", "42;218;sole;;;45138.4;206866;51.5", site=site)
    assert [m.row for m in taken.mistakes] == [3, 4]
    assert "looks swapped" in taken.mistakes[0].wrong
    assert "lies outside the site" in taken.mistakes[1].wrong


def test_on_a_local_grid_a_swapped_point_is_found_when_east_and_north_differ():
    rows = [f"{n};217;x;;;{500 + n % 7}.5;{180 + n % 5}.5;51.6" for n in range(1, 12)]
    taken = take(*rows, "20;217;x;;;182.5;503.5;51.6")
    assert [m.row for m in taken.mistakes] == [13]


def test_two_points_that_contradict_each_other_are_a_question():
    rows = (GOOD[0], "41;218;bowl;;;206865.742;451383.561;51.53")
    taken = take(*rows)
    assert [q.about for q in taken.questions] == ["easting and northing"]
    answered = take(*rows, answers={"easting and northing": ORDER_ANSWERS[0]})
    assert [m.row for m in answered.mistakes] == [3]


def test_a_point_far_from_all_others_is_asked_about():
    rows = (*GOOD, "48;217;comb;;;541383.0;206866.0;51.64")
    taken = take(*rows)
    assert [q.about for q in taken.questions] == ["find 48: position"]
    assert "90.0 km" in taken.questions[0].text
    assert take(*rows, answers={"find 48: position": STRAY_ANSWER}).settled


def test_half_a_position_is_a_mistake():
    assert told(take("37;217;jar;;;451382.9;;51.6")) == [(2, "N", "")]


def test_a_missing_level_is_one_question_and_may_be_left_empty_on_purpose():
    rows = ("37;217;jar;;;451382.9;206866.2;", "41;218;bowl;;;451383.5;206865.7;", GOOD[2])
    taken = take(*rows)
    (question,) = taken.questions
    assert "rows 2 and 3" in question.text
    answered = take(*rows, answers={question.about: LEVEL_ANSWER})
    assert answered.settled
    assert any("no level" in note for note in answered.notes)
    assert take(*rows, known=KNOWN.plus(answered)).settled


def test_levels_need_a_datum_and_positions_a_grid():
    taken = take(GOOD[0], site=SiteFacts(code="WCR26", zone="Europe/London"))
    assert sorted(m.column for m in taken.mistakes) == ["E", "Level"]
    assert all(m.row is None for m in taken.mistakes)


def test_bulk_finds_without_numbers_are_numbered_only_when_a_person_says_so():
    head = "Find no;Kind;Context;Material"
    rows = ("37;registered;217;iron", ";bulk;216;bone", ";bulk;216;slag")
    taken = take(*rows, head=head)
    (question,) = taken.questions
    assert "216-bone" in question.text
    assert taken.mistakes == ()
    answered = take(*rows, head=head, answers={question.about: BULK_ANSWER})
    assert [row.key for row in answered.new] == ["37", "216-bone", "216-slag"]
    assert told(take(";registered;217;iron", head=head)) == [(2, "Find no", "")]


def test_a_bulk_list_by_context_and_material_alone_can_be_taken_in():
    head = "Context;Material;Count"
    taken = take("217;bone;5", "216;bone;3", head=head)
    assert [q.about for q in taken.questions] == ["field kind"]
    assert taken.mistakes == ()
    answers = {"field kind": "bulk"}
    taken = take("217;bone;5", "216;bone;3", head=head, answers=answers)
    assert [q.about for q in taken.questions] == ["bulk finds without number"]
    answers["bulk finds without number"] = BULK_ANSWER
    assert [row.key for row in take("217;bone;5", "216;bone;3", head=head, answers=answers).new] == [
        "217-bone",
        "216-bone",
    ]
    registered = take("217;bone;5", head=head, answers={"field kind": "registered"})
    assert "no column is mapped to find number" in registered.mistakes[0].wrong


def test_a_wrong_date_is_told_once_with_its_cell_and_the_forms():
    (mistake,) = take("37;217;31.06.2026", head="SF no;Context;Found on").mistakes
    line = mistake.line()
    assert line.count("31.06.2026") == 1
    assert line.count("29 July 2026") == 1
    assert "there is no day 31 of month 6 in 2026" in line


def test_a_row_of_another_site_is_a_mistake_and_the_site_code_comes_off_numbers():
    head = "Site;SF no;Context"
    taken = take("WCR26;WCR26 37;217", "wcr26;WCR26-41;218", "ERM26;42;218", head=head)
    assert [row.key for row in taken.new] == ["37", "41", "42"]
    assert told(taken) == [(4, "Site", "ERM26")]
    assert "site" not in taken.new[0].fields


def test_a_store_in_other_letters_is_the_same_store_and_an_unknown_one_is_a_mistake():
    taken = take("37;217;fridge 1", "41;218;Fridge 11", head="SF no;Context;Store")
    assert taken.new[0].fields["store"] == "Fridge 1"
    assert told(taken) == [(3, "Store", "Fridge 11")]
    assert "Fridge 1" in taken.mistakes[0].allowed


def test_an_opening_before_exposure_and_a_closure_that_ends_first_are_mistakes():
    head = "SF no;Context;Exposed;Planned opening"
    assert told(take("37;217;28/07/2026 10:20;27/07/2026 09:00", head=head))[0][:2] == (2, "Planned opening")
    closure = take("23.08.2026;08.08.2026", head="From;To", kind="closure")
    assert closure.mistakes[0].column == "To"


def test_an_unknown_material_is_one_question_for_all_its_rows():
    names = ("iron", "leather", "wood")
    rows = [f"{n};217;{m}" for n, m in enumerate(["Fe", "wodo", "wodo", "Leder", "IRON"], 1)]
    taken = take(*rows, head="SF no;Context;Material", known_materials=names)
    (question,) = taken.questions
    assert question.about == "Material: wodo"
    assert "2 rows" in question.text
    assert question.choices == ("wood",)
    answered = take(*rows, head="SF no;Context;Material", known_materials=names, answers={"Material: wodo": "wood"})
    assert [row.fields["material"] for row in answered.new] == ["iron", "wood", "wood", "leather", "IRON"]
    assert any("'Fe' was read as 'iron'" in note for note in answered.notes)


def test_an_unknown_analysis_is_a_question_when_the_list_is_given():
    known = Known(things=KNOWN.things, analyses=("lipid", "radiocarbon"))
    taken = take("37;217;lipids + 14C", "41;218;lipid/smell", head="SF no;Context;Analyses", known=known)
    assert [q.about for q in taken.questions] == ["Analyses: smell"]


def test_an_answer_that_is_no_choice_is_asked_again_and_says_so():
    taken = take("37;217;wet", head="SF no;Context;State", answers={"State: wet": "soggy"})
    assert taken.questions[0].text.startswith("'soggy' is not one of the choices.")


def test_an_answer_to_nothing_is_told():
    assert take(*GOOD, answers={"Wt: unit": "g"}).unused_answers == ("Wt: unit",)


def test_all_mistakes_come_at_once_however_many_and_in_the_order_of_the_rows():
    rows = [f"{n};999;jar;-1;heavy;451382.9;206866.2;51.6" for n in range(1, 1001)]
    taken = take(*rows)
    assert len(taken.mistakes) == 3000
    assert [m.row for m in taken.mistakes] == sorted(m.row for m in taken.mistakes)
    assert {(m.column, m.file) for m in taken.mistakes} == {(c, "register.csv") for c in ("Cxt", "L (mm)", "Wt (g)")}
    assert all(m.allowed and m.wrong for m in taken.mistakes)


def test_a_question_about_the_worksheet_stops_before_anything_is_read():
    book = Workbook()
    for name in ("Finds", "Samples"):
        sheet = book.create_sheet(name)
        sheet.append(["No", "Context"])
        sheet.append([1, 217])
    file = io.BytesIO()
    book.save(file)
    sheet = read_sheet(file.getvalue(), "register.xlsx")
    taken = intake(sheet, propose(sheet), site=SITE, known=KNOWN, answers={})
    assert [q.about for q in taken.questions] == ["worksheet"]
    assert not taken.new


def test_columns_not_read_and_what_was_assumed_stand_in_the_notes():
    sheet = read_sheet(b"SF no;Context;Masse (g);Phase of moon\n37;217;12,5;full", "f.csv")
    notes = intake(sheet, propose(sheet, "find"), site=SITE, known=KNOWN, answers={}).notes
    assert "kept as they stand, not used: Phase of moon" in notes
    assert "Masse (g): decimal comma in 1 cell" in notes
    assert any("said by the heading 'SF no'" in note for note in notes)


@pytest.mark.parametrize(
    ("old", "new", "same"),
    [
        (None, 1.0, False), (None, (), True), (1, 1.0, True), (12.2, 12.200000000000001, True), (True, 1.0, False),
        (["lipid"], ("lipid",), True), ("a", "b", False), ("2026-07-28", datetime(2026, 7, 28).date(), True),
        ("2026-07-28T09:20:00+00:00", datetime(2026, 7, 28, 10, 20, tzinfo=timezone(timedelta(hours=1))), True),
    ],
)  # fmt: skip
def test_recorded_and_read_values_are_compared_by_what_they_say(old, new, same):
    assert same_value(old, new) is same


def test_a_day_in_the_file_agrees_with_a_recorded_time_on_that_day():
    midnight = datetime(2026, 7, 28, tzinfo=timezone(timedelta(hours=1)))
    assert same_value("2026-07-28T10:20+01:00", midnight, day_only=True)
    assert not same_value("2026-07-29T10:20+01:00", midnight, day_only=True)


FINDS = st.lists(
    st.fixed_dictionaries(
        {
            "context": st.sampled_from(list(CONTEXTS)),
            "what": st.sampled_from(["jar", "Gefäß, groß", "sole; stitched", 'nail "6"', "pin, bent"]),
            "mass": st.integers(1, 5_000_000),
            "length": st.integers(1, 90_000),
            "day": st.integers(1, 28),
            "east": st.integers(0, 9999),
        }
    ),
    min_size=1,
    max_size=12,
)


def quoted(cell, delimiter):
    return '"' + cell.replace('"', '""') + '"' if delimiter in cell or '"' in cell else cell


def written(finds, delimiter, decimal, encoding, form):
    lines = [delimiter.join(["SF no", "Context", "What", "Mass (g)", "Länge (mm)", "E", "N", "Level", "Found on"])]
    for number, find in enumerate(finds, 1):
        numbers = [
            f"{find['mass'] / 100:.2f}",
            f"{find['length'] / 10:.1f}",
            f"451{find['east'] / 100:06.2f}",
            "206866.25",
            "51.50",
        ]
        # The last day of July settles the order of day and month for the column.
        day = datetime(2026, 7, 31 if number == 1 else find["day"])
        cells = [
            str(number),
            find["context"],
            find["what"],
            *(n.replace(".", decimal) for n in numbers),
            day.strftime(form),
        ]
        lines.append(delimiter.join(quoted(cell, delimiter) for cell in cells))
    return "\r\n".join(lines).encode(encoding)


def as_book(finds):
    book = Workbook()
    sheet = book.active
    sheet.append(["SF no", "Context", "What", "Mass (g)", "Länge (mm)", "E", "N", "Level", "Found on"])
    for number, find in enumerate(finds, 1):
        day = datetime(2026, 7, 31 if number == 1 else find["day"])
        sheet.append([number, int(find["context"]), find["what"], find["mass"] / 100, find["length"] / 10,
                      float(f"451{find['east'] / 100:06.2f}"), 206866.25, 51.5, day])  # fmt: skip
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


@settings(max_examples=40, deadline=None)
@given(FINDS, st.randoms(use_true_random=False))
def test_one_register_written_in_every_manner_is_the_same_intake(finds, chance: random.Random):
    wanted = None
    manners = [(d, c, e, f) for d in ";\t|," for c in ".," for e in ("utf-8", "utf-8-sig", "cp1252", "utf-16")
               for f in ("%d/%m/%Y", "%Y-%m-%d", "%d.%m.%Y", "%d %B %Y")]  # fmt: skip
    files = [("r.csv", written(finds, *manner)) for manner in chance.sample(manners, 6)] + [("r.xlsx", as_book(finds))]
    for name, data in files:
        sheet = read_sheet(data, name)
        taken = intake(sheet, propose(sheet, "find"), site=SITE, known=KNOWN, answers={})
        assert taken.settled, (taken.mistakes, taken.questions)
        found = [(row.key, row.row, row.fields) for row in taken.new]
        wanted = wanted or found
        assert found == wanted
        again = intake(sheet, propose(sheet, "find"), site=SITE, known=KNOWN.plus(taken), answers={})
        assert (again.new, again.changed, again.unchanged) == ((), (), len(finds))


def test_on_a_local_grid_with_axes_close_together_a_swapped_point_is_found_too():
    rows = [f"{n};217;x;;;{100 + n % 4}.5;{190 + n % 3}.5;51.6" for n in range(1, 12)]
    taken = take(*rows, "20;217;x;;;191.5;101.5;51.6")
    assert [m.row for m in taken.mistakes] == [13]


def test_sizes_in_one_cell_are_three_fields_and_a_bad_one_is_told_at_its_column():
    taken = take("37;217;32 x 28 x 24", "41;218;32 x 28", head="SF no;Context;Size (cm)")
    assert [taken.new[0].fields[n] for n in ("length_mm", "width_mm", "height_mm")] == [320.0, 280.0, 240.0]
    assert told(taken) == [(3, "Size (cm)", "32 x 28")]


def test_a_box_list_with_sizes_in_one_cell_needs_no_other_columns():
    taken = take("Small;40 x 30 x 20;PP", head="Box;Inside (cm);Plastic", kind="box", known=Known())
    assert taken.settled
    assert taken.new[0].fields["inside_h_mm"] == 200.0


def test_a_store_written_in_other_letters_is_not_a_new_store():
    head = "Store;Kind"
    known = Known(things={"store": {"Fridge 1": {"name": "Fridge 1", "kind": "fridge"}}})
    taken = take("FRIDGE 1;fridge", head=head, kind="store", known=known)
    assert (taken.new, taken.changed, taken.unchanged) == ((), (), 1)


def test_days_without_times_are_named_with_their_row():
    taken = take("37;217;28.07.2026;07.08.2026", head="SF no;Context;Exposed;Planned opening")
    assert taken.new[0].day_only == ("exposed_at", "open_at")
    later = take("37;217;28.07.2026;07.08.2026", head="SF no;Context;Exposed;Planned opening", known=KNOWN.plus(taken))
    assert later.changed == ()


def test_a_needed_word_with_two_meanings_is_asked_and_not_called_missing():
    taken = take("37;wet;217", head="No;State;Context", answers={"field kind": "registered"})
    assert [q.about for q in taken.questions] == ["State: wet"]
    closure = take("03/04/2026;05/04/2026", head="From;To", kind="closure")
    assert {q.about for q in closure.questions} == {"From: order", "To: order"}
    assert closure.mistakes == ()


def test_columns_of_a_kept_mapping_that_the_file_has_not_are_told():
    from findhold.register.mapping import from_text

    mapping = from_text('kind = "find"\n[columns]\n"SF no" = "number"\n"Context" = "context"\n"Gone" = "note"\n')
    sheet = read_sheet(b"SF no;Context\n37;217\n", "f.csv")
    taken = intake(sheet, mapping, site=SITE, known=KNOWN, answers={})
    assert "columns of the mapping that this file has not: Gone" in taken.notes
    lost = intake(read_sheet(b"SF no;Ctx\n37;217\n", "f.csv"), mapping, site=SITE, known=KNOWN, answers={})
    assert "no column is mapped to context" in lost.mistakes[0].wrong


def test_many_rows_are_named_by_the_first_ten():
    rows = [f"{n};217;jar;;;451382.9;206866.2;" for n in range(1, 31)]
    assert "rows 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 and 20 more" in take(*rows).questions[0].text
    assert "(row 2)" in take(rows[0]).questions[0].text
