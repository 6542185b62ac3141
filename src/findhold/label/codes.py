"""The two codes: texts to modules. Each symbol's encoder is never the decoder that reads it back."""

from __future__ import annotations

from functools import lru_cache

from findhold.draw.marks import Mark, Matrix, Path, Point
from findhold.errors import BadInput

Modules = tuple[tuple[bool, ...], ...]
MASK = 2
"""One mask for all, instead of the eight tried and scored: any decoder reads it from the symbol, four times as fast."""
QR_QUIET = 4
DM_QUIET = 1
"""Quiet zones in modules: [iso-18004] and [iso-16022]."""


@lru_cache(maxsize=4096)
def speaking_modules(text: str) -> Modules:
    """A QR code of level Q, which bears about a quarter of its codewords lost.

    Raises
    ------
    BadInput: the text is too long for any QR code of that level.

    Source
    ------
    [iso-18004] for the symbol.
    """
    import segno

    # Plain letters need no marker of their encoding; telephones take other text for UTF-8 when it is marked so.
    encoding = None if text.isascii() else "utf-8"
    try:
        code = segno.make_qr(text, error="q", boost_error=False, mask=MASK, encoding=encoding, mode="byte")
    except segno.DataOverflowError as error:
        raise BadInput(
            f"the label's text has {len(text.encode())} bytes and fits no code",
            limit="1663 bytes",
            do="Shorten what the find is called",
        ) from error
    return tuple(tuple(module == 1 for module in row) for row in code.matrix)


@lru_cache(maxsize=4096)
def short_modules(text: str) -> Modules:
    """A square Data Matrix.

    Source
    ------
    [iso-16022] for the symbol.
    """
    from ppf.datamatrix import DataMatrix

    return tuple(tuple(module == 1 for module in row) for row in DataMatrix(text).matrix)


def code_side_mm(modules: Modules, quiet: int, module_mm: float) -> float:
    """Side of a code with its quiet zone [mm]."""
    return (len(modules) + 2 * quiet) * module_mm


def code_marks(modules: Modules, quiet: int, module_mm: float, at: Point) -> tuple[Mark, ...]:
    """A code on its own white ground, quiet zone included.

    Parameters
    ----------
    at : top left corner of the quiet zone [mm].
    """
    x, y = at
    side = code_side_mm(modules, quiet, module_mm)
    ground = Path(
        points=((x, y), (x + side, y), (x + side, y + side), (x, y + side)), closed=True, pen=None, fill="#ffffff"
    )
    return ground, Matrix(at=(x + quiet * module_mm, y + quiet * module_mm), modules=modules, module_mm=module_mm)
