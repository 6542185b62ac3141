"""Scans that are empty, broken off, renamed, hostile in their sizes, too large, or no scans at all."""

import json
import struct

import numpy as np
import pytest
import trimesh

from findhold.errors import BadInput
from findhold.geometry.mesh.files import check_head, read_mesh
from findhold.geometry.mesh.raw import Limits
from findhold.lift.measured.scan import scan_limits
from findhold.service.packing.scanning import read_scan

LIMITS = Limits(bytes_most=10**7, triangles_most=100_000, decimate_to=50_000)
BOX = trimesh.creation.box((120, 80, 60))
PLY, STL, OBJ, GLB = (
    BOX.export(file_type="ply"),
    BOX.export(file_type="stl"),
    BOX.export(file_type="obj").encode(),
    BOX.export(file_type="glb"),
)
TEXT_PLY = BOX.export(file_type="ply", encoding="ascii")
TEXT_STL = BOX.export(file_type="stl_ascii").encode()


def refused(data, name):
    with pytest.raises(BadInput) as caught:
        read_mesh(data, name, LIMITS)
    return caught.value.sentence()


@pytest.mark.parametrize("name", ["a.ply", "a.obj", "a.stl", "a.glb", "a.txt", "scan"])
def test_an_empty_file_is_told(name):
    assert "the file is empty" in refused(b"", name)


@pytest.mark.parametrize(
    ("data", "name", "words"),
    [
        (STL, "jar.ply", ("ends in .ply", "an STL file", ".stl")),
        (PLY, "jar.stl", ("ends in .stl", "a PLY file", ".ply")),
        (GLB, "jar.obj", ("ends in .obj", "a GLB file")),
        (OBJ, "jar.glb", ("ends in .glb", "an OBJ file")),
        (PLY, "jar.scan", ("ending of the name", "a PLY file", ".ply")),
        (PLY, "jar", ("ending of the name", "a PLY file")),
        (b"\x89PNG\r\n\x1a\n" + bytes(40), "jar.ply", ("a PNG picture, not a scan",)),
        (b"PK\x03\x04" + bytes(60), "jar.glb", ("a ZIP archive",)),
        (b"%PDF-1.7\n", "jar.stl", ("a PDF, not a scan",)),
        (b"<!DOCTYPE html><html>", "jar.obj", ("a web page",)),
        (b'{"asset": {"version": "2.0"}}', "jar.glb", ("glTF scene as text", "GLB")),
        (b"Dear colleague, the scan is attached.", "jar.obj", ("does not begin as an OBJ file",)),
        (bytes(300), "jar.ply", ("does not begin as a PLY file",)),
    ],
)
def test_a_renamed_file_is_told_what_it_really_is(data, name, words):
    sentence = refused(data, name)
    assert all(word in sentence for word in words), sentence


@pytest.mark.parametrize(
    ("data", "name"),
    [
        (PLY[:-20], "a.ply"),
        (PLY[:60], "a.ply"),
        (TEXT_PLY[: len(TEXT_PLY) * 2 // 3], "a.ply"),
        (STL[:-10], "a.stl"),
        (STL[:70], "a.stl"),
        (TEXT_STL[: len(TEXT_STL) // 2], "a.stl"),
        (GLB[:-8], "a.glb"),
        (GLB[:14], "a.glb"),
        (PLY.replace(b"end_header", b"end_heading"), "a.ply"),
        (PLY.replace(b"float x", b"floot x"), "a.ply"),
        (PLY.replace(b"property float x", b"property float q"), "a.ply"),
        (PLY.replace(b"list uchar", b"list float"), "a.ply"),
        (OBJ.replace(b"v 60", b"v sixty"), "a.obj"),
        (OBJ.replace(b"v 60", b"v 1 2 60"), "a.obj"),
        (OBJ.replace(b"f 1", b"f one"), "a.obj"),
        (TEXT_PLY.replace(b"3 1 3 0", b"3 1 three 0"), "a.ply"),
    ],
)
def test_a_broken_file_is_refused_in_a_sentence(data, name):
    assert data not in (PLY, OBJ, TEXT_PLY)
    assert refused(data, name).endswith((".", "?"))


def test_twenty_million_triangles_are_refused_before_they_are_read():
    limits = scan_limits()
    head = b"ply\nformat binary_little_endian 1.0\nelement vertex 10000000\nproperty float x\nproperty float y\n"
    head += b"property float z\nelement face 20000000\nproperty list uchar int vertex_indices\nend_header\n"
    with pytest.raises(BadInput, match="20 000 000 triangles") as caught:
        check_head(head, 400_000_000, "big.ply", limits)
    assert "Decimate it to 1 000 000 triangles" in caught.value.sentence()
    stl = bytes(80) + struct.pack("<I", 20_000_000)
    with pytest.raises(BadInput, match="20 000 000 triangles"):
        check_head(stl, 84 + 50 * 20_000_000, "big.stl", limits)


def test_a_large_file_on_disk_is_refused_by_its_first_bytes(tmp_path):
    # A file of 1 GB with a hole in it: it takes no room, and would take a minute to read.
    big = tmp_path / "big.stl"
    with big.open("wb") as file:
        file.write(bytes(80) + struct.pack("<I", 20_000_000))
        file.truncate(84 + 50 * 20_000_000)
    with pytest.raises(BadInput, match="20 000 000 triangles"):
        read_scan(big)
    text = tmp_path / "big.obj"
    with text.open("wb") as file:
        file.write(b"v 1 2 3\n")
        file.truncate(2_000_000_000)
    with pytest.raises(BadInput):
        read_scan(text)


def test_too_many_triangles_in_text_are_counted_before_they_are_read():
    rows = b"v 0 0 0\nv 1 0 0\nv 0 1 0\n" + b"f 1 2 3\n" * 100_001
    assert "100 001 triangles" in refused(rows, "a.obj")
    facet = b"facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\n"
    assert "100 001 triangles" in refused(b"solid a\n" + facet * 100_001 + b"endsolid a\n", "a.stl")


@pytest.mark.parametrize("name", ["points.ply", "points.obj", "none.stl"])
def test_points_without_triangles_are_told(name):
    head = b"ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\n"
    ply = head + b"end_header\n1 2 3\n"
    data = {"points.ply": ply, "points.obj": b"v 1 2 3\n", "none.stl": bytes(84)}[name]
    assert "not one triangle" in refused(data, name)


@pytest.mark.parametrize("value", ["nan", "inf", "-inf"])
def test_coordinates_that_are_no_numbers_are_counted(value):
    lines = TEXT_PLY.split(b"\n")
    at = lines.index(b"end_header") + 2
    lines[at] = f"{value} 0 0".encode()
    sentence = refused(b"\n".join(lines), "a.ply")
    assert "1 of 8 corners" in sentence
    assert "corner 2" in sentence


@pytest.mark.parametrize("wrong", [8, -1, 2**31 - 1])
def test_triangles_of_corners_that_are_not_there_are_refused(wrong):
    data = bytearray(PLY)
    struct.pack_into("<i", data, len(PLY) - 4, wrong)
    assert "corners that are not there" in refused(bytes(data), "a.ply")


def test_obj_corners_are_counted_from_one():
    assert "corner 0" in refused(b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n", "a.obj")
    assert "not there" in refused(b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\n", "a.obj")
    assert "not there" in refused(b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf -1 -2 -4\n", "a.obj")


def test_a_ply_that_announces_more_than_it_holds_takes_no_memory():
    for count in (10**9, 10**17):
        data = PLY.replace(b"element vertex 8", f"element vertex {count}".encode())
        assert "announces" in refused(data, "a.ply")
    data = TEXT_PLY.replace(b"element vertex 8", b"element vertex 999999999")
    assert "announces" in refused(data, "a.ply")


def test_a_list_that_announces_more_than_the_file_holds_is_a_broken_file():
    data = bytearray(PLY)
    data[len(PLY) - 13] = 255  # the last face claims 255 corners
    assert "breaks off" in refused(bytes(data), "a.ply")


# --- GLB -----------------------------------------------------------------------------------------------------------


def glb_with(change, buffer=None):
    """The box as a GLB after a change of its header."""
    size = struct.unpack_from("<I", GLB, 12)[0]
    head = json.loads(GLB[20 : 20 + size])
    start = 20 + size + 8
    body = GLB[start:] if buffer is None else buffer
    change(head)
    text = json.dumps(head).encode()
    text += b" " * (-len(text) % 4)
    chunks = struct.pack("<I4s", len(text), b"JSON") + text + struct.pack("<I4s", len(body), b"BIN\0") + body
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def set_at(*path_and_value):
    *path, last, value = path_and_value

    def change(head):
        for key in path:
            head = head[key]
        head[last] = value

    return change


def nested(head):
    head["nodes"] = [{"children": [i + 1]} for i in range(200)] + [{"mesh": 0}]
    head["scenes"] = [{"nodes": [0]}]


def circle(head):
    head["nodes"] = [{"children": [1]}, {"children": [0], "mesh": 0}]


def diamond(head):
    head["nodes"] = [{"children": [1, 2]}, {"children": [3]}, {"children": [3]}, {"mesh": 0}]


def repeated(head):
    head["nodes"] = [{"mesh": 0} for _ in range(10_000)]
    head["scenes"] = [{"nodes": list(range(10_000))}]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (set_at("accessors", 0, "count", 3 * 10**9), "announces 3000000000 rows"),
        (set_at("accessors", 1, "count", 3 * 10**9), "announces 3000000000 rows"),
        (set_at("accessors", 1, "count", -3), "whole number"),
        (set_at("accessors", 1, "count", "many"), "whole number"),
        (set_at("accessors", 0, "byteOffset", 10**9), "announces"),
        (set_at("accessors", 0, "bufferView", 99), "names bufferViews 99"),
        (set_at("accessors", 0, "bufferView", -1), "names bufferViews -1"),
        (set_at("bufferViews", 0, "byteLength", 10**10), "ends at byte"),
        (set_at("bufferViews", 0, "byteOffset", 10**10), "ends at byte"),
        (set_at("bufferViews", 1, "byteStride", 0), "stride"),
        (set_at("bufferViews", 0, "buffer", 7), "names buffers 7"),
        (set_at("buffers", 0, "byteLength", 10**9), "announces a buffer"),
        (set_at("buffers", 0, "uri", "file:///etc/passwd"), "links are never followed"),
        (set_at("buffers", 0, "uri", "data:application/octet-stream;base64,AAAA"), "links are never followed"),
        (set_at("buffers", [{"byteLength": 4}, {"byteLength": 4}]), "buffer"),
        (set_at("meshes", 0, "primitives", 0, "mode", 5), "strips or fans"),
        (set_at("meshes", 0, "primitives", 0, "mode", 0), "not one triangle"),
        (set_at("meshes", 0, "primitives", 0, "attributes", {}), "no corners"),
        (set_at("meshes", 0, "primitives", 0, "indices", 999), "names accessors 999"),
        (set_at("meshes", 0, "primitives", 0, "extensions", {"KHR_draco_mesh_compression": {}}), "compressed"),
        (set_at("meshes", 0, "primitives", "none"), "list of parts"),
        (set_at("meshes", {}), "no list of objects"),
        (set_at("nodes", [{"mesh": 5}]), "names meshes 5"),
        (set_at("nodes", [{"children": 3}]), "no list"),
        (set_at("nodes", [{"mesh": 0, "translation": ["x", 0, 0]}]), "no number"),
        (nested, "nested"),
        (circle, "circle"),
        (diamond, "no tree"),
        (repeated, "120 000 triangles"),
    ],
)
def test_hostile_glb_sizes_are_refused_before_memory_is_taken(change, words):
    assert words in refused(glb_with(change), "a.glb")


def test_glb_headers_and_chunks_must_fit_the_file():
    longer = bytearray(GLB)
    struct.pack_into("<I", longer, 8, len(GLB) + 4)
    assert "announces" in refused(bytes(longer), "a.glb")
    chunk = bytearray(GLB)
    struct.pack_into("<I", chunk, 12, 2**32 - 4)
    assert "announces" in refused(bytes(chunk), "a.glb")
    old = bytearray(GLB)
    struct.pack_into("<I", old, 4, 1)
    assert "version 1" in refused(bytes(old), "a.glb")
    junk = bytearray(GLB)
    junk[20:24] = b"!!!!"
    assert "no JSON" in refused(bytes(junk), "a.glb")
    deep = b"[" * 200_000
    deep += b" " * (-len(deep) % 4)
    data = struct.pack("<4sII", b"glTF", 2, 20 + len(deep)) + struct.pack("<I4s", len(deep), b"JSON") + deep
    assert "no JSON" in refused(data, "a.glb")


def test_pictures_and_materials_of_a_glb_are_never_opened():
    def change(head):
        head["images"] = [{"uri": "file:///etc/passwd"}, {"bufferView": 99, "mimeType": "image/png"}]
        head["textures"] = [{"source": 0}]
        head["materials"] = [{"pbrMetallicRoughness": {"baseColorTexture": {"index": 0}}}]
        head["meshes"][0]["primitives"][0]["material"] = 0

    raw = read_mesh(glb_with(change), "a.glb", LIMITS)
    assert len(raw.triangles) == 12
    assert np.ptp(raw.corners, axis=0) == pytest.approx((120, 80, 60))


@pytest.mark.parametrize(
    "data", [PLY, TEXT_PLY, STL, TEXT_STL, OBJ, GLB], ids=["ply", "tply", "stl", "tstl", "obj", "glb"]
)
def test_a_file_with_any_byte_changed_is_read_or_refused_but_never_breaks(data):
    name = {b"ply": "a.ply", b"glT": "a.glb", b"v 6": "a.obj"}.get(data[:3], "a.stl")
    name = "a.obj" if data is OBJ else name
    draw = np.random.default_rng(7)
    for at in draw.integers(0, len(data), 150):
        changed = bytearray(data)
        changed[at] = draw.integers(0, 256)
        try:
            raw = read_mesh(bytes(changed), name, LIMITS)
        except BadInput:
            continue
        else:
            assert len(raw.triangles) > 0
