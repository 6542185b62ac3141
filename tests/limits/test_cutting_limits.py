"""Cut lists: nothing overlaps, nothing is lost, known layouts are found, the bound is a bound."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rectpack import newPacker

from findhold.errors import BadInput
from findhold.geometry.cutting import Piece, cut, least_sheets

side = st.integers(20, 900)


def pieces(*sizes):
    return [Piece(name=f"p{i}", length_mm=float(a), width_mm=float(b)) for i, (a, b) in enumerate(sizes)]


def overlap(a, b):
    return (
        a.sheet == b.sheet
        and a.x_mm < b.x_mm + b.length_mm - 1e-6
        and b.x_mm < a.x_mm + a.length_mm - 1e-6
        and a.y_mm < b.y_mm + b.width_mm - 1e-6
        and b.y_mm < a.y_mm + a.width_mm - 1e-6
    )


@settings(deadline=None, max_examples=120)
@given(sizes=st.lists(st.tuples(side, side), min_size=1, max_size=14), kerf=st.sampled_from([0.0, 3.0]))
def test_every_piece_lies_once_on_a_sheet_and_none_over_another(sizes, kerf):
    made = cut(pieces(*sizes), (1000.0, 900.0), kerf)
    assert sorted(one.name for one in made.laid) == sorted(f"p{i}" for i in range(len(sizes)))
    for one in made.laid:
        wanted = sizes[int(one.name[1:])]
        assert sorted((one.length_mm, one.width_mm)) == pytest.approx(sorted(wanted))
        assert min(one.x_mm, one.y_mm) >= 0
        assert one.x_mm + one.length_mm <= 1000.0 + 1e-6
        assert one.y_mm + one.width_mm <= 900.0 + 1e-6
        assert one.sheet < made.sheets
    assert not any(overlap(a, b) for a, b in itertools.combinations(made.laid, 2))


@settings(deadline=None, max_examples=60)
@given(sizes=st.lists(st.tuples(side, side), min_size=1, max_size=10))
def test_sheets_lie_between_the_bound_and_another_packers_number_plus_one(sizes):
    """The other packer is rectpack, test-only, without the rule that cuts run from edge to edge."""
    made = cut(pieces(*sizes), (1000.0, 900.0))
    assert least_sheets(pieces(*sizes), (1000.0, 900.0)) <= made.sheets
    other = newPacker(rotation=True)
    for size in sizes:
        other.add_rect(*size)
    other.add_bin(1000, 900, count=len(sizes))
    other.pack()
    assert made.sheets <= len(other) + 1


@settings(deadline=None, max_examples=60)
@given(sizes=st.lists(st.tuples(side, side), min_size=1, max_size=10))
def test_area_of_pieces_and_offcuts_is_the_area_of_the_sheets_without_a_kerf(sizes):
    """All that is not a piece is free rectangles; only slivers under 20 mm are not told."""
    made = cut(pieces(*sizes), (1000.0, 900.0))
    laid = sum(one.length_mm * one.width_mm for one in made.laid)
    left = sum(one.length_mm * one.width_mm for one in made.offcuts)
    assert laid + left <= made.sheets * 900_000.0 + 1e-3
    # each cut leaves at most one sliver under 20 mm wide and no longer than the sheet
    assert laid + left >= made.sheets * 900_000.0 - 2 * len(sizes) * 20.0 * 1000.0


def test_four_quarters_fill_one_sheet_and_leave_nothing():
    made = cut(pieces(*[(500, 450)] * 4), (1000.0, 900.0))
    assert (made.sheets, made.proved, made.offcuts) == (1, True, ())


def test_a_kerf_pushes_the_last_piece_to_a_second_sheet():
    """4 x 250 mm fill 1000 mm with a knife; with a saw of 3 mm they need 1009 mm."""
    strips = pieces(*[(250, 900)] * 4)
    assert cut(strips, (1000.0, 900.0)).sheets == 1
    sawn = cut(strips, (1000.0, 900.0), 3.0)
    assert sawn.sheets == 2
    assert cut(pieces(*[(247, 900)] * 4), (1000.0, 900.0), 4.0).sheets == 1


def test_pieces_over_half_a_sheet_bound_the_number_where_area_does_not():
    big = pieces(*[(520, 510)] * 3)
    assert least_sheets(big, (1000.0, 900.0)) == 3
    made = cut(big, (1000.0, 900.0))
    assert (made.sheets, made.proved) == (3, True)


def test_a_piece_larger_than_the_sheet_is_refused():
    with pytest.raises(BadInput, match="larger than a sheet"):
        cut(pieces((1001, 100)), (1000.0, 900.0))
    assert cut(pieces((900, 1000)), (1000.0, 900.0)).sheets == 1
