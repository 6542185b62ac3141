"""What a stranger might try at pages and API: forms without a token, odd bodies, names that climb, telling pictures."""

import io
import json
import re
from pathlib import Path

import pytest
from conftest_web import make_browser
from fastapi.routing import APIRoute
from PIL import Image

import findhold.web
from findhold.app.guard import MOST_UPLOAD_BYTES
from findhold.service import signing
from findhold.service.office import office
from findhold.service.tries import FREE_TRIES
from findhold.web import pages

TEMPLATES = Path(findhold.web.__file__).parent / "templates"
WORDS = "wet leather under oak"


def head(ledger):
    with office(str(ledger), read_only=True) as desk:
        return desk.ledger.head()


def forms():
    """The address of every form, with something plausible in its place holders."""
    routes = [route for module in pages.modules() for route in module.router.routes]
    found = [route for route in routes if isinstance(route, APIRoute) and "POST" in route.methods]
    return sorted(re.sub(r"{\w+}", "37", route.path) for route in found)


def photograph():
    made = Image.new("RGB", (60, 40), "white")
    details = made.getexif()
    details[0x0110] = "a camera"
    details.get_ifd(0x8825)[1] = "N"
    out = io.BytesIO()
    made.save(out, "JPEG", exif=details)
    return out.getvalue()


def keep_photo(browser, name="a.jpg", **words):
    said = json.dumps({"box": "B1", **words})
    return browser.api("POST", "/bench/photos", data={"words": said}, files={"picture": (name, photograph())})


@pytest.mark.parametrize("template", sorted(TEMPLATES.glob("*.html")), ids=lambda file: file.name)
def test_no_template_holds_script_or_style_of_its_own_or_names_another_host(template):
    text = template.read_text(encoding="utf-8")
    for never in (r"<style", r"\sstyle=", r"\son\w+=", r"javascript:", r"https?://(?!www\.w3\.org)", r'(src|href)="//'):
        assert not re.search(never, text, re.IGNORECASE), never
    assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", text))
    for made in re.findall(r"{{\s*([\w.\[\]]+)\s*\|\s*safe", text):
        assert re.search(r"svg|code|front|picture|drawing", made), f"{made} is no drawing, and is not escaped"


@pytest.mark.parametrize("token", [None, "", "x", "0" * 64])
def test_no_form_is_taken_without_the_token_of_its_visit(browser, planned, token):
    before = head(planned)
    paths = forms()
    assert len(paths) > 12
    for path in paths:
        form = {} if token is None else {"_token": token}
        answer = browser.ask("POST", path, data={**form, "person": "Marian Holt"})
        assert answer.status_code == 403, path
        assert "nothing was recorded" in answer.text, path
    assert head(planned) == before


@pytest.mark.parametrize("kind", ["text/plain", "application/xml", "application/x-www-form-urlencoded", ""])
def test_an_operation_takes_no_other_kind_of_body(browser, planned, kind):
    before = head(planned)
    body = json.dumps({"box": "B1", "mass": "13.04 kg"}).encode()
    headers = {"X-Findhold-Token": browser.token, **({"Content-Type": kind} if kind else {})}
    answer = browser.ask("POST", "/api/v1/weighings", content=body, headers=headers)
    assert answer.status_code == 422
    assert answer.json()["error"]["do"]
    assert head(planned) == before


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b"null", b'"x"', b"\xff\xfe", b'{"box": NaN}', b"[" * 2000])
def test_a_body_that_is_no_object_is_told_and_nothing_recorded(browser, planned, body):
    before = head(planned)
    headers = {"X-Findhold-Token": browser.token, "Content-Type": "application/json"}
    answer = browser.ask("POST", "/api/v1/weighings", content=body, headers=headers)
    assert answer.status_code == 422
    assert answer.json()["error"]["sentence"]
    assert head(planned) == before


@pytest.mark.parametrize("length", [str(MOST_UPLOAD_BYTES + 1), "-1", "1e9", "x"])
def test_an_upload_that_says_it_is_too_large_is_not_read(browser, length):
    headers = {"X-Findhold-Token": browser.token, "Content-Type": "multipart/form-data; boundary=x"}
    answer = browser.ask(
        "POST", "/api/v1/bench/photos", content=b"--x--", headers={**headers, "Content-Length": length}
    )
    assert answer.status_code == 413
    assert answer.json()["error"]["limit"] == "64 MB"


@pytest.mark.parametrize("name", ["../../../evil.jpg", "/etc/passwd", "..\\..\\evil.jpg", "a\0b.jpg", "x" * 300])
def test_a_name_that_climbs_is_never_a_file(browser, planned, tmp_path, name):
    before = {file for file in tmp_path.rglob("*") if "-files" not in str(file)}
    answer = keep_photo(browser, name)
    assert answer.status_code == 200, answer.text
    kept = planned.parent / answer.json()["kept_as"]
    assert kept.is_file()
    assert kept.parent.name.endswith("-files")
    assert re.fullmatch(r"[0-9a-f]+\.jpg", kept.name)
    # The journals of the ledger come and go beside it.
    after = {file for file in tmp_path.rglob("*") if "-files" not in str(file)}
    assert {file for file in after - before if not file.name.startswith(planned.name)} == set()


def test_where_a_photograph_was_taken_stays_out_unless_asked(browser, planned):
    for keep in (False, True):
        answer = keep_photo(browser, keep_details=keep, note=str(keep))
        assert answer.status_code == 200, answer.text
        data = (planned.parent / answer.json()["kept_as"]).read_bytes()
        details = Image.open(io.BytesIO(data)).getexif()
        assert bool(details.get_ifd(0x8825)) is keep
        assert (0x0110 in details) is keep


@pytest.mark.parametrize(
    "data", [b"<svg onload='x'/>", b"GIF89a" + b"\0" * 40, b"%PDF-1.7", b"\xff\xd8\xff" + b"\0" * 99]
)
def test_what_only_calls_itself_a_photograph_is_refused(browser, planned, data):
    before = head(planned)
    words = {"words": json.dumps({"box": "B1"})}
    answer = browser.api("POST", "/bench/photos", data=words, files={"picture": ("a.jpg", data, "image/jpeg")})
    assert answer.status_code == 422
    assert "JPEG" in answer.json()["error"]["limit"]
    assert head(planned) == before
    assert not list(planned.parent.glob("*-files/*.jpg"))


def test_wrong_passphrases_through_the_api_wait_like_those_on_the_page_and_stand_in_the_ledger(planned):
    with office(str(planned), read_only=True) as desk:
        signing.set_passphrase(desk, "Marian Holt", WORDS)
    browser = make_browser(planned, needed=True)
    for _ in range(FREE_TRIES):
        told = browser.api("POST", "/sign-in", {"person": "Marian Holt", "passphrase": "wrong"}, token=False)
        assert told.status_code == 403
    told = browser.api("POST", "/sign-in", {"person": "Marian Holt", "passphrase": WORDS}, token=False)
    assert told.status_code == 429
    assert browser.sign_in(passphrase=WORDS).status_code == 429, "the page knows of them too"
    with office(str(planned), read_only=True) as desk:
        story = [event.word for event in desk.ledger.story("visit/unit/Marian Holt")]
    assert story == ["visit.refused.1"] * FREE_TRIES


def test_the_cookie_of_the_api_is_kept_like_that_of_the_pages(planned):
    for secure in (False, True):
        browser = make_browser(planned, secure=secure)
        cookie = browser.api("POST", "/sign-in", {"person": "Saffron Ode"}, token=False).headers["set-cookie"]
        assert {"HttpOnly", "SameSite=Lax", "Path=/"} <= set(cookie.split("; "))
        assert cookie.startswith("__Host-") is secure
        assert ("Secure" in cookie.split("; ")) is secure
