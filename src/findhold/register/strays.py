"""Points far from all others: told by the gaps between points, so that two points are enough and a long site is one."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]


class Strays(NamedTuple):
    """Which points of the file lie apart, or that the file falls into equal parts and nobody can say which is right.

    apart : shape (n,) true for points away from home. home : the points that the others are measured from, (m, 2) [m].
    parts : for equal parts only, the part of each point, (n,); else None.
    """

    apart: NDArray[np.bool_]
    home: Points
    parts: NDArray[np.intp] | None = None


def find_strays(points: Points, known: Points, gap_m: float) -> Strays:
    """Points of a file that a gap divides from those of the ledger, or from most of the file when it has none.

    Not for points a few metres off, nor for one that stands in the crossing of two rows of others.

    Parameters
    ----------
    points : easting and northing of the file's points, shape (n, 2) [m].
    known : the same of the ledger, shape (m, 2) [m]; may be empty.
    gap_m : neighbours further apart than this, east or north, belong to different parts [m].
    """
    everything = np.vstack([known, points])
    places = np.column_stack([_runs(everything[:, axis], gap_m) for axis in (0, 1)])
    parts = np.unique(places, axis=0, return_inverse=True)[1].reshape(-1)
    here = parts[len(known) :]
    if len(known):
        homes = np.unique(parts[: len(known)])
    else:
        counts = np.bincount(parts)
        homes = np.flatnonzero(counts == counts.max())
        if len(homes) > 1:
            return Strays(np.zeros(len(points), dtype=bool), points, here)
    at_home = np.isin(parts, homes)
    return Strays(~at_home[len(known) :], everything[at_home])


def digits(values: Points) -> NDArray[np.intp]:
    """Digits before the decimal mark of each value."""
    whole = np.maximum(np.floor(np.abs(values)), 1.0)
    return np.asarray(np.floor(np.log10(whole) + 1e-12).astype(np.intp) + 1)


def other_digits(points: Points, home: Points) -> NDArray[np.intp]:
    """For each point and axis, the number of digits that most points at home have and this one has not; else 0.

    Shape (n, 2). Nothing is said on an axis where no number of digits is shared by more than half of them.
    """
    found = np.zeros(points.shape, dtype=np.intp)
    for axis in (0, 1):
        met, counts = np.unique(digits(home[:, axis]), return_counts=True)
        if counts.max() >= 2 and 2 * counts.max() > len(home):
            usual = met[counts.argmax()]
            found[digits(points[:, axis]) != usual, axis] = usual
    return found


def _runs(values: Points, gap_m: float) -> NDArray[np.intp]:
    """Number of the run of neighbours that each value belongs to, along one axis."""
    order = np.argsort(values, kind="stable")
    runs = np.empty(len(values), dtype=np.intp)
    runs[order] = np.concatenate([[0], np.cumsum(np.diff(values[order]) > gap_m)])
    return runs
