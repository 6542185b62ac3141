"""The empty room of a crate: volumes layer by layer, and a crate of two layers on one page."""

import io
from datetime import UTC, datetime

import pypdf
import pytest

from findhold.crate.gaps import gaps
from findhold.crate.inputs import Crate, CrateRequest, Item
from findhold.crate.load import load_crates
from findhold.paper.crates.sheet import crate_sheets_pdf
from findhold.service.packing.crating.answer import gap_words
from findhold.service.packing.crating.asking import Crated
from findhold.service.packing.crating.papers import _sheets

INSIDE = (565.0, 365.0, 310.0)


def loaded(*items):
    crate = Crate(name="crate", inside_mm=INSIDE, tare_kg=1.9, max_load_kg=25.0)
    return load_crates(CrateRequest(items=items, crates=(crate,)))


def thing(number, size_mm, mass_kg, **more):
    return Item(number=number, size_mm=size_mm, mass_kg=mass_kg, **more)


A = thing("A", (540, 350, 120), 4.0, max_on_top_kg=10.0)
B, C = thing("B", (300, 200, 100), 2.0), thing("C", (200, 150, 100), 1.0)


def test_room_and_things_make_up_the_crate_up_to_the_top_of_the_load():
    """0.565 x 0.365 m of floor: 206.225 L a metre; A is 22.68 L, B 6 L, C 3 L."""
    (load,) = loaded(A, B, C).loads
    room = {gap.layer: gap.room_l for gap in gaps(load.items, load.inside_mm)}
    assert room == pytest.approx({1: 206.225 * 0.12 - 22.68, 2: 206.225 * 0.1 - 9.0})


def test_a_full_layer_has_nothing_to_fill():
    (load,) = loaded(thing("A", (565, 365, 200), 5.0)).loads
    assert gaps(load.items, load.inside_mm) == ()
    assert gap_words(load) == ()


def test_a_damp_crate_is_not_filled_with_what_drinks():
    (dry,) = loaded(A).loads
    (damp,) = loaded(thing("A", (540, 350, 120), 4.0, state="damp", lidded=True)).loads
    assert "crumpled tissue" in gap_words(dry)[0]
    assert "tissue" not in gap_words(damp)[0]


def test_two_layers_stand_on_one_page_with_what_to_fill():
    done = Crated(title="Two layers", place="", shared=(), loads=loaded(A, B, C), shelves=None)
    at = datetime(2026, 8, 3, 9, tzinfo=UTC)
    pages = pypdf.PdfReader(io.BytesIO(crate_sheets_pdf(_sheets(done, at, "M. Holt"), date=at))).pages
    assert len(pages) == 2  # the summary and the crate
    text = " ".join(pages[1].extract_text().split())
    assert "layer 2 of 2" in text
    assert "Empty room: fill it" in text
