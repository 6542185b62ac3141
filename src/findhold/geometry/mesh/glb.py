"""GLB files: every length and count checked against the bytes, then read without pictures, links or extensions.

Only meshes, their places in the scene and the numbers they need are handed on to the reader; images, materials,
animations and anything outside the file are taken out of the header first.
"""

from __future__ import annotations

import io
import json
import struct
from dataclasses import dataclass
from typing import Any

import numpy as np

from findhold.errors import BadInput
from findhold.geometry.mesh.raw import Limits, RawMesh, broken, check_count

_WIDE = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
"""Bytes of one number by its component type."""
_MANY = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT2": 4, "MAT3": 9, "MAT4": 16}
_TRIANGLES, _POINTS_AND_LINES = 4, (0, 1, 2, 3)
_JSON_MOST, _DEPTH_MOST, _NODES_MOST = 64_000_000, 60, 20_000
_JSON, _BIN = b"JSON", b"BIN\x00"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scene:
    """The header and the one buffer of a GLB file."""

    head: dict[str, Any]
    buffer: bytes
    name: str

    def rows(self, key: str) -> list[dict[str, Any]]:
        """A list of the header, every item of it an object."""
        items = self.head.get(key, [])
        if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
            raise broken(self.name, f"the GLB header's {key} are no list of objects")
        return items

    def one(self, key: str, index: Any) -> dict[str, Any]:
        """One item of a list of the header by its place."""
        items = self.rows(key)
        if not isinstance(index, int) or isinstance(index, bool) or not 0 <= index < len(items):
            raise broken(self.name, f"the GLB names {key} {index!r}, and there are {len(items)}")
        return items[index]

    def whole(self, item: dict[str, Any], key: str, default: int | None = None) -> int:
        """A whole number of zero or more."""
        value = item.get(key, default)
        if not isinstance(value, int) or isinstance(value, bool) or value < 0:
            raise broken(self.name, f"the GLB has a {key} of {value!r}, and a whole number must stand there")
        return value


def read_glb(data: bytes, name: str, limits: Limits) -> RawMesh:
    """Corners and triangles of a GLB file as its scene places them; metres and y up by the standard.

    Raises
    ------
    BadInput : lengths or counts beyond the file, outside links, compressed meshes, nothing but points or lines.
    """
    scene = _opened(data, name)
    _check_views(scene)
    wanted, notes = _primitives(scene)
    triangles = _check_nodes(scene, wanted)
    check_count(triangles, name, limits)
    corners, faces = _loaded(_stripped(scene, wanted), name)
    return RawMesh(kind="GLB", corners=corners, triangles=faces, unit="m", up="y", notes=notes)


def _opened(data: bytes, name: str) -> _Scene:
    """The header as data and the binary chunk, their lengths checked."""
    if len(data) < 20:
        raise broken(name, "the GLB breaks off in its head")
    version, length = struct.unpack_from("<II", data, 4)
    if version != 2:
        raise BadInput(f"this is a GLB of version {version}", where=name, limit="version 2", do="Export it as glTF 2.0")
    if length != len(data):
        raise broken(name, f"the GLB announces {length} bytes and has {len(data)}")
    chunks, at = [], 12
    while at < length:
        if at + 8 > length:
            raise broken(name, "the GLB breaks off between its chunks")
        size, kind = struct.unpack_from("<I4s", data, at)
        if at + 8 + size > length:
            raise broken(name, f"a chunk of the GLB announces {size} bytes and {length - at - 8} follow")
        chunks.append((kind, at + 8, size))
        at += 8 + size
    if not chunks or chunks[0][0] != _JSON or chunks[0][2] > _JSON_MOST:
        raise broken(name, "the GLB does not begin with a header of a size that can be")
    start, size = chunks[0][1:]
    binary = next((data[begin : begin + many] for kind, begin, many in chunks[1:] if kind == _BIN), b"")
    try:
        head = json.loads(data[start : start + size])
    except (ValueError, RecursionError) as error:
        raise broken(name, "the header of the GLB is no JSON") from error
    if not isinstance(head, dict):
        raise broken(name, "the header of the GLB is no object")
    return _Scene(head=head, buffer=binary, name=name)


def _check_views(scene: _Scene) -> None:
    """Buffers inside the file, views inside the buffer."""
    buffers = scene.rows("buffers")
    if any("uri" in item for item in buffers):
        raise BadInput(
            "the GLB keeps its mesh in another file or in a link",
            where=scene.name,
            do="Export it as one GLB file with everything inside; links are never followed",
        )
    if len(buffers) > 1 or (buffers and scene.whole(buffers[0], "byteLength") > len(scene.buffer)):
        said = scene.whole(buffers[0], "byteLength")
        raise broken(scene.name, f"the GLB announces a buffer of {said} bytes and has {len(scene.buffer)}")
    for view in scene.rows("bufferViews"):
        scene.one("buffers", view.get("buffer"))
        end = scene.whole(view, "byteOffset", 0) + scene.whole(view, "byteLength")
        if end > len(scene.buffer):
            raise broken(scene.name, f"a view of the GLB ends at byte {end} of a buffer of {len(scene.buffer)}")
        if "byteStride" in view and not 1 <= scene.whole(view, "byteStride") <= 252:
            raise broken(scene.name, "a view of the GLB has a stride that cannot be")


def _primitives(scene: _Scene) -> tuple[dict[tuple[int, int], int], tuple[str, ...]]:
    """Triangles of each primitive made of triangles, by mesh and place, and what was left aside."""
    wanted: dict[tuple[int, int], int] = {}
    aside = 0
    for number, mesh in enumerate(scene.rows("meshes")):
        parts = mesh.get("primitives", [])
        if not isinstance(parts, list) or not all(isinstance(part, dict) for part in parts):
            raise broken(scene.name, "a mesh of the GLB has no list of parts")
        for place, part in enumerate(parts):
            mode = part.get("mode", _TRIANGLES)
            if mode in _POINTS_AND_LINES:
                aside += 1
                continue
            _plain_triangles(part, mode, scene.name)
            wanted[number, place] = _triangles_of(scene, part)
    notes = (f"{aside} parts of the GLB that are points or lines were left aside.",) if aside else ()
    return wanted, notes


def _plain_triangles(part: dict[str, Any], mode: Any, name: str) -> None:
    squeezed = [word for word in part.get("extensions") or {} if "compression" in word]
    if squeezed:
        raise BadInput(
            f"the mesh in the GLB is compressed ({', '.join(squeezed)})",
            where=name,
            do="Export it without mesh compression",
        )
    if mode != _TRIANGLES:
        do = "Export it as plain triangles"
        raise BadInput("the GLB has strips or fans of triangles", where=name, limit="plain triangles", do=do)


def _triangles_of(scene: _Scene, part: dict[str, Any]) -> int:
    """Triangles of one primitive; its accessors checked."""
    attributes = part.get("attributes")
    if not isinstance(attributes, dict) or "POSITION" not in attributes:
        raise broken(scene.name, "a part of the GLB has no corners (POSITION)")
    place = scene.one("accessors", attributes["POSITION"])
    if (place.get("componentType"), place.get("type")) != (5126, "VEC3"):
        raise broken(scene.name, "the corners of the GLB are no rows of three 32-bit numbers")
    count = _checked(scene, place)
    if "indices" in part:
        index = scene.one("accessors", part["indices"])
        if index.get("componentType") not in (5121, 5123, 5125) or index.get("type") != "SCALAR":
            raise broken(scene.name, "the triangles of the GLB are no whole numbers")
        count = _checked(scene, index)
    if count % 3:
        raise broken(scene.name, f"a part of the GLB has {count} corners of triangles, which are not threes")
    return count // 3


def _checked(scene: _Scene, accessor: dict[str, Any]) -> int:
    """How many rows an accessor has, once they are known to lie inside its view."""
    if "sparse" in accessor or "bufferView" not in accessor:
        raise BadInput(
            "the GLB stores numbers sparsely or not at all", where=scene.name, do="Export it as a plain mesh"
        )
    view = scene.one("bufferViews", accessor["bufferView"])
    count = scene.whole(accessor, "count")
    row = _WIDE[accessor["componentType"]] * _MANY[accessor["type"]]
    stride = scene.whole(view, "byteStride", row)
    need = scene.whole(accessor, "byteOffset", 0) + (max(count, 1) - 1) * stride + row
    if stride < row or count == 0 or need > view["byteLength"]:
        raise broken(scene.name, f"the GLB announces {count} rows, {need} bytes, in a view of {view['byteLength']}")
    return count


def _check_nodes(scene: _Scene, wanted: dict[tuple[int, int], int]) -> int:
    """Triangles in the scene; its nodes must be a tree, so that no mesh can be repeated without end."""
    nodes = scene.rows("nodes")
    by_mesh: dict[int, int] = {}
    for (mesh, _), many in wanted.items():
        by_mesh[mesh] = by_mesh.get(mesh, 0) + many
    if len(nodes) > _NODES_MOST:
        raise broken(scene.name, f"the GLB has {len(nodes)} nodes; a scan has a handful")
    parents: dict[int, int] = {}
    for number, node in enumerate(nodes):
        for child in _children(scene, node):
            if child in parents:
                raise broken(scene.name, "the nodes of the GLB are no tree: one is used twice")
            parents[child] = number
        matrix = [x for key in ("matrix", "translation", "rotation", "scale") for x in node.get(key) or []]
        if not all(isinstance(x, int | float) and abs(x) < 1e9 for x in matrix):
            raise broken(scene.name, "a node of the GLB is placed by something that is no number")
    for number in range(len(nodes)):
        depth, at = 0, number
        while at in parents:
            at, depth = parents[at], depth + 1
            if depth > _DEPTH_MOST:
                raise broken(scene.name, "the nodes of the GLB are nested in a circle or without end")
    total = 0
    for node in nodes:
        if "mesh" in node:
            scene.one("meshes", node["mesh"])
            total += by_mesh.get(node["mesh"], 0)
    return total


def _children(scene: _Scene, node: dict[str, Any]) -> list[int]:
    children = node.get("children", [])
    if not isinstance(children, list):
        raise broken(scene.name, "a node of the GLB has children that are no list")
    for child in children:
        scene.one("nodes", child)
    return children


def _stripped(scene: _Scene, wanted: dict[tuple[int, int], int]) -> bytes:
    """The file again with nothing in it but triangles and their places."""
    kept = []
    for number, mesh in enumerate(scene.rows("meshes")):
        parts: list[dict[str, Any]] = [
            {
                "attributes": {"POSITION": part["attributes"]["POSITION"]},
                **({"indices": part["indices"]} if "indices" in part else {}),
            }
            for place, part in enumerate(mesh.get("primitives", []))
            if (number, place) in wanted
        ]
        kept.append(parts)
    keys = ("children", "matrix", "translation", "rotation", "scale", "mesh")
    nodes = [
        {"name": f"n{number}", **{key: node[key] for key in keys if key in node}}
        for number, node in enumerate(scene.rows("nodes"))
    ]
    children = {child for node in nodes for child in node.get("children", [])}
    used = {index for parts in kept for part in parts for index in _accessors(part)}
    plain = {"componentType": 5121, "type": "SCALAR", "count": 1, "bufferView": 0}
    head = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [number for number in range(len(nodes)) if number not in children]}],
        "nodes": nodes,
        "meshes": [{"name": f"m{number}", "primitives": parts} for number, parts in enumerate(kept)],
        "accessors": [
            {key: item[key] for key in ("componentType", "type", "count", "bufferView", "byteOffset") if key in item}
            if number in used
            else plain
            for number, item in enumerate(scene.rows("accessors"))
        ],
        "bufferViews": scene.rows("bufferViews"),
        "buffers": [{"byteLength": len(scene.buffer)}],
    }
    text = json.dumps(head).encode()
    text += b" " * (-len(text) % 4)
    total = 12 + 8 + len(text) + 8 + len(scene.buffer)
    chunks = struct.pack("<I4s", len(text), _JSON) + text + struct.pack("<I4s", len(scene.buffer), _BIN)
    return struct.pack("<4sII", b"glTF", 2, total) + chunks + scene.buffer


def _accessors(part: dict[str, Any]) -> list[int]:
    return [part["attributes"]["POSITION"], *([part["indices"]] if "indices" in part else [])]


def _loaded(data: bytes, name: str) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Corners and triangles of the scene, every mesh in its place."""
    import trimesh

    try:
        scene = trimesh.load_scene(io.BytesIO(data), file_type="glb", process=False, skip_materials=True)
    except (ValueError, KeyError, IndexError, TypeError, AssertionError) as error:
        raise broken(name, "the GLB cannot be read") from error
    corners, faces, before = [], [], 0
    for node in scene.graph.nodes_geometry:
        matrix, geometry = scene.graph[node]
        mesh = scene.geometry[geometry]
        points = np.asarray(mesh.vertices, dtype=np.float64)
        placed = points @ matrix[:3, :3].T + matrix[:3, 3]
        rows = np.asarray(mesh.faces, dtype=np.int64)
        corners.append(placed)
        # A mirrored node turns its triangles inside out.
        faces.append(rows[:, ::-1] + before if np.linalg.det(matrix[:3, :3]) < 0 else rows + before)
        before += len(points)
    if not faces:
        return np.empty((0, 3)), np.empty((0, 3), dtype=np.int64)
    return np.vstack(corners), np.vstack(faces)
