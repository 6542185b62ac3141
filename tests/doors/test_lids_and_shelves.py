"""Absorbent under a lid that would drip, and shelves that bear what they are rated for, through the doors."""

import pytest

FINDS = """Find no,Kind,Context,Material,Condition,Length mm,Width mm,Height mm,Mass kg,Store,Found on
901,registered,{context},stone,dry,120,100,80,2.0,Shelf A,2026-07-28
902,registered,{context},stone,dry,120,100,80,2.1,Shelf A,2026-07-28
"""


def test_a_plan_with_everything_puts_absorbent_under_a_lid_that_would_drip(withy_carr, findhold, tmp_path):
    """The warm jar of find 37 drips by its first forecast; the second, with sheets under the lid, does not."""
    done = findhold("plan", "37", "--barrier", "aluminium foil", "--out", tmp_path / "pack", "--members", 200)
    assert done.code in (0, 1), done.text
    plan = findhold("plan", "37", "--dry-run", "--json").json
    lid = [part for part in plan["tissue"] if part["place"] == "lid"]
    assert lid[0]["sheets"] >= 1
    kept = findhold("keep", "37", "--dry-run", "--members", 200, "--json").json
    assert kept["drip_g"]["high"] == pytest.approx(0.0, abs=0.01)
    assert kept["water_to_lid_g"]["best"] > 10.0


def test_a_scenario_takes_the_water_of_the_lid(findhold, tmp_path):
    text = (
        '[find]\nmaterial = "low-fired ceramic"\nstate = "damp"\nsoil = "loam"\nblock_mm = [260, 220, 180]\n'
        "mass_kg = 15.5\n[box]\ninside_mm = [300, 270, 240]\nwall = 'PP'\nwall_mm = 1.5\n[wrapping]\nlid_water_g = {}\n"
    )
    file = tmp_path / "lid.toml"
    file.write_text(text.format(14), encoding="utf-8")
    shape = findhold("plan", file, "--json").json
    assert shape["lid_takes_g"] == pytest.approx(20.25)
    file.write_text(text.format(-1), encoding="utf-8")
    assert findhold("plan", file).code == 2


def test_a_shelf_takes_no_more_than_its_rating_with_what_stands_on_it(withy_carr, findhold, tmp_path):
    """Rated 5 kg: the first find of 2 kg goes on it, the second would pass it."""
    stores = tmp_path / "shelves.csv"
    heads = "Name,Kind,Temp,Humidity,Inside L mm,Inside W mm,Inside H mm,Max load kg"
    stores.write_text(f"{heads}\nShelf A,shelf,16,0.5,900,450,350,5\n", encoding="utf-8")
    done = findhold("import", stores, "--kind", "store")
    assert done.code == 0, done.text
    finds = tmp_path / "more.csv"
    finds.write_text(FINDS.format(context="214"), encoding="utf-8")
    done = findhold("import", finds, "--kind", "find")
    assert done.code == 0, done.text
    first = findhold("plan", "901", "--json")
    assert first.code == 0, first.text
    second = findhold("plan", "902", "--json")
    assert second.code == 1
    assert any("the shelf may still carry" in one["why"] for one in second.json["rejected"])
