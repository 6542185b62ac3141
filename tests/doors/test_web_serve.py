"""serve: the port, the network, the certificates, and the look-ups behind the pages."""

import socket
import stat
import threading
import time
from datetime import UTC, datetime, timedelta

import httpx
import pytest

from findhold.app import authority, running
from findhold.errors import BadInput, LedgerTrouble
from findhold.service import settings, signing
from findhold.service.office import office
from findhold.store import lookup, schema

HOSTS = ("localhost", "127.0.0.1", "[::1]", "192.168.7.2")


def test_a_port_that_is_taken_is_told_with_another_to_try(planned):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(BadInput, match=f"--port {port + 1}"):
            running.ready(running.ServeRequest(ledger=str(planned), port=port))


def test_no_ledger_is_told_before_anything_is_served(tmp_path):
    with pytest.raises(LedgerTrouble, match="no ledger here"):
        running.ready(running.ServeRequest(ledger=str(tmp_path / "no.ledger"), port=0))
    with pytest.raises(BadInput, match="no ledger was named"):
        running.ready(running.ServeRequest(port=0))


def test_the_network_is_not_served_before_somebody_has_a_passphrase(planned):
    with pytest.raises(BadInput, match="findhold passphrase"):
        running.ready(running.ServeRequest(ledger=str(planned), port=0, lan=True))
    with office(str(planned), read_only=True) as desk:
        signing.set_passphrase(desk, "Marian Holt", "wet leather under oak")
    made = running.ready(running.ServeRequest(ledger=str(planned), port=0, lan=True))
    made.close()
    assert made.people == ("Marian Holt",)
    assert made.doorway.needed


def test_by_default_only_this_computer_is_served(planned):
    made = running.ready(running.ServeRequest(ledger=str(planned), port=0))
    made.close()
    assert made.addresses == ()
    assert made.doorway.hosts == running.LOOPBACK
    assert made.address.startswith("http://localhost:")


def test_it_serves_over_tls_with_a_certificate_that_its_own_authority_vouches_for(planned, tmp_path):
    import ssl

    made = running.ready(running.ServeRequest(ledger=str(planned), port=0, tls=True, browser=False))
    threading.Thread(target=made.run, daemon=True).start()
    ca = tmp_path / "ca.pem"
    ca.write_bytes(made.doorway.ca_pem)
    trusting = ssl.create_default_context(cafile=str(ca))
    for _ in range(100):
        try:
            answer = httpx.get(made.address + "sign-in", verify=trusting)
            break
        except httpx.ConnectError:
            time.sleep(0.05)
    assert answer.status_code == 200
    assert "Secure" in answer.headers["set-cookie"]
    with pytest.raises(httpx.ConnectError, match="certificate verify failed"):
        httpx.get(made.address, verify=ssl.create_default_context())


def test_the_authority_is_made_once_and_its_key_is_for_its_owner_only():
    first = authority.certified(HOSTS)
    again = authority.certified(HOSTS)
    assert first.ca_pem == again.ca_pem
    assert first.cert_file.read_bytes() == again.cert_file.read_bytes()
    folder = settings.settings_folder() / "tls"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for name in ("authority.key", "server.key"):
        assert stat.S_IMODE((folder / name).stat().st_mode) == 0o600


def test_a_certificate_is_renewed_before_it_ends_and_when_the_address_changes():
    now = datetime.now(UTC)
    first = authority.certified(HOSTS, now)
    kept = first.cert_file.read_bytes()
    later = now + timedelta(days=authority.LEAF_DAYS - authority.RENEW_DAYS - 1)
    assert authority.certified(HOSTS, later).cert_file.read_bytes() == kept
    assert authority.certified(HOSTS, later + timedelta(days=2)).cert_file.read_bytes() != kept
    kept = first.cert_file.read_bytes()
    assert authority.certified((*HOSTS, "192.168.7.9"), now).cert_file.read_bytes() != kept
    assert authority.certified(HOSTS, now + timedelta(days=authority.AUTHORITY_DAYS)).ca_pem != first.ca_pem


def test_the_authority_can_vouch_for_local_names_only():
    from cryptography import x509

    ca = x509.load_pem_x509_certificate(authority.certified(HOSTS).ca_pem)
    limits = ca.extensions.get_extension_for_class(x509.NameConstraints)
    assert limits.critical
    names = {name.value for name in limits.value.permitted_subtrees if isinstance(name, x509.DNSName)}
    assert names == {"localhost", "local"}
    nets = [name.value for name in limits.value.permitted_subtrees if isinstance(name, x509.IPAddress)]
    assert all(net.is_private for net in nets)


def plans(ledger, statement):
    """How the database would look a statement up."""
    with office(str(ledger), read_only=True) as desk, desk.ledger.reading() as connection:
        compiled = statement.compile(dialect=connection.dialect, compile_kwargs={"literal_binds": True})
        return " ".join(row[3] for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {compiled}"))


@pytest.mark.parametrize(
    ("index", "look"),
    [
        ("hold_by_find", lambda read: lookup.hold_of_find(read, "WCR26", "37")),
        ("hold_by_find", lambda read: lookup.holds_of_finds(read, "WCR26", ["37", "44"])),
        ("hold_by_due", lambda read: lookup.holds_due(read, "WCR26", "2026-08-09T00:00:00.000Z", 10)),
        ("sample_by_find", lambda read: lookup.samples_of_find(read, "WCR26", "37", 10)),
        (
            "find_words USING PRIMARY KEY",
            lambda read: lookup.finds_page(read, lookup.FindsAsked(site="WCR26", after=(37, "37"))),
        ),
        ("event_by_stream", lambda read: lookup.story_tail(read, ["find/WCR26/37", "hold/WCR26/B1"], limit=10)),
    ],
)
def test_each_look_up_goes_by_its_index(planned, monkeypatch, index, look):
    asked = []
    with office(str(planned), read_only=True) as desk, desk.ledger.reading() as connection:
        run = connection.execute

        def watched(statement, *more):
            asked.append(statement)
            return run(statement, *more)

        monkeypatch.setattr(connection, "execute", watched)
        look(connection)
    assert index in plans(planned, asked[0])


def test_a_ledger_without_the_look_ups_gets_them_when_it_is_opened_for_writing(planned):
    import sqlite3

    with sqlite3.connect(planned) as connection:
        for name in schema.SQLITE_INDEXES:
            connection.execute(f"DROP INDEX {name}")
    with office(str(planned), read_only=True) as desk, desk.ledger.reading() as connection:
        assert lookup.hold_of_find(connection, "WCR26", "37") is not None, "it is only slower"
    with office(str(planned)):
        pass
    with sqlite3.connect(planned) as connection:
        names = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'index'")}
    assert set(schema.SQLITE_INDEXES) <= names


def test_the_demos_clock_is_only_for_a_ledger_of_the_demo(findhold, withy_carr):
    done = findhold("serve", "--demo-clock", "--no-browser", "--port", 0)
    assert done.code == 2
    assert "not made by the demo" in done.text
