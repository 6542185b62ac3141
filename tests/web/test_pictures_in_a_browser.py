"""Pages with pictures in a real browser: they fit, everybody can reach them, by tap, by key and without script."""

import io
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

SCAN = Path(__file__).parents[2] / "examples" / "jar-scan.ply"
SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1280, 900)}
PAGES = (
    "/stores",
    "/stores/Fridge%202",
    "/closures",
    "/plot?feature=214",
    "/plot?feature=214&start=37&end=44",
    "/hand-over",
    "/hand-over?find=37&find=44",
    "/finds/44/view",
)
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.mark.parametrize("look", ["light", "dark"])
def test_pages_fit_and_stand_in_nobodys_way(device, served, look):
    from axe_playwright_python.sync_playwright import Axe

    page = device(color_scheme=look)
    for name, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        for path in PAGES:
            page.goto(served.url + path)
            wide, room = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
            assert wide <= room, f"{path} is wider than the {name}"
            if name == "phone":
                found = Axe().run(page, options={"runOnly": RULES})
                told = [(one["id"], one["nodes"][0]["html"][:160]) for one in found.response["violations"]]
                assert told == [], path
    assert page.errors == []


def test_a_tap_on_a_box_leads_to_its_find(device, served):
    page = device()
    page.goto(f"{served.url}/stores/Fridge%201")
    page.locator("a.over").first.tap()
    page.wait_for_url(re.compile(r"/finds/37"))
    assert "37" in page.locator("h1").inner_text() + page.title()


def test_two_taps_on_the_plan_give_the_distance_without_script(device, served, chromium):
    page = device(viewport={"width": 1280, "height": 900})
    stored = page.context.storage_state()
    context = chromium.new_context(
        java_script_enabled=False, storage_state=stored, viewport={"width": 1280, "height": 900}
    )
    plain = context.new_page()
    plain.goto(f"{served.url}/plot?feature=214")
    plain.get_by_role("link", name=re.compile("^what lies near find 37")).click()
    plain.get_by_role("link", name=re.compile("^distance from 37 to find 44")).click()
    assert "1.02 m" in plain.get_by_role("status").inner_text()
    context.close()


def test_the_hand_over_sheet_of_two_boxes_prints_on_two_pages_with_its_lines(device, served, tmp_path):
    from pypdf import PdfReader

    page = device()
    page.goto(f"{served.url}/hand-over?find=37&find=44")
    read = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    text = " ".join(" ".join(sheet.extract_text().split()) for sheet in read.pages)
    assert len(read.pages) <= 2
    assert text.count("Signature") == 2
    assert "Print this sheet" not in text


@pytest.fixture
def scanned(served):
    """Find 37 measured from a scan and planned again."""
    from findhold.service import holds
    from findhold.service.ledger_case import Asked
    from findhold.service.office import office
    from findhold.service.packing.measuring import MeasureRequest, measure

    with office(str(served.ledger), person="Marian Holt", now=served.now) as desk:
        measure(desk, MeasureRequest(find="37", scan=SCAN, units="mm", up="z"))
        holds.plan_finds(desk, holds.HoldRequest(finds=("37",), asked=Asked(barrier="aluminium foil")))
    return served


@pytest.fixture
def drawing_browser(chromium):
    """A browser that draws in three dimensions by reckoning alone."""
    made = chromium.browser_type.launch(
        executable_path=_path(),
        args=["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"],
    )
    yield made
    made.close()


def _path():
    import shutil

    return shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


def test_the_scan_is_turned_about_by_key_and_by_button(device, scanned, drawing_browser):
    stored = device().context.storage_state()
    context = drawing_browser.new_context(storage_state=stored, viewport={"width": 1280, "height": 900})
    page = context.new_page()
    troubles = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.goto(f"{scanned.url}/finds/37/view")
    # Asked through the page's tree: a text to evaluate would be refused by the page's own content policy.
    page.locator("#view-told", has_text="triangles").wait_for(state="attached")
    canvas = page.locator("#view canvas")
    pictures = [canvas.screenshot()]
    canvas.focus()
    for doing in (lambda: page.keyboard.press("ArrowRight"), lambda: page.get_by_role("button", name="Nearer").click()):
        doing()
        pictures.append(canvas.screenshot())
    assert len(set(pictures)) == 3
    page.keyboard.press("Home")
    page.get_by_role("button", name="As at first").click()
    shades = [np.asarray(Image.open(io.BytesIO(data)).convert("L"), float) for data in (*pictures, canvas.screenshot())]
    # The same view again but for the edge of a letter and of the focus; a turn changes far more.
    again, turned = (np.abs(shades[number] - shades[0]).mean() for number in (3, 1))
    assert again < turned / 2
    assert page.get_by_text("300 mm", exact=True).is_visible()
    assert page.get_by_role("heading", name="The section").is_visible()
    assert troubles == []
    context.close()


def test_without_webgl_the_section_stands_and_the_page_says_why(device, scanned):
    page = device()
    page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    page.goto(f"{scanned.url}/finds/37/view")
    page.get_by_text("This browser has no WebGL").wait_for()
    assert not page.locator("#view").is_visible()
    assert page.locator(".drawing svg").is_visible()
