"""A request sent twice under one key is recorded once and answered alike, also at the same moment."""

import threading
import uuid

import pytest
from conftest_web import make_browser

from findhold.errors import BadInput
from findhold.service.office import office
from findhold.service.once import Asked, KeyUsedError, answer_of, once
from findhold.service.proving import ProofRequest, prove_ledger

WEIGHED = {"box": "B1", "mass": "13.04 kg", "wiped": True, "members": 20}


def count(ledger, word="box.weighed.1"):
    with office(str(ledger), read_only=True) as desk:
        return sum(event.word == word for event in desk.ledger.story("hold/WCR26/B1"))


def test_the_same_key_twice_is_recorded_once_and_answered_alike(browser, planned):
    key = str(uuid.uuid4())
    first = browser.api("POST", "/weighings", WEIGHED, key=key)
    again = browser.api("POST", "/weighings", WEIGHED, key=key)
    assert first.status_code == again.status_code == 200
    assert first.headers["idempotency-replayed"] == "false"
    assert again.headers["idempotency-replayed"] == "true"
    assert first.content == again.content
    assert count(planned) == 1


def test_a_key_is_the_same_in_capitals(browser, planned):
    key = str(uuid.uuid4())
    browser.api("POST", "/weighings", WEIGHED, key=key)
    assert browser.api("POST", "/weighings", WEIGHED, key=key.upper()).headers["idempotency-replayed"] == "true"
    assert count(planned) == 1


def test_without_a_key_each_request_is_recorded(browser, planned):
    browser.api("POST", "/weighings", WEIGHED)
    browser.api("POST", "/weighings", WEIGHED)
    assert count(planned) == 2


def test_another_request_under_the_same_key_is_refused_and_the_first_stands(browser, planned):
    key = str(uuid.uuid4())
    browser.api("POST", "/weighings", WEIGHED, key=key)
    answer = browser.api("POST", "/weighings", {**WEIGHED, "mass": "13.05 kg"}, key=key)
    assert answer.status_code == 409
    assert answer.json()["error"]["code"] == "key_used"
    assert browser.api("POST", "/labels", {"finds": ["37"]}, key=key).status_code == 409
    assert count(planned) == 1


def test_another_person_who_sends_it_again_gets_the_first_answer(browser, planned):
    key = str(uuid.uuid4())
    first = browser.api("POST", "/weighings", WEIGHED, key=key)
    other = make_browser(planned)
    other.sign_in("Idris Penhale")
    assert other.api("POST", "/weighings", WEIGHED, key=key).content == first.content
    assert count(planned) == 1


def test_what_was_refused_is_not_kept_so_that_it_can_be_mended_under_its_key(browser, planned):
    key = str(uuid.uuid4())
    assert browser.api("POST", "/weighings", {**WEIGHED, "box": "B77"}, key=key).status_code in (404, 422)
    assert browser.api("POST", "/weighings", WEIGHED, key=key).status_code == 200
    assert count(planned) == 1


@pytest.mark.parametrize("key", ["1", "not-a-key", "x" * 36, "01234567-89ab-cdef-0123-456789abcde"])
def test_a_key_that_is_no_uuid_is_refused(browser, planned, key):
    answer = browser.api("POST", "/weighings", WEIGHED, key=key)
    assert answer.status_code == 422
    assert "UUID" in answer.json()["error"]["limit"]
    assert count(planned) == 0


def test_what_was_recorded_under_a_key_can_be_asked(browser):
    key = str(uuid.uuid4())
    assert browser.api("GET", f"/receipts/{key}").status_code == 404
    answer = browser.api("POST", "/weighings", WEIGHED, key=key).json()
    kept = browser.api("GET", f"/receipts/{key}").json()
    assert kept["operation"] == "weigh"
    assert kept["person"] == "Marian Holt"
    assert kept["answer"] == answer


def test_two_at_the_same_moment_are_recorded_once_and_both_answered(planned):
    key = str(uuid.uuid4())
    browsers = [make_browser(planned) for _ in range(4)]
    for one in browsers:
        one.sign_in()
    answers = []
    gate = threading.Barrier(len(browsers))

    def send(one):
        gate.wait()
        answers.append(one.api("POST", "/weighings", WEIGHED, key=key))

    threads = [threading.Thread(target=send, args=(one,)) for one in browsers]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [answer.status_code for answer in answers] == [200] * 4
    assert len({answer.content for answer in answers}) == 1
    assert sorted(answer.headers["idempotency-replayed"] for answer in answers) == ["false", "true", "true", "true"]
    assert count(planned) == 1


def test_many_writers_wait_for_each_other_and_none_fails(planned):
    browsers = [make_browser(planned) for _ in range(4)]
    for one in browsers:
        one.sign_in()
    answers = []

    def send(one):
        answers.extend(one.api("POST", "/weighings", WEIGHED, key=str(uuid.uuid4())) for _ in range(2))

    threads = [threading.Thread(target=send, args=(one,)) for one in browsers]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [answer.status_code for answer in answers] == [200] * 8
    assert count(planned) == 8
    assert prove_ledger(ProofRequest(ledger=str(planned))).whole


def test_an_act_that_fails_after_writing_leaves_nothing(planned):
    from findhold.record.events import NewEvent

    def writes_and_fails(desk):
        with desk.ledger.writing(desk.stamp()) as writing:
            writing.append([NewEvent(word="setting.changed.1", stream="setting/x", body={"a": 1})])
        assert desk.ledger.state("setting/x") is not None, "it is seen inside"
        raise BadInput("it does not work", do="Leave it")

    with office(str(planned), person="Marian Holt") as desk:
        before = desk.ledger.head()
        with pytest.raises(BadInput):
            once(desk, Asked(operation="x", words={}, key=str(uuid.uuid4())), writes_and_fails)
        assert desk.ledger.head() == before
        assert desk.ledger.state("setting/x") is None


def test_several_writings_of_one_act_are_one_transaction_and_prove(planned):
    from findhold.record.events import NewEvent

    key = str(uuid.uuid4())

    def writes_twice(desk):
        for number in (1, 2):
            with desk.ledger.writing(desk.stamp()) as writing:
                writing.append([NewEvent(word="setting.changed.1", stream="setting/x", body={"a": number})])
        return {"state": desk.ledger.state("setting/x").facts}

    with office(str(planned), person="Marian Holt") as desk:
        done = once(desk, Asked(operation="x", words={"n": 1.5}, key=key), writes_twice)
        assert done.shape == {"state": {"a": 2}}
        assert not done.again
        assert once(desk, Asked(operation="x", words={"n": 1.5}, key=key), writes_twice).again
        with pytest.raises(KeyUsedError):
            once(desk, Asked(operation="x", words={"n": 1.6}, key=key), writes_twice)
        assert answer_of(desk, key)["answer"] == done.shape
    assert prove_ledger(ProofRequest(ledger=str(planned))).whole


def test_a_ledger_older_than_receipts_takes_them_at_its_first_keyed_write(planned):
    import sqlite3

    with sqlite3.connect(planned) as connection:
        connection.execute("DROP TABLE receipt")
        for name in ("hold_by_find", "hold_by_due", "sample_by_find", "find_by_store"):
            connection.execute(f"DROP INDEX {name}")
    browser = make_browser(planned)
    browser.sign_in()
    key = str(uuid.uuid4())
    assert browser.api("POST", "/weighings", WEIGHED, key=key).status_code == 200
    assert browser.api("POST", "/weighings", WEIGHED, key=key).headers["idempotency-replayed"] == "true"
    assert browser.get("/finds/37").status_code == 200
