"""Spacing: where a line of text breaks, and how labels keep out of each other's way."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from findhold.draw.lettering import text_width_mm
from findhold.errors import BadInput

RISE = 0.76
"""Height of letters above the baseline as a share of the font size (DejaVu Sans: capitals 0.73, ascenders 0.76)."""
FALL = 0.24
"""Depth of descenders below the baseline as a share of the font size (DejaVu Sans)."""
LINE = 1.22
"""Baseline to baseline as a share of the font size."""


def wrapped(text: str, width_mm: float, size_mm: float, *, bold: bool = False) -> tuple[str, ...]:
    """Text broken into lines no wider than a column; a word wider than the column is broken by letters.

    Parameters
    ----------
    text : the text; line breaks in it count as spaces.
    width_mm, size_mm : column width and font size [mm].

    Returns
    -------
    The lines; none for an empty text.
    """
    lines: list[str] = []
    line = ""
    for word in _words(text, width_mm, size_mm, bold):
        longer = f"{line} {word}" if line else word
        if text_width_mm(longer, size_mm, bold=bold) <= width_mm or not line:
            line = longer
        else:
            lines.append(line)
            line = word
    return tuple([*lines, line] if line else lines)


def _words(text: str, width_mm: float, size_mm: float, bold: bool) -> list[str]:
    """The words of a text, the too wide ones cut into pieces."""
    pieces: list[str] = []
    for word in text.split():
        while len(word) > 1 and text_width_mm(word, size_mm, bold=bold) > width_mm:
            cut = len(word) - 1
            while cut > 1 and text_width_mm(word[:cut], size_mm, bold=bold) > width_mm:
                cut -= 1
            pieces.append(word[:cut])
            word = word[cut:]
        pieces.append(word)
    return pieces


def spread(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Centres of intervals that keep their order, do not overlap, stay in bounds and move as little as possible.

    Parameters
    ----------
    wanted : the centre each interval would like, in the order to keep [mm].
    sizes : the length of each interval, its own clear space included [mm].
    low, high : the bounds [mm].

    Returns
    -------
    The centres, in the same order [mm].

    Raises
    ------
    BadInput : the intervals are longer together than the bounds allow.

    Source
    ------
    Least squares under an order constraint by pooling adjacent violators; our own derivation, tested in the limits.
    """
    if not wanted:
        return []
    if sum(sizes) > high - low + 1e-9:
        raise BadInput(
            f"{len(sizes)} labels need {sum(sizes):.0f} mm and there are {high - low:.0f} mm",
            limit="labels do not overlap and do not leave the sheet",
            do="Draw on a larger sheet, or give fewer or shorter names",
        )
    offsets = [0.0]
    for before, after in pairwise(sizes):
        offsets.append(offsets[-1] + (before + after) / 2)
    pools: list[tuple[float, int]] = []
    for want, offset in zip(wanted, offsets, strict=True):
        mean, count = want - offset, 1
        while pools and pools[-1][0] > mean:
            earlier, number = pools.pop()
            mean, count = (earlier * number + mean * count) / (number + count), number + count
        pools.append((mean, count))
    starts = [mean for mean, count in pools for _ in range(count)]
    least, most = low + sizes[0] / 2, high - sizes[-1] / 2 - offsets[-1]
    return [min(max(start, least), most) + offset for start, offset in zip(starts, offsets, strict=True)]
