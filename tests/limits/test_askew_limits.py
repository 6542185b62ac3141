"""An outline in a rectangle at any angle: the known condition, brute force, and what must stay the same."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from findhold.geometry.askew import extents_mm, rectangle, roomiest_turn, turned_mm

side = st.floats(1, 1000)


def goes_in_by_the_known_condition(p, q, a, b):
    """Rectangle p x q in a x b, p >= q, a >= b: Carver, American Mathematical Monthly 64 (1957) 114-116 (memory)."""
    (q, p), (b, a) = sorted((p, q)), sorted((a, b))
    if p <= a and q <= b:
        return True
    if p <= a or q > b:
        return False
    return b >= (2 * p * q * a + (p * p - q * q) * math.sqrt(p * p + q * q - a * a)) / (p * p + q * q)


def narrowest(outline, room):
    _, spare = roomiest_turn(outline, [room])
    return float(spare.min())


@settings(max_examples=400)
@given(p=side, q=side, a=side, b=side)
def test_a_rectangle_goes_in_exactly_when_the_known_condition_says_so(p, q, a, b):
    spare = narrowest(rectangle(p, q), (a, b))
    if abs(spare) > 1e-6 * max(p, q, a, b):
        assert (spare > 0) == goes_in_by_the_known_condition(p, q, a, b)


def test_the_ladder_in_the_square_is_its_diagonal():
    """A line of length d with no width goes into a square of side d / sqrt(2), at 45 degrees."""
    angle, spare = roomiest_turn(rectangle(100.0, 1e-12), [(100 / math.sqrt(2), 100 / math.sqrt(2))])
    assert angle[0] == pytest.approx(45.0)
    assert spare[0] == pytest.approx([0.0, 0.0], abs=1e-9)


def convex(seed, count=9, scale=200.0):
    points = np.random.default_rng(seed).normal(size=(count, 2)) * scale
    hull = shapely.MultiPoint(points).convex_hull
    return np.array(hull.exterior.coords)[:-1]


@pytest.mark.parametrize("seed", range(12))
def test_no_angle_of_a_fine_sweep_beats_the_roomiest(seed):
    """Brute force: the outline turned by shapely every 0.05 degrees, its bounds taken."""
    outline, rng = convex(seed), np.random.default_rng(100 + seed)
    polygon = shapely.Polygon(outline)
    sweep = np.arange(0.0, 180.0, 0.05)
    bounds = np.array([affinity.rotate(polygon, float(angle), origin=(0, 0)).bounds for angle in sweep])
    extent = np.stack([bounds[:, 2] - bounds[:, 0], bounds[:, 3] - bounds[:, 1]], axis=1)
    rooms = rng.uniform(100, 900, (20, 2))
    swept = (rooms[:, None, :] - extent).min(axis=-1).max(axis=1)
    _, spare = roomiest_turn(outline, rooms)
    found = spare.min(axis=-1)
    assert (found >= swept - 1e-9).all()
    # between two sweeps an extent changes by at most its diagonal times the step
    reach = np.ptp(outline, axis=0)
    assert (found <= swept + math.hypot(*reach) * math.radians(0.05)).all()


@pytest.mark.parametrize("seed", range(6))
def test_the_angle_told_gives_the_spare_told(seed):
    outline = convex(seed)
    rooms = np.random.default_rng(seed).uniform(100, 900, (30, 2))
    angle, spare = roomiest_turn(outline, rooms)
    assert ((angle >= 0) & (angle < 180.0 + 1e-9)).all()
    assert spare == pytest.approx(rooms - extents_mm(outline, angle))


@given(seed=st.integers(0, 50), a=side, b=side, more=st.tuples(st.floats(0, 200), st.floats(0, 200)))
def test_a_bigger_room_never_spares_less(seed, a, b, more):
    outline = convex(seed)
    assert narrowest(outline, (a + more[0], b + more[1])) >= narrowest(outline, (a, b)) - 1e-7


@given(seed=st.integers(0, 50), a=side, b=side, turn=st.floats(0, 360))
def test_turning_the_outline_or_the_room_changes_nothing(seed, a, b, turn):
    outline = convex(seed)
    spare = narrowest(outline, (a, b))
    assert narrowest(turned_mm(outline, turn), (a, b)) == pytest.approx(spare, abs=1e-6)
    assert narrowest(outline, (b, a)) == pytest.approx(spare, abs=1e-6)


def test_many_rooms_at_once_are_the_rooms_one_by_one():
    outline, rooms = convex(3), np.random.default_rng(5).uniform(100, 900, (40, 2))
    angle, spare = roomiest_turn(outline, rooms)
    for i, room in enumerate(rooms):
        one_angle, one_spare = roomiest_turn(outline, [room])
        assert one_angle[0] == angle[i]
        assert one_spare[0].tolist() == spare[i].tolist()


def test_a_square_in_a_room_that_takes_it_is_not_turned_for_nothing():
    angle, spare = roomiest_turn(rectangle(100, 100), [(150, 150)])
    assert angle.tolist() == [0.0]
    assert spare.tolist() == [[50.0, 50.0]]
