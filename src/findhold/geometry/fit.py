"""Does an upright block go into a box: both turns of the plan, and what is to spare along each side.

The vertical stays the vertical, so there are two turns: the block's length along the box's length (0 degrees) or
across it (90 degrees). Lengths in millimetres.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
TURNS_DEG = (0, 90)


def spare_mm(inside_mm: npt.ArrayLike, need_mm: npt.ArrayLike) -> FloatArray:
    """What each box has left along length, width and height, in both turns.

    Not for tilted blocks: the block stands as it was found.

    Parameters
    ----------
    inside_mm : shape (n, 3), inside length, width, height of each box [mm].
    need_mm : shape (3,), length, width and height the block needs with its clearances [mm].

    Returns
    -------
    shape (n, 2, 3) [mm]: box, turn (0, 90 degrees), side; negative = short.

    Source: subtraction; computed.
    """
    inside = np.asarray(inside_mm, dtype=np.float64).reshape(-1, 1, 3)
    length, width, height = (float(side) for side in np.asarray(need_mm, dtype=np.float64))
    turned = np.array([[length, width, height], [width, length, height]])
    return np.asarray(inside - turned)


def fits(spare: FloatArray) -> npt.NDArray[np.bool_]:
    """Which turn of which box fits: shape (n, 2) from `spare_mm`; exactly full fits."""
    return np.asarray((spare >= 0.0).all(axis=-1))


def better_turn(spare: FloatArray) -> npt.NDArray[np.intp]:
    """The turn to take or, when neither fits, to report: shape (n,), 0 or 1.

    A turn that fits beats one that does not; of two that fit, the one with the wider narrowest side; of two that do
    not, the one with less missing in all; a tie keeps the block's length along the box's length.
    """
    missing = np.minimum(spare, 0.0).sum(axis=-1)
    narrowest = spare[..., :2].min(axis=-1)
    second = (missing[:, 1] > missing[:, 0]) | ((missing[:, 1] == missing[:, 0]) & (narrowest[:, 1] > narrowest[:, 0]))
    return np.asarray(second, dtype=np.intp)


def rooms_mm(
    rim_mm: npt.ArrayLike, base_mm: npt.ArrayLike, height_mm: npt.ArrayLike, at_mm: npt.ArrayLike
) -> FloatArray:
    """Inside length and width of tapered boxes at given heights, never more than the rim that all must pass.

    Parameters
    ----------
    rim_mm, base_mm : shape (n, 2), inside length and width at rim and floor [mm].
    height_mm : shape (n,), inside height [mm]. at_mm : shape (m,), heights over the floor [mm].

    Returns
    -------
    shape (n, m, 2) [mm]; straight walls between floor and rim, the rim's size above it.

    Source: similar triangles; computed.
    """
    rim = np.asarray(rim_mm, dtype=np.float64)[:, None, :]
    base = np.asarray(base_mm, dtype=np.float64)[:, None, :]
    share = np.asarray(at_mm, dtype=np.float64)[None, :, None] / np.asarray(height_mm, dtype=np.float64)[:, None, None]
    return np.asarray(np.minimum(rim, base + (rim - base) * np.clip(share, 0.0, 1.0)))


def corner_spare_mm(spare_mm: npt.ArrayLike, radius_mm: npt.ArrayLike) -> FloatArray:
    """What a rectangle's corner has left before the rounded corner of the rectangle it stands in the middle of.

    Parameters
    ----------
    spare_mm : shape (..., 2), length and width to spare in all [mm]. radius_mm : shape (...), of the corner [mm].

    Returns
    -------
    shape (...) [mm]; negative = it stands in the rounding; no rounding in the way counts as the radius.

    Source: distance from the arc's centre; computed.
    """
    radius = np.asarray(radius_mm, dtype=np.float64)
    into = np.maximum(radius[..., None] - np.asarray(spare_mm, dtype=np.float64) / 2, 0.0)
    return np.asarray(radius - np.hypot(into[..., 0], into[..., 1]))


def outside_mm(inside_mm: npt.ArrayLike, wall_mm: npt.ArrayLike) -> FloatArray:
    """Outside size of boxes whose walls, floor and lid are equally thick: shape (n, 3) [mm]."""
    wall = np.asarray(wall_mm, dtype=np.float64).reshape(-1, 1)
    return np.asarray(np.asarray(inside_mm, dtype=np.float64).reshape(-1, 3) + 2.0 * wall)
