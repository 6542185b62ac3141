"""QR codes of level Q in bytes, quickly: the encoder library draws each size's frame once, arrays fill it in.

The library takes some milliseconds a code, most of them for placing one module after another. Here its frame
(finders, timing, format and version) is kept for each size, and data, correction and mask go in as whole arrays. The
tests compare the result with the library's own, module by module.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Bits = NDArray[np.uint8]
MASK = 2
"""One fixed mask (every third column): any mask is valid, and choosing the prettiest takes most of the time."""
LARGEST = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One size: its modules with all fixed ones set, where the data go in order, and how they are blocked."""

    modules: Bits
    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    blocks: tuple[int, ...]
    """Data codewords of each block."""
    corrections: int
    """Correction codewords of each block."""

    @property
    def codewords(self) -> int:
        """Data codewords in all blocks."""
        return sum(self.blocks)


def qr_matrix(text: bytes) -> Bits | None:
    """A QR code of level Q in byte mode, in the smallest size that holds the bytes.

    Parameters
    ----------
    text : the bytes.

    Returns
    -------
    Array (n, n) of 1 for dark and 0 for light, without quiet zone; None when no size holds them.

    Source
    ------
    [iso-18004]; frames and block sizes come from the encoder library.
    """
    for version in range(1, LARGEST + 1):
        count_bits = 8 if version < 10 else 16
        if 4 + count_bits + 8 * len(text) <= 8 * capacity(version):
            break
    else:
        return None
    frame = frame_of(version)
    words = _data_words(text, count_bits, frame.codewords)
    bits = np.unpackbits(_interleaved(words, frame))
    bits = np.concatenate([bits, np.zeros(len(frame.rows) - len(bits), np.uint8)])
    filled = frame.modules.copy()
    filled[frame.rows, frame.columns] = bits ^ (frame.columns % 3 == 0)
    return filled


@cache
def capacity(version: int) -> int:
    """Data codewords of a version at level Q."""
    return sum(blocks * data for blocks, _, data in _groups(version))


def _groups(version: int) -> list[tuple[int, int, int]]:
    """Groups of like blocks at level Q: how many, codewords of each in all, data codewords of each."""
    from segno import consts

    ecc: Any = consts.ECC
    return [(g.num_blocks, g.num_total, g.num_data) for g in ecc[version][consts.ERROR_LEVEL_Q]]


@cache
def frame_of(version: int) -> Frame:
    """The frame of a version, read off a code that the library drew."""
    import segno
    from segno import consts

    drawn = segno.make_qr("x", error="q", boost_error=False, mask=MASK, version=version)
    kinds = np.array([list(row) for row in drawn.matrix_iter(border=0, verbose=True)])
    free = (kinds != consts.TYPE_ALIGNMENT_PATTERN_DARK) & (kinds != consts.TYPE_ALIGNMENT_PATTERN_LIGHT)
    # finders with their light borders and the format strips; the timing lines; version blocks from version 7
    free[:9, :9] = free[:9, -8:] = free[-8:, :9] = False
    free[6, :] = free[:, 6] = False
    if version >= 7:
        free[:6, -11:-8] = free[-11:-8, :6] = False
    order = [(row, column) for row, column in _zigzag(len(free)) if free[row, column]]
    groups = _groups(version)
    return Frame(
        modules=np.where(free, 0, np.array([list(row) for row in drawn.matrix])).astype(np.uint8),
        rows=np.array([row for row, _ in order]),
        columns=np.array([column for _, column in order]),
        blocks=tuple(data for blocks, _, data in groups for _ in range(blocks)),
        corrections=groups[0][1] - groups[0][2],
    )


def _zigzag(side: int) -> list[tuple[int, int]]:
    """Places in the order of filling: pairs of columns from the right, upwards and downwards in turn."""
    places = []
    upwards = True
    right = side - 1
    while right > 0:
        right -= right == 6  # the upright timing line has a column to itself
        for row in range(side - 1, -1, -1) if upwards else range(side):
            places += [(row, right), (row, right - 1)]
        upwards = not upwards
        right -= 2
    return places


def _data_words(text: bytes, count_bits: int, codewords: int) -> Bits:
    """Mode, count, bytes, end mark and padding as codewords."""
    bits = [0, 1, 0, 0, *(len(text) >> i & 1 for i in range(count_bits - 1, -1, -1))]
    stream = np.concatenate([np.array(bits, np.uint8), np.unpackbits(np.frombuffer(text, np.uint8))])
    room = 8 * codewords - len(stream)
    words = np.packbits(np.concatenate([stream, np.zeros(min(4, room), np.uint8)]))
    pads = np.resize(np.array([0xEC, 0x11], np.uint8), codewords - len(words))
    return np.concatenate([words, pads])


def _interleaved(words: Bits, frame: Frame) -> Bits:
    """Codewords of all blocks taken in turn, then their corrections taken in turn."""
    longest = max(frame.blocks)
    data = np.zeros((len(frame.blocks), longest), np.uint8)
    there = np.zeros(data.shape, bool)
    start = 0
    for number, length in enumerate(frame.blocks):
        # short blocks stand right-aligned while correcting: noughts in front change nothing
        data[number, longest - length :] = words[start : start + length]
        there[number, :length] = True
        start += length
    corrections = _corrected(data, frame.corrections)
    for number, length in enumerate(frame.blocks):
        data[number] = np.roll(data[number], length - longest)
    return np.concatenate([data.T[there.T], corrections.T.ravel()])


def _corrected(data: Bits, count: int) -> Bits:
    """Reed-Solomon corrections of several blocks at once: the remainder of division by the generator."""
    exponent, logarithm = _field()
    generator = _generator(count)
    rest = np.zeros((len(data), count + 1), np.uint8)
    for column in range(data.shape[1]):
        rest[:, 0] ^= data[:, column]
        lead = rest[:, 0].copy()
        rest[:, :-1] = rest[:, 1:]
        product = exponent[logarithm[lead][:, None] + generator[None, :]]
        rest[:, :-1] ^= np.where(lead[:, None] == 0, 0, product).astype(np.uint8)
    return rest[:, :-1]


@cache
def _field() -> tuple[Bits, NDArray[np.int64]]:
    """Powers and logarithms in the field of 256 elements with x^8 + x^4 + x^3 + x^2 + 1."""
    exponent: Bits = np.zeros(512, np.uint8)
    logarithm: NDArray[np.int64] = np.zeros(256, np.int64)
    value = 1
    for power in range(255):
        exponent[power] = exponent[power + 255] = value
        logarithm[value] = power
        value = (value << 1) ^ (0x11D if value & 0x80 else 0)
    return exponent, logarithm


@cache
def _generator(count: int) -> NDArray[np.int64]:
    """Logarithms of the generator's coefficients, the leading one left out."""
    exponent, logarithm = _field()
    product = [1]
    for power in range(count):
        times = [0 if c == 0 else int(exponent[int(logarithm[c]) + power]) for c in product]
        product = [a ^ b for a, b in zip([*product, 0], [0, *times], strict=True)]
    return np.array([logarithm[c] for c in product[1:]])
