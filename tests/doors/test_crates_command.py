"""plan --crates: from a file alone, from the ledger, what is written, exit codes, and every kind of bad input."""

import csv
import re
from pathlib import Path

import pypdf
import pytest

from conftest import EXAMPLES
from findhold.service.packing.crating.keys import LISTS, ROOT, SECTIONS

EXAMPLE = EXAMPLES / "crates-to-archive.toml"
MANUAL = (Path(__file__).parents[2] / "docs" / "crates-file.md").read_text(encoding="utf-8")
CRATE = '[[crates]]\nname = "crate"\ninside_mm = [565, 365, 310]\noutside_mm = [600, 400, 320]\ntare_kg = 1.9\n'
BAG = '[[items]]\nnumber = "{0}"\nsize_mm = [200, 150, 100]\nmass_kg = {1}\n'


def write(tmp_path, text, name="load.toml"):
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    return file


def test_the_example_is_loaded_and_written(findhold, tmp_path):
    out = tmp_path / "out"
    done = findhold("plan", "--crates", EXAMPLE, "--out", out, "--json")
    assert done.code == 0
    shape = done.json
    assert shape["all_in"]
    assert shape["proved"]
    assert shape["fewest_possible"] == len(shape["crates"]) == 4
    companies = {load["company"] for load in shape["crates"]}
    assert {"damp", "human remains, dry"} <= companies
    assert all(load["gross_kg"] <= load["limit_kg"] for load in shape["crates"])
    pdf, table = (Path(file) for file in shape["files"])
    assert pdf.read_bytes().startswith(b"%PDF")
    rows = list(csv.DictReader(table.read_text(encoding="utf-8-sig").splitlines()))
    assert sorted(row["number"] for row in rows) == sorted(
        i["number"] for load in shape["crates"] for i in load["items"]
    )
    assert len(rows) == 11


def test_text_says_the_answer_first_and_each_place(findhold):
    done = findhold("plan", "--crates", EXAMPLE)
    assert done.code == 0
    assert done.out.startswith("Withy Carr, crates to the archive: 11 things in 4 crates; fewer are impossible.")
    assert "floor" in done.text
    assert "assumed:" in done.text


def test_what_is_left_over_ends_with_one_and_says_what_to_do(findhold, tmp_path):
    done = findhold("plan", "--crates", write(tmp_path, CRATE + BAG.format("a", 2) + BAG.format("b", 18)))
    assert done.code == 1
    assert "LEFT OVER b: 18 kg is more than a crate may hold: 13.1 kg" in done.text
    assert "1 thing left over" in done.text


def test_lists_may_stand_in_csv_files_with_commas_or_semicolons(findhold, tmp_path):
    write(
        tmp_path, "number;what;size_l_mm;size_w_mm;size_h_mm;mass_kg;lidded\nb1;bag;200;150;100;1,5;no\n", "items.csv"
    )
    write(tmp_path, "name,inside_l_mm,inside_w_mm,inside_h_mm,tare_kg,count\ncrate,565,365,310,1.9,3\n", "kinds.csv")
    file = write(tmp_path, 'items_file = "items.csv"\ncrates_file = "kinds.csv"\n')
    shape = findhold("plan", "--crates", file, "--json").json
    (load,) = shape["crates"]
    assert load["items"][0]["mass_kg"] == 1.5
    assert load["gross_kg"] == pytest.approx(3.4)


def test_a_shared_box_goes_in_as_one_thing_with_its_dividers(findhold, tmp_path):
    finds = "".join(BAG.format(n, 0.3).replace("200, 150, 100", "80, 60, 40") + 'material = "stone"\n' for n in (1, 2))
    box = '[[shared_boxes]]\nname = "box A"\nfinds = ["1", "2"]\ninside_mm = [300, 200, 100]\n'
    box += "outside_mm = [304, 204, 104]\ntare_kg = 0.4\n"
    file = write(tmp_path, CRATE + finds + box)
    shape = findhold("plan", "--crates", file, "--out", tmp_path / "out", "--json").json
    pages = pypdf.PdfReader(shape["files"][0]).pages
    assert "of 200 x 40 mm, 5 mm thick (polyethylene foam)" in " ".join(pages[1].extract_text().split())
    assert shape["shared_boxes"][0]["works"]
    assert [part["find"] for part in shape["shared_boxes"][0]["compartments"]] == ["1", "2"]
    (item,) = shape["crates"][0]["items"]
    assert item["number"] == "box A"
    assert item["mass_kg"] == pytest.approx(1.0)


def test_finds_that_may_not_share_a_box_end_with_one_and_stay_apart(findhold, tmp_path):
    finds = BAG.format(1, 0.3) + 'material = "stone"\n' + BAG.format(2, 0.3) + 'material = "wood"\nstate = "damp"\n'
    box = '[[shared_boxes]]\nname = "box A"\nfinds = ["1", "2"]\ninside_mm = [500, 300, 150]\n'
    box += "outside_mm = [504, 304, 154]\ntare_kg = 0.4\n"
    done = findhold("plan", "--crates", write(tmp_path, CRATE + finds + box))
    assert done.code == 1
    assert "one box has one climate" in done.text
    assert "Cannot be shared as asked: box A." in done.text


def test_loaded_crates_and_bare_boxes_go_onto_shelves(findhold, tmp_path):
    shelf = '[[shelves]]\nname = "low"\nwidth_mm = 1000\ndepth_mm = 450\nclear_height_mm = 400\n'
    shelf += "above_floor_mm = 200\nrated_kg = 60\n"
    shape = findhold("plan", "--crates", write(tmp_path, CRATE + BAG.format("a", 2) + shelf), "--json").json
    assert [box["number"] for box in shape["shelves"]["shelves"][0]["boxes"]] == ["crate 1"]
    bare = findhold("plan", "--crates", write(tmp_path, BAG.format("a", 2) + shelf), "--json").json
    assert bare["crates"] == []
    assert [box["number"] for box in bare["shelves"]["shelves"][0]["boxes"]] == ["a"]
    low = findhold("plan", "--crates", write(tmp_path, BAG.format("a", 2) + shelf.replace("= 400", "= 140")))
    assert low.code == 1
    assert "NO PLACE a: 100 mm high; 90 mm are free with 50 mm of air" in low.text


def test_the_planned_boxes_of_a_ledger_go_into_crates(findhold, withy_carr, tmp_path):
    findhold("plan", "37", "--barrier", "aluminium foil")
    findhold("plan", "--all")
    kinds = write(tmp_path, "name,inside_l_mm,inside_w_mm,inside_h_mm,tare_kg\ncrate,565,365,310,1.9\n", "kinds.csv")
    done = findhold("plan", "--crates", kinds, "--all", "--json")
    shape = done.json
    there = {item["number"] for load in shape["crates"] for item in load["items"]}
    left = {row["number"] for row in shape["left_over"]}
    assert len(there) + len(left) == 9
    # The urn's box is heavier than one person's crate; it is human remains, so it shares with nothing anyway.
    assert done.code == 1
    assert all(row["do"] for row in shape["left_over"])
    for load in shape["crates"]:
        states = {item["state"] for item in load["items"]}
        assert states == {"dry"} or "dry" not in states
    one = findhold("plan", "37", "--crates", kinds, "--json").json
    assert [item["what"][:7] for load in one["crates"] for item in load["items"]] == ["find 37"]


def test_a_find_without_a_plan_is_left_over_with_the_command_to_run(findhold, withy_carr, tmp_path):
    kinds = write(tmp_path, CRATE + BAG.format("tools", 2))
    done = findhold("plan", "41", "--crates", kinds)
    assert done.code == 1
    assert "no box is planned for it. Run: findhold plan 41." in done.text


# --- bad input ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x = [", "not a TOML file"),
        (BAG.format("a", 2), "neither crates nor shelves"),
        (CRATE, "nothing to load"),
        (CRATE + BAG.format("a", -2), "[[items]] a mass_kg"),
        (CRATE + BAG.format("a", 0), "is out of range"),
        (CRATE + BAG.format("a", 2).replace("[200,", "[-200,"), "zero, negative"),
        (CRATE + BAG.format("a", 2) + 'colour = "red"\n', "is not a key here"),
        (CRATE + BAG.format("a", 2) + "lided = true\n", "did you mean lidded?"),
        (CRATE.replace("tare_kg = 1.9", "") + BAG.format("a", 2), "tare_kg: is missing"),
        ("[[crate]]\n" + BAG.format("a", 2), "did you mean crates?"),
        ("persons = 0\n" + CRATE + BAG.format("a", 2), "persons"),
        ("items = 3\n" + CRATE, "is not a list"),
        ('limits = "none"\n' + CRATE + BAG.format("a", 2), "is not a section"),
        (CRATE + BAG.format("a", 2) + BAG.format("a", 2), "twice"),
        (CRATE + BAG.format("a", 2) + 'material = "lether"\n', "leather"),
        (CRATE + BAG.format("a", 2) + "board_days = 10\n", "board_ect_n_per_m"),
        ('items_file = "none.csv"\n' + CRATE, "cannot be read"),
    ],
)
def test_bad_input_ends_with_two_and_says_what_to_mend(findhold, tmp_path, text, words):
    done = findhold("plan", "--crates", write(tmp_path, text))
    assert done.code == 2
    assert words in done.text
    assert "Traceback" not in done.text


def test_all_mistakes_of_a_list_are_told_at_once_with_their_rows(findhold, tmp_path):
    rows = "number,size_l_mm,size_w_mm,size_h_mm,mass_kg\na,200,150,100,x\nb,-1,150,100,2\n,200,150,100,2\n"
    write(tmp_path, rows, "items.csv")
    done = findhold("plan", "--crates", write(tmp_path, 'items_file = "items.csv"\n' + CRATE))
    assert done.code == 2
    for words in ("row 2, mass_kg", "row 3, size_l_mm", "row 4, number"):
        assert words in done.text
    write(tmp_path, "number,weight\na,2\n", "items.csv")
    done = findhold("plan", "--crates", write(tmp_path, 'items_file = "items.csv"\n' + CRATE))
    assert "weight" in done.text
    assert "is missing in the heading" in done.text


def test_a_shared_box_with_a_stranger_is_answered_with_near_names(findhold, tmp_path):
    box = '[[shared_boxes]]\nname = "A"\nfinds = ["bag1", "bag9"]\ninside_mm = [300, 200, 100]\n'
    box += "outside_mm = [304, 204, 104]\ntare_kg = 0.4\n"
    done = findhold("plan", "--crates", write(tmp_path, CRATE + BAG.format("bag1", 2) + BAG.format("bag2", 2) + box))
    assert done.code == 2
    assert "bag2" in done.text


def test_a_cell_never_becomes_a_formula(findhold, tmp_path):
    file = write(tmp_path, CRATE + BAG.format("=1+1", 2) + 'what = "+cmd"\n')
    shape = findhold("plan", "--crates", file, "--out", tmp_path / "out", "--json").json
    text = Path(shape["files"][1]).read_text(encoding="utf-8-sig")
    assert ",'=1+1,'+cmd," in text


# --- the manual ---------------------------------------------------------------------------------------------------


def test_every_key_and_list_of_the_file_is_in_its_manual():
    told = set(re.findall(r"`([a-z_]+)`", MANUAL)) | set(re.findall(r"`\[\[?([a-z_]+)\]\]?`", MANUAL))
    keys = {*ROOT, *LISTS, *SECTIONS, *(key for rows in (*LISTS.values(), *SECTIONS.values()) for key in rows)}
    assert keys - told == set()


def test_every_field_of_the_answer_is_in_its_manual(findhold):
    shape = findhold("plan", "--crates", EXAMPLE, "--json").json
    assert [field for field in shape if field not in MANUAL] == []
    assert [field for field in shape["crates"][0] if field not in MANUAL] == []


def test_several_finds_share_one_box_and_the_example_says_what_to_cut(findhold, tmp_path):
    done = findhold("plan", "--crates", EXAMPLES / "shared-box.toml", "--out", tmp_path)
    assert done.code == 0, done.text
    assert "box of small finds, shared: 3 compartments" in done.text
    assert "divider" in done.text
    assert "several finds into one box" in " ".join(findhold("plan", "--help").text.split())


def test_the_sheet_of_a_shared_box_has_all_that_packing_it_takes(findhold, tmp_path):
    """Inside 300 x 200 x 60 mm; the last row ends at 155, so 145 are empty; foam of 5 under a find of 20 leaves 35."""
    findhold("plan", "--crates", EXAMPLES / "shared-box.toml", "--out", tmp_path)
    sheet = " ".join(words_of(tmp_path))
    for piece in (
        *("61 bone comb, 0.060 kg: compartment of 75 x 200 mm, turned", "finds 0.13 kg: 0.38 kg", "rated for 3 kg"),
        *("base: 1 of 300 x 200 mm, 5 mm thick", "empty end: 1 of 145 x 200 mm", "35 mm to the lid", "70 x 125"),
        *("Weigh the empty box", "Set the foam of the empty end: 145 mm", "Close the lid: it must touch nothing"),
    ):
        assert piece in sheet, piece
    assert "Human remains" not in sheet
    assert "keep-until" not in sheet


def test_the_contents_of_a_shared_box_stand_in_the_list_find_by_find(findhold, tmp_path):
    findhold("plan", "--crates", EXAMPLES / "shared-box.toml", "--out", tmp_path)
    (file,) = tmp_path.glob("*contents.csv")
    rows = list(csv.DictReader(file.read_text("utf-8-sig").splitlines()))
    assert [(row["crate"], row["number"], row["mass_kg"]) for row in rows] == [
        ("box of small finds", number, mass) for number, mass in (("61", "0.060"), ("62", "0.020"), ("63", "0.050"))
    ]
    assert (rows[1]["x_mm"], rows[1]["length_mm"], rows[1]["width_mm"]) == ("80.0", "70.0", "125.0")


def words_of(folder):
    """The words of the one PDF in a folder."""
    (file,) = folder.glob("*.pdf")
    text = "".join(page.extract_text() for page in pypdf.PdfReader(file).pages)
    return text.split()


def test_the_empty_room_of_a_crate_is_told_with_what_to_fill_it(findhold):
    done = findhold("plan", "--crates", EXAMPLE)
    assert "nothing may slide or tip" in " ".join(done.text.split())
    assert all(load["gaps"] for load in findhold("plan", "--crates", EXAMPLE, "--json").json["crates"])
