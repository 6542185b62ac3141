"""Digests by the unit's own mail server: only when something changed or is due, and marked as sent only when taken."""

from __future__ import annotations

import os
import smtplib
import ssl
import stat
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from email.message import EmailMessage
from email.utils import format_datetime, make_msgid
from pathlib import Path
from typing import Any

from findhold.dates.instants import zone_named
from findhold.errors import BadInput, LedgerTrouble
from findhold.record.events import NewEvent, stream_of
from findhold.service.office import Office
from findhold.service.rounds.calendar import unit_calendar
from findhold.service.rounds.chosen import checked, sections
from findhold.service.rounds.digest import Digest, digest
from findhold.service.rounds.planning import person_named
from findhold.service.rounds.shapes import RoundsRequest

TIMEOUT_S = 30.0
PORTS = {"starttls": 587, "tls": 465, "none": 25}
LOOPBACK = ("localhost", "127.0.0.1", "::1")


@dataclass(frozen=True, slots=True, kw_only=True)
class MailServer:
    """The unit's mail server. security : starttls, tls, or none (then without password, unless on this computer)."""

    server: str
    port: int
    security: str
    sender: str
    to: tuple[str, ...]
    user: str = ""
    password: str = ""
    ca_file: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """What came of a digest: who took it, whom the server refused and why, why nothing was sent ("" when it was)."""

    subject: str
    text: str
    taken: tuple[str, ...]
    refused: tuple[tuple[str, str], ...]
    not_sent: str


def read_mail() -> MailServer:
    """The [mail] section of settings.toml.

    Raises
    ------
    BadInput : there is none, a key is unknown or missing, the password cannot be read, or would go in the clear.
    """
    where = "settings.toml [mail]"
    given = sections().get("mail")
    if given is None:
        raise BadInput(
            "no mail server is set",
            where=where,
            do='Write [mail] with server = "...", sender = "..." and to = ["..."] in settings.toml',
        )
    values = checked("mail", given)
    for name in ("server", "sender"):
        if not isinstance(values.get(name), str) or not values[name].strip():
            raise BadInput(f"{name} is missing", where=where, do=f'Write {name} = "..."')
    security = values.get("security", "starttls")
    if security not in PORTS:
        raise BadInput(f"{security!r} is no kind of security", where=where, limit=", ".join(PORTS), do="Take starttls")
    port = values.get("port", PORTS[security])
    if not isinstance(port, int) or not 0 < port < 65536:
        raise BadInput(f"{port!r} is no port", where=where, limit="1 to 65535", do="Ask who runs the mail server")
    to = values.get("to", [])
    user = str(values.get("user", ""))
    password = _password(values, where) if user else ""
    if password and security == "none" and values["server"] not in LOOPBACK:
        raise BadInput(
            "the password would go over the network in the clear",
            where=where,
            do='Write security = "starttls" or "tls"',
        )
    return MailServer(
        server=values["server"].strip(),
        port=port,
        security=security,
        sender=values["sender"].strip(),
        to=tuple(str(one) for one in (to if isinstance(to, list) else [to])),
        user=user,
        password=password,
        ca_file=str(values.get("ca_file", "")),
    )


def send_digest(office: Office, request: RoundsRequest, server: MailServer) -> Sent:
    """Send what is due to one person (for_name) or to the addresses of the settings, and record who took it.

    Nothing is sent when nothing is due, or when the same letter was taken before and nothing in it is late or for
    today; what is late or for today is said once a day.

    Raises
    ------
    BadInput : nobody to send to, or the server cannot be reached or takes the letter for nobody; nothing is recorded.
    """
    site = office.site(request.site)
    stream = stream_of("digest", site.number, "mail")
    letter = digest(office, request)
    to = _addresses(office, request, server)
    before = office.ledger.state(stream)
    known = before.facts.get("sent", {}) if before else {}
    new = tuple(one for one in to if _wanted(letter, known.get(one), office.now(), str(site.facts["zone"])))
    if not new:
        why = "nothing is due" if not letter.anything else "nothing changed since the last digest"
        return Sent(subject=letter.subject, text=letter.text, taken=(), refused=(), not_sent=why)
    refused = post(server, letter_of(letter, server.sender, new, office.now()), new)
    taken = tuple(one for one in new if one not in refused)
    body = {"to": list(taken), "sha256": letter.sha256, "subject": letter.subject}
    with office.ledger.writing(office.stamp()) as writing:
        writing.append([NewEvent(word="digest.sent.1", stream=stream, body=body)])
    return Sent(subject=letter.subject, text=letter.text, taken=taken, refused=tuple(refused.items()), not_sent="")


def letter_of(letter: Digest, sender: str, to: tuple[str, ...], at: datetime) -> EmailMessage:
    """The digest as a message of plain text."""
    message = EmailMessage()
    try:
        message["Subject"] = letter.subject
        message["From"] = sender
        message["To"] = ", ".join(to)
    except ValueError as error:
        raise BadInput(f"an address cannot be used ({error})", where="settings.toml [mail]", do="Mend it") from error
    message["Date"] = format_datetime(at)
    message["Message-ID"] = make_msgid(idstring=letter.sha256[:16], domain=sender.rpartition("@")[2] or None)
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(letter.text)
    return message


def post(server: MailServer, message: EmailMessage, to: tuple[str, ...]) -> dict[str, str]:
    """Hand a message to the mail server; returns whom it refused, each with its words.

    Raises
    ------
    BadInput : the server cannot be reached or trusted, refuses us, or takes the message for nobody.
    """
    where = f"mail server {server.server}, port {server.port}"
    try:
        with _connected(server) as client:
            if server.user:
                client.login(server.user, server.password)
            refused = client.send_message(message, from_addr=server.sender, to_addrs=list(to))
    except smtplib.SMTPRecipientsRefused as error:
        words = "; ".join(f"{one}: {_said(answer)}" for one, answer in error.recipients.items())
        raise _not_sent(f"it takes the letter for nobody ({words})", where, "Correct the addresses") from error
    except smtplib.SMTPAuthenticationError as error:
        words = f"it refuses user or password ({_said((error.smtp_code, error.smtp_error))})"
        raise _not_sent(words, where, "Check user and password with who runs the mail server") from error
    except smtplib.SMTPResponseException as error:
        words = f"it refuses ({_said((error.smtp_code, error.smtp_error))})"
        raise _not_sent(words, where, "Ask who runs the mail server") from error
    except ssl.SSLError as error:
        words = f"its connection cannot be trusted ({error.reason or error})"
        raise _not_sent(words, where, "Check the server's name, security and port") from error
    except (OSError, smtplib.SMTPException) as error:
        words = f"it cannot be reached or spoken with ({error})"
        raise _not_sent(words, where, "Check server and port, and that the network is up") from error
    return {one: _said(answer) for one, answer in refused.items()}


def _connected(server: MailServer) -> smtplib.SMTP:
    trust = ssl.create_default_context(cafile=server.ca_file or None)
    if server.security == "tls":
        return smtplib.SMTP_SSL(server.server, server.port, timeout=TIMEOUT_S, context=trust)
    client = smtplib.SMTP(server.server, server.port, timeout=TIMEOUT_S)
    if server.security == "starttls":
        try:
            client.starttls(context=trust)
        except BaseException:
            client.close()
            raise
    return client


def _not_sent(wrong: str, where: str, do: str) -> BadInput:
    return BadInput(f"{wrong}; nothing was sent, and nothing is marked as sent", where=where, do=do)


def _said(answer: tuple[int, bytes | str]) -> str:
    code, words = answer
    text = words.decode("utf-8", "replace") if isinstance(words, bytes) else str(words)
    return f"{code} {' '.join(text.split())}".strip()


def _addresses(office: Office, request: RoundsRequest, server: MailServer) -> tuple[str, ...]:
    if not request.for_name.strip():
        if not server.to:
            raise BadInput(
                "nobody is to get it", where="settings.toml [mail]", do='Write to = ["..."], or add --for NAME'
            )
        return server.to
    person = person_named(request.for_name, unit_calendar(office, office.now().date()).roster)
    if not person.email:
        raise BadInput("there is no e-mail address", where=person.name, do="Enter it in the list of people")
    return (person.email,)


def _wanted(letter: Digest, last: Mapping[str, Any] | None, now: datetime, zone: str) -> bool:
    """Whether an address is to get the letter now."""
    if not letter.anything:
        return False
    if last is None or last["sha256"] != letter.sha256:
        return True
    clock = zone_named(zone)
    day = datetime.fromisoformat(last["at"]).astimezone(clock).date()
    return letter.urgent and day < now.astimezone(clock).date()


def _password(values: Mapping[str, Any], where: str) -> str:
    """The password, from the environment or from a file that only its owner can read; never from the settings."""
    if name := values.get("password_env"):
        found = os.environ.get(str(name))
        if not found:
            raise BadInput(f"the environment variable {name} is not set", where=where, do="Set it to the mail password")
        return found
    if not values.get("password_file"):
        raise BadInput(
            "a user without a password", where=where, do='Write password_env = "NAME", or password_file = "FILE"'
        )
    file = Path(str(values["password_file"])).expanduser()
    try:
        open_to_others = os.name == "posix" and file.stat().st_mode & (stat.S_IRWXG | stat.S_IRWXO)
        text = file.read_text(encoding="utf-8").strip()
    except OSError as error:
        raise LedgerTrouble(
            f"the password cannot be read ({error.strerror})", where=str(file), do="Check the name and the permissions"
        ) from error
    if open_to_others:
        raise BadInput("others can read the password", where=str(file), do=f"Run: chmod 600 {file}")
    return text
