"""A browser of the tests: the application asked in this process, with cookies, tokens and forms, and no network."""

import asyncio
import re
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta, timezone
from urllib.parse import urlencode

import httpx

NOW = datetime(2026, 8, 3, 9, 0, tzinfo=timezone(timedelta(hours=1)))


class Browser:
    """One browser at one application: keeps its cookies and follows redirections."""

    def __init__(self, app, base="http://localhost"):
        self.app = app
        self.base = base
        self.cookies = httpx.Cookies()
        self.token = ""

    def ask(self, method, path, *, follow=True, **words):
        async def asked():
            transport = httpx.ASGITransport(app=self.app)
            async with httpx.AsyncClient(
                transport=transport, base_url=self.base, cookies=self.cookies, follow_redirects=follow
            ) as client:
                answer = await client.request(method, path, **words)
                self.cookies = client.cookies
                return answer

        # In a thread of its own: a test beside this one may have an event loop running in the main thread.
        with ThreadPoolExecutor(1) as one:
            return one.submit(lambda: asyncio.run(asked())).result()

    def get(self, path, **words):
        return self.ask("GET", path, **words)

    def post(self, path, form=None, **words):
        """Send a form with this visit's token, as a page would."""
        return self.ask("POST", path, data={"_token": self.token, **(form or {})}, **words)

    def sign_in(self, person="Marian Holt", **form):
        """Choose a name on the sign-in page."""
        self.read_token(self.get("/sign-in").text)
        answer = self.post("/sign-in", {"person": person, **form})
        self.read_token(answer.text)
        return answer

    def read_token(self, text):
        found = re.search(r'name="findhold-token" content="([^"]+)"', text)
        if found:
            self.token = found[1]

    def api(self, method, path, words=None, *, key=None, token=True, **more):
        """An operation of the API."""
        headers = {"X-Findhold-Token": self.token} if token else {}
        if key:
            headers["Idempotency-Key"] = key
        if words is not None:
            more["json"] = words
        query = more.pop("query", None)
        address = f"/api/v1{path}" + (f"?{urlencode(query, doseq=True)}" if query else "")
        return self.ask(method, address, headers={**headers, **more.pop("headers", {})}, **more)


def make_browser(ledger, **rules):
    """A browser at a new application on a ledger."""
    from findhold.app.build import make_app
    from findhold.service.doorway import Doorway

    doorway = Doorway(ledger=str(ledger), secret=b"s" * 32, now=rules.pop("now", lambda: NOW), **rules)
    return Browser(make_app(doorway))


DEMO_FILES = (
    "people.csv",
    "contexts.csv",
    "stores.csv",
    "shelves.csv",
    "boxes.csv",
    "closures.csv",
    "finds_register.xlsx",
    "samples.csv",
)


def make_planned_ledger(folder, demo):
    """The demo's register with boxes planned and forecast for finds 37 and 44; returns the ledger's path."""
    from findhold.service import founding, holds, intake
    from findhold.service.ledger_case import Asked
    from findhold.service.office import office

    path = folder / "wcr26.ledger"

    def clock():
        return datetime(2026, 7, 31, 17, 30, tzinfo=timezone(timedelta(hours=1)))

    founding.new_ledger(founding.NewLedger(path=path, site="WCR26", name="Withy Carr", person="Marian Holt"), now=clock)
    with office(str(path), person="Marian Holt", now=clock) as desk:
        for name in DEMO_FILES:
            intake.import_file(desk, intake.ImportRequest(file=demo / name))
        foil = Asked(barrier="aluminium foil")
        holds.plan_finds(desk, holds.HoldRequest(finds=("37",), asked=foil))
        holds.plan_finds(desk, holds.HoldRequest(finds=("44",)))
        holds.keep_finds(desk, holds.HoldRequest(finds=("37", "44"), members=60))
    return path
