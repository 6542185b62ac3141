"""The strip of time: dates where they belong, words apart, and refusals."""

from __future__ import annotations

import itertools
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import ACCENT, Drawing, Path, Text
from findhold.errors import BadInput
from findhold.paper.strip import StripArgs, StripMoment, strip_drawing

ZONE = ZoneInfo("Europe/London")
SHUTDOWN = (date(2026, 8, 8), date(2026, 8, 23), "works shutdown")


def at(month: int, day: int, hour: int = 9) -> datetime:
    return datetime(2026, month, day, hour, tzinfo=ZONE)


def moment(when: datetime, name: str, kind: str) -> StripMoment:
    return StripMoment(at=when, name=name, kind=kind)


def withy_carr(**changes: object) -> Drawing:
    facts = {
        "start": at(7, 27, 0),
        "end": at(9, 7, 0),
        "zone": ZONE,
        "moments": [
            moment(at(7, 29), "exposed", "exposed"),
            moment(at(7, 29, 16), "packed", "packed"),
            moment(at(7, 30), "now", "now"),
            moment(at(8, 1), "check", "check"),
            moment(at(8, 12), "keep until", "keep_until"),
            moment(at(9, 1), "planned opening", "open"),
        ],
        "keep_band": (at(8, 10), at(8, 12), at(8, 17)),
        "closures": [SHUTDOWN],
    } | changes
    width_mm = facts.pop("width_mm", 186.0)
    return strip_drawing(StripArgs(**facts), width_mm=width_mm)


def words(drawing: Drawing) -> list[str]:
    return [m.text for m in drawing.marks if isinstance(m, Text)]


def box(text: Text) -> tuple[float, float, float, float]:
    width = text_width_mm(text.text, text.size_mm, bold=text.bold)
    left = text.at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor] * width
    return (left, text.at[1] - 0.73 * text.size_mm, left + width, text.at[1] + 0.2 * text.size_mm)


def apart(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


def overlaps(drawing: Drawing) -> list[tuple[str, str]]:
    texts = [m for m in drawing.marks if isinstance(m, Text)]
    return [(a.text, b.text) for a, b in itertools.combinations(texts, 2) if not apart(box(a), box(b))]


def struck(drawing: Drawing) -> list[str]:
    """Words with an upright stem running through them."""
    stems = [m.points for m in drawing.marks if isinstance(m, Path) and not m.closed and len(m.points) == 2]
    found = []
    for text in (m for m in drawing.marks if isinstance(m, Text)):
        left, top, right, bottom = box(text)
        for (x0, y0), (x1, y1) in stems:
            low, high = sorted((y0, y1))
            if x0 == x1 and left + 0.05 < x0 < right - 0.05 and low < bottom and high > top:
                found.append(text.text)
    return found


def test_the_demo_strip_says_its_dates_and_its_closure() -> None:
    said = words(withy_carr())
    assert "keep until Wed 12 Aug" in said  # 12 August 2026 is a Wednesday
    assert "planned opening Tue 1 Sep" in said
    assert "closed Sat 8 Aug to Sun 23 Aug: works shutdown" in said
    assert {"27 Jul 2026", "3 Aug", "10 Aug", "17 Aug", "24 Aug", "31 Aug", "7 Sep"} <= set(said)


def test_closed_days_are_hatched_from_the_first_midnight_to_the_last() -> None:
    drawing = withy_carr()
    (closed,) = [m for m in drawing.marks if isinstance(m, Path) and m.hatch]
    xs = [x for x, _ in closed.points]
    (axis,) = [m for m in drawing.marks if isinstance(m, Path) and not m.closed and m.pen and m.pen.width_mm == 0.3]
    (left, _), (right, _) = axis.points
    per_day = (right - left) / 42  # 27 July to 7 September
    assert min(xs) == pytest.approx(left + 12 * per_day)  # 27 July + 12 days = 8 August
    assert max(xs) == pytest.approx(left + 28 * per_day)  # 24 August, the midnight after the 23rd


def test_only_the_date_to_act_on_is_in_the_warm_ink() -> None:
    texts = [m for m in withy_carr().marks if isinstance(m, Text) and m.colour == ACCENT]
    assert [m.text for m in texts] == ["keep until Wed 12 Aug"]
    assert texts[0].bold


def test_a_band_without_an_end_runs_off_the_strip() -> None:
    def right_edge(drawing: Drawing) -> float:
        bands = [m for m in drawing.marks if isinstance(m, Path) and m.closed and m.pen and m.pen.colour == ACCENT]
        return max(x for band in bands for x, _ in band.points)

    closed, open_end = withy_carr(), withy_carr(keep_band=(at(8, 10), at(8, 12), None))
    assert right_edge(open_end) > right_edge(closed)
    assert right_edge(open_end) <= 186


def test_no_band_is_drawn_where_none_is_known() -> None:
    moments = [moment(at(7, 29), "exposed", "exposed")]
    drawing = withy_carr(moments=moments, keep_band=(None, None, None))
    assert not [m for m in drawing.marks if isinstance(m, Path) and m.pen and m.pen.colour == ACCENT]
    assert "keep-until best none" in drawing.description


def test_words_stay_apart_and_unstruck_in_the_demo() -> None:
    assert overlaps(withy_carr()) == []
    assert struck(withy_carr()) == []


@settings(max_examples=60, deadline=None)
@given(
    hours=st.lists(st.integers(0, 42 * 24), min_size=1, max_size=9),
    names=st.lists(st.sampled_from(["open", "planned opening by the specialist", "courier to the laboratory, booked"])),
    days=st.integers(15, 900),
    width_mm=st.sampled_from([120.0, 186.0, 260.0]),
)
def test_any_moments_keep_their_words_apart_and_on_the_sheet(hours, names, days, width_mm) -> None:
    start = datetime(2026, 7, 27, tzinfo=UTC)
    moments = [
        moment(start + timedelta(hours=min(hour, days * 24)), names[n % len(names)] if names else "open", "open")
        for n, hour in enumerate(hours)
    ]
    drawing = withy_carr(start=start, end=start + timedelta(days=days), moments=moments, width_mm=width_mm)
    assert overlaps(drawing) == []
    assert struck(drawing) == []
    for text in (m for m in drawing.marks if isinstance(m, Text)):
        left, top, right, bottom = box(text)
        assert left >= 0, text.text
        assert top >= 0, text.text
        assert right <= width_mm + 1e-6, text.text
        assert bottom <= drawing.height_mm, text.text


def test_a_short_strip_dates_its_days() -> None:
    said = words(withy_carr(end=at(7, 31, 0), moments=[], keep_band=(None, None, None), closures=[]))
    assert {"28 Jul", "29 Jul", "30 Jul"} <= set(said)


def test_days_begin_at_the_sites_midnight_across_the_change_of_the_clock() -> None:
    start, end = datetime(2026, 10, 19, tzinfo=ZONE), datetime(2026, 11, 2, tzinfo=ZONE)
    drawing = withy_carr(
        start=start,
        end=end,
        moments=[],
        keep_band=(None,) * 3,
        closures=[(date(2026, 10, 26), date(2026, 10, 26), "x")],
    )
    (closed,) = [m for m in drawing.marks if isinstance(m, Path) and m.hatch]
    width = max(x for x, _ in closed.points) - min(x for x, _ in closed.points)
    (axis,) = [m for m in drawing.marks if isinstance(m, Path) and not m.closed and m.pen and m.pen.width_mm == 0.3]
    # 14 days with one of 25 hours: 337 hours of true time; Monday 26 October has 24 of them
    assert width / (axis.points[1][0] - axis.points[0][0]) == pytest.approx(24 / 337)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"end": at(7, 26)}, "the strip ends before it starts"),
        ({"start": datetime(2026, 7, 27)}, "start at 2026-07-27 00:00 has no time zone"),
        ({"moments": [moment(at(9, 30), "late opening", "open")]}, "late opening at 2026-09-30 09:00 lies outside"),
        ({"closures": [(date(2026, 8, 23), date(2026, 8, 8), "shutdown")]}, "closure shutdown ends before it begins"),
    ],
)
def test_what_cannot_be_drawn_truly_is_refused(changes: dict[str, object], said: str) -> None:
    with pytest.raises(BadInput) as refusal:
        withy_carr(**changes)
    assert said in str(refusal.value)
    assert refusal.value.do
