"""Every element a page is built from, on one page."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from types import SimpleNamespace

from fastapi import APIRouter
from starlette.responses import Response

from findhold.service.changing import ChangeLine
from findhold.service.diary import DueRow
from findhold.service.today import TodayRow
from findhold.web.desk import Signed
from findhold.web.today import BoxDue

router = APIRouter()
MADE_UP = datetime(2026, 8, 3, 9, 0, tzinfo=timezone(timedelta(hours=1)))


@router.get("/pattern")
def pattern_page(desk: Signed) -> Response:
    """The pattern page: what a new page takes its parts from."""
    trouble = {
        "wrong": "the balance shows more than the box can weigh",
        "where": "box B1, mass",
        "limit": "12.9 to 13.1 kg expected",
        "do": "Wipe the box, weigh it again",
        "mistakes": [],
        "questions": [],
    }
    changes = (
        ChangeLine(
            at=MADE_UP.isoformat(),
            person="Marian Holt",
            kind="box",
            name="F vessel",
            words="corrected: count 7 (counted)",
        ),
    )
    box = SimpleNamespace(
        number="37", symbol="triangle", site=None, what="jar", box_id="WCR26-B1-U", box="F vessel", place="shelf 2"
    )
    box.kind, box.left_words, box.word = "watch", "4 days left", "open Fri 7 Aug"
    due = (
        _due("weigh and look", "check", late=True, then=_row("open", days=1)),
        _due("open or extend: see options", "keep until", late=False),
    )
    return desk.page("pattern.html", example=trouble, due=due, now=MADE_UP, lines=changes, box=box)


def _row(what: str, *, days: int) -> TodayRow:
    row = DueRow(
        at=MADE_UP + timedelta(days=days),
        what=what,
        box_id="WCR26-B1-U",
        find="37",
        store="Fridge 1",
        low_kg=13.0513 if what == "check" else None,
        best_kg=13.0521 if what == "check" else None,
        high_kg=13.0529 if what == "check" else None,
        note="growth on wrapping" if what == "keep until" else "",
        late=days < 0,
        weighed=True,
    )
    return TodayRow(row=row, what="jar, hand-made", registered=True, missed=1 if what == "check" else 0)


def _due(do: str, what: str, *, late: bool, then: TodayRow | None = None) -> BoxDue:
    one = _row(what, days=-1 if late else 3)
    return BoxDue(one=one, do=do, path="/pattern", words={}, late=late, then=(then,) if then else ())
