"""Bad requests get a clear error and nothing half done."""

from dataclasses import replace

import pytest

from findhold.errors import BadInput, Mistakes, UnknownName
from findhold.pack.inputs import PlanInputs, StockBox
from findhold.pack.measures import usable_stock
from findhold.pack.plan import plan_box


def request(**changes):
    known = {
        "find": "WCR26 37",
        "material": "ceramic",
        "state": "damp",
        "block_mm": (200.0, 180.0, 120.0),
        "mass_kg": 7.0,
        "soil": "loam",
    }
    return PlanInputs(**{**known, **changes})


def box(**changes):
    known = {"name": "B", "inside_mm": (400, 300, 220), "wall": "PP", "wall_mm": 2.0, "tare_kg": 1.1}
    return StockBox(**{**known, **changes})


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"block_mm": None}, "sizes are missing"),
        ({"block_mm": (200.0, 0.0, 120.0)}, "block_mm is 200 x 0 x 120"),
        ({"block_mm": (200.0, -5.0, 120.0)}, "zero, negative"),
        ({"block_mm": (200.0, float("nan"), 120.0)}, "missing"),
        ({"mass_kg": None}, "mass is missing"),
        ({"mass_kg": -1.0}, "mass_kg is -1"),
        ({"mass_kg": 0.0}, "mass_kg is 0"),
        ({"water_content": -0.1}, "water_content"),
        ({"water_content": 25.0}, "looks like per cent: 25 % is 0.25"),
        ({"sheets": -1}, "sheets is -1"),
        ({"sheet_dry_g": 0.0}, "sheet_dry_g is 0"),
        ({"water_g_per_g": -0.5}, "water_g_per_g"),
        ({"temp_c": -2.0}, "never frozen"),
        ({"state": "dmp"}, "did you mean damp"),
        ({"fridge_inside_mm": (500.0, 0.0, 300.0)}, "fridge_inside_mm"),
        ({"place_rh": 75.0}, "looks like per cent: 75 % is 0.75"),
        ({"place_rh": float("nan")}, "place_rh"),
        ({"place_temp_c": 400.0}, "place_temp_c is 400"),
    ],
)
def test_one_mistake_is_one_sentence(changes, said):
    with pytest.raises(BadInput, match=said) as caught:
        plan_box(request(**changes))
    assert caught.value.where == "WCR26 37"
    assert caught.value.do


def test_several_mistakes_come_together():
    stock = (box(tare_kg=-1.0), box(inside_mm=(0, 300, 220)), box(name="C", count=-2, max_load_kg=0.0, wall_mm=0.0))
    with pytest.raises(Mistakes) as caught:
        plan_box(request(mass_kg=-1.0, block_mm=None, stock=stock))
    columns = [mistake.column for mistake in caught.value.mistakes]
    assert columns == ["block_mm", "mass_kg", "tare_kg", "name", "inside_mm", "wall_mm", "max_load_kg", "count"]


@pytest.mark.parametrize(
    ("changes", "near"),
    [
        ({"material": "leathr"}, "leather"),
        ({"soil": "lome"}, "loam"),
        ({"analyses": ("lipd",)}, "lipid"),
        ({"wrapping": "tisue"}, "tissue"),
        ({"barrier": "aluminum fiol"}, "foil"),
        ({"acts": ("freezin",)}, "freezing"),
        ({"stock": (box(wall="polypropilene"),)}, "polypropylene"),
    ],
)
def test_unknown_names_offer_near_ones(changes, near):
    with pytest.raises(UnknownName) as caught:
        plan_box(request(**changes))
    assert near in caught.value.sentence()


def test_a_block_hardly_heavier_than_air_is_refused():
    inputs = PlanInputs(
        material="low-fired ceramic", state="damp", block_mm=(230, 210, 140), mass_kg=0.002, soil="loam"
    )
    with pytest.raises(BadInput, match="hardly more than air"):
        plan_box(inputs)


def test_a_wrong_row_of_the_stock_list_is_left_out_and_told():
    good = StockBox(name="good", inside_mm=(300, 270, 190), wall="PP", wall_mm=1.5, tare_kg=0.56)
    tiny = replace(good, name="tiny", inside_mm=(3, 2.7, 1.9))
    odd = replace(good, name="odd", wall="cheese")
    stock, told = usable_stock((tiny, good, odd))
    assert stock == (good,)
    assert [line.split(" is left out")[0] for line in told] == ["box tiny", "box odd"]
    assert "cheese" in told[1]
