"""Boxes on a floor against two programs that know nothing of ours: an enumeration of every corner, and rectpack."""

from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rectpack import PackingMode, newPacker

from findhold.stores.floor import EXACT_UP_TO, Floor, Rect, corners, lay

SIDES = st.integers(1, 7)
PLANS = st.lists(st.tuples(SIDES, SIDES), min_size=1, max_size=4)


def floor(wide, deep, gap=0):
    return Floor(left_mm=0, front_mm=0, wide_mm=wide, deep_mm=deep, gap_mm=gap)


def goes(wide, deep, plans, taken=()):
    """Every corner of every turn, whole numbers, tried one box after the other: true when all go."""
    if not plans:
        return True
    (length, width), rest = plans[0], plans[1:]
    for w, d in {(length, width), (width, length)}:
        for x, y in product(range(wide - w + 1), range(deep - d + 1)):
            free = all(x + w <= a or a + c <= x or y + d <= b or b + e <= y for a, b, c, e in taken)
            if free and goes(wide, deep, rest, (*taken, (x, y, w, d))):
                return True
    return False


def stands(place, rects, fixed=()):
    """The boxes lie on the floor and apart by the gap."""
    for one in rects:
        assert place.left_mm <= one.left_mm
        assert one.left_mm + one.wide_mm <= place.left_mm + place.wide_mm
        assert place.front_mm <= one.front_mm
        assert one.front_mm + one.deep_mm <= place.front_mm + place.deep_mm
    whole = [*rects, *fixed]
    for n, one in enumerate(whole):
        for other in whole[n + 1 :]:
            if one in rects or other in rects:
                assert one.clear_of(other, place.gap_mm)


@given(wide=st.integers(3, 9), deep=st.integers(3, 9), plans=PLANS)
@settings(max_examples=150, deadline=None)
def test_the_answer_is_that_of_an_enumeration(wide, deep, plans):
    laid = lay(floor(wide, deep), plans)
    assert laid.answer == ("found" if goes(wide, deep, plans) else "none")
    if laid.answer == "found":
        assert len(laid.rects) == len(plans)
        stands(floor(wide, deep), laid.rects)
        assert [tuple(sorted((r.wide_mm, r.deep_mm))) for r in laid.rects] == [tuple(sorted(p)) for p in plans]


@given(
    plans=st.lists(st.tuples(st.integers(60, 300), st.integers(60, 300)), min_size=1, max_size=9),
    wide=st.integers(300, 900),
    deep=st.integers(300, 600),
)
@settings(max_examples=60, deadline=None)
def test_where_rectpack_finds_a_way_so_do_we(plans, wide, deep):
    packer = newPacker(mode=PackingMode.Offline, rotation=True)
    for plan in plans:
        packer.add_rect(*plan)
    packer.add_bin(wide, deep)
    packer.pack()
    laid = lay(floor(wide, deep), plans)
    if len(packer) and len(packer[0]) == len(plans):
        assert laid.answer == "found"
    if laid.answer == "found":
        stands(floor(wide, deep), laid.rects)


@given(
    gap=st.integers(0, 3),
    plans=PLANS,
    fixed=st.lists(st.tuples(st.integers(0, 8), st.integers(0, 8), SIDES, SIDES), max_size=2),
)
@settings(max_examples=100, deadline=None)
def test_what_stands_fixed_stays_and_the_gap_is_kept(gap, plans, fixed):
    there = [Rect(left_mm=x, front_mm=y, wide_mm=w, deep_mm=d) for x, y, w, d in fixed]
    place = floor(14, 12, gap)
    laid = lay(place, plans, there)
    assert laid.answer in ("found", "none")
    if laid.answer == "found":
        stands(place, laid.rects, there)


def test_a_pinwheel_that_no_row_by_row_order_finds_is_found_by_the_solver():
    """Four 3 x 2 boxes round a fixed 1 x 1 in the middle of 5 x 5: the classic that guillotine cuts cannot make."""
    middle = Rect(left_mm=2, front_mm=2, wide_mm=1, deep_mm=1)
    laid = lay(floor(5, 5), [(3, 2)] * 4, [middle])
    assert laid.answer == "found"
    stands(floor(5, 5), laid.rects, [middle])


def test_more_area_than_there_is_is_refused_without_a_solver():
    assert (lay(floor(10, 10), [(6, 9), (6, 9)]).answer, lay(floor(10, 10), [(6, 9), (6, 9)]).how) == (
        "none",
        "by area",
    )


def test_a_dozen_is_decided_and_more_that_is_not_found_is_said_to_be_not_known():
    tight = [(7, 3)] * (EXACT_UP_TO + 1)
    wide = (EXACT_UP_TO + 1) * 21 // 20 + 1
    assert lay(floor(wide, 20), tight).answer in ("found", "not known")
    assert lay(floor(wide, 20), tight[:4]).answer in ("found", "none")


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_the_order_in_which_boxes_are_named_changes_no_answer(order):
    plans = [(4, 3), (6, 2), (3, 3)]
    laid = lay(floor(7, 6), [plans[n] for n in order])
    assert laid.answer == lay(floor(7, 6), plans).answer


def test_one_more_box_goes_to_the_back_and_then_to_the_left():
    """0 to the left, and with its back at the wall: 100 - 30."""
    rect = corners(floor(200, 100), (50, 30), [])
    assert (rect.left_mm, rect.front_mm, rect.turned) == (0, 70, False)
