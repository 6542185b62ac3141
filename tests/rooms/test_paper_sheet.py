"""The packing sheet of find 37 and its neighbours: one page, all of it there, and refusals that help."""

from __future__ import annotations

import dataclasses
import io
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pikepdf
import pypdf
import pytest

from findhold.errors import BadInput
from findhold.paper.section import SectionLayer, SectionSpec
from findhold.paper.sheet import CheckRow, LimitRow, PackingSheet, StripArgs, packing_sheet_pdf
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
        empty_box_kg=1.386,
        block_kg=11.650,
        packed_kg=13.145,
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
            CheckRow(on="Thu 30 Jul", low_kg=13.144, best_kg=13.145, high_kg=13.146),
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
