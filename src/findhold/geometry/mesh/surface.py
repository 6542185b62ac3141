"""A surface out of triangles: corners joined, doubles dropped, pieces told apart, open edges found, sides made alike.

All of it is counting and comparing: nothing is moved, filled or smoothed, and whatever is left out is told.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from findhold.geometry.mesh.raw import FloatArray, IntArray

BoolArray = npt.NDArray[np.bool_]
_MIX = (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One connected piece.

    share : of the area of the whole scan [fraction]. low, high : its corners' least and most [file unit].
    """

    triangles: int
    share: float
    kept: bool
    low: tuple[float, float, float]
    high: tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """The kept pieces of a scan as one surface.

    corners : shape (n, 3) [file unit]. triangles : shape (m, 3). edges : shape (k, 2), each edge once. open_edges :
    shape (j, 2), edges of one triangle only, in the direction that triangle runs. left_out : corners of the pieces
    left out [file unit]. many_edges : edges of three triangles or more. turned : triangles that faced the other way
    than their neighbours and were turned. inside_out : all of a piece faced inwards and was turned.
    """

    corners: FloatArray
    triangles: IntArray
    edges: IntArray
    open_edges: IntArray
    left_out: FloatArray
    pieces: tuple[Piece, ...]
    flat: int
    doubles: int
    many_edges: int
    turned: int
    one_sided: bool
    """False when no way of turning makes all triangles face alike, as on a Moebius strip."""
    inside_out: bool

    @property
    def closed(self) -> bool:
        """True when the surface encloses a volume: every edge is run once each way by its triangles."""
        return not len(self.open_edges) and self.one_sided


def join(corners: FloatArray, triangles: IntArray, least_share: float) -> Surface:
    """Make a surface of triangles.

    Parameters
    ----------
    corners : shape (n, 3) [file unit]. triangles : shape (m, 3), rows of corners; see files.read_mesh.
    least_share : pieces of less than this share of the area are left out [fraction]; the largest never is.

    Returns
    -------
    Surface; no triangles when all of them are flat (two corners the same).
    """
    corners, triangles = _joined(corners, triangles)
    a, b, c = triangles.T
    whole = (a != b) & (b != c) & (c != a)
    flat = int((~whole).sum())
    if flat:
        triangles = triangles[whole]
    triangles, doubles = _single(triangles)
    label, pieces = _pieces(corners, triangles, least_share)
    left_out = np.empty((0, 3))
    if not all(piece.kept for piece in pieces):
        kept = np.array([piece.kept for piece in pieces])[label[triangles[:, 0]]]
        left_out = corners[np.unique(triangles[~kept])]
        triangles = triangles[kept]
    corners, triangles, label = _compact(corners, triangles, label)
    edges = _edges(triangles, len(corners))
    turned, one_sided = 0, edges.alike
    if not edges.alike:
        triangles, turned, one_sided = _made_alike(triangles, len(corners))
        edges = _edges(triangles, len(corners))
    surface = Surface(
        corners=corners,
        triangles=triangles,
        edges=edges.pairs,
        open_edges=edges.open_edges,
        left_out=left_out,
        pieces=pieces,
        flat=flat,
        doubles=doubles,
        many_edges=edges.many,
        turned=turned,
        one_sided=one_sided,
        inside_out=False,
    )
    return _outwards(surface, label)


def _joined(corners: FloatArray, triangles: IntArray) -> tuple[FloatArray, IntArray]:
    """Corners at exactly the same place made one; exact, so that no thin wall is welded shut."""
    corners = np.ascontiguousarray(corners + 0.0)  # -0.0 becomes 0.0
    rows = corners.view(np.uint64)
    if _all_different(rows):
        return corners, triangles
    first, inverse = _groups(rows)
    return corners[first], inverse[triangles]


def _single(triangles: IntArray) -> tuple[IntArray, int]:
    """Triangles without those that have the same three corners as an earlier one, whichever way they face."""
    a, b, c = triangles.T
    low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    rows = np.column_stack([low, a + b + c - low - high, high]).view(np.uint64)
    if _all_different(rows):
        return triangles, 0
    first, _ = _groups(rows)
    first.sort()
    return triangles[first], len(triangles) - len(first)


def _mixed(rows: npt.NDArray[np.uint64]) -> npt.NDArray[np.uint64]:
    """One number for each row of three; rows that are the same have the same."""
    mixed = np.zeros(len(rows), dtype=np.uint64)
    with np.errstate(over="ignore"):
        for column in range(3):
            # The lower half of a number that was once a short one is empty: its upper half is folded into it.
            value = np.ascontiguousarray(rows[:, column])
            mixed = (mixed ^ value ^ (value >> np.uint64(32))) * np.uint64(_MIX[column])
            mixed ^= mixed >> np.uint64(31)
    return mixed


def _all_different(rows: npt.NDArray[np.uint64]) -> bool:
    mixed = _mixed(rows)
    mixed.sort()
    return not bool((mixed[1:] == mixed[:-1]).any())


def _groups(rows: npt.NDArray[np.uint64]) -> tuple[IntArray, IntArray]:
    """For rows of three: the first row of each different one, in order, and which of these each row is."""
    mixed = _mixed(rows)
    order = np.argsort(mixed)
    ranked = mixed[order]
    begins = np.concatenate([[True], ranked[1:] != ranked[:-1]])
    first = np.minimum.reduceat(order, np.flatnonzero(begins))
    # In the order of the file, so that neighbours stay near each other in memory.
    place = np.argsort(first)
    rank = np.empty(len(first), dtype=np.int64)
    rank[place] = np.arange(len(first))
    first, inverse = first[place], np.empty(len(rows), dtype=np.int64)
    inverse[order] = rank[np.cumsum(begins) - 1]
    if not all((rows[first, axis][inverse] == rows[:, axis]).all() for axis in range(3)):
        # Two different rows were mixed to the same number.
        _, first, inverse = np.unique(rows, axis=0, return_index=True, return_inverse=True)
    return first.astype(np.int64), inverse.reshape(-1).astype(np.int64)


def _compact(corners: FloatArray, triangles: IntArray, label: IntArray) -> tuple[FloatArray, IntArray, IntArray]:
    """Only the corners that triangles use, with the piece of each."""
    used = np.zeros(len(corners), dtype=bool)
    used[triangles.ravel()] = True
    if used.all():
        return corners, triangles, label
    return corners[used], (np.cumsum(used) - 1)[triangles], label[used]


def _pieces(corners: FloatArray, triangles: IntArray, least_share: float) -> tuple[IntArray, tuple[Piece, ...]]:
    """The piece of each corner (-1 for a corner of none), and the pieces, largest first in area."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    if not len(triangles):
        return np.full(len(corners), -1), ()
    start, end = triangles[:, :2].ravel(), triangles[:, 1:].ravel()
    graph = coo_matrix((np.ones(len(start), dtype=np.int8), (start, end)), shape=(len(corners), len(corners)))
    _, label = connected_components(graph, directed=False)
    own = label[triangles[:, 0]]
    count = np.bincount(own, minlength=int(label.max()) + 1)
    alone = int((count > 0).sum()) == 1
    area = (
        count.astype(np.float64)
        if alone
        else np.bincount(own, weights=_areas(corners, triangles), minlength=len(count))
    )
    order = np.argsort(-area - (count > 0), kind="stable")[: int((count > 0).sum())]
    place = np.full(len(area), -1)
    place[order] = np.arange(len(order))
    label = place[label]
    low, high = _boxes(corners, label, len(order))
    total = float(area.sum()) or 1.0
    pieces = tuple(
        Piece(
            triangles=int(count[old]),
            share=float(area[old]) / total,
            kept=new == 0 or float(area[old]) / total >= least_share,
            low=_three(low[new]),
            high=_three(high[new]),
        )
        for new, old in enumerate(order)
    )
    return label, pieces


def _boxes(corners: FloatArray, label: IntArray, many: int) -> tuple[FloatArray, FloatArray]:
    """The least and most corner of each piece, shape (pieces, 3)."""
    used = label >= 0
    own, points = (label, corners) if used.all() else (label[used], corners[used])
    if many == 1:
        return points.min(axis=0)[None], points.max(axis=0)[None]
    low, high = (np.full((many, 3), way * np.inf) for way in (1, -1))
    for axis in range(3):
        np.minimum.at(low[:, axis], own, points[:, axis])
        np.maximum.at(high[:, axis], own, points[:, axis])
    return low, high


def _areas(corners: FloatArray, triangles: IntArray) -> FloatArray:
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = columns(corners, triangles)
    ux, uy, uz, vx, vy, vz = bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az
    return np.asarray(np.sqrt((uy * vz - uz * vy) ** 2 + (uz * vx - ux * vz) ** 2 + (ux * vy - uy * vx) ** 2) / 2.0)


def columns(corners: FloatArray, triangles: IntArray) -> list[list[FloatArray]]:
    """The three corners of triangles, each as its x, y and z: several times faster than taking whole rows."""
    axes = [np.ascontiguousarray(corners[:, axis]) for axis in range(3)]
    return [[axis[index] for axis in axes] for index in (np.ascontiguousarray(triangles[:, i]) for i in range(3))]


def _three(row: FloatArray) -> tuple[float, float, float]:
    return float(row[0]), float(row[1]), float(row[2])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Edges:
    """Edges by how many triangles run along them, and whether every two that share one run it both ways."""

    pairs: IntArray
    open_edges: IntArray
    many: int
    alike: bool


def _edges(triangles: IntArray, corners: int) -> _Edges:
    """Each edge once; triangles run it forwards or backwards, told by the lowest bit of its number."""
    start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    backwards = start > end
    number = np.where(backwards, end * corners + start, start * corners + end) * 2 + backwards
    number.sort()
    edge = number >> 1
    first = (
        np.flatnonzero(np.concatenate([[True], edge[1:] != edge[:-1]])) if len(edge) else np.empty(0, dtype=np.int64)
    )
    count = np.diff(np.append(first, len(edge)))
    ways = np.add.reduceat((number & 1) * 2 - 1, first) if len(first) else count
    pairs = np.column_stack([edge[first] // max(corners, 1), edge[first] % max(corners, 1)])
    lone = count == 1
    ends = np.where((number[first[lone]] & 1)[:, None] == 1, pairs[lone][:, ::-1], pairs[lone])
    return _Edges(
        pairs=pairs,
        open_edges=ends.reshape(-1, 2),
        many=int((count > 2).sum()),
        alike=bool((np.abs(ways[~lone]) == count[~lone] % 2).all()),
    )


def _made_alike(triangles: IntArray, corners: int) -> tuple[IntArray, int, bool]:
    """Triangles turned so that neighbours face alike: the fewer of each piece; how many, and whether it can be done."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import breadth_first_order, connected_components

    start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    number = np.minimum(start, end) * corners + np.maximum(start, end)
    order = np.argsort(number, kind="stable")
    ranked = number[order]
    same = np.concatenate([[False], ranked[1:] == ranked[:-1], [False]])
    pair = np.flatnonzero(same[1:-1] & ~same[:-2] & ~same[2:])  # edges of exactly two triangles
    one, other = order[pair], order[pair + 1]
    against = (start[one] == start[other]).astype(np.int8)  # both run the edge the same way
    left, right = one // 3, other // 3
    many = len(triangles)
    graph = coo_matrix((np.ones(len(left), dtype=np.int8), (left, right)), shape=(many, many)).tocsr()
    _, piece = connected_components(graph, directed=False)
    turn = np.zeros(many, dtype=np.int8)
    # The tree of each piece is walked once; a triangle is turned when its parent's turn and their edge say so.
    lookup = coo_matrix((against + 1, (left, right)), shape=(many, many)).tocsr()
    lookup = lookup.maximum(lookup.T)
    for first in np.unique(piece, return_index=True)[1]:
        walk, parent = breadth_first_order(graph, int(first), directed=False)
        if len(walk) < 2:
            continue
        before = parent[walk[1:]]
        flips = np.asarray(lookup[walk[1:], before]).ravel() - 1
        for triangle, above, flip in zip(walk[1:].tolist(), before.tolist(), flips.tolist(), strict=True):
            turn[triangle] = turn[above] ^ flip
    size = np.bincount(piece)
    mostly = np.bincount(piece, weights=turn) > size / 2
    turn = turn ^ mostly[piece]
    one_sided = bool(((turn[left] ^ turn[right]) == against).all())
    flipped = np.where((turn == 1)[:, None], triangles[:, ::-1], triangles)
    return flipped, int(turn.sum()), one_sided


def _outwards(surface: Surface, label: IntArray) -> Surface:
    """The surface with every piece facing outwards; a hollow inside another piece keeps facing into the hollow."""
    if not len(surface.triangles) or not surface.one_sided:
        return surface
    middle = (surface.corners.max(axis=0) + surface.corners.min(axis=0)) / 2.0
    own = label[surface.triangles[:, 0]]
    volume = np.bincount(own, weights=signed_volumes(surface.corners - middle, surface.triangles))
    if len(surface.open_edges):
        volume += np.bincount(
            label[surface.open_edges[:, 0]], weights=_caps(surface, middle, label), minlength=len(volume)
        )
    wrong = volume < 0
    for number in np.flatnonzero(wrong[1:]) + 1:
        wrong[number] = not _inside(surface.pieces[number], surface.pieces[0])
    if not wrong.any():
        return surface
    triangles = np.where(wrong[own][:, None], surface.triangles[:, ::-1], surface.triangles)
    ends = wrong[label[surface.open_edges[:, 0]]]
    open_edges = np.where(ends[:, None], surface.open_edges[:, ::-1], surface.open_edges)
    return replace(surface, triangles=triangles, open_edges=open_edges, inside_out=True)


def signed_volumes(corners: FloatArray, triangles: IntArray) -> FloatArray:
    """Volume between each triangle and the origin, positive when the triangle faces away from it [cubed unit]."""
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = columns(corners, triangles)
    return np.asarray((ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)) / 6.0)


def _caps(surface: Surface, middle: FloatArray, label: IntArray) -> FloatArray:
    """Volumes of flat lids over the open edges of each piece, from the middle of its edges."""
    if not len(surface.open_edges):
        return np.empty(0)
    points = surface.corners - middle
    start, end = surface.open_edges[:, 0], surface.open_edges[:, 1]
    own = label[start]
    count = np.maximum(np.bincount(own), 1)
    centre = np.column_stack([np.bincount(own, weights=points[start, axis]) / count for axis in range(3)])[own]
    return np.asarray(np.einsum("ij,ij->i", points[end], np.cross(points[start], centre)) / 6.0)


def _inside(piece: Piece, outer: Piece) -> bool:
    return all(a <= b for a, b in zip(outer.low, piece.low, strict=True)) and all(
        a >= b for a, b in zip(outer.high, piece.high, strict=True)
    )
