"""Files as people save them: encodings, delimiters, preambles, empty and ragged rows, workbooks."""

import io
from datetime import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from findhold.errors import BadInput, UnknownName
from findhold.register.readfile import letters, read_sheet
from findhold.register.workbook import read_workbook

TABLE = [["Find no", "Context", "Höhe (mm)"], ["37", "217", "14,5"], ["41", "218", "6,25"]]


def as_csv(rows, delimiter=";", encoding="utf-8", newline="\r\n"):
    return newline.join(delimiter.join(row) for row in rows).encode(encoding)


def as_book(*sheets):
    book = Workbook()
    book.remove(book.active)
    for name, rows in sheets:
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("delimiter", [";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_every_encoding_and_delimiter_gives_the_same_table(encoding, delimiter, newline):
    sheet = read_sheet(as_csv(TABLE, delimiter, encoding, newline), "finds.csv")
    assert sheet.headings == ("Find no", "Context", "Höhe (mm)")
    assert sheet.rows == (("37", "217", "14,5"), ("41", "218", "6,25"))
    assert sheet.row_numbers == (2, 3)


def test_a_comma_file_with_quoted_decimal_commas_is_a_comma_file():
    sheet = read_sheet(b'Find no,Context,Mass (g)\n37,217,"14,5"\n41,218,"6,25"\n', "finds.csv")
    assert sheet.delimiter == "comma"
    assert sheet.rows[0] == ("37", "217", "14,5")


def test_a_semicolon_file_full_of_decimal_commas_is_a_semicolon_file():
    data = as_csv([["No", "L", "B"], *([str(n), "1,5", "2,5"] for n in range(50))])
    assert read_sheet(data, "finds.csv").delimiter == "semicolon"


def test_the_line_that_names_the_delimiter_is_obeyed_and_not_counted():
    sheet = read_sheet(b"sep=|\r\nFind no|Context\r\n37|217\r\n", "finds.csv")
    assert (sheet.delimiter, sheet.headings, sheet.row_numbers) == ("upright bar", ("Find no", "Context"), (2,))


def test_lines_above_the_headings_are_told_and_not_read():
    rows = [["Withy Carr 2026", "", ""], ["Register of finds", "page 1", ""], ["", "", ""], *TABLE]
    sheet = read_sheet(as_csv(rows), "finds.csv")
    assert sheet.headings == tuple(TABLE[0])
    assert sheet.row_numbers == (5, 6)
    assert "rows 1 to 3 stand above the headings and were not read" in sheet.notes


def test_a_row_of_units_under_the_headings_goes_to_the_headings():
    sheet = read_sheet(b"Find no;Context;Length;Mass\n;;(mm);g\n37;217;14;5\n", "finds.csv")
    assert sheet.headings == ("Find no", "Context", "Length (mm)", "Mass (g)")
    assert sheet.row_numbers == (3,)


def test_empty_rows_are_skipped_and_counted_and_row_numbers_stay_those_of_the_spreadsheet():
    sheet = read_sheet(b"Find no;Context\n37;217\n\n;\n  ; \n41;218\n", "finds.csv")
    assert sheet.row_numbers == (2, 6)
    assert sheet.empty_rows == 3
    assert "3 empty rows skipped" in sheet.notes


def test_short_rows_are_filled_and_long_rows_are_mistakes():
    sheet = read_sheet(b"Find no;Context;Note\n37;217\n41;218;wet;5\n", "finds.csv")
    assert sheet.rows[0] == ("37", "217", "")
    assert [(m.row, m.value) for m in sheet.mistakes] == [(3, "5")]


def test_a_cell_with_a_line_break_is_one_cell_of_one_row():
    sheet = read_sheet(b'Find no;Note\n37;"damp\nkeep cool"\n41;dry\n', "finds.csv")
    assert sheet.rows == (("37", "damp\nkeep cool"), ("41", "dry"))
    assert sheet.row_numbers == (2, 3)


def test_an_open_quotation_mark_is_refused_with_its_row():
    with pytest.raises(BadInput) as told:
        read_sheet(b'Find no;Note\n37;fine\n41;"never closed\n42;lost\n', "finds.csv")
    assert told.value.where == "finds.csv, row 3"


def test_a_file_in_two_encodings_is_refused_with_its_line():
    data = "Find no;Note\n37;Höhe\n".encode() + "41;Länge\n".encode("cp1252")
    with pytest.raises(BadInput) as told:
        read_sheet(data, "finds.csv")
    assert "mixes two encodings" in told.value.wrong
    assert told.value.where == "finds.csv, line 3"


@pytest.mark.parametrize(
    ("data", "wrong"),
    [
        (b"", "the file is empty"),
        (b"\xd0\xcf\x11\xe0" + bytes(600), "old XLS"),
        (b"%PDF-1.7\n", "PDF"),
        (b"PK\x03\x04 not a zip", "cannot be opened"),
        (bytes(range(1, 9)) * 40, "not a text file"),
        (b"a\x81b;c\n", "no character of Windows-1252"),
        (b"1;2;3\n4;5;6\n", "no heading row"),
    ],
)
def test_what_is_no_table_is_refused_with_what_it_is(data, wrong):
    with pytest.raises(BadInput) as told:
        read_sheet(data, "finds")
    assert wrong in told.value.wrong
    assert told.value.do


def test_two_columns_of_one_name_are_told_apart_and_nameless_ones_kept_only_when_filled():
    sheet = read_sheet(b"Find no;Note;Note;;\n37;a;b;c;\n", "finds.csv")
    assert sheet.headings == ("Find no", "Note", "Note, column C", "column D")
    assert sheet.rows == (("37", "a", "b", "c"),)


def test_no_break_and_other_blanks_round_cells_are_taken_off():
    sheet = read_sheet("Find no;Context\n\u00a037 ;\u202f217\t\n".encode(), "finds.csv")
    assert sheet.rows == (("37", "217"),)


def test_a_workbook_keeps_numbers_and_dates_and_its_row_numbers():
    when = datetime(2026, 7, 28, 10, 20)
    data = as_book(("Finds", [["Find no", "Exposed", "Human?"], [37, when, True], [], [41.5, None, False]]))
    sheet = read_sheet(data, "finds.xlsx")
    assert sheet.rows == ((37, when, True), (41.5, "", False))
    assert sheet.row_numbers == (2, 4)
    assert sheet.empty_rows == 1


def test_several_worksheets_with_data_are_a_question_and_the_answer_reads_one():
    data = as_book(("Finds", TABLE), ("Empty", []), ("Samples", [["Sample no", "Context"], [12, 215]]))
    asked = read_sheet(data, "register.xlsx")
    assert asked.rows == ()
    assert asked.questions[0].choices == ("Finds", "Samples")
    assert read_sheet(data, "register.xlsx", worksheet="Samples").rows == ((12, 215),)
    with pytest.raises(UnknownName, match="Samples"):
        read_sheet(data, "register.xlsx", worksheet="Sample")


def test_a_formula_without_a_stored_value_is_refused_with_its_cell():
    data = as_book(("Finds", [["Find no", "Mass (g)"], [37, "=2*600"]]))
    with pytest.raises(BadInput, match="B2"):
        read_sheet(data, "finds.xlsx")


CELLS = st.one_of(
    st.none(),
    st.integers(-(10**9), 10**9),
    st.floats(-1e9, 1e9, allow_nan=False),
    st.booleans(),
    st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "Zs", "Sc")), min_size=1, max_size=12).filter(
        lambda text: not text.startswith("=")
    ),
    st.datetimes(datetime(1950, 1, 1), datetime(2100, 1, 1)).map(lambda d: d.replace(microsecond=0)),
)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.lists(CELLS, min_size=1, max_size=6), min_size=2, max_size=8))
def test_the_fast_worksheet_reader_and_the_general_one_agree(rows):
    from openpyxl import load_workbook

    rows = [["one", "two"], *rows]
    data = as_book(("Finds", rows))
    general = list(load_workbook(io.BytesIO(data), read_only=True)["Finds"].iter_rows(values_only=True))
    width = max(len(row) for row in general)
    fast = read_workbook(data, "finds.xlsx").rows

    def filled(table):
        padded = [tuple(row) + (None,) * (width - len(row)) for row in table]
        while padded and not any(cell is not None for cell in padded[-1]):
            padded.pop()
        return padded

    assert filled(fast) == filled(general)


def test_a_worksheet_in_an_unusual_form_is_left_to_the_general_reader():
    import zipfile

    data = as_book(("Finds", [["Find no", "Context"], [37, 217]]))
    changed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(changed, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name.endswith("sheet1.xml"):
                content = content.replace(b'<c r="A2"', b'<c  r="A2"')
            new.writestr(name, content)
    assert read_sheet(changed.getvalue(), "finds.xlsx").rows == ((37, 217),)


@pytest.mark.parametrize(("index", "name"), [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA")])
def test_columns_are_lettered_as_a_spreadsheet_letters_them(index, name):
    assert letters(index) == name


MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
SHARED = (
    f'<sst xmlns="{MAIN}"><si><t>Find no</t></si><si><t>Exposed</t></si>'
    "<si><r><t>No</t></r><r><t>te</t></r></si><si><t>d&amp;d</t></si></sst>"
)


def rebuilt(rows_xml, *, shared=SHARED):
    """A workbook as office programs save it: texts in a table of their own, dates as numbers with a style."""
    import zipfile

    when = as_book(("Finds", [["x"], [datetime(2026, 1, 1)]]))
    changed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(when)) as old, zipfile.ZipFile(changed, "w") as new:
        for name in old.namelist():
            if name.endswith("sharedStrings.xml"):
                continue
            content = old.read(name)
            if name == "xl/worksheets/sheet1.xml":
                content = f'<worksheet xmlns="{MAIN}"><sheetData>{rows_xml}</sheetData></worksheet>'.encode()
            if name == "[Content_Types].xml" and b"sharedStrings" not in content:
                kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
                part = f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kind}"/></Types>'
                content = content.replace(b"</Types>", part.encode())
            new.writestr(name, content)
        new.writestr("xl/sharedStrings.xml", shared)
    return changed.getvalue()


HEAD_ROW = '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c><c r="C1" t="s"><v>2</v></c></row>'


def test_shared_texts_dates_by_style_booleans_and_formula_values_are_read():
    # 46231 is 28 July 2026 in the 1900 system: 46023 is 1 January 2026, and 208 days later.
    row = (
        '<row r="4"><c r="A4"><v>37</v></c><c r="B4" s="1"><v>46231.5</v></c>'
        '<c r="C4" t="str"><f>A1&amp;"x"</f><v>a&lt;b</v></c></row>'
        '<row r="5"><c r="A5"><v>38</v></c><c r="B5" s="1"/><c r="C5" t="b"><v>1</v></c></row>'
        '<row r="6"><c r="A6"><v>39</v></c><c r="C6" t="s"><v>3</v></c></row>'
        '<row r="7"><c r="A7"><v>40</v></c><c r="C7" t="e"><v>#REF!</v></c></row>'
    )
    sheet = read_sheet(rebuilt(HEAD_ROW + row), "finds.xlsx")
    assert sheet.headings == ("Find no", "Exposed", "Note")
    assert sheet.row_numbers == (4, 5, 6, 7)
    assert sheet.rows == (
        (37, datetime(2026, 7, 28, 12), "a<b"),
        (38, "", True),
        (39, "", "d&d"),
        (40, "", "#REF!"),
    )


@pytest.mark.parametrize(
    "row",
    [
        '<row r="2"><c r="A2" t="d"><v>2026-07-28</v></c></row>',  # a date in ISO form
        '<row r="2"><c r="B2"><v>37</v></c><c r="A2"><v>1</v></c></row>',  # cells out of order
        '<row r="2"><c><v>37</v></c></row>',  # a cell without its address
        '<row r="2"><c r="A2"><v>37</v></c><!-- checked --></row>',
        '<row r="2"><c r="A2" t="inlineStr"><is><r><t>3</t></r><r><t>7</t></r></is></c></row>',  # two fonts in a cell
        '<row r="2"><c r="A2" t="inlineStr"><is><t><![CDATA[37]]></t></is></c></row>',
    ],
)
def test_forms_that_the_fast_reader_does_not_know_are_read_by_the_general_one(row):
    from openpyxl import load_workbook

    data = rebuilt(HEAD_ROW + row)
    sheet = load_workbook(io.BytesIO(data), read_only=True)["Finds"]
    sheet.reset_dimensions()
    wanted = [tuple(cell or "" for cell in values) for values in sheet.iter_rows(values_only=True)]
    assert read_sheet(data, "finds.xlsx").rows[0][: len(wanted[1])] == wanted[1]


def test_a_date_beyond_the_calendar_is_an_error_cell_and_no_crash():
    row = '<row r="2"><c r="A2"><v>37</v></c><c r="B2" s="1"><v>9999999999</v></c></row>'
    assert read_sheet(rebuilt(HEAD_ROW + row), "finds.xlsx").rows[0][1] == "#VALUE!"


def test_an_opendocument_file_and_a_workbook_without_data_are_refused():
    import zipfile

    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
    with pytest.raises(BadInput, match="OpenDocument"):
        read_sheet(file.getvalue(), "finds.ods")
    with pytest.raises(BadInput, match="no worksheet has any data"):
        read_sheet(as_book(("Finds", [])), "finds.xlsx")


def test_a_column_is_found_by_its_heading():
    assert read_sheet(as_csv(TABLE), "finds.csv").column("Context") == ["217", "218"]


def test_one_row_above_the_headings_is_told_in_the_singular():
    sheet = read_sheet(as_csv([["Withy Carr", "", ""], *TABLE]), "finds.csv")
    assert "row 1 stands above the headings and was not read" in sheet.notes
