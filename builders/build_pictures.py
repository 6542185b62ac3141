"""Draw the README's pictures from the demo: the packing sheet of find 37, face and back.

Run from the project's root: .venv/bin/python builders/build_pictures.py
The results are committed; nobody needs to run this unless the sheet changes. Everything shown is invented.
"""

import pathlib
import tempfile

from findhold.draw.pdf import png_pages
from findhold.service.demo import run_demo

PICTURES = pathlib.Path(__file__).resolve().parent.parent / "docs" / "pictures"


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        out = pathlib.Path(folder) / "demo"
        run_demo(out, lambda _line: None)
        pdf = next((out / "pack").glob("*packing-sheets.pdf")).read_bytes()
    PICTURES.mkdir(exist_ok=True)
    for name, page in zip(
        ("packing-sheet-37", "packing-sheet-37-back"), png_pages(pdf, [1, 2], dots_per_mm=4.5), strict=True
    ):
        (PICTURES / f"{name}.png").write_bytes(page)


main()
