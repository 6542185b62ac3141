"""Our own earlier numbers for the examples: not validation, only a notice that a date or a mass has moved.

When one moves on purpose, put the new figure here and say by how much in CHANGELOG.md.
"""

from pathlib import Path

import pytest

from findhold.service.whatif import keep_scenario, plan_scenario

EXAMPLES = Path(__file__).parents[2] / "examples"

KEPT = {
    # example: keep until (day), governing limit, best water lost [g]
    "worked-box.toml": ("2026-08-08", "growth on wrapping", 0.093),
    "jar-in-block.toml": ("2026-08-07", "growth on wrapping", 0.371),
    "antler-comb.toml": ("2026-08-08", "growth on find", 0.0263),
    "leather.toml": ("2026-08-06", "water loss", 0.29),
    "wood-waterlogged.toml": ("2026-08-12", "policy", 0.0397),
    "iron-block.toml": ("2026-08-03", "first aid for iron", 0.046),
}


@pytest.fixture(autouse=True)
def at_home(tmp_path, monkeypatch):
    monkeypatch.setenv("FINDHOLD_HOME", str(tmp_path / "home"))


@pytest.mark.parametrize("example", KEPT)
def test_the_forecast_is_what_it_was(example):
    day, limit, lost_g = KEPT[example]
    shape = keep_scenario(EXAMPLES / example).shape
    assert (shape["keep_until"][:10], shape["governing_limit"]) == (day, limit)
    assert shape["water_loss_g"]["best"] == pytest.approx(lost_g, rel=0.1)


def test_the_plan_is_what_it_was():
    shape = plan_scenario(EXAMPLES / "jar-in-block.toml").shape
    assert shape["sheets"] == 3
    assert shape["dose_g_per_sheet"] == pytest.approx(4.43, abs=0.05)
    assert shape["gross_mass_kg"] == pytest.approx(13.0, abs=0.1)
