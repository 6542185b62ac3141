"""Words about X-rays in the order that a planned luminescence date wants: its sample is taken before any X-ray."""

from __future__ import annotations

_INSTEAD = (
    ("X-ray it in its block first", "Take the luminescence sample first, in the dark; then X-ray it in its block"),
    ("X-ray the block before deciding", "Take the luminescence sample, then X-ray the block, before deciding"),
    ("X-ray first", "luminescence sample first, then X-ray"),
    ("; X-ray", "; luminescence sample first, then X-ray"),
    (": X-ray, then", ": luminescence sample, then X-ray, then"),
    (", X-ray and conservator", ", luminescence sample, then X-ray, and conservator"),
    ("about X-ray and drying", "about the luminescence sample, the X-ray after it, and drying"),
)
"""Words of the tables that put an X-ray first, and what they say where a luminescence sample comes before it."""


def in_order(words: str, *, dated_by_light: bool) -> str:
    """The words as they are; where a luminescence date is planned, with its sample before the X-ray.

    Parameters
    ----------
    words : a sentence of a table. dated_by_light : whether a luminescence date is planned for the find.

    Source: contact rule CT or X-ray with luminescence (memory): X-rays add dose.
    """
    if not dated_by_light:
        return words
    for usual, instead in _INSTEAD:
        if usual in words:
            return words.replace(usual, instead)
    return words
