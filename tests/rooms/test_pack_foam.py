"""Foam and boards: what the cut list says closes every gap, weighs what is told, and is drawn where it lies."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path as File

import pytest

from findhold.cushion import said
from findhold.cushion.bearing import Standing, bearing_of
from findhold.draw.marks import Path
from findhold.pack.cut import BOARD_MATERIAL, built_of, off_words
from findhold.pack.inputs import PlanInputs, StockBox, pack_defaults
from findhold.pack.plan import plan_box
from findhold.paper.cut import cut_of
from findhold.service.packing.cut_words import cut_lines
from findhold.service.packing.drawing import box_drawing, section_spec
from findhold.service.whatif import keep_scenario, plan_scenario

EXAMPLES = File(__file__).parents[2] / "examples"
DEFAULTS = pack_defaults()


def cushioned():
    return plan_scenario(EXAMPLES / "cushioned-jar.toml")


def leaning(turn: bool = False):
    """A block of 200 x 160 x 120 mm whose foot of 100 x 80 mm stands at its left end and its far side."""
    side = ((0.0, 0.0), (100.0, 0.0), (200.0, 120.0), (0.0, 120.0))
    end = ((80.0, 0.0), (160.0, 0.0), (160.0, 120.0), (0.0, 120.0))
    inside = (240.0, 320.0, 220.0) if turn else (320.0, 240.0, 220.0)
    box = StockBox(name="B", inside_mm=inside, wall="PP", wall_mm=2.0, tare_kg=1.0)
    return plan_box(
        PlanInputs(
            material="low-fired ceramic",
            state="damp",
            block_mm=(200.0, 160.0, 120.0),
            mass_kg=4.0,
            soil="loam",
            stock=(box,),
            side_outline_mm=side,
            end_outline_mm=end,
            plan_outline_mm=((0.0, 0.0), (200.0, 0.0), (200.0, 160.0), (0.0, 160.0)),
            profile_mm=((0.0, 100.0, 80.0), (120.0, 200.0, 160.0)),
        )
    )


# --- a cushion ------------------------------------------------------------------------------------------------------


def test_wrapping_board_pad_and_packing_close_every_gap_but_a_rest_under_a_millimetre():
    plan = cushioned().plan
    gap, foam = plan.clearance_mm, plan.foam
    for name, room in (("ends", gap.side_l), ("sides", gap.side_w)):
        face = plan.cushion.face(name)
        left = room - foam.margin_mm - face.board_mm - face.foam_mm - foam.packing_mm[name]
        assert 0.0 <= left < 1.0
    base = plan.cushion.face("base")
    assert base.foam_mm + base.board_mm + DEFAULTS.bed_tissue_mm == pytest.approx(gap.bed)
    assert DEFAULTS.lid_sag_mm + DEFAULTS.tissue_swell_mm <= foam.over_foam_mm < foam.over_foam_most_mm


def test_the_air_over_the_foam_stays_small_however_high_the_box():
    case = cushioned()
    for more in (0.0, 53.0, 153.0):
        length, width, height = case.plan.box.inside_mm
        box = replace(case.plan.box, inside_mm=(length, width, height + more))
        plan = plan_box(replace(case.case.plan, stock=(box,), wanted_box=None))
        assert plan.foam.over_foam_mm < 6.0
        tops = [piece.thickness_mm for piece in plan.foam.pieces if piece.where == "top"]
        assert sum(tops) + plan.foam.over_foam_mm + 2 * 3.0 == pytest.approx(plan.clearance_mm.lid_gap)


def test_foam_and_boards_weigh_what_the_cut_list_has():
    plan = cushioned().plan
    boards = sum(piece.volume_m3 for piece in plan.foam.pieces if piece.material == BOARD_MATERIAL)
    foam = sum(piece.volume_m3 for piece in plan.foam.pieces if piece.material != BOARD_MATERIAL)
    told = {part.name: part.mass_kg for part in plan.masses}
    assert told["board"] == pytest.approx(boards * 680.0)
    assert told["foam"] == pytest.approx(foam * 35.2)
    assert sum(told.values()) == pytest.approx(plan.gross_mass_kg)


def test_every_face_of_a_cushion_is_in_steps_cut_list_and_layers():
    plan = cushioned().plan
    steps = " ".join(step.text for step in plan.steps)
    for piece in plan.foam.pieces:
        if piece.where in ("ends", "sides", "top"):
            assert f"{piece.name.removeprefix('foam ')} {piece.thickness_mm:g} mm" in steps
            assert any(piece.sizes in line for line in cut_lines(plan))
            assert any(
                layer.thickness_mm == piece.thickness_mm for layer in plan.layers if layer.place in ("side", "top")
            )
    over = [step.number for step in plan.steps if step.text.startswith("Lay over it")]
    checks = [step.number for step in plan.steps if step.text.startswith("Check")]
    assert checks[0] < over[0] < checks[1]


def test_pads_and_boards_are_drawn_between_block_and_wall_and_on_nothing():
    from shapely import Polygon

    plan = cushioned().plan
    spec = section_spec(plan, "find 37")
    for view in ("along", "across", "plan"):
        cut = cut_of(spec, view)
        shapes = [Polygon(corners) for _, corners in cut.beside()]
        assert len(shapes) == (12 if view == "plan" else 6)
        block = Polygon(cut.outline)
        for number, shape in enumerate(shapes):
            assert shape.intersection(block).area < 1e-6
            assert all(shape.intersection(other).area < 1e-6 for other in shapes[number + 1 :])
        left, right = min(s.bounds[0] for s in shapes), max(s.bounds[2] for s in shapes)
        assert (left, right) == pytest.approx((0.0, cut.inside_mm[0]))


# --- a block that leans -----------------------------------------------------------------------------------------------


def test_holes_follow_a_block_that_leans_and_let_it_through():
    plan = leaning()
    # whole planks of 25 mm under its widest at 120 mm
    assert len(plan.bed_steps) == 4
    low = plan.bed_steps[0]
    # over the lowest 25 mm it reaches from 0 to 120.8 along and from 63.3 to 160 across, and 3 mm more for the wrapping
    assert (low.open_l_mm, low.open_w_mm) == (127.0, 103.0)
    assert (low.off_l_mm, low.off_w_mm) == (-39.5, 31.5)
    assert 100.0 + low.off_l_mm - low.open_l_mm / 2 <= -3.0
    assert 100.0 + low.off_l_mm + low.open_l_mm / 2 >= 120.8 + 3.0


@pytest.mark.parametrize("turn", [False, True])
def test_list_steps_and_drawing_put_a_hole_at_one_place(turn):
    plan = leaning(turn=turn)
    assert plan.turn_deg == (90 if turn else 0)
    piece = next(piece for piece in plan.foam.pieces if piece.where == "round 1")
    # turned by a quarter anticlockwise, the far side of the block comes to the left and its left end comes near
    assert piece.hole_off_mm == ((-31.5, -39.5) if turn else (-39.5, 31.5))
    assert piece.hole_mm == ((103.0, 127.0) if turn else (127.0, 103.0))
    words = off_words(piece.hole_off_mm)
    assert words == (
        "31.5 to the LEFT end, 39.5 to the NEAR side" if turn else "39.5 to the LEFT end, 31.5 to the FAR side"
    )
    assert any(words in step.text for step in plan.steps if step.text.startswith("Lower"))
    assert any(words in line for line in cut_lines(plan))
    spec = section_spec(plan, "find 37")
    for view, axis in (("along", 0), ("across", 1)):
        cut = cut_of(spec, view)
        us = [u for u, _ in cut.piece(spec.opening(spec.contour[0]))]
        assert (min(us) + max(us)) / 2 - cut.inside_mm[0] / 2 == pytest.approx(piece.hole_off_mm[axis])
        assert max(us) - min(us) == pytest.approx(piece.hole_mm[axis])


def test_ends_and_sides_are_named_on_the_plan_of_a_leaning_block_only():
    names = {"LEFT", "RIGHT", "NEAR", "FAR"}

    def shown(plan):
        return names & {getattr(mark, "text", "") for mark in box_drawing(plan, "find 37", "plan").marks}

    assert shown(leaning()) == names
    assert shown(cushioned().plan) == set()


def test_the_screen_says_towards_which_end_the_foot_lies():
    standing = Standing(block_mm=(200.0, 160.0, 120.0), mass_kg=4.0, profile_mm=())
    side = ((0.0, 0.0), (100.0, 0.0), (200.0, 120.0), (0.0, 120.0))
    end = ((0.0, 0.0), (160.0, 0.0), (160.0, 120.0), (0.0, 120.0))
    standing = replace(standing, side_outline_mm=side, end_outline_mm=end)
    assert "50 mm towards the LEFT end" in " ".join(bearing_of(standing, None).lines)
    assert "50 mm towards the NEAR side" in " ".join(bearing_of(standing, None, turn_deg=90.0).lines)


# --- under water ------------------------------------------------------------------------------------------------------


def bowl(**more):
    box = StockBox(name="B", inside_mm=(360.0, 340.0, 200.0), wall="PP", wall_mm=2.0, tare_kg=1.0)
    given = {"material": "wood", "state": "waterlogged", "block_mm": (210.0, 190.0, 60.0), "mass_kg": 1.35}
    return plan_box(PlanInputs(**{**given, "stock": (box,), **more}))


def test_water_and_find_fill_the_bag_and_an_open_vessel_takes_more_water():
    plan = bowl()
    # beside it 10 mm of water and 3 mm for the folds of the bag, over it 10 mm, under it the folds and its tray; that
    # of 1.4 kg/m2, of polypropylene (905 kg/m3), takes the place of some
    tray_kg = 210 * 190e-6 * 1.4
    room_g = 236 * 216 * (13 + 60 + 10) * 1e-3 - tray_kg / 905 * 1e6
    # 1.35 kg of wet wood is 1.35 L at most and, were all of it solid (1500 kg/m3), 0.9 L
    assert plan.bag_water_g.low == pytest.approx(room_g - 1350)
    assert plan.bag_water_g.high == pytest.approx(room_g - 900)
    assert plan.dose_g == pytest.approx(room_g - 1125)
    solid = bowl(mass_kg=2.6)
    assert solid.dose_g == pytest.approx(room_g - 210 * 190 * 60e-3)
    assert bowl(volume_l=1.2).dose_g == pytest.approx(room_g - 1200)


def test_a_bag_lies_against_the_holes_of_its_foam_and_the_water_is_what_they_leave():
    plan = bowl(profile_mm=((0.0, 90.0, 80.0), (60.0, 210.0, 190.0)))
    steps = plan.bed_steps
    assert steps[0].from_mm == -DEFAULTS.submerged_cover_mm - DEFAULTS.liner_fold_mm
    # beside the find 10 mm of water and 3 mm for the folds of the bag, on both sides
    # the lowest sheet ends 12 mm over the find's base, water reaches 10 mm over that
    assert steps[0].open_l_mm == 90 + 120 * 22 / 60 + 2 * 13
    holes = sum((step.to_mm - step.from_mm) * step.open_l_mm * step.open_w_mm for step in steps)
    over = (210 + 26) * (190 + 26) * (70 - steps[-1].to_mm)
    (tray,) = [piece for piece in plan.foam.pieces if piece.name == "perforated tray"]
    assert tray.length_mm == steps[0].open_l_mm - 26
    tray_g = tray.length_mm * tray.width_mm * 1.4e-6 / 905 * 1e6
    # by its profile, a frustum with straight sides, it takes 1281 g of water's place, less than its 1350 g
    frustum = 60 * (90 * 80 + 210 * 190 + (90 + 210) * (80 + 190)) / 6
    assert plan.bag_water_g.low == pytest.approx((holes + over - frustum) * 1e-3 - tray_g, rel=1e-6)
    assert plan.dose_g < bowl().dose_g


def test_water_is_drawn_inside_the_bag_and_nowhere_on_the_floor():
    plan = bowl()
    assert not any(layer.hatch == "water" for layer in plan.layers if layer.place == "bed")
    spec = section_spec(plan, "find 41")
    cut = cut_of(spec, "along")
    (water,) = cut.ring(0.0, 10.0)
    assert min(v for _, v in water.ring) == pytest.approx(spec.bed_mm - 10.0)
    assert min(v for shape in cut.fill() for _, v in shape.ring) == pytest.approx(spec.bed_mm - 13.0)
    # the strips hold the bag: whole bars at least as high as the water, 83 mm, and as far from the find as cut
    assert max(v for shape in cut.fill() for _, v in shape.ring) == pytest.approx(25.0 + 4 * 25.0)
    left = cut.fill()[0]
    assert max(u for u, _ in left.ring) == pytest.approx(cut.corner_mm[0] - 13.0)


def test_a_find_under_water_gets_foam_bag_tray_find_and_water_in_that_order():
    plan = bowl()
    told = [step.text for step in plan.steps]
    order = [
        "Lay a foam plank",
        "Fill the sides",
        "Open 2",
        "Set the perforated tray",
        "Lower the find",
        "Lay a straight",
    ]
    order += ["Pour water", "Press the air out", "Lay the inside label", "Close the lid"]
    at = [next(n for n, text in enumerate(told) if text.startswith(begin)) for begin in order]
    assert at == sorted(at)
    masses = {part.name: part.mass_kg for part in plan.masses}
    assert masses["tray"] == pytest.approx(210 * 190e-6 * 1.4)
    foam = sum(piece.volume_m3 for piece in plan.foam.pieces if piece.is_foam) * DEFAULTS.foam_density_kg_per_m3
    assert masses["foam"] == pytest.approx(foam)
    assert sum(masses.values()) == pytest.approx(plan.gross_mass_kg)
    # foam, folds of the bag and tray make the bed
    assert plan.clearance_mm.bed == pytest.approx(25 + 3 + 10)


def test_a_find_with_a_waist_goes_down_through_holes_wide_enough_for_its_foot():
    plan = bowl(profile_mm=((0.0, 150.0, 140.0), (20.0, 90.0, 80.0), (60.0, 210.0, 190.0)))
    assert all(step.open_l_mm >= 150.0 + 2 * 13 for step in plan.bed_steps)


@pytest.mark.parametrize("kind", ["section", "across", "plan", "steps"])
def test_no_line_joins_the_two_edges_of_a_ring(kind):
    drawing = box_drawing(bowl(), "find 41", kind)
    for mark in drawing.marks:
        if isinstance(mark, Path) and mark.closed and mark.pen is not None:
            assert len(set(mark.points)) == len(mark.points)


def test_the_mass_to_expect_is_as_wide_as_the_water_until_it_is_weighed():
    kept = keep_scenario(EXAMPLES / "wood-waterlogged.toml").kept
    water, band = kept.plan.bag_water_g, kept.forecast.mass_band[0]
    assert band.high_kg - band.low_kg >= (water.high - water.low) / 1000.0
    assert band.low_kg < band.best_kg < band.high_kg


def test_the_pressure_under_water_is_said_to_be_that_in_air():
    standing = Standing(block_mm=(210.0, 190.0, 60.0), mass_kg=1.35)
    wet, dry = bearing_of(standing, None, under_water=True), bearing_of(standing, None)
    assert wet.foot_kpa == dry.foot_kpa
    assert any("taken as in air" in line for line in wet.lines)
    assert not any("taken as in air" in line for line in dry.lines)


# --- words that must not contradict each other -----------------------------------------------------------------------


def test_a_softer_foam_is_never_offered_under_the_least_thickness():
    planned = cushioned().case.cushion
    least = planned.curve.least_thickness_mm
    for thick in (25.0, 50.0):
        assert thick >= least
    assert all(way.thickness_mm is None or way.thickness_mm >= least for way in planned.helps)


def test_two_pads_in_a_line_are_told_to_tilt():
    planned = cushioned().case.cushion
    pairs = tuple(replace(face, design=replace(face.design, pads=2)) for face in planned.faces)
    assert any("on a line" in line for line in said.warnings(replace(planned, faces=pairs)))
    assert not any("on a line" in line for line in said.warnings(planned))


def test_one_gap_has_one_figure_everywhere():
    plan = plan_scenario(EXAMPLES / "jar-scan.toml").plan
    gap = plan.clearance_mm
    assert f"{gap.side_w:g} mm free" in plan.binding
    assert any(f"{gap.side_l:g} mm at the ends, {gap.side_w:g} mm at the sides" in step.text for step in plan.steps)
    drawn = {getattr(mark, "text", "") for mark in box_drawing(plan, "find 37", "section").marks}
    assert {f"{gap.side_l:g}", f"side {gap.side_l:g}"} & drawn


# --- a neck over the widest part ------------------------------------------------------------------------------------


def necked(**more):
    """A jar of 180 x 180 x 240 mm, widest at 110 mm, with a neck of 80 mm."""
    box = StockBox(name="B", inside_mm=(300.0, 300.0, 290.0), wall="PP", wall_mm=2.0, tare_kg=1.0)
    rows = ((0.0, 90.0, 90.0), (110.0, 180.0, 180.0), (190.0, 80.0, 80.0), (240.0, 80.0, 80.0))
    given = {"material": "low-fired ceramic", "state": "damp", "block_mm": (180.0, 180.0, 240.0), "mass_kg": 5.0}
    return plan_box(PlanInputs(**{**given, "soil": "loam", "profile_mm": rows, "stock": (box,), **more}))


def test_the_room_round_a_neck_is_filled_with_crumpled_tissue_that_is_counted_wetted_and_weighed():
    plan = necked()
    (neck,) = [part for part in plan.tissue if part.place == "neck"]
    # over the widest: a prism of 180 + 2 x 3 mm less a frustum of 186 to 86 mm over 80 mm and a neck of 86 mm over 50
    room_m3 = (186**2 * 130 - 80 * (186**2 + 86**2 + 186 * 86) / 3 - 86**2 * 50) * 1e-9
    sheet_kg = DEFAULTS.sheet_gsm * DEFAULTS.sheet_m2 * 1e-3
    assert neck.sheets == round(room_m3 * DEFAULTS.crumpled_tissue_kg_per_m3 / sheet_kg)
    assert neck.water_g == pytest.approx(neck.sheets * plan.dose_g_per_sheet)
    assert sum(part.sheets for part in plan.tissue if part.place != "lid") == plan.sheets
    assert any(f"{neck.sheets} sheets" in step.text for step in plan.steps if step.text.startswith("Fill the room"))
    assert sum(part.mass_kg for part in plan.masses) == pytest.approx(plan.gross_mass_kg)


def test_the_room_round_a_neck_is_drawn_as_tissue_and_the_strips_beside_it_straight():
    cut = cut_of(section_spec(necked(), "find 37"), "along")
    widest = cut.corner_mm[1] + 110.0
    assert sum(max(v for _, v in shape.ring) > widest for shape in cut.neck()) == 2
    assert all(len(shape.ring) == 4 for shape in cut.fill())
    strips = max(u for shape in cut.fill()[:1] for u, _ in shape.ring)
    assert min(u for shape in cut.neck() for u, _ in shape.ring) == pytest.approx(strips)


def test_a_block_without_a_neck_or_with_its_sheets_stated_gets_no_filling():
    prism = necked(profile_mm=())
    assert not any(part.place == "neck" for part in prism.tissue)
    assert not any(part.place == "neck" for part in necked(sheets=4).tissue)
    assert not any(step.text.startswith("Fill the room") for step in prism.steps)


# --- thicknesses that can be bought ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wanted_mm", "planks_mm"),
    [(25, (25,)), (22, (22,)), (50, (25, 25)), (67, (25, 25, 17)), (27, (14, 13)), (52, (25, 14, 13)), (5, (5,))],
)
def test_a_thickness_is_laid_up_of_planks_as_sold_and_of_slices_that_can_be_cut(wanted_mm, planks_mm):
    assert built_of(wanted_mm) == planks_mm
    assert sum(built_of(wanted_mm)) == wanted_mm
    assert all(slice_mm >= 10 for slice_mm in built_of(wanted_mm)) or len(planks_mm) == 1


def test_the_cut_list_says_what_is_sliced_and_what_is_laid_up():
    lines = cut_lines(necked())
    assert any("foam plank 300 x 300 x 22 mm (25 sliced to 22)" in line for line in lines)
    assert any("4 × foam sheet 300 x 300 x 25 mm, in halves" in line for line in lines)
    # 240 mm high over four sheets of 25 mm: 140 mm, five whole bars
    assert any("foam strip 300 x 125 x 57 mm, each of 5 bars off the 25 mm plank" in line for line in lines)
