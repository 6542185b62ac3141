"""Every page at three sizes: it opens, fits, can be tapped, reached by key and printed, and asks nobody outside."""

import io

import pytest

SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1280, 900)}
MORE_PAGES = (
    "/finds/37",
    "/finds/41",
    "/finds/37/view",
    "/pack/37",
    "/pack/41?try=yes",
    "/pack/store-codes",
    "/round/Fridge%201",
    "/round/Fridge%201?box=37",
    "/stores/Fridge%202",
    "/stores/Fridge%202/drill?since=2026-08-03T07:00&room=19",
    "/places?find=37",
    "/closures?ask=37",
    "/plot?feature=214&start=37&end=44",
    "/hand-over?find=37&find=44",
    "/settings/sources",
    "/settings/person/Idris%20Penhale",
    "/settings/box/F%20vessel",
    "/pattern",
    "/network",
    "/api",
    "/unsent",
    "/offline",
)
FIRST_VIEW_BYTES = 200_000

SMALL = """() => [...document.querySelectorAll('a, button, input, select, textarea, summary')].filter(one => {
  // A choice or a tick is tapped by its label; a link in running text and one laid over a drawing has a larger way too.
  const tapped = ['radio', 'checkbox'].includes(one.type) ? one.closest('label') ?? one : one;
  const box = tapped.getBoundingClientRect();
  const around = one.tagName === 'A' ? one.closest('p')?.textContent.trim() : '';
  const running = one.closest('svg') || around?.length > one.textContent.length + 20;
  return box.width && box.height && !running && one.type !== 'hidden' && !one.matches('.skip, .unseen') &&
    (box.height < 43.5 || box.width < 43.5);
}).map(one => one.outerHTML.slice(0, 100))"""
WEIGHT = """() => [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]
  .filter(one => one.initiatorType !== 'fetch').reduce((sum, one) => sum + one.encodedBodySize, 0)"""
WIDER = "() => document.documentElement.scrollWidth - window.innerWidth"
TWICE = """() => {
  const sheet = document.styleSheets[0];
  sheet.insertRule('html { font-size: 200% !important }', sheet.cssRules.length);
}"""
COLLISIONS = """() => {
  const lines = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const away = 'svg, script, noscript, .skip, .unseen, [hidden], option';
  for (let node; (node = walk.nextNode()); ) {
    const parent = node.parentElement;
    if (!node.data.trim() || parent.closest(away)) continue;
    if (!parent.checkVisibility({ visibilityProperty: true, opacityProperty: true })) continue;
    let [left, right, hidden] = [-Infinity, Infinity, false];
    for (let around = parent; around; around = around.parentElement) {
      const style = getComputedStyle(around);
      hidden ||= style.clipPath !== 'none' || style.position === 'fixed' || style.position === 'sticky';
      if (style.overflowX !== 'visible') {
        const box = around.getBoundingClientRect();
        [left, right] = [Math.max(left, box.left), Math.min(right, box.right)];
      }
    }
    if (hidden) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects()) {
      const line = { node, left: Math.max(left, box.left), right: Math.min(right, box.right), top: box.top,
        bottom: box.bottom, text: node.data.trim().slice(0, 40) };
      if (line.right - line.left > 1 && box.height > 1) lines.push(line);
    }
  }
  const found = [];
  lines.sort((one, other) => one.top - other.top);
  lines.forEach((one, first) => {
    for (const other of lines.slice(first + 1)) {
      if (other.top >= one.bottom) break;
      const wide = Math.min(one.right, other.right) - Math.max(one.left, other.left);
      const high = Math.min(one.bottom, other.bottom) - other.top;
      const least = Math.min(one.bottom - one.top, other.bottom - other.top);
      if (one.node !== other.node && wide > 3 && high > least / 2) found.push([one.text, other.text]);
    }
  });
  return found;
}"""
CLIPPED = """() => [...document.querySelectorAll('main *, header *')].filter(one => {
  const style = getComputedStyle(one);
  return ['hidden', 'clip'].includes(style.overflowX) && one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 1 &&
    !one.closest('svg') && one.tagName !== 'INPUT' && one.tagName !== 'SELECT';
}).map(one => one.outerHTML.slice(0, 100))"""


@pytest.fixture(scope="module")
def paths(shared):
    """Every page: those of the navigation as the program itself lists them, and those behind them."""
    from findhold.web import pages

    listed = [entry.path for entry in pages.navigation()]
    assert len(listed) >= 9
    return [*listed, *MORE_PAGES]


@pytest.mark.parametrize("size", SIZES)
def test_every_page_opens_fits_and_can_be_tapped(visitor, shared, paths, size):
    page = visitor(SIZES[size])
    for path in paths:
        assert page.goto(shared.url + path, wait_until="load").status == 200, path
        assert page.evaluate(WIDER) <= 0, f"{path} is wider than the {size}"
        assert page.evaluate(SMALL) == [], path
        assert page.evaluate(COLLISIONS) == [], path
        assert page.evaluate(WEIGHT) < FIRST_VIEW_BYTES, path
    assert page.errors == []
    assert [url for url in page.asked if not url.startswith((shared.url, "data:", "blob:"))] == []


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_text_at_twice_its_size_is_not_cut_and_does_not_collide(visitor, shared, paths, size):
    page = visitor(SIZES[size])
    for path in paths:
        page.goto(shared.url + path)
        page.evaluate(TWICE)
        assert page.evaluate(WIDER) <= 0, f"{path} is wider than the {size}"
        assert page.evaluate(CLIPPED) == [], path
        assert page.evaluate(COLLISIONS) == [], path


RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.mark.parametrize("look", ["light", "dark"])
def test_no_page_stands_in_the_way_of_people_who_see_or_move_otherwise(visitor, shared, paths, look):
    from axe_playwright_python.sync_playwright import Axe

    # In the dark only the colours are others.
    only = {"type": "tag", "values": RULES} if look == "light" else {"type": "rule", "values": ["color-contrast"]}
    axe, page = Axe(), visitor(SIZES["phone"], color_scheme=look)
    for path in [*paths, "/nowhere"]:
        page.goto(shared.url + path)
        found = axe.run(page, options={"runOnly": only, "resultTypes": ["violations"]})
        told = [(one["id"], one["nodes"][0]["html"][:160]) for one in found.response["violations"]]
        assert told == [], path


FOCUSED = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const shown = [one, one.closest('label'), one.querySelector('rect')].filter(Boolean);
  const seen = shown.some(part => {
    const style = getComputedStyle(part);
    return (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2) ||
      (part.tagName === 'rect' && style.stroke !== 'none');
  });
  one.dataset.reached = 'yes';
  return { seen, html: one.outerHTML.slice(0, 100) };
}"""
NOT_REACHED = """() => [...document.querySelectorAll('a[href], button, input, select, summary, [tabindex="0"]')]
  .filter(one => one.checkVisibility({ visibilityProperty: true }) && one.type !== 'hidden' && !one.disabled &&
    !one.dataset.reached && !(one.type === 'radio' && document.querySelector(`[name="${one.name}"][data-reached]`)))
  .map(one => one.outerHTML.slice(0, 100))"""


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/finds",
        "/finds/37",
        "/pack/37",
        "/round/Fridge%201?box=37",
        "/stores/Fridge%202",
        "/closures",
        "/hand-over",
        "/settings",
        "/settings/store/Fridge%201",
        "/pattern",
    ],
)
def test_everything_is_reached_by_the_tab_key_and_seen_to_be(visitor, shared, path):
    page = visitor(SIZES["desktop"])
    page.goto(shared.url + path)
    page.evaluate("document.activeElement.blur()")
    first = None
    for _ in range(200):
        page.keyboard.press("Tab")
        at = page.evaluate(FOCUSED)
        if at is None or at["html"] == first:
            break
        first = first or at["html"]
        assert at["seen"], at["html"]
    assert page.evaluate(NOT_REACHED) == []


LETTERS = """() => [...document.querySelectorAll('.drawing svg')].flatMap(drawn => {
  const scale = drawn.getBoundingClientRect().width / drawn.viewBox.baseVal.width;
  const sizes = [...drawn.querySelectorAll('text')].map(one => parseFloat(getComputedStyle(one).fontSize) * scale);
  return sizes.filter(size => size < 7).map(size => size.toFixed(1));
})"""
HINTS = """() => [...document.querySelectorAll('.film, .table, .masthead nav ul')]
  .filter(place => place.scrollWidth > place.clientWidth + 1)
  .map(place => ({
    arrow: getComputedStyle(place.parentElement, '::after').content !== 'none' ||
      getComputedStyle(place.parentElement, '::before').content !== 'none',
    words: !place.matches('.drawing .film') || place.parentElement.querySelector('.slide').checkVisibility(),
    key: place.tabIndex === 0 || !!place.querySelector('a'),
  }))"""


@pytest.mark.parametrize("size", ["phone", "tablet"])
def test_what_is_wider_than_the_page_says_so_and_slides_by_key(visitor, shared, size):
    page = visitor(SIZES[size])
    for path in ("/", "/finds/37", "/closures", "/plot?feature=214", "/finds/37/view"):
        page.goto(shared.url + path)
        page.locator(".masthead nav:is(.slides, .slides-not)").wait_for()
        assert page.evaluate(LETTERS) == [], path
        told = page.evaluate(HINTS)
        assert [one for one in told if not all(one.values())] == [], path
        assert told or size == "tablet", "a telephone is narrower than the navigation"


def test_a_drawing_moves_by_the_arrow_keys(visitor, shared):
    page = visitor(SIZES["phone"])
    page.goto(f"{shared.url}/finds/37")
    film = page.locator(".wide-drawing .film")
    film.focus()
    for _ in range(5):
        page.keyboard.press("ArrowRight")
    page.locator(".wide-drawing.slides-back").wait_for()
    assert film.evaluate("film => film.scrollLeft") > 0


def test_the_first_key_leads_past_the_navigation(visitor, shared):
    page = visitor(SIZES["desktop"])
    page.goto(f"{shared.url}/finds")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Go to the page"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "sheet"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


def test_one_gets_about_without_script(visitor, shared):
    page = visitor(SIZES["phone"], java_script_enabled=False)
    page.get_by_role("link", name="Finds").click()
    page.get_by_label("Number or words").fill("jar")
    page.get_by_role("button", name="Look").click()
    page.get_by_role("link", name="jar, hand-made, crushed in its soil block").click()
    assert page.get_by_role("heading", name="Its story").is_visible()
    page.get_by_role("button", name="Sign out").click()
    assert page.get_by_role("heading", name="Who is here?").is_visible()


PRINTED = {
    "/finds/37": (1, ["WCR26-B1-U", "Keep until", "Its story", "foil"]),
    "/round/Fridge%201": (1, ["Fridge 1", "WCR26-B1-U", "jar, hand-made"]),
    "/hand-over?find=37&find=44": (2, ["Hand-over sheet", "WCR26-B1-U", "Signature", "Cautions"]),
    "/closures": (2, ["Closed Sat 8 Aug", "WCR26-B1-U"]),
    "/pack/37": (3, ["unpowdered gloves", "WCR26-B1-U", "Sign: who packed"]),
    "/pack/store-codes": (1, ["Fridge 1", "Fridge 2", "Cool room"]),
}


@pytest.mark.parametrize("path", PRINTED)
def test_a_page_prints_on_paper_with_what_is_wanted_and_nothing_to_press(visitor, shared, path):
    import pypdf

    most, wanted = PRINTED[path]
    page = visitor(SIZES["tablet"], color_scheme="dark")
    page.goto(shared.url + path)
    read = pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True, print_background=True)))
    text = " ".join(" ".join(sheet.extract_text().split()) for sheet in read.pages)
    assert len(read.pages) <= most
    assert [word for word in wanted if word not in text] == []
    assert [
        word for word in ("Sign out", "Print this sheet", "Take this box", "Undo", "Settings") if word in text
    ] == []
    width_mm, height_mm = (float(side) * 25.4 / 72 for side in read.pages[0].mediabox[2:])
    assert (round(width_mm), round(height_mm)) == (210, 297)
