"""What only the API has: files that come and go, the token, the description; its answers: test_three_doors."""

import json
from pathlib import Path

import pytest
from conftest_web import make_browser

ROOT = Path(__file__).parents[2]
DEMO, EXAMPLES = ROOT / "src" / "findhold" / "demo", ROOT / "examples"


@pytest.mark.parametrize(
    "more",
    [
        '[surroundings]\nlogger = "LEDGER"\n[hold]\npacked_at = 2026-07-28T15:40:00+01:00\n',
        '[stock]\nfile = "LEDGER"\n',
    ],
)
def test_a_scenario_that_is_sent_cannot_name_a_file_of_this_computer(browser, planned, more):
    text = (EXAMPLES / "worked-box.toml").read_text(encoding="utf-8")
    kept = [part for part in text.split("\n[") if not part.startswith(("surroundings]", "stock]", "hold]"))]
    sent = "\n[".join(kept) + "\n" + more.replace("LEDGER", str(planned))
    answer = browser.api("POST", "/what-if/keep", {"scenario": sent, "members": 20})
    assert answer.status_code == 422
    assert "cannot name a file" in answer.text or "must be settled" in answer.text
    assert "not a CSV" not in answer.text


def test_mistakes_of_the_words_are_told_all_at_once_by_name(browser):
    answer = browser.api("POST", "/weighings", {"box": "B1", "mas": "13 kg", "wiped": "yes"})
    assert answer.status_code == 422
    columns = {mistake["column"] for mistake in answer.json()["error"]["mistakes"]}
    assert columns == {"mas", "wiped"}


def test_a_failure_of_a_store_is_recorded_and_taken_back(browser, findhold):
    words = {"begins": "2026-07-31T20:00+01:00", "ends": "2026-08-02T03:00+01:00", "room_c": 19}
    answer = browser.api("POST", "/stores/Fridge%202/failures", words)
    assert answer.status_code == 200, answer.text
    assert answer.json()["recorded"]
    assert [box["find"] for box in answer.json()["boxes"]] == ["44"]
    assert "Fridge 2 was off" in answer.json()["what_happened"][0]
    back = browser.api(
        "POST", "/stores/Fridge%202/failures/take-back", {"begins": words["begins"], "reason": "wrong fridge"}
    )
    assert back.json()["taken_back"]


def test_a_logger_file_is_read(browser):
    data = (DEMO / "fridge2_logger.csv").read_bytes()
    answer = browser.api("POST", "/stores/Fridge%202/logs", files={"file": ("../../x.csv", data, "text/csv")})
    assert answer.status_code == 200, answer.text
    assert answer.json()["log"]["readings"] > 100
    assert answer.json()["log"]["file"] == "logger.csv"
    again = browser.api("POST", "/stores/Fridge%202/logs", files={"file": ("x.csv", data, "text/csv")})
    assert again.json()["known_before"]


def test_what_is_no_logger_file_is_refused_and_nothing_kept(browser, planned):
    answer = browser.api(
        "POST", "/stores/Fridge%202/logs", files={"file": ("x.csv", b"\x89PNG\r\n\x1a\n\0\0", "text/csv")}
    )
    assert answer.status_code == 422
    assert not list(planned.parent.glob("*-files/*"))


@pytest.mark.parametrize(
    ("path", "kind", "begins"),
    [
        ("/labels.pdf?find=37", "application/pdf", b"%PDF"),
        ("/finds/37/packing-sheet.pdf", "application/pdf", b"%PDF"),
        ("/finds/37/section.svg", "image/svg+xml", b"<svg"),
        ("/plot.pdf?feature=214", "application/pdf", b"%PDF"),
        ("/due.ics", "text/calendar; charset=utf-8", b"BEGIN:VCALENDAR"),
    ],
)
def test_papers_come_as_what_they_are_and_write_nothing(browser, planned, path, kind, begins):
    from findhold.service.office import office

    with office(str(planned), read_only=True) as desk:
        before = desk.ledger.head()
    answer = browser.api("GET", path)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == kind
    assert answer.content.startswith(begins)
    with office(str(planned), read_only=True) as desk:
        assert desk.ledger.head() == before


def test_a_plan_of_a_feature_has_its_drawing_and_distances(browser):
    answer = browser.api("GET", "/plot", query={"feature": "214", "distance": "37,44"}).json()
    assert answer["svg"].startswith("<svg")
    assert answer["distances"][0]["plan_m"] > 0


def test_labels_are_made_and_recorded_once(browser):
    answer = browser.api("POST", "/labels", {"finds": ["37"]})
    assert answer.status_code == 200, answer.text
    assert answer.json()["read_back"] == answer.json()["count"] == 4
    assert "labels made and read back" in browser.get("/finds/37").text


def test_a_photographed_label_is_read_beside_its_record(browser):
    import io

    import pypdfium2

    pdf = browser.api("GET", "/labels.pdf?find=37").content
    page = pypdfium2.PdfDocument(pdf)[0].render(scale=3).to_pil()
    out = io.BytesIO()
    page.crop((0, 0, page.width // 2, page.height // 4)).save(out, "PNG")
    answer = browser.api("POST", "/labels/read", files={"picture": ("label.png", out.getvalue(), "image/png")})
    assert answer.status_code == 200, answer.text
    assert answer.json()["find_id"] == "WCR26-F37-5"


def test_writing_needs_the_token_and_reading_needs_a_visit(browser, planned):
    words = {"box": "B1", "mass": "13.04 kg"}
    assert browser.api("POST", "/weighings", words, token=False).status_code == 403
    stranger = make_browser(planned)
    assert stranger.api("GET", "/due").status_code == 401
    assert stranger.api("GET", "/due").json()["error"]["code"] == "sign_in"


def test_signing_in_through_the_api_gives_a_token_that_writes(planned):
    browser = make_browser(planned)
    told = browser.api("POST", "/sign-in", {"person": "Saffron Ode"}, token=False).json()
    assert told["person"] == "Saffron Ode"
    browser.token = told["token"]
    assert browser.api("POST", "/forecasts", {"finds": ["44"], "members": 20}).status_code == 200
    assert browser.api("POST", "/sign-out").json() == {"person": "", "token": ""}
    assert browser.api("GET", "/due").status_code == 401


def test_the_description_lists_every_operation_and_no_page(browser):
    described = json.loads(browser.get("/api/v1/openapi.json").text)
    paths = set(described["paths"])
    assert {"/api/v1/weighings", "/api/v1/plans", "/api/v1/forecasts", "/api/v1/labels", "/api/v1/due"} <= paths
    assert all(path.startswith("/api/v1/") for path in paths)
    page = browser.get("/api").text
    assert all(path in page for path in paths)
