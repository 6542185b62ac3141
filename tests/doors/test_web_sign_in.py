"""Signing in: by choice on one's own computer, by passphrase on the network; every sign-in is an event."""

import stat

import pytest
from conftest_web import make_browser

from findhold.errors import BadInput, UnknownName
from findhold.service import settings, signing
from findhold.service.office import office
from findhold.service.tries import FIRST_WAIT_S, FREE_TRIES, LONGEST_WAIT_S, Tries

WORDS = "wet leather under oak"


@pytest.fixture
def marian(planned):
    """Marian Holt has a passphrase."""
    with office(str(planned), read_only=True) as desk:
        signing.set_passphrase(desk, "Marian Holt", WORDS)
    return planned


def told(ledger, person="Marian Holt"):
    with office(str(ledger), read_only=True) as desk:
        return [event.word for event in desk.ledger.story(f"visit/unit/{person}")]


def test_on_ones_own_computer_one_chooses_a_name_and_it_is_recorded(planned):
    browser = make_browser(planned)
    page = browser.get("/sign-in").text
    for name in ("Marian Holt", "Saffron Ode", "Idris Penhale"):
        assert name in page
    assert browser.sign_in("Idris Penhale").status_code == 200
    assert told(planned, "Idris Penhale") == ["visit.begun.1"]
    browser.post("/sign-out")
    assert told(planned, "Idris Penhale") == ["visit.begun.1", "visit.ended.1"]


def test_a_name_that_is_not_in_the_list_cannot_sign_in(planned):
    browser = make_browser(planned)
    answer = browser.sign_in("Nobody Atall")
    assert answer.status_code == 404
    assert browser.get("/", follow=False).status_code == 303


def test_on_the_network_only_people_with_a_passphrase_can_sign_in(marian):
    browser = make_browser(marian, needed=True)
    page = browser.get("/sign-in").text
    assert "Marian Holt" in page
    assert "Idris Penhale" not in page
    assert browser.sign_in("Idris Penhale").status_code == 404
    assert browser.sign_in("Marian Holt", passphrase="wrong wrong wrong").status_code == 403
    assert browser.sign_in("Marian Holt", passphrase=WORDS).status_code == 200
    assert told(marian) == ["visit.refused.1", "visit.begun.1"]


def test_a_person_with_a_passphrase_is_asked_for_it_on_their_own_computer_too(marian):
    browser = make_browser(marian)
    assert browser.sign_in("Marian Holt").status_code == 403
    assert browser.sign_in("Saffron Ode").status_code == 200


def test_a_visit_without_passphrase_is_nobody_on_the_network(planned):
    at_home = make_browser(planned)
    at_home.sign_in()
    on_net = make_browser(planned, needed=True)
    on_net.cookies = at_home.cookies
    assert on_net.get("/", follow=False).status_code == 303


def test_wrong_passphrases_have_to_wait_and_the_right_one_too(marian):
    browser = make_browser(marian, needed=True)
    for _ in range(FREE_TRIES):
        assert browser.sign_in("Marian Holt", passphrase="wrong wrong wrong").status_code == 403
    assert browser.sign_in("Marian Holt", passphrase=WORDS).status_code == 429
    assert told(marian).count("visit.refused.1") == FREE_TRIES, "what is not tried is not recorded"


def test_the_wait_doubles_up_to_its_longest_and_is_forgotten_after_the_right_one():
    tries = Tries()
    waits = []
    for _ in range(FREE_TRIES + 8):
        tries.wrong("a", 0.0)
        waits.append(tries.wait_s("a", 0.0))
    assert waits[: FREE_TRIES - 1] == [0.0] * (FREE_TRIES - 1)
    assert waits[FREE_TRIES - 1 : FREE_TRIES + 2] == [FIRST_WAIT_S, 2 * FIRST_WAIT_S, 4 * FIRST_WAIT_S]
    assert waits[-1] == LONGEST_WAIT_S
    assert tries.wait_s("b", 0.0) == 0.0
    tries.right("a")
    assert tries.wait_s("a", 0.0) == 0.0


def test_a_new_passphrase_ends_the_visits_under_the_old_one(marian):
    browser = make_browser(marian, needed=True)
    browser.sign_in("Marian Holt", passphrase=WORDS)
    assert browser.get("/", follow=False).status_code == 200
    with office(str(marian), read_only=True) as desk:
        signing.set_passphrase(desk, "Marian Holt", WORDS + " again")
    assert browser.get("/", follow=False).status_code == 303


def test_taking_the_passphrase_away_ends_the_visit(marian):
    browser = make_browser(marian, needed=True)
    browser.sign_in("Marian Holt", passphrase=WORDS)
    signing.remove_passphrase("Marian Holt")
    assert browser.get("/", follow=False).status_code == 303


def test_passphrases_are_kept_hashed_and_for_their_owner_only(marian):
    file = settings.settings_folder() / "passphrases.json"
    assert WORDS not in file.read_text()
    assert "$argon2id$" in file.read_text()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert WORDS.encode() not in marian.read_bytes()
    assert b"argon2" not in marian.read_bytes()


@pytest.mark.parametrize("text", ["short", "x" * 300, "marian holt"])
def test_a_passphrase_that_is_no_good_is_refused(planned, text):
    with office(str(planned), read_only=True) as desk, pytest.raises(BadInput):
        signing.set_passphrase(desk, "Marian Holt", text)


def test_a_passphrase_is_for_a_person_of_the_ledger(planned):
    with office(str(planned), read_only=True) as desk, pytest.raises(UnknownName, match="Did you mean Marian Holt"):
        signing.set_passphrase(desk, "Marian Hold", WORDS)


def test_the_command_gives_and_takes_a_passphrase(planned, findhold, monkeypatch):
    import io

    monkeypatch.setattr("sys.stdin", io.StringIO(WORDS + "\n"))
    assert findhold("passphrase", "Marian Holt", "--stdin", "--json").json == {
        "person": "Marian Holt",
        "has_passphrase": True,
    }
    assert signing.check_passphrase("Marian Holt", WORDS) == 1
    assert signing.check_passphrase("Marian Holt", WORDS.upper()) == 0
    assert findhold("passphrase", "Marian Holt", "--remove").code == 0
    assert findhold("passphrase", "Marian Holt", "--remove").code == 2
