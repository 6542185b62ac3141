"""Distances, round scales and the setting aside of numbers: closed forms and properties."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.errors import BadInput
from findhold.geometry.placing import Block, place_blocks
from findhold.geometry.points import (
    extent,
    grid_lines,
    plan_distance_m,
    round_scale,
    round_up_125,
    slope_distance_m,
)

COORDINATE = st.floats(min_value=-1e6, max_value=1e6)
PLAN = st.tuples(COORDINATE, COORDINATE)
WINDOW = (16.0, 10.0, 209.0, 194.0)


def test_distances_are_those_of_right_triangles():
    # 3-4-5 and 2-3-6-7, moved to national coordinates.
    e, n = 451383.0, 206866.0
    assert plan_distance_m((e, n), (e + 3, n + 4)) == 5.0
    assert slope_distance_m((e, n), 51.0, (e + 2, n + 3), 57.0) == 7.0


@settings(deadline=None)
@given(PLAN, PLAN, PLAN)
def test_plan_distances_are_symmetric_and_keep_the_triangle_inequality(a, b, c):
    assert plan_distance_m(a, b) == plan_distance_m(b, a)
    assert plan_distance_m(a, c) <= plan_distance_m(a, b) + plan_distance_m(b, c) + 1e-6


@settings(deadline=None)
@given(st.lists(PLAN, min_size=1, max_size=20))
def test_the_extent_holds_every_point(points):
    box = extent(points)
    assert all(box.west_m <= e <= box.east_m and box.south_m <= n <= box.north_m for e, n in points)
    assert {box.west_m, box.east_m} <= {e for e, _ in points}


@pytest.mark.parametrize(
    ("value", "expected"), [(1, 1), (1.01, 2), (2.1, 5), (5.0, 5), (5.1, 10), (0.03, 0.05), (180, 200)]
)
def test_rounding_up_takes_the_next_of_one_two_five(value, expected):
    assert round_up_125(value) == pytest.approx(expected)


@settings(deadline=None)
@given(st.floats(min_value=0, max_value=900), st.floats(min_value=0, max_value=900))
def test_the_scale_is_the_largest_round_one_that_fits(width_m, height_m):
    scale = round_scale(width_m, height_m, 165.0, 150.0)
    assert f"{scale:.0e}"[0] in "125"
    assert max(width_m * 1000 / 165, height_m * 1000 / 150) <= scale * (1 + 1e-9)
    smaller = scale / 2.5 if f"{scale:.0e}"[0] == "5" else scale / 2
    assert scale == 1 or max(width_m * 1000 / 165, height_m * 1000 / 150) > smaller * (1 - 1e-9)


def test_a_thirty_metre_site_fits_a_window_of_165_mm_at_1_to_200():
    # 30 m in 165 mm needs 1:181.8 or smaller.
    assert round_scale(30.0, 20.0, 165.0, 150.0) == 200


def test_grid_lines_are_multiples_with_both_ends():
    assert grid_lines(451382.0, 451384.0, 0.5) == (451382.0, 451382.5, 451383.0, 451383.5, 451384.0)
    assert grid_lines(0.1, 0.4, 0.5) == ()


def _overlap(a, b):
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


INSIDE = st.tuples(st.floats(min_value=30, max_value=195), st.floats(min_value=24, max_value=180))
SIZES = st.tuples(st.floats(min_value=3, max_value=20), st.floats(min_value=2, max_value=8))


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(INSIDE, SIZES), max_size=25), st.booleans())
def test_no_number_covers_another_or_a_spot_or_leaves_the_window(made, crowded):
    blocks = [
        Block(point=(100 + x / 40, 90 + y / 40) if crowded else (x, y), width_mm=w, height_mm=h, leader_in_mm=w / 3)
        for (x, y), (w, h) in made
    ]
    taken = [(60.0, 60.0, 75.0, 64.0)]
    placed = place_blocks(blocks, WINDOW, taken, dot_mm=0.6)
    boxes = [place.box for place in placed]
    for i, box in enumerate(boxes):
        assert box[0] >= WINDOW[0]
        assert box[1] >= WINDOW[1]
        assert box[2] <= WINDOW[2]
        assert box[3] <= WINDOW[3]
        assert not any(_overlap(box, other) for other in [*boxes[:i], *taken])
        assert not any(_overlap(box, (x - 0.6, y - 0.6, x + 0.6, y + 0.6)) for x, y in (b.point for b in blocks))
        assert box[2] - box[0] == pytest.approx(blocks[i].width_mm)
        assert box[0] <= placed[i].leader_end[0] <= box[2]
        assert box[1] <= placed[i].leader_end[1] <= box[3]


def test_the_same_blocks_are_placed_the_same_way_and_a_lone_one_above_right():
    rng = np.random.default_rng(7)
    blocks = [
        Block(point=(100 + x, 90 + y), width_mm=14, height_mm=6, leader_in_mm=3) for x, y in rng.normal(0, 8, (30, 2))
    ]
    assert place_blocks(blocks, WINDOW) == place_blocks(blocks, WINDOW)
    (alone,) = place_blocks(blocks[:1], WINDOW)
    x, y = blocks[0].point
    assert alone.box[0] > x
    assert alone.box[3] < y
    assert math.hypot(alone.box[0] - x, alone.box[3] - y) < 3
    assert place_blocks([], WINDOW) == ()


def test_more_numbers_than_the_sheet_holds_are_an_error():
    blocks = [Block(point=(100.0, 100.0), width_mm=60, height_mm=40, leader_in_mm=5) for _ in range(20)]
    with pytest.raises(BadInput, match="no room left"):
        place_blocks(blocks, WINDOW)
