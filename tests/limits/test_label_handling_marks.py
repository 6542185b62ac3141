"""Handling marks: each unlike the others, none taken for another, temperature never without both figures."""

import io
import itertools

import numpy
import pytest
from PIL import Image

from findhold.draw.handling import HANDLING_MARKS, handling_mark, top_arrow
from findhold.draw.marks import Drawing, Text
from findhold.draw.pdf import drawing_png
from findhold.errors import BadInput, UnknownName
from findhold.tables.load import table


def drawn(name):
    limits = {"low_c": 2.0, "high_c": 5.0} if name == "temperature limits" else {}
    drawing = Drawing(width_mm=14, height_mm=14, marks=handling_mark(name, (1, 1), 12, **limits), title=name)
    png = drawing_png(drawing, dots_per_mm=8, paper=True)
    return 255 - numpy.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=float)


def test_marks_are_unlike_each_other_and_stay_in_their_square():
    pictures = {name: drawn(name) for name in HANDLING_MARKS}
    for name, ink in pictures.items():
        assert ink[:6].max() < 60, name
        assert ink[-6:].max() < 60, name
        assert ink[:, :6].max() < 60, name
        assert ink[:, -6:].max() < 60, name
        assert 0.03 < (ink > 128).mean() < 0.5, name
    for a, b in itertools.combinations(pictures, 2):
        likeness = numpy.corrcoef(pictures[a].ravel(), pictures[b].ravel())[0, 1]
        assert likeness < 0.6, (a, b, likeness)


def test_the_temperature_mark_prints_both_figures():
    texts = [m.text for m in handling_mark("temperature limits", (0, 0), 10, low_c=-2, high_c=5) if isinstance(m, Text)]
    assert texts == ["5°", "−2°"]
    with pytest.raises(BadInput, match="both limits"):
        handling_mark("temperature limits", (0, 0), 10, high_c=5)
    with pytest.raises(BadInput, match="above the high one"):
        handling_mark("temperature limits", (0, 0), 10, low_c=8, high_c=5)


def test_every_mark_of_the_table_can_be_drawn_and_numbers_are_the_published_ones(authority):
    published = {row["number"]: row for row in authority("packing_iso780.csv")}
    rows = table("handling_marks").rows
    assert {row["name"] for row in rows} == set(HANDLING_MARKS)
    for row in rows:
        there = published[row["number"]]
        assert there["iso7000_ref"] == row["iso7000"]
        assert there["title"].casefold().startswith(row["name"])


def test_an_unknown_mark_offers_near_names():
    with pytest.raises(UnknownName, match="fragile"):
        handling_mark("fragil", (0, 0), 10)


def test_the_top_arrow_points_up():
    (arrow,) = top_arrow((0, 0), 20)
    assert arrow.d.startswith("M7 0")
