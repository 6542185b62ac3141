"""One bay while it is loaded: where the next piece can stand at rest on whole ground, keeping every rule."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from findhold.geometry.loading.parts import Bay, Piece, Placed, Rules, Size

IntArray = npt.NDArray[np.int64]


class Heap:
    """Pieces in one bay, put down one by one; each rests on the floor or, all over, on tops of one height."""

    def __init__(self, bay: Bay, pieces: Sequence[Piece], rules: Rules) -> None:
        self.bay, self.pieces, self.rules = bay, pieces, rules
        self.placed: list[Placed] = []
        self.under: list[frozenset[int]] = []
        self.carried_g: list[int] = []
        self.mass_g = 0
        self.volume_mm3 = 0
        self.boxes: IntArray = np.zeros((0, 5), dtype=np.int64)
        self.corners: list[tuple[int, int]] = [(0, 0)]

    def light_enough(self, masses_g: IntArray, volumes_mm3: IntArray) -> npt.NDArray[np.bool_]:
        """Which pieces the mass and the volume left allow."""
        room = volumes_mm3 <= self.bay.volume_mm3 - self.volume_mm3
        return room if self.bay.carries_g is None else room & (masses_g <= self.bay.carries_g - self.mass_g)

    def takes(self, piece: Piece) -> bool:
        """True when the companies already here allow the piece."""
        return not any(self.rules.conflict(piece.company, self.pieces[one.piece].company) for one in self.placed)

    def best_place(self, number: int) -> tuple[Placed, tuple[int, ...]] | None:
        """The lowest place for a piece, nearest the corner, and on which others it then rests; None when there is none.

        Lowest is judged by its top, so that a flat turn is preferred to a tall one.
        """
        found: list[tuple[tuple[int, int, int, int], Size, Size]] = []
        for size in self.pieces[number].turns:
            found += [((at[2] + size[2], at[2], at[1], at[0]), at, size) for at in self._ground(size)]
        for _, at, size in sorted(found):
            one = Placed(piece=number, at=at, size=size)
            on = self._on(one)
            if self._bears(number, on):
                return one, on
        return None

    def put(self, one: Placed, on: tuple[int, ...]) -> None:
        """Put a piece down where `best_place` found room."""
        piece = self.pieces[one.piece]
        under = frozenset(on).union(*(self.under[k] for k in on))
        for k in under:
            self.carried_g[k] += piece.mass_g
        self.placed.append(one)
        self.under.append(under)
        self.carried_g.append(0)
        self.mass_g += piece.mass_g
        self.volume_mm3 += one.volume_mm3
        row = np.array([[one.at[0], one.at[1], one.end[0], one.end[1], one.end[2]]], dtype=np.int64)
        self.boxes = np.concatenate([self.boxes, row])
        (x0, y0, _), (x1, y1, _) = one.at, one.end
        corners = [(x1, y0), (x0, y1), (x0, y0), (x1, 0), (0, y1), (x1, y1)]
        self.corners = list(dict.fromkeys([*self.corners, *corners]))

    def _ground(self, size: Size) -> Iterator[Size]:
        """Corners on which a size stands inside the bay with all of its base on one level."""
        at = np.array(self.corners, dtype=np.int64)
        at = at[(at[:, 0] + size[0] <= self.bay.size[0]) & (at[:, 1] + size[1] <= self.bay.size[1])]
        if not len(at):
            return
        ends = at + np.array(size[:2], dtype=np.int64)
        along = np.minimum(ends[:, :1], self.boxes[:, 2]) - np.maximum(at[:, :1], self.boxes[:, 0])
        across = np.minimum(ends[:, 1:], self.boxes[:, 3]) - np.maximum(at[:, 1:], self.boxes[:, 1])
        shared = np.maximum(along, 0) * np.maximum(across, 0)
        tops = np.where(shared > 0, self.boxes[:, 4], 0)
        level = tops.max(axis=1, initial=0)
        held = np.where(tops == level[:, None], shared, 0).sum(axis=1)
        good = (level + size[2] <= self.bay.size[2]) & ((level == 0) | (held == size[0] * size[1]))
        for (x, y), z in zip(at[good].tolist(), level[good].tolist(), strict=True):
            yield (x, y, z)

    def _on(self, one: Placed) -> tuple[int, ...]:
        if one.at[2] == 0:
            return ()
        x0, y0, x1, y1, top = self.boxes.T
        touches = (top == one.at[2]) & (x0 < one.end[0]) & (one.at[0] < x1) & (y0 < one.end[1]) & (one.at[1] < y1)
        return tuple(np.nonzero(touches)[0].tolist())

    def _bears(self, number: int, on: tuple[int, ...]) -> bool:
        """True when all that would carry the piece may carry it."""
        mass_g = self.pieces[number].mass_g
        if not all(self.rules.may_rest(mass_g, self.pieces[self.placed[k].piece].mass_g) for k in on):
            return False
        for k in frozenset(on).union(*(self.under[j] for j in on)):
            bears_g = self.pieces[self.placed[k].piece].bears_g
            if bears_g is not None and self.carried_g[k] + mass_g > bears_g:
                return False
        return True
