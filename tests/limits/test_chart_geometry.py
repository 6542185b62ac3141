"""Charts: marks stand where the axes say, thinning loses no extreme, bands keep their order, words keep apart."""

from __future__ import annotations

import io
import itertools
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from findhold.draw.chart import ChartArgs, Frame, Threshold, Upright, chart_drawing, restless
from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import ACCENT, INK, Circle, Drawing, Path, Text
from findhold.draw.pdf import drawing_png
from findhold.draw.series import Curve, cut_to, runs, thinned
from findhold.draw.timeaxis import TimeRuler, day_ticks, right_room_mm, tiers
from findhold.draw.valueaxis import value_axis
from findhold.errors import BadInput

ZONE = ZoneInfo("Europe/London")
DAY_S = 86400.0
FRAME = Frame(width_mm=186.0, height_mm=50.0)


def at(month: int, day: int, hour: int = 0) -> datetime:
    return datetime(2026, month, day, hour, tzinfo=ZONE)


def curve(days: float = 30.0, count: int = 200, **changes: object) -> Curve:
    time_s = np.linspace(0.0, days * DAY_S, count)
    best = time_s / DAY_S
    facts = {"name": "lost", "time_s": time_s, "best": best, "low": 0.5 * best, "high": 2.0 * best}
    return Curve(**(facts | changes))


def args(**changes: object) -> ChartArgs:
    facts = {
        "title": "Water lost",
        "unit": "g",
        "start": at(8, 1),
        "end": at(8, 31),
        "zone": ZONE,
        "origin": at(8, 1),
        "curves": (curve(),),
        "floor": 0.0,
    }
    return ChartArgs(**(facts | changes))


def lines(drawing: Drawing, width_mm: float) -> list[tuple[tuple[float, float], ...]]:
    return [
        m.points for m in drawing.marks if isinstance(m, Path) and m.pen and m.pen.width_mm == width_mm and not m.closed
    ]


def axes(drawing: Drawing) -> tuple[tuple[float, float], ...]:
    (found,) = (points for points in lines(drawing, 0.25) if len(points) == 3)
    return found


def figures(drawing: Drawing) -> dict[float, float]:
    """The figures on the upright axis and their heights, from the marks alone."""
    found = [m for m in drawing.marks if isinstance(m, Text) and m.anchor == "end"]
    return {float(m.text.replace("\u2212", "-")): m.at[1] - 0.36 * m.size_mm for m in found}


def box(text: Text) -> tuple[float, float, float, float]:
    width = text_width_mm(text.text, text.size_mm, bold=text.bold)
    left = text.at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor] * width
    return (left, text.at[1] - 0.73 * text.size_mm, left + width, text.at[1] + 0.2 * text.size_mm)


def overlaps(drawing: Drawing) -> list[tuple[str, str]]:
    texts = [m for m in drawing.marks if isinstance(m, Text)]

    def apart(a: Text, b: Text) -> bool:
        one, other = box(a), box(b)
        return one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]

    return [(a.text, b.text) for a, b in itertools.combinations(texts, 2) if not apart(a, b)]


def test_the_line_lands_where_its_figures_and_dates_say() -> None:
    drawing = chart_drawing(args(), FRAME)
    (top, corner, right) = axes(drawing)
    marked = figures(drawing)
    line, _key = lines(drawing, 0.42)
    # 1 g a day from midnight on 1 August: at 10 g, ten thirtieths of the way along a thirty-day axis
    by_value = np.interp(10.0, sorted(marked), [marked[value] for value in sorted(marked)])
    x = corner[0] + 10 / 30 * (right[0] - corner[0])
    assert np.interp(x, [p[0] for p in line], [p[1] for p in line]) == pytest.approx(by_value, abs=0.01)
    assert line[0] == pytest.approx((corner[0], marked[0.0]))
    assert top[1] == pytest.approx(marked[max(marked)])


def test_figures_stand_evenly() -> None:
    marked = figures(chart_drawing(args(), FRAME))
    heights = [marked[value] for value in sorted(marked)]
    assert np.diff(heights) == pytest.approx([heights[1] - heights[0]] * (len(heights) - 1))
    assert len(marked) >= 3


def test_the_band_encloses_its_line_everywhere() -> None:
    drawing = chart_drawing(args(), FRAME)
    low, high = lines(drawing, 0.11)[:2]
    best, _key = lines(drawing, 0.42)
    xs = np.linspace(best[0][0], best[-1][0], 500)
    foot, middle, head = (np.interp(xs, *zip(*line, strict=True)) for line in (low, best, high))
    # y grows downwards on the paper
    assert np.all(head <= middle + 1e-6)
    assert np.all(middle <= foot + 1e-6)
    (hatched,) = [m for m in drawing.marks if isinstance(m, Path) and m.hatch and len(m.points) > 4]
    assert hatched.points == (*low, *reversed(high))


def test_a_midnight_after_the_clocks_went_back_stands_on_its_day() -> None:
    # 25 October 2026 has 25 hours in London: midnight on the 26th is 145 hours after midnight on the 20th
    origin = at(10, 20)
    step = curve(time_s=np.array([0.0, 145 * 3600.0, 10 * DAY_S]), best=np.array([0.0, 5.0, 5.0]), low=None, high=None)
    drawing = chart_drawing(args(start=origin, end=at(10, 30), origin=origin, curves=(step,)), FRAME)
    (_, corner, right) = axes(drawing)
    line, _key = lines(drawing, 0.42)
    assert line[1][0] == pytest.approx(corner[0] + 145 / 241 * (right[0] - corner[0]))
    ticks = [
        points[0][0] for points in lines(drawing, 0.13) if points[0][1] == corner[1] and points[0][0] == points[1][0]
    ]
    assert min(abs(x - line[1][0]) for x in ticks) < 1e-6


@given(
    st.lists(st.floats(min_value=-50, max_value=50), min_size=1, max_size=400),
    st.floats(min_value=0.5, max_value=60.0),
)
def test_thinning_keeps_the_extremes_of_every_column(values: list[float], width_mm: float) -> None:
    y = np.array(values)
    x = np.linspace(0.0, width_mm, len(y)) if len(y) > 1 else np.zeros(1)
    kept = thinned(x, y)
    assert kept[0] == 0
    assert kept[-1] == len(y) - 1
    assert np.all(np.diff(kept) > 0)
    columns = np.floor(x / 0.1)
    for column in np.unique(columns):
        inside = np.flatnonzero(columns == column)
        drawn = [index for index in kept if index in set(inside)]
        assert len(drawn) <= 4
        assert y[inside].max() in y[drawn]
        assert y[inside].min() in y[drawn]


def test_ten_thousand_points_are_drawn_with_their_highest_and_lowest() -> None:
    count = 100_000
    rng = np.random.default_rng(5)
    best = rng.normal(size=count)
    best[61_803], best[27_182] = 9.0, -9.0
    noisy = curve(count=count, best=best, low=None, high=None)
    drawing = chart_drawing(args(curves=(noisy,), floor=None), FRAME)
    (line,) = [points for points in lines(drawing, 0.11) if len(points) > 100]
    marked = figures(drawing)
    values = sorted(marked)
    drawn = np.interp([-p[1] for p in line], [-marked[v] for v in values], values)
    assert drawn.max() == pytest.approx(9.0, abs=1e-6)
    assert drawn.min() == pytest.approx(-9.0, abs=1e-6)
    assert len(line) < 4 * 1350 + 8  # the plot is 135 mm wide: 1350 columns of at most four points


def test_a_restless_line_is_drawn_fine_and_a_smooth_one_is_not() -> None:
    saw = tuple((0.1 * n, 5.0 * (n % 2)) for n in range(100))
    assert restless(saw)
    assert not restless(tuple((x, 0.2 * x) for x, _ in saw))


def test_a_gap_in_the_series_is_a_gap_in_the_line() -> None:
    whole = curve()
    best = whole.best.copy()
    best[80:120] = np.nan
    drawing = chart_drawing(args(curves=(curve(best=best, low=None, high=None),)), FRAME)
    first, second = lines(drawing, 0.42)[:2]
    per_day = (axes(drawing)[2][0] - axes(drawing)[1][0]) / 30
    assert second[0][0] - first[-1][0] == pytest.approx(41 * 30 / 199 * per_day)
    assert runs(np.isfinite(best)) == [slice(0, 80), slice(120, 200)]


def test_a_curve_is_cut_straight_at_both_ends() -> None:
    part = cut_to(curve(count=31), 2.5 * DAY_S, 7.25 * DAY_S)
    assert part.time_s[[0, -1]] / DAY_S == pytest.approx([2.5, 7.25])
    assert part.best[[0, -1]] == pytest.approx([2.5, 7.25])
    assert len(cut_to(curve(), 40 * DAY_S, 50 * DAY_S).time_s) == 0


@given(
    st.floats(min_value=-1e6, max_value=1e6),
    st.floats(min_value=0.0, max_value=1e6),
    st.floats(min_value=1e-3, max_value=1e3),
)
def test_the_upright_axis_ends_at_round_values_and_holds_all(low: float, span: float, least: float) -> None:
    axis = value_axis([low, low + span], least_span=least, top_mm=5.0, foot_mm=40.0, where="test")
    assert axis.low <= low + 1e-6 * axis.step
    assert axis.high >= low + span - 1e-6 * axis.step
    digits = axis.step / 10 ** np.floor(np.log10(axis.step) + 1e-9)
    assert min(abs(digits - round_one) for round_one in (1, 2, 5)) < 1e-6
    assert axis.low / axis.step == pytest.approx(round(axis.low / axis.step), abs=1e-6)
    ticks = axis.ticks
    assert len(ticks) >= 2
    assert len(ticks) == 2 or abs(axis.y(ticks[0]) - axis.y(ticks[1])) >= 5.0 - 1e-6


def test_figures_have_as_many_decimals_as_their_step_needs() -> None:
    def said(high: float) -> list[str]:
        axis = value_axis([0.0, high], least_span=1e-9, top_mm=5.0, foot_mm=25.0, where="test")
        return [axis.words(tick) for tick in axis.ticks]

    assert said(2.0) == ["0.0", "0.5", "1.0", "1.5", "2.0"]
    assert said(0.02) == ["0.000", "0.005", "0.010", "0.015", "0.020"]
    assert said(20.0) == ["0", "5", "10", "15", "20"]
    below = value_axis([-10.0, 10.0], least_span=1.0, top_mm=5.0, foot_mm=25.0, where="test")
    assert [below.words(tick) for tick in below.ticks] == ["\u221210", "\u22125", "0", "5", "10"]


def test_a_flat_line_at_nought_has_an_axis_of_its_own() -> None:
    zero = np.zeros(200)
    drawing = chart_drawing(args(curves=(curve(best=zero, low=zero, high=zero),), least_span=0.1), FRAME)
    assert min(figures(drawing)) == 0.0
    assert max(figures(drawing)) == pytest.approx(0.1)


def test_a_threshold_beyond_the_axis_is_said_with_an_arrow_and_does_not_stretch_it() -> None:
    far = Threshold(value=900.0, words="limit 900 g")
    drawing = chart_drawing(args(thresholds=(far,)), FRAME)
    assert max(figures(drawing)) <= 100
    assert "\u2191 limit 900 g" in [m.text for m in drawing.marks if isinstance(m, Text)]
    wanted = chart_drawing(args(thresholds=(Threshold(value=90.0, words="limit 90 g", wanted=True),)), FRAME)
    assert max(figures(wanted)) >= 90
    assert "limit 90 g" in [m.text for m in wanted.marks if isinstance(m, Text)]


levels = st.lists(st.floats(min_value=-5, max_value=80), max_size=4)
moments = st.lists(st.integers(min_value=0, max_value=30), max_size=4)


@settings(max_examples=60, deadline=None)
@given(levels, moments, st.integers(min_value=0, max_value=3))
def test_no_two_words_overlap_and_none_leaves_the_paper(heights: list[float], days: list[int], shift: int) -> None:
    thresholds = tuple(Threshold(value=value, words=f"level {value:.0f}", wanted=True) for value in heights)
    uprights = tuple(Upright(at=at(8, 1) + timedelta(days=day), words=f"moment on day {day}") for day in days)
    two = (curve(), curve(name="gained from the room", best=curve().best * (1 + shift) * 0.01, hatch="other band"))
    drawing = chart_drawing(
        args(curves=two, thresholds=thresholds, uprights=uprights), Frame(width_mm=186, height_mm=60)
    )
    assert overlaps(drawing) == []
    for text in (m for m in drawing.marks if isinstance(m, Text)):
        left, top, right, bottom = box(text)
        assert left >= 0
        assert right <= 186
        assert top >= 0
        assert bottom <= 60


def test_only_what_is_to_be_acted_on_is_in_the_warm_ink() -> None:
    uprights = (Upright(at=at(8, 12), words="keep until Wed 12 Aug", act=True), Upright(at=at(8, 20), words="opening"))
    drawing = chart_drawing(args(uprights=uprights, thresholds=(Threshold(value=10, words="limit"),)), FRAME)
    warm = [m for m in drawing.marks if isinstance(m, Text) and m.colour == ACCENT]
    assert [m.text for m in warm] == ["keep until Wed 12 Aug"]
    colours = {m.pen.colour for m in drawing.marks if isinstance(m, Path | Circle) and m.pen}
    assert colours == {ACCENT, INK}
    fills = {m.fill for m in drawing.marks if isinstance(m, Path | Circle)}
    assert fills == {None}  # bands are hatched, never tinted


def test_two_bands_are_told_apart_in_greyscale() -> None:
    level = np.full(200, 5.0)
    pictures = []
    for hatch in ("band", "other band"):
        one = curve(best=level, low=level - 4, high=level + 4, hatch=hatch)
        png = drawing_png(chart_drawing(args(curves=(one,)), FRAME), dots_per_mm=8, paper=True)
        grey = np.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=float)[160:300, 300:700]
        pictures.append(grey - grey.mean())
    spectra = [np.abs(np.fft.rfft2(grey)) for grey in pictures]
    likeness = (spectra[0] * spectra[1]).sum() / (np.linalg.norm(spectra[0]) * np.linalg.norm(spectra[1]))
    assert likeness < 0.6
    assert all(grey.std() > 10 for grey in pictures)  # neither is a blank


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(1, 40)), max_size=6))
def test_words_at_stems_never_meet_a_word_or_a_stem(pairs: list[tuple[float, float]]) -> None:
    pairs.sort()
    rows = tiers([x for x, _ in pairs], [width for _, width in pairs])
    for (one, (x, width)), (other, (later, _)) in itertools.combinations(enumerate(pairs), 2):
        if later <= x + width:
            assert rows[one] > rows[other], "a stem reaches from its own row to the axis"


def test_the_room_at_the_right_is_what_the_words_need() -> None:
    room = right_room_mm([1.0, 0.5], [30.0, 10.0], left_mm=10.0, width_mm=110.0)
    assert room == pytest.approx(30.0)  # at the very end: as wide as the words
    middle = right_room_mm([0.5], [80.0], left_mm=10.0, width_mm=110.0)
    # stem at left + half of what remains, then 80 mm: 10 + 0.5 (100 - room) + 80 = 110
    assert 10 + 0.5 * (100 - middle) + 80 == pytest.approx(110.0)


def test_hours_are_ticked_when_a_day_is_long() -> None:
    start = at(8, 1).astimezone(UTC)
    ruler = TimeRuler(start=start, end=start + timedelta(days=3), zone=ZONE, left_mm=0.0, right_mm=120.0)
    ticks = sorted({m.points[0][0] for m in day_ticks(ruler, 0.0) if isinstance(m, Path)})
    assert np.diff(ticks) == pytest.approx([10.0] * (len(ticks) - 1))  # every six hours at 40 mm a day


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"end": at(7, 1)}, "ends before it starts"),
        ({"start": datetime(2026, 8, 1)}, "no time zone"),
        ({"curves": (curve(low=None),)}, "differ in length"),
        ({"curves": (curve(time_s=np.linspace(9.0, 0.0, 200)),)}, "not in order"),
        ({"curves": (curve(high=np.full(200, np.inf)),)}, "endless"),
    ],
)
def test_what_cannot_be_drawn_is_refused(changes: dict[str, object], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        chart_drawing(args(**changes), FRAME)


def test_a_chart_too_low_for_its_lines_is_refused() -> None:
    with pytest.raises(BadInput, match="Draw it higher"):
        chart_drawing(args(), Frame(width_mm=186, height_mm=18))
