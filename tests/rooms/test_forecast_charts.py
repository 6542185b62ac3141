"""The charts of a hold and its forecast sheet: the levels said, one page always, strip and charts on the same days."""

from __future__ import annotations

import dataclasses
import io
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pikepdf
import pypdf
import pytest

from findhold.draw.marks import ACCENT, Drawing, Path, Text
from findhold.errors import BadInput
from findhold.paper.charts import Bands, HoldCurves, hold_charts, stacked
from findhold.paper.forecast_sheet import ForecastSheet, OptionRow, forecast_sheet_pdf
from findhold.paper.sheet import CheckRow, LimitRow, _band
from findhold.paper.strip import StripArgs, StripMoment

ZONE = ZoneInfo("Europe/London")
PRINTED = datetime(2026, 7, 29, 16, 20, tzinfo=ZONE)
EXPOSED = datetime(2026, 7, 28, 9, tzinfo=ZONE)
PACKED = datetime(2026, 7, 28, 16, tzinfo=ZONE)


def bands(best: np.ndarray, spread: float = 2.0) -> Bands:
    return Bands(low=best / spread, best=best, high=best * spread)


def curves(days: float = 38.0, **changes: object) -> HoldCurves:
    time_s = np.linspace(0.0, days * 86400.0, 400)
    days_on = time_s / 86400.0
    block = 4.0 + 14.0 * np.exp(-days_on / 0.5)
    facts = {
        "packed_at": PACKED,
        "time_s": time_s,
        "water_lost_g": bands(0.02 * days_on),
        "block_temp_c": Bands(low=block - 1.5, best=block, high=block + 1.5),
        "place_temp_c": Bands(low=np.full(400, 2.5), best=np.full(400, 4.0), high=np.full(400, 5.5)),
        "growth_wrapping": bands(0.03 * days_on),
        "growth_find": bands(0.004 * days_on),
        "water_limit_g": 40.9,
        "warm_c": 8.0,
        "freeze_c": 0.0,
        "growth_index": 1.0,
    }
    return HoldCurves(**(facts | changes))


def strip(days: int = 36) -> StripArgs:
    opening = EXPOSED + timedelta(days=days)
    keep = EXPOSED + timedelta(days=min(10, days))
    moments = [
        StripMoment(at=EXPOSED, name="exposed", kind="exposed"),
        StripMoment(at=PACKED, name="packed", kind="packed"),
        StripMoment(at=keep, name="keep until", kind="keep_until"),
        StripMoment(at=opening, name="planned opening", kind="open"),
    ]
    return StripArgs(
        start=EXPOSED - timedelta(days=1),
        end=opening + timedelta(days=2),
        zone=ZONE,
        moments=tuple(moments),
        keep_band=(keep, keep + timedelta(days=20), None),
        closures=((date(2026, 8, 8), date(2026, 8, 23), "works shutdown"),),
    )


def sheet(**changes: object) -> ForecastSheet:
    facts = {
        "what": "jar, hand-made, crushed in its soil block",
        "answer": "Keep until Fri 7 Aug 2026 at the latest (limit: growth on wrapping); the opening is too late.",
        "what_to_do": "Put in fresh damp tissue on 3 August 2026.",
        "curves": curves(),
        "strip": strip(),
        "limits": (
            LimitRow(
                name="policy", low="11 Aug 2026", best="11 Aug 2026", high="11 Aug 2026", source="common practice"
            ),
            LimitRow(name="growth on wrapping", low="7 Aug 2026", best="31 Aug 2026", high="12 Dec 2026"),
        ),
        "options": (
            OptionRow(do="Fresh damp tissue", gain_days=4.06, keep_until="Tue 11 Aug 2026", work="15 minutes"),
            OptionRow(do="Seal the lid: does not help", gain_days=0.0, keep_until="Fri 7 Aug 2026", work="tape"),
        ),
        "options_note": "",
        "decides": "how fast growth really is (87% of the spread)",
        "figures": ("By Wed 2 Sep 2026: water lost 0.37 g (0.12 to 1.77).",),
        "notes": ("growth below 5 °C extrapolates a model fitted at about 5 to 40 °C",),
        "assumptions": ("The find is taken at 18 °C when packed.",),
        "sources": ("Common practice, no source [common practice]",),
        "printed_at": PRINTED,
        "material": "low-fired ceramic",
        "state": "damp",
        "site_code": "WCR26",
        "site_name": "Withy Carr",
        "find_number": "37",
        "find_id": "WCR26-F37-5",
        "box_id": "WCR26-B1-U",
        "ledger_seal": "ab7b1264d681c8dc",
        "person": "Marian Holt",
        "symbol": "triangle",
    }
    return ForecastSheet(**(facts | changes))


def pages(pdf: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def words(drawing: Drawing) -> list[str]:
    return [m.text for m in drawing.marks if isinstance(m, Text)]


def act_place(drawing: Drawing) -> float:
    """Where the date to act on stands."""
    stems = [m.points for m in drawing.marks if isinstance(m, Path) and m.pen and m.pen.colour == ACCENT]
    return min(points[0][0] for points in stems if len(points) == 2 and points[0][0] == points[1][0])


def dates(drawing: Drawing) -> dict[str, float]:
    """The dates under the axis and where they stand."""
    found = [m for m in drawing.marks if isinstance(m, Text) and m.anchor == "middle"]
    return {m.text: m.at[0] for m in found if not m.text.isdigit()}


def test_each_chart_says_the_level_it_is_read_against() -> None:
    drawn = hold_charts(curves(), strip())
    assert set(drawn) == {"water", "temperature", "growth"}
    assert "\u2191 limit 40.9 g" in words(drawn["water"])
    assert {"too warm above 8 °C", "too cold below 0 °C", "block", "place"} <= set(words(drawn["temperature"]))
    assert {"policy: index 1", "on wrapping", "on the find"} <= set(words(drawn["growth"]))
    for drawing in drawn.values():
        assert "keep until Fri 7 Aug" in words(drawing)  # 28 July + 10 days; 7 August 2026 is a Friday


def test_without_wrapping_only_the_find_grows() -> None:
    said = words(hold_charts(curves(growth_wrapping=None), strip())["growth"])
    assert "on the find" in said
    assert "on wrapping" not in said


def test_where_growth_in_air_is_not_reckoned_there_is_no_chart_of_it() -> None:
    drawn = hold_charts(curves(growth_wrapping=None, growth_find=None), strip())
    assert set(drawn) == {"water", "temperature"}


def test_a_dry_hold_has_no_level_for_water_or_warmth() -> None:
    dry = curves(water_limit_g=None, warm_c=None, freeze_c=None, water_lost_g=bands(np.zeros(400)))
    said = [word for drawing in hold_charts(dry, strip()).values() for word in words(drawing)]
    assert not [word for word in said if "limit" in word or "too " in word]


@pytest.mark.parametrize("days", [3, 5, 12, 36, 90])
def test_strip_and_charts_stand_on_the_same_days(days: int) -> None:
    drawn = stacked(curves(days + 1.5), strip(days), width_mm=186.0, height_mm=34.0)
    assert list(drawn) == ["strip", "water", "temperature", "growth"]
    first, *others = drawn.values()
    for other in others:
        assert act_place(other) == pytest.approx(act_place(first))
        assert dates(other) == pytest.approx(dates(first))
    assert len(dates(first)) >= 2


def test_arrays_of_unequal_length_are_refused() -> None:
    with pytest.raises(BadInput, match="7 values for 400 times"):
        hold_charts(curves(water_lost_g=bands(np.zeros(7))), strip())


def test_the_sheet_is_one_page_with_everything_on_it() -> None:
    (page,) = pages(forecast_sheet_pdf([sheet()], date=PRINTED))
    for text in (
        "Keep until Fri 7 Aug 2026 at the latest",
        "Put in fresh damp tissue",
        "Water lost, g",
        "Temperature, °C",
        "Growth index, 0 to 6",
        "growth on wrapping",
        "12 Dec 2026",
        "4.1",
        "none",
        "how fast growth really is",
        "extrapolates",
        "Assumptions.",
        "Sources.",
        "ledger seal ab7b1264d681c8dc",
        "WCR26-B1-U",
        "sheet 1 of 1",
    ):
        assert text in page, text


def test_a_sheet_for_each_hold() -> None:
    found = pages(forecast_sheet_pdf([sheet(), sheet(find_number="41", what="bowl")], date=PRINTED))
    assert len(found) == 2
    assert "jar" in found[0]
    assert "bowl" in found[1]


@pytest.mark.parametrize("many", [0, 1, 6, 12, 20])
def test_a_full_sheet_stays_one_page_and_keeps_its_options(many: int) -> None:
    options = tuple(
        OptionRow(
            do=f"Way {n}: a sentence of some length that says what it does", gain_days=n, keep_until="x", work="y"
        )
        for n in range(many)
    )
    full = sheet(
        options=options,
        options_note="" if options else "None was found.",
        assumptions=tuple(
            f"assumption {n} in a line that is as long as they usually are in a forecast" for n in range(30)
        ),
        sources=tuple(f"Author {n}, A title of common length, Journal {n}: 1-10, 2001" for n in range(30)),
    )
    (page,) = pages(forecast_sheet_pdf([full], date=PRINTED))
    for option in options:
        assert option.do.split(":")[0] in page
    assert "more, listed by keep --json" in page or "assumption 29" in page


def test_more_than_a_page_can_hold_is_refused_by_name() -> None:
    notes = tuple("a note that goes on for rather a long time " * 4 for _ in range(40))
    with pytest.raises(BadInput) as refusal:
        forecast_sheet_pdf([sheet(), sheet(box_id="WCR26-B9-X", notes=notes)], date=PRINTED)
    assert "forecast sheet of WCR26-B9-X" in str(refusal.value)


def test_letters_without_a_form_are_refused() -> None:
    with pytest.raises(BadInput, match="cannot be printed"):
        forecast_sheet_pdf([sheet(what="壺")], date=PRINTED)


def test_no_sheets_no_file() -> None:
    with pytest.raises(BadInput, match="no hold"):
        forecast_sheet_pdf([], date=PRINTED)


def test_a_scenario_has_no_sign_and_no_seal() -> None:
    bare = sheet(find_number="", find_id="", box_id="", ledger_seal="", site_code="", site_name="", symbol="none")
    (page,) = pages(forecast_sheet_pdf([bare], date=PRINTED))
    assert "ledger seal" not in page
    assert "printed 2026-07-29 16:20" in page


def test_the_same_sheet_gives_the_same_bytes_in_an_archive_form() -> None:
    made = forecast_sheet_pdf([sheet()], date=PRINTED)
    assert made == forecast_sheet_pdf([dataclasses.replace(sheet())], date=PRINTED)
    with pikepdf.open(io.BytesIO(made)) as pdf, pdf.open_metadata() as metadata:
        assert metadata["pdfaid:part"] == "3"


def test_masses_to_expect_show_tenths_of_a_gram_when_the_band_is_narrow() -> None:
    narrow = CheckRow(on="Thu", low_kg=3.3729, best_kg=3.3731, high_kg=3.3734)
    wide = CheckRow(on="Fri", low_kg=3.360, best_kg=3.370, high_kg=3.373)
    assert _band(narrow) == "3.3729 · 3.3731 · 3.3734"
    assert _band(wide) == "3.360 · 3.370 · 3.373"
