"""UUID version 7: time-ordered identifiers, made from a given time and given random bits."""

from __future__ import annotations

import uuid


def make(unix_ms: int, random_bits: int) -> uuid.UUID:
    """A version 7 UUID.

    Parameters
    ----------
    unix_ms : milliseconds since 1970-01-01 UTC, 48 bits.
    random_bits : 74 random bits (rand_a 12, rand_b 62).

    Raises
    ------
    ValueError : a value outside its bits.

    Source
    ------
    RFC 9562 (2024), section 5.7; layout seen in code quoting the RFC.
    """
    if not 0 <= unix_ms < 1 << 48:
        raise ValueError(f"unix_ms {unix_ms} does not fit 48 bits")
    if not 0 <= random_bits < 1 << 74:
        raise ValueError("random_bits does not fit 74 bits")
    rand_a = random_bits >> 62
    rand_b = random_bits & ((1 << 62) - 1)
    return uuid.UUID(int=unix_ms << 80 | 0x7 << 76 | rand_a << 64 | 0b10 << 62 | rand_b)
