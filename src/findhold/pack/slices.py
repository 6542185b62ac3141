"""A block as slices: height over its base, length and width there, straight between them."""

from __future__ import annotations

import numpy as np

from findhold.pack.inputs import Size


def slices_of(profile: tuple[Size, ...], block: Size) -> tuple[Size, ...]:
    """The profile from the foot up, its lowest slice taken down to the base; without one, foot and top of a prism.

    Parameters
    ----------
    profile, block : height over the base, length and width there [mm]; the block's three sizes [mm].
    """
    length, width, height = block
    if not profile:
        return ((0.0, length, width), (height, length, width))
    low = profile[0]
    return profile if low[0] == 0.0 else ((0.0, low[1], low[2]), *profile)


def volume_l(slices_mm: tuple[Size, ...], height_mm: float) -> float:
    """Volume of a block of rectangular slices, length and width straight between them [L]; the last goes on up."""
    slices = np.array(slices_mm, dtype=np.float64)
    if slices[-1, 0] < height_mm:
        slices = np.vstack([slices, [height_mm, slices[-1, 1], slices[-1, 2]]])
    low, high = slices[:-1], slices[1:]
    middle = (low[:, 1] + high[:, 1]) * (low[:, 2] + high[:, 2])
    areas = (low[:, 1] * low[:, 2] + high[:, 1] * high[:, 2] + middle) / 6.0
    return float(((high[:, 0] - low[:, 0]) * areas).sum()) * 1e-6
