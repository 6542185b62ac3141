"""The address as a code to scan, for a page and for a terminal."""

from __future__ import annotations

import io

from findhold.draw.marks import Drawing, Matrix
from findhold.draw.svg import to_svg


def address_svg(address: str) -> str:
    """An address as a QR code, 40 mm wide."""
    import segno

    code = segno.make_qr(address, error="m")
    rows = tuple(tuple(bool(cell) for cell in row) for row in code.matrix_iter(border=4))
    module = 40.0 / len(rows)
    drawn = Drawing(
        width_mm=40.0,
        height_mm=40.0,
        marks=(Matrix(at=(0.0, 0.0), modules=rows, module_mm=module),),
        title=f"Code to scan: {address}",
        description="",
    )
    return to_svg(drawn, paper=True)


def address_blocks(address: str) -> str:
    """An address as a QR code of half blocks, for a terminal."""
    import segno

    out = io.StringIO()
    segno.make_qr(address, error="m").terminal(out=out, compact=True)
    return out.getvalue()
