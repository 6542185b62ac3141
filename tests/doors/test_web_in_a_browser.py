"""The pages in a real browser at three sizes: they fit, can be tapped, read and printed, and ask nobody outside."""

import os
import shutil
import threading
import time

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1280, 800)}
PAGES = ("/", "/finds", "/finds/37", "/finds/41", "/settings", "/pattern", "/network", "/nowhere", "/api")
SMALL = """() => [...document.querySelectorAll('a, button, input, select, summary')].filter(e => {
  const box = e.getBoundingClientRect(), inline = e.closest('p, li:not(nav li), dd, td, th') && e.tagName === 'A';
  return box.width && box.height && !inline && e.type !== 'hidden' && !e.closest('.choices, .tick') &&
    !e.classList.contains('skip') && (box.height < 43.5 || box.width < 43.5);
}).map(e => e.outerHTML.slice(0, 90))"""


@pytest.fixture(scope="module")
def chromium():
    """Chromium, or the reason why not; on the machine that checks everything it has to be there."""
    if CHROMIUM is None:
        if os.environ.get("CI") == "true":
            pytest.fail("chromium is not installed")
        pytest.skip("chromium is not installed")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        made = play.chromium.launch(executable_path=CHROMIUM)
        yield made
        made.close()


@pytest.fixture
def address(planned):
    """The pages served on a port of their own."""
    from conftest_web import NOW

    from findhold.app import running

    made = running.ready(running.ServeRequest(ledger=str(planned), port=0, browser=False), now=lambda: NOW)
    threading.Thread(target=made.run, daemon=True).start()
    time.sleep(0.3)
    return made.address.rstrip("/")


def opened(chromium, address, size, **options):
    """A page of that size with Marian Holt signed in, and everything it asked for."""
    width, height = SIZES[size]
    context = chromium.new_context(viewport={"width": width, "height": height}, **options)
    page = context.new_page()
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(address + "/")
    page.get_by_role("button", name="Marian Holt").click()
    page.wait_for_url(address + "/")
    return page, asked


@pytest.mark.parametrize("size", SIZES)
def test_pages_fit_can_be_tapped_and_ask_nobody_outside(chromium, address, size):
    page, asked = opened(chromium, address, size)
    troubles = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("console", lambda said: troubles.append(said.text) if "Content Security" in said.text else None)
    for path in PAGES:
        page.goto(address + path)
        wide, room = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
        assert wide <= room, f"{path} is wider than the {size}"
        assert page.evaluate(SMALL) == [], path
    assert troubles == []
    assert [url for url in asked if not url.startswith(address)] == []
    page.context.close()


@pytest.mark.parametrize("look", ["light", "dark"])
def test_nothing_stands_in_the_way_of_people_who_see_or_move_otherwise(chromium, address, look):
    from axe_playwright_python.sync_playwright import Axe

    page, _ = opened(chromium, address, "phone", color_scheme=look)
    for path in PAGES:
        page.goto(address + path)
        found = Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]})
        told = [(item["id"], item["nodes"][0]["html"][:120]) for item in found.response["violations"]]
        assert told == [], path
    page.context.close()


def test_everything_works_without_script(chromium, address):
    page, _ = opened(chromium, address, "phone", java_script_enabled=False)
    page.get_by_role("link", name="Finds").click()
    page.get_by_label("Number or words").fill("jar")
    page.get_by_role("button", name="Look").click()
    page.get_by_role("link", name="jar, hand-made, crushed in its soil block").click()
    assert page.get_by_role("heading", name="Its story").is_visible()
    page.get_by_role("button", name="Sign out").click()
    assert page.get_by_role("heading", name="Who is here?").is_visible()
    page.context.close()


def test_one_can_get_about_with_the_keyboard_alone(chromium, address):
    page, _ = opened(chromium, address, "desktop")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Go to the page"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "sheet"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")
    page.context.close()


TWICE = "sheet => sheet.insertRule('html { font-size: 200% !important }', sheet.cssRules.length)"


@pytest.mark.parametrize("size", SIZES)
def test_text_at_twice_its_size_still_fits(chromium, address, size):
    page, _ = opened(chromium, address, size)
    for path in ("/", "/finds", "/finds/37", "/pattern", "/settings"):
        page.goto(address + path)
        page.evaluate(f"({TWICE})(document.styleSheets[0])")
        wide, room = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
        assert wide <= room, path
    page.context.close()


def test_a_sheet_prints_on_one_page(chromium, address, tmp_path):
    import pypdf

    page, _ = opened(chromium, address, "desktop")
    page.goto(address + "/finds/37")
    page.pdf(path=str(tmp_path / "sheet.pdf"), prefer_css_page_size=True)
    printed = pypdf.PdfReader(tmp_path / "sheet.pdf")
    assert len(printed.pages) == 1
    text = printed.pages[0].extract_text()
    assert "WCR26-B1-U" in text
    assert "Sign out" not in text
    page.context.close()


def test_a_button_tapped_twice_sends_one_form(chromium, address, planned):
    from findhold.service.office import office

    page, _ = opened(chromium, address, "phone")
    page.goto(address + "/finds/37")
    page.get_by_role("button", name="Make labels").dblclick(no_wait_after=True)
    for _ in range(100):
        time.sleep(0.1)
        with office(str(planned), read_only=True) as desk:
            made = sum(event.word == "hold.labelled.1" for event in desk.ledger.story("hold/WCR26/B1"))
        if made:
            break
    time.sleep(0.5)
    with office(str(planned), read_only=True) as desk:
        assert sum(event.word == "hold.labelled.1" for event in desk.ledger.story("hold/WCR26/B1")) == 1
    page.context.close()
