"""An answer says first that the box opens today, advises by the state it is kept in, and names the store of a spell."""

from datetime import datetime, timedelta

import pytest
from test_three_doors import NOW

from findhold.check.weighing import judge_look
from findhold.service import office as offices
from findhold.service import weighing
from findhold.service.stay import Stay, store_at

HOUR = timedelta(hours=1)


def test_a_round_answer_says_first_that_the_box_opens_today(planned):
    with offices.office(str(planned), read_only=True) as desk:
        holds = desk.ledger.states("hold")
    hold = min((one for one in holds if one.facts.get("open_at")), key=lambda one: one.facts["open_at"])
    opens = datetime.fromisoformat(hold.facts["open_at"]).astimezone(NOW.tzinfo)
    said = {}
    for hours in (1, 30):
        with offices.office(str(planned), person="Marian Holt", now=lambda h=hours: opens - h * HOUR) as desk:
            asked = weighing.WeighRequest(box=hold.facts["box_id"], look="right", members=20)
            said[hours] = weighing.weigh(desk, asked).shape["says"]
    assert said[1][0] == f"It opens today, {opens:%H:%M}."
    assert not any("opens today" in line for line in said[30])


def test_what_is_dry_is_misted_and_a_bag_of_water_is_filled_up():
    assert "Mist the wrapping" in judge_look("dry", "damp").do[0]
    wet = " ".join(judge_look("dry", "waterlogged").do)
    assert "Fill its bag up" in wet
    assert "Mist" not in wet
    assert judge_look("mould", "waterlogged") == judge_look("mould", "damp")


@pytest.mark.parametrize(("hours", "store"), [(-5, "Fridge 2"), (0, "Fridge 1"), (5, "Fridge 1")])
def test_a_spell_is_of_the_store_in_which_the_box_stood_then(hours, store):
    stays = (Stay(store="Fridge 2", since=None), Stay(store="Fridge 1", since=NOW))
    assert store_at(stays, NOW + hours * HOUR) == store
