"""Lifting and boards where the answer is known: monotone, closed forms, one measure carried into the other."""

from dataclasses import replace
from math import atan, degrees

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.cushion.foot import base_mm
from findhold.errors import BadInput
from findhold.geometry.profile import profile_centre_mm
from findhold.lift.board import Carried, Sheet, board_options, end_held, four_edges
from findhold.lift.carry import block_centre, packed_centre, tip_angle_deg
from findhold.lift.guideline import Sweep, filter_for, zones_passed
from findhold.lift.inputs import Block, Box
from findhold.lift.niosh import Hold, Lift, Pace, RoundTask, composite_index, frequency_multiplier, lifting_index

G = 9.80665
HEIGHTS = st.floats(0, 174)
REACHES = st.floats(25, 62)


def limit(reach=30.0, low=75.0, high=75.0, twist=0.0, coupling="good"):
    lift = Lift(
        mass_kg=10,
        origin=Hold(reach_cm=reach, height_cm=low, twist_deg=twist),
        destination=Hold(reach_cm=reach, height_cm=high, twist_deg=twist),
        coupling=coupling,
    )
    return lifting_index(lift).limit_kg


def test_the_best_lift_of_all_is_the_load_constant():
    assert limit(reach=25, low=75, high=75) == 23.0


@given(REACHES, HEIGHTS, HEIGHTS, st.floats(0, 130), st.floats(0.5, 5))
def test_farther_more_twisted_or_worse_held_never_allows_more(reach, low, high, twist, more):
    here = limit(reach, low, high, twist)
    assert limit(reach + more / 5, low, high, twist) <= here
    assert limit(reach, low, high, twist + more) <= here
    assert limit(reach, low, high, twist, "fair") <= here
    assert limit(reach, low, high, twist, "poor") <= limit(reach, low, high, twist, "fair")


@given(REACHES, HEIGHTS, HEIGHTS)
def test_lifting_and_lowering_between_two_heights_are_one(reach, low, high):
    """With care at both ends and good grips only the pace asks which end is the origin, and 0.2 a minute gives 1."""
    assert limit(reach, low, high) == pytest.approx(limit(reach, high, low))


@given(st.floats(0.2, 15), st.floats(0, 1), st.booleans())
def test_a_faster_pace_never_allows_more(lifts, more, high):
    for hours in (1.0, 2.0, 8.0):
        slow = frequency_multiplier(Pace(lifts_per_min=lifts, hours=hours), high=high)
        assert frequency_multiplier(Pace(lifts_per_min=lifts + more, hours=hours), high=high) <= slow


@pytest.mark.parametrize(("reach", "height", "twist"), [(63.1, 75, 0), (30, 175.1, 0), (30, 75, 135.1)])
def test_beyond_its_ranges_no_load_is_recommended_and_the_index_is_none(reach, height, twist):
    hold = Hold(reach_cm=reach, height_cm=height, twist_deg=twist)
    told = lifting_index(Lift(mass_kg=1, origin=hold, destination=hold, coupling="good"))
    assert told.limit_kg == 0.0
    assert told.index is None


def test_more_than_eight_hours_is_refused_with_the_limit():
    pace = Pace(hours=8.5)
    with pytest.raises(BadInput, match="8 h"):
        frequency_multiplier(pace, high=True)


def test_a_round_of_one_box_is_its_own_index_and_more_boxes_never_ask_less():
    def box(name, mass):
        return RoundTask(name=name, mass_kg=mass, free_limit_kg=15.0, lifts_per_min=0.5, high=True)

    one = composite_index([box("a", 8)], 1.0)
    assert one.index == pytest.approx(8 / (15 * 0.97))
    two = composite_index([box("a", 8), box("b", 6)], 1.0)
    assert two.index > one.index
    assert two.index == pytest.approx(8 / (15 * 0.97) + 6 / 15 * (1 / 0.94 - 1 / 0.97))


def test_a_round_of_like_boxes_is_one_box_at_the_summed_pace():
    """CLI of n like tasks telescopes to FILI/FM of all together."""
    tasks = [RoundTask(name=str(n), mass_kg=9, free_limit_kg=12, lifts_per_min=1, high=True) for n in range(5)]
    assert composite_index(tasks, 1.0).index == pytest.approx(9 / 12 / 0.80)


@given(st.floats(0, 1900), st.floats(0, 300), st.floats(0, 700))
def test_the_filter_never_allows_more_for_hands_that_pass_more_zones_or_reach_farther(low, up, reach):
    for who in ("women", "men"):
        here = filter_for(Sweep(low_mm=low, high_mm=low, reach_mm=reach), who, 350).limit_kg
        assert filter_for(Sweep(low_mm=low, high_mm=low + up, reach_mm=reach), who, 350).limit_kg <= here
        assert filter_for(Sweep(low_mm=low, high_mm=low, reach_mm=reach + 400), who, 350).limit_kg <= here


def test_every_height_lies_in_one_zone_and_a_boundary_in_the_upper():
    for height in (0, 225, 300, 730, 1020, 1330, 2000):
        assert len(zones_passed(height, height, "women")) == 1
    assert zones_passed(730, 730, "women")[0].name == "knuckle to elbow"
    assert zones_passed(0, 2000, "men")[0].name == "below mid lower leg"
    assert len(zones_passed(0, 2000, "men")) == 5


CARRIED = Carried(mass_kg=9.5, block_l_m=0.26, block_w_m=0.22, span_m=0.36, width_m=0.22)
PLY = Sheet(thickness_m=0.012, e_gpa=7.0, density_kg_per_m3=680.0)


def test_a_block_as_long_as_the_board_is_an_even_load_and_a_narrow_one_a_point_load():
    """5PL³/384EI and PL³/48EI."""
    load, inertia = CARRIED.mass_kg * G, 0.22 * 0.012**3 / 12
    even = end_held(
        Carried(mass_kg=9.5, block_l_m=0.36, block_w_m=0.22, span_m=0.36, width_m=0.22), PLY, own_weight=False
    )
    point = end_held(
        Carried(mass_kg=9.5, block_l_m=1e-6, block_w_m=0.22, span_m=0.36, width_m=0.22), PLY, own_weight=False
    )
    assert even.deflection_m == pytest.approx(5 * load * 0.36**3 / (384 * 7e9 * inertia))
    assert point.deflection_m == pytest.approx(load * 0.36**3 / (48 * 7e9 * inertia), rel=1e-5)


def test_the_boards_own_weight_adds_its_own_even_load():
    own = 0.22 * 0.012 * 680 * G
    with_it, without = end_held(CARRIED, PLY), end_held(CARRIED, PLY, own_weight=False)
    assert with_it.moment_n_m - without.moment_n_m == pytest.approx(own * 0.36**2 / 8)
    more = 5 * own * 0.36**4 / (384 * 7e9 * 0.22 * 0.012**3 / 12)
    assert with_it.deflection_m - without.deflection_m == pytest.approx(more)


def test_the_sag_told_is_a_little_more_than_the_true_one():
    """True sag over the block: c²/EI (P(L-c)/32 + 5Pc/384), from the moment that falls off to P(L-c)/4 at its ends."""
    load, span, block = 9.5 * G, 0.36, 0.26
    stiffness = 7e9 * 0.22 * 0.012**3 / 12
    true = block**2 / stiffness * (load * (span - block) / 32 + 5 * load * block / 384)
    told = end_held(CARRIED, PLY, own_weight=False).sag_m
    assert 1.0 <= told / true <= 1.2


@pytest.mark.parametrize("edges", [False, True])
def test_sag_falls_with_the_cube_of_thickness_and_with_stiffness(edges):
    held = four_edges if edges else lambda carried, sheet: end_held(carried, sheet, own_weight=False)
    wide = Carried(mass_kg=9.5, block_l_m=0.26, block_w_m=0.22, span_m=0.36, width_m=0.32)
    thin = held(wide, PLY)
    thick = held(wide, Sheet(thickness_m=0.024, e_gpa=7.0, density_kg_per_m3=680.0))
    stiff = held(wide, Sheet(thickness_m=0.012, e_gpa=14.0, density_kg_per_m3=680.0))
    assert thin.sag_m / thick.sag_m == pytest.approx(8)
    assert thin.sag_m / stiff.sag_m == pytest.approx(2)
    assert thin.stress_pa / thick.stress_pa == pytest.approx(4)


def test_four_edges_hold_a_block_better_than_two_ends():
    wide = Carried(mass_kg=9.5, block_l_m=0.26, block_w_m=0.22, span_m=0.36, width_m=0.32)
    assert four_edges(wide, PLY).sag_m < end_held(wide, PLY).sag_m


def test_a_board_that_keeps_its_sag_is_strained_as_little_as_the_model_page_says():
    """Sag M c²/8EI <= c/1000 means a strain M t/2EI <= 4 t/(1000 c), whatever the material."""
    for option in board_options(CARRIED, over=1000):
        if option.thickness_mm is not None:
            assert option.bending.sag_length_over >= 1000
            assert option.bending.strain_ratio <= 4 * option.thickness_mm / 1000 / (1000 * 0.26) * (1 + 1e-12)


def test_the_board_told_is_the_thinnest_sold_that_does():
    from findhold.lift.board import option_for
    from findhold.tables.lifting import board_materials

    told = {option.material: option.thickness_mm for option in board_options(CARRIED, over=1000)}
    for material in board_materials():
        does = [
            thick
            for thick in material.thicknesses_mm
            if option_for(material, thick, CARRIED).bending.sag_length_over >= 1000
        ]
        assert told[material.name] == (min(does) if does else None)


def test_a_block_larger_than_its_board_is_refused():
    with pytest.raises(BadInput, match="larger than the board"):
        end_held(Carried(mass_kg=1, block_l_m=0.4, block_w_m=0.2, span_m=0.3, width_m=0.2), PLY)


def test_the_tip_angle_is_that_of_the_triangle():
    assert tip_angle_deg(100, 100) == pytest.approx(45)
    assert tip_angle_deg(50, 200) == pytest.approx(degrees(atan(0.25)))


def test_a_block_tips_over_the_edge_of_its_foot_not_of_its_prism():
    """Prism 220 x 180, foot 110 x 100 in its middle, centre (135, 90, 190): edge at 165, so atan(30/190) = 9.0°.

    Across it is 50 mm to the edge, and over the prism's own edge it would be 85 mm: atan(85/190) = 24.1°.
    """
    block = Block(size_mm=(220, 180, 330), mass_kg=12, cog_mm=(135, 90, 190), stands_mm=(55, 165, 40, 140))
    assert block_centre(block).tip_deg == pytest.approx(degrees(atan(30 / 190)))
    assert block_centre(replace(block, stands_mm=None)).tip_deg == pytest.approx(degrees(atan(85 / 190)))
    assert block_centre(replace(block, stands_mm=(55, 130, 40, 140))).tip_deg == 0.0


def test_the_foot_of_a_profile_is_its_lowest_row_and_of_a_scan_its_silhouettes():
    size = (220.0, 180.0, 330.0)
    profile = ((0.0, 110.0, 100.0), (100.0, 220.0, 180.0), (330.0, 200.0, 160.0))
    assert base_mm((), (), profile, size) == (55.0, 165.0, 40.0, 140.0)
    assert base_mm((), (), (), size) is None
    # an upright tapers from its foot, 20 to 90, to a side of 0 to 220; the other silhouette is square
    side = ((20.0, 0.0), (90.0, 0.0), (220.0, 200.0), (220.0, 330.0), (0.0, 330.0), (0.0, 200.0))
    end = ((0.0, 0.0), (180.0, 0.0), (180.0, 330.0), (0.0, 330.0))
    found = base_mm(side, end, (), size)
    # read at 400 places of a side, and where it is within a millimetre of the bed
    assert found == pytest.approx((20.0, 90.0, 0.0, 180.0), abs=1.3)


def test_the_centre_of_a_profile_is_that_of_the_pyramid():
    """A square pyramid has its centre at a quarter of its height; cut off at half, at h (1 + 2 r + 3 r²)/(4 (1 + r +
    r²)) with r = 1/2 the upper side over the lower: 11/28 of the height that is left."""
    size = (100.0, 80.0, 50.0)
    told = profile_centre_mm(((0.0, 100.0, 80.0), (50.0, 50.0, 40.0)), size)
    assert told == pytest.approx((50.0, 40.0, 50.0 * 11 / 28))
    # one row alone is the prism
    assert profile_centre_mm(((10.0, 100.0, 80.0),), size) == pytest.approx((50.0, 40.0, 25.0))


def test_the_common_centre_is_the_moments_over_the_masses():
    """Block 8 kg with its centre 20 mm off along and 5 across, box and bed 2 kg in the middle: 16 and 4 mm off."""
    block = Block(size_mm=(200, 100, 80), mass_kg=8, cog_mm=(120, 55, 30))
    box = Box(name="b", outside_mm=(300, 200, 150), tare_kg=1.5, bed_kg=0.5, base_mm=30)
    told = packed_centre(block, 8, box)
    assert told.aside_mm == pytest.approx((16, 4))
    assert told.at_mm[2] == pytest.approx((8 * 60 + 2 * 75) / 10)
    half = min(150 - 16, 100 - 4)
    assert told.tip_deg == pytest.approx(degrees(atan(half / told.at_mm[2])))


@given(st.floats(0, 359))
def test_turning_the_block_in_its_box_turns_its_centre_and_nothing_else(turn):
    block = Block(size_mm=(200, 100, 80), mass_kg=8, cog_mm=(120, 55, 30))
    box = Box(name="b", outside_mm=(400, 400, 150), tare_kg=1.5, bed_kg=0.5, base_mm=30, turn_deg=turn)
    x, y = packed_centre(block, 8, box).aside_mm
    assert x**2 + y**2 == pytest.approx(16**2 + 4**2)
    assert complex(x, y) == pytest.approx(complex(16, 4) * complex(0, 1) ** (turn / 90), abs=1e-9)
