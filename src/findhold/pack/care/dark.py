"""A find that no light may fall on: how it is handled, recorded and wrapped until its luminescence sample is taken."""

from __future__ import annotations

from findhold.pack.asked import Asked
from findhold.pack.kept import keeps_dark
from findhold.tables.materials import PackingMaterial, packing_material

COVER_LAYERS = 2
COVER = "aluminium foil"

DARKENED = (
    "Darken the room before you uncover it: luminescence is planned. Only the safe light its laboratory names (dim red "
    "is usual: ask first); no daylight, no lamp, no flash.",
    "light empties the signal that its soil carries",
)
DRAWN = (
    "Mark TOP{on}; draw and measure it. No photograph now: take it once it is wrapped, or when the laboratory has its "
    "sample.",
    "position is evidence, and a flash destroys the date",
)
COVERED = (
    f"Wrap all of it in {COVER_LAYERS} layers of {COVER} (or an opaque black bag), edges folded twice, no gap; write "
    "NO LIGHT on it.",
    "no light may reach it, not at a check either",
)


def cover(asked: Asked) -> PackingMaterial | None:
    """The opaque material round the wrapped find; None where light does no harm.

    Source: luminescence-lab-ceramics (dark, moist, airtight); foil and its two layers are common practice.
    """
    return packing_material(COVER) if keeps_dark(asked.inputs) else None


def cover_m2(asked: Asked) -> float:
    """Area of the opaque cover, with its overlap [m2]; 0 without one."""
    if not keeps_dark(asked.inputs):
        return 0.0
    length, width, height = asked.block_mm
    face_m2 = 2.0 * (length * width + length * height + width * height) * 1e-6
    return face_m2 * asked.inputs.defaults.wrap_overlap * COVER_LAYERS
