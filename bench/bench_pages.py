"""Pages on a ledger of a million events: server time of each page, 50th and 95th percentile.

    python bench/bench_pages.py [events] [requests]

Figures depend on the machine; what must not depend on the ledger is how they grow: run it with 100000 and 1000000.
"""

from __future__ import annotations

import asyncio
import json
import os
import random
import re
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx

NOW = datetime(2026, 8, 3, 9, 0, tzinfo=UTC)
HOLDS = 5000
WAITING = 400
"""So many of the holds are not opened yet; the others ended over the years."""
FINDS = 60_000


def main() -> None:
    """Make the ledger and time the pages."""
    events = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    asked = int(sys.argv[2]) if len(sys.argv) > 2 else 100
    with tempfile.TemporaryDirectory() as folder:
        os.environ["FINDHOLD_HOME"] = str(Path(folder) / "settings")
        began = time.perf_counter()
        ledger = make_ledger(Path(folder), events)
        size = ledger.stat().st_size / 1e6
        print(f"{events} events, {size:.0f} MB, made in {time.perf_counter() - began:.0f} s")
        asyncio.run(time_pages(ledger, asked))


def make_ledger(folder: Path, events: int) -> Path:
    """A ledger of so many events: the demo's finds many times over, weighed and corrected."""
    from findhold.record.events import NewEvent, stream_of
    from findhold.service.demo import run_demo
    from findhold.store.ledger import Stamp, open_ledger

    run_demo(folder / "demo", lambda _line: None)
    path = folder / "demo" / "wcr26.ledger"
    ledger = open_ledger(path)
    model = ledger.state("hold/WCR26/B1")
    find = ledger.state("find/WCR26/37")
    if model is None or find is None:
        raise RuntimeError("the demo has no find 37")
    planned = {
        name: model.facts[name] for name in model.facts if name not in ("forecast", "labels", "weighings", "next_at")
    }
    forecast = {name: value for name, value in model.facts["forecast"].items() if name != "computed_at"}
    draw = random.Random(7)
    batch: list[NewEvent] = []
    left = events - ledger.head()[0]

    def put(word: str, stream: str, body: dict[str, object], *, now: bool = False) -> None:
        nonlocal left
        batch.append(NewEvent(word=word, stream=stream, body=body))
        left -= 1
        if len(batch) >= 4000 or now or left == 0:
            with ledger.writing(Stamp(person="Marian Holt", device="d-bench", now=NOW)) as writing:
                writing.append(batch)
            batch.clear()

    scale = min(1.0, events / 1_000_000)
    for number in range(1000, 1000 + int(FINDS * scale)):
        facts = {**find.facts, "number": str(number), "what": f"sherd of jar {number}"}
        put("thing.entered.1", stream_of("find", "WCR26", str(number)), facts)
    for box in range(1000, 1000 + int(HOLDS * scale)):
        stream = stream_of("hold", "WCR26", f"B{box}")
        shift = timedelta(days=draw.randrange(0, 60))
        own = json.loads(json.dumps(forecast))
        for check in (*own["checks"], *own["mass_band"]):
            check["at"] = (datetime.fromisoformat(check["at"]) + shift).isoformat()
        own["keep_until"] = (datetime.fromisoformat(own["keep_until"]) + shift).isoformat()
        put("hold.planned.1", stream, {**planned, "find": str(box), "box_no": box, "box_id": f"WCR26-B{box}-X"})
        put("hold.forecast.1", stream, own)
        for week in range(12):
            at = (NOW - timedelta(days=7 * (12 - week))).isoformat()
            verdict = {"word": "right", "code": "right", "says": "", "counted": True, "confirms": []}
            put("box.weighed.1", stream, {"at": at, "mass_kg": 13.03, "look": "right", "verdict": verdict})
    for box in range(1000, 1000 + int((HOLDS - WAITING) * scale)):
        put("hold.ended.1", stream_of("hold", "WCR26", f"B{box}"), {"how": "opened", "at": NOW.isoformat()})
    while left > 0:
        number = draw.randrange(1000, 1000 + int(FINDS * scale))
        body = {"fields": {"note": f"seen {left}"}, "reason": "bench"}
        put("thing.corrected.1", stream_of("find", "WCR26", str(number)), body)
    ledger.close()
    return path


async def time_pages(ledger: Path, asked: int) -> None:
    """Ask for each page many times over and tell the percentiles."""
    from findhold.app.build import make_app
    from findhold.service.doorway import Doorway
    from findhold.service.visits import signing_secret

    app = make_app(Doorway(ledger=str(ledger), secret=signing_secret(), now=lambda: NOW))
    draw = random.Random(11)
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://localhost") as client:
        text = (await client.get("/sign-in")).text
        token = re.findall(r'name="_token" value="([^"]+)', text)[0]
        await client.post("/sign-in", data={"_token": token, "person": "Marian Holt"})
        kinds = {
            "a find's sheet": lambda: f"/finds/{draw.randrange(5600, 6000)}",
            "Today": lambda: "/",
            "Finds": lambda: f"/finds?after={draw.randrange(1000, 1400)}",
            "Finds, words": lambda: f"/finds?q=jar+{draw.randrange(1000, 1400)}",
            "Finds, no box": lambda: "/finds?held=no+box",
            "Pack": lambda: "/pack",
            "Round": lambda: "/round",
            "Round of a store": lambda: "/round/Fridge%201",
            "Stores": lambda: "/stores",
            "Closures": lambda: "/closures",
            "Settings": lambda: "/settings",
        }
        for name, path in kinds.items():
            await client.get(path())
            spent = []
            for _ in range(asked):
                began = time.perf_counter()
                answer = await client.get(path())
                spent.append((time.perf_counter() - began) * 1000.0)
                if answer.status_code != 200:
                    raise RuntimeError(f"{path()} answered {answer.status_code}")
            spent.sort()
            print(f"{name:16} {spent[len(spent) // 2]:6.0f} ms half, {spent[int(len(spent) * 0.95)]:6.0f} ms 95 %")


if __name__ == "__main__":
    main()
