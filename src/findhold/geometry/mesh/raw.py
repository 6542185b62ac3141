"""What a scan's file holds before anything is made of it, and the limits and errors that its readers share."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """How much is read: bytes of a file, triangles of a mesh, and how many to thin a larger one to."""

    bytes_most: int
    triangles_most: int
    decimate_to: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RawMesh:
    """What a file holds, before anything is made of it.

    corners : shape (n, 3) [file unit]. triangles : shape (m, 3), rows of corners. unit, up : what the kind of file
    fixes by its standard, None where it fixes nothing. notes : what was left aside, in words.
    """

    kind: str
    corners: FloatArray
    triangles: IntArray
    unit: str | None = None
    up: str | None = None
    notes: tuple[str, ...] = ()


def check_count(triangles: int, name: str, limits: Limits) -> None:
    """Raise BadInput for a mesh of no triangles or of more than are read."""
    if triangles == 0:
        do = "Make a mesh of it (triangles, not points only) and export that"
        raise BadInput("there is not one triangle in it", where=name, do=do)
    if triangles > limits.triangles_most:
        raise BadInput(
            f"the mesh has {triangles:,} triangles".replace(",", " "),
            where=name,
            limit=f"up to {limits.triangles_most:,}".replace(",", " "),
            do=thin_it(limits),
        )


def fan(sizes: IntArray, corners: IntArray) -> IntArray:
    """Polygons cut into triangles from their first corner.

    Parameters
    ----------
    sizes : shape (n,), corners of each polygon. corners : shape (sum of sizes,), one polygon after the other.

    Returns
    -------
    shape (m, 3); polygons of fewer than three corners give none.
    """
    if len(sizes) and (sizes == 3).all():
        return corners.reshape(-1, 3)
    many = np.maximum(sizes - 2, 0)
    first = np.repeat(np.cumsum(sizes) - sizes, many)
    step = np.arange(int(many.sum())) - np.repeat(np.cumsum(many) - many, many)
    return np.column_stack([corners[first], corners[first + step + 1], corners[first + step + 2]])


def numbers_of(text: bytes, name: str) -> FloatArray:
    """All numbers of a text that holds nothing else.

    Raises
    ------
    BadInput : something in it is no number.
    """
    return np.asarray(_parsed(text, np.dtype(np.float64), name))


def whole_numbers_of(text: bytes, name: str) -> IntArray:
    """All whole numbers of a text that holds nothing else; several times faster than reading decimals."""
    return np.asarray(_parsed(text, np.dtype(np.int64), name))


def _parsed(text: bytes, kind: np.dtype[Any], name: str) -> npt.NDArray[Any]:
    with warnings.catch_warnings():
        warnings.simplefilter("error", DeprecationWarning)
        try:
            return np.fromstring(text, dtype=kind, sep=" ")
        except (DeprecationWarning, ValueError) as error:
            raise broken(name, "there is text where numbers must stand") from error


def broken(name: str, why: str) -> BadInput:
    """The error of a file that is not whole or not as its kind must be."""
    return BadInput(why, where=name, do="Export the scan again, or copy the file again: this one is broken")


def thin_it(limits: Limits) -> str:
    """What to do about a scan that is too large."""
    many = f"{limits.decimate_to:,}".replace(",", " ")
    return f"Decimate it to {many} triangles in the program that made it: sizes change by hundredths of a millimetre"
