"""OBJ and STL files: lists of corners and faces in text, or rows of fifty bytes.

Texture, normals, groups and materials of an OBJ are left aside; a name of a material file is never followed.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput
from findhold.geometry.mesh.raw import (
    FloatArray,
    IntArray,
    Limits,
    RawMesh,
    broken,
    check_count,
    fan,
    numbers_of,
    whole_numbers_of,
)

STL_HEAD, STL_ROW = 84, 50
"""Bytes of the head of a binary STL, and of one triangle in it."""
_STL = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])


def read_stl(data: bytes, name: str, limits: Limits) -> RawMesh:
    """Corners and triangles of an STL file, binary or text; corners are not yet joined.

    Raises
    ------
    BadInput : broken off, no facets, or facets that are not three corners each.
    """
    count = int.from_bytes(data[80:STL_HEAD], "little") if len(data) >= STL_HEAD else -1
    if len(data) != STL_HEAD + STL_ROW * count:
        return _text_stl(data, name, limits)
    check_count(count, name, limits)
    corners = np.frombuffer(data, dtype=_STL, offset=STL_HEAD)["corners"].reshape(-1, 3).astype(np.float64)
    return RawMesh(kind="STL", corners=corners, triangles=np.arange(len(corners), dtype=np.int64).reshape(-1, 3))


def _text_stl(data: bytes, name: str, limits: Limits) -> RawMesh:
    """A text STL; each corner stands in it about six times and is turned into numbers once."""
    count = data.count(b"endfacet") or data.lower().count(b"endfacet")
    check_count(count, name, limits)
    text = data if data.count(b"vertex") == 3 * count else data.lower()
    rows = [line for line in map(bytes.strip, text.splitlines()) if line.startswith(b"vertex")]
    if len(rows) != 3 * count or b"endsolid" not in data[-200:].lower():
        raise broken(name, "the text STL breaks off, or has facets that are not three corners each")
    places: dict[bytes, int] = {}
    index = [places.setdefault(row, len(places)) for row in rows]
    numbers = numbers_of(b"\n".join(row[6:] for row in places), name)
    if len(numbers) != 3 * len(places):
        raise broken(name, "a corner of the text STL is not three numbers")
    triangles = np.array(index, dtype=np.int64).reshape(-1, 3)
    return RawMesh(kind="STL", corners=numbers.reshape(-1, 3), triangles=triangles)


def read_obj(data: bytes, name: str, limits: Limits) -> RawMesh:
    """Corners and triangles of an OBJ file.

    Raises
    ------
    BadInput : no corners or faces, a corner that is no number, or a face of corner 0, which OBJ does not have.
    """
    text = data.replace(b"\r", b"\n").replace(b"\\\n", b" ").replace(b"\t", b" ")
    check_count(max(1, text.count(b"\nf ")), name, limits)
    lines = text.split(b"\n")
    if b"\n " in text or text.startswith(b" "):
        lines = [line.strip() for line in lines]
    corners = _obj_corners([line[2:] for line in lines if line[:2] == b"v "], name)
    faces = [line[2:] for line in lines if line[:2] == b"f "]
    sizes, first = _obj_faces(b"\n".join(faces), len(faces), name)
    check_count(int(np.maximum(sizes - 2, 0).sum()), name, limits)
    if (first == 0).any():
        raise BadInput(
            "a face names corner 0, and the corners of an OBJ are counted from 1",
            where=name,
            do="Export the scan again: this file was written wrongly",
        )
    if (first > 0).all():
        return RawMesh(kind="OBJ", corners=corners, triangles=fan(sizes, first - 1))
    # A negative number counts back from the last corner given before that face.
    marks = np.array([1 if line[:2] == b"v " else 2 if line[:2] == b"f " else 0 for line in lines], dtype=np.int8)
    seen = np.repeat(np.cumsum(marks == 1)[marks == 2], sizes)
    return RawMesh(kind="OBJ", corners=corners, triangles=fan(sizes, np.where(first > 0, first - 1, seen + first)))


def _obj_corners(rows: list[bytes], name: str) -> FloatArray:
    if not rows:
        raise broken(name, "the OBJ has no corners (lines that begin with v)")
    text = b"\n".join(rows)
    wide = _words_by_line(np.frombuffer(text, dtype=np.uint8), len(rows))
    if wide[0] < 3 or not (wide == wide[0]).all():
        raise broken(name, "the corners of the OBJ have different numbers of coordinates")
    numbers = numbers_of(text, name)
    if len(numbers) != len(rows) * int(wide[0]):
        raise broken(name, "a corner of the OBJ is not plain numbers")
    return numbers.reshape(len(rows), int(wide[0]))[:, :3].copy()


def _obj_faces(text: bytes, count: int, name: str) -> tuple[IntArray, IntArray]:
    """How many corners each face has, and their numbers: of each 5/2/7 only the first counts."""
    letters = np.frombuffer(text, dtype=np.uint8)
    if b"/" in text:
        letters = letters[~_after_slash(letters, (letters == 32) | (letters == 10))]
    sizes = _words_by_line(letters, count)
    numbers = whole_numbers_of(letters.tobytes(), name)
    if len(numbers) != int(sizes.sum()):
        raise broken(name, "a face names its corners by something that is no whole number")
    return sizes, numbers


def _words_by_line(letters: npt.NDArray[np.uint8], count: int) -> IntArray:
    """How many words stand in each line of a text."""
    ends = letters == 10
    apart = ends | (letters == 32)
    begins = ~apart
    begins[1:] &= apart[:-1]
    # The line of a word is how many ends of lines stand before it.
    lines = np.searchsorted(np.flatnonzero(ends), np.flatnonzero(begins))
    return np.bincount(lines, minlength=count).astype(np.int64)


def _after_slash(letters: npt.NDArray[np.uint8], apart: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Letters that stand after a slash of the same word, the slash with them."""
    places = np.arange(1, len(letters) + 1, dtype=np.int32)
    last_gap = np.maximum.accumulate(np.where(apart, places, 0))
    last_slash = np.maximum.accumulate(np.where(letters == 47, places, 0))
    return np.asarray((last_slash > last_gap) & ~apart)
