"""Pages with pictures, asked as a browser would: Stores, Closures, Plot, Hand over, and a find in its box."""

import html
import re
import struct
import uuid
from datetime import datetime, timedelta, timezone
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from sqlalchemy import event as on

from findhold.record.events import NewEvent
from findhold.service import holds
from findhold.service.ledger_case import Asked
from findhold.service.office import office
from findhold.service.packing.measuring import MeasureRequest, measure
from findhold.store import whereabouts
from findhold.web.drawn import Over, with_links

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"
SCAN = Path(__file__).parents[2] / "examples" / "jar-scan.ply"
FRIDAY = datetime(2026, 7, 31, 17, 30, tzinfo=timezone(timedelta(hours=1)))
SVG = "{http://www.w3.org/2000/svg}"


def words(text):
    """A page's words without its tags, on one line."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def drawings(text):
    return [ElementTree.fromstring(found) for found in re.findall(r"<svg xmlns=.*?</svg>", text, re.DOTALL)]


def events(ledger):
    with office(str(ledger), read_only=True) as desk:
        return desk.ledger.head()[0]


@pytest.fixture
def scanned(planned):
    """Find 37 measured from a scan and planned again."""
    with office(str(planned), person="Marian Holt", now=lambda: FRIDAY) as desk:
        measure(desk, MeasureRequest(find="37", scan=SCAN, units="mm", up="z"))
        holds.plan_finds(desk, holds.HoldRequest(finds=("37",), asked=Asked(barrier="aluminium foil")))
    return planned


# --- stores -----------------------------------------------------------------------------------------------------


def test_every_store_is_drawn_at_one_scale_with_its_boxes_as_links(browser):
    page = browser.get("/stores")
    assert page.status_code == 200
    fronts = drawings(page.text)
    assert [front.find(f"{SVG}title").text.rsplit(", ", 1)[0] for front in fronts] == [
        "Cool room from the front",
        "Fridge 1 from the front",
        "Fridge 2 from the front",
    ]
    assert len({front.find(f"{SVG}title").text.rsplit(" ", 1)[1] for front in fronts}) == 1
    links = [(a.get("href"), a.get("aria-label")) for front in fronts for a in front.iter(f"{SVG}a")]
    assert [href for href, _ in links] == ["/finds/37?site=WCR26", "/finds/44?site=WCR26"]
    assert re.search(r"find 37, jar.*: \d+ d left, ", links[0][1])
    assert all("Scale 1:" in words(ElementTree.tostring(front, "unicode")) for front in fronts)
    assert "Places not recorded" in words(page.text)


def test_a_box_is_drawn_on_the_shelf_it_was_put_on(browser, planned):
    with office(str(planned), person="Marian Holt") as desk, desk.ledger.writing(desk.stamp()) as writing:
        body = {"store": "Fridge 1", "place": "shelf 2"}
        writing.append([NewEvent(word="box.shelved.1", stream="hold/WCR26/B1", body=body)])
    page = browser.get("/stores/Fridge%201")
    assert "Places not recorded" not in words(page.text)
    assert any(text.text == "shelf 2" for text in drawings(page.text)[0].iter(f"{SVG}text"))


def test_a_store_tells_how_full_it_is(browser):
    told = browser.api("GET", "/stores/Fridge 1").json()
    # Box F vessel: 300 x 270 x 190 mm inside, walls of 1.5 mm: 303 x 273 x 193 mm outside; the fridge by the register.
    assert told["filled"]["box_volume_l"] == pytest.approx(303 * 273 * 193 / 1e6)
    assert told["filled"]["inside_volume_l"] == pytest.approx(1150 * 520 * 1400 / 1e6)
    assert told["filled"]["load_share"] == pytest.approx(told["boxes"][0]["mass_kg"] / 160)


def test_a_failure_is_looked_at_first_and_recorded_once(browser, planned):
    before = events(planned)
    form = {"begins": "2026-07-31T20:00", "ends": "2026-08-02T03:00", "room": "19", "_key": str(uuid.uuid4())}
    looked = browser.post("/stores/Fridge%202/failures", {**form, "do": "look"})
    assert "Looked at, nothing recorded" in words(looked.text)
    assert events(planned) == before
    done = browser.post("/stores/Fridge%202/failures", {**form, "do": "record"})
    assert done.url.path == "/stores/Fridge 2"
    told = words(done.text)
    assert "Fridge 2 was off from Fri 31 Jul, 20:00 to Sun 2 Aug, 03:00, 31.0 h, room at 19 °C." in told
    assert "Its boxes, forecast again, worst first" in told
    after = events(planned)
    assert after > before
    again = browser.post("/stores/Fridge%202/failures", {**form, "do": "record"})
    assert again.status_code == 200
    assert events(planned) == after
    assert "off, as typed" in browser.get("/stores/Fridge%202").text


def test_a_failure_is_taken_back_with_its_reason(browser):
    form = {"begins": "2026-07-31T20:00", "ends": "", "room": "19", "do": "record", "_key": str(uuid.uuid4())}
    page = browser.post("/stores/Fridge%202/failures", form)
    assert "off, and not back yet" in words(page.text)
    begins = re.search(r'name="begins" value="([^"]+\+00:00)"', page.text)[1]
    words_of = {"begins": begins, "reason": "it was Fridge 1", "_key": str(uuid.uuid4())}
    back = browser.post("/stores/Fridge%202/take-back", words_of)
    assert "Fridge 2: the failure taken back." in words(back.text)
    assert "off, and not back yet" not in words(back.text)


@pytest.mark.parametrize(
    ("form", "wrong"),
    [
        ({"begins": "", "room": "19"}, "since when it was off"),
        ({"begins": "2026-07-31T20:00", "room": ""}, "temperature is missing"),
        ({"begins": "2026-07-31T20:00", "room": "warm"}, "is no temperature"),
        ({"begins": "yesterday", "room": "19"}, "is not a day and time"),
        ({"begins": "2026-10-25T01:30", "room": "19"}, "happens twice"),
        ({"begins": "2026-07-31T20:00", "ends": "2026-07-30T20:00", "room": "19"}, "on again before it was off"),
    ],
)
def test_what_is_wrong_with_a_failure_is_told_and_what_was_typed_stays(browser, planned, form, wrong):
    before = events(planned)
    page = browser.post("/stores/Fridge%202/failures", {**form, "do": "record", "_key": str(uuid.uuid4())})
    assert page.status_code == 422
    assert wrong in words(page.text)
    assert f'value="{form["begins"]}"' in page.text
    assert events(planned) == before


def test_a_logger_is_read_through_the_page(browser):
    form = {"_token": browser.token, "_key": str(uuid.uuid4()), "do": "record"}
    files = {"file": ("../../logger.csv", (DEMO / "fridge2_logger.csv").read_bytes(), "text/csv")}
    page = browser.ask("POST", "/stores/Fridge%202/logs", data=form, files=files)
    told = words(page.text)
    assert re.search(r"Fridge 2: \d+ readings from Fri 24 Jul", told)
    assert "It failed: no cold from" in told
    chart = next(one for one in drawings(page.text) if "temperature" in one.find(f"{SVG}title").text)
    assert any("failure" in (text.text or "") for text in chart.iter(f"{SVG}text"))
    assert browser.api("GET", "/stores/Fridge 2/readings.svg").status_code == 200


def test_a_file_that_is_no_logger_is_refused_on_the_same_page(browser):
    form = {"_token": browser.token, "_key": str(uuid.uuid4()), "do": "record"}
    page = browser.ask("POST", "/stores/Fridge%202/logs", data=form, files={"file": ("x.csv", b"\x00\x01")})
    assert page.status_code == 422
    assert "choose it again" in page.text
    empty = browser.post("/stores/Fridge%202/logs", form)
    assert "no file was chosen" in words(empty.text).lower()


def test_a_store_that_is_not_there_offers_near_names(browser):
    page = browser.get("/stores/Frigde%201")
    assert page.status_code == 404
    assert "Fridge 1" in words(page.text)


# --- closures ---------------------------------------------------------------------------------------------------


def test_holds_across_the_closure_are_read_and_not_reckoned(browser, monkeypatch):
    def refuse(*_, **__):
        raise AssertionError("a look must not reckon")

    monkeypatch.setattr("findhold.service.case.forecast", refuse)
    page = browser.get("/closures")
    assert page.status_code == 200
    told = words(page.text)
    assert "Closed Sat 8 Aug to Sun 23 Aug" in told
    assert "of 2 cannot wait" in told
    assert "The last day to do something is Friday 7 August 2026" in told
    strip = drawings(page.text)[0]
    assert strip.find(f"{SVG}title").text == "WCR26: holds across the closure"
    assert "cannot wait" in strip.find(f"{SVG}desc").text or "kept too long" in strip.find(f"{SVG}desc").text
    answer = browser.api("GET", "/closures").json()
    assert [row["held"]["number"] for row in answer["rows"]] == re.findall(
        r'<th scope="row"><a href="/finds/(\w+)"', page.text
    )
    left = [row["held"]["left_days"] for row in answer["rows"]]
    assert left == sorted(left)


def test_what_would_help_is_reckoned_only_when_asked(browser, planned):
    before = events(planned)
    page = browser.get("/closures", params={"ask": "37"})
    told = words(page.text)
    assert "What would help find 37" in told
    assert "put in fresh damp tissue" in told
    assert events(planned) == before
    answer = browser.api("GET", "/finds/37/ways-out").json()
    gains = [option["gain_days"] for option in answer["options"]]
    assert gains == sorted(gains, reverse=True)


def test_the_strip_prints(browser):
    import io

    from pypdf import PdfReader

    made = browser.get("/closures/strip.pdf")
    assert made.headers["content-type"] == "application/pdf"
    text = PdfReader(io.BytesIO(made.content)).pages[0].extract_text()
    assert "works shutdown" in " ".join(text.split())
    assert "planned opening" in text
    assert browser.get("/closures/strip.svg", params={"closure": "2026-08-31"}).status_code == 200


def test_a_closure_that_is_not_there_is_said(browser):
    assert browser.get("/closures", params={"closure": "2026-12-24"}).status_code == 404
    assert browser.get("/closures", params={"closure": "soon"}).status_code == 422


# --- plot -------------------------------------------------------------------------------------------------------


def test_each_find_of_the_plan_is_a_link_to_what_lies_near(browser):
    page = browser.get("/plot", params={"feature": "214"})
    plan = drawings(page.text)[0]
    links = {a.get("href"): a.get("aria-label") for a in plan.iter(f"{SVG}a")}
    assert links["/plot?feature=214&start=37"].startswith("what lies near find 37, jar")
    near = browser.get("/plot", params={"feature": "214", "start": "37"})
    assert "Near 37, nearest first" in words(near.text)
    hrefs = [a.get("href") for a in drawings(near.text)[0].iter(f"{SVG}a")]
    assert "/plot?feature=214&start=37&end=44" in hrefs


def test_two_points_give_their_distance_with_its_error(browser):
    page = browser.get("/plot", params={"feature": "214", "start": "37", "end": "44"})
    # 37 at 451382.914, 206866.207, 51.62; 44 at 451382.052, 206866.754, 51.74: 1.021 m in plan, 1.028 m in space.
    assert "1.02 m in plan, 1.03 m in space; 44 lies 0.12 m higher . Each ± 0.03 m." in words(page.text)
    answer = browser.api("GET", "/plan", query={"feature": "214", "start": "37", "end": "44"}).json()
    assert answer["distance"]["plan_m"] == pytest.approx(np.hypot(0.862, 0.547), abs=1e-6)


def test_choices_that_make_no_sense_keep_the_plan_and_say_so(browser):
    same = browser.get("/plot", params={"feature": "214", "start": "37", "end": "37"})
    assert same.status_code == 422
    assert "chosen twice" in words(same.text)
    assert drawings(same.text)
    assert browser.get("/plot", params={"feature": "214", "start": "999"}).status_code == 404
    assert browser.get("/plot", params={"feature": "999"}).status_code == 404


def test_the_plan_is_handed_out_for_paper(browser):
    made = browser.get("/plot/plan.pdf", params={"feature": "214", "start": "37", "end": "44"})
    assert made.content.startswith(b"%PDF")
    assert browser.get("/plot/plan.svg", params={"feature": "[214]"}).text.startswith("<svg")


def test_words_of_a_find_do_no_harm_in_a_drawing():
    over = Over(href='/x?"&', words='<script>"', left_mm=1, top_mm=1, width_mm=2, height_mm=2)
    made = with_links('<svg xmlns="http://www.w3.org/2000/svg" role="img"><rect/></svg>', [over])
    link = ElementTree.fromstring(made).find(f"{SVG}a")
    assert (link.get("href"), link.get("aria-label")) == ('/x?"&', '<script>"')
    assert 'role="group"' in made


# --- hand over --------------------------------------------------------------------------------------------------


def test_the_hand_over_sheet_says_what_leaves_and_what_to_do_and_records_nothing(browser, planned):
    before = events(planned)
    assert "Which boxes leave?" in words(browser.get("/hand-over").text)
    page = browser.get("/hand-over", params={"find": ["37", "44"]})
    told = words(page.text)
    for said in ("WCR26-B1-U", "hand-made pottery", "never freeze it", "as planned, not weighed", "Signature"):
        assert said in told
    assert told.count("Who takes it must") == 2
    assert "Aluminium foil lies next to the find: leave it until it is opened." in told
    assert events(planned) == before
    codes = [one for one in drawings(page.text) if one.find(f"{SVG}title").text.startswith("Short code")]
    assert len(codes) == 2


def test_the_hand_over_sheet_of_a_mouldy_box_never_says_open_it_and_tells_the_question_of_mass(browser, planned):
    for mass in ("13.05 kg", "12.5 kg"):
        browser.api("POST", "/weighings", {"box": "37", "mass": mass, "look": "right"}, key=str(uuid.uuid4()))
    told = words(browser.get("/hand-over", params={"find": ["37"]}).text)
    assert re.search(r"12\.5 kg, weighed [^·]{10,30}, in question", told)
    assert re.search(r"Its mass is in question \(12\.5 kg on .{10,30}, planned 13\.\d\d kg\): weigh it again", told)
    assert "Weigh it, cold and wiped" not in told
    assert "Open it by" in told
    browser.api("POST", "/weighings", {"box": "37", "mass": "12.5 kg", "look": "mould"}, key=str(uuid.uuid4()))
    told = words(browser.get("/hand-over", params={"find": ["37"]}).text)
    assert "Mould was seen: leave it closed; a conservator looks at it before anything else" in told
    assert "Open it" not in told
    assert "no longer counts" in told
    strip = next(one for one in drawings(browser.get("/finds/37").text) if "Strip of time" in one[0].text)
    assert "no longer counts: keep until" in words(ElementTree.tostring(strip, "unicode"))


def test_only_what_has_a_box_is_handed_over(browser):
    assert "no box is planned for it" in words(browser.get("/hand-over", params={"numbers": "41"}).text).lower()
    assert browser.get("/hand-over", params={"numbers": "999"}).status_code == 404
    assert browser.api("GET", "/hand-over").status_code == 422


# --- in its box -------------------------------------------------------------------------------------------------


def test_without_a_scan_the_page_says_so_and_shows_the_section(browser):
    page = browser.get("/finds/37/view")
    assert "There is no scan of it" in words(page.text)
    assert "view.js" not in page.text
    assert drawings(page.text)
    assert browser.get("/finds/37/scan.bin").status_code == 422


def test_the_scan_lies_on_its_bed_in_the_middle_of_the_box(scanned, browser):
    page = browser.get("/finds/37/view")
    inside = [float(side) for side in re.search(r'data-inside="([^"]+)"', page.text)[1].split()]
    bed = float(re.search(r'data-bed="([^"]+)"', page.text)[1])
    data = browser.get("/finds/37/scan.bin").content
    count, many = struct.unpack_from("<II", data, 4)
    assert data[:4] == b"FHV1"
    assert len(data) == 12 + 12 * count + 12 * many
    corners = np.frombuffer(data, "<f4", 3 * count, 12).reshape(-1, 3)
    triangles = np.frombuffer(data, "<u4", 3 * many, 12 + 12 * count)
    assert triangles.max() < count
    low, high = corners.min(axis=0), corners.max(axis=0)
    assert low[2] == pytest.approx(bed, abs=0.01)
    assert (low[:2] + high[:2]) / 2 == pytest.approx(np.array(inside[:2]) / 2, abs=0.01)
    assert all(low >= 0)
    assert all(high <= inside)
    assert browser.api("GET", "/finds/37/scan.bin").content == data


def test_a_scan_whose_file_is_gone_is_said(scanned, browser):
    for kept in scanned.parent.glob("wcr26-files/*.ply"):
        kept.unlink()
    assert browser.get("/finds/37/scan.bin").status_code == 503


# --- no look grows with the ledger ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("index", "look"),
    [
        ("find_by_store", lambda read: whereabouts.finds_of_store(read, "WCR26", "Fridge 1", 10)),
        ("hold_by_find", lambda read: whereabouts.finds_of_store(read, "WCR26", "Fridge 1", 10)),
        ("hold_by_keep_until", lambda read: whereabouts.holds_by_keep_until(read, "WCR26", 10)),
        ("context_by_cut", lambda read: whereabouts.contexts_in_cut(read, "WCR26", "214", 10)),
        ("cut_of_site", lambda read: whereabouts.cuts_of_site(read, "WCR26", 10)),
        ("find_by_context", lambda read: whereabouts.finds_of_contexts(read, "WCR26", ["217"], 10)),
        ("sample_by_context", lambda read: whereabouts.finds_of_contexts(read, "WCR26", ["217"], 10)),
    ],
)
def test_each_look_of_a_picture_goes_by_its_index(planned, index, look):
    asked = []
    with office(str(planned), read_only=True) as desk, desk.ledger.reading() as connection:

        def heard(_connection, _cursor, statement, parameters, *_more):
            if "sqlite_master" not in statement:
                asked.append((statement, parameters))

        on.listen(connection, "before_cursor_execute", heard)
        look(connection)
        on.remove(connection, "before_cursor_execute", heard)
        plans = [
            row[3]
            for statement, parameters in asked
            for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters)
        ]
    assert index in " ".join(plans)
    assert not any(plan.startswith("SCAN") for plan in plans)
