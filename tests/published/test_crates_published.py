"""Carton strength against the printed examples, and container fills against the best published ones."""

import math

import pytest

from findhold.crate.board import Board, boxes_on_top, compression_n, usable_n
from findhold.errors import BadInput
from findhold.geometry.loading.blocks import Sort
from findhold.geometry.loading.fill import Budget, bound_mm3, fill_space
from findhold.geometry.loading.parts import Bay, Loaded, Piece, Rules, faults
from findhold.tables.crates import carton_factor

CONTAINER = (587, 233, 220)
LBF_N = 4.4482216152605


def published_problem(number: int, sorts: int) -> list[Sort]:
    """By the procedure of Bischoff and Ratcliff 1995 (Omega 23(4), 377-390), as distributed by the OR-Library."""

    def numbers(seed):
        while True:
            seed = seed * 16807 % 2147483647
            yield seed / 2147483647

    draw = numbers(2502505 + 100 * (number - 1))
    for _ in range(10):
        next(draw)
    bounds = ((30, 120), (25, 100), (20, 80))
    edges = [sorted((a + int(next(draw) * (b - a + 1)) for a, b in bounds), reverse=True) for _ in range(sorts)]
    volumes = [math.prod(e) for e in edges]
    counts, left = [1] * sorts, math.prod(CONTAINER) - sum(volumes)
    while volumes[kind := int(next(draw) * sorts)] <= left:
        counts[kind], left = counts[kind] + 1, left - volumes[kind]
    made = []
    for e, count in zip(edges, counts, strict=True):
        turns = []
        for k in range(3):
            if e[k] / min(e) < 2:
                a, b = (e[j] for j in range(3) if j != k)
                turns += [(a, b, e[k]), (b, a, e[k])]
        made.append(Sort(turns=tuple(dict.fromkeys(turns)), count=count))
    return made


def test_the_generator_gives_the_printed_head_of_the_first_problem():
    # thpack1, problem 1: 108 76 30 (only the 30 upright) 40; 110 43 25, 33; 92 81 55 (all upright), 39
    first = published_problem(1, 3)
    assert [sort.count for sort in first] == [40, 33, 39]
    assert set(first[0].turns) == {(108, 76, 30), (76, 108, 30)}
    assert len(first[1].turns) == 4
    assert len(first[2].turns) == 6


@pytest.mark.parametrize(("name", "sorts", "number"), [("BR1", 3, 1), ("BR1", 3, 2), ("BR2", 5, 1), ("BR3", 8, 1)])
def test_a_published_problem_is_filled_well_and_never_beyond_the_best_known(authority, name, sorts, number):
    rows = authority("packing_clp_published.csv")
    column = next(key for key in rows[0] if key.startswith("best_known_fill_percent"))
    best = next(float(r[column]) for r in rows if r["class"] == name and r["row"] == f"problem {number}")
    problem = published_problem(number, sorts)
    filled = fill_space(CONTAINER, problem, budget=Budget(tries=400), seed=1)
    pieces = [Piece(turns=sort.turns, mass_g=1) for sort in problem]
    assert faults(Loaded(bay=0, placed=filled.placed), pieces, Bay(size=CONTAINER), Rules()) == ()
    percent = 100 * filled.volume_mm3 / math.prod(CONTAINER)
    assert 88.0 <= percent <= best + 5e-4
    assert filled.volume_mm3 <= filled.bound_mm3 == bound_mm3(CONTAINER, problem)


def test_the_bound_on_the_volume_is_never_below_a_best_known_loading(authority):
    rows = authority("packing_clp_published.csv")
    column = next(key for key in rows[0] if key.startswith("min_percent_or"))
    for name, sorts in (("BR1", 3), ("BR2", 5), ("BR3", 8)):
        for number in (1, 2, 3):
            row = next(r for r in rows if r["class"] == name and r["row"] == f"problem {number}")
            assert bound_mm3(CONTAINER, published_problem(number, sorts)) >= int(row[column])


def test_the_printed_carton_bears_what_the_example_says(authority):
    # Worked example: 32 lb/in, 0.16 in, 16 x 12 in gives 562 lbf. Rounded to whole pounds there.
    row = authority("packing_mckee_examples.csv")[0]
    board = Board(ect_n_per_m=float(row["ECT_N_per_m"]), thickness_mm=4.064, days=10, rh=0.5)
    strength = compression_n(board, 16 * 25.4, 12 * 25.4)
    assert strength / LBF_N == pytest.approx(562, abs=0.5)


def test_other_cartons_agree_with_the_computed_rows(authority):
    # Rows of our own reckoning beside the printed one, to their last digit.
    for row in authority("packing_mckee_examples.csv")[1:]:
        board = Board(
            ect_n_per_m=float(row["ECT_N_per_m"]), thickness_mm=1000 * float(row["thickness_m"]), days=10, rh=0.5
        )
        assert compression_n(board, 430, 390) == pytest.approx(float(row["BCT_N"]), abs=0.05)


def test_factors_are_those_printed(authority):
    for row in authority("packing_carton_factors.csv"):
        at = float(row["value"])
        if row["factor"] == "storage time":
            assert carton_factor("storage time", at) == float(row["multiplier"])
        else:
            assert carton_factor("humidity", at / 100) == float(row["multiplier"])


def test_between_two_printed_rows_the_lower_multiplier_is_taken():
    assert carton_factor("storage time", 31) == carton_factor("storage time", 90)
    assert carton_factor("humidity", 0.71) == carton_factor("humidity", 0.80)
    assert carton_factor("storage time", 1) == carton_factor("storage time", 10)


def test_beyond_the_last_row_nothing_is_said():
    with pytest.raises(BadInput, match="180"):
        carton_factor("storage time", 181)


def test_stacks_agree_with_the_worked_table(authority):
    for row in authority("packing_carton_stack_check.csv"):
        board = Board(ect_n_per_m=5600, thickness_mm=4.1, days=float(row["days"]), rh=float(row["RH_percent"]) / 100)
        assert usable_n(board, 430, 390) == pytest.approx(float(row["usable_N"]), abs=0.06)
        # 12.9 kg stands in the head of the table for 12.87 kg of the worked example.
        assert boxes_on_top(board, 430, 390, 12.87) == int(row["boxes_12.9kg_on_top"])


def test_strength_is_the_same_in_any_consistent_units():
    board = Board(ect_n_per_m=5600, thickness_mm=4.1, days=10, rh=0.5)
    inch = 0.0254
    in_pounds = 5.87 * (5600 / LBF_N * inch) * math.sqrt(4.1 / 25.4 * 2 * (430 + 390) / 25.4)
    assert compression_n(board, 430, 390) == pytest.approx(in_pounds * LBF_N, rel=1e-12)
