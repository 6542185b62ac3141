"""What may stand where: the rules on drawn houses of stores, and several boxes given shelves at once."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.stores.assign import assign
from findhold.stores.floor import lay
from findhold.stores.free import free_on, still_go
from findhold.stores.inputs import Box, House, Shelf, Spot, Standing, Store
from findhold.stores.places import Keeping, exchange_for, places_for, settled_house
from findhold.stores.rules import apart, fixed_and_free, floor_of, judge, load_on, rect_of
from findhold.tables.storing import store_defaults, store_rule

FIGURES = store_defaults()


def shelf(name="1", store="Fridge 1", front=600, depth=500, clear=300, over=500, rated=20.0):
    return Shelf(
        store=store,
        name=name,
        front_mm=front,
        depth_mm=depth,
        clear_mm=clear,
        above_floor_mm=over,
        rated_kg=rated,
    )


def store(name="Fridge 1", shelves=None, **more):
    given_shelves = (shelf(store=name),) if shelves is None else shelves
    return Store(name=name, kind="fridge", **{"temp_c": 4.0, "plate": "back", "shelves": given_shelves, **more})


def box(key="B1", size=(200, 150, 100), mass=2.0, state="damp", **more):
    return Box(key=key, number=key.removeprefix("B"), size_mm=size, mass_kg=mass, state=state, **more)


def house(stores, *standing):
    return House(stores=tuple(stores), standing=tuple(standing))


def rules(verdict):
    return [one.rule for one in verdict.against]


BOXES = st.builds(
    lambda n, size, mass, kind: box(f"B{n}", size, mass, **kind),
    st.integers(1, 10_000),
    st.tuples(st.integers(80, 320), st.integers(80, 320), st.integers(50, 260)),
    st.floats(0.1, 15.0),
    st.sampled_from(
        [
            {"state": "damp"},
            {"state": "waterlogged"},
            {"state": "dry", "metal": True},
            {"state": "dry"},
            {"state": "damp", "human": True},
            {"state": "dry", "human": True},
        ]
    ),
)
STOCK = st.lists(BOXES, min_size=1, max_size=7, unique_by=lambda one: one.key)


def two_stores():
    shelves = [shelf(str(n), "Fridge 1", over=150 + 350 * n, rated=18.0) for n in (1, 2, 3)]
    rack = [shelf("A", "Cool room", 900, 450, 400, 200, None)]
    return [store(shelves=tuple(shelves), rated_kg=40.0), store("Cool room", tuple(rack), plate="none", temp_c=9.0)]


def holds(where):
    """Nothing in the house breaks a hard rule: what the rules are for, checked without the rules' own code."""
    for one in where.stores:
        within = where.within(one.name)
        assert one.rated_kg is None or sum(each.box.mass_kg for each in within) <= one.rated_kg + 1e-6
        for board in one.shelves:
            here = where.on(board)
            assert board.rated_kg is None or sum(each.box.mass_kg for each in here) <= board.rated_kg + 1e-6
            assert all(each.box.size_mm[2] + FIGURES.height_mm <= board.clear_mm for each in here)
            assert len({each.box.human for each in here}) <= 1
            dry_metal = [each for each in here if each.box.metal and each.box.state == "dry"]
            damp = [each for each in here if each.box.state != "dry"]
            assert not (dry_metal and damp)
            usable = board.depth_mm - (FIGURES.plate_mm if one.plate == "back" else 0)
            assert sum(each.box.size_mm[0] * each.box.size_mm[1] for each in here) <= board.front_mm * usable


@given(stock=STOCK)
@settings(max_examples=60, deadline=None)
def test_boxes_put_one_after_the_other_where_it_says_never_break_a_rule(stock):
    where = house(two_stores())
    for one in stock:
        places = places_for(where, one)
        assert all(each.severity == "advice" for place in places.open for each in place.against)
        assert all(place.against[0].severity != "advice" for place in places.closed)
        assert len(places.open) + len(places.closed) == 4
        if places.open:
            best = places.open[0]
            where = where.with_one(Standing(box=one, store=best.store, shelf=best.shelf))
            holds(where)


@given(stock=STOCK)
@settings(max_examples=60, deadline=None)
def test_spots_it_gives_lie_on_the_shelf_off_the_plate_and_apart(stock):
    where = house(two_stores())
    for one in stock:
        places = places_for(where, one)
        if not places.open:
            continue
        best = places.open[0]
        where = where.with_one(Standing(box=one, store=best.store, shelf=best.shelf, spot=best.spot))
    for each in where.stores:
        for board in each.shelves:
            floor = floor_of(each, board, FIGURES)
            rects = [rect_of(one) for one in where.on(board)]
            for n, rect in enumerate(rects):
                assert floor.left_mm <= rect.left_mm <= floor.left_mm + floor.wide_mm - rect.wide_mm
                assert floor.front_mm <= rect.front_mm <= floor.front_mm + floor.deep_mm - rect.deep_mm
                assert all(rect.clear_of(other, floor.gap_mm) for other in rects[n + 1 :])


@given(stock=STOCK)
@settings(max_examples=40, deadline=None)
def test_several_at_once_get_rooms_of_their_own_and_never_fewer_than_one_after_the_other(stock):
    where = house([*two_stores(), store("Fridge 2", (shelf(store="Fridge 2"),))])
    leaving = house(where.stores, *(Standing(box=one, store="Fridge 2", shelf="1") for one in stock))
    given_places = assign(leaving, stock, {}, leave_out="Fridge 2")
    after = house(where.stores)
    for row in given_places.given:
        if row.place is not None:
            assert row.place.store != "Fridge 2"
            after = after.with_one(Standing(box=row.box, store=row.place.store, shelf=row.place.shelf))
    holds(after)
    for each in after.stores:
        for board in each.shelves:
            fixed, free = fixed_and_free(after, board)
            assert lay(floor_of(each, board, FIGURES), free, fixed).answer == "found"
    one_by_one, count = house(where.stores), 0
    for one in stock:
        places = places_for(one_by_one, one, leave_out="Fridge 2")
        if places.open:
            best = places.open[0]
            one_by_one = one_by_one.with_one(Standing(box=one, store=best.store, shelf=best.shelf))
            count += 1
    assert sum(row.place is not None for row in given_places.given) >= count


@given(stock=st.lists(BOXES, min_size=1, max_size=4, unique_by=lambda one: one.key))
@settings(max_examples=25, deadline=None)
def test_the_number_placed_is_that_of_an_enumeration_where_it_is_proved(stock):
    """Every way to give each box one of two shelves or none, judged by load, height, company and a floor plan."""
    boards = (shelf("1", rated=12.0, front=420, depth=400), shelf("2", rated=12.0, front=360, depth=360))
    full = [store(shelves=boards), store("Fridge 2", (shelf(store="Fridge 2"),))]
    start = house(full, *(Standing(box=one, store="Fridge 2", shelf="1") for one in stock))
    done = assign(start, stock, {}, leave_out="Fridge 2")
    placed = sum(row.place is not None for row in done.given)
    best = 0
    for ways in product((None, 0, 1), repeat=len(stock)):
        sets = [[one for one, way in zip(stock, ways, strict=True) if way == n] for n in (0, 1)]
        if all(goes(each, board, full[0]) for each, board in zip(sets, boards, strict=True)):
            best = max(best, sum(map(len, sets)))
    assert done.most_proved
    assert placed == best


def goes(boxes, board, where):
    apart_ones = all(not apart(one, other) for n, one in enumerate(boxes) for other in boxes[n + 1 :])
    light = sum(one.mass_kg for one in boxes) <= board.rated_kg + 1e-6
    low = all(one.size_mm[2] + FIGURES.height_mm <= board.clear_mm for one in boxes)
    plans = [one.size_mm[:2] for one in boxes]
    return apart_ones and light and low and lay(floor_of(where, board, FIGURES), plans).answer == "found"


def test_the_worst_box_gets_the_place_that_one_box_only_can_have():
    last = house([store(shelves=(shelf(front=210, depth=210),)), store("Fridge 2", (shelf(store="Fridge 2"),))])
    worst, other = box("B2"), box("B1")
    start = last.with_one(Standing(box=worst, store="Fridge 2")).with_one(Standing(box=other, store="Fridge 2"))
    done = assign(start, [worst, other], {}, leave_out="Fridge 2")
    assert [row.place is not None for row in done.given] == [True, False]
    assert done.most_proved


def test_worst_first_by_hand_may_waste_a_place_and_the_solver_mends_it():
    """The first box fits both shelves and would take the better one; the second fits only that."""
    now = datetime(2026, 8, 3, tzinfo=UTC)
    small, large = box("B1", (100, 100, 100)), box("B2", (290, 240, 100))
    boards = (shelf("1", front=300, depth=300), shelf("2", "Cool room", 120, 160))
    stores = [store(shelves=boards[:1]), store("Cool room", boards[1:]), store("Fridge 2", (shelf(store="Fridge 2"),))]
    start = house(stores, *(Standing(box=one, store="Fridge 2", shelf="1") for one in (small, large)))
    keeping = {
        one.key: {
            "Fridge 1": Keeping(until=now + timedelta(days=9)),
            "Cool room": Keeping(until=now + timedelta(days=5)),
        }
        for one in (small, large)
    }
    done = assign(start, [small, large], keeping, leave_out="Fridge 2")
    assert [row.place.store for row in done.given] == ["Cool room", "Fridge 1"]
    assert done.how == "by solver"


@pytest.mark.parametrize(
    ("put", "here", "rule"),
    [
        (box("B1", state="dry", metal=True), box("B2"), "metal"),
        (box("B1"), box("B2", state="dry", metal=True), "metal"),
        (box("B1"), box("B2", human=True), "human remains"),
        (box("B1", state="dry", human=True), box("B2", state="dry"), "human remains"),
        (box("B1", state="damp", metal=True), box("B2"), ""),
        (box("B1", state="dry"), box("B2"), ""),
    ],
)
def test_company_on_one_shelf(put, here, rule):
    where = store()
    found = rules(judge(house([where], Standing(box=here, store="Fridge 1", shelf="1")), put, where, where.shelves[0]))
    assert found == ([rule] if rule else [])


@pytest.mark.parametrize(
    ("more", "rule"),
    [
        ({"temp_c": 0.0}, "frost"),
        ({"food": True}, "food"),
        ({"trouble": "off, and not back yet"}, "off"),
        ({"rated_kg": 1.9}, "store load"),
    ],
)
def test_stores_that_do_not_do(more, rule):
    where = store(**more)
    (found,) = judge(house([where]), box(), where, where.shelves[0]).against
    assert found.rule == rule
    assert found.severity == store_rule(rule).severity


def test_each_failing_figure_is_told():
    """600 x (500 - 50) can be used; 100 mm and 50 of air in 140 want 10; 2 kg on 19 pass 20 by 1.0."""
    where = store()
    large = judge(house([where]), box(size=(601, 451, 100)), where, where.shelves[0]).against[0].words
    assert "1 mm too wide for 600 mm" in large
    assert "1 mm too deep for the 450 mm" in large
    low = store(shelves=(shelf(clear=140),))
    assert "10 mm are wanting" in judge(house([low]), box(), low, low.shelves[0]).against[0].words
    assert "is 40 mm too high" in judge(house([low]), box(size=(9, 9, 180)), low, low.shelves[0]).against[0].words
    laden = house([where], Standing(box=box("B2", (50, 50, 50), 19.0), store="Fridge 1", shelf="1"))
    assert "21.0 kg, 1.0 kg over its 20 kg" in judge(laden, box(), where, where.shelves[0]).against[0].words


def test_heavy_boxes_go_low_and_light_ones_leave_the_low_shelves():
    where = store(shelves=(shelf("low", over=200), shelf("high", over=1200)))
    assert places_for(house([where]), box(mass=9.0)).open[0].shelf == "low"
    assert places_for(house([where]), box(mass=0.3)).open[0].shelf == "high"
    assert rules(judge(house([where]), box(mass=9.0), where, where.shelves[1])) == ["high"]


def test_two_on_one_spot_and_a_box_against_the_plate():
    where = store()
    there = Standing(box=box("B2"), store="Fridge 1", shelf="1", spot=Spot(left_mm=0, front_mm=0))
    full = house([where], there)
    (on_it,) = judge(full, box(), where, where.shelves[0], Spot(left_mm=199, front_mm=149)).against
    assert (on_it.rule, "nothing stands on a lidded box of a damp find" in on_it.words) == ("spot", True)
    assert judge(full, box(), where, where.shelves[0], Spot(left_mm=200, front_mm=0)).against == ()
    # 500 - 150 - 310 leaves 40 mm before the plate.
    (plate,) = judge(full, box(), where, where.shelves[0], Spot(left_mm=300, front_mm=310)).against
    assert (plate.rule, "would stand 40 mm from the cold plate" in plate.words) == ("plate", True)
    (off,) = judge(full, box(), where, where.shelves[0], Spot(left_mm=401, front_mm=0)).against
    assert (off.rule, "1 mm over the edge" in off.words) == ("size", True)


def test_moving_one_box_makes_room_when_every_shelf_is_full():
    """The wide shelf is taken by a box that fits the narrow one as well."""
    where = store(shelves=(shelf("wide", front=410, depth=260), shelf("narrow", front=160, depth=260)))
    small = box("B2", (150, 100, 90), 1.0)
    full = house([where], Standing(box=small, store="Fridge 1", shelf="wide"))
    large = box("B1", (400, 200, 100))
    assert places_for(full, large).open == ()
    told = exchange_for(full, large)
    assert (told.number, told.to.shelf, told.won.shelf) == ("2", "narrow", "wide")


def test_a_store_without_shelves_is_checked_by_its_inside_and_says_what_it_does_not_know():
    bare = store(shelves=(), inside_mm=(600.0, 500.0, 180.0))
    told = judge(house([bare]), box(), bare, None)
    assert told.against == ()
    assert "the shelves of Fridge 1 are not entered" in told.not_known[0]
    assert rules(judge(house([bare]), box(size=(200, 150, 181)), bare, None)) == ["size"]
    assert places_for(house([bare, two_stores()[1]]), box()).open[0].store == "Cool room"


def test_boxes_without_a_recorded_shelf_are_given_one_for_the_reckoning():
    where = two_stores()[0]
    loose = [Standing(box=box(f"B{n}", mass=float(n)), store="Fridge 1") for n in (1, 2, 9)]
    settled, assumed = settled_house(house([where], *loose))
    assert set(assumed) == {"1", "2", "9"}
    assert {one.box.number: one.shelf for one in settled.standing}["9"] == "1"


def test_what_is_left_on_a_shelf_adds_up():
    """600 x 450 usable; one box of 200 x 150 leaves 1 - 30000/270000; 3 x 3 of 195 x 145 with 10 mm go on 600 x 450."""
    where = store()
    there = house([where], Standing(box=box("B2"), store="Fridge 1", shelf="1"))
    free = free_on(there, where, where.shelves[0])
    assert free.free_share == pytest.approx(1 - 30_000 / 270_000)
    assert (free.boxes, free.load_kg, free.left_kg, free.height_mm) == (1, 2.0, 18.0, 250.0)
    assert load_on(there, where.shelves[0]) == 2.0
    empty = house([where])
    assert still_go(empty, where, where.shelves[0], (193.0, 143.0, 100.0)) == 9
    assert still_go(empty, where, where.shelves[0], (193.0, 143.0, 251.0)) == 0


def test_figures_can_be_chosen_by_the_unit():
    where = store()
    closer = replace(FIGURES, plate_mm=0.0)
    tight = House(stores=(where,), standing=(), defaults=closer)
    assert judge(tight, box(size=(600, 500, 100)), where, where.shelves[0]).against == ()
    assert rules(judge(house([where]), box(size=(600, 500, 100)), where, where.shelves[0])) == ["size"]
