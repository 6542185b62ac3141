"""Make the example scan: an invented hand-made jar, crushed in its soil block, with one loose crumb beside it.

Run from the project's root: .venv/bin/python builders/build_scan.py
Writes examples/jar-scan.ply (binary PLY, millimetres, z up, turned in plan as a scan usually is). All of it is made of
sines: nothing was scanned.
"""

import pathlib

import numpy as np

EXAMPLES = pathlib.Path(__file__).resolve().parent.parent / "examples"
AROUND, TURN_DEG, SHIFT_MM = 72, 27.0, (412.0, -160.0, 35.0)
# Base edge, sides, shoulder of the soil, rim of the jar standing proud, its crushed inside: share of the plan, height.
PROFILE_MM = (
    *((0.35, 0.0), (0.62, 0.0), (0.78, 3.0), (0.86, 12.0), (0.93, 28.0), (0.98, 46.0), (1.0, 64.0), (0.99, 82.0)),
    *((0.95, 98.0), (0.87, 110.0), (0.77, 116.0), (0.68, 119.0), (0.655, 127.0), (0.65, 137.0), (0.635, 140.0)),
    *((0.595, 139.0), (0.58, 128.0), (0.54, 112.0), (0.46, 99.0), (0.34, 91.0), (0.2, 87.0), (0.08, 86.0)),
)
HALF_MM = (115.0, 105.0)
"""Half the length and width of the block."""


def body() -> tuple[np.ndarray, np.ndarray]:
    """Corners and triangles of block and jar: rings joined to each other, a corner at each end."""
    angle = np.arange(AROUND) * 2 * np.pi / AROUND
    # The trowel left four flats; the square is rounded by a power.
    square = (np.abs(np.cos(angle)) ** 2.6 + np.abs(np.sin(angle)) ** 2.6) ** (-1 / 2.6)
    rings = []
    for share, height in PROFILE_MM:
        soil = height < 118 and share > 0.66
        crooked = 1 + 0.018 * np.sin(3 * angle + height / 17) + 0.01 * np.sin(7 * angle - height / 9)
        plan = square * crooked if soil else 1 + 0.02 * np.sin(2 * angle + 0.6)
        x, y = share * HALF_MM[0] * plan * np.cos(angle), share * HALF_MM[1] * plan * np.sin(angle)
        # Crushed from one side: the rim sank towards +x, and sherds stand up inside.
        sunk = np.clip((height - 95) / 45, 0, 1) * 14 * (1 + np.cos(angle - 0.5)) / 2
        sherds = 5 * np.sin(5 * angle + share * 9) if height < 120 and 0.1 < share < 0.56 and height > 80 else 0.0
        rings.append(np.column_stack([x, y, np.broadcast_to(height - sunk + sherds, x.shape)]))
    count, corners = len(rings), np.vstack([*rings, [[0, 0, 0]], [[0, 0, rings[-1][:, 2].mean()]]])
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(count - 1), np.arange(AROUND), indexing="ij"))
    a, b, c, d = (row * AROUND + column % AROUND for row, column in ((i, j), (i, j + 1), (i + 1, j), (i + 1, j + 1)))
    j = np.arange(AROUND)
    base, top = count * AROUND, count * AROUND + 1
    last = (count - 1) * AROUND
    ends = [
        np.column_stack([(j + 1) % AROUND, j, np.full(AROUND, base)]),
        np.column_stack([last + j, last + (j + 1) % AROUND, np.full(AROUND, top)]),
    ]
    return corners, np.vstack([np.column_stack([a, b, c]), np.column_stack([b, d, c]), *ends])


def crumb() -> tuple[np.ndarray, np.ndarray]:
    """A crumb of soil on the table beside the block."""
    corners = np.array([[6, 0, 3], [-5, 0, 3], [0, 5, 3], [0, -6, 3], [0, 0, 8], [0, 0, 0]], dtype=float)
    rows = [(0, 2, 4), (2, 1, 4), (1, 3, 4), (3, 0, 4), (2, 0, 5), (1, 2, 5), (3, 1, 5), (0, 3, 5)]
    return corners + np.array([139.0, 20.0, 0.0]), np.array(rows)


def main() -> None:
    (corners, triangles), (loose, rows) = body(), crumb()
    triangles = np.vstack([triangles, rows + len(corners)])
    corners = np.vstack([corners, loose])
    cos, sin = np.cos(np.radians(TURN_DEG)), np.sin(np.radians(TURN_DEG))
    corners = corners @ np.array([[cos, sin, 0], [-sin, cos, 0], [0, 0, 1]]) + SHIFT_MM
    head = (
        "ply\nformat binary_little_endian 1.0\ncomment invented jar of the site WCR26, millimetres, z up\n"
        f"element vertex {len(corners)}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {len(triangles)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    faces = np.zeros(len(triangles), dtype=[("many", "u1"), ("corners", "<i4", 3)])
    faces["many"], faces["corners"] = 3, triangles
    (EXAMPLES / "jar-scan.ply").write_bytes(head.encode() + corners.astype("<f4").tobytes() + faces.tobytes())


main()
