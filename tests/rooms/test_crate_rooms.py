"""Decisions about crates, shared boxes and shelves on example finds."""

from dataclasses import replace

import pytest

from findhold.crate.board import Board
from findhold.crate.dividers import DivideRequest, divide_box
from findhold.crate.inputs import Crate, CrateRequest, Item
from findhold.crate.load import load_crates
from findhold.crate.rules import bearing_of, company_of, mass_limit, why_apart
from findhold.crate.sharing import Sharer, why_not_share
from findhold.crate.shelves import Shelf, ShelfRequest, fill_shelves
from findhold.errors import BadInput, UnknownName
from findhold.tables.crates import crate_defaults

CRATE = Crate(name="archive crate", inside_mm=(565, 365, 310), tare_kg=1.9, max_load_kg=25)


def bag(number, mass_kg=2.0, size_mm=(180, 120, 90), **more):
    return Item(number=number, size_mm=size_mm, mass_kg=mass_kg, **more)


def loaded(*items, crates=(CRATE,), **more):
    return load_crates(CrateRequest(items=items, crates=crates, **more))


def crate_of(answer, number):
    return next(load for load in answer.loads if number in {item.number for item in load.items})


# --- with whom ----------------------------------------------------------------------------------------------------


def test_metal_damp_and_human_remains_go_into_crates_of_their_own():
    answer = loaded(
        bag("nails", material="iron"),
        bag("sherds", material="high-fired ceramic"),
        bag("bowl", material="wood", state="waterlogged"),
        bag("burnt bone", material="human bone"),
    )
    assert answer.all_in
    assert answer.proved
    assert len(answer.loads) == 3
    assert crate_of(answer, "nails") is crate_of(answer, "sherds")
    assert [item.number for item in crate_of(answer, "bowl").items] == ["bowl"]
    assert crate_of(answer, "burnt bone").company == "human remains, dry"
    assert [load.gap for load in [answer]] == [0]


def test_a_flag_alone_makes_human_remains():
    assert company_of(bag("55", human_remains=True)) == "human remains, dry"
    assert company_of(bag("55", material="cremation urn", state="damp")) == "human remains, damp"
    assert company_of(bag("44", material="iron", state="damp")) == "damp"
    assert company_of(bag("44", material="iron")) == "metal"
    assert company_of(bag("bulk")) == "dry"


def test_why_two_may_not_share_is_said_and_is_the_same_both_ways():
    assert "metal" in why_apart("metal", "damp") == why_apart("damp", "metal")
    assert "cold store" in why_apart("dry", "damp")
    assert "by themselves" in why_apart("human remains, dry", "dry")
    assert "cold store" in why_apart("human remains, dry", "human remains, damp")
    assert why_apart("metal", "dry") == ""


def test_contexts_stay_together_where_that_costs_no_crate():
    answer = loaded(*(bag(f"{context}-{n}", 6.0, context=context) for n in (1, 2) for context in ("214", "215")))
    assert len(answer.loads) == 2
    assert [load.contexts for load in answer.loads] == [("214",), ("215",)]
    assert answer.wishes_broken == ()


def test_a_context_that_cannot_stay_together_is_told():
    answer = loaded(*(bag(f"214-{n}", 6.0, context="214") for n in range(3)))
    assert len(answer.loads) == 2
    assert answer.wishes_broken == ("context 214 is in 2 crates (1, 2)",)


# --- on what ------------------------------------------------------------------------------------------------------


def test_nothing_stands_on_a_lidded_damp_box():
    wide = (560, 360, 100)
    damp = bag("box", size_mm=wide, state="damp", lidded=True)
    assert bearing_of(damp, crate_defaults()).bears_kg == 0
    on_top = bag("bag", 0.2, state="damp")
    answer = loaded(damp, on_top)
    # The bag would hang under the box only if it carried it; it bears 0.2 kg. So two crates.
    assert len(answer.loads) == 2
    dry = replace(damp, state="dry")
    assert len(loaded(dry, replace(on_top, state="dry")).loads) == 1


def test_heavy_things_stand_below_light_ones():
    answer = loaded(
        bag("light", 1.0, (560, 360, 100), max_on_top_kg=50),
        bag("heavy", 9.0, (560, 360, 100), max_on_top_kg=50),
        bag("middle", 3.0, (560, 360, 100), max_on_top_kg=50),
    )
    (load,) = answer.loads
    assert [item.number for item in load.items] == ["heavy", "middle", "light"]
    assert [item.layer for item in load.items] == [1, 2, 3]
    assert [item.carries_kg for item in load.items] == pytest.approx([4.0, 1.0, 0.0])
    assert [item.rests_on for item in load.items] == [(), ("heavy",), ("middle",)]
    assert load.cog_mm[2] == pytest.approx((9 * 50 + 3 * 150 + 1 * 250) / 13)
    assert load.items[0].heavy


def test_what_is_not_stated_about_bearing_is_assumed_and_said():
    answer = loaded(bag("a", 2.0), bag("b", 1.0, max_on_top_kg=3))
    assert any("Of 1 of 2 things" in text for text in answer.assumptions)
    assert bearing_of(bag("a", 2.0), crate_defaults()).bears_kg == pytest.approx(2.0)


def test_a_board_box_bears_by_its_strength_and_little_in_damp_air():
    dry = bag("c", board=Board(ect_n_per_m=5600, thickness_mm=4.1, days=90, rh=0.5), size_mm=(430, 390, 362))
    damp = replace(dry, board=replace(dry.board, rh=0.95))
    # 1482.5 N and 222.4 N in the table of carton stacks (430 x 390 carton, 90 days).
    assert bearing_of(dry, crate_defaults()).bears_kg == pytest.approx(1482.5 / 9.80665, abs=0.01)
    assert bearing_of(damp, crate_defaults()).bears_kg == pytest.approx(222.4 / 9.80665, abs=0.01)


def test_a_thing_without_a_top_may_be_laid_on_its_side():
    tall = bag("post", size_mm=(100, 100, 500), upright=False)
    assert loaded(tall).all_in
    assert not loaded(replace(tall, upright=True)).all_in


# --- how heavy ----------------------------------------------------------------------------------------------------


def test_the_limit_is_the_least_of_crate_person_and_rating_and_says_which():
    request = CrateRequest(items=(bag("a"),), crates=(CRATE,))
    one = mass_limit(CRATE, request)
    assert (one.gross_kg, one.net_kg) == pytest.approx((15.0, 13.1))
    assert "one person" in one.why
    three = mass_limit(CRATE, replace(request, persons=3))
    assert three.gross_kg == pytest.approx(20.0)
    assert "any crate" in three.why
    weak = mass_limit(replace(CRATE, max_load_kg=8), request)
    assert (weak.net_kg, weak.gross_kg) == pytest.approx((8.0, 9.9))
    assert "rated" in weak.why


def test_no_crate_is_heavier_than_its_limit():
    answer = loaded(*(bag(str(n), 3.3) for n in range(14)))
    assert answer.all_in
    assert all(load.gross_kg <= load.limit_kg + 1e-9 for load in answer.loads)
    # 13.1 kg hold three bags of 3.3 kg: 14 bags need five crates; by mass alone four would do.
    assert len(answer.loads) == 5
    assert answer.proved


def test_what_is_left_over_says_why_and_what_to_do():
    answer = loaded(
        bag("plank", 4.0, (900, 100, 50)),
        bag("tile", 14.0),
        bag("anvil", 40.0),
        bag("fine"),
    )
    told = {one.number: one for one in answer.left_over}
    assert set(told) == {"plank", "tile", "anvil"}
    assert "short by 335 mm in length" in told["plank"].why
    assert "14 kg is more than a crate may hold: 13.1 kg" in told["tile"].why
    assert "persons = 2" in told["tile"].do
    assert "lifting plan" in told["anvil"].do
    assert not answer.all_in


def test_when_crates_run_out_it_says_how_many_more():
    answer = loaded(*(bag(str(n), 7.0) for n in range(4)), crates=(replace(CRATE, count=2),))
    assert len(answer.loads) == 2
    assert {one.do for one in answer.left_over} == {"Get 2 more of archive crate"}


def test_of_two_kinds_of_crate_the_smaller_that_does_is_taken():
    small = Crate(name="small", inside_mm=(300, 200, 150), tare_kg=0.6)
    answer = loaded(bag("a"), crates=(CRATE, small))
    assert [load.crate for load in answer.loads] == ["small"]


def test_many_things_are_searched_and_the_bound_is_stated():
    items = tuple(bag(f"{n}", 0.6 + 0.05 * (n % 7), (150 + n % 4 * 20, 110, 80 + n % 3 * 10)) for n in range(60))
    answer = loaded(*items)
    assert answer.all_in
    assert "60 things" not in answer.method
    assert answer.method.startswith("search")
    assert answer.aim_gap is None
    assert len(answer.loads) == answer.fewest + answer.gap
    assert sorted(i.number for load in answer.loads for i in load.items) == sorted(i.number for i in items)


def test_the_same_request_gives_the_same_answer():
    items = tuple(bag(f"{n}", 1 + n % 3, (180 + n % 5 * 13, 120 + n % 4 * 9, 90)) for n in range(25))
    assert loaded(*items) == loaded(*items)


# --- shared boxes -------------------------------------------------------------------------------------------------


def find(number, size_mm=(80, 60, 40), **more):
    chosen = {"state": "dry", "material": "high-fired ceramic", "mass_kg": 0.2} | more
    return Sharer(number=number, size_mm=size_mm, **chosen)


def shared(*finds, inside_mm=(320, 220, 120), **more):
    return divide_box(DivideRequest(finds=finds, inside_mm=inside_mm, **more))


def test_compartments_hold_their_finds_and_lie_apart_by_a_divider():
    finds = (find("1"), find("2", (120, 50, 30)), find("3", (60, 60, 60)), find("4", (90, 90, 20)))
    plan = shared(*finds)
    assert plan.works
    sizes = {f.number: f.size_mm for f in finds}
    for part in plan.compartments:
        length, width = sizes[part.find][:2]
        if part.turned:
            length, width = width, length
        assert part.size_mm[0] >= length + 30
        assert part.size_mm[1] >= width + 30
        assert part.at_mm[0] + part.size_mm[0] <= 320
        assert part.at_mm[1] + part.size_mm[1] <= 220
    for a in plan.compartments:
        for b in plan.compartments:
            if a is not b:
                gaps = [
                    max(b.at_mm[k] - a.at_mm[k] - a.size_mm[k], a.at_mm[k] - b.at_mm[k] - b.size_mm[k]) for k in (0, 1)
                ]
                assert max(gaps) >= 5
    assert {d.height_mm for d in plan.dividers} == {60}


def test_the_shortest_rows_are_found():
    # Two rows of two 50 x 50 finds without clearance need 2 x 50 and a divider; one row does not go in.
    four = [find(str(n), (50, 50, 40)) for n in range(4)]
    plan = shared(*four, inside_mm=(105, 105, 60), divider_mm=5, clear_mm=0)
    assert plan.works
    assert plan.spare_mm == 0
    assert not shared(*four, inside_mm=(104, 105, 60), divider_mm=5, clear_mm=0).works


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"state": "damp"}, "one box has one climate"),
        ({"human_remains": True}, "by themselves"),
        ({"material": "human bone"}, "by themselves"),
    ],
)
def test_finds_that_may_not_share_are_told_why_and_how_to_part_them(other, words):
    plan = shared(find("1"), find("2", **other), find("3"))
    assert not plan.works
    assert any(words in reason.why for reason in plan.apart)
    assert plan.may_share == (("1", "3"), ("2",))


def test_metal_and_another_damp_find_do_not_share():
    wet = find("2", material="leather", state="damp")
    iron = find("1", material="iron", state="damp")
    assert any("metal" in reason.why for reason in why_not_share(iron, wet))
    assert why_not_share(iron, replace(iron, number="3")) == ()


def test_a_wrapping_that_spoils_a_planned_analysis_keeps_two_apart():
    plan = shared(find("37", analyses=("lipid",)), find("2", wrapping="PVC cling film"))
    assert not plan.works
    assert any("PVC cling film" in reason.why and reason.source for reason in plan.apart)


def test_a_box_too_low_too_weak_or_too_small_says_so():
    assert "high" in shared(find("1", (80, 60, 110)), find("2")).trouble
    assert "rated" in shared(find("1", mass_kg=3), find("2"), max_load_kg=2).trouble
    assert "larger box" in shared(find("1", (300, 200, 40)), find("2", (300, 200, 40))).trouble


# --- shelves ------------------------------------------------------------------------------------------------------


def shelf(name, above_floor_mm, **more):
    given = {"width_mm": 800, "depth_mm": 400, "clear_height_mm": 300, "rated_kg": 30} | more
    return Shelf(name=name, above_floor_mm=above_floor_mm, **given)


def box(number, size_mm=(300, 270, 190), mass_kg=9.0):
    return Item(number=number, size_mm=size_mm, mass_kg=mass_kg, state="damp", lidded=True)


def test_heavy_boxes_stand_low_within_the_rating():
    plan = fill_shelves(
        ShelfRequest(
            boxes=(box("a", mass_kg=4), box("b", mass_kg=16), box("c", mass_kg=13)),
            shelves=(shelf("up", 900), shelf("down", 200)),
        )
    )
    assert [one.shelf for one in plan.shelves] == ["down", "up"]
    assert [one.number for one in plan.shelves[0].boxes] == ["b", "c"]
    assert [one.number for one in plan.shelves[1].boxes] == ["a"]
    assert plan.shelves[0].load_kg == pytest.approx(29)
    assert plan.without == ()


def test_fifty_millimetres_stay_clear_above_and_the_floor_stays_clear_below():
    plan = fill_shelves(
        ShelfRequest(boxes=(box("a", (300, 270, 251)), box("b")), shelves=(shelf("low", 149), shelf("up", 150)))
    )
    assert dict(plan.without) == {"a": "251 mm high; 250 mm are free with 50 mm of air over it: move a shelf"}
    assert [one.shelf for one in plan.shelves] == ["up"]
    assert "low" in plan.remarks[0]


def test_lidded_damp_boxes_are_not_stacked_on_a_shelf():
    tall = shelf("one", 300, clear_height_mm=900, width_mm=310, depth_mm=280, rated_kg=100)
    two = ShelfRequest(boxes=(box("a"), box("b")), shelves=(tall,), stacked=True)
    assert len(fill_shelves(two).without) == 1
    dry = tuple(replace(one, state="dry", lidded=False) for one in two.boxes)
    assert fill_shelves(replace(two, boxes=dry)).without == ()


# --- bad input ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"size_mm": (-1, 10, 10)}, "sizes"),
        ({"size_mm": (0, 10, 10)}, "sizes"),
        ({"size_mm": (float("nan"), 10, 10)}, "sizes"),
        ({"mass_kg": 0.0}, "mass"),
        ({"mass_kg": -2.0}, "mass"),
        ({"mass_kg": float("nan")}, "mass"),
        ({"state": "soggy"}, "state"),
        ({"max_on_top_kg": -1.0}, "stand on it"),
    ],
)
def test_a_thing_that_cannot_be_is_refused(change, words):
    with pytest.raises(BadInput, match=words):
        loaded(replace(bag("a"), **change))


@pytest.mark.parametrize("change", [{"tare_kg": -1.0}, {"inside_mm": (0, 1, 1)}, {"max_load_kg": 0.0}, {"count": -1}])
def test_a_crate_that_cannot_be_is_refused(change):
    with pytest.raises(BadInput, match="crate archive crate"):
        loaded(bag("a"), crates=(replace(CRATE, **change),))


def test_nothing_to_load_no_crates_doubles_and_too_many_are_refused():
    with pytest.raises(BadInput, match="nothing to load"):
        loaded()
    with pytest.raises(BadInput, match="no crates"):
        loaded(bag("a"), crates=())
    with pytest.raises(BadInput, match="twice"):
        loaded(bag("a"), bag("a"))
    with pytest.raises(BadInput, match="too many"):
        loaded(*(bag(str(n)) for n in range(20_001)))
    with pytest.raises(BadInput, match="persons"):
        loaded(bag("a"), persons=0)


def test_an_unknown_material_is_answered_with_near_names():
    with pytest.raises(UnknownName, match="leather"):
        loaded(bag("a", material="lether"))


def test_ten_thousand_bags_are_loaded_in_one_go():
    items = tuple(
        bag(str(n), 1 + n % 9 * 0.5, (150 + n % 8 * 10, 120 + n % 6 * 5, 80 + n % 5 * 10)) for n in range(10_000)
    )
    answer = loaded(*items)
    assert answer.all_in
    assert sum(len(load.items) for load in answer.loads) == 10_000
    assert answer.gap <= 0.15 * answer.fewest


def test_shared_boxes_and_shelves_refuse_what_cannot_be():
    with pytest.raises(BadInput, match="2 to 10"):
        shared(find("1"))
    with pytest.raises(BadInput, match="twice"):
        shared(find("1"), find("1"))
    with pytest.raises(BadInput, match="above 0"):
        shared(find("1", (0, 1, 1)), find("2"))
    with pytest.raises(BadInput, match="no shelves"):
        fill_shelves(ShelfRequest(boxes=(box("a"),), shelves=()))
    with pytest.raises(BadInput, match="shelf x"):
        fill_shelves(ShelfRequest(boxes=(box("a"),), shelves=(shelf("x", 200, rated_kg=0),)))
    with pytest.raises(BadInput, match="board box"):
        bearing_of(bag("c", board=Board(ect_n_per_m=0, thickness_mm=4, days=10, rh=0.5)), crate_defaults())
