"""Drawings as PDF: true size, real text, embedded fonts, PDF/A marks, the same bytes; data never acts as markup."""

import io
from datetime import UTC, datetime

import pikepdf
import pypdf
import pytest

from findhold.draw.lettering import missing_letters, text_width_mm
from findhold.draw.marks import Circle, Curve, Drawing, Matrix, Path, Text
from findhold.draw.pdf import compile_pdf, drawing_pdf, drawing_png, png_pages
from findhold.draw.scale import TitleBlock, dimension, north_point, scale_bar, sheet_frame
from findhold.draw.svg import to_svg
from findhold.errors import BadInput

WHEN = datetime(2026, 8, 1, 9, 0, tzinfo=UTC)
MARKS = (
    Path(points=((5, 5), (60, 5), (60, 40), (5, 40)), closed=True, hatch="soil"),
    Circle(centre=(30, 20), radius_mm=5),
    Text(at=(10, 50), text="Grabung Moß, Fläche 3 → Find 37 ≤ Ω ж", size_mm=4),
    Text(at=(10, 58), text="#evil [markup] *stays* $text$", size_mm=3, bold=True, condensed=True),
    Matrix(at=(70, 10), modules=((True, False), (False, True)), module_mm=2),
    Curve(d="M0 0L10 10", at=(70, 30), scale=0.5),
    *scale_bar((10, 62), denominator=20),
    *north_point((80, 60)),
    *dimension((5, 5), (60, 5), "1 100 mm", away_mm=-6),
    *sheet_frame(100, 90, TitleBlock(heading="WCR26", lines=(("Scale", "1:20"),), sheet="1 of 1"), margin_mm=2),
)
DRAWING = Drawing(width_mm=100, height_mm=90, marks=MARKS, title="A & <test>", description="of everything")


def test_pages_have_the_drawings_own_size():
    small = Drawing(width_mm=62, height_mm=29, marks=(), title="small")
    pages = pypdf.PdfReader(io.BytesIO(drawing_pdf([DRAWING, small], title="t", date=WHEN))).pages
    sizes = [(float(p.mediabox.width) / 72 * 25.4, float(p.mediabox.height) / 72 * 25.4) for p in pages]
    assert sizes[0] == pytest.approx((100, 90), abs=0.01)
    assert sizes[1] == pytest.approx((62, 29), abs=0.01)


def test_text_is_text_and_markup_is_not_obeyed():
    text = pypdf.PdfReader(io.BytesIO(drawing_pdf([DRAWING], title="t", date=WHEN))).pages[0].extract_text()
    close = "".join(text.split())
    assert "GrabungMoß,Fläche3→Find37≤Ωж" in close
    assert "#evil[markup]*stays*$text$" in close


def test_the_same_drawing_gives_the_same_bytes():
    assert drawing_pdf([DRAWING], title="t", date=WHEN) == drawing_pdf([DRAWING], title="t", date=WHEN)


def test_built_to_pdf_a_with_every_font_embedded():
    with pikepdf.open(io.BytesIO(drawing_pdf([DRAWING], title="t", date=WHEN))) as pdf:
        with pdf.open_metadata() as meta:
            assert (meta["pdfaid:part"], meta["pdfaid:conformance"]) == ("3", "B")
        assert pdf.Root.OutputIntents[0].DestOutputProfile is not None
        fonts = [o for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"]
        assert fonts
        assert all("/FontFile2" in f or "/FontFile3" in f for f in fonts)
        assert not pdf.is_encrypted


def test_letters_the_fonts_lack_are_refused_by_name():
    with pytest.raises(BadInput, match="漢"):
        drawing_pdf(
            [Drawing(width_mm=50, height_mm=20, marks=(Text(at=(5, 10), text="漢"),), title="t")], title="t", date=WHEN
        )
    assert missing_letters("a漢b字") == "漢字"
    assert missing_letters("Ärger Ω ж ≤ △") == ""


def test_letters_the_fonts_lack_are_refused_in_templates_too():
    with pytest.raises(BadInput, match="cannot be printed"):
        compile_pdf("#data.word", {"word": "漢"}, date=WHEN)


def test_no_drawing_no_pdf():
    with pytest.raises(BadInput, match="nothing to draw"):
        drawing_pdf([], title="t", date=WHEN)


def test_a_date_without_zone_is_a_programming_mistake():
    with pytest.raises(ValueError, match="time zone"):
        drawing_pdf([DRAWING], title="t", date=datetime(2026, 8, 1))


def test_svg_says_its_size_title_and_ground():
    screen, paper = to_svg(DRAWING), to_svg(DRAWING, paper=True)
    assert 'width="100mm" height="90mm" viewBox="0 0 100 90"' in screen
    assert "<title>A &amp; &lt;test&gt;</title>" in screen
    assert "<desc>of everything</desc>" in screen
    assert "#fbfaf5" in screen
    assert "#fbfaf5" not in paper
    assert "<pattern" not in screen


def test_text_width_is_the_sum_of_advances():
    # DejaVu Sans: 2048 units an em; digits advance 1303 units each (the font's own hmtx table)
    assert text_width_mm("0", 2.048) == pytest.approx(1.303)
    assert text_width_mm("37", 10) == pytest.approx(2 * text_width_mm("3", 10))
    assert text_width_mm("wide", 3, condensed=True) == pytest.approx(0.9 * text_width_mm("wide", 3), rel=0.01)


def test_pictures_of_a_finished_pdf_show_its_pages():
    pdf = drawing_pdf([DRAWING, DRAWING], title="t", date=WHEN)
    assert png_pages(pdf, [1, 2], dots_per_mm=4)[1][:4] == b"\x89PNG"
    with pytest.raises(BadInput, match="cannot be drawn"):
        png_pages(pdf, [3])
    with pytest.raises(BadInput, match="cannot be drawn"):
        png_pages(b"not a pdf", [1])


def test_a_scale_bar_is_true_and_round():
    bar = [m for m in scale_bar((0, 0), denominator=20, longest_mm=60) if isinstance(m, Path)]
    # 60 mm at 1:20 is 1.2 m: the longest round bar of 4 or 5 fields is 5 x 0.2 m = 1 m = 50 mm on paper
    assert max(x for m in bar for x, _ in m.points) == pytest.approx(50.0)
    with pytest.raises(BadInput, match="scale"):
        scale_bar((0, 0), denominator=0)


def test_a_drawing_as_picture_has_the_asked_fineness():
    assert drawing_png(DRAWING, dots_per_mm=2)[16:24] == (200).to_bytes(4, "big") + (180).to_bytes(4, "big")
