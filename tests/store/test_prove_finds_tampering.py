"""`prove` says the first bad event, whatever was done to the file behind its back."""

import sqlite3

import pytest
from conftest_store import find_entered, stamp

from findhold.record.canonical import canonical_json
from findhold.record.events import NewEvent
from findhold.store import schema
from findhold.store.ledger import open_ledger
from findhold.store.prove import prove


@pytest.fixture
def filled(ledger):
    with ledger.writing(stamp()) as writing:
        writing.append([find_entered(str(number), mass_kg=number / 7) for number in range(30, 50)])
    return ledger


def tamper(path, *statements):
    """Change the file as someone would who first takes the rules away and then puts them back."""
    connection = sqlite3.connect(path)
    for name in schema.SQLITE_TRIGGERS:
        connection.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        connection.execute(statement)
    for text in schema.SQLITE_TRIGGERS.values():
        connection.execute(text)
    connection.commit()
    connection.close()


@pytest.mark.parametrize(
    ("statement", "first_bad", "words"),
    [
        ("UPDATE event SET body = replace(body, '\"217\"', '\"216\"') WHERE seq = 7", 7, "does not match its hash"),
        ("UPDATE event SET person = 'XX' WHERE seq = 9", 9, "does not match its hash"),
        ("UPDATE event SET at = '2026-07-01T10:00:00.000Z' WHERE seq = 5", 5, "does not match its hash"),
        ("UPDATE event SET body = 'nonsense' WHERE seq = 5", 5, "cannot be read"),
        ("DELETE FROM event WHERE seq = 6", 6, "an event is missing"),
        ("DELETE FROM event WHERE seq = 1", 1, "an event is missing"),
        ("UPDATE event SET hash = 'f' || substr(hash, 2), prev = prev WHERE seq = 4", 4, "does not match its hash"),
    ],
)
def test_the_first_bad_event_is_named(filled, statement, first_bad, words):
    tamper(filled.path, statement)
    proof = prove(filled)
    assert not proof.whole
    assert proof.fault.event_no == first_bad
    assert words in proof.fault.why


def test_missing_rules_are_noticed(filled):
    connection = sqlite3.connect(filled.path)
    connection.execute("DROP TRIGGER event_never_goes")
    connection.commit()
    connection.close()
    assert "event_never_goes" in prove(filled).fault.why


def test_a_changed_read_table_is_noticed_and_named_as_such(filled):
    connection = sqlite3.connect(filled.path)
    connection.execute("UPDATE state SET body = replace(body, '217', '999') WHERE stream = 'find/WCR26/37'")
    connection.commit()
    connection.close()
    proof = prove(filled)
    assert "find/WCR26/37" in proof.fault.why
    assert "the events are sound" in proof.fault.why


def test_a_cut_off_end_shows_only_against_a_hash_kept_outside(filled):
    printed = filled.head()[1]
    tamper(filled.path, "DELETE FROM event WHERE seq = 21", "DELETE FROM state WHERE stream = 'find/WCR26/49'")
    assert prove(filled).whole
    proof = prove(filled, expect=printed[:12])
    assert not proof.whole
    assert "cut off" in proof.fault.why


def test_a_hash_on_paper_is_found_again(filled):
    printed = filled.story("find/WCR26/37")[0].hash
    assert prove(filled, expect=printed).expected_found is True


def test_days_of_holds_that_do_not_follow_from_their_state_are_found(filled):
    hold = NewEvent(word="hold.planned.1", stream="hold/WCR26/B1", body={"find": "37", "box_id": "WCR26-B1-U"})
    with filled.writing(stamp()) as writing:
        writing.append([hold])
    assert prove(filled).whole
    tamper(filled.path, "UPDATE hold_days SET told = '{}'")
    assert "hold_days does not follow from the state of hold/WCR26/B1" in prove(filled).fault.why


def test_words_of_finds_that_do_not_follow_from_their_state_are_found(filled):
    tamper(filled.path, "UPDATE find_words SET words = 'bowl' WHERE number = '37'")
    fault = prove(filled).fault
    assert "find_words does not follow from the state of find/WCR26/37" in fault.why
    assert fault.only_folding


def test_a_damaged_page_is_said_plainly(filled, tmp_path):
    data = bytearray(filled.path.read_bytes())
    # Where the event itself stands: its hash stands in an index too, which a proof does not read.
    middle = data.index(canonical_json(filled.story("find/WCR26/37")[0].body))
    for position in range(middle - 1500, middle + 1500):
        data[position] ^= 0xFF
    broken = tmp_path / "broken.ledger"
    broken.write_bytes(bytes(data))
    ledger = open_ledger(broken)
    proof = prove(ledger)
    ledger.close()
    assert not proof.whole
