"""Settings, files written whole, and the last open day: the small pieces behind every door."""

import errno
from datetime import date, datetime
from pathlib import Path

import pytest

from findhold.dates.closures import Closure
from findhold.errors import BadInput, LedgerTrouble
from findhold.service import settings
from findhold.service.choices import read_choices
from findhold.service.folder import file_name, write_file
from findhold.service.lastday import open_by

SHUTDOWN = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown")


@pytest.mark.parametrize(
    ("keep_until", "expected"),
    [
        ("2026-08-05T13:00+01:00", date(2026, 8, 5)),  # a Wednesday afternoon: that day
        ("2026-08-05T07:30+01:00", date(2026, 8, 4)),  # before anybody comes: the day before
        ("2026-08-02T18:00+01:00", date(2026, 7, 31)),  # a Sunday: the Friday
        ("2026-08-15T12:00+01:00", date(2026, 8, 7)),  # inside the closure: the Friday before it
        ("2026-08-24T12:00+01:00", date(2026, 8, 24)),  # the Monday after
        ("2026-08-04T23:30Z", date(2026, 8, 4)),  # half past midnight on the site's clock
    ],
)
def test_the_last_open_day_before_a_keep_until_date(keep_until, expected):
    # Source: the calendar of 2026 (5 August is a Wednesday) and the demo's closure.
    assert open_by(datetime.fromisoformat(keep_until), "Europe/London", (SHUTDOWN,)) == expected


def test_a_file_is_written_whole_or_not_at_all(tmp_path, monkeypatch):
    file = tmp_path / "sub" / "sheet.pdf"
    write_file(file, b"first")
    assert file.read_bytes() == b"first"

    def full(_self, _data):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(BadInput, match="No space left"):
        write_file(file, b"second")
    monkeypatch.undo()
    assert file.read_bytes() == b"first"
    assert [path.name for path in file.parent.iterdir()] == ["sheet.pdf"]


def test_file_names_are_safe():
    assert file_name("WCR26", "12/3", "label", ending=".pdf") == "WCR26-12-3-label.pdf"
    assert file_name("WCR26", "../../x", "label", ending=".pdf") == "WCR26-..-..-x-label.pdf"
    assert "/" not in file_name("a/b", "c\\d", ending=".pdf")


def test_the_device_keeps_its_name():
    assert settings.device_name() == settings.device_name()


def test_a_device_name_that_cannot_be_kept_is_said(monkeypatch, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    monkeypatch.setenv("FINDHOLD_HOME", str(blocked / "home"))
    with pytest.raises(LedgerTrouble, match="FINDHOLD_HOME"):
        settings.device_name()


def write_settings(text):
    file = settings.settings_file()
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8")


def test_the_units_own_figures_take_their_place():
    write_settings(
        'person = "Marian Holt"\n[policy]\npolicy_days = 10\n[packing]\nbed_mm = 40\n[labels]\nstock = "62x29"\n'
    )
    choices = read_choices()
    assert (choices.policy.policy_days, choices.packing.bed_mm, choices.label_stock) == (10, 40, "62x29")
    assert settings.read_settings().person == "Marian Holt"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[policy]\npolicy_dys = 10\n", "Did you mean policy_days"),
        ('[policy]\npolicy_days = "ten"\n', "policy_days is 'ten'"),
        ("[policy]\npolicy_days = -1\n", "policy_days"),
        ('[numbers]\nregistered = "star"\n', "star"),
        ("[packing]\nwrap_layers = 2.5\n", "wrap_layers"),
    ],
)
def test_an_impossible_setting_is_an_error_with_the_way_out(text, says):
    write_settings(text)
    with pytest.raises(BadInput, match=says):
        read_choices()


@pytest.mark.parametrize(
    ("text", "says"),
    [("ledgr = 'x'\n", "Did you mean ledger"), ("ledger = 3\n", "must be text"), ("a = [", "cannot be read")],
)
def test_an_unknown_setting_is_an_error_with_near_names(text, says):
    write_settings(text)
    with pytest.raises(BadInput, match=says):
        settings.read_settings()


def test_the_ledger_named_first_wins(monkeypatch):
    write_settings('ledger = "~/set.ledger"\n')
    assert settings.ledger_path(None) == Path("~/set.ledger").expanduser()
    monkeypatch.setenv("FINDHOLD_LEDGER", "env.ledger")
    assert settings.ledger_path(None) == Path("env.ledger")
    assert settings.ledger_path("given.ledger") == Path("given.ledger")


def test_no_ledger_at_all_says_how_to_name_one():
    with pytest.raises(BadInput, match="FINDHOLD_LEDGER"):
        settings.ledger_path(None)
