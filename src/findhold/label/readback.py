"""Codes from pictures: a ladder of kinder and kinder copies of the picture, climbed until something reads."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from findhold.draw.pdf import png_pages
from findhold.errors import BadInput
from findhold.label.payload import Restored, is_speaking, restore
from findhold.record.identity import parse_identity

if TYPE_CHECKING:
    from PIL.Image import Image

LONGEST_SIDE = 3000
"""Pictures are made smaller than this before reading [pixels]; it keeps the ladder under a few seconds."""
KINDEST_SIDE = 1600
PDF_DOTS_PER_MM = 8.0
PDF_PAGES_READ = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Decoded:
    """One code found: a speaking text, a short identity that checks, or another's code; position of its middle [px]."""

    kind: Literal["speaking", "short", "other"]
    text: str
    position: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelRead:
    """One label as read: its find and box as far as its codes say, and the restored record of a speaking code."""

    find_id: str | None
    box_id: str | None
    restored: Restored | None


def read_image(data: bytes) -> tuple[Decoded, ...]:
    """Every code in a photograph, scan or PDF of labels.

    Parameters
    ----------
    data : the file's bytes: PNG, JPEG, TIFF or PDF.

    Returns
    -------
    Codes from top to bottom; empty when nothing reads. Each code once, even when several copies of the picture
    showed it.

    Raises
    ------
    BadInput: the bytes are no picture.
    """
    found: list[Decoded] = []
    for picture in _pictures(data):
        found += climb(picture)
    return tuple(found)


def one_label(decoded: Sequence[Decoded]) -> LabelRead:
    """The one label that a picture shows.

    Parameters
    ----------
    decoded : what `read_image` found.

    Raises
    ------
    BadInput: no code at all, none of ours, or codes of different labels.
    """
    ours = [code for code in decoded if code.kind != "other"]
    if not decoded:
        raise BadInput(
            "no code can be read in the picture",
            do="Wipe the label, light it from the side, fill the picture with it; or type the printed identity",
        )
    if not ours:
        shown = ", ".join(repr(code.text[:40]) for code in decoded[:3])
        raise BadInput(f"the picture holds no label of ours, only {shown}", do="Take the label alone into the picture")
    restored = [restore(code.text) for code in ours if code.kind == "speaking"]
    finds = {r.find_id for r in restored}
    boxes = {r.box_id for r in restored}
    for code in ours:
        if code.kind == "short":
            (boxes if parse_identity(code.text).letter == "B" else finds).add(code.text)
    if len(finds) > 1 or len(boxes) > 1:
        names = ", ".join(sorted(finds | boxes))
        raise BadInput(f"the picture holds codes of different labels: {names}", do="Take one label at a time")
    return LabelRead(
        find_id=next(iter(finds), None), box_id=next(iter(boxes), None), restored=restored[0] if restored else None
    )


def climb(picture: Image) -> tuple[Decoded, ...]:
    """Try kinder and kinder copies of a picture until one shows a code.

    Parameters
    ----------
    picture : any mode; read as greys.
    """
    for copy, scale in _ladder(_greys(picture)):
        found = decode_picture(copy, scale=scale)
        if found:
            return found
    return ()


def decode_picture(picture: Image, *, scale: float = 1.0) -> tuple[Decoded, ...]:
    """Codes in one picture as it is, from top to bottom.

    Parameters
    ----------
    picture : in greys.
    scale : how many of its pixels make one of the picture that positions are wanted in.
    """
    import zxingcpp

    wanted = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.DataMatrix])
    found: dict[tuple[str, int, int], Decoded] = {}
    for binarizer in (zxingcpp.Binarizer.LocalAverage, zxingcpp.Binarizer.GlobalHistogram):
        if found:
            break
        for code in zxingcpp.read_barcodes(picture, formats=wanted, binarizer=binarizer):
            corners = (code.position.top_left, code.position.bottom_right)
            x = sum(corner.x for corner in corners) / 2 / scale
            y = sum(corner.y for corner in corners) / 2 / scale
            found[code.text, round(x / 20), round(y / 20)] = Decoded(
                kind=_kind(code.text), text=code.text, position=(x, y)
            )
    return tuple(sorted(found.values(), key=lambda code: (code.position[1], code.position[0])))


def _kind(text: str) -> Literal["speaking", "short", "other"]:
    if is_speaking(text):
        return "speaking"
    try:
        parse_identity(text)
    except BadInput:
        return "other"
    return "short"


def _pictures(data: bytes) -> Iterator[Image]:
    """The pictures in a file: one, or a PDF's or a TIFF's pages."""
    from PIL import Image, ImageOps, ImageSequence, UnidentifiedImageError

    if data[:5] == b"%PDF-":
        for png in _pdf_pages(data):
            yield Image.open(io.BytesIO(png))
        return
    try:
        with Image.open(io.BytesIO(data)) as opened:
            for frame in ImageSequence.Iterator(opened):
                yield ImageOps.exif_transpose(frame).convert("L")
    except (UnidentifiedImageError, OSError, Image.DecompressionBombError) as error:
        raise BadInput(
            "the file is no picture that can be read", limit="PNG, JPEG, TIFF or PDF", do="Save it as JPEG"
        ) from error


def _pdf_pages(data: bytes) -> list[bytes]:
    """Pages until the file ends."""
    pages: list[bytes] = []
    while len(pages) < PDF_PAGES_READ:
        try:
            pages += png_pages(data, [len(pages) + 1], dots_per_mm=PDF_DOTS_PER_MM)
        except BadInput:
            if not pages:
                raise
            break
    return pages


def _greys(picture: Image) -> Image:
    """In greys, on white where it was see-through, no longer than LONGEST_SIDE."""
    from PIL import Image

    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        seen = picture.convert("RGBA")
        picture = Image.alpha_composite(Image.new("RGBA", seen.size, "white"), seen)
    grey = picture.convert("L")
    longest = max(grey.size)
    if longest > LONGEST_SIDE:
        size = tuple(max(1, round(side * LONGEST_SIDE / longest)) for side in grey.size)
        grey = grey.resize((size[0], size[1]), Image.Resampling.LANCZOS)
    return grey


def _ladder(grey: Image) -> Iterator[tuple[Image, float]]:
    """Copies of a picture, with how many of their pixels make one of its own."""
    from PIL import Image, ImageFilter, ImageOps

    yield grey, 1.0
    yield ImageOps.autocontrast(grey, cutoff=2), 1.0
    scale = min(1.0, KINDEST_SIDE / max(grey.size))
    small = grey.resize((max(1, round(grey.width * scale)), max(1, round(grey.height * scale))), Image.Resampling.BOX)
    large = small.resize((small.width * 2, small.height * 2), Image.Resampling.BICUBIC)
    yield ImageOps.autocontrast(small.filter(ImageFilter.GaussianBlur(1.2)), cutoff=2), scale
    yield ImageOps.autocontrast(large, cutoff=2), scale * 2
    yield large.filter(ImageFilter.UnsharpMask(radius=4, percent=250, threshold=2)), scale * 2
    yield small.filter(ImageFilter.MedianFilter(5)), scale
    yield small.filter(ImageFilter.MinFilter(3)), scale
    yield small.filter(ImageFilter.MaxFilter(3)), scale
    yield ImageOps.equalize(small.filter(ImageFilter.GaussianBlur(2.0))), scale
