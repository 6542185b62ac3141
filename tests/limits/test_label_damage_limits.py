"""Damaged labels: one of the two codes reads. Trials are drawn from a fixed seed."""

import io
from datetime import date

import numpy
import pytest
from PIL import Image, ImageDraw, ImageFilter

from findhold.draw.pdf import drawing_png
from findhold.label.layout import lay_out, stock_named
from findhold.label.readback import climb
from findhold.label.wording import LabelFacts
from findhold.record.identity import identity

TRIALS = 60
JAR = LabelFacts(
    site_code="WCR26",
    site_name="Withy Carr",
    find_number="37",
    find_kind="registered",
    context="217",
    what="hand-made jar, crushed in its soil block",
    material="ceramic",
    state="damp",
    find_id=identity("WCR26", "F", 37),
    box_id=identity("WCR26", "B", 3),
    packed_on=date(2026, 7, 30),
    easting_m=451382.79,
    northing_m=206866.13,
    level_m=51.6,
    grid="EPSG:27700",
    vertical_datum="ODN",
    box_n=1,
    box_of=2,
    keep_until=date(2026, 8, 13),
    analyses=("lipid", "radiocarbon"),
    flags=("human remains",),
    person="M. Holt",
    mass_kg=6.482,
    place="Fridge 1, middle shelf",
)


@pytest.fixture(scope="module")
def label():
    drawing = lay_out(JAR, "lid", stock_named("A4 2 x 4")).drawing
    return Image.open(io.BytesIO(drawing_png(drawing, dots_per_mm=8, paper=True))).convert("L")


def ours(decoded):
    return any(code.kind in ("speaking", "short") for code in decoded)


@pytest.mark.parametrize("share", [0.02, 0.05, 0.10])
def test_a_blot_anywhere_leaves_one_code_readable(label, share):
    random = numpy.random.default_rng(round(share * 1000))
    radius = (share * label.width * label.height / numpy.pi) ** 0.5
    read = 0
    for _ in range(TRIALS):
        spoilt = label.copy()
        x, y = random.uniform(0, label.width), random.uniform(0, label.height)
        ImageDraw.Draw(spoilt).ellipse(
            (x - radius, y - radius, x + radius, y + radius), fill=int(random.integers(40, 140))
        )
        read += ours(climb(spoilt))
    assert read / TRIALS >= 0.99


@pytest.mark.parametrize("corner", [(0, 0), (1, 0), (0, 1), (1, 1)])
def test_a_torn_corner_leaves_one_code_readable(label, corner):
    spoilt = label.copy()
    reach = 0.45 * label.height  # (0.45 h)^2 / 2 of a label 1.46 h wide is 7 % of its area
    x, y = corner[0] * label.width, corner[1] * label.height
    dx, dy = (-reach if corner[0] else reach), (-reach if corner[1] else reach)
    ImageDraw.Draw(spoilt).polygon([(x, y), (x + dx, y), (x, y + dy)], fill=90)
    assert ours(climb(spoilt))


def test_blur_soil_film_and_noise_leave_one_code_readable(label):
    random = numpy.random.default_rng(7)
    blurred = label.filter(ImageFilter.GaussianBlur(0.4 * 8))
    assert ours(climb(blurred))
    film = numpy.asarray(label, dtype=float) * 0.25 + 60
    assert ours(climb(Image.fromarray(film.astype(numpy.uint8))))
    noisy = numpy.clip(numpy.asarray(label, dtype=float) + random.normal(0, 40, (label.height, label.width)), 0, 255)
    assert ours(climb(Image.fromarray(noisy.astype(numpy.uint8))))
