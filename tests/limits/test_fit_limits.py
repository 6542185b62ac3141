"""Fit: symmetry of the two turns, spare that adds up, the turn taken."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.geometry.fit import better_turn, fits, outside_mm, spare_mm

side = st.floats(1, 1000)


@given(box=st.tuples(side, side, side), need=st.tuples(side, side, side))
def test_turning_the_need_swaps_the_turns(box, need):
    straight = spare_mm([box], need)
    turned = spare_mm([box], (need[1], need[0], need[2]))
    assert straight[:, 0] == pytest.approx(turned[:, 1])
    assert straight[:, 1] == pytest.approx(turned[:, 0])


@given(box=st.tuples(side, side, side), need=st.tuples(side, side, side))
def test_a_box_fits_when_either_turn_does(box, need):
    by_hand = box[2] >= need[2] and (
        (box[0] >= need[0] and box[1] >= need[1]) or (box[0] >= need[1] and box[1] >= need[0])
    )
    spare = spare_mm([box], need)
    good = fits(spare)
    assert bool(good.any()) == by_hand
    if by_hand:
        assert bool(good[0, better_turn(spare)[0]])


def test_a_square_need_keeps_its_length_along_the_box():
    assert better_turn(spare_mm([(300, 200, 100)], (100, 100, 50))).tolist() == [0]


def test_outside_is_inside_and_both_walls():
    assert outside_mm([(300, 200, 100)], [2.5]).tolist() == [[305.0, 205.0, 105.0]]


def test_many_boxes_at_once_are_the_boxes_one_by_one():
    boxes = np.random.default_rng(7).integers(50, 600, (50, 3))
    together = spare_mm(boxes, (120, 90, 80))
    assert together.shape == (50, 2, 3)
    for i, box in enumerate(boxes):
        assert together[i].tolist() == spare_mm([box], (120, 90, 80))[0].tolist()
