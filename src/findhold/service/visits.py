"""Visits: who is at a page, as a sealed text that the browser keeps and nobody can make up."""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
import json
import os
import secrets
from dataclasses import asdict, dataclass

from findhold.errors import LedgerTrouble
from findhold.service.settings import settings_folder

LONGEST_S = 12 * 3600.0
"""A visit ends after a working day [s]; sign in again in the morning."""
OPEN_LONGEST_S = 30 * 86400.0
"""On one's own computer without passphrases a visit ends after a month [s]."""
SECRET_BYTES = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One person at one browser since an instant [s since 1970]; person "" before anybody signed in.

    turn : the person's passphrase when they signed in (it counts up when it is changed, which ends older visits).
    """

    id: str
    person: str
    begun_s: float
    turn: int = 0
    checked: bool = False
    """True when a passphrase was asked for and right."""

    @property
    def guest(self) -> bool:
        return not self.person


def new_visit(person: str, now_s: float, *, turn: int = 0, checked: bool = False) -> Visit:
    """A visit under a fresh identity."""
    return Visit(id=secrets.token_urlsafe(18), person=person, begun_s=now_s, turn=turn, checked=checked)


def seal(visit: Visit, secret: bytes) -> str:
    """The visit as text for the browser: its facts and an HMAC-SHA-256 over them."""
    facts = json.dumps(asdict(visit), ensure_ascii=False, separators=(",", ":")).encode()
    return f"{_text(facts)}.{_text(_mac(secret, b'visit', facts))}"


def unseal(text: str, secret: bytes, now_s: float) -> Visit | None:
    """The visit that a text stands for; None when it was made up, changed, or has ended."""
    facts_text, dot, mac_text = text.partition(".")
    try:
        facts, mac = _bytes(facts_text), _bytes(mac_text)
    except (binascii.Error, ValueError):
        return None
    if not dot or not hmac.compare_digest(mac, _mac(secret, b"visit", facts)):
        return None
    try:
        visit = Visit(**json.loads(facts))
    except TypeError:  # sealed by another version of the program
        return None
    longest_s = LONGEST_S if visit.checked else OPEN_LONGEST_S
    return visit if -60.0 <= now_s - visit.begun_s <= longest_s else None


def token_of(visit: Visit, secret: bytes) -> str:
    """The token that every form of this visit carries, and no other page can know."""
    return _text(_mac(secret, b"token", visit.id.encode()))


def token_right(visit: Visit, secret: bytes, token: str) -> bool:
    """True when the token is this visit's."""
    return hmac.compare_digest(token_of(visit, secret).encode(), token.encode("utf-8", "replace"))


def signing_secret() -> bytes:
    """This computer's secret for sealing, made once and readable by its owner only."""
    file = settings_folder() / "signing-secret"
    try:
        if file.is_file():
            kept = file.read_bytes()
            if len(kept) == SECRET_BYTES:
                return kept
        file.parent.mkdir(parents=True, exist_ok=True)
        made = secrets.token_bytes(SECRET_BYTES)
        building = file.with_name(f".{file.name}.{secrets.token_hex(4)}")
        building.touch(mode=0o600)
        building.write_bytes(made)
        try:
            os.link(building, file)
        except FileExistsError:  # another program made it at the same moment: its secret counts
            return file.read_bytes()
        finally:
            building.unlink()
    except OSError as error:
        raise LedgerTrouble(
            f"the secret that seals sign-ins cannot be kept ({error.strerror})",
            where=str(file),
            do="Set FINDHOLD_HOME to a folder you may write to",
        ) from error
    return made


def _mac(secret: bytes, use: bytes, data: bytes) -> bytes:
    return hmac.new(secret, use + b"\0" + data, hashlib.sha256).digest()


def _text(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode("ascii")


def _bytes(text: str) -> bytes:
    return base64.urlsafe_b64decode(text.encode("ascii") + b"=" * (-len(text) % 4))
