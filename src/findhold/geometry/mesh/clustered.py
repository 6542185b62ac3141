"""A mesh made coarser for looking at it: corners within one cell of a grid become one."""

from __future__ import annotations

import numpy as np

from findhold.geometry.mesh.raw import FloatArray, IntArray

_TRIES = 24


def clustered(corners: FloatArray, triangles: IntArray, most: int) -> tuple[FloatArray, IntArray]:
    """A mesh with at most so many triangles; one that has no more is given back as it is.

    Not for measuring: a cell's corners become their mean, so that edges round and thin walls may close.

    Parameters
    ----------
    corners : shape (n, 3) [any unit]. triangles : shape (m, 3), rows of corners. most : at least 4.

    Returns
    -------
    Corners and triangles; the cells are the finest found that keep to the limit.

    Source
    ------
    Vertex clustering on a regular grid, cell size by halving the interval; our own derivation.
    """
    if len(triangles) <= most:
        return corners, triangles
    span = float(np.ptp(corners, axis=0).max())
    # So many triangles of a surface meet about half as many cells; begin well on either side of that.
    fine, coarse = span / 4000.0, span / 2.0
    best = _merged(corners, triangles, coarse)
    for _ in range(_TRIES):
        cell = float(np.sqrt(fine * coarse))
        made = _merged(corners, triangles, cell)
        if len(made[1]) <= most:
            best, coarse = made, cell
            if len(made[1]) >= 0.9 * most:
                break
        else:
            fine = cell
    return best


def _merged(corners: FloatArray, triangles: IntArray, cell: float) -> tuple[FloatArray, IntArray]:
    """Corners of one cell as their mean; triangles that fall together are left out."""
    place = np.floor((corners - corners.min(axis=0)) / cell).astype(np.int64)
    wide, deep = place[:, 1].max() + 1, place[:, 2].max() + 1
    key = (place[:, 0] * wide + place[:, 1]) * deep + place[:, 2]
    _, label, count = np.unique(key, return_inverse=True, return_counts=True)
    means = np.column_stack([np.bincount(label, weights=corners[:, axis]) / count for axis in range(3)])
    made = label[triangles]
    a, b, c = made.T
    made = made[(a != b) & (b != c) & (c != a)]
    # The same three corners, whichever comes first, are one triangle.
    _, first = np.unique(np.sort(made, axis=1), axis=0, return_index=True)
    return means, np.asarray(made[np.sort(first)], dtype=np.int64)
