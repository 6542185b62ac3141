"""Boxes that taper or have rounded corners, blocks laid askew, places with a rating; proof in every rejection."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.errors import BadInput, Mistakes
from findhold.geometry.askew import rectangle
from findhold.pack.inputs import PlanInputs, StockBox, pack_defaults
from findhold.pack.plan import plan_box

DEFAULTS = pack_defaults()
SIDE = 2 * DEFAULTS.side_clearance_mm


def box(name="B1", inside=(400, 300, 220), **changes):
    known = {"wall": "PP", "wall_mm": 2.0, "tare_kg": 1.0, "max_load_kg": None}
    return StockBox(name=name, inside_mm=inside, **{**known, **changes})


def request(stock, block=(260.0, 220.0, 150.0), mass_kg=14.0, **changes):
    known = {"material": "low-fired ceramic", "state": "damp", "soil": "loam", "water_content": 0.2}
    return PlanInputs(block_mm=block, mass_kg=mass_kg, stock=tuple(stock), **{**known, **changes})


def test_a_long_find_goes_askew_into_a_box_shorter_than_it():
    """A rod 500 x 10 mm with 20 mm all round in 450 x 380: along the diagonal, by Carver's condition."""
    plan = plan_box(request([box(inside=(450, 380, 120))], block=(500.0, 10.0, 40.0), mass_kg=0.4, soil=None))
    assert plan.box is not None
    assert 0 < plan.turn_deg < 90
    along, across, height = plan.laid_mm
    turn = math.radians(plan.turn_deg)
    assert along == pytest.approx(500 * math.cos(turn) + 10 * math.sin(turn))
    assert across == pytest.approx(500 * math.sin(turn) + 10 * math.cos(turn))
    assert 2 * plan.clearance_mm.side_l + along == pytest.approx(450, abs=0.11)  # told to a tenth
    assert 2 * plan.clearance_mm.side_w + across == pytest.approx(380, abs=0.11)
    assert min(plan.clearance_mm.side_l, plan.clearance_mm.side_w) >= DEFAULTS.side_clearance_mm
    assert height == 40.0
    assert plan.turn.startswith("askew")
    assert any("only askew" in said for said in plan.warnings)
    assert any("mm from the left end" in step.text for step in plan.steps)


def test_square_is_taken_before_askew_in_one_box():
    plan = plan_box(request([box()]))
    assert plan.turn_deg in (0, 90)


def test_the_outline_of_a_scan_goes_where_its_rectangle_does_not():
    """A right-angled triangle's hull needs less room at 45 degrees than its rectangle: 400 x 400 halved."""
    block = (400.0, 400.0, 50.0)
    outline = ((0.0, 0.0), (400.0, 0.0), (0.0, 400.0))
    # turned by 45 degrees its hypotenuse lies along the box: 565.7 long, 282.8 across
    stock = [box(inside=(610, 330, 120))]
    assert plan_box(request(stock, block=block, mass_kg=10.0)).box is None
    plan = plan_box(request(stock, block=block, mass_kg=10.0, plan_outline_mm=outline))
    assert plan.box is not None
    assert plan.laid_mm[0] <= 610 - SIDE
    assert plan.laid_mm[1] <= 330 - SIDE
    assert abs(plan.turn_deg % 90 - 45) < 2


def test_a_tapered_box_is_as_wide_as_at_the_foot_of_the_block():
    """Rim 340 x 300, floor 300 x 260 over 200 mm: at the bed, 25 mm up, it is 305 x 265 inside."""
    tapered = box(inside=(340, 300, 200), base_mm=(300.0, 260.0))
    assert plan_box(request([tapered], block=(265.0, 225.0, 150.0))).box is not None
    wide = plan_box(request([tapered], block=(266.0, 225.0, 150.0)))
    assert wide.box is None
    assert "length 1 mm short" in wide.rejected[0].why
    assert "where it stands" in wide.rejected[0].why
    assert plan_box(request([box(inside=(340, 300, 200))], block=(300.0, 260.0, 150.0))).box is not None


def test_a_block_narrow_at_its_foot_goes_into_the_taper():
    """The same box takes a block 12 mm longer when its foot is as long as the bed allows and it widens with it."""
    tapered = box(inside=(340, 300, 200), base_mm=(300.0, 260.0))
    # at height z over the bed the box is 305 + z / 5 long; the block 265 + z / 5 with its clearances just touches that
    block = (265.0 + 150 / 5, 225.0 + 150 / 5, 150.0)
    profile = ((0.0, 265.0, 225.0), (150.0, block[0], block[1]))
    assert plan_box(request([tapered], block=block)).box is None
    plan = plan_box(request([tapered], block=block, profile_mm=profile))
    assert plan.box is not None
    assert any("taken as centred" in said for said in plan.assumptions)
    fatter = (profile[0], (75.0, 265.0 + 16.0, 225.0 + 15.0), profile[1])
    assert plan_box(request([tapered], block=block, profile_mm=fatter)).box is None


def test_a_box_wider_at_the_floor_lets_in_what_passes_its_rim():
    narrow = box(inside=(300, 260, 200), base_mm=(340.0, 300.0))
    assert plan_box(request([narrow], block=(260.0, 220.0, 150.0))).box is not None
    assert plan_box(request([narrow], block=(261.0, 220.0, 150.0))).box is None


def test_rounded_corners_count_once_they_pass_the_clearance():
    """Exactly full, a corner of radius r comes (r - 20)(sqrt 2 - 1) too near; 20 mm reach no block at all."""
    exact = (260 + 40, 220 + 40, 150 + 40)
    assert plan_box(request([box(inside=exact, corner_mm=20.0)])).box is not None
    rounded = plan_box(request([box(inside=exact, corner_mm=40.0)]))
    assert rounded.box is None
    short = next(one for one in rounded.rejected[0].short if one.what == "corners")
    assert short.by == pytest.approx(20 * (math.sqrt(2) - 1))
    # enough more on each side: 20 - 20 / sqrt 2 = 5.86 mm
    assert plan_box(request([box(inside=(exact[0] + 11.8, exact[1] + 11.8, exact[2]), corner_mm=40.0)])).box is not None
    assert plan_box(request([box(inside=(exact[0] + 11.6, exact[1] + 11.6, exact[2]), corner_mm=40.0)])).box is None


sizes = st.tuples(st.integers(60, 600), st.integers(60, 600), st.integers(60, 400))


@settings(deadline=None, max_examples=100)
@given(
    inside=sizes,
    taper=st.integers(0, 40),
    corner=st.integers(0, 25),
    block=st.tuples(st.integers(40, 500), st.integers(10, 500), st.integers(30, 300)),
    more=st.tuples(st.integers(0, 80), st.integers(0, 80), st.integers(0, 80)),
)
def test_a_bigger_box_never_fails_where_a_smaller_passes(inside, taper, corner, block, more):
    small = box("small", inside, base_mm=(inside[0] - taper, inside[1] - taper), corner_mm=float(corner))
    large = tuple(a + b for a, b in zip(inside, more, strict=True))
    # the same floor and the same rounding, higher and wider above
    big = box("big", large, base_mm=(large[0] - taper, large[1] - taper), corner_mm=float(corner))
    plan = plan_box(request([small, big], block=tuple(map(float, block)), mass_kg=1.0))
    fit = set(plan.also_fit)
    assert "small" not in fit or "big" in fit


def test_every_rejected_box_is_named_once_with_what_fails_and_by_how_much():
    stock = [
        box("short", (280, 300, 220)),
        box("low", (400, 300, 180)),
        box("weak", max_load_kg=10.0),
        box("steel", wall="steel"),
        box("gone", count=0),
        box("fits", (500, 400, 300)),
    ]
    plan = plan_box(request(stock, material="wood", state="waterlogged", soil=None, water_content=None))
    told = {one.box: one for one in plan.rejected}
    assert set(told) == {"short", "low", "weak", "steel", "gone"}
    assert all("\n" not in one.why for one in plan.rejected)
    assert next((s.what, s.unit) for s in told["low"].short) == ("height", "mm")
    load = next(s for s in told["weak"].short if s.what == "load")
    # the larger box takes foam over 0.08 m² more, bed and strips together some 0.2 m high: 0.08 x 0.2 x 35.2 = 0.56 kg
    assert load.by == pytest.approx(plan.load_kg - 10.0, abs=0.6)
    assert any(s.what == "wall" and s.by is None for s in told["steel"].short)
    assert told["gone"].short == ()
    assert plan.tie_rule.startswith("least outside volume")


def test_a_find_heavier_than_every_rating_says_so_before_the_sizes():
    plan = plan_box(request([box("a", max_load_kg=8.0), box("b", (300, 200, 150), max_load_kg=12.0)]))
    assert plan.box is None
    assert "more than any box is rated for (b, 12 kg)" in plan.no_box


def test_a_shelf_wants_air_above_and_bears_what_it_is_rated_for():
    shelf = {"place_kind": "shelf", "fridge_inside_mm": (600.0, 500.0, 270.0)}
    low = plan_box(request([box()], **shelf))
    assert low.box is None
    assert "the shelf with 50 mm of air over it: height 4 mm too big" in low.rejected[0].why
    high = {"place_kind": "shelf", "fridge_inside_mm": (600.0, 500.0, 274.0)}
    assert plan_box(request([box()], **high)).box is not None
    bears = plan_box(request([box()], place_max_load_kg=40.0, place_carried_kg=20.0, **high))
    assert bears.box is not None
    full = plan_box(request([box()], place_max_load_kg=40.0, place_carried_kg=30.0, **high))
    assert full.box is None
    assert "passes the 10 kg the shelf may still carry" in full.rejected[0].why


def test_an_outside_over_all_goes_before_walls():
    handled = box(outside_over_all_mm=(450.0, 304.0, 224.0))
    plan = plan_box(request([handled], fridge_inside_mm=(430.0, 350.0, 250.0)))
    assert plan.box is None
    assert "length 20 mm too big" in plan.rejected[0].why
    assert plan_box(request([box()], fridge_inside_mm=(430.0, 350.0, 250.0))).box is not None
    # a box with handles is larger outside, so the plain one goes first
    both = plan_box(request([handled, box("plain")]))
    assert both.also_fit == ("plain", "B1")


BAD = [
    ({"inside_mm": (0.4, 0.3, 0.22)}, "metres or centimetres"),
    ({"inside_mm": (40.0, 30.0, 22.0)}, "denser than steel"),
    ({"inside_mm": (-400.0, 300.0, 220.0)}, "negative"),
    ({"inside_mm": (400.0, 0.0, 220.0)}, "zero"),
    ({"tare_kg": -1.0}, "cannot be"),
    ({"max_load_kg": 0.0}, "cannot be"),
    ({"base_mm": (0.0, 250.0)}, "cannot be"),
    ({"corner_mm": 200.0}, "no radius"),
    ({"outside_over_all_mm": (390.0, 310.0, 230.0)}, "smaller than the inside"),
    ({"count": -1}, "cannot be"),
]


@pytest.mark.parametrize(("changes", "said"), BAD)
def test_a_stock_box_that_cannot_be_is_refused_with_its_name(changes, said):
    with pytest.raises(BadInput, match=said) as caught:
        plan_box(request([replace(box(), **changes)]))
    assert "B1" in caught.value.sentence() or "inside_mm" in caught.value.sentence()


SHAPES = [
    ({"profile_mm": ((0.0, 200.0, 200.0), (190.0, 260.0, 220.0))}, "higher than the block"),
    ({"profile_mm": ((0.0, 300.0, 200.0),)}, "wider than the block's length"),
    ({"profile_mm": ((50.0, 200.0, 200.0), (20.0, 260.0, 220.0))}, "do not rise"),
    ({"profile_mm": ((0.0, -1.0, 200.0),)}, "zero, negative"),
    ({"plan_outline_mm": rectangle(200.0, 220.0)}, "does not have the block's sizes"),
    ({"side_outline_mm": ((0.0, 0.0), (260.0, 150.0))}, "is no outline"),
    ({"cog_mm": (130.0, 110.0, 400.0)}, "outside the block"),
    ({"lid_water_g": -1.0}, "cannot be"),
    ({"place_max_load_kg": 0.0}, "cannot be"),
]


@pytest.mark.parametrize(("changes", "said"), SHAPES)
def test_a_shape_that_contradicts_the_block_is_refused(changes, said):
    with pytest.raises(BadInput, match=said):
        plan_box(request([box()], **changes))


def test_all_that_is_wrong_is_told_at_once():
    with pytest.raises(Mistakes) as caught:
        plan_box(request([box(tare_kg=-1.0, corner_mm=900.0)], profile_mm=((0.0, 900.0, 900.0),)))
    assert len(caught.value.mistakes) == 4
