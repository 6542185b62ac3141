"""Today: what is due, worst first; each box once, with what to do in one phrase and a way to where it is done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import quote

from fastapi import APIRouter
from starlette.responses import Response

from findhold.service.diary import DueRow
from findhold.service.today import Today, TodayRequest, TodayRow, today
from findhold.web.desk import Signed
from findhold.web.navigation import Nav

NAV = Nav(word="Today", path="/", order=10)
router = APIRouter()


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxDue:
    """One box: the first thing due on it, what to do and where, how it stands, and what comes after it."""

    one: TodayRow
    do: str
    path: str
    words: dict[str, str]
    """Words of the address `path`, as the page's links take them."""
    late: bool
    then: tuple[TodayRow, ...]


@router.get("/")
def today_page(desk: Signed) -> Response:
    """What is due now, what is late, and what waits without a date."""
    with desk.looking() as office:
        told = today(office, TodayRequest(site=desk.site(office)))
    act, soon, ahead = boxes_due(told)
    stores: dict[str, list[BoxDue]] = {}
    for box in act:
        stores.setdefault(box.one.row.store, []).append(box)
    return desk.page("today.html", today=told, act=act, stores=stores, soon=soon, ahead=ahead)


def boxes_due(told: Today) -> tuple[list[BoxDue], list[BoxDue], list[BoxDue]]:
    """Each box once: those to act on, those of today, those of the days ahead; later things go with the first."""
    left = {id(one): one for one in (*told.act, *told.today, *told.ahead)}

    def taken(rows: Iterable[TodayRow], *, late: bool) -> list[BoxDue]:
        made = []
        for one in rows:
            if left.pop(id(one), None) is None:
                continue
            then = tuple(other for other in left.values() if other.row.box_id == one.row.box_id)
            for other in then:
                del left[id(other)]
            do, path, words = _to_do(one.row, late=late)
            made.append(BoxDue(one=one, do=do, path=path, words=words, late=late, then=then))
        return made

    return taken(told.act, late=True), taken(told.today, late=False), taken(told.ahead, late=False)


def _to_do(row: DueRow, *, late: bool) -> tuple[str, str, dict[str, str]]:
    """What to do, in one phrase, and the address where it is done."""
    sheet = f"/finds/{quote(row.find, safe='')}"
    if row.what == "act":
        return "tell the conservator, look again", sheet, {}
    if row.what == "mass" and row.store:
        return "weigh it again", f"/round/{quote(row.store, safe='')}", {"box": row.box_id}
    if row.what == "mass":
        return "weigh it again", sheet, {}
    if row.what == "check" and row.store:
        return "weigh and look", f"/round/{quote(row.store, safe='')}", {"box": row.box_id}
    if row.what == "check":
        return "weigh and look", sheet, {}
    if row.what == "open" and not late and not row.note:
        return "open it", sheet, {}
    return "open or extend: see options", "/closures", {"ask": row.find}
