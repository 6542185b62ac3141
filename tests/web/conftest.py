"""Pages in a real browser: the application on a port of this computer, and the system's Chromium to look at it.

Without Chromium these tests are skipped with that reason, or fail where CI says that it must be there.
"""

import os
import shutil
import socket
import sys
import threading
import time
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "doors"))

from conftest_web import make_planned_ledger

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"
MONDAY = datetime(2026, 8, 3, 9, 0, tzinfo=timezone(timedelta(hours=1)))
PHONE = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 2,
    "is_mobile": True,
    "has_touch": True,
    "timezone_id": "Europe/London",
}


@pytest.fixture(scope="package")
def chromium():
    """The system's Chromium, started once."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if found is None:
        if os.environ.get("CI"):
            pytest.fail("no Chromium is installed, and these tests must run here")
        pytest.skip("no Chromium is installed: apt-get install chromium")
    api = pytest.importorskip("playwright.sync_api")
    with api.sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=found,
            args=["--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-background-networking"],
        )
        yield browser
        browser.close()


@pytest.fixture(scope="package")
def planned_for_pages(tmp_path_factory):
    """A ledger with finds 37 and 44 planned and forecast, made once."""
    folder = tmp_path_factory.mktemp("pages")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FINDHOLD_HOME", str(folder / "home"))
        return make_planned_ledger(folder, DEMO)


class Served:
    """The application on one ledger at a port; its clock begins on that Monday and goes on."""

    def __init__(self, ledger):
        import uvicorn

        from findhold.app.build import make_app
        from findhold.service.doorway import Doorway

        self.ledger = ledger
        self.slow_s = 0.0
        self.begun = time.monotonic()
        app = make_app(Doorway(ledger=str(ledger), secret=b"s" * 32, now=self.now))
        self.socket = socket.socket()
        self.socket.bind(("127.0.0.1", 0))
        self.url = f"http://localhost:{self.socket.getsockname()[1]}"
        config = uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=1)
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": [self.socket]}, daemon=True)
        self.thread.start()
        while not self.server.started:
            time.sleep(0.02)

    def now(self):
        return MONDAY + timedelta(seconds=time.monotonic() - self.begun)

    def close(self):
        self.server.should_exit = True
        self.thread.join(10)
        self.socket.close()

    def holds(self):
        """Holds as the ledger has them, by find."""
        from findhold.service.office import office

        with office(str(self.ledger), read_only=True) as desk:
            return {hold.facts["find"]: hold.facts for hold in desk.ledger.states("hold")}

    def events(self, word):
        """Events of one word, in order."""
        from findhold.service.office import office
        from findhold.store.ledger import all_events

        with office(str(self.ledger), read_only=True) as desk, desk.ledger.reading() as connection:
            return [event for event in all_events(connection) if event.word == word]


@pytest.fixture
def served(planned_for_pages, tmp_path, monkeypatch):
    """The pages on a copy of that ledger, for one test."""
    monkeypatch.setenv("FINDHOLD_HOME", str(tmp_path / "home"))
    path = tmp_path / "wcr26.ledger"
    shutil.copy(planned_for_pages, path)
    made = Served(path)
    yield made
    made.close()


@pytest.fixture
def device(chromium, served):
    """device() -> a context of its own (a telephone), with a person signed in and its first page."""
    contexts = []

    def made(person="Marian Holt", **words):
        context = chromium.new_context(**{**PHONE, **words})
        context.set_default_timeout(15_000)
        contexts.append(context)
        page = context.new_page()
        page.errors = []
        page.on("pageerror", lambda error: page.errors.append(str(error)))
        page.clock.install(time=served.now())
        page.goto(f"{served.url}/sign-in")
        page.get_by_role("button", name=person).click()
        page.wait_for_url(f"{served.url}/")
        return page

    yield made
    for context in contexts:
        context.close()


@pytest.fixture(scope="module")
def shared(planned_for_pages, tmp_path_factory):
    """The pages on a copy of that ledger, for the tests of one module that only look."""
    folder = tmp_path_factory.mktemp("shared")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FINDHOLD_HOME", str(folder / "home"))
        path = folder / "wcr26.ledger"
        shutil.copy(planned_for_pages, path)
        made = Served(path)
        yield made
        made.close()


@pytest.fixture
def visitor(chromium, shared):
    """visitor((width, height), ...) -> a page of that size, signed in; it keeps what it asked for and its errors."""
    contexts = []

    def made(size=(390, 844), person="Marian Holt", **words):
        context = chromium.new_context(viewport={"width": size[0], "height": size[1]}, **words)
        context.set_default_timeout(30_000)
        contexts.append(context)
        page = context.new_page()
        page.errors, page.asked = [], []
        page.on("pageerror", lambda error: page.errors.append(str(error)))
        page.on("console", lambda said: page.errors.append(said.text) if said.type == "error" else None)
        context.on("request", lambda request: page.asked.append(request.url))
        page.goto(f"{shared.url}/sign-in")
        page.get_by_role("button", name=person).click()
        page.wait_for_url(f"{shared.url}/")
        return page

    yield made
    for context in contexts:
        context.close()
