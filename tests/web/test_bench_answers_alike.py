"""A device's own answer to a weighing is the service's answer: compared over a grid, in the browser that people use."""

import itertools
import shutil
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from conftest_web import NOW as MONDAY

from findhold.check.typed_mass import read_mass
from findhold.service import case, weighing
from findhold.service.bench.answer_words import answer_words
from findhold.service.bench.rounds import round_kits
from findhold.service.choices import read_choices
from findhold.service.finder import find_thing
from findhold.service.ledger_case import shelves
from findhold.service.office import office
from findhold.service.wire import plain
from findhold.store.joined import joined

HOURS = (0.5, 24.0 * 9 + 5.0, 24.0 * 17)
OFFSETS_G = (-2000.0, -60.0, -9.0, -4.0, -2.5, -1.0, 0.0, 1.0, 2.5, 4.0, 60.0, 2000.0)
WAYS = ((True, 3), (False, 3), (None, 3), (True, 4), (True, 2))
LOOKS = ("right", "mould")


class UndoneError(Exception):
    """Takes the weighing back, so that the next point of the grid begins where this one did."""


HISTORIES = {
    "never weighed": (),
    "weighed once": (("13.052 kg", "2026-08-01T09:00:00+01:00", True),),
    "weighed three times": (
        ("13.0521 kg", "2026-07-30T09:00:00+01:00", True),
        ("13.0516 kg", "2026-08-01T09:00:00+01:00", True),
        ("13.0512 kg", "2026-08-02T09:00:00+01:00", True),
    ),
    "a lid that leaks": (
        ("13.052 kg", "2026-07-29T09:00:00+01:00", True),
        ("13.038 kg", "2026-07-30T09:00:00+01:00", True),
        ("13.038 kg", "2026-07-30T10:00:00+01:00", True),
        ("13.012 kg", "2026-08-01T09:00:00+01:00", True),
    ),
    "one waits to be borne out": (
        ("13.052 kg", "2026-08-01T09:00:00+01:00", True),
        ("12.990 kg", "2026-08-02T15:00:00+01:00", True),
    ),
}

MIDDLE_G = {
    "weighed once": 13051.5,
    "weighed three times": 13051.0,
    "a lid that leaks": 12985.0,
    "one waits to be borne out": 13051.5,
}


def at_hand(desk, at):
    """The office at another instant."""
    return replace(desk, now=lambda: at)


def whole_answer(desk, request):
    """What the service says in the end, with nothing recorded."""
    said = []

    def weighed_and_undone():
        with joined(desk.ledger, desk.stamp()) as ledger:
            said.append(weighing.weigh(replace(desk, ledger=ledger), request).shape["verdict"])
            raise UndoneError

    with pytest.raises(UndoneError):
        weighed_and_undone()
    return said[0]


def mass_answers(desk, requests):
    """What the service thinks of masses, by the very steps of a weighing."""
    site = desk.site()
    holds = {hold.facts["find"]: hold for hold in desk.ledger.states("hold", site.number)}
    shelf = shelves(desk, site, read_choices())
    find = find_thing(desk, "37", site)
    found = []
    for request in requests:
        bench = weighing._bench(shelf, find, holds, desk.in_site_zone(datetime.fromisoformat(request.at), site))
        reading, _ = weighing._reading(request, read_mass(request.mass), bench)
        found.append(weighing._judge(reading, bench)[0].word)
    return found


def asked_for(points):
    return [
        weighing.WeighRequest(box="B1", mass=text, wiped=wiped, look=look, at=at.isoformat(), members=20)
        for text, wiped, look, at in points
    ]


def grid(middle_g, times):
    for number, (hours, offset_g, (wiped, places)) in enumerate(itertools.product(times, OFFSETS_G, WAYS)):
        text = f"{(middle_g + offset_g) / 1000:.{places}f} kg"
        yield text, wiped, LOOKS[number % 7 == 0], MONDAY + timedelta(hours=hours)


@pytest.mark.parametrize("history", HISTORIES)
def test_the_device_says_what_the_service_says(history, planned_for_pages, chromium, served, tmp_path, monkeypatch):
    monkeypatch.setattr(case, "options", lambda *_, **__: ())  # ways to wait longer say nothing of a weighing
    ledger = tmp_path / "grid.ledger"
    shutil.copy(planned_for_pages, ledger)
    with office(str(ledger), person="Marian Holt", now=lambda: MONDAY) as desk:
        for text, at, wiped in HISTORIES[history]:
            weighing.weigh(desk, weighing.WeighRequest(box="B1", mass=text, at=at, wiped=wiped, members=20))
        ((_, kit),) = round_kits(desk, None, ("WCR26-B1-U",)).values()
        looks = answer_words(desk)["looks"]
        planned_g = 1000.0 * desk.ledger.states("hold")[0].facts["plan"]["gross_mass_kg"]
        points = list(grid(MIDDLE_G.get(history, planned_g), HOURS))[::3]
        late = at_hand(desk, MONDAY + timedelta(days=20))
        masses = mass_answers(late, asked_for(points))
        few = points[::12]
        wholes = [
            whole_answer(at_hand(desk, one[3]), request) for one, request in zip(few, asked_for(few), strict=True)
        ]
    assert (kit.loss_g is not None) == (history == "a lid that leaks")
    told = device_answers(chromium, served, kit, looks, points)
    unlike = [(point, one[1], mass) for point, one, mass in zip(points, told, masses, strict=True) if one[1] != mass]
    assert unlike == []
    assert [(one[0], want) for one, want in zip(told[::12], wholes, strict=True) if one[0] != want] == []
    assert len(set(masses)) >= 2, "a grid on which everything is the same shows nothing"


def device_answers(chromium, served, kit, looks, points):
    """What a device says for each point: the gravest word, and that of the mass alone."""
    page = chromium.new_page()
    page.goto(f"{served.url}/sign-in")
    rows = [(text, wiped, look, int(at.timestamp()), at.date().isoformat()) for text, wiped, look, at in points]
    found = page.evaluate(
        """async ([kit, looks, points]) => {
          const rule = await import("/static/round_rule.js");
          return points.map(([text, wiped, look, at_s, day]) => {
            const mass = rule.meant(rule.readMass(text), kit);
            const told = rule.answer(kit, { mass, wiped, touched: false, look, at_s, day }, looks);
            return [told.word, told.mass];
          });
        }""",
        [plain(kit), looks, rows],
    )
    page.close()
    return found


TYPED = (
    *("13.04", "13,04", "13.040 kg", "13040 g", "13,040 g", "13 040 g", "13'040 g", "1.234,5 g", "1,234.5 g", "0.5 kg"),
    *(".5", "5.", "12 kilos", "12 KG", "+3.2", "0", "", "abc", "1.2.3", "12 lb", "-4", "13,040,5 g", "1,2,3"),
)


def test_the_device_reads_a_typed_mass_as_the_service_does(chromium, served):
    from findhold.errors import BadInput

    page = chromium.new_page()
    page.goto(f"{served.url}/sign-in")
    found = page.evaluate(
        """async (texts) => {
          const rule = await import("/static/round_rule.js");
          return texts.map((text) => rule.readMass(text).map((one) => [one.grams, one.step_g]));
        }""",
        list(TYPED),
    )
    page.close()
    for text, told in zip(TYPED, found, strict=True):
        try:
            wanted = [[1000.0 * one.mass_kg, one.step_g] for one in read_mass(text)]
        except BadInput:
            wanted = []
        assert told == [pytest.approx(row) for row in wanted], text
