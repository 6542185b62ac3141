"""A find flagged as treasure has a day for its report, said with the words "check local rules"."""

from datetime import datetime, timedelta


def test_treasure_has_a_deadline_and_defers_to_local_rules(findhold, withy_carr, tmp_path):
    register = tmp_path / "gold.csv"
    register.write_text(
        "SF no.,Reg. / bulk,Cxt,Description,Mat.,Condition,L (cm),W (cm),H (cm),Wt (g),"
        "Exposed,Store,Treasure?,Level (m OD),E,N\n"
        "61,registered,216,ring,gold,dry,2,2,1,9,2026-07-28 10:00,Fridge 1,yes,51.70,451382.6,206867.1\n",
        encoding="utf-8",
    )
    done = findhold("import", register)
    assert done.code == 0, done.text
    assert findhold("plan", "61", "--packed-at", "2026-07-28T12:00").code in (0, 1)
    shape = findhold("keep", "61", "--json").json
    limit = next(item for item in shape["limits"] if item["name"] == "treasure report")
    # Source: Treasure Act 1996 section 8, 14 days, from memory (table deadlines).
    due = datetime.fromisoformat("2026-07-28T10:00:00+01:00") + timedelta(days=14)
    assert datetime.fromisoformat(limit["date_low"]) == due
    assert any("Check local rules" in line for line in shape["assumptions"])
