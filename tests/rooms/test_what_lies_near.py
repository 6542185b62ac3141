"""What lies near a find: three points whose distances are plain, and how well a distance is known."""

import math

import pytest

from findhold.errors import BadInput
from findhold.register.plot_near import distance_error_m, nearest
from findhold.register.plot_points import PlotPoint


def point(number, east, north, level=None, kind="registered"):
    return PlotPoint(number=number, kind=kind, easting_m=east, northing_m=north, level_m=level)


POINTS = (
    point("1", 0.0, 0.0, 10.0),
    point("2", 3.0, 4.0, 10.0),  # 5 m off in plan
    point("3", 0.0, 1.0, 13.0),  # 1 m in plan, sqrt(10) in space
    point("4", -2.0, 0.0, None),  # no level: by its distance in plan
    point("5", None, None),
    point("6", 0.01, 0.0, 10.5, kind="sample"),
)


def test_points_are_ranked_by_distance_in_space_where_both_have_levels():
    found = nearest(POINTS, "1")
    assert [near.point.number for near in found] == ["6", "4", "3", "2"]
    three = found[2]
    assert (three.plan_m, three.slope_m, three.rise_m) == pytest.approx((1.0, math.sqrt(10.0), 3.0))
    assert found[1].slope_m is None
    assert found[1].rise_m is None


def test_directions_are_those_of_the_grid():
    towards = {near.point.number: (near.towards, round(near.bearing_deg, 1)) for near in nearest(POINTS, "1")}
    assert towards["3"] == ("N", 0.0)
    assert towards["4"] == ("W", 270.0)
    assert towards["2"] == ("NE", 36.9)
    assert towards["6"][0] == "at the same spot"


def test_so_many_are_told_and_no_more():
    assert len(nearest(POINTS, "1", 2)) == 2


def test_a_point_without_position_has_nothing_near():
    with pytest.raises(BadInput, match="no position"):
        nearest(POINTS, "5")


def test_two_points_of_two_centimetres_are_known_to_root_two_of_it():
    assert distance_error_m() == pytest.approx(0.02 * math.sqrt(2.0))
