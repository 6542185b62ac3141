"""Round says of every box what Today and `due` say of it, in the same order."""

from datetime import timedelta

import pytest
from test_three_doors import NOW

from findhold.service import diary, weighing
from findhold.service import office as offices
from findhold.service.bench import rounds
from findhold.service.diary import DueRequest
from findhold.service.today import TodayRequest, today

WORDS = {"act": "act", "keep until": "over", "open": "unopened", "mass": "doubt", "check": "late"}


@pytest.mark.parametrize(
    "after", [timedelta(minutes=7), timedelta(days=2), timedelta(days=6, hours=5), timedelta(days=40)]
)
def test_what_today_says_to_act_on_stands_first_in_its_round_with_the_same_word(planned, after):
    with offices.office(str(planned), person="Marian Holt", now=lambda: NOW + after) as desk:
        told, due = today(desk, TodayRequest(site="WCR26")), diary.due(desk, DueRequest())
        act = {one.row.box_id: WORDS[one.row.what] for one in told.act}
        assert {box.box_id for box in due.late} == set(act)
        assert act
        stores = {one.row.store for one in told.act}
        for store in rounds.stores_to_round(desk, None):
            boxes = rounds.round_list(desk, store.name).boxes
            late = [box for box in boxes if box.state in WORDS.values()]
            assert boxes[: len(late)] == tuple(late)
            assert {box.box_id: box.state for box in late} == {
                k: v for k, v in act.items() if k in {b.box_id for b in boxes}
            }
            assert store.due >= len(late)
            order = [one.row.box_id for one in told.act if one.row.store == store.name]
            assert [box.box_id for box in late] == order
        assert stores <= {store.name for store in rounds.stores_to_round(desk, None) if store.due}


def test_a_box_that_opens_today_says_so_before_anything_is_late(planned):
    with offices.office(str(planned), person="Marian Holt", now=lambda: NOW) as desk:
        holds = {hold.facts["box_id"]: hold for hold in desk.ledger.states("hold")}
        opens = min(hold.facts["open_at"] for hold in holds.values() if hold.facts.get("open_at"))
    day = offices.datetime.fromisoformat(opens) - timedelta(minutes=30)
    with offices.office(str(planned), person="Marian Holt", now=lambda: day) as desk:
        (box, *_) = [one for one in holds.values() if one.facts.get("open_at") == opens]
        weighing.weigh(desk, weighing.WeighRequest(box=box.facts["box_id"], look="right", members=20))
        told = rounds.box_of(desk, box)
    assert told.state in ("open", "over", "late")
    assert (told.says.startswith("It opens today")) == (told.state == "open")
