"""PLY files, text and binary of either byte order: the header checked against the bytes, then corners and faces.

Faces of any number of corners are cut into triangles; colours, normals and other properties are skipped over.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from findhold.errors import BadInput
from findhold.geometry.mesh.raw import FloatArray, IntArray, Limits, RawMesh, broken, check_count, fan, numbers_of

_TYPES = {
    "char": "i1",
    "uchar": "u1",
    "short": "i2",
    "ushort": "u2",
    "int": "i4",
    "uint": "u4",
    "float": "f4",
    "double": "f8",
    "int8": "i1",
    "uint8": "u1",
    "int16": "i2",
    "uint16": "u2",
    "int32": "i4",
    "uint32": "u4",
    "int64": "i8",
    "uint64": "u8",
    "float32": "f4",
    "float64": "f8",
}
_ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
_FACE_LISTS = ("vertex_indices", "vertex_index")
_HEAD_MOST, _PROPERTIES_MOST = 65_536, 200


@dataclass(frozen=True, slots=True, kw_only=True)
class _Property:
    """One property; `counted` is the type of a list's length, "" for a single value."""

    name: str
    kind: str
    counted: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Element:
    """One element of the header: its name, how many rows it has, and what stands in a row."""

    name: str
    count: int
    properties: tuple[_Property, ...]

    @property
    def listed(self) -> bool:
        return any(item.counted for item in self.properties)

    def least_bytes(self, order: str) -> int:
        """The fewest bytes (in text: characters) that the rows can take."""
        if not order:
            return 2 * self.count * len(self.properties)
        return self.count * sum(int((item.counted or item.kind)[1]) for item in self.properties)


def read_ply(data: bytes, name: str, limits: Limits) -> RawMesh:
    """Corners and triangles of a PLY file.

    Raises
    ------
    BadInput : the header is broken, announces more than the file holds, or there are no corners or faces.
    """
    order, elements, start = _header(data, name)
    found = {element.name: element for element in elements}
    if "vertex" not in found or not {"x", "y", "z"} <= {item.name for item in found["vertex"].properties}:
        raise broken(name, "the PLY header names no corners (element vertex with x, y, z)")
    if "face" not in found:
        check_count(0, name, limits)
    check_count(found["face"].count, name, limits)
    least = sum(element.least_bytes(order) for element in elements)
    # The last number of a text needs no space after it.
    if least > len(data) - start + (0 if order else 1):
        rows = ", ".join(f"{element.count} rows of {element.name}" for element in elements)
        raise broken(name, f"the header announces {rows}, at least {least} bytes, and {len(data) - start} follow it")
    if order:
        corners, triangles = _binary(data, start, order, elements, name)
    else:
        corners, triangles = _text(numbers_of(data[start:], name), elements, name)
    return RawMesh(kind="PLY", corners=corners, triangles=triangles)


def _header(data: bytes, name: str) -> tuple[str, list[_Element], int]:
    """Byte order ("" for text), the elements in order, and where the rows begin."""
    end = data.find(b"end_header", 0, _HEAD_MOST)
    stop = data.find(b"\n", end) + 1
    if end < 0 or not stop:
        raise broken(name, "the PLY header has no end (end_header)")
    order, elements = None, list[_Element]()
    for line in data[:end].decode("latin-1").splitlines()[1:]:
        words = line.split()
        if words[:1] == ["format"] and len(words) == 3 and words[1] in _ORDERS:
            order = _ORDERS[words[1]]
        elif words[:1] == ["element"] and len(words) == 3 and words[2].isdecimal():
            elements.append(_Element(name=words[1], count=int(words[2]), properties=()))
        elif words[:1] == ["property"] and elements:
            last = elements[-1]
            item = _property(words, line, name)
            elements[-1] = _Element(name=last.name, count=last.count, properties=(*last.properties, item))
        elif words and words[0] not in ("comment", "obj_info"):
            raise broken(name, f"the PLY header has a line that cannot be read: {line[:60]!r}")
    if order is None:
        raise broken(name, "the PLY header does not say whether it is text or binary (format)")
    if sum(len(element.properties) for element in elements) > _PROPERTIES_MOST:
        raise broken(name, f"the PLY header has more than {_PROPERTIES_MOST} properties")
    return order, elements, stop


def _property(words: list[str], line: str, name: str) -> _Property:
    known = [_TYPES.get(word) for word in words[1:-1]]
    if len(words) == 3 and known[0]:
        return _Property(name=words[2], kind=known[0])
    if len(words) == 5 and words[1] == "list" and known[1] and known[2] and known[1][0] != "f":
        return _Property(name=words[4], kind=known[2], counted=known[1])
    raise broken(name, f"the PLY header has a property that cannot be read: {line[:60]!r}")


def _binary(data: bytes, start: int, order: str, elements: list[_Element], name: str) -> tuple[FloatArray, IntArray]:
    corners: FloatArray | None = None
    triangles: IntArray | None = None
    for element in elements:
        if corners is not None and triangles is not None:
            break
        if element.listed:
            sizes, indices, start = _binary_lists(data, start, order, element, name)
            if element.name == "face":
                triangles = fan(sizes, indices)
            continue
        kind = np.dtype([(f"{item.name}.{i}", order + item.kind) for i, item in enumerate(element.properties)])
        stop = start + element.count * kind.itemsize
        if stop > len(data):
            raise broken(name, f"the file breaks off in the rows of {element.name}")
        if element.name == "vertex":
            rows = np.frombuffer(data, dtype=kind, count=element.count, offset=start)
            corners = np.column_stack([rows[field].astype(np.float64) for field in _xyz(kind)])
        start = stop
    return _both(corners, triangles, name)


def _binary_lists(data: bytes, start: int, order: str, element: _Element, name: str) -> tuple[IntArray, IntArray, int]:
    """Lengths and contents of the list of corners, and where the next element begins."""
    wanted = _face_list(element, name)
    alike = _alike(data, start, order, element, wanted)
    if alike is not None:
        return alike
    cut = broken(name, f"the file breaks off in the rows of {element.name}")
    sizes, parts = [], []
    at = start
    for _ in range(element.count):
        for place, item in enumerate(element.properties):
            if not item.counted:
                at += int(item.kind[1])
                continue
            width = int(item.counted[1])
            if at + width > len(data):
                raise cut
            many = int.from_bytes(data[at : at + width], "little" if order == "<" else "big")
            at += width
            stop = at + many * int(item.kind[1])
            if stop > len(data):
                raise cut
            if place == wanted:
                sizes.append(many)
                parts.append(data[at:stop])
            at = stop
    if at > len(data):
        raise cut
    indices = np.frombuffer(b"".join(parts), dtype=order + element.properties[wanted].kind)
    return np.array(sizes, dtype=np.int64), indices.astype(np.int64), at


def _alike(
    data: bytes, start: int, order: str, element: _Element, wanted: int
) -> tuple[IntArray, IntArray, int] | None:
    """The same in one step when the element has one list and all its rows are triangles; None otherwise."""
    if sum(bool(item.counted) for item in element.properties) != 1 or not element.properties[wanted].counted:
        return None
    fields: list[tuple[str, str] | tuple[str, str, int]] = []
    for i, item in enumerate(element.properties):
        if item.counted:
            fields += [("many", order + item.counted), ("corners", order + item.kind, 3)]
        else:
            fields.append((f"skip{i}", order + item.kind))
    kind = np.dtype(fields)
    stop = start + element.count * kind.itemsize
    if stop > len(data):
        return None
    rows = np.frombuffer(data, dtype=kind, count=element.count, offset=start)
    if not (rows["many"] == 3).all():
        return None
    return np.full(element.count, 3), rows["corners"].astype(np.int64).ravel(), stop


def _text(numbers: FloatArray, elements: list[_Element], name: str) -> tuple[FloatArray, IntArray]:
    corners: FloatArray | None = None
    triangles: IntArray | None = None
    at = 0
    for element in elements:
        if corners is not None and triangles is not None:
            break
        if element.listed:
            sizes, indices, at = _text_lists(numbers, at, element, name)
            if element.name == "face":
                triangles = fan(sizes, indices)
            continue
        wide = len(element.properties)
        stop = at + element.count * wide
        if stop > len(numbers):
            raise broken(name, f"the file breaks off in the rows of {element.name}")
        if element.name == "vertex":
            names = [item.name for item in element.properties]
            corners = numbers[at:stop].reshape(-1, wide)[:, [names.index(axis) for axis in "xyz"]]
        at = stop
    return _both(corners, triangles, name)


def _text_lists(numbers: FloatArray, at: int, element: _Element, name: str) -> tuple[IntArray, IntArray, int]:
    wanted = _face_list(element, name)
    only = len(element.properties) == 1
    stop = at + 4 * element.count
    if only and stop <= len(numbers) and (numbers[at:stop:4] == 3).all():
        rows = numbers[at:stop].reshape(-1, 4)[:, 1:]
        return np.full(element.count, 3), _whole(rows.ravel(), name), stop
    sizes, firsts = [], []
    for _ in range(element.count):
        for place, item in enumerate(element.properties):
            if not item.counted:
                at += 1
                continue
            if at >= len(numbers) or not 0 <= numbers[at] <= len(numbers):
                raise broken(name, f"the file breaks off in the rows of {element.name}")
            many = int(numbers[at])
            if place == wanted:
                sizes.append(many)
                firsts.append(at + 1)
            at += 1 + many
    if at > len(numbers):
        raise broken(name, f"the file breaks off in the rows of {element.name}")
    lengths = np.array(sizes, dtype=np.int64)
    places = np.repeat(np.array(firsts, dtype=np.int64) - (np.cumsum(lengths) - lengths), lengths)
    return lengths, _whole(numbers[places + np.arange(int(lengths.sum()))], name), at


def _face_list(element: _Element, name: str) -> int:
    """Which property holds the corners of a face; the first list of any other element, which is skipped."""
    names = [item.name for item in element.properties if item.counted]
    known = [item for item in names if item in _FACE_LISTS]
    if element.name == "face" and not known:
        raise BadInput(
            "the faces of this PLY have no list of corners",
            where=name,
            limit=" or ".join(_FACE_LISTS),
            do="Export the scan as plain triangles",
        )
    chosen = known[0] if known else names[0]
    return next(i for i, item in enumerate(element.properties) if item.name == chosen)


def _whole(values: FloatArray, name: str) -> IntArray:
    if not (np.abs(values) < 2**53).all():
        raise broken(name, "a face names a corner by something that is no whole number")
    return np.asarray(values.astype(np.int64))


def _xyz(kind: np.dtype[np.void]) -> list[str]:
    """The fields of a row that hold x, y and z."""
    fields = [str(field) for field in kind.names or ()]
    return [next(field for field in fields if field.rpartition(".")[0] == axis) for axis in "xyz"]


def _both(corners: FloatArray | None, triangles: IntArray | None, name: str) -> tuple[FloatArray, IntArray]:
    if corners is None or triangles is None:
        raise broken(name, "the PLY has corners or faces that are no plain rows")
    return corners, triangles
