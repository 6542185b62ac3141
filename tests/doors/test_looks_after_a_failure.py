"""After a typed failure, and after mould, the looks asked for stand in rounds, due, Round and the calendar."""

import pytest
from test_bench_round import holds
from test_three_doors import NOW

from findhold.service import office as offices


@pytest.fixture
def here(planned, monkeypatch):
    monkeypatch.setitem(offices.office.__wrapped__.__kwdefaults__, "now", lambda: NOW)
    monkeypatch.setenv("FINDHOLD_LEDGER", str(planned))
    return planned


def looks(ledger, find="37"):
    checks = holds(ledger)[find]["forecast"]["checks"]
    return [(check["at"], check["reason"]) for check in checks if check["reason"].startswith("look: ")]


def test_a_typed_failure_plans_a_look_today_and_tomorrow_in_every_list(findhold, here, tmp_path):
    off = ("--from", "2026-08-02T20:00:00+01:00", "--to", "2026-08-03T08:00:00+01:00", "--room", "24")
    done = findhold("import", "--failure", "Fridge 1", *off)
    assert done.code in (0, 1), done.text
    days = [at[:10] for at, _ in looks(here)]
    assert days == ["2026-08-03", "2026-08-04"]
    due = findhold("due", "--ics", str(tmp_path / "a.ics"), "--json").json
    rows = [row for row in due["rows"] if row["find"] == "37" and row["note"].startswith("look: Fridge 1 was off")]
    assert [row["at"][:10] for row in rows] == days
    assert "Fridge 1 was off" in (tmp_path / "a.ics").read_text(encoding="utf-8").replace("\r\n ", "")
    plan = findhold("round", "--days", "2", "--at", "2026-08-03T09:00:00+01:00", "--json")
    assert plan.out, plan.text
    told = plan.json
    visits = [visit["at"][:10] for visit in told["visits"] if any(box["find"] == "37" for box in visit["boxes"])]
    assert visits[:2] == days


def test_mould_seen_alone_plans_a_look_tomorrow_which_the_answer_names(findhold, here):
    done = findhold("weigh", "37", "--look", "mould", "--members", "40", "--json")
    assert done.json["next_check"]["at"].startswith("2026-08-04T09:00")
    assert done.json["next_check"]["reason"].startswith("look: mould was seen")
    findhold("weigh", "37", "--look", "right", "--members", "40")
    assert looks(here) == []
