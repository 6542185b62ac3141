"""The doorway: what pages and API share on their way to the service: the ledger, the sealing secret, the rules."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime

from findhold.errors import FindholdError
from findhold.service import signing, visits
from findhold.service.office import Office, office, wall_clock
from findhold.service.tries import Tries

STATUS = {
    "unknown_name": 404,
    "not_served": 405,
    "key_used": 409,
    "sign_in": 401,
    "refused": 403,
    "too_often": 429,
    "too_large": 413,
    "ledger": 503,
    "broken": 500,
}
"""HTTP status by the error's code, the same for pages and API; any other code is UNPROCESSABLE."""
UNPROCESSABLE = 422


def status_of(error: FindholdError) -> int:
    """The HTTP status of an error."""
    return STATUS.get(error.code, UNPROCESSABLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Doorway:
    """One ledger behind one address.

    needed : a passphrase is asked of everybody (on the network). secure : served over TLS. hosts : the names under
    which it answers, without port. ca_pem : the certificate of this computer's own authority, for tablets to take.
    """

    ledger: str
    secret: bytes
    needed: bool = False
    secure: bool = False
    hosts: tuple[str, ...] = ("localhost", "127.0.0.1", "[::1]")
    addresses: tuple[str, ...] = ()
    """Where other devices reach it, in full: https://192.168.1.20:8443/."""
    ca_pem: bytes | None = None
    ca_fingerprint: str = ""
    now: Callable[[], datetime] = wall_clock
    tries: Tries = field(default_factory=Tries)
    turn: threading.Lock = field(default_factory=threading.Lock)
    """Writers of this program take turns here, and only then at the ledger's own lock, which is not fair."""

    @property
    def cookie(self) -> str:
        """The name under which a browser keeps its visit: its own for each ledger, for ports do not part cookies."""
        name = f"findhold-{hashlib.sha256(self.ledger.encode()).hexdigest()[:8]}"
        return f"__Host-{name}" if self.secure else name

    def cookie_header(self, sealed: str) -> str:
        """The Set-Cookie line that gives a browser its visit; "" takes it away."""
        end = f"; Max-Age={int(visits.OPEN_LONGEST_S)}" if sealed else "; Max-Age=0"
        return f"{self.cookie}={sealed}; Path=/; HttpOnly; SameSite=Lax{end}" + ("; Secure" if self.secure else "")

    @contextmanager
    def reading(self, person: str = "") -> Iterator[Office]:
        """The office for looking."""
        with office(self.ledger, person=person or None, read_only=True, now=self.now) as desk:
            yield desk

    @contextmanager
    def writing(self, person: str) -> Iterator[Office]:
        """The office for a person who records something."""
        with self.turn, office(self.ledger, person=person or None, now=self.now) as desk:
            yield desk

    def visit(self, sealed: str | None) -> visits.Visit:
        """Who is there, by what the browser kept; a guest when that is nobody, or no longer good."""
        now_s = self.now().timestamp()
        found = visits.unseal(sealed, self.secret, now_s) if sealed else None
        if found is None or not (found.guest or signing.still_good(found, needed=self.needed)):
            return visits.new_visit("", now_s)
        return found

    def sealed(self, visit: visits.Visit) -> str:
        """A visit as the browser keeps it."""
        return visits.seal(visit, self.secret)

    def token(self, visit: visits.Visit) -> str:
        """What every form of this visit carries."""
        return visits.token_of(visit, self.secret)

    def token_right(self, visit: visits.Visit, token: str) -> bool:
        """True when a form came from one of our own pages in this visit."""
        return visits.token_right(visit, self.secret, token)
