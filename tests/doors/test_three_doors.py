"""One use case, three doors: what the command prints with --json, the API answers and the page says is the same.

Each door works on a ledger of its own, at the same moment, so that also what they record can be laid side by side.
"""

import html
import re
import shutil
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from conftest_web import NOW, make_browser

from conftest import EXAMPLES
from findhold.rounding import told_expected, told_span
from findhold.service import office as offices
from findhold.store.ledger import all_events
from findhold.web import rendering

SCENARIO = EXAMPLES / "worked-box.toml"
SCAN = EXAMPLES / "jar-scan.ply"
OFF = "2026-08-03T07:00:00+01:00"
OWN = ("visit.begun.1", "visit.refused.1")
"""What a door records of its own: who came in."""


@dataclass(frozen=True, kw_only=True)
class UseCase:
    """What is asked at each door, and what of the answer a page must say.

    typed : the command's words. api, page : ask at a browser. says : texts of the answer that the page must hold.
    same : the part of an answer that is compared, where a door adds what the other has no use for.
    """

    typed: tuple[Any, ...]
    api: Callable[[Any], Any]
    page: Callable[[Any], Any] | None = None
    says: Callable[[dict[str, Any]], list[str]] | None = None
    same: Callable[[dict[str, Any]], Any] = lambda answer: answer


def key_of(text: str) -> str:
    return re.search(r'name="_key" value="([^"]+)"', text)[1]


def told(answer: Any) -> str:
    """The words of a page, in one line."""
    text = re.sub(r"<(script|style)\b.*?</\1>", " ", answer.text, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def sent(path: str, form: dict[str, Any] | None = None, **more: Any) -> Callable[[Any], Any]:
    """A form filled in and sent, as a page would."""
    return lambda browser: browser.post(path, {**(form or {}), "_key": str(uuid.uuid4())}, **more)


def asked(method: str, path: str, words: Any = None, **more: Any) -> Callable[[Any], Any]:
    return lambda browser: browser.api(method, path, words, **more)


def seen(path: str) -> Callable[[Any], Any]:
    return lambda browser: browser.get(path)


def without(*names: str) -> Callable[[dict[str, Any]], Any]:
    return lambda answer: {name: value for name, value in answer.items() if name not in names}


def finds_said(answer: dict[str, Any]) -> list[str]:
    return [said for row in answer["rows"] for said in (row["number"], row["what"], row["state"])]


def stores_said(answer: dict[str, Any]) -> list[str]:
    return [said for row in answer["rows"] for said in (row["name"], rendering.figure(row["temp_c"]))]


def find_said(answer: dict[str, Any]) -> list[str]:
    facts, hold = answer["facts"], answer["hold"]
    said = [facts["what"], facts["material"], facts["state"], *(line["meaning"] for line in answer["story"])]
    if hold is None:
        return [*said, "no box"]
    forecast = hold["forecast"]
    limits = [limit["name"] for limit in forecast["limits"]]
    keep = [rendering.day_long(forecast["keep_until"]), forecast["governing_limit"], *limits]
    expected = [
        told_expected(band["low_kg"], band["best_kg"], band["high_kg"], weighed=bool(hold.get("weighings")))
        for band in forecast["mass_band"]
    ]
    return [*said, hold["box_id"], *keep, *expected]


def plan_said(answer: dict[str, Any]) -> list[str]:
    water = f"{answer['dose_g']:.0f} g" if answer["dose_g"] else "none"
    return [answer["box"], rendering.mass(answer["gross_mass_kg"], 2), water, *answer["warnings"]]


def due_said(answer: dict[str, Any]) -> list[str]:
    # A visit for a missed check does today's as well, so Today has each late box once.
    coming = [row for row in answer["rows"] if "2026-08-04" < row["at"] < "2026-08-10T09:00"]
    rows = [
        said for row in coming for said in (rendering.day(row["at"]), *([row["note"]] if row["what"] == "open" else []))
    ]
    late = [row["box_id"] for row in answer["late"]]
    return [*rows, *late, *(f"{number} no box planned yet" for number in answer["not_planned"] if number != "45")]


def weighed_said(answer: dict[str, Any]) -> list[str]:
    ahead = answer["next_check"]
    band = told_span(ahead["low_kg"], ahead["high_kg"])
    when = f"Next check {rendering.when(ahead['at'])}: {band}"
    return [
        answer["verdict"].capitalize(),
        answer["box_id"],
        when,
        rendering.day(answer["keep_until"]),
        *answer["says"],
    ]


def helps_said(answer: dict[str, Any]) -> list[str]:
    """What each measure that helps says to do, and until when; what moves no date is only named."""
    helps = [option for option in answer["options"] if option["gain_days"] > 0]
    assert helps
    return [
        said
        for one in helps
        for said in (one["text"].split(": keeps ")[0][1:], rendering.day(one["keep_until"]), one["work"])
    ]


def closure_said(answer: dict[str, Any]) -> list[str]:
    """What the page of a closure says of the ways of one hold, and of who comes."""
    hold = next(one for one in answer["holds"] if one["standing"]["held"]["number"] == "37")
    ways = [
        said for way in hold["ways"] for said in ((way["do"], way["work"]) if way["possible"] else (way["why_not"],))
    ]
    return [*ways, *hold["no_help"], *answer["who_comes"], hold["standing"]["wait"]["why"]]


def rounds_said(answer: dict[str, Any]) -> list[str]:
    """What the page of rounds says of each visit and its boxes, and of what was missed."""
    visits = [visit["who"] or "anybody who is in" for visit in answer["visits"]]
    boxes = [box for visit in answer["visits"] for box in visit["boxes"]]
    bands = [
        told_expected(box["low_kg"], box["best_kg"], box["high_kg"], weighed=box["last_kg"] is not None)
        for box in boxes
        if box["low_kg"] is not None
    ]
    missed = [f"{one['checks']} checks since" for one in answer["missed"] if one["checks"] > 1]
    return [*visits, *bands, *(f"find {box['find']}" for box in boxes), *missed]


def options_of(answer: dict[str, Any]) -> Any:
    ways = [{name: value for name, value in one.items() if name != "helps"} for one in answer["options"]]
    return answer["keep_until"], answer["governing_limit"], answer["dominant"], ways


def distance_said(answer: dict[str, Any]) -> list[str]:
    one = answer["distances"][0]
    return [f"{one['plan_m']:.2f} m in plan", f"{one['slope_m']:.2f} m in space"]


def drill_said(answer: dict[str, Any]) -> list[str]:
    said = [answer["call_first"]["phone"], *(text for _, text in answer["acts"])]
    return [*said, *(word for box in answer["boxes"] for word in (box["box"], box["place"]["place"]))]


def store_said(answer: dict[str, Any]) -> list[str]:
    return [*answer["what_happened"], *(f"{box['find']}" for box in answer["boxes"])]


def planned_here(browser: Any) -> Any:
    browser.post("/pack/41/plan", {"_key": str(uuid.uuid4())})
    return browser.get("/finds/41")


WEIGHED = {"mass": "13.04 kg", "look": "right", "wiped": True}
SCAN_FILE = ("scan.ply", SCAN.read_bytes(), "application/octet-stream")
FAILED = {"begins": "2026-07-31T20:00+01:00", "ends": "2026-08-02T03:00+01:00", "room_c": 19}
FAILED_TYPED = ("--from", FAILED["begins"], "--to", FAILED["ends"], "--room", "19")
SPOKEN = ("says", "do", "notes", "photo")
"""Lines that speak of a command on the terminal and of a page in a browser."""

LOOKING = {
    "list the finds": UseCase(
        typed=("list", "finds"), api=asked("GET", "/lists/finds"), page=seen("/finds"), says=finds_said
    ),
    "list the stores": UseCase(
        typed=("list", "stores"), api=asked("GET", "/lists/stores"), page=seen("/settings"), says=stores_said
    ),
    "show a find in its box": UseCase(
        typed=("show", "37"), api=asked("GET", "/finds/37"), page=seen("/finds/37"), says=find_said
    ),
    "show a find without a box": UseCase(
        typed=("show", "41"), api=asked("GET", "/finds/41"), page=seen("/finds/41"), says=find_said
    ),
    "what is due": UseCase(
        typed=("due", "--at", NOW.isoformat()), api=asked("GET", "/due"), page=seen("/"), says=due_said
    ),
    "plan without recording": UseCase(
        typed=("plan", "41", "--dry-run"),
        api=asked("POST", "/plans", {"finds": ["41"], "dry_run": True}),
        page=seen("/pack/41?try=yes"),
        says=plan_said,
    ),
    "what helps": UseCase(
        typed=("keep", "37", "--options", "--dry-run"),
        api=asked("GET", "/finds/37/ways-out"),
        page=seen("/closures?ask=37"),
        says=helps_said,
        same=options_of,
    ),
    "the plan of a closure": UseCase(
        typed=("keep", "--closure", "2026-08-08"),
        api=asked("GET", "/closures/plan?closure=2026-08-08"),
        page=seen("/closures?closure=2026-08-08&ask=37"),
        says=closure_said,
        same=without("files"),
    ),
    "the plan of rounds": UseCase(
        typed=("round", "--days", "30", "--at", NOW.isoformat()),
        api=asked("GET", "/rounds?days=30"),
        page=seen("/rounds?days=30"),
        says=rounds_said,
        same=without("files"),
    ),
    "distance of two finds": UseCase(
        typed=("plot", "214", "--distance", "37,44", "--out", "plan.svg"),
        api=asked("GET", "/plot", query={"feature": "214", "distance": "37,44"}),
        page=seen("/plot?feature=214&start=37&end=44"),
        says=distance_said,
        same=without("files", "svg"),
    ),
    "keep from a scenario": UseCase(
        typed=("keep", SCENARIO, "--members", "40"),
        api=asked("POST", "/what-if/keep", {"scenario": SCENARIO.read_text(encoding="utf-8"), "members": 40}),
    ),
    "plan from a scenario": UseCase(
        typed=("plan", SCENARIO),
        api=asked("POST", "/what-if/plan", {"scenario": SCENARIO.read_text(encoding="utf-8")}),
    ),
    "where a box can go": UseCase(
        typed=("move", "44", "--at", "2026-08-03T09:00:00+01:00"),
        api=asked("GET", "/finds/44/places"),
        page=seen("/places?find=44"),
        says=lambda answer: [said for place in answer["open"][:6] for said in (place["place"], place["words"])],
    ),
    "a store that failed": UseCase(
        typed=("move", "--off", "Fridge 2", "--since", OFF, "--room", "19", "--at", "2026-08-03T09:00:00+01:00"),
        api=asked("POST", "/stores/Fridge%202/drill", {"begins": OFF, "room_c": 19.0}),
        page=seen("/stores/Fridge%202/drill?since=2026-08-03T07:00&room=19"),
        says=drill_said,
        same=without("file"),
    ),
    "proof": UseCase(
        typed=("prove",), api=asked("GET", "/proof"), same=without("events", "devices", "newest_hash", "ledger")
    ),
}

RECORDING = {
    "a way over a closure": UseCase(
        typed=("keep", "--closure", "2026-08-08", "--choose", "37=inert", "--reason", "agreed"),
        api=asked(
            "POST",
            "/closures/plan",
            {"closure": "2026-08-08", "choices": [{"find": "37", "way": "inert"}], "reason": "agreed"},
        ),
        page=sent(
            "/closures/choose?closure=2026-08-08",
            {"closure": "2026-08-08", "find": "37", "way": "inert", "reason": "agreed"},
        ),
        says=lambda _: ["inert wrapping", "wrap with damp polyester web", "agreed", "not enough"],
        same=lambda answer: answer["recorded"],
    ),
    "a hold that ended": UseCase(
        typed=("open", "44", "--reason", "metal came loose"),
        api=asked("POST", "/finds/44/open", {"reason": "metal came loose"}),
        page=sent("/finds/44/open", {"how": "opened", "reason": "metal came loose"}),
        says=lambda answer: [f"Its hold has ended: {answer['how']} on", answer["reason"]],
    ),
    "a box moved": UseCase(
        typed=("move", "44", "--to", "Fridge 1", "--shelf", "2", "--at", "2026-08-03T09:00:00+01:00"),
        api=asked("POST", "/finds/44/move", {"to": "Fridge 1", "shelf": "2", "at": "2026-08-03T09:00:00+01:00"}),
        page=sent("/places", {"find": "44", "store": "Fridge 1", "shelf": "2", "at": "2026-08-03T09:00"}),
        says=lambda answer: [f"stands in {answer['store']}, shelf {answer['shelf']}"],
    ),
    "plan and keep": UseCase(
        typed=("plan", "41"), api=asked("POST", "/plans", {"finds": ["41"]}), page=planned_here, says=plan_said
    ),
    "weigh": UseCase(
        typed=("weigh", "B1", "13.04 kg", "--wiped", "--look", "right", "--at", "2026-08-03T09:00:00+01:00"),
        api=asked("POST", "/weighings", {"box": "B1", **WEIGHED, "at": "2026-08-03T09:00:00+01:00"}),
        page=sent(
            "/round/Fridge%201/check", {"box": "B1", "mass": "13.04", "unit": "kg", "look": "right", "wiped": "yes"}
        ),
        says=weighed_said,
    ),
    "look without a balance": UseCase(
        typed=("weigh", "B1", "--look", "mould", "--at", "2026-08-03T09:00:00+01:00"),
        api=asked("POST", "/weighings", {"box": "B1", "look": "mould", "at": "2026-08-03T09:00:00+01:00"}),
        page=sent("/round/Fridge%201/check", {"box": "B1", "mass": "", "unit": "kg", "look": "mould"}),
        says=lambda answer: [answer["verdict"].capitalize(), answer["box_id"], *answer["says"], *answer["tell"]],
    ),
    # The page asks in kilograms and records what it asked in.
    "check on a round": UseCase(
        typed=("weigh", "37", "13,02 kg", "--wiped", "--look", "dry", "--at", "2026-08-03T09:00:00+01:00"),
        api=asked("POST", "/bench/checks", {"box": "37", "mass": "13,02 kg", "look": "dry", "wiped": True}),
        page=sent("/round/Fridge%201/check", {"box": "37", "mass": "13,02", "look": "dry", "wiped": "yes"}),
        says=lambda answer: [answer["verdict"].capitalize(), answer["box_id"], *answer["tell"]],
        same=without(*SPOKEN),
    ),
    "label": UseCase(
        typed=("label", "37", "--out", "labels.pdf"),
        api=asked("POST", "/labels", {"finds": ["37"]}),
        page=sent("/finds/37/labels"),
        same=without("file"),
    ),
    "a stock that changed": UseCase(
        typed=("change", "box", "F vessel", "count=7", "--reason", "counted"),
        api=asked(
            "POST", "/changes", {"kind": "box", "name": "F vessel", "fields": {"count": "7"}, "reason": "counted"}
        ),
        page=sent("/settings/box/F%20vessel", {"count": "7", "was-count": "5", "reason": "counted"}),
        says=lambda answer: [f"count {answer['changes'][0]['after']} (counted)", answer["name"]],
        same=without("at"),
    ),
    # At the pages sizes by tape are typed in Pack, where they are recorded with the plan that is made of them.
    "measure by tape": UseCase(
        typed=("measure", "41", "--size", "212x162x84", "--mass", "1.3 kg"),
        api=asked("POST", "/finds/41/measures", {"size": "212x162x84", "mass": "1.3 kg"}),
    ),
    "measure from a scan": UseCase(
        typed=("measure", "37", "--scan", "scan.ply", "--units", "mm", "--up", "z"),
        api=asked("POST", "/finds/37/scans", files={"file": SCAN_FILE}, data={"units": "mm", "up": "z"}),
        page=sent("/pack/37/scan", {"units": "mm", "up": "z"}, files={"scan": SCAN_FILE}),
    ),
    "a store that was off": UseCase(
        typed=("import", "--failure", "Fridge 2", *FAILED_TYPED),
        api=asked("POST", "/stores/Fridge%202/failures", FAILED),
        page=sent(
            "/stores/Fridge%202/failures",
            {"begins": "2026-07-31T20:00", "ends": "2026-08-02T03:00", "room": "19", "do": "record"},
        ),
        says=store_said,
    ),
}

WRONG = {
    "a closure nobody knows": UseCase(
        typed=("keep", "--closure", "Michaelmas"),
        api=asked("GET", "/closures/plan?closure=Michaelmas"),
        page=seen("/closures/plan.pdf?closure=Michaelmas"),
    ),
    "a way over a closure that is none": UseCase(
        typed=("keep", "--closure", "2026-08-08", "--choose", "37=prayer"),
        api=asked("POST", "/closures/plan", {"closure": "2026-08-08", "choices": [{"find": "37", "way": "prayer"}]}),
        page=sent("/closures/choose?closure=2026-08-08", {"closure": "2026-08-08", "find": "37", "way": "prayer"}),
    ),
    "an end that is none": UseCase(
        typed=("open", "44", "--how", "eaten"),
        api=asked("POST", "/finds/44/open", {"how": "eaten"}),
        page=sent("/finds/44/open", {"how": "eaten"}),
    ),
    "a round of a store nobody knows": UseCase(
        typed=("round", "--store", "Fridge 9", "--at", NOW.isoformat()),
        api=asked("GET", "/rounds?store=Fridge%209"),
        page=seen("/rounds?store=Fridge%209"),
    ),
    "a shelf nobody knows": UseCase(
        typed=("move", "44", "--to", "Fridge 1", "--shelf", "9"),
        api=asked("POST", "/finds/44/move", {"to": "Fridge 1", "shelf": "9"}),
        page=sent("/places", {"find": "44", "store": "Fridge 1", "shelf": "9"}),
    ),
    "a find nobody knows": UseCase(typed=("show", "3777"), api=asked("GET", "/finds/3777"), page=seen("/finds/3777")),
    "a list that is none": UseCase(typed=("list", "fynds"), api=asked("GET", "/lists/fynds")),
    "a site nobody knows": UseCase(
        typed=("list", "finds", "--site", "NOPE"),
        api=asked("GET", "/lists/finds?site=NOPE"),
        page=seen("/finds?site=NOPE"),
    ),
    "a stock that is none": UseCase(
        typed=("change", "box", "F vessel", "count=few"),
        api=asked("POST", "/changes", {"kind": "box", "name": "F vessel", "fields": {"count": "few"}}),
        page=sent("/settings/box/F%20vessel", {"count": "few", "was-count": "5"}),
    ),
    "a mass that is none": UseCase(
        typed=("weigh", "B1", "heavy"),
        api=asked("POST", "/weighings", {"box": "B1", "mass": "heavy"}),
        page=sent("/round/Fridge%201/check", {"box": "B1", "mass": "heavy", "look": "right"}),
    ),
    "a sheet to lie between that is none": UseCase(
        typed=("plan", "41", "--barrier", "cheese"),
        api=asked("POST", "/plans", {"finds": ["41"], "barrier": "cheese"}),
        page=sent("/pack/41/plan", {"barrier": "cheese"}),
    ),
    "a feature nobody knows": UseCase(
        typed=("plot", "999"), api=asked("GET", "/plot", query={"feature": "999"}), page=seen("/plot?feature=999")
    ),
    "labels of what has no box": UseCase(
        typed=("label", "41"), api=asked("POST", "/labels", {"finds": ["41"]}), page=sent("/finds/41/labels")
    ),
    "a store nobody knows": UseCase(
        typed=("import", "--failure", "Fridge 9", *FAILED_TYPED),
        api=asked("POST", "/stores/Fridge%209/failures", FAILED),
        page=seen("/stores/Fridge%209"),
    ),
    "a failure that ends before it begins": UseCase(
        typed=("import", "--failure", "Fridge 2", "--from", FAILED["ends"], "--to", FAILED["begins"], "--room", "19"),
        api=asked(
            "POST", "/stores/Fridge%202/failures", {**FAILED, "begins": FAILED["ends"], "ends": FAILED["begins"]}
        ),
        page=sent(
            "/stores/Fridge%202/failures",
            {"begins": "2026-08-02T03:00", "ends": "2026-07-31T20:00", "room": "19", "do": "record"},
        ),
    ),
}


@pytest.fixture
def doors(planned, findhold, tmp_path, monkeypatch):
    """doors(case) -> answers of command, API and page, and the ledger of each; all at one moment."""
    monkeypatch.setitem(offices.office.__wrapped__.__kwdefaults__, "now", lambda: NOW)
    ledgers = {}
    for door in ("command", "api", "page"):
        (tmp_path / door).mkdir()
        ledgers[door] = tmp_path / door / "wcr26.ledger"
        shutil.copy(planned, ledgers[door])

    def ask(case):
        shutil.copy(SCAN, tmp_path / "scan.ply")
        monkeypatch.setenv("FINDHOLD_LEDGER", str(ledgers["command"]))
        command = findhold(*case.typed, "--json")
        browsers = {door: make_browser(ledgers[door]) for door in ("api", "page")}
        for browser in browsers.values():
            browser.sign_in()
        page = case.page(browsers["page"]) if case.page else None
        return command, case.api(browsers["api"]), page, ledgers

    return ask


def recorded(ledger) -> list[tuple[str, str, Any]]:
    """What stands in a ledger, without who came in."""
    with offices.office(str(ledger), read_only=True) as desk, desk.ledger.reading() as connection:
        return [(event.word, event.stream, event.body) for event in all_events(connection) if event.word not in OWN]


def alike(answer: dict[str, Any]) -> dict[str, Any]:
    """An answer without how long it took."""
    return {name: value for name, value in answer.items() if name != "computed_in_s"}


@pytest.mark.parametrize("case", [*LOOKING, *RECORDING])
def test_three_doors_say_and_record_the_same(case, doors):
    one = {**LOOKING, **RECORDING}[case]
    command, api, page, ledgers = doors(one)
    assert api.status_code == 200, api.text
    assert command.out, command.err
    answer = command.json
    assert one.same(alike(api.json())) == one.same(alike(answer))
    for said in one.says(answer) if one.says else ():
        assert " ".join(said.split()) in told(page), said
    assert page is None or page.status_code == 200
    began = recorded(ledgers["command"])
    assert recorded(ledgers["api"]) == began
    if case in RECORDING and one.page:
        # The page plans and forecasts in one act; what the command recorded stands first.
        assert recorded(ledgers["page"])[: len(began)] == began


@pytest.mark.parametrize("case", WRONG)
def test_three_doors_refuse_with_the_same_words_and_record_nothing(case, doors, planned):
    command, api, page, ledgers = doors(WRONG[case])
    error = command.json["error"]
    assert command.code != 0
    assert api.json()["error"] == error
    assert 400 <= api.status_code < 500
    if page is not None:
        assert 400 <= page.status_code < 500
        text = told(page)
        assert error["wrong"][1:] in text
        assert error["do"].rstrip(".?") in text
    before = recorded(planned)
    assert [recorded(ledger) for ledger in ledgers.values()] == [before] * 3
