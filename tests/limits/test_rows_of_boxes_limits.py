"""Boxes in rows: none in another, none outside, in whatever sizes; and a mesh made coarser stays the same body."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.draw.marks import Path
from findhold.geometry.mesh.clustered import clustered
from findhold.geometry.standing import stand_in_rows
from findhold.paper.shelf_drawing import BoxInStore, StoreArgs, hatch_for, scale_for, store_drawing

SIZES = st.lists(st.tuples(st.floats(20, 700), st.floats(20, 500)), max_size=14)
INSIDE = st.tuples(st.floats(300, 2500), st.floats(300, 2300))


@settings(max_examples=150, deadline=None)
@given(sizes=SIZES, inside=INSIDE)
def test_no_box_stands_in_another_or_outside(sizes, inside):
    found = stand_in_rows(sizes, inside)
    placed = [(where, size) for where, size in zip(found, sizes, strict=True) if where is not None]
    for where, (wide, high) in placed:
        assert where.left_mm >= 0
        assert where.left_mm + wide <= inside[0] + 1e-6
        assert where.floor_mm >= 0
        assert where.floor_mm + high <= inside[1] + 1e-6
    for (a, (wide_a, high_a)), (b, (wide_b, high_b)) in combinations(placed, 2):
        beside = a.left_mm + wide_a <= b.left_mm + 1e-6 or b.left_mm + wide_b <= a.left_mm + 1e-6
        above = a.floor_mm + high_a <= b.floor_mm + 1e-6 or b.floor_mm + high_b <= a.floor_mm + 1e-6
        assert beside or above


def test_a_box_that_fits_alone_always_stands():
    assert stand_in_rows([(300.0, 200.0)], (340.0, 280.0))[0] is not None
    assert stand_in_rows([(301.0, 200.0)], (340.0, 280.0)) == (None,)
    assert stand_in_rows([], (340.0, 280.0)) == ()


@settings(max_examples=60, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.floats(60, 500), st.floats(40, 300), st.floats(-9, 40)), min_size=1, max_size=12),
    recorded=st.integers(0, 3),
    inside=INSIDE,
)
def test_the_picture_of_a_store_keeps_its_boxes_apart_inside_and_to_scale(sizes, recorded, inside):
    boxes = tuple(
        BoxInStore(
            key=str(number),
            number=str(number),
            left_days=left,
            left_words=f"{left:.0f} d left",
            length_mm=long,
            height_mm=high,
            place=f"shelf {number % 3 + 1}" if number < recorded else "",
        )
        for number, (long, high, left) in enumerate(sizes)
    )
    scale = scale_for(inside, (150.0, 150.0))
    made = store_drawing(StoreArgs(name="Fridge", inside_mm=inside, boxes=boxes, scale=scale))
    assert {spot.key for spot in made.spots} | set(made.left_over) == {box.key for box in boxes}
    wall = next(mark for mark in made.drawing.marks if isinstance(mark, Path) and mark.closed)
    left, top, right, foot = *wall.points[0], *wall.points[2]
    assert (right - left, foot - top) == pytest.approx((inside[0] / scale, inside[1] / scale))
    for spot in made.spots:
        box = boxes[int(spot.key)]
        assert (spot.width_mm, spot.height_mm) == pytest.approx((box.length_mm / scale, box.height_mm / scale))
        assert left <= spot.left_mm
        assert spot.left_mm + spot.width_mm <= right
        assert top <= spot.top_mm
        assert spot.top_mm + spot.height_mm <= foot + 1e-6
    for a, b in combinations(made.spots, 2):
        beside = a.left_mm + a.width_mm <= b.left_mm or b.left_mm + b.width_mm <= a.left_mm
        above = a.top_mm + a.height_mm <= b.top_mm + 1e-6 or b.top_mm + b.height_mm <= a.top_mm + 1e-6
        assert beside or above


def test_the_less_time_is_left_the_closer_the_hatch():
    from findhold.draw.hatch import hatch_lines

    square = ((0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0))
    inked = []
    for days in (-1.0, 2.0, 6.0, 13.0):
        lines = hatch_lines(hatch_for(days), square)
        inked.append(sum(float(np.hypot(b[0] - a[0], b[1] - a[1])) for a, b in lines))
    assert inked == sorted(inked, reverse=True)
    assert hatch_for(15.0) is None
    assert hatch_for(None) is None


def ball(rings):
    """A ball of radius 50 made of rings of triangles."""
    around = 2 * rings
    tilt = np.linspace(0, np.pi, rings + 1)[:, None]
    turn = np.linspace(0, 2 * np.pi, around, endpoint=False)[None, :]
    corners = 50 * np.stack(
        [np.sin(tilt) * np.cos(turn), np.sin(tilt) * np.sin(turn), np.cos(tilt) + 0 * turn], axis=2
    ).reshape(-1, 3)
    rows = []
    for ring in range(rings):
        for step in range(around):
            a, b = ring * around + step, ring * around + (step + 1) % around
            rows += [(a, a + around, b), (b, a + around, b + around)]
    return corners, np.array(rows)


def volume(corners, triangles):
    a, b, c = (corners[triangles[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def test_a_mesh_made_coarser_keeps_to_the_limit_and_to_its_volume():
    corners, triangles = ball(150)
    less, made = clustered(corners, triangles, 9000)
    assert 4000 < len(made) <= 9000
    assert volume(less, made) == pytest.approx(4 / 3 * np.pi * 50**3, rel=0.01)
    assert np.abs(np.linalg.norm(less, axis=1) - 50).max() < 2.0


def test_a_mesh_that_is_small_enough_is_left_as_it_is():
    corners, triangles = ball(10)
    same = clustered(corners, triangles, 10_000)
    assert same[0] is corners
    assert same[1] is triangles


def test_entered_shelves_are_drawn_at_their_heights_once_every_box_stands_on_one():
    """1:10, shelves 360 and 900 mm over the store's floor: the upper box has its foot 54 mm above the lower's."""
    boxes = tuple(
        BoxInStore(
            key=name, number=name, left_days=5.0, left_words="5 d left", length_mm=200.0, height_mm=100.0, place=name
        )
        for name in ("low", "high")
    )
    args = StoreArgs(
        name="Fridge",
        inside_mm=(560.0, 1250.0),
        boxes=boxes,
        scale=10,
        shelves=(("high", 900.0), ("low", 360.0), ("empty", 0.0)),
    )
    made = store_drawing(args)
    foot = {spot.key: spot.top_mm + spot.height_mm for spot in made.spots}
    assert foot["low"] - foot["high"] == pytest.approx(54.0)
    assert made.left_over == ()
    loose = store_drawing(replace(args, boxes=(*boxes, replace(boxes[0], key="c", number="c", place=""))))
    assert len(loose.spots) == 3
