"""The plan of Withy Carr: nothing vanishes, everything is where the grid says, and slips become questions."""

import math
import xml.etree.ElementTree as ET
from datetime import date

import numpy as np
import pytest

from findhold.draw.marks import Circle, Path, Text
from findhold.draw.svg import to_svg
from findhold.errors import BadInput, Mistakes, UnknownName
from findhold.register.plot import PlanSheet, draw_plan
from findhold.register.plot_points import PlotOutline, PlotPoint, distances, position_questions

E, N = 451383.0, 206866.0
RIM = tuple((E + 2 * math.cos(math.radians(a)), N + 1.6 * math.sin(math.radians(a))) for a in range(0, 360, 20))
PIT = PlotOutline(name="[214] top", points=RIM)


def find(number, e=None, n=None, level=None, kind="registered", label=""):
    return PlotPoint(number=number, kind=kind, easting_m=e, northing_m=n, level_m=level, label=label)


FINDS = [
    find("37", E + 0.3, N + 0.1, 51.42, label="hand-made jar"),
    find("41", E + 1.3, N + 0.1, 51.38),
    find("216.1", E, N + 0.3, 51.41, "bulk"),
    find("12", E, N - 0.4, 51.39, "sample"),
    find("216", E + 0.9, N - 0.6, kind="context"),
    find("A", E - 1.8, N - 1.5, 52.0, "peg"),
    find("48"),
    find("52", E),
]


def sheet(**changes):
    facts = {
        "title": "Waterhole [214]",
        "site_code": "WCR26",
        "sheet_no": "14",
        "grid": "British National Grid (EPSG:27700)",
        "vertical_datum": "Ordnance Datum Newlyn",
        "author": "M. Thorne",
        "drawn_on": date(2026, 7, 30),
    }
    return PlanSheet(**{**facts, **changes})


def texts(drawing):
    return [mark.text for mark in drawing.marks if isinstance(mark, Text)]


def dots(drawing):
    return [mark.centre for mark in drawing.marks if isinstance(mark, Circle)]


def test_the_sheet_says_everything_a_plan_must_say():
    said = " ".join(texts(draw_plan(FINDS, [PIT], sheet(distances=(("37", "41"),)))))
    for needed in (
        "WCR26 · sheet 14",
        "Sheet 14",
        "Scale 1:",
        "British National Grid",
        "Ordnance Datum Newlyn",
        "grid north",
        "GN",
        "M. Thorne",
        "Thu 30 Jul 2026",
        "451\u00a0384 E",
        "206\u00a0866 N",
        "51.42",
        "[214] top",
        "hand-made jar",
    ):
        assert needed in said, needed


def test_every_point_is_on_the_sheet_by_its_number_or_in_the_list_of_those_without_position():
    said = texts(draw_plan(FINDS, [PIT], sheet()))
    for number in ("37", "41", "216.1", "12", "[216]", "A"):
        assert number in said
    listed = said[said.index("Not plotted: no position") + 1]
    assert listed == "find\u00a048, find\u00a052"


def test_spots_lie_inside_the_frame_where_scale_and_north_put_them():
    drawing = draw_plan(FINDS, [PIT], sheet(scale=50))
    spots = dots(drawing)
    assert len(spots) == 6
    assert all(16 < x < 297 - 10 - 78 and 10 < y < 210 - 16 for x, y in spots)
    (x1, y1), (x2, y2) = spots[0], spots[1]
    assert (x2 - x1, y2 - y1) == pytest.approx((1000 / 50, 0.0))  # 1 m east is 20 mm to the right at 1:50
    assert spots[2][1] == pytest.approx(y1 - 0.2 * 1000 / 50)  # 0.2 m further north is 4 mm up


def test_the_coordinates_stand_below_and_beside_the_points_that_have_them():
    drawing = draw_plan([find("1", E + 1, N + 2), find("2", E - 1, N)], [], sheet(scale=50))
    marks = {mark.text: mark.at for mark in drawing.marks if isinstance(mark, Text)}
    assert marks["451\u00a0384 E"][0] == pytest.approx(dots(drawing)[0][0])
    assert marks["206\u00a0866 N"][1] == pytest.approx(dots(drawing)[1][1])


@pytest.mark.parametrize(
    ("width_m", "paper", "expected"),
    [(0.1, "A4", 1), (2.0, "A4", 20), (8.0, "A4", 50), (30.0, "A4", 200), (30.0, "A3", 200), (300.0, "A3", 2000)],
)
def test_the_scale_is_the_largest_round_one_for_the_paper(width_m, paper, expected):
    # Window 165 mm on A4 and 288 mm on A3 after the strips, the column of 78 mm and 14 mm kept free each side.
    drawing = draw_plan([find("1", E, N), find("2", E + width_m, N)], [], sheet(paper=paper))
    assert f"1:{expected} on {paper}" in texts(drawing)


def test_a_single_find_is_drawn_at_1_to_20_in_the_middle():
    drawing = draw_plan([FINDS[0]], [], sheet())
    assert "1:20 on A4" in texts(drawing)
    assert dots(drawing) == [pytest.approx(((16 + 209) / 2, (10 + 194) / 2))]


def test_a_scale_too_large_for_the_paper_is_refused_with_one_that_fits():
    with pytest.raises(BadInput, match=r"Draw it at 1:50 or on A3"):
        draw_plan(FINDS, [PIT], sheet(scale=5))
    with pytest.raises(BadInput, match="not a scale"):
        draw_plan(FINDS, [PIT], sheet(scale=0))


def test_shapes_are_a_setting():
    drawing = draw_plan([FINDS[0]], [], sheet(symbols={"registered": "circle"}))
    assert any(isinstance(mark, Circle) and mark.radius_mm > 1.5 for mark in drawing.marks)
    assert "(216)" in texts(draw_plan([FINDS[4]], [], sheet(symbols={"context": "round brackets"})))
    assert "(215)" in texts(draw_plan([find("(215)", E, N, kind="context")], [], sheet()))
    with pytest.raises(UnknownName, match="triangle"):
        draw_plan([FINDS[0]], [], sheet(symbols={"registered": "tringle"}))


def test_a_requested_distance_is_drawn_with_its_value_even_when_the_line_is_short():
    drawing = draw_plan(FINDS, [PIT], sheet(distances=(("37", "41"), ("37", "216.1"))))
    said = texts(drawing)
    assert "1.00 m" in said
    assert f"{math.hypot(0.3, 0.2):.2f} m" in said
    assert "37 to 41: 1.00 m (1.00 m)" in said


def test_distances_in_plan_and_in_space():
    points = [find("1", E, N, 50.0), find("2", E + 2, N + 3, 56.0), find("3", E + 3, N + 4), find("4")]
    one, two, three = distances(points)
    assert (one.plan_m, one.slope_m, one.rise_m) == pytest.approx((math.sqrt(13), 7.0, 6.0))
    assert (two.plan_m, two.slope_m) == (5.0, None)
    assert (three.a, three.b) == ("2", "3")
    with pytest.raises(BadInput, match="4 has no position"):
        distances(points, [("1", "4")])
    with pytest.raises(UnknownName):
        distances(points, [("1", "5")])
    with pytest.raises(BadInput, match="'registered 1' or 'sample 1'"):
        distances([*points, find("1", E, N, kind="sample")], [("1", "2")])
    with pytest.raises(BadInput, match="Name the pairs"):
        distances([find(str(n), E + n, N) for n in range(61)])


def test_swapped_and_far_away_positions_are_questions_and_nothing_is_drawn():
    swapped = find("44", N, E)
    (question,) = position_questions([*FINDS, swapped])
    assert "swapped" in question.text
    assert question.about == "registered 44"
    with pytest.raises(Mistakes) as caught:
        draw_plan([*FINDS, swapped], [PIT], sheet())
    assert len(caught.value.questions) == 1
    (far,) = position_questions([*FINDS, find("45", E + 10000, N)])
    assert "10.0 km" in far.text
    assert position_questions(FINDS, [PIT]) == ()


def test_nothing_with_a_position_is_an_error():
    with pytest.raises(BadInput, match="no point with a position"):
        draw_plan([find("48")], [], sheet())


def test_long_titles_and_lists_wrap_and_what_does_not_fit_is_an_error():
    title = "Waterhole [214], second plan, after the removal of fill (216) and before the urn was lifted"
    said = " ".join(texts(draw_plan(FINDS, [PIT], sheet(title=title))))
    assert all(word in said for word in title.split())
    with pytest.raises(BadInput, match="lists beside the plan"):
        draw_plan([*FINDS, *(find(str(n)) for n in range(1000, 1600))], [PIT], sheet())


def test_sixty_crowded_finds_keep_sixty_separate_symbols_in_the_frame():
    rng = np.random.default_rng(4)
    crowd = [find(str(100 + i), E + x, N + y, 51.0 + i / 100) for i, (x, y) in enumerate(rng.normal(0, 0.35, (60, 2)))]
    drawing = draw_plan(crowd, [PIT], sheet())
    said = texts(drawing)
    assert all(f"{100 + i}" in said and f"{51.0 + i / 100:.2f}" in said for i in range(60))
    triangles = [
        mark.points
        for mark in drawing.marks
        if isinstance(mark, Path) and mark.closed and len(mark.points) == 3 and mark.pen and mark.pen.width_mm == 0.25
    ]
    assert len(triangles) == 60
    boxes = [(min(x), min(y), max(x), max(y)) for x, y in (zip(*points, strict=True) for points in triangles)]
    for i, a in enumerate(boxes):
        assert a[0] >= 16
        assert a[2] <= 209
        assert a[1] >= 10
        assert a[3] <= 194
        assert not any(a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3] for b in boxes[:i])


def test_the_drawing_is_well_formed_svg_of_the_papers_size():
    root = ET.fromstring(to_svg(draw_plan(FINDS, [PIT], sheet(paper="A3"))))
    assert (root.get("width"), root.get("height")) == ("420mm", "297mm")
    with pytest.raises(BadInput, match="A4 or A3"):
        draw_plan(FINDS, [PIT], sheet(paper="A5"))
