"""Lettering: how wide a line of text is in the shipped fonts, and which letters they do not hold.

Widths are sums of the fonts' own advance widths without kerning, so that layout never needs a font engine.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib import resources

from findhold.draw.marks import Text

FAMILY = "DejaVu Sans"
CAP_HEIGHT = 0.729
"""Height of a capital letter as a share of the em (DejaVu Sans, OS/2 table)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """One font file's advance widths, as shares of the em, by code point."""

    advance_em: dict[int, float]


def text_width_mm(text: str, size_mm: float, *, bold: bool = False, condensed: bool = False) -> float:
    """Width of one line of text on the paper.

    Not for letters missing in the font (see missing_letters): they count as one em.

    Parameters
    ----------
    text : the line.
    size_mm : the em [mm].
    bold, condensed : which of the four faces.

    Returns
    -------
    The sum of the advance widths [mm]; kerning, which mostly narrows, is left out.

    Source
    ------
    The horizontal metrics in the font files themselves.
    """
    widths = face(bold=bold, condensed=condensed).advance_em
    return size_mm * sum(widths.get(ord(letter), 1.0) for letter in text)


def missing_letters(text: str, *, bold: bool = False, condensed: bool = False) -> str:
    """Letters of the text that the face cannot draw, each once, in order; empty when all can be drawn."""
    widths = face(bold=bold, condensed=condensed).advance_em
    return "".join(dict.fromkeys(letter for letter in text if ord(letter) not in widths))


def missing_in(texts: Iterable[Text]) -> str:
    """Letters of any of the text marks that their faces cannot draw."""
    lacking = "".join(missing_letters(t.text, bold=t.bold, condensed=t.condensed) for t in texts)
    return "".join(dict.fromkeys(lacking))


@cache
def face(*, bold: bool, condensed: bool) -> Face:
    """Read one of the four shipped faces."""
    name = f"DejaVuSans{'Condensed' if condensed else ''}{'-Bold' if bold else ''}.ttf"
    data = resources.files("findhold.draw").joinpath("fonts", name).read_bytes()
    tables = _table_offsets(data)
    (units_per_em,) = struct.unpack_from(">H", data, tables["head"] + 18)
    (metric_count,) = struct.unpack_from(">H", data, tables["hhea"] + 34)
    glyphs = _glyph_by_code_point(data, tables["cmap"])
    advances = struct.unpack_from(f">{'Hh' * metric_count}", data, tables["hmtx"])[::2]
    return Face(
        advance_em={code: advances[min(glyph, metric_count - 1)] / units_per_em for code, glyph in glyphs.items()}
    )


def _table_offsets(data: bytes) -> dict[str, int]:
    """Where each table of an OpenType file starts."""
    (count,) = struct.unpack_from(">H", data, 4)
    offsets = {}
    for entry in range(count):
        tag, _, offset, _ = struct.unpack_from(">4sLLL", data, 12 + 16 * entry)
        offsets[tag.decode("ascii")] = offset
    return offsets


def _glyph_by_code_point(data: bytes, start: int) -> dict[int, int]:
    """The character map in its long form (format 12), which covers all planes."""
    (count,) = struct.unpack_from(">H", data, start + 2)
    for entry in range(count):
        (offset,) = struct.unpack_from(">L", data, start + 8 + 8 * entry)
        (form,) = struct.unpack_from(">H", data, start + offset)
        if form == 12:
            return _read_groups(data, start + offset)
    raise ValueError("font file without a character map of format 12")


def _read_groups(data: bytes, start: int) -> dict[int, int]:
    (count,) = struct.unpack_from(">L", data, start + 12)
    glyphs: dict[int, int] = {}
    for group in range(count):
        first, last, glyph = struct.unpack_from(">LLL", data, start + 16 + 12 * group)
        glyphs.update(zip(range(first, last + 1), range(glyph, glyph + last - first + 1), strict=True))
    return glyphs
