"""Scans against closed forms, symmetry, brute force and an independent mesh library."""

import io
import math
import struct

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.geometry.footprint import convex_hull, least_rectangle, polygon_area, turn
from findhold.geometry.mesh.body import weigh_up
from findhold.geometry.mesh.crossing import cross_check
from findhold.geometry.mesh.files import read_mesh
from findhold.geometry.mesh.outline import sections, shortened, silhouettes, simplified
from findhold.geometry.mesh.raw import Limits
from findhold.geometry.mesh.surface import join
from findhold.lift.measured.block import Known
from findhold.lift.measured.scan import ScanReading, measure_scan

LIMITS = Limits(bytes_most=10**8, triangles_most=10**6, decimate_to=10**5)


def surface_of(mesh, least_share=0.02):
    return join(np.asarray(mesh.vertices, dtype=float), np.asarray(mesh.faces, dtype=np.int64), least_share)


def lump(seed=5, size=100.0):
    """A closed lump that is not convex, without symmetry."""
    mesh = trimesh.creation.icosphere(subdivisions=4, radius=size)
    draw = np.random.default_rng(seed)
    ways = draw.normal(size=(6, 3))
    away = mesh.vertices / size
    grown = 1.0 + sum(0.09 * np.sin(3 * away @ way + i) for i, way in enumerate(ways))
    return trimesh.Trimesh(mesh.vertices * grown[:, None] * (1.2, 1.0, 0.7), mesh.faces, process=False)


def as_ply(corners, faces, kind="binary_little_endian", sort="<f4"):
    head = (
        f"ply\nformat {kind} 1.0\nelement vertex {len(corners)}\nproperty {'double' if '8' in sort else 'float'} x\n"
        f"property {'double' if '8' in sort else 'float'} y\nproperty {'double' if '8' in sort else 'float'} z\n"
        f"element face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    ).encode()
    order = ">" if "big" in kind else "<"
    rows = np.zeros(len(faces), dtype=[("n", "u1"), ("i", order + "i4", 3)])
    rows["n"], rows["i"] = 3, faces
    return head + np.asarray(corners).astype(order + sort[1:]).tobytes() + rows.tobytes()


def measured(data, name="scan.ply", **declared):
    return measure_scan(ScanReading(data=data, name=name, **declared), Known())


# --- reading: every format gives the same mesh -----------------------------------------------------------------------


def files_of(mesh):
    """The mesh in every format, as an independent library writes it."""
    yield "a.ply", mesh.export(file_type="ply")
    yield "t.ply", mesh.export(file_type="ply", encoding="ascii")
    yield "b.stl", mesh.export(file_type="stl")
    yield "t.stl", mesh.export(file_type="stl_ascii").encode()
    yield "a.obj", mesh.export(file_type="obj").encode()
    yield "n.obj", mesh.export(file_type="obj", include_normals=True).encode()
    yield "a.glb", mesh.export(file_type="glb")
    yield "big.ply", as_ply(mesh.vertices, mesh.faces, "binary_big_endian", ">f8")


@pytest.mark.parametrize("at", range(8))
def test_every_format_gives_the_same_surface(at):
    mesh = lump()
    name, data = list(files_of(mesh))[at]
    raw = read_mesh(data, name, LIMITS)
    surface = join(raw.corners, raw.triangles, 0.02)
    assert (len(surface.triangles), len(surface.corners)) == (len(mesh.faces), len(mesh.vertices))
    assert surface.closed
    body = weigh_up(surface)
    assert body.volume_mm3 == pytest.approx(mesh.volume, rel=1e-6)
    assert body.centre_mm == pytest.approx(mesh.center_mass, abs=1e-4)
    assert body.hull_mm3 == pytest.approx(mesh.convex_hull.volume, rel=1e-6)


def test_polygons_of_any_size_become_triangles_in_ply_and_obj():
    # A box as six squares, and its top cut into a triangle and a trapezium.
    corners = [(x, y, z) for x in (0, 2) for y in (0, 3) for z in (0, 4)]
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4)]
    faces = [*quads, (1, 5, 7), (1, 7, 3)]
    text = "ply\nformat ascii 1.0\ncomment by hand\nelement vertex 8\nproperty float x\nproperty float y\n"
    text += f"property float z\nproperty uchar red\nelement face {len(faces)}\nproperty uchar flags\n"
    text += "property list uchar int vertex_index\nend_header\n"
    text += "".join(f"{x} {y} {z} 9\n" for x, y, z in corners)
    text += "".join(f"1 {len(face)} {' '.join(map(str, face))}\n" for face in faces)
    head = text[: text.index("end_header")].replace("ascii", "binary_little_endian") + "end_header\n"
    rows = b"".join(struct.pack("<3fB", *corner, 9) for corner in corners)
    rows += b"".join(struct.pack(f"<BB{len(face)}i", 1, len(face), *face) for face in faces)
    obj = "".join(f"v {x} {y} {z}\n" for x, y, z in corners) + "vt 0 0\nvn 0 0 1\ng top\n"
    obj += "".join("f " + " ".join(f"{i + 1}/1/1" for i in face) + "\n" for face in faces)
    relative = "".join(f"v {x} {y} {z}\n" for x, y, z in corners)
    relative += "".join("f " + " ".join(str(i - 8) for i in face) + "\n" for face in faces) + "v 50 50 50\n"
    for name, data in (
        ("a.ply", text.encode()),
        ("b.ply", head.encode() + rows),
        ("a.obj", obj.encode()),
        ("b.obj", relative.encode()),
    ):
        raw = read_mesh(data, name, LIMITS)
        surface = join(raw.corners, raw.triangles, 0.02)
        assert surface.closed, name
        assert weigh_up(surface).volume_mm3 == pytest.approx(24.0), name


# --- surface ---------------------------------------------------------------------------------------------------------


def test_volume_and_centre_agree_with_another_library_on_hollow_things():
    ring = trimesh.creation.annulus(r_min=40, r_max=70, height=50)
    shell = trimesh.util.concatenate([trimesh.creation.icosphere(4, 60), inverted(trimesh.creation.icosphere(4, 50))])
    for mesh in (ring, shell, lump()):
        surface = surface_of(mesh)
        assert surface.closed
        assert not surface.inside_out
        assert weigh_up(surface).volume_mm3 == pytest.approx(mesh.volume, rel=1e-9)
        assert weigh_up(surface).centre_mm == pytest.approx(mesh.center_mass, abs=1e-6)


def inverted(mesh):
    return trimesh.Trimesh(mesh.vertices, mesh.faces[:, ::-1], process=False)


def test_a_scan_inside_out_is_turned():
    mesh = lump()
    surface = surface_of(inverted(mesh))
    assert surface.inside_out
    assert weigh_up(surface).volume_mm3 == pytest.approx(mesh.volume, rel=1e-9)


@settings(max_examples=15)
@given(st.integers(0, 10_000), st.floats(0.01, 0.45))
def test_triangles_turned_at_random_are_turned_back(seed, share):
    mesh = lump()
    wrong = np.random.default_rng(seed).random(len(mesh.faces)) < share
    surface = surface_of(
        trimesh.Trimesh(mesh.vertices, np.where(wrong[:, None], mesh.faces[:, ::-1], mesh.faces), process=False)
    )
    assert surface.closed
    assert surface.turned == wrong.sum()
    assert weigh_up(surface).volume_mm3 == pytest.approx(mesh.volume, rel=1e-9)


def test_a_moebius_strip_has_no_sides():
    around = 60
    angle = np.arange(around) * 2 * math.pi / around
    edge = [
        np.column_stack(
            [
                (3 + s * np.cos(angle / 2)) * np.cos(angle),
                (3 + s * np.cos(angle / 2)) * np.sin(angle),
                s * np.sin(angle / 2),
            ]
        )
        for s in (-1, 1)
    ]
    corners = np.vstack(edge)
    faces = []
    for j in range(around):
        a, b = j, around + j
        c, d = (j + 1, around + j + 1) if j + 1 < around else (around, 0)
        faces += [(a, b, c), (b, d, c)]
    surface = join(corners, np.array(faces, dtype=np.int64), 0.02)
    assert not surface.one_sided
    assert not surface.closed
    assert weigh_up(surface).volume_mm3 is None


def test_doubles_and_flat_triangles_are_counted_once_and_dropped():
    mesh = lump()
    faces = np.vstack([mesh.faces, mesh.faces[:7], mesh.faces[7:10, ::-1], [[0, 0, 1], [2, 2, 2]]])
    surface = surface_of(trimesh.Trimesh(mesh.vertices, faces, process=False))
    assert (surface.doubles, surface.flat) == (10, 2)
    assert weigh_up(surface).volume_mm3 == pytest.approx(mesh.volume, rel=1e-9)


def test_a_bowl_without_its_lid_has_one_hole_of_its_rim_and_is_closed_flat():
    # A cylinder of 96 sides without its top: the lid's edge is the polygon, and the volume that of the prism.
    mesh = trimesh.creation.cylinder(radius=50, height=80, sections=96)
    top = np.all(mesh.vertices[mesh.faces][:, :, 2] > 39.9, axis=1)
    surface = surface_of(trimesh.Trimesh(mesh.vertices, mesh.faces[~top], process=False))
    body = weigh_up(surface)
    assert not surface.closed
    (hole,) = body.holes
    assert hole.perimeter_mm == pytest.approx(96 * 2 * 50 * math.sin(math.pi / 96), rel=1e-9)
    assert hole.centre_mm == pytest.approx((0, 0, 40), abs=1e-9)
    assert body.volume_mm3 == pytest.approx(mesh.volume, rel=1e-9)
    assert body.centre_mm == pytest.approx((0, 0, 0), abs=1e-9)


def test_small_pieces_are_left_out_and_large_ones_kept():
    parts = [trimesh.creation.icosphere(4, 50)]
    for radius, x in ((20, 200), (5, 120), (3, -90)):
        part = trimesh.creation.icosphere(3, radius)
        part.apply_translation((x, 0, 0))
        parts.append(part)
    surface = surface_of(trimesh.util.concatenate(parts))
    assert [piece.kept for piece in surface.pieces] == [True, True, False, False]
    areas = [part.area for part in parts]
    assert [piece.share for piece in surface.pieces] == pytest.approx([area / sum(areas) for area in areas], rel=1e-9)
    assert weigh_up(surface).volume_mm3 == pytest.approx(parts[0].volume + parts[1].volume, rel=1e-9)
    assert surface.left_out[:, 0].min() == pytest.approx(-93)


# --- crossing --------------------------------------------------------------------------------------------------------


def test_sound_surfaces_are_not_said_to_run_through_themselves():
    for mesh in (lump(), trimesh.creation.annulus(r_min=40, r_max=70, height=50), trimesh.creation.box((30, 20, 10))):
        found = cross_check(np.asarray(mesh.vertices), np.asarray(mesh.faces, dtype=np.int64))
        assert found.bad == 0
        assert found.lines > 1000
        assert found.covered_mm3 == pytest.approx(mesh.volume, rel=0.03)


def test_two_boxes_in_each_other_are_found_and_their_union_measured():
    one, two = trimesh.creation.box((100, 60, 40)), trimesh.creation.box((50, 50, 50))
    two.apply_translation((45, 3, 8))
    both = trimesh.util.concatenate([one, two])
    found = cross_check(np.asarray(both.vertices), np.asarray(both.faces, dtype=np.int64))
    assert found.bad > 100
    # Overlap in x from 20 to 50, in y from -22 to 28, in z from -17 to 20.
    union = 100 * 60 * 40 + 50**3 - 30 * 50 * 37
    assert found.covered_mm3 == pytest.approx(union, rel=0.02)
    assert found.deepest_mm == pytest.approx(50.0, abs=1e-6)


def test_a_lump_with_a_pocket_turned_through_its_other_side_is_found():
    mesh = trimesh.creation.icosphere(4, 50)
    corners = np.array(mesh.vertices)
    pushed = corners[:, 2] > 40
    corners[pushed, 2] -= 105  # the cap is pushed down through the bottom
    found = cross_check(corners, np.asarray(mesh.faces, dtype=np.int64))
    assert found.bad > 0


# --- footprint -------------------------------------------------------------------------------------------------------

POINTS = st.lists(st.tuples(st.floats(-200, 200), st.floats(-200, 200)), min_size=3, max_size=40)


@given(POINTS)
def test_no_sampled_angle_has_a_smaller_rectangle(points):
    cloud = np.array(points)
    plan = least_rectangle(cloud)
    for angle in np.linspace(0, 90, 361):
        spans = np.ptp(turn(cloud, -angle), axis=0)
        assert plan.length_mm * plan.width_mm <= spans.prod() * (1 + 1e-9) + 1e-6


@given(POINTS, st.floats(0, 360))
def test_turning_points_leaves_their_rectangle(points, angle):
    before, after = least_rectangle(points), least_rectangle(turn(points, angle))
    assert after.length_mm * after.width_mm == pytest.approx(before.length_mm * before.width_mm, rel=1e-7, abs=1e-5)


@given(POINTS)
def test_the_hull_holds_every_point_and_fits_its_rectangle(points):
    cloud = np.array(points)
    hull = convex_hull(cloud)
    if len(hull) > 2:
        ends = np.roll(hull, -1, axis=0)
        for start, end in zip(hull, ends, strict=True):
            side = (end[0] - start[0]) * (cloud[:, 1] - start[1]) - (end[1] - start[1]) * (cloud[:, 0] - start[0])
            assert side.min() >= -1e-7
        assert polygon_area(hull) >= 0
    plan = least_rectangle(cloud)
    assert plan.hull.min() >= -1e-9
    assert (plan.hull.max(axis=0) <= np.array([plan.length_mm, plan.width_mm]) + 1e-7).all()


def test_a_large_cloud_has_the_same_hull_with_and_without_its_inner_points():
    cloud = np.random.default_rng(2).normal(size=(30_000, 2)) * (80, 30)
    ours = convex_hull(cloud)
    from scipy.spatial import ConvexHull

    theirs = cloud[ConvexHull(cloud).vertices]
    assert {tuple(row) for row in ours} == {tuple(row) for row in theirs}


# --- outlines and profile --------------------------------------------------------------------------------------------


def framed(mesh):
    surface = surface_of(mesh)
    return surface.corners - surface.corners.min(axis=0), surface.edges


def test_a_cone_has_triangles_for_silhouettes_and_a_box_rectangles():
    corners, edges = framed(trimesh.creation.cone(radius=60, height=90, sections=128))
    side, end = silhouettes(corners, edges)
    assert polygon_area(side) == pytest.approx(120 * 90 / 2, rel=0.002)
    assert polygon_area(end) == pytest.approx(120 * 90 / 2, rel=0.002)
    corners, edges = framed(trimesh.creation.box((120, 70, 50)))
    side, end = silhouettes(corners, edges)
    assert polygon_area(side) == pytest.approx(120 * 50)
    assert polygon_area(end) == pytest.approx(70 * 50)


def test_a_neck_and_a_foot_show_in_the_silhouette():
    # An hourglass on a ring of feet: two cones tip to tip, cut off at a third.
    radii, heights = [0, 60, 20, 60, 0], [0, 0, 60, 120, 120]
    mesh = trimesh.creation.revolve(np.column_stack([radii, heights]), sections=96)
    corners, edges = framed(mesh)
    side, _ = silhouettes(corners, edges)
    assert polygon_area(side) == pytest.approx(2 * 60 * (120 + 40) / 2, rel=0.005)
    table = trimesh.util.concatenate(
        [trimesh.creation.box((100, 60, 10)), *(trimesh.creation.box((10, 10, 50)) for _ in range(2))]
    )
    table.vertices[8:16] += (-40, 0, -20)
    table.vertices[16:24] += (40, 0, -20)
    corners, edges = framed(table)
    side, _ = silhouettes(corners, edges)
    assert polygon_area(side) == pytest.approx(100 * 10 + 2 * 10 * 40, rel=0.02)


@settings(max_examples=15)
@given(st.integers(0, 1000))
def test_silhouettes_hold_the_shadow_of_every_corner(seed):
    from shapely.geometry import MultiPoint, Polygon

    corners, edges = framed(lump(seed))
    side, end = silhouettes(corners, edges)
    for outline, axes in ((side, [0, 2]), (end, [1, 2])):
        assert len(outline) <= 200
        outside = MultiPoint(corners[:, axes]).difference(Polygon(outline).buffer(0.6))
        assert outside.is_empty


def test_sections_of_a_cone_shrink_evenly_and_two_rows_tell_them():
    corners, edges = framed(trimesh.creation.cone(radius=60, height=90, sections=128))
    heights = sections(corners, edges, 0.01)
    inner = slice(1, -1)
    assert heights.length_mm[inner] == pytest.approx(120 * (1 - heights.height_mm[inner] / 90), abs=1e-6)
    rows, miss = shortened(heights, 2.0, 10)
    assert len(rows) == 2
    assert miss < 0.1


def test_simplifying_keeps_an_outline_that_is_small_and_bounds_one_that_is_not():
    square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    assert set(simplified(square)) == set(square)
    angle = np.linspace(0, 2 * math.pi, 3000, endpoint=False)
    circle = np.column_stack([100 * np.cos(angle), 100 * np.sin(angle)])
    small = simplified(circle)
    assert len(small) <= 200
    assert polygon_area(small) == pytest.approx(math.pi * 100**2, rel=1e-3)


# --- the whole measurement -------------------------------------------------------------------------------------------


@settings(max_examples=15)
@given(st.floats(0, 360))
def test_turning_a_scan_about_the_vertical_leaves_all_that_is_measured(angle):
    mesh = lump()
    flat = turn(mesh.vertices[:, :2], angle) + np.array([3000, -800])
    turned = np.column_stack([flat, mesh.vertices[:, 2] + 77])
    before = measured(as_ply(mesh.vertices, mesh.faces, sort="<f8"), units="mm", up="z")
    after = measured(as_ply(turned, mesh.faces, sort="<f8"), units="mm", up="z")
    assert after.size_mm == pytest.approx(before.size_mm, abs=1e-6)
    assert after.volume_l == pytest.approx(before.volume_l, rel=1e-9)
    assert after.cog_mm[2] == pytest.approx(before.cog_mm[2], abs=1e-6)
    assert polygon_area(after.plan_outline_mm) == pytest.approx(polygon_area(before.plan_outline_mm), rel=1e-6)


@pytest.mark.parametrize(("unit", "factor"), [("cm", 10.0), ("m", 1000.0), ("in", 25.4)])
def test_the_same_scan_in_another_unit_is_the_same_block(unit, factor):
    mesh = lump()
    before = measured(as_ply(mesh.vertices, mesh.faces, sort="<f8"), units="mm", up="z")
    after = measured(as_ply(mesh.vertices / factor, mesh.faces, sort="<f8"), units=unit, up="z")
    assert after.size_mm == pytest.approx(before.size_mm, rel=1e-9)
    assert after.volume_l == pytest.approx(before.volume_l, rel=1e-9)
    assert after.cog_mm == pytest.approx(before.cog_mm, abs=1e-6)


@pytest.mark.parametrize("up", ["z", "-z", "y", "-y", "x", "-x"])
def test_whichever_axis_points_up_the_block_is_the_same(up):
    mesh = lump()
    x, y, z = mesh.vertices.T
    # Each is a turn without a mirror that brings the block's z to the axis named.
    there = {"z": (x, y, z), "-z": (x, -y, -z), "y": (x, z, -y), "-y": (x, -z, y), "x": (z, x, y), "-x": (-z, -x, y)}
    placed = np.column_stack(there[up])
    before = measured(as_ply(mesh.vertices, mesh.faces, sort="<f8"), units="mm", up="z")
    after = measured(as_ply(placed, mesh.faces, sort="<f8"), units="mm", up=up)
    assert after.size_mm == pytest.approx(before.size_mm, abs=1e-6)
    assert after.volume_l == pytest.approx(before.volume_l, rel=1e-9)
    assert after.cog_mm[2] == pytest.approx(before.cog_mm[2], abs=1e-6)
    assert not after.scan.inside_out


def test_the_block_frame_begins_at_the_corner_of_its_prism():
    found = measured(as_ply(lump().vertices, lump().faces, sort="<f8"), units="mm", up="z")
    for outline, sides in (
        (found.plan_outline_mm, (0, 1)),
        (found.side_outline_mm, (0, 2)),
        (found.end_outline_mm, (1, 2)),
    ):
        shape = np.array(outline)
        assert shape.min(axis=0) == pytest.approx((0, 0), abs=0.05)
        assert shape.max(axis=0) == pytest.approx([found.size_mm[i] for i in sides], abs=0.05)
    assert found.profile_mm[0][0] == 0
    assert found.profile_mm[-1][0] == pytest.approx(found.size_mm[2])
    assert max(row[1] for row in found.profile_mm) <= found.size_mm[0] + 1e-9


def test_gltf_scenes_place_mirror_and_repeat_their_meshes():
    mesh = lump(size=0.08)
    scene = trimesh.Scene()
    scene.add_geometry(mesh, geom_name="lump", transform=np.diag([-1.0, 1.0, 1.0, 1.0]))
    data = scene.export(file_type="glb")
    raw = read_mesh(data, "m.glb", LIMITS)
    surface = join(raw.corners, raw.triangles, 0.02)
    assert (raw.unit, raw.up) == ("m", "y")
    assert not surface.inside_out
    assert raw.corners[:, 0].max() == pytest.approx(-mesh.vertices[:, 0].min(), abs=1e-7)
    assert weigh_up(surface).volume_mm3 == pytest.approx(mesh.volume, rel=1e-5)
    assert io.BytesIO(data).read(4) == b"glTF"
