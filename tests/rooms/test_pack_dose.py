"""The dose: tissue and soil at one potential, its limit, and what happens with other amounts."""

import pytest

from findhold.pack.inputs import PlanInputs, StockBox
from findhold.pack.plan import plan_box
from findhold.rounding import told_mass, told_span

BOX = StockBox(name="B", inside_mm=(400, 300, 220), wall="PP", wall_mm=2.0, tare_kg=1.1)
FREE = 0.6606
"""Tissue at RH 1 and 20 °C [g/g]: the isotherm's printed end."""


def plan(**changes):
    known = {
        "material": "low-fired ceramic",
        "state": "damp",
        "block_mm": (200.0, 180.0, 120.0),
        "mass_kg": 7.0,
        "soil": "loam",
        "water_content": 0.2,
        "sheets": 3,
        "sheet_dry_g": 6.75,
        "stock": (BOX,),
    }
    return plan_box(PlanInputs(**{**known, **changes}))


@pytest.mark.parametrize("soil", ["sand", "loam", "silt loam", "clay loam", "clay"])
@pytest.mark.parametrize("water", [0.08, 0.15, 0.22])
def test_the_dose_moves_no_water(soil, water):
    one = plan(soil=soil, water_content=water, mass_kg=7.5)
    assert abs(one.water_to_block_g) < 1e-3


def test_the_dose_of_field_drained_loam_by_hand():
    """RH 0.999742 at 33 kPa and 4 °C (Kelvin table) and GAB at 20 °C: 0.6590 g/g, so 4.45 g on a 6.75 g sheet."""
    one = plan(water_content=None)
    assert one.humidity_rh == pytest.approx(0.999742, abs=1e-6)
    a = 0.999742 * 0.913108
    by_hand = 0.0578 * 13.6788 * a / ((1 - a) * (1 - a + 13.6788 * a))
    assert one.dose_g_per_sheet == pytest.approx(6.75 * by_hand, abs=2e-4)
    assert one.dose_g == pytest.approx(3 * one.dose_g_per_sheet)


def test_low_best_high_and_limit_stand_in_order():
    band = plan(water_content=None).dose_band
    assert 0 < band.low < band.best <= band.high <= band.upper_limit
    assert band.upper_limit == pytest.approx(6.75 * FREE, abs=1e-3)


def test_low_leaves_out_what_a_sheet_holds_from_the_room():
    """0.0978 g/g at 50 % RH (GAB table)."""
    narrow = plan(water_content=0.2).dose_band
    assert narrow.best - narrow.low == pytest.approx(6.75 * 0.0978, abs=0.01)


def test_stated_water_over_the_limit_is_said_with_grams():
    wet = plan(water_g_per_g=1.5)
    assert wet.dose_g == pytest.approx(3 * 6.75 * 1.5)
    over = next(text for text in wet.warnings if "passes the upper limit" in text)
    assert "5.7 g" in over  # 6.75 x (1.5 - 0.6606) = 5.67
    assert wet.water_to_block_g == pytest.approx(20.25 * (1.5 - FREE), abs=0.1)
    assert any("from the tissue into the block" in text for text in wet.warnings)


def test_a_dose_over_its_limit_is_told_by_figure_and_at_the_step_that_wets():
    wet, computed = plan(water_g_per_g=1.5), plan()
    assert wet.dose_over_g == pytest.approx(6.75 * (1.5 - FREE), abs=0.01)
    wetting = next(step for step in wet.steps if step.text.startswith("Weigh 3 sheets"))
    assert "over the limit of 4.5 g" in wetting.why
    assert computed.dose_over_g == 0.0
    assert "nothing may drip" in next(s for s in computed.steps if s.text.startswith("Weigh 3 sheets")).why


def test_stated_water_under_the_balance_is_taken_from_the_block():
    """Water is conserved: 20.25 g of paper from 0.08 to about 0.66 g/g takes about 11.7 g (analytic check 7)."""
    dry = plan(water_g_per_g=0.08)
    assert dry.water_to_block_g == pytest.approx(-11.7, abs=0.1)
    assert any("11.7 g will move from the block into the tissue" in text for text in dry.warnings)


def test_dry_finds_get_no_water_and_water_on_them_is_forbidden():
    assert plan(state="dry").dose_g == 0.0
    wet = plan(state="dry", water_g_per_g=0.5)
    assert wet.stopped
    assert any(c.analysis == "keep-dry" for c in wet.conflicts)


def test_waterlogged_finds_lie_in_bags_with_a_little_water():
    one = plan(material="leather", state="waterlogged", soil=None, water_content=None, sheets=None, mass_kg=3.0)
    assert (one.dose_way, one.sheets, one.dose_g_per_sheet) == ("bag", 0, 0.0)
    assert one.dose_g == pytest.approx(50 * 4.32)  # 50 g per litre of 4.32 L
    assert one.wrapping == "sealed polyethylene bag"


def test_waterlogged_wood_is_under_water():
    one = plan(material="wood", state="waterlogged", soil=None, water_content=None, sheets=None, mass_kg=3.0)
    assert one.dose_way == "submerged"
    # 3 kg of wet wood take 3 L at most and, were all of it solid (1500 kg/m3), 2 L at least; beside it 10 mm of water
    # and 3 mm for the folds of its bag, under it 3 and 10 mm; its tray of 1.4 kg/m2 at 905 kg/m3 takes some of the room
    room_l = 226 * 206 * (13 + 120 + 10) * 1e-6 - 200 * 180e-6 * 1.4 / 905 * 1000
    assert one.dose_g == pytest.approx(1000 * (room_l - 2.5))
    assert (one.bag_water_g.low, one.bag_water_g.high) == pytest.approx((1000 * (room_l - 3), 1000 * (room_l - 2)))
    assert one.gross_spread_kg == pytest.approx((0.5, 0.5))
    edges = told_span(one.gross_mass_kg - 0.5, one.gross_mass_kg + 0.5)
    assert any(f"expect {told_mass(one.gross_mass_kg)} ({edges}, by the water" in step.text for step in one.steps)
    assert one.clearance_mm.lid_gap >= 25
    assert any(layer.hatch == "water" for layer in one.layers)


def test_waterlogged_wood_in_its_soil_is_bagged_not_drowned():
    """Water over a soil block would wash its soil away."""
    assert plan(material="wood", state="waterlogged", water_content=None, sheets=None).dose_way == "bag"


def test_loose_metal_is_not_dosed_but_metal_in_its_block_is():
    loose = plan(material="copper alloy", soil=None, water_content=None, mass_kg=0.1)
    assert loose.dose_g == 0.0
    assert any("given no water" in text for text in loose.warnings)
    assert plan(material="iron").dose_g > 0


def test_a_wrapping_without_an_isotherm_asks_how_wet():
    one = plan(wrapping="polyester fabric")
    assert one.dose_g == 0.0
    assert any(question.about == "water_g_per_g" for question in one.questions)
    assert plan(wrapping="polyester fabric", water_g_per_g=0.5).dose_g == pytest.approx(3 * 6.75 * 0.5)


def test_sheets_are_counted_from_areas_when_not_stated():
    """Faces 0.1632 m2 x 2 layers x 1.2 = 0.392; plan 0.12 m2 x 4 layers = 0.48; 0.872 / 0.375 = 2.3, so 3."""
    one = plan(sheets=None)
    assert one.sheets == 3
    assert any("Sheets were not stated" in text for text in one.assumptions)


def test_no_sheets_means_no_dose():
    assert plan(sheets=0).dose_g == 0.0


def test_mass_is_the_sum_of_its_parts():
    """Foam: bed 0.12 x 0.022 m3 and sides (0.12 - 0.036) x 0.12 m3 at 35.2 kg/m3."""
    one = plan()
    foam_kg = (0.12 * 0.022 + 0.084 * 0.12) * 35.2
    assert one.gross_mass_kg == pytest.approx(7.0 + 1.1 + 3 * 6.75e-3 + one.dose_g * 1e-3 + foam_kg, abs=1e-9)
