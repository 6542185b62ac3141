"""A mass that a second weighing bears out is what the next one is compared with, and its water counts as lost."""

import pytest
from test_bench_round import holds
from test_three_doors import NOW

from findhold.service import office as offices


@pytest.fixture
def weigh(findhold, planned, monkeypatch):
    monkeypatch.setitem(offices.office.__wrapped__.__kwdefaults__, "now", lambda: NOW)
    monkeypatch.setenv("FINDHOLD_LEDGER", str(planned))

    def made(mass, clock, *more):
        at = f"2026-08-03T{clock}:00+01:00"
        return findhold(
            "weigh", "37", mass, "--at", at, "--wiped", "--balance", "1", "--members", "60", *more, "--json"
        ).json

    return made


def test_the_confirmed_mass_is_what_the_next_is_compared_with_and_the_dates_move(weigh):
    weigh("13.040 kg", "07:00")
    waits = weigh("12.990 kg", "07:20")
    assert (waits["code"], waits["counted"]) == ("lighter", False)
    borne = weigh("12.990 kg", "07:40")
    assert (borne["code"], borne["counted"]) == ("confirmed", True)
    assert "reckoned from here on" in " ".join(borne["says"])
    # 13.040 kg less 12.990 kg; the lid as stated lets out less than 1 g in a week.
    assert borne["learned"]["water_lost_g"]["best"] == pytest.approx(50.0, abs=1.0)
    assert borne["next_check"]["best_kg"] == pytest.approx(12.990, abs=0.001)
    assert borne["keep_until_moved"]
    assert borne["keep_until"] < borne["keep_until_before"]
    again = weigh("12.990 kg", "08:00")
    assert (again["code"], again["mass_verdict"]) == ("in the band", "right")


def test_a_reason_settles_a_mass_at_once_and_the_lid_is_not_blamed(weigh, planned):
    lid = weigh("13.040 kg", "07:00")["learned"]["lid_air_changes_per_day"]["best"]
    weigh("12.990 kg", "07:20")
    told = weigh("12.990 kg", "07:30", "--why", "the bag was drained")
    assert (told["code"], told["counted"], told["mass_verdict"]) == ("explained", True, "watch")
    assert told["learned"]["lid_air_changes_per_day"]["best"] == pytest.approx(lid, rel=0.05)
    assert "mass_wrong" not in holds(planned)["37"]
