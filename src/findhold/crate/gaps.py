"""The empty room of a loaded crate, layer by layer: what has to be filled so that nothing slides or tips."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from findhold.crate.load import InPlace

_LEAST_L = 0.5
"""Room too small to be worth a word [L]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Room beside the things of one layer, up to the height its tallest reaches."""

    layer: int
    room_l: float
    up_to_mm: float
    """Height over the floor that it is filled to."""


def gaps(items: Sequence[InPlace], inside_mm: tuple[float, float, float]) -> tuple[Gap, ...]:
    """Room beside the things of each layer, from the top of the layer below to its own; slivers are left out.

    Parameters
    ----------
    items : in their places. inside_mm : of the crate [mm].

    Source: volumes; computed. Things are boxes, so the room in a slab is its plan area less theirs, times its height.
    """
    found, below = [], 0.0
    for layer in sorted({item.layer for item in items}):
        top = float(max(item.at_mm[2] + item.size_mm[2] for item in items if item.layer <= layer))
        taken = sum(_within(item, below, top) for item in items)
        room_l = (inside_mm[0] * inside_mm[1] * (top - below) - taken) * 1e-6
        if room_l >= _LEAST_L:
            found.append(Gap(layer=layer, room_l=room_l, up_to_mm=top))
        below = top
    return tuple(found)


def _within(item: InPlace, low_mm: float, high_mm: float) -> float:
    """Volume of a thing between two heights [mm3]."""
    base, top = item.at_mm[2], item.at_mm[2] + item.size_mm[2]
    return item.size_mm[0] * item.size_mm[1] * max(min(top, high_mm) - max(base, low_mm), 0.0)
