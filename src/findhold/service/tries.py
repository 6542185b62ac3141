"""Tries: how often a passphrase may be typed wrong before one has to wait."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field

FREE_TRIES = 5
"""So many wrong ones in a row cost nothing (judgement: wet gloves)."""
FIRST_WAIT_S = 30.0
LONGEST_WAIT_S = 900.0
MOST_NAMES = 4096
"""Names remembered at most; the oldest are forgotten first."""


@dataclass(slots=True)
class _Count:
    wrong: int = 0
    until_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tries:
    """Wrong tries by name (a person, an address), kept while the program runs."""

    counts: dict[str, _Count] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def wait_s(self, name: str, now_s: float) -> float:
        """How long this name has to wait [s]; 0 when it may try."""
        with self.lock:
            count = self.counts.get(name)
            return max(0.0, count.until_s - now_s) if count else 0.0

    def wrong(self, name: str, now_s: float) -> None:
        """Count a wrong try; from the fifth on the wait doubles, up to a quarter of an hour."""
        with self.lock:
            count = self.counts.pop(name, None) or _Count()
            count.wrong += 1
            over = count.wrong - FREE_TRIES
            if over >= 0:
                count.until_s = now_s + min(LONGEST_WAIT_S, FIRST_WAIT_S * 2.0 ** min(over, 10))
            self.counts[name] = count
            while len(self.counts) > MOST_NAMES:
                self.counts.pop(next(iter(self.counts)))

    def right(self, name: str) -> None:
        """Forget a name's wrong tries."""
        with self.lock:
            self.counts.pop(name, None)
