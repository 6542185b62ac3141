"""The guard before the pages: who may knock, what they may carry, what every answer says of itself."""

import json

import pytest
from conftest_web import NOW, make_browser

from findhold.app.guard import MOST_BYTES
from findhold.service import visits


def test_a_stranger_is_sent_to_sign_in_and_comes_back_to_where_he_was_going(planned):
    browser = make_browser(planned)
    answer = browser.get("/finds/37", follow=False)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/sign-in?next=%2Ffinds%2F37"
    browser.read_token(browser.get("/sign-in?next=%2Ffinds%2F37").text)
    answer = browser.post("/sign-in", {"person": "Marian Holt", "next": "/finds/37"})
    assert answer.url.path == "/finds/37"
    assert answer.status_code == 200


@pytest.mark.parametrize("elsewhere", ["https://evil.example/", "//evil.example/", "/\\evil.example"])
def test_coming_back_never_leads_to_another_host(planned, elsewhere):
    browser = make_browser(planned)
    browser.read_token(browser.get("/sign-in").text)
    answer = browser.post("/sign-in", {"person": "Marian Holt", "next": elsewhere}, follow=False)
    assert answer.headers["location"] == "/"


@pytest.mark.parametrize("path", ["/", "/static/house.css", "/api/v1/due", "/nowhere", "/sign-in"])
def test_every_answer_carries_the_headers_that_keep_it_safe(browser, path):
    headers = browser.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe-inline" not in policy
    assert "frame-ancestors 'none'" in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"


@pytest.mark.parametrize("path", ["/", "/finds", "/finds/37", "/settings", "/pattern", "/sign-in", "/network", "/api"])
def test_no_page_holds_script_or_style_of_its_own_or_speaks_of_another_host(browser, path):
    text = browser.get(path).text
    assert "<style" not in text
    assert " style=" not in text
    assert " onclick=" not in text
    assert "<script>" not in text
    outside = text.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert "http://" not in outside.replace("http://localhost", "")
    assert 'src="//' not in outside


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8470", "localhost.evil.example", ""])
def test_a_name_that_is_not_ours_is_refused(browser, host):
    answer = browser.get("/", headers={"host": host})
    assert answer.status_code == 403
    assert "not served here" in answer.text


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"origin": "http://localhost:9999"},
    ],
)
def test_a_form_from_another_site_is_refused(browser, headers):
    answer = browser.post("/sign-out", headers=headers)
    assert answer.status_code == 403
    assert browser.get("/", follow=False).status_code == 200, "still signed in"


def test_our_own_form_with_its_origin_is_taken(browser):
    answer = browser.post("/sign-out", headers={"origin": "http://localhost", "sec-fetch-site": "same-origin"})
    assert answer.status_code == 200
    assert browser.get("/", follow=False).status_code == 303


def test_a_form_without_its_token_is_refused(browser):
    browser.token = "made-up"
    assert browser.post("/sign-out").status_code == 403
    assert browser.post("/finds/37/labels").status_code == 403


def test_the_token_of_one_visit_is_no_good_in_another(planned):
    one, other = make_browser(planned), make_browser(planned)
    one.sign_in()
    other.sign_in("Idris Penhale")
    other.token = one.token
    assert other.post("/sign-out").status_code == 403


def test_a_body_larger_than_allowed_is_refused_whether_it_says_so_or_not(browser):
    big = b"{" + b" " * (MOST_BYTES + 1) + b"}"
    headers = {"content-type": "application/json", "x-findhold-token": browser.token}
    told = browser.ask("POST", "/api/v1/weighings", content=big, headers=headers)
    assert told.status_code == 413

    async def pieces():
        for _ in range(40):
            yield big[: MOST_BYTES // 20]

    lied = browser.ask("POST", "/api/v1/weighings", content=pieces(), headers=headers)
    assert lied.status_code == 413
    assert lied.json()["error"]["code"] == "too_large"


def test_a_visit_that_was_changed_or_has_ended_is_nobody():
    visit = visits.new_visit("Marian Holt", 1000.0)
    sealed = visits.seal(visit, b"k" * 32)
    assert visits.unseal(sealed, b"k" * 32, 1001.0) == visit
    assert visits.unseal(sealed, b"x" * 32, 1001.0) is None
    assert visits.unseal(sealed, b"k" * 32, 1000.0 + visits.OPEN_LONGEST_S + 1) is None
    facts, _, mac = sealed.partition(".")
    other, _, _ = visits.seal(visits.new_visit("Idris Penhale", 1000.0), b"k" * 32).partition(".")
    assert visits.unseal(f"{other}.{mac}", b"k" * 32, 1001.0) is None
    for broken in ("", ".", facts, f"{facts}.", "é.é", "a.b"):
        assert visits.unseal(broken, b"k" * 32, 1001.0) is None


def test_a_visit_with_a_passphrase_ends_after_a_working_day():
    visit = visits.new_visit("Marian Holt", 0.0, turn=1, checked=True)
    sealed = visits.seal(visit, b"k" * 32)
    assert visits.unseal(sealed, b"k" * 32, visits.LONGEST_S - 1) is not None
    assert visits.unseal(sealed, b"k" * 32, visits.LONGEST_S + 1) is None


def test_the_cookie_cannot_be_read_by_script_nor_sent_from_elsewhere(planned):
    plain = make_browser(planned).get("/sign-in").headers["set-cookie"]
    assert "HttpOnly" in plain
    assert "SameSite=Lax" in plain
    over_tls = make_browser(planned, secure=True).get("/sign-in").headers["set-cookie"]
    assert over_tls.startswith("__Host-findhold-")
    assert "; Secure" in over_tls


def test_a_mistake_of_the_program_is_told_without_its_insides(browser, monkeypatch, caplog):
    from findhold.web import today as page

    def broken(*_):
        raise RuntimeError("secret insides")

    monkeypatch.setattr(page, "today", broken)
    answer = browser.get("/")
    assert answer.status_code == 500
    assert "secret insides" not in answer.text
    assert "made a mistake of its own" in answer.text
    assert "content-security-policy" in answer.headers
    assert "secret insides" in caplog.text


def test_paths_that_climb_out_of_the_static_folder_find_nothing(browser):
    for path in ("/static/../pages.py", "/static/%2e%2e/pages.py", "/static/..%2fpages.py", "/static//etc/passwd"):
        assert browser.get(path).status_code in (403, 404), path


def test_a_name_that_climbs_is_only_an_unknown_find(browser):
    for name in ("..%2F..%2Fetc", "%2e%2e", "37%00", "a%2Fb"):
        answer = browser.get(f"/finds/{name}")
        assert answer.status_code in (404, 422), name


def test_errors_have_the_same_words_on_a_page_and_in_the_api(browser, findhold):
    page = browser.get("/finds/999")
    answer = browser.api("GET", "/finds/999")
    typed = findhold("show", "999", "--json")
    assert page.status_code == answer.status_code == 404
    assert answer.json() == typed.json
    assert answer.json()["error"]["do"].split("?")[0] in page.text.replace("&#39;", "'")


def test_the_clock_of_the_tests_stands(browser):
    assert NOW.strftime("%A") in browser.get("/").text
    assert json.loads(browser.api("GET", "/due").text)["zone"] == "Europe/London"
