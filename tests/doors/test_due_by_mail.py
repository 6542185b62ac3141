"""What is due by e-mail: a letter when something is due, none when nothing changed, and no false mark of sending."""

import os

import pytest
from smtp_on_loopback import mail_server, own_certificate

from findhold.service.office import office

MORNING = "2026-08-03T08:30+01:00"


def settings(tmp_path, port, **more):
    facts = {"server": "127.0.0.1", "port": port, "security": "none", "sender": "finds@example.org", **more}
    facts.setdefault("to", ["director@example.org"])
    lines = "\n".join(f"{key} = {_toml(value)}" for key, value in facts.items())
    (tmp_path / "home").mkdir(exist_ok=True)
    (tmp_path / "home" / "settings.toml").write_text(f"[mail]\n{lines}\n", encoding="utf-8")


def _toml(value):
    return str(value) if isinstance(value, int) else repr(value).replace("'", '"')


def sent(ledger):
    with office(str(ledger), read_only=True) as desk:
        thing = desk.ledger.state("digest/WCR26/mail")
    return {} if thing is None else thing.facts["sent"]


def test_a_digest_is_sent_once_and_again_when_something_is_late_on_another_day(findhold, planned, tmp_path):
    with mail_server() as server:
        settings(tmp_path, server.port)
        first = findhold("due", "--mail", "--at", MORNING)
        assert "Sent to director@example.org" in first.text
        assert first.code == 1  # something is late
        again = findhold("due", "--mail", "--at", "2026-08-03T08:50+01:00")
        assert "nothing changed since the last digest" in again.text
        later = findhold("due", "--mail", "--at", "2026-08-04T08:30+01:00")
        assert "Sent to" in later.text
    assert len(server.letters) == 2
    to, text, _ = server.letters[0]
    assert to == ("director@example.org",)
    for words in ("Subject: WCR26 Withy Carr: 2 boxes are late", "LATE, worst first", "NEXT ROUNDS", "Auto-Submitted"):
        assert words in text
    assert list(sent(planned)) == ["director@example.org"]


def test_before_anything_is_late_the_same_letter_is_not_sent_twice(findhold, planned, tmp_path):
    with mail_server() as server:
        settings(tmp_path, server.port)
        for hour in ("08", "09"):
            done = findhold("due", "--mail", "--at", f"2026-07-27T{hour}:00+01:00")
            assert done.code == 0
    assert len(server.letters) == 1


def test_a_person_gets_their_own(findhold, planned, tmp_path):
    with mail_server() as server:
        settings(tmp_path, server.port)
        findhold("due", "--mail", "--for", "IP", "--at", MORNING)
    assert [to for to, _, _ in server.letters] == [("idris.penhale@example.org",)]


def test_a_server_that_refuses_or_is_not_there_is_an_error_and_nothing_is_marked_as_sent(findhold, planned, tmp_path):
    with mail_server(refuse=("director@example.org",)) as server:
        settings(tmp_path, server.port)
        refused = findhold("due", "--mail", "--at", MORNING)
        gone = server.port
    assert refused.code == 2
    assert "takes the letter for nobody (director@example.org: 550 no such person)" in refused.text
    assert "nothing is marked as sent" in refused.text
    away = findhold("due", "--mail", "--at", MORNING)
    assert (away.code, str(gone) in away.text, "cannot be reached" in away.text) == (2, True, True)
    with mail_server(turn_away=True) as server:
        settings(tmp_path, server.port)
        assert "554 not today" in findhold("due", "--mail", "--at", MORNING).text
    assert sent(planned) == {}


def test_who_is_refused_among_others_is_told_and_asked_again_next_time(findhold, planned, tmp_path):
    to = ["director@example.org", "nobody@example.org"]
    with mail_server(refuse=("nobody@example.org",)) as server:
        settings(tmp_path, server.port, to=to)
        done = findhold("due", "--mail", "--at", MORNING)
        assert "Refused: nobody@example.org" in done.text
        assert list(sent(planned)) == ["director@example.org"]
    with mail_server() as server:
        settings(tmp_path, server.port, to=to)
        findhold("due", "--mail", "--at", MORNING)
    assert [one for one, _, _ in server.letters] == [("nobody@example.org",)]


def test_the_letter_and_the_password_go_over_tls(findhold, planned, tmp_path, monkeypatch):
    context, trust = own_certificate(tmp_path)
    monkeypatch.setenv("FINDS_MAIL", "s3cret")
    more = {"server": "localhost", "security": "starttls", "user": "finds", "password_env": "FINDS_MAIL"}
    with mail_server(context=context, password="s3cret") as server:
        settings(tmp_path, server.port, **more)
        stranger = findhold("due", "--mail", "--at", MORNING)
        assert "cannot be trusted" in stranger.text
        settings(tmp_path, server.port, ca_file=str(trust), **more)
        done = findhold("due", "--mail", "--at", MORNING)
        assert "Sent to" in done.text
        monkeypatch.setenv("FINDS_MAIL", "wrong")
        wrong = findhold("due", "--mail", "--at", "2026-08-05T08:30+01:00")
        assert "refuses user or password (535 wrong password)" in wrong.text
    assert [secure for _, _, secure in server.letters] == [True]
    assert "s3cret" not in (tmp_path / "wcr26.ledger").read_bytes().decode("latin-1")


def test_a_server_without_tls_gets_nothing_when_tls_is_asked_for(findhold, planned, tmp_path):
    with mail_server() as server:
        settings(tmp_path, server.port, security="starttls")
        done = findhold("due", "--mail", "--at", MORNING)
    assert done.code == 2
    assert server.letters == []


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"security": "magic"}, "no kind of security"),
        ({"port": 0}, "no port"),
        ({"user": "finds"}, "a user without a password"),
        ({"user": "finds", "password_env": "NO_SUCH_VARIABLE"}, "is not set"),
        ({"password": "s3cret"}, "unknown setting 'password'"),
        ({"to": []}, "nobody is to get it"),
        ({"server": "mail.example.org", "user": "f", "password_env": "HOME"}, "in the clear"),
    ],
)
def test_mail_settings_that_cannot_be_right_are_refused(findhold, planned, tmp_path, more, says):
    settings(tmp_path, **{"port": 2525, **more})
    done = findhold("due", "--mail", "--at", MORNING)
    assert done.code == 2
    assert says in done.text


def test_without_a_mail_section_it_is_said_what_to_write(findhold, planned):
    done = findhold("due", "--mail")
    assert done.code == 2
    assert "[mail]" in done.text


@pytest.mark.skipif(os.name != "posix", reason="permissions of files are POSIX's")
def test_a_password_that_others_can_read_is_refused(findhold, planned, tmp_path):
    file = tmp_path / "password"
    file.write_text("s3cret", encoding="utf-8")
    file.chmod(0o644)
    settings(tmp_path, 2525, user="finds", password_file=str(file))
    assert "chmod 600" in findhold("due", "--mail").text
