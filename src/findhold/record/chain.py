"""The hash chain: each event of a device is sealed onto the one before."""

from __future__ import annotations

import hashlib
from typing import Any

from findhold.record.canonical import canonical_json


def seal(prev_hex: str, entry: dict[str, Any]) -> str:
    """SHA-256 of the hash before and the canonical JSON of the entry.

    Parameters
    ----------
    prev_hex : hash of the event before [64 hex digits]; 64 zeros for the first.
    entry : the event as plain data without its hashes.

    Returns
    -------
    str : 64 hex digits.

    Source
    ------
    FIPS 180-4 SHA-256 through the standard library; canonical form RFC 8785.
    """
    return hashlib.sha256(bytes.fromhex(prev_hex) + canonical_json(entry)).hexdigest()
