"""Loadings keep every rule whatever is loaded; few pieces agree with trying everything; cut crates fill up again."""

import random
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.geometry.loading.blocks import MOST, Sort, blocks_of
from findhold.geometry.loading.bounds import fewest_bays, reach_mm
from findhold.geometry.loading.drop import Task, load_bays, wishes_broken
from findhold.geometry.loading.exact import Effort, load_exactly
from findhold.geometry.loading.fill import Budget, bound_mm3, fill_space
from findhold.geometry.loading.parts import (
    Bay,
    Loaded,
    Piece,
    Placed,
    Rules,
    below,
    carried_g,
    faults,
    layers,
    moment_g_mm,
    touching_mm2,
)
from findhold.geometry.loading.regroup import join_whole

CRATE = (600, 400, 300)
APART = Rules(apart=frozenset({("metal", "damp")}), heavier=1.0)


def upright(length, width, height):
    return tuple(dict.fromkeys([(length, width, height), (width, length, height)]))


def cut_crate(seed, count, size=CRATE, least=30):
    """A crate cut straight through again and again into so many boxes, the largest or nearly the largest next."""
    draw = random.Random(seed)
    boxes = [size]
    while len(boxes) < count:
        boxes.sort(key=lambda b: -b[0] * b[1] * b[2])
        box = boxes.pop(min(draw.randrange(3), len(boxes) - 1))
        axis = draw.choice([k for k in range(3) if box[k] >= 2 * least])
        at = draw.randrange(least, box[axis] - least + 1)
        boxes += [tuple(part if k == axis else box[k] for k in range(3)) for part in (at, box[axis] - at)]
    return boxes


def voxels_fault(placed, pieces, size):
    """An independent check on a grid of whole millimetres: overlap, outside or air under a base."""
    taken = np.zeros(size, dtype=int)
    for one in placed:
        (x, y, z), (length, width, height) = one.at, one.size
        if x + length > size[0] or y + width > size[1] or z + height > size[2] or min(one.at) < 0:
            return "outside"
        taken[x : x + length, y : y + width, z : z + height] += 1
    if taken.max(initial=0) > 1:
        return "overlap"
    for one in placed:
        (x, y, z), (length, width, _) = one.at, one.size
        if z and not taken[x : x + length, y : y + width, z - 1].all():
            return "air under it"
    return ""


small = st.integers(1, 6)
pieces_drawn = st.lists(
    st.builds(
        lambda length, width, height, mass, bears, company, family: Piece(
            turns=upright(length, width, height), mass_g=mass, bears_g=bears, company=company, family=family
        ),
        small,
        small,
        small,
        st.integers(1, 40),
        st.none() | st.integers(0, 60),
        st.sampled_from(["metal", "damp", "dry"]),
        st.sampled_from(["", "214", "215"]),
    ),
    min_size=1,
    max_size=14,
)


@given(pieces=pieces_drawn, carries=st.none() | st.integers(20, 150), count=st.none() | st.integers(0, 3))
@settings(max_examples=60)
def test_every_loading_keeps_every_rule_and_loses_nothing(pieces, carries, count):
    size = (8, 7, 6)
    task = Task(pieces=tuple(pieces), bays=(Bay(size=size, carries_g=carries, count=count),), rules=APART)
    loading = load_bays(task, tries=4, seed=3)
    for one in loading.bays:
        assert faults(one, pieces, task.bays[0], APART) == ()
        assert voxels_fault(one.placed, pieces, size) == ""
        assert {"metal", "damp"} - {pieces[p.piece].company for p in one.placed}
    there = [p.piece for one in loading.bays for p in one.placed]
    assert sorted(there + list(loading.left)) == list(range(len(pieces)))
    assert count is None or len(loading.bays) <= count
    if count is None:
        assert len(loading.bays) >= loading.fewest


@given(
    sorts=st.lists(st.tuples(small, small, small, st.integers(1, 30)), min_size=1, max_size=4),
    free=st.booleans(),
    carries=st.none() | st.integers(0, 200),
)
@settings(max_examples=60)
def test_every_filled_space_keeps_turns_counts_mass_and_support(sorts, free, carries):
    size = (12, 9, 8)
    made = [
        Sort(
            turns=upright(a, b, c)
            if not free
            else tuple(dict.fromkeys([*upright(a, b, c), *upright(b, c, a), *upright(a, c, b)])),
            count=n,
            mass_g=3,
        )
        for a, b, c, n in sorts
    ]
    filled = fill_space(size, made, budget=Budget(tries=25), carries_g=carries)
    pieces = [Piece(turns=sort.turns, mass_g=3) for sort in made]
    bay = Bay(size=size, carries_g=carries)
    assert faults(Loaded(bay=0, placed=filled.placed), pieces, bay, Rules()) == ()
    assert voxels_fault(filled.placed, pieces, size) == ""
    assert all(sum(1 for p in filled.placed if p.piece == n) <= sort.count for n, sort in enumerate(made))
    assert filled.volume_mm3 == sum(p.volume_mm3 for p in filled.placed) <= filled.bound_mm3
    assert 0.0 <= filled.gap <= 1.0


def test_the_check_finds_each_kind_of_fault():
    pieces = [Piece(turns=((2, 2, 2),), mass_g=5, bears_g=4, company="metal")] * 2 + [
        Piece(turns=((2, 2, 2),), mass_g=9, company="damp")
    ]
    bay = Bay(size=(4, 4, 4), carries_g=12)
    here = Placed(piece=0, at=(0, 0, 0), size=(2, 2, 2))
    cases = {
        "is not inside": Placed(piece=1, at=(3, 0, 0), size=(2, 2, 2)),
        "overlap": Placed(piece=1, at=(1, 0, 0), size=(2, 2, 2)),
        "hangs over": Placed(piece=1, at=(1, 0, 2), size=(2, 2, 2)),
        "turn that is not allowed": Placed(piece=1, at=(2, 0, 0), size=(2, 2, 1)),
        "carries 5 g and bears 4 g": Placed(piece=1, at=(0, 0, 2), size=(2, 2, 2)),
        "is heavier than piece 0": Placed(piece=2, at=(0, 0, 2), size=(2, 2, 2)),
        "14 g where 12 g": Placed(piece=2, at=(2, 0, 0), size=(2, 2, 2)),
        "damp and metal": Placed(piece=2, at=(2, 2, 0), size=(2, 2, 2)),
    }
    for words, other in cases.items():
        found = faults(Loaded(bay=0, placed=(here, other)), pieces, bay, APART)
        assert any(words in text for text in found), (words, found)
    beside = Placed(piece=1, at=(2, 2, 0), size=(2, 2, 2))
    assert faults(Loaded(bay=0, placed=(here, beside)), pieces, bay, APART) == ()


def test_what_is_carried_counts_in_full_on_everything_below():
    # A long plank over two posts, and a box on the plank: each post carries both in full.
    pieces = [Piece(turns=((2, 2, 2),), mass_g=1)] * 2 + [
        Piece(turns=((6, 2, 1),), mass_g=10),
        Piece(turns=((2, 2, 2),), mass_g=100),
    ]
    placed = (
        Placed(piece=0, at=(0, 0, 0), size=(2, 2, 2)),
        Placed(piece=1, at=(4, 0, 0), size=(2, 2, 2)),
        Placed(piece=2, at=(0, 0, 2), size=(6, 2, 1)),
        Placed(piece=3, at=(4, 0, 3), size=(2, 2, 2)),
    )
    assert carried_g(placed, pieces) == (110, 110, 100, 0)
    assert below(placed)[3] == {0, 1, 2}
    assert layers(placed) == (1, 1, 2, 3)
    assert touching_mm2(placed[2], placed[0]) == 4
    assert moment_g_mm(placed[:1], pieces) == 1 * 2


@given(
    edges=st.lists(st.tuples(st.lists(st.integers(1, 15), min_size=1, max_size=3), st.integers(0, 4)), max_size=3),
    length=st.integers(1, 40),
)
def test_the_reach_of_edges_is_that_of_trying_all_sums(edges, length):
    sums = {0}
    for sides, count in edges:
        for _ in range(count):
            sums |= {s + side for s in sums for side in sides}
    reach = reach_mm(length, [(tuple(sides), count) for sides, count in edges])
    assert [int(r) for r in reach] == [max(s for s in sums if s <= x) for x in range(length + 1)]


def test_bays_are_bounded_by_volume_by_mass_and_by_companies_apart():
    bay = Bay(size=(10, 10, 10), carries_g=100, count=None)
    one = Piece(turns=((10, 10, 5),), mass_g=10, company="dry")
    assert fewest_bays([one] * 5, [bay], Rules()) == 3
    heavy = Piece(turns=((1, 1, 1),), mass_g=60, company="dry")
    assert fewest_bays([heavy] * 5, [bay], Rules()) == 3
    metal, damp = (Piece(turns=((1, 1, 1),), mass_g=1, company=name) for name in ("metal", "damp"))
    assert fewest_bays([metal, damp], [bay], Rules()) == 1
    assert fewest_bays([metal, damp], [bay], APART) == 2
    assert fewest_bays([], [bay], APART) == 0


# --- against trying everything -----------------------------------------------------------------------------------

SMALL = (3, 3, 2)


def every_place(piece, size):
    for turn in piece.turns:
        ranges = [range(size[k] - turn[k] + 1) for k in range(3)]
        yield from ((at, turn) for at in product(*ranges))


def best_moment(numbers, pieces, bay, rules):
    """The lowest moment of all loadings of some pieces into one bay; None when there is none. Tries all of them."""
    best = None
    for ways in product(*(list(every_place(pieces[n], bay.size)) for n in numbers)):
        placed = tuple(Placed(piece=n, at=at, size=turn) for n, (at, turn) in zip(numbers, ways, strict=True))
        moment = moment_g_mm(placed, pieces)
        if (best is None or moment < best) and not faults(Loaded(bay=0, placed=placed), pieces, bay, rules):
            best = moment
    return best


@pytest.mark.parametrize("seed", range(12))
def test_three_pieces_agree_with_trying_every_place(seed):
    draw = random.Random(seed)
    pieces = [
        Piece(
            turns=upright(draw.randint(1, 3), draw.randint(1, 3), draw.randint(1, 2)),
            mass_g=draw.randint(1, 9),
            bears_g=draw.choice([None, 0, 5]),
            company=draw.choice(["metal", "damp"]),
        )
        for _ in range(3)
    ]
    bay = Bay(size=SMALL, carries_g=16, count=None)
    alone = best_moment((0, 1, 2), pieces, bay, APART)
    splits = [((0,), (1, 2)), ((1,), (0, 2)), ((2,), (0, 1))]
    twos = [
        sum(parts)
        for split in splits
        if None not in (parts := [best_moment(part, pieces, bay, APART) for part in split])
    ]
    found = load_exactly(Task(pieces=tuple(pieces), bays=(bay,), rules=APART), effort=Effort(bays_s=4, aim_s=4))
    wanted = 1 if alone is not None else 2 if twos else 3
    assert len(found.loading.bays) == wanted
    assert found.loading.proved
    if wanted == 1:
        assert found.aim_value == alone
    elif wanted == 2:
        assert found.aim_value <= max(twos)
        assert found.aim_value >= min(twos)
    assert found.aim_proved
    assert found.aim_bound == found.aim_value


def test_least_height_is_found_and_proved():
    # Two slabs of 2 and a post of 1 high: side by side they need 2, one over the other 3 or more.
    pieces = tuple(Piece(turns=upright(*size), mass_g=1) for size in ((3, 1, 2), (3, 1, 2), (3, 1, 1)))
    found = load_exactly(Task(pieces=pieces, bays=(Bay(size=(3, 3, 6)),)), aim="least height")
    assert (found.aim_value, found.aim_proved, found.aim_gap) == (2, True, 0.0)


def test_families_are_kept_together_where_that_costs_no_bay():
    # Four equal pieces, two to a bay: the only wish-keeping way puts each family in one bay.
    pieces = tuple(Piece(turns=((2, 2, 2),), mass_g=1, family=name) for name in ("214", "215", "214", "215"))
    task = Task(pieces=pieces, bays=(Bay(size=(4, 2, 2), count=None),))
    found = load_exactly(task)
    assert len(found.loading.bays) == 2
    assert wishes_broken(found.loading.bays, task) == 0


# --- cut crates ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [2, 6, 10, 15, 20])
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_a_perfectly_cut_crate_is_filled_to_the_last_corner(count, seed):
    boxes = cut_crate(seed, count)
    pieces = tuple(Piece(turns=upright(*box), mass_g=1000) for box in boxes)
    bay = Bay(size=CRATE, count=None)
    loading = load_bays(Task(pieces=pieces, bays=(bay,)), tries=10)
    assert len(loading.bays) == 1
    assert loading.proved
    assert sum(p.volume_mm3 for p in loading.bays[0].placed) == bay.volume_mm3
    assert faults(loading.bays[0], pieces, bay, Rules()) == ()


@pytest.mark.parametrize("seed", range(8))
def test_joining_face_to_face_rebuilds_crates_that_were_cut_straight_through(seed):
    boxes = cut_crate(100 + seed, 18)
    pieces = [Piece(turns=upright(*box), mass_g=1) for box in boxes]
    whole = join_whole(pieces, range(len(pieces)), CRATE)
    assert whole is not None
    assert faults(Loaded(bay=0, placed=whole), pieces, Bay(size=CRATE), Rules()) == ()


def test_joining_gives_up_where_nothing_joins():
    odd = [Piece(turns=upright(*size), mass_g=1) for size in ((7, 5, 3), (11, 2, 4))]
    assert join_whole(odd, range(2), CRATE) is None
    free = [Piece(turns=((1, 2, 3), (3, 2, 1), (2, 3, 1)), mass_g=1)] * 2
    assert join_whole(free, range(2), CRATE) is None


# --- the search itself --------------------------------------------------------------------------------------------


def test_the_same_seed_and_tries_give_the_same_loading():
    pieces = tuple(
        Piece(turns=upright(20 + 7 * n % 31, 15 + 5 * n % 17, 10 + n % 9), mass_g=50 + n, bears_g=400)
        for n in range(30)
    )
    task = Task(pieces=pieces, bays=(Bay(size=(90, 60, 40), count=None),))
    assert load_bays(task, tries=9, seed=5) == load_bays(task, tries=9, seed=5)
    sorts = [Sort(turns=upright(7, 5, 4), count=30), Sort(turns=upright(6, 3, 5), count=40)]
    once, again = (fill_space((40, 30, 20), sorts, budget=Budget(tries=60), seed=2) for _ in range(2))
    assert once == again


def test_more_tries_never_fill_less():
    sorts = [Sort(turns=upright(11, 7, 5), count=60), Sort(turns=upright(9, 4, 6), count=60)]
    shares = [fill_space((61, 47, 33), sorts, budget=Budget(tries=n)).volume_mm3 for n in (1, 20, 200)]
    assert shares == sorted(shares)


def test_blocks_are_thinned_out_when_there_are_far_too_many():
    blocks = blocks_of((500, 400, 300), [Sort(turns=upright(3, 2, 2), count=10**7)])
    assert 0 < len(blocks.made) <= MOST
    assert blocks.sizes[0].tolist() == [500, 399, 300]  # 250 by 133 by 150 boxes, turned: the most that goes in


def test_light_boxes_are_chosen_where_mass_ends_the_loading():
    light, heavy = (Sort(turns=((1, 1, 1),), count=8, mass_g=mass) for mass in (1, 5))
    filled = fill_space((4, 2, 2), [heavy, light], budget=Budget(tries=40), carries_g=13)
    # 8 light (8 g) and 1 heavy (5 g): no more boxes can go in than nine.
    assert filled.volume_mm3 == 9 == bound_mm3((4, 2, 2), [heavy, light], 13)


def test_no_sort_is_lost_when_there_are_very_many_sorts():
    sorts = [Sort(turns=upright(10 + n % 40, 9 + n // 40, 8), count=3) for n in range(1700)]
    blocks = blocks_of((600, 400, 300), sorts)
    assert {sort for sort, _, _ in blocks.made} == set(range(1700))
