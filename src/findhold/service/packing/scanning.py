"""A scan's file as a measured block, and the block as facts: what scenarios and ledgers need, without a database."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from findhold.errors import BadInput, Mistakes
from findhold.lift.measured.block import Known, MeasuredBlock
from findhold.lift.measured.scan import ScanReading, look_at_file, measure_scan
from findhold.tables.materials import find_material

HEAD_BYTES = 65_536
_PLACES = 2
"""Hundredths of a millimetre are kept: finer than any scan."""


def measured_facts(block: MeasuredBlock) -> dict[str, Any]:
    """What a measurement says of a find, in the register's and the plan's own names, to hundredths of a millimetre."""
    length, width, height = (round(side, _PLACES) for side in block.size_mm)
    lists = ("profile_mm", "plan_outline_mm", "side_outline_mm", "end_outline_mm")
    rows = {name: [[round(x, _PLACES) for x in row] for row in getattr(block, name)] for name in lists}
    cog = None if block.cog_mm is None else [round(x, _PLACES) for x in block.cog_mm]
    return {"length_mm": length, "width_mm": width, "height_mm": height, **rows, "cog_mm": cog}


def read_scan(path: Path) -> bytes:
    """A scan's file, read whole only when its first bytes and its size promise that it can be measured.

    Raises
    ------
    BadInput : no such file, or one that is empty, too large, or no scan.
    """
    try:
        if path.is_dir():
            raise BadInput("this is a folder", where=str(path), do="Name the file of the scan")
        size_bytes = path.stat().st_size
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
            look_at_file(head, size_bytes, path.name)
            return head + file.read()
    except OSError as error:
        do = "Check the path of the scan"
        raise BadInput(f"the scan cannot be read ({error.strerror})", where=str(path), do=do) from error


def scan_of_scenario(find: Mapping[str, Any], path: Path, title: str) -> MeasuredBlock:
    """The block of a scenario's scan: its unit and up from scan_units and scan_up.

    Raises
    ------
    BadInput : the scan cannot be read, or a question about it is open, with the key that answers it.
    """
    known = Known(
        find=title,
        material=None if find.get("material") is None else find_material(find["material"], where=title).name,
        state=find.get("state"),
        soil=find.get("soil"),
        mass_kg=find.get("mass_kg"),
    )
    reading = ScanReading(data=read_scan(path), name=path.name, units=find.get("scan_units"), up=find.get("scan_up"))
    try:
        return measure_scan(reading, known)
    except Mistakes as error:
        if not error.questions:
            raise
        asked = error.questions[0]
        key = {"units": "scan_units", "up": "scan_up"}[asked.about]
        do = f'Write {key} = "{asked.choices[0]}" (or another of these) under [find]'
        raise BadInput(asked.text.rstrip("?"), where="scan", limit=", ".join(asked.choices), do=do) from error
