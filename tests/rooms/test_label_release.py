"""Labels drawn, released and read back; what does not fit is said; what does not read is not given out."""

import io
from dataclasses import replace
from datetime import UTC, date, datetime

import cv2
import numpy
import pikepdf
import pypdf
import pytest
from PIL import Image

from findhold.draw.marks import Matrix, Text
from findhold.draw.pdf import drawing_png
from findhold.errors import BadInput, UnknownName
from findhold.label import release as release_room
from findhold.label.layout import LabelStock, all_stock, lay_out, stock_named
from findhold.label.payload import short_text, speaking_text
from findhold.label.readback import climb, one_label, read_image
from findhold.label.release import UnreadableLabelError, release
from findhold.label.wording import LEAVING_OUT, PARTS, LabelFacts, NumberSymbols, label_texts
from findhold.record.identity import identity

WHEN = datetime(2026, 8, 1, 9, 0, tzinfo=UTC)
SHEET = "A4 2 x 4"
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
def released():
    return release([(JAR, part) for part in PARTS], stock_named(SHEET), date=WHEN)


def test_every_code_was_read_back(released):
    assert released.count == 4
    assert released.names == ("F37 inside", "F37 lid", "F37 end", "F37 block")
    assert [proof.short for proof in released.read_back] == [short_text(JAR, part) for part in PARTS]
    assert all(proof.speaking == speaking_text(JAR) for proof in released.read_back)
    assert released.dropped == ((), (), (), ())
    assert released.pages == 1


def test_an_independent_reader_finds_every_fact_as_text(released):
    page = pypdf.PdfReader(io.BytesIO(released.pdf)).pages[0].extract_text()
    close = "".join(page.split())
    for part in PARTS:
        for line in label_texts(JAR, part):
            for piece in line.pieces:
                assert "".join(piece.replace("·", "").split()) in close, (part, line.text)
    assert close.count("37") >= 4
    assert close.count("TOP") == 2


def test_the_file_is_built_to_pdf_a_with_fonts_embedded_and_true_sheets(released):
    with pikepdf.open(io.BytesIO(released.pdf)) as pdf:
        with pdf.open_metadata() as meta:
            assert (meta["pdfaid:part"], meta["pdfaid:conformance"]) == ("3", "B")
        fonts = [o for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"]
        assert fonts
        assert all("/FontFile2" in f or "/FontFile3" in f for f in fonts)
        assert not [o for o in pdf.objects if isinstance(o, pikepdf.Stream) and o.get("/Subtype") == "/Image"]
        assert float(pdf.pages[0].MediaBox[2]) / 72 * 25.4 == pytest.approx(210, abs=0.01)


def test_the_same_labels_give_the_same_bytes(released):
    assert release([(JAR, part) for part in PARTS], stock_named(SHEET), date=WHEN).pdf == released.pdf


def test_a_roll_has_one_label_a_page_and_a_sheet_fills_row_by_row():
    roll = release([(JAR, "lid"), (JAR, "end")], stock_named("roll 100 x 70"), date=WHEN)
    assert roll.pages == 2
    assert len(pypdf.PdfReader(io.BytesIO(roll.pdf)).pages) == 2
    corners = list(stock_named(SHEET).places())
    assert corners[0] == (4.65, 13.1)
    assert corners[1] == (pytest.approx(4.65 + 99.1 + 2.5), 13.1)
    assert len(corners) == 8


def test_a_third_decoder_reads_the_speaking_code():
    drawing = lay_out(JAR, "lid", stock_named("roll 100 x 100")).drawing
    matrix = max((m for m in drawing.marks if isinstance(m, Matrix)), key=lambda m: len(m.modules))
    picture = numpy.where(numpy.array(matrix.modules), 0, 255).astype(numpy.uint8)
    picture = cv2.copyMakeBorder(
        numpy.kron(picture, numpy.ones((8, 8), numpy.uint8)), 64, 64, 64, 64, cv2.BORDER_CONSTANT, value=255
    )
    text, *_ = cv2.QRCodeDetector().detectAndDecode(picture)
    assert text == speaking_text(JAR)


@pytest.mark.parametrize("stock", all_stock(), ids=lambda s: s.name)
@pytest.mark.parametrize("part", PARTS)
def test_on_every_stock_labels_fit_readably_or_are_refused(stock, part):
    if stock.name == "roll 62 x 29":
        with pytest.raises(BadInput, match="or larger"):
            lay_out(JAR, part, stock)
        return
    made = lay_out(JAR, part, stock)
    assert made.dropped == tuple(role for role in LEAVING_OUT if role in made.dropped)
    texts = [m for m in made.drawing.marks if isinstance(m, Text)]
    labels = [t for t in texts if "°" not in t.text]
    assert min(t.size_mm for t in labels) >= 1.9 - 1e-9
    assert made.dm_module_mm >= 0.7
    assert made.qr_module_mm is None or made.qr_module_mm >= 0.4
    for t in texts:
        assert 0 <= t.at[0] <= stock.width_mm
        assert 0 <= t.at[1] <= stock.height_mm
    codes = [m for m in made.drawing.marks if isinstance(m, Matrix)]
    decoded = {d.text for d in climb(Image.open(io.BytesIO(drawing_png(made.drawing, dots_per_mm=8, paper=True))))}
    wanted = {short_text(JAR, part)} | ({speaking_text(JAR)} if made.qr_module_mm else set())
    assert len(codes) == len(wanted)
    assert decoded == wanted


@pytest.mark.parametrize("name", ["A4 2 x 4", "A4 2 x 6", "A4 2 x 7", "roll 100 x 50", "roll 100 x 150"])
@pytest.mark.parametrize("part", PARTS)
def test_nothing_on_a_label_overlaps_a_code(name, part):
    stock = stock_named(name)
    drawing = lay_out(JAR, part, stock).drawing
    # every dark dot of the whole label that lies in a code's square with quiet zone belongs to the code
    whole = grey(drawing)
    for code in (m for m in drawing.marks if isinstance(m, Matrix)):
        alone = grey(replace(drawing, marks=(code,)))
        quiet = (1 if len(code.modules) < 25 else 4) * code.module_mm
        side = len(code.modules) * code.module_mm
        box = [
            round(8 * v)
            for v in (
                code.at[0] - quiet + 0.2,
                code.at[1] - quiet + 0.2,
                code.at[0] + side + quiet - 0.2,
                code.at[1] + side + quiet - 0.2,
            )
        ]
        a, b = (g[box[1] : box[3], box[0] : box[2]] for g in (whole, alone))
        assert (numpy.abs(a - b) > 60).mean() < 0.001
    without = grey(replace(drawing, marks=tuple(m for m in drawing.marks if isinstance(m, Text))))
    hidden = (without < 80) & (whole > 175)
    assert hidden.mean() < 1e-4, "text is covered by a code's white ground"


def grey(drawing):
    return numpy.asarray(
        Image.open(io.BytesIO(drawing_png(drawing, dots_per_mm=8, paper=True))).convert("L"), dtype=float
    )


def test_a_stock_too_small_is_refused_with_the_smallest_that_works():
    with pytest.raises(BadInput, match=r"does not fit on 25 by 25 mm.*or larger"):
        lay_out(JAR, "lid", LabelStock(name="tiny", width_mm=25, height_mm=25))
    with pytest.raises(UnknownName, match="A4 2 x 4"):
        stock_named("A4 2x4")


@pytest.mark.parametrize(
    "size",
    [
        {"width_mm": 0, "height_mm": 40},
        {"width_mm": 50, "height_mm": -4},
        {"width_mm": 120, "height_mm": 50, "sheet_width_mm": 210, "sheet_height_mm": 297, "columns": 2},
        {"width_mm": 50, "height_mm": 50, "sheet_width_mm": 210},
    ],
)
def test_impossible_stock_is_refused(size):
    with pytest.raises(BadInput):
        LabelStock(name="odd", **size)


def test_a_code_that_does_not_read_stops_the_release(monkeypatch):
    right = release_room.lay_out

    def flip(m):
        rows = enumerate(m.modules)
        return replace(m, modules=tuple(tuple(not d for d in r) if 3 < i < 12 else r for i, r in rows))

    def spoilt(facts, part, stock):
        made = right(facts, part, stock)
        marks = tuple(flip(m) if isinstance(m, Matrix) and len(m.modules) < 25 else m for m in made.drawing.marks)
        return replace(made, drawing=replace(made.drawing, marks=marks))

    monkeypatch.setattr(release_room, "lay_out", spoilt)
    with pytest.raises(UnreadableLabelError, match="short code does not read back"):
        release([(JAR, "lid")], stock_named("roll 100 x 70"), date=WHEN)


def test_a_code_that_reads_differently_stops_the_release(monkeypatch):
    right = release_room.lay_out
    other = replace(JAR, what="another jar")
    monkeypatch.setattr(release_room, "lay_out", lambda _, part, stock: right(other, part, stock))
    with pytest.raises(UnreadableLabelError, match="speaking code"):
        release([(JAR, "lid")], stock_named("roll 100 x 70"), date=WHEN)


def test_no_labels_no_file():
    with pytest.raises(BadInput, match="no label"):
        release([], stock_named(SHEET), date=WHEN)


def test_letters_the_fonts_lack_are_refused():
    with pytest.raises(BadInput, match="漢"):
        release([(replace(JAR, what="漢"), "lid")], stock_named(SHEET), date=WHEN)


@pytest.mark.parametrize("symbol", ["triangle", "diamond", "circle", "box", "plain", "angle brackets", "braces"])
@pytest.mark.parametrize("number", ["7", "37", "1037", "37A"])
def test_numbers_stand_whole_in_every_symbol(symbol, number):
    facts = replace(
        JAR, find_number=number, find_id=identity("WCR26", "F", number), symbols=NumberSymbols(registered=symbol)
    )
    drawing = lay_out(facts, "lid", stock_named("roll 100 x 70")).drawing
    shown = [m for m in drawing.marks if isinstance(m, Text) and number in m.text and m.size_mm > 2.4]
    assert shown


def test_a_picture_of_the_label_gives_one_label_with_its_record():
    png = drawing_png(lay_out(JAR, "lid", stock_named("roll 100 x 70")).drawing, dots_per_mm=8, paper=True)
    read = one_label(read_image(png))
    assert (read.find_id, read.box_id) == (JAR.find_id, JAR.box_id)
    assert read.restored is not None
    assert read.restored.what == JAR.what


def test_jpeg_tiff_and_pdf_are_read(released):
    drawing = lay_out(JAR, "lid", stock_named("roll 100 x 70")).drawing
    picture = Image.open(io.BytesIO(drawing_png(drawing, dots_per_mm=8, paper=True))).convert("L")
    for kind in ("JPEG", "TIFF", "PDF"):
        out = io.BytesIO()
        picture.rotate(23, expand=True, fillcolor=255).save(out, kind)
        assert one_label(read_image(out.getvalue())).box_id == JAR.box_id, kind
    assert len(read_image(released.pdf)) == 8


def test_no_code_two_labels_and_strange_codes_are_told_apart():
    blank = io.BytesIO()
    Image.new("L", (600, 400), 255).save(blank, "PNG")
    with pytest.raises(BadInput, match="no code can be read"):
        one_label(read_image(blank.getvalue()))
    other = replace(JAR, find_number="38", find_id=identity("WCR26", "F", 38), box_id=identity("WCR26", "B", 4))
    two = release([(JAR, "lid"), (other, "lid")], stock_named(SHEET), date=WHEN)
    with pytest.raises(BadInput, match="different labels: WCR26-B3"):
        one_label(read_image(two.pdf))
    with pytest.raises(BadInput, match="no picture that can be read"):
        read_image(b"hello")
    with pytest.raises(BadInput, match=r"no picture that can be read|cannot be drawn"):
        read_image(b"%PDF-1.7 broken")
