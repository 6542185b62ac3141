"""keep --out and plan --out: charts, strip and forecast sheet as files."""

from __future__ import annotations

import io
import xml.etree.ElementTree as Xml
from pathlib import Path

import pypdf
import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
SVG = "{http://www.w3.org/2000/svg}"


def words(svg: Path) -> set[str]:
    return {element.text or "" for element in Xml.parse(svg).iter(f"{SVG}text")}


def page_texts(pdf: Path) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf.read_bytes())).pages]


def test_keep_on_a_scenario_writes_each_chart_and_the_sheet(findhold, tmp_path):
    out = tmp_path / "pictures"
    done = findhold("keep", EXAMPLES / "jar-in-block.toml", "--out", out, "--members", 200)
    assert done.code == 1  # the opening is too late; the pictures are made all the same
    names = {path.name for path in out.iterdir()}
    parts = ("time.svg", "water.svg", "temperature.svg", "growth.svg", "forecast-sheet.pdf")
    assert names == {f"jar-in-block-{part}" for part in parts}
    assert all(name in "".join(done.out.split()) for name in names)  # whatever the width of the screen
    assert "Water lost, g" in words(out / "jar-in-block-water.svg")
    assert "policy: index 1" in words(out / "jar-in-block-growth.svg")
    (page,) = page_texts(out / "jar-in-block-forecast-sheet.pdf")
    assert "Jar crushed in its block" in page
    assert "Keep until" in page


def test_the_json_names_the_files_and_is_the_same_without_them_else(findhold, tmp_path):
    out = tmp_path / "pictures"
    plain = findhold("keep", EXAMPLES / "worked-box.toml", "--json", "--members", 200).json
    drawn = findhold("keep", EXAMPLES / "worked-box.toml", "--json", "--members", 200, "--out", out).json
    assert sorted(drawn.pop("files")) == sorted(str(path) for path in out.iterdir())
    for shape in (plain, drawn):
        shape.pop("computed_in_s")
    assert plain == drawn


def test_the_sheet_says_the_date_of_the_json(findhold, tmp_path):
    done = findhold("keep", EXAMPLES / "worked-box.toml", "--json", "--members", 200, "--out", tmp_path / "p")
    (page,) = page_texts(tmp_path / "p" / "worked-box-forecast-sheet.pdf")
    day = int(done.json["keep_until"][8:10])
    assert f" {day} Aug 2026 at the latest (limit: {done.json['governing_limit']})" in page


def test_pictures_of_a_logged_fridge_show_its_failure(findhold, tmp_path):
    findhold("keep", EXAMPLES / "logger-fridge.toml", "--out", tmp_path / "p", "--members", 100)
    figures = {word for word in words(tmp_path / "p" / "logger-fridge-temperature.svg") if word.isdigit()}
    assert max(map(int, figures)) >= 20  # the failed fridge came to the room's temperature


def test_a_folder_that_cannot_be_written_is_bad_input(findhold, tmp_path):
    taken = tmp_path / "taken"
    taken.write_text("a file, not a folder", encoding="utf-8")
    done = findhold("keep", EXAMPLES / "worked-box.toml", "--members", 100, "--out", taken)
    assert done.code == 2
    assert "cannot be written" in done.text
    assert taken.read_text(encoding="utf-8") == "a file, not a folder"


@pytest.fixture
def packed(findhold, withy_carr, tmp_path):
    assert findhold("plan", "37", "--barrier", "aluminium foil").code == 0
    return tmp_path / "pictures"


def test_keep_on_a_find_writes_its_pictures_with_the_seal(findhold, packed):
    done = findhold("keep", "37", "--out", packed, "--members", 200, "--json")
    names = {path.name for path in packed.iterdir()}
    assert names == {f"WCR26-37-{part}.svg" for part in ("time", "water", "temperature", "growth")} | {
        "WCR26-37-forecast-sheet.pdf"
    }
    assert sorted(done.json["files"]) == sorted(str(path) for path in packed.iterdir())
    (page,) = page_texts(packed / "WCR26-37-forecast-sheet.pdf")
    assert done.json["box_id"] in page
    assert "ledger seal" in page
    assert "Marian Holt" in page


def test_plan_with_a_folder_adds_the_forecast_sheets(findhold, withy_carr, tmp_path):
    out = tmp_path / "pack"
    findhold("plan", "37", "41", "--barrier", "aluminium foil", "--out", out, "--members", 100)
    found = page_texts(out / "WCR26-2-finds-forecast-sheets.pdf")
    assert len(found) == 2
    assert all("Keep until" in page for page in found)


def test_plan_on_a_scenario_draws_sections_plan_and_steps(findhold, tmp_path):
    out = tmp_path / "drawings"
    done = findhold("plan", EXAMPLES / "jar-in-block.toml", "--drawings", out)
    assert done.code == 0
    parts = ("section.svg", "across.svg", "plan.svg", "steps.svg", "drawings.pdf")
    assert {path.name for path in out.iterdir()} == {f"jar-in-block-{part}" for part in parts}
    assert "Section A–A" in words(out / "jar-in-block-section.svg")
    assert "Section B–B" in words(out / "jar-in-block-across.svg")
    assert "Plan, lid off" in words(out / "jar-in-block-plan.svg")
    assert "Sheets and water" in words(out / "jar-in-block-steps.svg")
    pages = page_texts(out / "jar-in-block-drawings.pdf")
    assert len(pages) == 3
    # every page by itself says whose box it is, and how it is handled
    for page in pages:
        assert "Jar crushed in its block" in page
        assert "THIS WAY UP" in page
        assert "the box given" in page
    assert "Cut list" in pages[1]
    assert "packed, lid on" in pages[1]
    shape = findhold("plan", EXAMPLES / "jar-in-block.toml", "--drawings", out, "--json").json
    assert sorted(shape["files"]) == sorted(str(path) for path in out.iterdir())


def test_drawings_tell_every_step_from_the_first_to_the_last(findhold, tmp_path):
    out = tmp_path / "drawings"
    plan = findhold("plan", EXAMPLES / "cushioned-jar.toml", "--drawings", out, "--json").json
    page = "".join(page_texts(out / "cushioned-jar-drawings.pdf")[2].split())
    for step in plan["steps"]:
        assert "".join(step["text"][:20].split()) in page, step["text"]


def test_a_plan_that_stops_is_not_drawn_and_says_so(findhold, tmp_path):
    out = tmp_path / "drawings"
    done = findhold("plan", EXAMPLES / "dating-sherd.toml", "--drawings", out)
    assert done.code == 1
    assert "its plan STOPS, so nothing is drawn" in done.text
    assert not out.exists()


def test_a_find_of_the_ledger_whose_plan_stops_is_not_drawn(findhold, withy_carr, tmp_path):
    out = tmp_path / "drawings"
    done = findhold("plan", "37", "41", "--dry-run", "--drawings", out)
    assert done.code == 1
    assert "37: its plan STOPS" in done.text
    assert {path.name.split("-")[1] for path in out.iterdir()} == {"41"}
    assert "find 41 · WCR26" in page_texts(out / "WCR26-41-drawings.pdf")[0]


def test_plan_without_a_box_draws_nothing(findhold, tmp_path):
    out = tmp_path / "drawings"
    done = findhold("plan", EXAMPLES / "no-box-fits.toml", "--drawings", out, "--json")
    assert done.code == 1
    assert done.json["files"] == []
    assert not out.exists()
