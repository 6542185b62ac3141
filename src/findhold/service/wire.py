"""Results as plain data, the same for every door: dataclasses to dicts, instants and dates to ISO text."""

from __future__ import annotations

import dataclasses
from datetime import date, datetime
from pathlib import Path
from typing import Any


def plain(value: Any) -> Any:
    """A result as plain JSON data.

    Numbers become Python floats and ints, instants ISO text with their offset, tuples lists; a missing number (None)
    stays null and is never turned into zero.
    """
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        return float(value)
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Path):
        return str(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {item.name: plain(getattr(value, item.name)) for item in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(item) for item in value]
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    raise TypeError(f"{type(value).__name__} has no plain form")
