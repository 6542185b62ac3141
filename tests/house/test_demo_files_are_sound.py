"""The demo files tell one consistent story: sizes, masses, places and times that could be true."""

import csv
import datetime as dt
import itertools
import pathlib

import pytest

from findhold.register.intake import Intake, Known, intake
from findhold.register.mapping import propose
from findhold.register.readfile import read_sheet
from findhold.register.rules import SiteFacts
from findhold.tables.load import table

DEMO = pathlib.Path(__file__).resolve().parents[2] / "src" / "findhold" / "demo"
EXAMPLES = DEMO.parents[2] / "examples"


def rows(
    name: str, *, encoding: str = "utf-8-sig", delimiter: str = ",", folder: pathlib.Path = DEMO
) -> list[dict[str, str]]:
    with (folder / name).open(encoding=encoding, newline="") as file:
        return list(csv.DictReader(file, delimiter=delimiter))


@pytest.fixture(scope="module")
def finds() -> list[dict]:
    import openpyxl

    sheet = openpyxl.load_workbook(DEMO / "finds_register.xlsx").active
    table = [row for row in sheet.iter_rows(values_only=True) if any(cell is not None for cell in row)]
    return [dict(zip(table[0], row, strict=True)) for row in table[1:]]


def ring(name: str) -> list[tuple[float, float]]:
    return [(float(r["E"]), float(r["N"])) for r in rows("outlines.csv") if r["Outline"] == name]


def inside(point: tuple[float, float], corners: list[tuple[float, float]]) -> bool:
    x, y = point
    within = False
    for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            within = not within
    return within


def test_the_register_holds_the_finds_of_the_story(finds):
    assert [str(find["SF no."]) for find in finds] == ["37", "41", "42", "44", "45", "48", "52", "55", "B216"]
    assert [find["SF no."] for find in finds if find["Human?"] == "yes"] == [55]


def test_every_find_lies_in_a_context_of_the_list_and_inside_its_cut(finds):
    contexts = {row["Cxt no."]: row for row in rows("contexts.csv", encoding="cp1252", delimiter=";")}
    for find in finds:
        cut = contexts[str(find["Cxt"])]["In cut"]
        assert inside((find["E"], find["N"]), ring(f"[{cut}] top"))
        assert 51.2 < find["Level (m OD)"] < 51.95


def test_no_find_is_exposed_after_its_opening_and_all_in_the_last_week_of_july(finds):
    for find in finds:
        assert dt.datetime(2026, 7, 27) <= find["Exposed"] < dt.datetime(2026, 8, 1)
        assert find["Specialist date"] > find["Exposed"]


def test_soil_blocks_weigh_what_wet_soil_weighs(finds):
    blocks = [find for find in finds if find["Soil round it"]]
    assert len(blocks) == 4
    for find in blocks:
        litres = find["L (cm)"] * find["W (cm)"] * find["H (cm)"] / 1000
        assert 1500 <= find["Wt (g)"] / litres <= 1900


def test_every_find_goes_into_some_box_with_room_on_all_sides(finds):
    boxes = rows("boxes.csv")
    for find in finds:
        longest, shortest = sorted((find["L (cm)"], find["W (cm)"]), reverse=True)
        fits = [
            box["Box type"]
            for box in boxes
            if float(box["Inside L (cm)"]) >= longest + 4
            and float(box["Inside W (cm)"]) >= shortest + 4
            and float(box["Inside H (cm)"]) >= find["H (cm)"] + 4.5
            and float(box["Max load (kg)"]) >= find["Wt (g)"] / 1000
        ]
        assert fits, find["SF no."]


def test_the_example_stock_is_the_demo_stock_in_the_words_of_the_scenario_file():
    pairs = zip(rows("boxes.csv"), rows("boxes.csv", folder=EXAMPLES), strict=True)
    for untidy, plain in pairs:
        assert untidy["Box type"] == plain["name"]
        for side in "LWH":
            assert float(untidy[f"Inside {side} (cm)"]) * 10 == pytest.approx(float(plain[f"inside_{side.lower()}_mm"]))
        assert float(untidy["Empty (g)"]) / 1000 == pytest.approx(float(plain["tare_kg"]))


def test_the_second_fridge_fails_once_for_31_hours():
    readings = rows("fridge2_logger.csv")
    times = [dt.datetime.fromisoformat(row["Time (UTC)"]) for row in readings]
    temps = [float(row["Temperature (°C)"]) for row in readings]
    assert {later - earlier for earlier, later in itertools.pairwise(times)} == {dt.timedelta(minutes=10)}
    assert times[-1] - times[0] == dt.timedelta(days=14)
    failed, mended = dt.datetime(2026, 7, 31, 21, 40), dt.datetime(2026, 8, 2, 4, 40)
    assert mended - failed == dt.timedelta(hours=31)
    warm = [time for time, temp in zip(times, temps, strict=True) if temp > 8]
    assert failed < warm[0] < failed + dt.timedelta(hours=3)
    assert mended - dt.timedelta(minutes=30) < warm[-1] < mended + dt.timedelta(hours=6)
    assert 15 < max(temps) < 24


def test_the_closure_is_the_works_shutdown():
    assert rows("closures.csv", delimiter=";")[0]["From"] == "08.08.2026"
    assert rows("closures.csv", delimiter=";")[0]["To (last day)"] == "23.08.2026"


def test_the_second_site_is_written_the_continental_way():
    register = rows("second/funde.csv", delimiter=";")
    assert register[0]["Masse (g)"] == "6.350,0"
    for find in register:
        east, north = (float(find[key].replace(",", ".")) for key in ("Rechtswert (Ost)", "Hochwert (Nord)"))
        assert 166_000 < east < 834_000  # inside a UTM zone
        assert 5_200_000 < north < 6_100_000


# --- the files go through the intake as they are -----------------------------------------------------------------

WITHY_CARR = SiteFacts(code="WCR26", zone="Europe/London", grid="EPSG:27700", vertical_datum="ODN")
ERLENMOOR = SiteFacts(code="ERM26", zone="Europe/Berlin", grid="EPSG:25832", vertical_datum="DHHN2016")
READ = {
    WITHY_CARR: (
        *("people.csv", "contexts.csv", "stores.csv", "boxes.csv", "closures.csv"),
        *("finds_register.xlsx", "samples.csv"),
    ),
    ERLENMOOR: (
        *("second/personen.csv", "second/befunde.csv", "second/lager.csv", "second/kisten.csv"),
        *("second/schliesszeiten.csv", "second/funde.csv"),
    ),
}


def read_all(site: SiteFacts) -> dict[str, Intake]:
    known = Known(analyses=tuple(row["name"] for row in table("analyses").rows))
    materials = tuple(row["name"] for row in table("find_materials").rows)
    taken = {}
    for name in READ[site]:
        sheet = read_sheet((DEMO / name).read_bytes(), name)
        taken[name] = intake(sheet, propose(sheet), site=site, known=known, answers={}, known_materials=materials)
        known = known.plus(taken[name])
    return taken


@pytest.mark.parametrize("site", READ, ids=lambda site: site.code)
def test_every_file_is_read_without_a_mistake_or_a_question(site):
    for name, taken in read_all(site).items():
        assert [mistake.line() for mistake in taken.mistakes] == [], name
        assert [question.text for question in taken.questions] == [], name
        assert taken.new, name


def test_what_the_register_says_arrives_in_our_units():
    register = {row.key: row.fields for row in read_all(WITHY_CARR)["finds_register.xlsx"].new}
    jar = register["37"]
    assert jar["mass_kg"] == pytest.approx(12.2)  # 12200 g in the sheet
    assert jar["length_mm"] == pytest.approx(230)  # 23 cm
    assert jar["exposed_at"].utcoffset() == dt.timedelta(hours=1)  # British summer time
    assert register["55"]["human_remains"] is True
    assert register["41"]["state"] == "waterlogged"  # typed as W/L
    assert register["44"]["material"] == "iron"  # typed as Fe


def test_a_thousands_point_and_a_decimal_comma_arrive_as_one_number():
    register = {row.key: row.fields for row in read_all(ERLENMOOR)["second/funde.csv"].new}
    assert register["7"]["mass_kg"] == pytest.approx(6.35)
    assert register["7"]["easting_m"] == pytest.approx(564210.362)
    assert register["7"]["exposed_at"].isoformat() == "2026-06-11T09:40:00+02:00"
