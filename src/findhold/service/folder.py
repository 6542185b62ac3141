"""Files out: written whole under another name first, then moved into place, so that no half file is ever left."""

from __future__ import annotations

import re
import secrets
from contextlib import suppress
from pathlib import Path

from findhold.errors import BadInput


def write_file(path: Path, data: bytes) -> Path:
    """Write a file whole or not at all; the folder is made when it is missing.

    Raises
    ------
    BadInput : the folder cannot be written or the disk is full; what was there before is untouched.
    """
    building = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        building.write_bytes(data)
        building.replace(path)
    except OSError as error:
        with suppress(OSError):  # where even the folder could not be made there is nothing to take away
            building.unlink()
        raise BadInput(
            f"the file cannot be written ({error.strerror})",
            where=str(path),
            do="Choose a folder you may write to, with some free space",
        ) from error
    return path


def file_name(*parts: str, ending: str) -> str:
    """A file name from parts, safe on every system: "WCR26-37-label.pdf"."""
    safe = [re.sub(r"[^\w.+-]+", "-", part).strip("-") for part in parts]
    return "-".join(part for part in safe if part) + ending
