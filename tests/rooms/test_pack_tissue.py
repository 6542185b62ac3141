"""Where each sheet and its water goes, what lies under the lid, the contour of the bed, and what to cut a box from."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.pack.consumed import board_pieces, consumed, foam_pieces
from findhold.pack.inputs import PlanInputs, StockBox, pack_defaults
from findhold.pack.plan import plan_box
from findhold.pack.slices import volume_l
from findhold.tables.boards import boards, foam_plank

DEFAULTS = pack_defaults()
CRATE = StockBox(name="crate", inside_mm=(400, 300, 250), wall="PP", wall_mm=2.0, tare_kg=1.0)


def request(**changes):
    known = {"material": "low-fired ceramic", "state": "damp", "soil": "loam", "water_content": 0.2, "mass_kg": 14.0}
    return PlanInputs(**{"block_mm": (260.0, 220.0, 180.0), "stock": (CRATE,), **known, **changes})


@settings(deadline=None, max_examples=60)
@given(sheets=st.one_of(st.none(), st.integers(0, 40)))
def test_sheets_and_water_of_the_parts_are_those_of_the_plan(sheets):
    plan = plan_box(request(sheets=sheets))
    parts = [part for part in plan.tissue if part.place != "lid"]
    assert sum(part.sheets for part in parts) == plan.sheets
    assert sum(part.water_g for part in parts) == pytest.approx(plan.dose_g)
    assert sum(part.dry_g for part in parts) == pytest.approx(plan.sheets * plan.sheet_dry_g)
    assert sum(layer.sheets for layer in plan.layers) == plan.sheets


def test_shares_go_by_area_to_within_one_sheet():
    plan = plan_box(request(sheets=40))
    face = 2 * (0.26 * 0.22 + 0.26 * 0.18 + 0.22 * 0.18)
    areas = {"bed": 2 * 0.4 * 0.3, "round": 2 * DEFAULTS.wrap_overlap * face, "top": 2 * 0.4 * 0.3}
    for part in plan.tissue:
        assert abs(part.sheets - 40 * areas[part.place] / sum(areas.values())) < 1.0


def test_the_steps_say_how_many_sheets_go_where():
    plan = plan_box(request(sheets=10))
    text = " ".join(step.text for step in plan.steps)
    for part in plan.tissue:
        assert f"({part.sheets} sheet" in text


def test_absorbent_under_the_lid_is_counted_on_the_least_that_tissue_holds():
    """14 g of drip, a sheet of 6.75 g dry holds at least 1 g/g (memory): 3 sheets that take 20.25 g."""
    plan = plan_box(request(lid_water_g=14.0))
    lid = next(part for part in plan.tissue if part.place == "lid")
    assert (lid.sheets, lid.water_g) == (3, 0.0)
    assert plan.lid_takes_g == pytest.approx(20.25)
    assert plan.gross_mass_kg == pytest.approx(plan_box(request()).gross_mass_kg + 3 * 0.00675)
    assert any(layer.place == "lid" and layer.sheets == 3 for layer in plan.layers)
    assert any("under the lid" in step.text for step in plan.steps)
    assert any("14.0 g of water would drip" in said for said in plan.assumptions)
    dry = plan_box(request())
    assert (dry.lid_takes_g, [part for part in dry.tissue if part.place == "lid"]) == (0.0, [])


def test_a_contour_bed_carries_the_overhang_up_to_the_widest_height():
    profile = ((0.0, 160.0, 120.0), (60.0, 260.0, 220.0), (180.0, 200.0, 160.0))
    plan = plan_box(request(profile_mm=profile))
    assert [(step.from_mm, step.to_mm) for step in plan.bed_steps] == [(0.0, 25.0), (25.0, 50.0)]
    # each step lets the block through at its upper edge, and 3 mm of wrapping on both sides, up to whole millimetres
    assert plan.bed_steps[0].open_l_mm == 208.0  # 160 + 100 x 25 / 60 + 6 = 207.7
    assert plan.bed_steps[-1].open_l_mm == 250.0  # 160 + 100 x 50 / 60 + 6 = 249.3
    assert any("hole 208 x" in step.text and "hole 250 x 210 mm, in the middle" in step.text for step in plan.steps)
    assert plan_box(request()).bed_steps == ()
    assert plan_box(request(profile_mm=((0.0, 260.0, 220.0), (180.0, 200.0, 160.0)))).bed_steps == ()


def test_the_volume_of_slices_is_that_of_a_frustum():
    """Frustum of a pyramid h (A + B + sqrt(A B)) / 3: 200 x 100 to 100 x 50 over 90 mm."""
    area_low, area_high = 200 * 100, 100 * 50
    frustum = 90 * (area_low + area_high + (area_low * area_high) ** 0.5) / 3 * 1e-6
    assert volume_l(((0.0, 200.0, 100.0), (90.0, 100.0, 50.0)), 90.0) == pytest.approx(frustum)
    assert volume_l(((0.0, 200.0, 100.0), (0.1, 200.0, 100.0)), 90.0) == pytest.approx(200 * 100 * 90 * 1e-6)


def test_room_left_is_inside_less_block_and_bed():
    plan = plan_box(request())
    room_l = 0.4 * 0.3 * (0.25 - 0.025) * 1000 - 0.26 * 0.22 * 0.18 * 1000
    assert plan.filling.room_l == pytest.approx(room_l)
    side_l = (0.4 * 0.3 - 0.26 * 0.22) * 0.18 * 1000
    assert plan.filling.headspace_fraction == pytest.approx((room_l - side_l) / 30.0)


def test_when_none_fits_boards_are_offered_with_pieces_that_make_the_box():
    plan = plan_box(request(stock=(), block_mm=(600.0, 500.0, 300.0), mass_kg=30.0))
    names = {board.name for board in boards() if board.use == "box"}
    assert {option.board for option in plan.make_options} <= names
    assert plan.make_options
    for option in plan.make_options:
        assert option.inside_mm == (640.0, 540.0, 340.0)
        assert all(out > inside for out, inside in zip(option.outside_mm, option.inside_mm, strict=True))
        assert len(option.laid) == sum(piece.count for piece in option.pieces)
        assert "common practice" in option.text
    panels = next(option for option in plan.make_options if option.board == "HDPE sheet 10 mm")
    by_name = {piece.name: (piece.length_mm, piece.width_mm) for piece in panels.pieces}
    assert by_name == {"floor and lid": (660.0, 560.0), "long sides": (660.0, 340.0), "short sides": (540.0, 340.0)}
    area = 2 * (0.66 * 0.56 + 0.66 * 0.34 + 0.54 * 0.34)
    assert panels.mass_kg == pytest.approx(area * 9.5)
    assert [option.sheets for option in plan.make_options] == sorted(option.sheets for option in plan.make_options)
    assert plan_box(request()).make_options == ()


def test_no_board_is_offered_for_more_than_its_rating_and_the_plan_says_so():
    """Ratings are the table's (judgement): 8 and 15 kg for fluted board, 40 kg for panels."""
    heavy = plan_box(request(stock=(), block_mm=(420.0, 400.0, 300.0), mass_kg=88.0))
    assert heavy.make_options == ()
    told = " ".join(heavy.make_declined)
    for board in boards():
        if board.use == "box":
            assert board.rated_seen == "judgement"
            assert f"No box of {board.name}: it is offered for {board.rated_kg:g} kg at most" in told
    light = plan_box(request(stock=(), mass_kg=9.0))
    assert {option.board for option in light.make_options} == {"fluted polypropylene 6 mm", "HDPE sheet 10 mm"}
    assert all("kg at most (judgement)" in option.text for option in light.make_options)


def test_a_box_without_a_rating_is_declined_where_an_aid_is_asked_for():
    """Over 25 kg (mass_aid_kg of pack_defaults, judgement) a box must have a rated load to be offered."""
    unrated = StockBox(name="old trunk", inside_mm=(600, 500, 400), wall="PP", wall_mm=4.0, tare_kg=3.0)
    heavy = plan_box(request(stock=(unrated,), block_mm=(420.0, 400.0, 300.0), mass_kg=40.0))
    assert heavy.box is None
    assert "no rated load is entered for it" in heavy.rejected[0].why
    assert heavy.binding.startswith("find and packing weigh 41.73 kg, the box not in it")
    assert plan_box(request(stock=(unrated,), block_mm=(300.0, 250.0, 150.0), mass_kg=16.0)).box is not None


def test_boards_a_find_may_not_lie_in_are_not_offered():
    """Lead is attacked by the vapours of wood (table state_rules): no plywood box for it."""
    lead = plan_box(request(stock=(), material="lead", state="dry", soil=None, water_content=None, mass_kg=30.0))
    assert "plywood 9 mm" not in {option.board for option in lead.make_options}
    stone = plan_box(request(stock=(), material="stone", state="dry", soil=None, water_content=None, mass_kg=20.0))
    assert "plywood 9 mm" in {option.board for option in stone.make_options}
    damp = plan_box(request(stock=()))
    assert "plywood 9 mm" not in {option.board for option in damp.make_options}


def test_what_a_box_takes_is_what_its_plan_says():
    plan = plan_box(request(barrier="aluminium foil", analyses=("lipid",), lid_water_g=14.0))
    used = {one.item: one.amount for one in consumed(plan, DEFAULTS)}
    assert used["tissue"] == plan.sheets + 3
    assert used["deionised water"] == pytest.approx(plan.dose_g / 1000)
    face = 2 * (0.26 * 0.22 + 0.26 * 0.18 + 0.22 * 0.18)
    assert used["aluminium foil"] == pytest.approx(face * DEFAULTS.wrap_overlap)
    assert used["gloves"] == 2  # a pair to work in, and one unused glove as blank
    assert consumed(plan_box(request(stock=())), DEFAULTS) == ()


def test_foam_and_board_are_cut_to_the_plan():
    plan = plan_box(request(board_mm=12.0))
    assert [(piece.length_mm, piece.width_mm) for piece in board_pieces(plan)] == [(260.0, 220.0)]
    plank = foam_plank()
    pieces = foam_pieces(plan, plank)
    beds = [piece for piece in pieces if piece.name == "foam plank, bed"]
    assert [(piece.length_mm, piece.width_mm) for piece in beds] == [(400, 300)]
    foam_mm3 = sum(piece.length_mm * piece.width_mm for piece in pieces) * plank.thickness_mm
    # strips keep clear of 3 mm of wrapping on every side
    wanted = 400 * 300 * 22 + (400 * 300 - 266 * 226) * 180
    assert foam_mm3 >= wanted
