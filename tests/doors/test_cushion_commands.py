"""plan with a cushion: scenario files, the unit's settings, own curve files, exit codes and bad input."""

import json
from pathlib import Path

import pypdf
import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
EXAMPLE = (EXAMPLES / "cushioned-jar.toml").read_text(encoding="utf-8")
HEAD = "static stress (kPa),G,drop height (m),thickness (mm)"
# SYNTHETIC drops on a foam of a 12 kPa, b 0.08 /kPa: G = a / s exp(b s h / t), rounded to a tenth.
SOFT = [
    (1.0, 0.3, 50, 19.4),
    (2.0, 0.3, 50, 15.7),
    (4.0, 0.3, 50, 20.5),
    (1.0, 0.6, 50, 31.3),
    (2.0, 0.6, 50, 40.9),
    (1.0, 0.6, 100, 19.4),
    (2.0, 0.6, 100, 15.7),
    (4.0, 0.6, 100, 20.5),
]


def write(tmp_path, change=None, name="case.toml"):
    text = EXAMPLE.replace('file = "boxes.csv"', f'file = "{EXAMPLES}/boxes.csv"')
    for old, new in (change or {}).items():
        assert old in text, old
        text = text.replace(old, new)
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    return file


def curve_file(tmp_path):
    rows = [f"{s},{g},{h},{t}" for s, h, t, g in SOFT]
    (tmp_path / "foam.csv").write_text("\n".join([HEAD, *rows]) + "\n", encoding="utf-8")


def test_a_curve_of_headings_only_is_bad_input(findhold, tmp_path):
    (tmp_path / "foam.csv").write_text(HEAD + "\n", encoding="utf-8")
    change = {'foam = "polyethylene foam"': 'foam = "polyethylene foam"\ncurve = "foam.csv"'}
    refused = findhold("plan", write(tmp_path, change))
    assert refused.code == 2
    assert "there is no drop below its headings" in " ".join(refused.text.split())


def test_the_example_is_cushioned_and_its_box_has_room_for_it(findhold, tmp_path):
    done = findhold("plan", write(tmp_path), "--json")
    shape = done.json
    cushion = shape["cushion"]
    assert done.code == 0
    assert cushion["keeps"] == "at best figures only"
    assert cushion["met"] is False
    assert cushion["verdict"].startswith("at best figures only, and only if its soil bears ")
    assert f"Cushion, limit of 30 G kept: {cushion['verdict']}." in shape["warnings"]
    assert {"low", "best", "high"} == set(cushion["bound_mm"])
    assert cushion["declared_by"] == "Marian Holt"
    assert cushion["declared_on"] == "2026-07-28"
    assert shape["clearance_mm"]["bed"] >= cushion["need"]["bed_mm"] + cushion["need"]["board_mm"]
    assert min(shape["clearance_mm"]["side_l"], shape["clearance_mm"]["side_w"]) >= cushion["need"]["side_mm"]
    base, *others = cushion["faces"]
    assert (base["design"]["way"], base["design"]["pads"]) == ("pads", 4)
    assert base["design"]["g"]["best"] <= 30.0
    for face in others:
        assert face["design"]["g"]["low"] <= face["design"]["g"]["best"] <= face["design"]["g"]["high"] <= 30.0
    held = [step["text"] for step in shape["steps"] if "the block still held" in step["text"]]
    assert [text.split(",")[0] for text in held] == ["At each end", "At each side"]
    for name in ("lines", "warnings", "assumptions", "sources"):
        assert cushion[name]


def test_every_plan_tells_what_the_block_presses_on_its_bed(findhold, tmp_path):
    shape = findhold("plan", EXAMPLES / "worked-box.toml", "--json").json
    assert shape["cushion"] is None
    support = shape["support"]
    assert support["foot_kpa"] == support["bed_kpa"] > 0
    assert support["loaded_mm"] is None
    assert "not known: measure" in findhold("plan", EXAMPLES / "worked-box.toml").text


def test_the_text_says_who_declared_what_and_what_would_help(findhold, tmp_path):
    told = findhold("plan", write(tmp_path, {"[20, 25, 50]": "[25, 50]"})).text
    for part in (
        "Taken to stand 30 G (very delicate): declared by Marian Holt, 28 July 2026",
        "'bench to cold store' governs the route",
        "No cushion of any kind can stop this drop within 30 G",
        "drop a dummy",
    ):
        assert part in told


def test_what_is_taken_for_granted_is_said(findhold, tmp_path):
    bare = {"foam_thickness_mm = [20, 25, 50]\n": ""}
    told = " ".join(findhold("plan", write(tmp_path, bare), "--json").json["cushion"]["assumptions"])
    assert "Sheets of polyethylene foam of 25 and 50 mm are taken to be in stock" in told
    assert "12 mm plywood" in told
    assert "no error estimate, indicative only" in findhold("plan", write(tmp_path, bare)).text


def test_a_cushion_that_cannot_be_laid_is_the_answer_no(findhold, tmp_path):
    done = findhold("plan", write(tmp_path, {'"polyethylene foam"': '"bubble film"'}))
    assert done.code == 1
    assert "No cushion curve with a source is known for bubble film" in done.text
    rough = findhold("plan", write(tmp_path, {"route = [": "drop_height_m = 1.0\nroute = ["}), "--json")
    assert rough.code == 1
    assert rough.json["cushion"]["keeps"] == "no"
    codes = {reason["code"] for face in rough.json["cushion"]["faces"] for reason in face["why_not"]}
    assert codes >= {"too stiff"}


def test_an_own_curve_is_used_with_its_scatter_and_its_file_named(findhold, tmp_path):
    curve_file(tmp_path)
    change = {'foam = "polyethylene foam"': 'foam = "polyethylene foam"\ncurve = "foam.csv"'}
    cushion = findhold("plan", write(tmp_path, change), "--json").json["cushion"]
    assert cushion["curve"]["points"] == len(SOFT)
    # The drops were made with a 12 kPa and b 0.08 /kPa, rounded to a tenth of a G.
    assert cushion["curve"]["law"]["a_pa"] == pytest.approx(12_000, rel=0.01)
    assert cushion["curve"]["law"]["b_per_pa"] == pytest.approx(8e-5, rel=0.01)
    assert cushion["curve"]["r2"] > 0.99
    assert "own measurement: foam.csv" in cushion["sources"]
    assert not any("Measure a curve" in way["text"] for way in cushion["helps"])


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('declared_by = "Marian Holt"\n', "", "declared_by: is missing"),
        ("declared_on = 2026-07-28\n", "", "declared_on: is missing"),
        ("fragility_g = 30\n", "", "fragility_g: is missing"),
        ("fragility_g = 30", "fragility_g = 1", "lying still is 1 G already"),
        ("fragility_g = 30", "fragility_g = -25", "lying still is 1 G already"),
        ("declared_on = 2026-07-28", 'declared_on = "last week"', "is not a date"),
        ("declared_on = 2026-07-28", "declared_on = 2026-07-28T10:00:00+01:00", "is not a date"),
        ("[20, 25, 50]", "[20, -25]", "zero, negative"),
        ("[20, 25, 50]", "[]", "is not a list of numbers"),
        ("fragility_g = 30", "fragility_g = 30\ndrop_height_m = -0.3", "drop_height_m"),
        ("fragility_g = 30", "fragility_g = 30\nfragilty = 3", "did you mean fragility_g"),
        ("trolley", "trolly", "Did you mean trolley"),
        ('"polyethylene foam"', '"polyethylen foam"', "Did you mean polyethylene foam"),
        ("fragility_g = 30", 'fragility_g = 30\ncurve = "nowhere.csv"', "cannot be read"),
    ],
)
def test_bad_input_is_told_and_nothing_is_planned(findhold, tmp_path, old, new, words):
    done = findhold("plan", write(tmp_path, {old: new}))
    assert done.code == 2
    assert words in done.text
    assert "Taken to stand" not in done.text


def test_neither_height_nor_route_is_told(findhold, tmp_path):
    text = "\n".join(line for line in EXAMPLE.splitlines() if not line.startswith("route"))
    file = tmp_path / "case.toml"
    file.write_text(text.replace('file = "boxes.csv"', f'file = "{EXAMPLES}/boxes.csv"'), encoding="utf-8")
    done = findhold("plan", file)
    assert done.code == 2
    assert "neither a drop height nor a route" in done.text


SETTINGS = """
[cushion]
fragility_g = 40
declared_by = "Marian Holt"
declared_on = 2026-07-28
route = ["set down"]
foam_thickness_mm = [25, 45]
"""


def test_the_units_settings_cushion_a_find_of_the_ledger(findhold, withy_carr, tmp_path):
    home = tmp_path / "home"
    home.mkdir(exist_ok=True)
    (home / "settings.toml").write_text(SETTINGS, encoding="utf-8")
    done = findhold("plan", "37", "--barrier", "aluminium foil", "--json")
    assert done.code in (0, 1)
    assert done.json["cushion"]["fragility_g"] == 40
    assert done.json["cushion"]["find"] == "find 37"
    text = json.dumps(done.json["cushion"])
    assert "NaN" not in text
    assert "Infinity" not in text


def test_screen_front_and_back_say_one_verdict(findhold, withy_carr, tmp_path):
    home = tmp_path / "home"
    home.mkdir(exist_ok=True)
    (home / "settings.toml").write_text(SETTINGS, encoding="utf-8")
    for number, begins in (("48", "no"), ("44", "at best figures only, and only if its soil bears")):
        asked = ("plan", number, "--barrier", "aluminium foil")
        verdict = findhold(*asked, "--json").json["cushion"]["verdict"]
        assert verdict.startswith(begins)
        assert f"limit kept: {verdict}" in " ".join(findhold(*asked).text.split())
        findhold(*asked, "--out", tmp_path / number)
        (pdf,) = (tmp_path / number).rglob("*packing-sheets.pdf")
        front, back = (" ".join(page.extract_text().split()) for page in pypdf.PdfReader(pdf).pages)
        assert f"Cushion, limit of 40 G kept: {verdict}." in front
        assert f"Cushion, limit of 40 G kept: {verdict}." in back


def test_a_planned_cushion_is_recorded_with_its_hold(findhold, withy_carr, tmp_path):
    home = tmp_path / "home"
    home.mkdir(exist_ok=True)
    (home / "settings.toml").write_text(SETTINGS, encoding="utf-8")
    planned = [n for n in ("44", "52", "55") if findhold("plan", n, "--barrier", "aluminium foil").code == 0]
    assert planned
    assert findhold("prove", withy_carr).code == 0


def test_a_bad_cushion_in_the_settings_is_told_with_the_file(findhold, withy_carr, tmp_path):
    home = tmp_path / "home"
    home.mkdir(exist_ok=True)
    (home / "settings.toml").write_text('[cushion]\nfragility_g = 40\ndeclared_by = "M"\n', encoding="utf-8")
    done = findhold("plan", "37")
    assert done.code == 2
    assert "declared_on" in done.text
    assert "settings.toml" in done.text
