"""A scan's file: what it really is, whether it can be read within limits, and its corners and triangles.

Everything a file announces about itself is checked against the bytes that are there before memory is taken for it.
"""

from __future__ import annotations

import re
import struct

import numpy as np

from findhold.errors import BadInput
from findhold.geometry.mesh.glb import read_glb
from findhold.geometry.mesh.plain import STL_HEAD, STL_ROW, read_obj, read_stl
from findhold.geometry.mesh.ply import read_ply
from findhold.geometry.mesh.raw import Limits, RawMesh, broken, check_count, thin_it

_READERS = {"PLY": read_ply, "OBJ": read_obj, "STL": read_stl, "GLB": read_glb}
READ = tuple(_READERS)
"""Kinds of file that can be read, in the order in which they are offered."""
HEAD_BYTES = 65_536
"""So many bytes from the beginning tell what a file is."""
_MAGIC = (
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"II*\x00", "a TIFF picture"),
    (b"MM\x00*", "a TIFF picture"),
    (b"PK\x03\x04", "a ZIP archive (3MF and office files are such)"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"%PDF", "a PDF"),
    (b"Kaydara FBX", "an FBX scene"),
    (b"LASF", "a LAS point cloud"),
    (b"ASTM-E57", "an E57 point cloud"),
    (b"SQLite format 3", "an SQLite database"),
    (b"OFF\n", "an OFF mesh"),
    (b"OFF\r", "an OFF mesh"),
)


def check_head(head: bytes, size_bytes: int, name: str, limits: Limits) -> str:
    """What a file is, from its first bytes and its size, before the rest of it is read.

    Parameters
    ----------
    head : the first HEAD_BYTES of the file, or all of it.
    size_bytes : size of the whole file.
    name : its name, for the ending and for messages.

    Returns
    -------
    One of READ.

    Raises
    ------
    BadInput : empty, too large, of a kind that is not read, or not what its ending says.
    """
    if size_bytes == 0:
        raise BadInput("the file is empty", where=name, do="Export the scan again and look at the size of the file")
    found = _kind(head, size_bytes)
    ending = name.rpartition(".")[2].upper() if "." in name else ""
    if found not in READ and found is not None:
        raise BadInput(f"this is {found}, not a scan", where=name, limit=", ".join(READ), do="Export a triangle mesh")
    if ending not in READ:
        told = f"; by its first bytes it is {_an(found)} file" if found else ""
        do = f"Rename it to end in .{found.lower()}" if found else "Export the scan as PLY"
        raise BadInput(f"the ending of the name is not one that is read{told}", where=name, limit=_endings(), do=do)
    if found is None and ending == "STL":
        _broken_stl(head, size_bytes, name, limits)
    if found is None:
        raise BadInput(
            f"the file does not begin as {_an(ending)} file does",
            where=name,
            limit=_endings(),
            do="Export the scan again; the file may be broken or of another kind",
        )
    if found != ending:
        raise BadInput(
            f"the name ends in .{ending.lower()}, but this is {_an(found)} file",
            where=name,
            do=f"Rename it to end in .{found.lower()} if that is what it should be, or choose the right file",
        )
    announced = _announced(head, found)
    if announced is not None:
        check_count(announced, name, limits)
    if size_bytes > limits.bytes_most:
        raise BadInput(
            f"the file has {size_bytes / 1e6:.0f} MB",
            where=name,
            limit=f"up to {limits.bytes_most / 1e6:.0f} MB",
            do=thin_it(limits) + ", without colours and pictures",
        )
    return found


def read_mesh(data: bytes, name: str, limits: Limits) -> RawMesh:
    """Read a scan.

    Parameters
    ----------
    data : the whole file. name : its name; the ending must fit the bytes.

    Returns
    -------
    RawMesh: every corner a finite number, every triangle made of corners that are there.

    Raises
    ------
    BadInput : the file is empty, too large, renamed, broken off, hostile in its sizes, without triangles, or holds
        coordinates that are no numbers or triangles of corners that are not there.
    """
    kind = check_head(data[:HEAD_BYTES], len(data), name, limits)
    raw = _READERS[kind](data, name, limits)
    check_count(len(raw.triangles), name, limits)
    _check_numbers(raw, name)
    return raw


def _check_numbers(raw: RawMesh, name: str) -> None:
    good = np.asarray(np.isfinite(raw.corners).all(axis=1))
    if not good.all():
        first = int(np.argmin(good))
        raise BadInput(
            f"{int((~good).sum())} of {len(good)} corners have a coordinate that is no number (the first is corner "
            f"{first + 1})",
            where=name,
            do="Mend the scan in the program that made it, and export it again",
        )
    low, high = int(raw.triangles.min()), int(raw.triangles.max())
    if low < 0 or high >= len(raw.corners):
        wrong = (raw.triangles < 0) | (raw.triangles >= len(raw.corners))
        raise BadInput(
            f"{int(wrong.any(axis=1).sum())} triangles name corners that are not there",
            where=name,
            limit=f"corners 1 to {len(raw.corners)}",
            do="Export the scan again, or copy the file again: this one is broken",
        )


def _kind(head: bytes, size_bytes: int) -> str | None:
    """One of READ, another kind in words, or None."""
    if re.match(rb"ply\s", head):
        return "PLY"
    if head[:4] == b"glTF":
        return "GLB"
    if len(head) >= STL_HEAD and size_bytes == STL_HEAD + STL_ROW * struct.unpack_from("<I", head, 80)[0]:
        return "STL"
    for magic, words in _MAGIC:
        if head.startswith(magic):
            return words
    if b"\x00" in head:
        return None
    lowered = head.lstrip().lower()
    if lowered.startswith(b"solid") and b"facet" in lowered:
        return "STL"
    if lowered.startswith(b"{") and b'"asset"' in lowered:
        return "a glTF scene as text (export it as GLB, one file)"
    if lowered.startswith((b"<!doctype html", b"<html")):
        return "a web page"
    if re.search(rb"(?m)^[ \t]*v[ \t]+[-+.\d]", head):
        return "OBJ"
    return None


def _announced(head: bytes, kind: str) -> int | None:
    """Triangles that a header announces; None where the header does not say."""
    if kind == "PLY":
        said = re.search(rb"(?m)^element\s+face\s+(\d{1,18})\s*$", head)
        return int(said.group(1)) if said else None
    if kind == "STL" and not head.lstrip().lower().startswith(b"solid") and len(head) >= STL_HEAD:
        return int(struct.unpack_from("<I", head, 80)[0])
    return None


def _broken_stl(head: bytes, size_bytes: int, name: str, limits: Limits) -> None:
    """A file called .stl that is neither text nor as long as it says."""
    if len(head) < STL_HEAD:
        raise broken(name, f"the file has {size_bytes} bytes only; a binary STL has a head of {STL_HEAD}")
    count = struct.unpack_from("<I", head, 80)[0]
    check_count(count, name, limits)
    wanted = STL_HEAD + STL_ROW * count
    raise broken(name, f"the head announces {count} triangles, so {wanted} bytes, and the file has {size_bytes}")


def _endings() -> str:
    return ", ".join(f".{kind.lower()}" for kind in READ)


def _an(kind: str | None) -> str:
    """The article before the name of a kind of file."""
    return f"an {kind}" if kind in ("OBJ", "STL") else f"a {kind}"
