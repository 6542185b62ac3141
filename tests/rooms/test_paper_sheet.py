"""The packing sheet of find 37 and its neighbours: one page, all of it there, and refusals that help."""

from __future__ import annotations

import dataclasses
import io
import re
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pikepdf
import pypdf
import pypdfium2
import pytest

from findhold.errors import BadInput
from findhold.paper.section import SectionLayer, SectionSpec
from findhold.paper.sheet import CheckRow, LimitRow, PackingSheet, StripArgs, _masses, packing_sheet_pdf
from findhold.paper.steps import StepPicture
from findhold.paper.strip import StripMoment

ZONE = ZoneInfo("Europe/London")
PRINTED = datetime(2026, 7, 29, 16, 20, tzinfo=ZONE)


def at(month: int, day: int, hour: int = 9) -> datetime:
    return datetime(2026, month, day, hour, tzinfo=ZONE)


def jar_section() -> SectionSpec:
    """A block of 220 x 200 x 150 mm in a box of 340 x 280 x 230 mm: 60 + 220 + 60, 40 + 200 + 40, 34 + 150 + 46."""

    def layer(name: str, material: str, thickness_mm: float, hatch: str, place: str) -> SectionLayer:
        return SectionLayer(name=name, material=material, thickness_mm=thickness_mm, hatch=hatch, place=place)

    return SectionSpec(
        box_name="lidded box 360 × 300 × 240",
        inside_mm=(340, 280, 230),
        wall_mm=2.2,
        turn_deg=0,
        block_mm=(220, 200, 150),
        block_label="find 37, jar in its soil block",
        block_hatch="soil",
        layers=(
            layer("base board", "twin-wall polypropylene", 4, "board", "bed"),
            layer("polyethylene foam", "polyethylene", 30, "foam", "bed"),
            layer("polyethylene film", "polyethylene", 0.1, "film", "barrier"),
            layer("damp tissue, 6 sheets", "tissue", 4, "tissue", "round"),
            layer("foam strips", "foam", 0, "foam", "round"),
        ),
        side_l_mm=60,
        side_w_mm=40,
        bed_mm=34,
        lid_gap_mm=46,
        wrapping_mm=5,
        barrier="polyethylene film",
        centre_of_gravity=True,
    )


def jar_strip() -> StripArgs:
    moments = [
        StripMoment(at=at(7, 29, 8), name="exposed", kind="exposed"),
        StripMoment(at=at(7, 29, 16), name="packed", kind="packed"),
        StripMoment(at=at(8, 12), name="keep until", kind="keep_until"),
        StripMoment(at=at(9, 1), name="planned opening", kind="open"),
    ]
    moments += [StripMoment(at=at(8, day), name="check", kind="check") for day in (1, 3, 5, 7)]
    return StripArgs(
        start=at(7, 27, 0),
        end=at(9, 7, 0),
        zone=ZONE,
        moments=tuple(moments),
        keep_band=(at(8, 10), at(8, 12), at(8, 17)),
        closures=((date(2026, 8, 8), date(2026, 8, 23), "works shutdown"),),
    )


def jar_sheet(**changes: object) -> PackingSheet:
    """Find 37 of Withy Carr as it would be packed on 29 July 2026."""
    sheet = PackingSheet(
        site_code="WCR26",
        site_name="Withy Carr",
        find_number="37",
        find_id="WCR26-F-37-X",
        box_id="WCR26-B-007",
        context="(215)",
        what="Hand-made jar, crushed, in its soil block, charred crust inside",
        material="low-fired ceramic in soil",
        state="damp",
        box_name="lidded box 360 × 300 × 240",
        box_n=1,
        box_of=1,
        layers=(
            "base board, twin-wall polypropylene, 4 mm",
            "polyethylene foam, 30 mm",
            "polyethylene film round the block, folded, not sealed",
            "6 sheets of tissue over the film, damp",
            "foam strips at the four sides up to the top of the block",
        ),
        sheets=6,
        dose_g_per_sheet=11.4,
        dose_g=68.4,
        dose_note="damp, not wet: nothing drips when a sheet is pressed",
        masses=(
            ("empty box, lid", 1.386),
            ("block", 11.600),
            ("foam", 0.05),
            ("tissue, dry", 0.0406),
            ("water", 0.0684),
        ),
        packed_kg=13.145,
        weighed=True,
        steps=(
            "Gloves on. Photograph the block with scale, north and TOP.",
            "Weigh the empty box with its bed; write it down.",
            "Weigh the block on its board; write it down.",
            "Lay base board and foam.",
            "Wrap the block in film; no tissue touches sherds or crust.",
            "Wet each sheet with the dose, wrap, press flat.",
            "Lower the block level. Foam strips at all four sides.",
            "Inside label in, face up. Lid on. Lid and end label.",
            "Weigh packed; write it down. Shelve, not against the cold plate.",
        ),
        conflicts=("polyethylene film against lipid analysis: allowed with a blank of the film",),
        controls=("soil from outside the pot, 50 g, in foil", "blank: a scrap of film, tissue and foam each"),
        overrides=("Film instead of foil: A. Thorne, 29 July 2026: no foil in store, blank taken",),
        limits=(
            LimitRow(name="unit policy, 14 days", low="12 Aug", best="12 Aug", high="12 Aug", source="common practice"),
            LimitRow(
                name="growth, wrapping", low="16 Aug", best="18 Aug", high="24 Aug", source="Hukka & Viitanen 1999"
            ),
            LimitRow(
                name="growth, find", low="24 Aug", best="2 Sep", high="after 30 Sep", source="Hukka & Viitanen 1999"
            ),
            LimitRow(name="water", low="after 30 Sep", best="after 30 Sep", high="after 30 Sep", source="mass balance"),
        ),
        keep_until="Wed 12 Aug 2026",
        governing="governed by: unit policy, 14 days from first exposure",
        can_keep="cannot wait for the planned opening on 1 Sep",
        what_to_do="Open before the works shutdown: by Fri 7 Aug. Else ask the conservator by 3 Aug.",
        checks=(
            CheckRow(on="Thu 30 Jul 2026, 16:00", low_kg=13.144, best_kg=13.145, high_kg=13.146),
            CheckRow(on="Sat 1 Aug", low_kg=13.143, best_kg=13.145, high_kg=13.146),
            CheckRow(on="Tue 4 Aug", low_kg=13.141, best_kg=13.144, high_kg=13.145),
            CheckRow(on="Fri 7 Aug", low_kg=13.139, best_kg=13.144, high_kg=13.145),
        ),
        cautions=("No bare hands, no washing: lipid and radiocarbon planned.",),
        flags=(),
        assumptions=(
            "lid changes its air 0.3 times a day (0.02 to 3)",
            "fridge at 4 °C (2 to 7), 70 % RH",
            "soil is loam at 25 % water by dry mass",
            "tissue 6.75 g dry a sheet",
            "block cools from 18 °C",
        ),
        sources=(
            "Hukka and Viitanen 1999 [code]",
            "Carsel and Parrish 1988 [code]",
            "unit policy [common practice]",
            "lid leak [judgement]",
        ),
        ledger_seal="9f2c41d07be3a6558f10",
        printed_at=PRINTED,
        person="A. Thorne",
        section=jar_section(),
        strip=jar_strip(),
        analyses=("lipid", "radiocarbon"),
    )
    return dataclasses.replace(sheet, **changes)


def pages_of(pdf: bytes) -> list[str]:
    """The text of each page, as an independent reader sees it, its white space evened out."""
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def only_page(sheet: PackingSheet) -> str:
    (page,) = pages_of(packing_sheet_pdf([sheet], date=PRINTED))
    return page


# Steps as the plan of a damp, low-fired jar for lipid and radiocarbon words them, lengths and all.
BENCH_STEPS = (
    "Gloves: unpowdered nitrile gloves; touch neither pot nor foil with bare hands; no bare hands on organics.",
    "Planned: lipid, radiocarbon. No washing, no brushing, no bare hands, no hand cream.",
    "Bag: soil from inside, touching the wall (20-50 g, in foil then in a bag), labelled with the find's number.",
    "Bag: soil from outside, same context, at least 10 cm away (20-50 g, in foil then in a bag), labelled.",
    "Bag: clean piece of the tissue used (a hand's breadth, in foil), labelled with the find's number.",
    "Bag: one unused glove (one, in foil), labelled with the find's number.",
    "Mark TOP and a north arrow on the block's jacket; photograph every face with scale.",
    "Weigh 6 sheets of tissue; add 11.4 g of clean distilled water to each sheet (68 g in all).",
    "Let the sheets rest folded in a closed bag until evenly damp; weigh again.",
    "Lower the block level, TOP up: block length along box length.",
    "Fill the sides with foam strips, not tight (60 mm at the ends, 40 mm at the sides).",
    "Check with a straight edge across the rim: 46 mm free over the block.",
    "Labels: one inside on top, one on the lid, one on the end, one on the block.",
    "Close the lid, wipe the box dry, weigh it: expect 13.15 kg. Write mass and time.",
)


def test_one_page_says_everything_a_packer_needs() -> None:
    page = only_page(jar_sheet())
    for said in (
        "37",
        "WCR26 Withy Carr",
        "WCR26-F-37-X · WCR26-B-007",
        "context (215) · lipid · radiocarbon",
        "11.4 g a sheet",
        "6 sheets, 68.4 g of water in all",
        "Wed 12 Aug 2026",
        "governed by: unit policy, 14 days from first exposure",
        "cannot wait for the planned opening on 1 Sep",
        "Open before the works shutdown",
        "box 1 of 1",
        "60 mm clear at the ends, 40 at the sides",
        "13.1440 · 13.1450 · 13.1460",
        "11.60 kg",
        "Film instead of foil: A. Thorne",
        "allowed with a blank of the film",
        "Never freeze",
        "A conservator's word overrides this sheet",
        "packed by",
        "checked by",
        "9f2c41d07be3a6558f10",
        "sheet 1 of 1",
        "Scale 1:8",
        "lid gap 46",
        "closed Sat 8 Aug to Sun 23 Aug: works shutdown",
    ):
        assert said in page, said
    for step in jar_sheet().steps:
        assert step in page


def test_the_same_sheet_is_the_same_bytes() -> None:
    assert packing_sheet_pdf([jar_sheet()], date=PRINTED) == packing_sheet_pdf([jar_sheet()], date=PRINTED)


def test_each_box_has_one_page_and_keeps_its_order() -> None:
    boxes = [jar_sheet(find_number=str(n), box_id=f"WCR26-B-{n:03d}") for n in (37, 41, 42)]
    pages = pages_of(packing_sheet_pdf(boxes, date=PRINTED))
    assert ["WCR26-B-037" in pages[0], "WCR26-B-041" in pages[1], "WCR26-B-042" in pages[2]] == [True] * 3
    assert len(pages) == 3


@pytest.mark.parametrize(
    "changes",
    [
        {"steps": BENCH_STEPS},
        {"steps": BENCH_STEPS + BENCH_STEPS[:8]},
        {"checks": jar_sheet().checks * 3},
        {"conflicts": ("tissue against radiocarbon: forbidden, avoid paper; foil between find and tissue",) * 6},
        {
            "steps": BENCH_STEPS,
            "checks": jar_sheet().checks * 3,
            "conflicts": ("tissue against radiocarbon: forbidden, avoid paper; foil between find and tissue",) * 6,
            "flags": ("human remains", "treasure or state ownership", "ordnance"),
            "assumptions": tuple(f"assumption {n} on the lid, the soil, the tissue and the fridge" for n in range(20)),
            "sources": tuple(f"Author and Other 19{n}, A title of some length, Journal [code]" for n in range(70, 99)),
        },
        {
            "what": "Hand-made jar of coarse fabric, crushed flat, with charred crust, a bone pin and a withy basket "
            * 2
        },
        {"box_name": "stackable lidded box with clips and a silicone seal 360 × 300 × 240"},
        {"steps": (), "checks": (), "strip": None, "layers": (), "cautions": (), "limits": ()},
    ],
    ids=["14 steps", "22 steps", "12 checks", "6 conflicts", "all at once", "long name", "long box", "almost nothing"],
)
def test_a_box_is_always_one_page_with_nothing_essential_lost(changes: dict[str, object]) -> None:
    sheet = jar_sheet(**changes)
    page = only_page(sheet)
    assert "Wed 12 Aug 2026" in page
    assert "11.4 g a sheet" in page
    for said in (*sheet.steps, *sheet.overrides):
        assert said in page
    assert page.count("forbidden, avoid paper") == sum("forbidden" in row for row in sheet.conflicts)
    for row in sheet.checks:
        assert page.count(row.on) >= 1
    assert "sheet 1 of 1" in page


def test_what_gives_way_first_is_the_small_print_and_it_says_so() -> None:
    many = tuple(f"assumption {n} on the lid, the soil, the tissue and the fridge" for n in range(20))
    page = only_page(jar_sheet(steps=BENCH_STEPS + BENCH_STEPS[:8], assumptions=many, checks=jar_sheet().checks * 3))
    assert "assumption 3 on the lid" in page
    assert "assumption 4 on the lid" not in page
    assert "16 more, listed by keep --json" in page


def test_more_text_than_a_page_can_hold_is_refused_by_the_box() -> None:
    with pytest.raises(BadInput) as refusal:
        packing_sheet_pdf([jar_sheet(), jar_sheet(box_id="WCR26-B-099", steps=BENCH_STEPS * 8)], date=PRINTED)
    assert "packing sheet of WCR26-B-099" in str(refusal.value)
    assert "one A4 page each" in str(refusal.value)


def test_flags_bring_their_cautions_and_stand_in_a_frame() -> None:
    page = only_page(jar_sheet(flags=("human remains", "ordnance")))
    assert "HUMAN REMAINS · ORDNANCE" in page
    assert "with dignity" in page
    assert "Do not pack, move or refrigerate" in page


def test_the_units_own_caution_replaces_ours_on_the_same_matter() -> None:
    page = only_page(jar_sheet(cautions=("Never let it freeze: the far fridge only.",)))
    assert page.count("freeze") == 1


def test_water_in_the_bag_of_a_waterlogged_find_is_the_dose() -> None:
    page = only_page(jar_sheet(sheets=0, dose_g_per_sheet=0.0, dose_g=1888.4, dose_note="in two bags, air pressed out"))
    assert "1888 g water" in page
    assert "no water" not in page


def test_a_dry_find_gets_no_water() -> None:
    assert "no water" in only_page(jar_sheet(sheets=0, dose_g_per_sheet=0.0, dose_g=0.0, dose_note=""))


def test_unknown_masses_are_left_to_be_weighed() -> None:
    page = only_page(jar_sheet(packed_kg=None, masses=(("empty box, lid", 1.386), ("block", None))))
    assert "packed, lid on" in page
    assert "1.386 kg" in page


def test_before_it_is_weighed_only_what_it_loses_is_printed() -> None:
    """A planned mass is known to some 10 g at best: a band of grams about it would be no check. 13.145 - 13.1440 kg is
    1 g."""
    page = only_page(jar_sheet(weighed=False))
    assert "grams lighter than weighed at packing" in page
    assert "-1.0 · 0.0 · 1.0" in page
    assert "13.1440" not in page


def test_once_weighed_the_water_filled_in_is_no_excuse_for_a_loss() -> None:
    """A bag took 2.2 to 2.6 kg of water: expected are 4.38 to 4.83 kg, but a gram lost is a gram lost."""
    check = CheckRow(on="Fri 31 Jul 09:00", low_kg=4.3535, best_kg=4.58, high_kg=4.8065)
    drowned = jar_sheet(weighed=False, packed_kg=4.58, packed_spread_kg=(0.226, 0.226), masses=(), checks=(check,))
    page = only_page(drowned)
    assert "4.58 kg (4.35 to 4.81 kg)" in page
    assert "-0.5 · 0.0 · 0.5" in page
    assert "226" not in page


def test_the_masses_add_up_as_printed() -> None:
    """1.386 + 11.6 + 0.05 + 0.0406 + 0.0704 = 13.147 kg, each alone 1.39, 11.60, 0.05, 0.04, 0.07: together 13.15."""
    masses = (("empty box, lid", 1.386), ("block", 11.6), ("foam", 0.05), ("tissue, dry", 0.0406), ("water", 0.0704))
    rows = dict(_masses(jar_sheet(masses=masses, packed_kg=13.147)))
    assert rows.pop("packed, lid on") == "13.15 kg"
    assert sum(round(100 * float(told.removesuffix(" kg"))) for told in rows.values()) == 1315


def test_typed_text_never_becomes_markup() -> None:
    typed = '#panic("x") *bold* $x^2$ `raw` <label> @ref [brackets] \\ // --- ~'
    assert typed in only_page(jar_sheet(what=typed))


def test_letters_the_fonts_lack_are_refused_by_name() -> None:
    with pytest.raises(BadInput, match="壺"):
        packing_sheet_pdf([jar_sheet(what="jar 壺")], date=PRINTED)


def test_no_box_no_sheet() -> None:
    with pytest.raises(BadInput, match="no box"):
        packing_sheet_pdf([], date=PRINTED)


@pytest.mark.parametrize("symbol", ["triangle", "circle", "diamond", "square", "none"])
def test_the_number_stands_in_the_units_own_symbol(symbol: str) -> None:
    assert "10427" in only_page(jar_sheet(find_number="10427", symbol=symbol))


def test_the_file_is_built_to_pdf_a_with_its_own_fonts_and_no_pictures() -> None:
    with pikepdf.open(io.BytesIO(packing_sheet_pdf([jar_sheet()], date=PRINTED))) as pdf:
        with pdf.open_metadata() as metadata:
            assert (metadata["pdfaid:part"], metadata["pdfaid:conformance"]) == ("3", "B")
        (intent,) = pdf.Root.OutputIntents
        assert "/DestOutputProfile" in intent
        assert not pdf.is_encrypted
        descriptors = [part for part in pdf.objects if isinstance(part, pikepdf.Dictionary) and "/FontName" in part]
        fonts = [part for part in descriptors if part.get("/Type") == "/FontDescriptor"]
        assert fonts
        assert all({"/FontFile", "/FontFile2", "/FontFile3"} & set(font.keys()) for font in fonts)
        assert all("DejaVuSans" in str(font.FontName) for font in fonts)
        images = [part for part in pdf.objects if isinstance(part, pikepdf.Stream) and part.get("/Subtype") == "/Image"]
        assert images == []
        box = [float(edge) for edge in pdf.pages[0].mediabox]
    assert box == pytest.approx([0, 0, 210 / 25.4 * 72, 297 / 25.4 * 72], abs=0.01)


def test_the_bar_scale_on_the_page_measures_what_the_scale_says() -> None:
    """0 and 20 of a bar of 20 cm at 1:8 stand 25 mm apart on the paper."""
    with pypdfium2.PdfDocument(packing_sheet_pdf([jar_sheet()], date=PRINTED)) as pdf:
        page = pdf[0].get_textpage()
        text = page.get_text_range()
        start = text.index("Scale 1:8")
        found = re.search(r"0\s+5\s+10\s+15\s+20 cm", text[:start][-60:])
        assert found is not None
        first = start - len(text[:start][-60:]) + found.start()
        nought = page.get_charbox(first)
        twenty = [page.get_charbox(first + found[0].index("20") + n) for n in (0, 1)]
        page.close()
    middle = (nought[0] + nought[2]) / 2
    end = (twenty[0][0] + twenty[1][2]) / 2
    assert (end - middle) / 72 * 25.4 == pytest.approx(25.0, abs=0.3)


def test_dose_box_and_date_are_the_biggest_words_after_none() -> None:
    sizes: dict[str, float] = {}

    def note(text: str, _cm: object, tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            sizes[text.strip()] = max(size * abs(tm[3]), sizes.get(text.strip(), 0.0))

    pdf = pypdf.PdfReader(io.BytesIO(packing_sheet_pdf([jar_sheet()], date=PRINTED)))
    pdf.pages[0].extract_text(visitor_text=note)
    assert sizes, "no text was found"
    biggest = sorted(sizes, key=sizes.__getitem__, reverse=True)[:5]
    joined = " ".join(biggest)
    for said in ("11.4 g a sheet", "Wed 12 Aug 2026", "360"):
        assert said in joined, biggest


PICTURES = (
    StepPicture(part="box", steps=((10, "Weigh the empty box with its lid; write the tare."),)),
    StepPicture(part="bed", figure="foam plank 30 mm", steps=((11, "Lay a foam plank of 30 mm over the floor."),)),
    StepPicture(part="lower", steps=((17, "Lower the block level, TOP up: block length along box length."),)),
    StepPicture(part="lid", figure="expect 13.15 kg", steps=((21, "Close the lid, wipe the box dry, weigh it."),)),
)


def test_a_sheet_with_pictures_has_a_back_that_tells_the_order_of_work() -> None:
    lift, cushion = ("Two people, hands at both ends.",), ("45 mm of foam on 4 pads.",)
    sheet = jar_sheet(pictures=PICTURES, lift=lift, cushion=cushion, first_aid=("Iron: X-ray within 3 days.",))
    front, back = pages_of(packing_sheet_pdf([sheet], date=PRINTED))
    assert "page 1 of 2" in front
    for said in (
        "page 2 of 2",
        "Order of work and drawings",
        "WCR26-B-007",
        "Empty box",
        "foam plank 30 mm",
        "Section B–B",
        "Plan, lid off",
        *lift,
        *cushion,
        "Iron: X-ray within 3 days.",
        "damp tissue, 6 sheets",
    ):
        assert said in back, said


@pytest.mark.parametrize(
    "changes",
    [
        {
            "conflicts": ("tissue against radiocarbon: forbidden, avoid paper; foil between find and tissue",) * 8,
            "steps": BENCH_STEPS,
            "checks": jar_sheet().checks * 2,
            "lift": ("Two people: 13.0 kg packed, held 35 cm out, from bench to shelf at 120 cm.",) * 10,
            "cushion": ("45 mm of polyethylene foam under a board of 12 mm, 4 pads of 49 cm².",) * 10,
        },
        {"lift": ("Kapitaensmuetzenbandschluesselanhaenger" * 4,) * 8, "what": "Schluesselanhaengerbandmuetze" * 4},
    ],
    ids=["8 conflicts, 20 lines", "long words"],
)
def test_a_full_sheet_has_two_pages_and_no_word_is_cut_off(changes: dict[str, object]) -> None:
    pdf = packing_sheet_pdf([jar_sheet(pictures=PICTURES, **changes)], date=PRINTED)
    pages = pages_of(pdf)
    assert len(pages) == 2
    told = "".join("".join(page.split()).replace("\u200b", "") for page in pages)
    for name in ("lift", "cushion", "conflicts"):
        for row in changes.get(name, ()):
            assert "".join(row.split()) in told, row
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            text = page.get_textpage()
            boxes = [text.get_charbox(n) for n in range(text.count_chars())]
            text.close()
            assert max(right for _, _, right, _ in boxes) <= 210 / 25.4 * 72 - 20
            assert min(left for left, _, right, _ in boxes if right > left) >= 20


@pytest.mark.parametrize("many", [1, 3, 9])
def test_the_columns_of_the_checks_keep_their_widths_at_every_text_size(many: int) -> None:
    """look has 19 mm and initials 14 mm up to the right margin, however small the letters are."""
    rows = tuple(CheckRow(on=f"Fri {n + 1} Aug 2026, 09:00", low_kg=1, best_kg=1, high_kg=1) for n in range(many))
    sheet = jar_sheet(weighed=False, checks=rows, steps=BENCH_STEPS * (2 if many > 3 else 1))
    with pypdfium2.PdfDocument(packing_sheet_pdf([sheet], date=PRINTED)) as pdf:
        page = pdf[0].get_textpage()
        text = page.get_text_range()
        found = re.search(r"reading, kg\s+look\s+initials", text)
        assert found is not None
        left = {name: page.get_charbox(text.index(name, found.start()))[0] for name in ("reading", "look", "initials")}
        page.close()
    mm = 25.4 / 72
    assert (left["initials"] - left["look"]) * mm == pytest.approx(19.0, abs=0.3)
    assert (left["look"] - left["reading"]) * mm == pytest.approx(17.5, abs=0.3)
    assert 198.0 - left["initials"] * mm == pytest.approx(13.0, abs=0.4)
