"""Solids whose volume and centre are known exactly, as meshes and as profiles.

Source: reference table of exact solids (tests/authorities/packing_mesh_checks.csv: formula beside each) and of least
boxes (packing_obb_checks.csv), typed as printed there.
"""

import math

import numpy as np
import pytest
import trimesh

from findhold.geometry.footprint import least_rectangle, turn
from findhold.geometry.mesh.body import weigh_up
from findhold.geometry.mesh.surface import join
from findhold.geometry.solids import stacked

M3, M = 1e-9, 1e-3  # from mm3 and mm


def revolved(radii_m, heights_m, around):
    """A closed mesh of a profile turned about z, first and last point on the axis; corners in mm."""
    angle = np.arange(around) * 2 * math.pi / around
    rings = [
        np.column_stack([r * np.cos(angle), r * np.sin(angle), np.full(around, z)])
        for r, z in zip(radii_m[1:-1], heights_m[1:-1], strict=True)
    ]
    corners = np.vstack([*rings, [[0, 0, heights_m[0]], [0, 0, heights_m[-1]]]]) * 1000.0
    n = len(rings)
    j = np.arange(around)
    k = (j + 1) % around
    top = (n - 1) * around
    ends = [
        np.column_stack([k, j, np.full(around, n * around)]),
        np.column_stack([top + j, top + k, np.full(around, n * around + 1)]),
    ]
    rows = np.arange(n - 1)[:, None] * around
    a, b, c, d = ((rows + step).ravel() for step in (j, k, around + j, around + k))
    sides = [np.column_stack([a, b, c]), np.column_stack([b, d, c])] if n > 1 else []
    return corners, np.vstack([*sides, *ends]).astype(np.int64)


def arc(radius, start_deg, end_deg, steps):
    angle = np.radians(np.linspace(start_deg, end_deg, steps))
    return list(radius * np.cos(angle)), list(radius * np.sin(angle))


def shapes():
    outer = arc(0.1, -90, 0, 400)
    inner = arc(0.09, 0, -90, 400)
    sphere = arc(0.1, -90, 90, 600)
    dome = arc(0.1, 0, 90, 400)
    return {
        "sphere R=0.1 centred z=0": (*sphere, 900),
        "solid hemisphere R=0.1 base at 0": ([0, *dome[0]], [0, *dome[1]], 900),
        "hemispherical bowl R=0.10 r=0.09, rim plane at z=0, bowl below (z negative)": (
            [*outer[0], *inner[0]],
            [*outer[1], *inner[1]],
            600,
        ),
        "frustum R=0.10 base, r=0.15 top, h=0.20": ([0, 0.1, 0.15, 0], [0, 0, 0.2, 0.2], 2000),
        "cone R=0.1 h=0.25 base at 0": ([0, 0.1, 0], [0, 0, 0.25], 2000),
        "frustum as 64-gon mesh": ([0, 0.1, 0.15, 0], [0, 0, 0.2, 0.2], 64),
    }


@pytest.mark.parametrize("solid", [*shapes(), "box 0.26x0.22x0.18"])
def test_mesh_solids_have_their_exact_volume_and_centre(authority, solid):
    (row,) = [row for row in authority("packing_mesh_checks.csv") if row["solid"] == solid]
    if solid.startswith("box"):
        mesh = trimesh.creation.box((260, 220, 180))
        corners, faces = mesh.vertices + np.array([0, 0, 90]), mesh.faces
    else:
        corners, faces = revolved(*shapes()[solid])
    surface = join(np.asarray(corners, dtype=float), np.asarray(faces, dtype=np.int64), 0.02)
    body = weigh_up(surface)
    assert surface.closed
    # A polygon of 600 sides is short of its circle by 2e-5; a mesh of 64 sides is printed as itself.
    assert body.volume_mm3 * M3 == pytest.approx(float(row["volume_m3"]), rel=5e-5)
    assert body.centre_mm[2] * M == pytest.approx(float(row["centroid_z_m"]), abs=5e-6)
    assert abs(body.centre_mm[0]) < 1e-6
    assert abs(body.centre_mm[1]) < 1e-6


def test_a_64_sided_frustum_is_within_a_fifth_of_a_percent_of_the_round_one(authority):
    rows = {row["solid"]: float(row["volume_m3"]) for row in authority("packing_mesh_checks.csv")}
    round_one = rows["frustum R=0.10 base, r=0.15 top, h=0.20"]
    surface = join(*revolved([0, 0.1, 0.15, 0], [0, 0, 0.2, 0.2], 64), 0.02)
    assert weigh_up(surface).volume_mm3 * M3 == pytest.approx(round_one, rel=2e-3)
    # The polygon's own closed form: n/2 sin(2 pi/n) instead of pi.
    own = round_one * 32 * math.sin(math.pi / 32) / math.pi
    assert weigh_up(surface).volume_mm3 * M3 == pytest.approx(own, rel=1e-8)  # ten digits are printed


@pytest.mark.parametrize(
    ("solid", "rows", "section"),
    [
        ("frustum R=0.10 base, r=0.15 top, h=0.20", [(0, 200, 200), (200, 300, 300)], "ellipse"),
        ("cone R=0.1 h=0.25 base at 0", [(0, 200, 200), (250, 0, 0)], "ellipse"),
        ("box 0.26x0.22x0.18", [(0, 260, 220), (180, 260, 220)], "rectangle"),
        ("box 0.26x0.22x0.18", [(0, 260, 220), (60, 260, 220), (180, 260, 220)], "rectangle"),
    ],
)
def test_profiles_have_the_exact_volume_and_height_of_the_centre(authority, solid, rows, section):
    (row,) = [row for row in authority("packing_mesh_checks.csv") if row["solid"] == solid]
    body = stacked(rows, section)
    assert body.volume_mm3 * M3 == pytest.approx(float(row["volume_m3"]), rel=1e-7)
    assert body.centre_height_mm * M == pytest.approx(float(row["centroid_z_m"]), abs=1e-8)


def test_a_sphere_in_many_steps_comes_near_its_exact_volume(authority):
    (row,) = [row for row in authority("packing_mesh_checks.csv") if row["solid"].startswith("sphere")]
    z = np.linspace(-100, 100, 2001)
    wide = 2 * np.sqrt(np.maximum(100**2 - z**2, 0))
    body = stacked([(h + 100, w, w) for h, w in zip(z, wide, strict=True)], "ellipse")
    assert body.volume_mm3 * M3 == pytest.approx(float(row["volume_m3"]), rel=1e-5)
    assert body.centre_height_mm == pytest.approx(100.0, abs=1e-9)


def test_a_block_turned_27_degrees_has_its_sides_and_its_angle():
    # Source: reference sheet on packing, bounding box: 260 x 220 plan turned 27 deg -> 260, 220, 27 deg.
    plan = least_rectangle(turn([(0, 0), (260, 0), (260, 220), (0, 220)], 27.0))
    assert (plan.length_mm, plan.width_mm, plan.angle_deg) == pytest.approx((260.0, 220.0, 27.0), abs=1e-9)


def test_the_upright_box_of_a_64_gon_cylinder_is_the_least_box(authority):
    (row,) = [row for row in authority("packing_obb_checks.csv") if row["solid"].startswith("64-gon cylinder")]
    angle = np.arange(64) * 2 * math.pi / 64 + 0.3
    plan = least_rectangle(np.column_stack([0.1 * np.cos(angle), 0.1 * np.sin(angle)]))
    assert plan.length_mm * plan.width_mm * 0.25 == pytest.approx(float(row["least_volume"]), abs=5e-7)


def test_the_upright_box_of_a_tetrahedron_in_a_cube_is_that_cube(authority):
    (row,) = [row for row in authority("packing_obb_checks.csv") if row["solid"].startswith("regular tetrahedron")]
    corners = np.array([(0, 0, 0), (1, 1, 0), (1, 0, 1), (0, 1, 1)], dtype=float)
    plan = least_rectangle(corners[:, :2])
    assert plan.length_mm * plan.width_mm * 1.0 == pytest.approx(float(row["least_volume"]), abs=1e-9)
