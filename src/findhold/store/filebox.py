"""Files kept beside the ledger under the name of their checksum: the same bytes twice are one file."""

from __future__ import annotations

import hashlib
import secrets
from pathlib import Path

from findhold.errors import LedgerTrouble


def filebox(ledger: Path) -> Path:
    """The folder of a ledger's files: wcr26.ledger has wcr26-files."""
    return ledger.with_name(f"{ledger.stem}-files")


def checksum(data: bytes) -> str:
    """SHA-256 as 64 hex digits."""
    return hashlib.sha256(data).hexdigest()


def kept_fault(ledger: Path, sha256: str) -> str | None:
    """Why a file that an event speaks of is not what it was, or None: every event's file is found by its checksum."""
    found = sorted(filebox(ledger).glob(f"{sha256}*"))
    if not found:
        return f"its file {sha256[:12]}... is not in {filebox(ledger).name}"
    if checksum(found[0].read_bytes()) != sha256:
        return f"its file {found[0].name} was changed after it was kept"
    return None


def keep_file(ledger: Path, data: bytes, ending: str) -> str:
    """Keep a file whole beside the ledger; returns its path from the ledger's folder.

    A file that is kept and then not spoken of by any event does no harm: the next try finds it there.

    Raises
    ------
    LedgerTrouble : the folder cannot be written, or the disk is full.
    """
    kept = filebox(ledger) / f"{checksum(data)}{ending}"
    building = kept.with_name(f".{kept.name}.{secrets.token_hex(4)}.part")
    try:
        kept.parent.mkdir(exist_ok=True)
        if not (kept.is_file() and kept.read_bytes() == data):
            building.write_bytes(data)
            building.replace(kept)
    except OSError as error:
        building.unlink(missing_ok=True)
        raise LedgerTrouble(
            f"the file cannot be kept beside the ledger ({error.strerror})",
            where=str(kept.parent),
            do="Make the folder writable, with some free space, and run this again; nothing was recorded",
        ) from error
    return kept.relative_to(ledger.parent).as_posix()
