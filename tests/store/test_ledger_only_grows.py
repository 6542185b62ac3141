"""The file itself refuses change; leaving a transaction with an error leaves nothing."""

import sqlite3

import pytest
from conftest_store import find_entered, stamp

from findhold.errors import LedgerTrouble
from findhold.record.events import NewEvent
from findhold.store.ledger import create, open_ledger
from findhold.store.prove import prove, rebuild

COLUMNS = "seq,id,word,stream,at,offset_min,wall_ms,count,person,device,device_seq,prev,hash,body"


@pytest.fixture
def filled(ledger):
    with ledger.writing(stamp()) as writing:
        writing.append([find_entered(str(number)) for number in (37, 41, 42)])
    return ledger


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET person = 'someone else' WHERE seq = 2",
        "UPDATE OR REPLACE event SET seq = 3 WHERE seq = 2",
        "DELETE FROM event WHERE seq = 4",
        "DELETE FROM event",
        f"INSERT OR REPLACE INTO event SELECT {COLUMNS} FROM event WHERE seq = 2",
        f"REPLACE INTO event SELECT {COLUMNS.replace('person', chr(39) + 'x' + chr(39))} FROM event WHERE seq = 2",
        # a new id and hash on an old row number
        "REPLACE INTO event SELECT 2,'new',word,stream,at,offset_min,wall_ms,count,person,device,5,"
        "(SELECT hash FROM event WHERE seq=4),'newhash',body FROM event WHERE seq = 2",
        # a second event with a device sequence that is taken
        "INSERT OR REPLACE INTO event SELECT 9,'new',word,stream,at,offset_min,wall_ms,count,person,device,device_seq,"
        "prev,'newhash',body FROM event WHERE seq = 2",
        # a gap in the device's sequence
        "INSERT INTO event SELECT 9,'new',word,stream,at,offset_min,wall_ms,count,person,device,7,"
        "(SELECT hash FROM event WHERE seq=4),'newhash',body FROM event WHERE seq = 2",
        # sealed onto nothing
        f"INSERT INTO event SELECT 9,'new',word,stream,at,offset_min,wall_ms,count,person,device,5,'{'0' * 64}',"
        "'newhash',body FROM event WHERE seq = 2",
        # a new device whose first event is not number 1
        f"INSERT INTO event SELECT 9,'new',word,stream,at,offset_min,wall_ms,count,person,'other',2,'{'0' * 64}',"
        "'newhash',body FROM event WHERE seq = 2",
    ],
)
def test_the_file_refuses(filled, statement):
    connection = sqlite3.connect(filled.path)
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute(statement)
    connection.close()
    assert prove(filled).whole


def test_state_is_the_fold_of_the_events(filled):
    corrected = NewEvent(
        word="thing.corrected.1",
        stream="find/WCR26/37",
        body={"fields": {"context": "216"}, "reason": "read wrongly from the bag"},
    )
    with filled.writing(stamp(5)) as writing:
        writing.append([corrected])
    thing = filled.state("find/WCR26/37")
    assert thing.facts == {"number": "37", "context": "216", "material": "ceramic_low"}
    assert [event.word for event in filled.story("find/WCR26/37")] == ["thing.entered.1", "thing.corrected.1"]
    before = filled.states("find")
    assert rebuild(filled, stamp(6)) == 4
    assert filled.states("find") == before
    assert prove(filled).whole


def test_an_error_inside_a_transaction_leaves_nothing(filled):
    def fail():
        with filled.writing(stamp(7)) as writing:
            writing.append([find_entered("99")])
            raise RuntimeError("the power went")

    with pytest.raises(RuntimeError):
        fail()
    assert filled.state("find/WCR26/99") is None
    assert prove(filled).events == 4


def test_numbers_are_listed_in_counting_order(ledger):
    with ledger.writing(stamp()) as writing:
        writing.append([find_entered(number) for number in ("10", "2", "37A", "37", "B216")])
    assert [thing.number for thing in ledger.states("find")] == ["2", "10", "37", "37A", "B216"]


def test_two_devices_keep_their_own_chains(filled):
    with filled.writing(stamp(8, device="d-other")) as writing:
        writing.append([find_entered("44")])
    with filled.writing(stamp(9)) as writing:
        writing.append([find_entered("45")])
    proof = prove(filled)
    assert proof.whole
    assert proof.devices == 2


def test_an_existing_file_is_never_overwritten(filled):
    with pytest.raises(LedgerTrouble, match="already"):
        create(filled.path, stamp(), [])


def test_a_file_that_is_no_ledger_is_refused(tmp_path):
    text = tmp_path / "notes.txt"
    text.write_text("not a ledger at all, just a long enough text file to be read as a header" * 20)
    with pytest.raises(LedgerTrouble, match="damaged or is not a ledger"):
        open_ledger(text)
    other = tmp_path / "other.sqlite"
    connection = sqlite3.connect(other)
    connection.execute("CREATE TABLE t (x)")
    connection.commit()
    connection.close()
    with pytest.raises(LedgerTrouble, match="not a findhold ledger"):
        open_ledger(other)


def test_two_programs_take_turns(filled):
    other = open_ledger(filled.path)
    for number in range(100, 120):
        book = filled if number % 2 else other
        with book.writing(stamp(10, device=f"d-{number % 2}")) as writing:
            taken = {thing.number for thing in writing.states("find")}
            assert str(number) not in taken
            writing.append([find_entered(str(number))])
    other.close()
    assert prove(filled).whole
    assert len(filled.states("find")) == 23
