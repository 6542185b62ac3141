"""Pages: what they say, how they look things up, and that they work without script."""

import io
import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from conftest_web import NOW, make_browser

from findhold.errors import BadInput
from findhold.service.office import office
from findhold.service.pictures_in import take_picture
from findhold.service.registers import FindsRequest, find_finds
from findhold.service.today import TodayRequest, today
from findhold.web import pages


def words(answer):
    """The text of a page without its marks."""
    text = re.sub(r"<(script|style|svg).*?</\1>", " ", answer.text, flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def test_today_says_the_worst_first_one_line_a_box(browser):
    page = words(browser.get("/"))
    assert "Monday 3 August 2026, 09:00" in page
    act = page[page.index("Act now") : page.index("Today", page.index("Act now"))]
    assert act.count("WCR26-B1-U") == 1
    assert "check is late" in act
    assert page.count("WCR26-B1-U") == 1


def test_today_says_what_to_do_and_leads_to_where_it_is_done(browser):
    page = browser.get("/")
    assert re.search(r'href="/round/Fridge%201\?box=WCR26-B1-U"><b>weigh and look</b>', page.text)
    browser.app.state.doorway = replace(browser.app.state.doorway, now=lambda: NOW + timedelta(days=7))
    page = browser.get("/")
    assert re.search(r'href="/closures\?ask=37#ways"><b>open or extend: see options</b>', page.text)
    assert "kept too long" in page.text


def test_today_names_finds_that_wait_without_a_box(browser):
    page = words(browser.get("/"))
    assert "Waiting without a date" in page
    assert "41 no box planned yet" in page


def test_a_weighing_takes_the_box_off_the_late_ones(browser, planned):
    browser.api("POST", "/weighings", {"box": "B1", "mass": "13.04 kg", "wiped": True, "members": 20})
    with office(str(planned), read_only=True, now=browser.app.state.doorway.now) as desk:
        told = today(desk, TodayRequest(site="WCR26"))
    assert "37" not in {one.row.find for one in told.act if one.row.what == "check"}


def test_what_was_seen_amiss_comes_first(browser):
    browser.api("POST", "/weighings", {"box": "B1", "mass": "13.04 kg", "look": "mould", "members": 20})
    page = words(browser.get("/"))
    assert page.index("tell the conservator") < page.index("WCR26-B1-U")
    assert "Mould was seen: tell the conservator now" in words(browser.get("/finds/37"))


def test_a_find_is_found_by_number_by_words_and_by_filter(browser):
    assert browser.get("/finds?q=37").url.path == "/finds/37"
    page = words(browser.get("/finds?q=crushed+jar"))
    assert "jar, hand-made, crushed in its soil block" in page
    assert "shoe sole" not in page
    assert "shoe sole" in words(browser.get("/finds?held=no+box"))
    assert "jar, hand-made" not in words(browser.get("/finds?held=no+box"))
    assert "No find is like that" in words(browser.get("/finds?q=spaceship"))
    assert browser.get("/finds?held=nonsense").status_code == 422


@pytest.mark.parametrize("asked", ["%", "_", "'", '"', "\\", "a" * 500, "(217)", "<b>", "37' OR 1=1 --"])
def test_odd_words_find_nothing_and_break_nothing(browser, asked):
    answer = browser.get("/finds", params={"q": asked})
    assert answer.status_code == 200
    assert "<b>" not in answer.text.replace("<b>WCR", "")


def test_finds_are_leafed_through_in_the_order_they_are_counted(planned, monkeypatch):
    from findhold.service import registers

    monkeypatch.setattr(registers, "PAGE", 4)
    seen, after = [], ""
    with office(str(planned), read_only=True) as desk:
        while True:
            found = find_finds(desk, FindsRequest(site="WCR26", after=after))
            seen += [row.number for row in found.rows]
            if found.next_after is None:
                break
            after = found.next_after
    assert seen == ["B216", "37", "41", "42", "44", "45", "48", "52", "55"]


def test_a_sheet_has_its_section_its_strip_and_one_sentence_what_to_do(browser):
    answer = browser.get("/finds/37")
    assert answer.text.count("<svg xmlns") == 2
    assert "Section through F vessel" in answer.text
    page = words(answer)
    assert "Keep until" in page
    assert "Weigh it and look: its check of" in page
    for part in ("policy", "growth on wrapping", "Layers, from the floor up", "Its story", "entered in the register"):
        assert part in page, part


def test_a_find_without_a_box_says_so(browser):
    page = words(browser.get("/finds/41"))
    assert "Plan its box" in page
    assert "nothing to draw" in page


def test_labels_are_made_once_by_a_form_sent_twice(browser, planned):
    key = re.search(r'name="_key" value="([^"]+)"', browser.get("/finds/37").text)[1]
    for _ in range(2):
        answer = browser.post("/finds/37/labels", {"_key": key})
        assert answer.headers["content-type"] == "application/pdf"
    with office(str(planned), read_only=True) as desk:
        assert sum(event.word == "hold.labelled.1" for event in desk.ledger.story("hold/WCR26/B1")) == 1


def test_settings_tell_policy_stock_people_and_sources(browser):
    page = words(browser.get("/settings"))
    for part in ("policy days policy_days longest hold", "Idris Penhale", "Fridge 2", "F vessel", "works shutdown"):
        assert part in page, part
    assert re.search(r"policy_days longest hold from first exposure 14 ", page)
    assert "settings.toml" in page
    assert "Ojanen" in words(browser.get("/settings/sources"))


def test_the_network_page_shows_the_address_to_scan_and_how_to_trust(planned):
    plain = make_browser(planned)
    assert "Only this computer is served" in words(plain.get("/network"))
    assert plain.get("/findhold-authority.crt").status_code == 404
    served = make_browser(
        planned,
        addresses=("https://192.168.7.2:8470/",),
        ca_pem=b"PEM",
        ca_fingerprint="AA:BB",
        secure=True,
        needed=True,
    )
    page = served.get("/network")
    assert "192.168.7.2" in page.text
    assert "<svg" in page.text
    assert "AA:BB" in words(page)
    assert served.get("/findhold-authority.crt").content == b"PEM"


def test_every_page_is_small(browser):
    extra = sum(len(browser.get(f"/static/{name}").content) for name in ("house.css", "house.js", "mark.svg"))
    for path in ("/", "/finds", "/finds/37", "/settings", "/pattern", "/sign-in"):
        assert len(browser.get(path).content) + extra < 200_000, path


def test_what_is_typed_is_never_markup(browser):
    note = "<script>alert(1)</script>"
    browser.api("POST", "/weighings", {"box": "B1", "mass": "13.04 kg", "note": note, "members": 20})
    text = browser.get("/finds/37").text
    assert note not in text
    assert "&lt;script&gt;" in text


def picture(**save):
    from PIL import Image

    made = Image.new("RGB", (40, 20), "white")
    out = io.BytesIO()
    made.save(out, **save)
    return out.getvalue()


def test_a_picture_is_made_anew_upright_and_without_its_position():
    from PIL import Image

    details = Image.Exif()
    details[0x0112] = 6  # turned by 90 degrees
    details.get_ifd(0x8825)[1] = "N"
    data = picture(format="JPEG", exif=details)
    taken = take_picture(data)
    assert (taken.width_px, taken.height_px) == (20, 40)
    again = Image.open(io.BytesIO(taken.data))
    assert not again.getexif()
    assert not taken.position_kept
    kept = take_picture(data, keep_details=True)
    assert kept.position_kept
    assert Image.open(io.BytesIO(kept.data)).getexif().get_ifd(0x8825)
    assert 0x0112 not in Image.open(io.BytesIO(kept.data)).getexif()


@pytest.mark.parametrize(
    "data",
    [b"", b"GIF89a", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"%PDF-1.7", b"\xff\xd8\xff\xe0broken", b"MZ"],
)
def test_what_is_no_picture_is_refused(data):
    with pytest.raises(BadInput, match="no picture that can be read"):
        take_picture(data)


def test_a_picture_that_unpacks_to_too_much_is_not_opened(monkeypatch):
    from findhold.service import pictures_in

    monkeypatch.setattr(pictures_in, "MOST_PIXELS", 500)
    with pytest.raises(BadInput, match="too many pixels"):
        take_picture(picture(format="PNG"))


def test_the_pattern_page_shows_every_part_that_templates_share(browser):
    templates = Path(pages.__file__).parent / "templates"
    pattern = (templates / "pattern.html").read_text(encoding="utf-8")
    for name, called in (("parts.html", "parts"), ("picture_parts.html", "pictures")):
        made = re.findall(r"{% macro (\w+)\(", (templates / name).read_text(encoding="utf-8"))
        # `hidden` carries the token and is not seen; `sign` is the shape inside `status`.
        assert [one for one in made if one not in ("hidden", "sign") and f"{called}.{one}(" not in pattern] == []
    assert browser.get("/pattern").status_code == 200
