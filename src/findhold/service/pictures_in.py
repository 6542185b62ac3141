"""Pictures from a browser: told by their content, made anew by us, turned upright, freed of what they tell unasked."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass

from findhold.errors import BadInput

KINDS = {"JPEG": ".jpg", "PNG": ".png", "WEBP": ".webp", "TIFF": ".tif"}
"""Formats taken, by what the bytes are and not by what the name says."""
LONGEST_PX = 6000
MOST_PIXELS = 80_000_000
"""A picture that unpacks to more is not opened (judgement: twice a large camera's)."""
QUALITY = 90


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureIn:
    """A picture as it is kept: made anew, upright; `position_kept` says whether where it was taken is still in it."""

    data: bytes
    ending: str
    width_px: int
    height_px: int
    position_kept: bool


def take_picture(data: bytes, *, keep_details: bool = False) -> PictureIn:
    """Check a picture by its content and make it anew.

    Parameters
    ----------
    data : the file as it came.
    keep_details : True keeps camera, time and position (EXIF), for example for a record photograph with a known place.

    Raises
    ------
    BadInput : it is no picture of a kind taken here, it is damaged, or it is too large.
    """
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            opened = Image.open(io.BytesIO(data), formats=list(KINDS))
            if opened.width * opened.height > MOST_PIXELS:
                raise _too_large(opened.width, opened.height)
            details = opened.getexif()
            position = bool(details.get_ifd(0x8825))
            upright = ImageOps.exif_transpose(opened)
            upright.load()
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_large(None, None) from error
    except (OSError, ValueError, SyntaxError) as error:
        raise BadInput(
            "this is no picture that can be read",
            where="picture",
            limit="JPEG, PNG, WebP or TIFF",
            do="Take the photograph again, or save it as JPEG",
        ) from error
    upright.thumbnail((LONGEST_PX, LONGEST_PX))
    out = io.BytesIO()
    kept = upright.getexif() if keep_details else None
    if opened.format == "PNG":
        upright.save(out, "PNG", **({"exif": kept} if kept else {}))
        ending = ".png"
    else:
        upright.convert("RGB").save(out, "JPEG", quality=QUALITY, **({"exif": kept} if kept else {}))
        ending = ".jpg"
    return PictureIn(
        data=out.getvalue(),
        ending=ending,
        width_px=upright.width,
        height_px=upright.height,
        position_kept=bool(keep_details and position),
    )


def _too_large(width_px: int | None, height_px: int | None) -> BadInput:
    size = "" if width_px is None else f" ({width_px} x {height_px})"
    return BadInput(
        f"the picture has too many pixels{size}",
        where="picture",
        limit=f"{MOST_PIXELS // 1_000_000} million pixels",
        do="Take it at a lower resolution",
    )
