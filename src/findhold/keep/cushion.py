"""The cushion round a block as one thickness: what a single layer would have to be to pass the same heat."""

from __future__ import annotations


def cushion_m(
    block_m: tuple[float, float, float], *, side_l_m: float, side_w_m: float, bed_m: float, lid_gap_m: float
) -> float:
    """Thickness of an even cushion that passes as much heat as the uneven one.

    Heat leaves each face in proportion to its area over the thickness before it, so the thin sides count most.

    Parameters
    ----------
    block_m : length along the box, width across it, height [m].
    side_l_m : clearance at each end of the length [m]. side_w_m : at each side of the width [m].
    bed_m : under the block [m]. lid_gap_m : over it [m].

    Returns
    -------
    float : thickness [m]; 0 when a face touches the wall.

    Source
    ------
    Conduction in parallel (closed form).
    """
    length, width, height = block_m
    faces = [
        (2.0 * width * height, side_l_m),
        (2.0 * length * height, side_w_m),
        (length * width, bed_m),
        (length * width, lid_gap_m),
    ]
    if min(thickness for _, thickness in faces) <= 0.0:
        return 0.0
    return sum(area for area, _ in faces) / sum(area / thickness for area, thickness in faces)
