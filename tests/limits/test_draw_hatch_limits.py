"""Hatch lines stay inside their outline, cover it evenly, and each hatch is unlike the others in grey."""

import io
import itertools
import math

import numpy
import pytest
from PIL import Image

from findhold.draw.hatch import HATCHES, hatch_lines
from findhold.draw.marks import Drawing, Path
from findhold.draw.pdf import drawing_png
from findhold.errors import UnknownName

NOTCHED = ((0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (15.0, 8.0), (0.0, 20.0))


def inside(x, y, outline, slack=1e-6):
    """Even-odd, with points on the edge taken as inside."""
    odd = False
    for (x0, y0), (x1, y1) in zip(outline, [*outline[1:], outline[0]], strict=True):
        length = math.dist((x0, y0), (x1, y1))
        t = min(1.0, max(0.0, ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / length**2))
        if math.dist((x, y), (x0 + t * (x1 - x0), y0 + t * (y1 - y0))) < slack:
            return True
        if (y0 <= y) != (y1 <= y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
            odd = not odd
    return odd


@pytest.mark.parametrize("name", sorted(HATCHES))
def test_no_line_leaves_a_notched_outline(name):
    for line in hatch_lines(name, NOTCHED):
        for (x0, y0), (x1, y1) in itertools.pairwise(line):
            assert inside((x0 + x1) / 2, (y0 + y1) / 2, NOTCHED, 0.02), (name, line)


def test_whole_lines_have_the_length_that_area_over_gap_gives():
    # lines a distance g apart over an area A have the total length A / g; 40 x 40 mm, g = 1 mm (ceramic)
    square = ((0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0))
    total = sum(math.dist(a, b) for a, b in hatch_lines("ceramic", square))
    assert total == pytest.approx(40 * 40 / 1.0, rel=0.02)


def test_areas_side_by_side_match():
    left = hatch_lines("board", ((0, 0), (10, 0), (10, 5), (0, 5)))
    right = hatch_lines("board", ((10, 0), (20, 0), (20, 5), (10, 5)))
    xs = sorted(round(line[0][0], 6) for line in (*left, *right))
    gaps = numpy.diff(xs)
    assert gaps.min() == pytest.approx(gaps.max())


def test_hatches_differ_in_grey():
    pictures = {}
    for name in HATCHES:
        area = Path(points=((0, 0), (20, 0), (20, 20), (0, 20)), closed=True, hatch=name, pen=None)
        png = drawing_png(Drawing(width_mm=20, height_mm=20, marks=(area,), title=name), dots_per_mm=10, paper=True)
        grey = numpy.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=float)
        spectrum = numpy.abs(numpy.fft.rfft2(grey - grey.mean()))
        pictures[name] = spectrum / (numpy.linalg.norm(spectrum) or 1.0)
    for a, b in itertools.combinations(pictures, 2):
        likeness = float((pictures[a] * pictures[b]).sum())
        assert likeness < 0.6, (a, b, likeness)


def test_an_unknown_hatch_offers_near_names():
    with pytest.raises(UnknownName, match="ceramic"):
        hatch_lines("ceramics", NOTCHED)
