"""The keys of a crates file: what each takes, and the check that says what is wrong with a value."""

from __future__ import annotations

import math
from typing import Any

from findhold.service.scenario_keys import Check, Key


def _figure(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _number(low: float, high: float, *, above: bool = False) -> Check:
    def check(value: Any) -> str | None:
        if not _figure(value):
            return "is not a number"
        return "is out of range" if value < low or value > high or (above and value == low) else None

    return check


def _text(value: Any) -> str | None:
    return None if isinstance(value, str) and value.strip() else "is not text"


def _sizes(value: Any) -> str | None:
    if not isinstance(value, list) or len(value) != 3:
        return "is not three numbers"
    good = all(_figure(side) and 0 < side <= 5000 for side in value)
    return None if good else "has a size that is missing, zero, negative or too large"


def _yes_no(value: Any) -> str | None:
    return None if isinstance(value, bool) else "is neither true nor false"


def _state(value: Any) -> str | None:
    return None if value in ("dry", "damp", "waterlogged") else "is not a state"


def _texts(value: Any) -> str | None:
    good = isinstance(value, list) and value and all(isinstance(item, str) and item.strip() for item in value)
    return None if good else "is not a list of names"


def _whole(low: int, high: int) -> Check:
    def check(value: Any) -> str | None:
        if not isinstance(value, int) or isinstance(value, bool):
            return "is not a whole number"
        return None if low <= value <= high else "is out of range"

    return check


def _mass(*, zero: bool = False) -> Key:
    words = "0 or more" if zero else "above 0"
    return Key(takes=f"kg, {words} and up to 2000", check=_number(0, 2000, above=not zero))


def _must(key: Key) -> Key:
    return Key(takes=key.takes, check=key.check, required=True)


NAME = Key(takes="a name in quotation marks", check=_text)
SIZES = Key(takes="three sizes [length, width, height] in mm, each above 0 and up to 5000", check=_sizes)
YES = Key(takes="true or false", check=_yes_no)
STATE = Key(takes='"dry", "damp" or "waterlogged"', check=_state)
NAMES = Key(takes="a list of names in quotation marks", check=_texts)
COUNT = Key(takes="a whole number, 0 to 100000", check=_whole(0, 100_000))
MM = Key(takes="mm, 0 to 10000", check=_number(0, 10_000))
SHARE = Key(takes="a number above 0 and up to 100", check=_number(0, 100, above=True))
DAYS = Key(takes="days, 0 to 180", check=_number(0, 180))
RH = Key(takes="a fraction from 0 to 1", check=_number(0, 1))

ROOT: dict[str, Key] = {
    "title": NAME,
    "persons": Key(takes="a whole number, 1 to 10", check=_whole(1, 10)),
    "seed": COUNT,
    "aim": Key(
        takes='"lowest centre of mass" or "least height"',
        check=lambda v: None if v in ("lowest centre of mass", "least height") else "is not an aim",
    ),
    "items_file": NAME,
    "crates_file": NAME,
}
ITEM: dict[str, Key] = {
    "number": _must(NAME),
    "what": NAME,
    "size_mm": _must(SIZES),
    "mass_kg": _must(_mass()),
    "state": STATE,
    "material": NAME,
    "context": NAME,
    "human_remains": YES,
    "lidded": YES,
    "max_on_top_kg": _mass(zero=True),
    "upright": YES,
    "analyses": NAMES,
    "wrapping": NAME,
    "board_ect_n_per_m": Key(takes="N/m, above 0 and up to 100000", check=_number(0, 100_000, above=True)),
    "board_thickness_mm": Key(takes="mm, above 0 and up to 30", check=_number(0, 30, above=True)),
    "board_days": DAYS,
    "board_rh": RH,
}
CRATE: dict[str, Key] = {
    "name": _must(NAME),
    "inside_mm": _must(SIZES),
    "outside_mm": SIZES,
    "tare_kg": _must(_mass(zero=True)),
    "max_load_kg": _mass(),
    "count": COUNT,
}
SHELF: dict[str, Key] = {
    "name": _must(NAME),
    "width_mm": _must(Key(takes="mm, above 0 and up to 10000", check=_number(0, 10_000, above=True))),
    "depth_mm": _must(Key(takes="mm, above 0 and up to 10000", check=_number(0, 10_000, above=True))),
    "clear_height_mm": _must(Key(takes="mm, above 0 and up to 10000", check=_number(0, 10_000, above=True))),
    "above_floor_mm": _must(MM),
    "rated_kg": _must(_mass()),
    "carries_kg": _mass(zero=True),
}
SHARED: dict[str, Key] = {
    "name": _must(NAME),
    "finds": _must(NAMES),
    "inside_mm": _must(SIZES),
    "outside_mm": _must(SIZES),
    "tare_kg": _must(_mass(zero=True)),
    "max_load_kg": _mass(),
    "lidded": YES,
    "divider": NAME,
    "divider_mm": MM,
    "clear_mm": MM,
}
LIMITS: dict[str, Key] = {
    "crate_gross_kg": _mass(),
    "person_kg": _mass(),
    "team_share": Key(takes="a number above 0 and up to 1", check=_number(0, 1, above=True)),
    "heavy_kg": _mass(),
    "heavier_ratio": SHARE,
    "bears_share": Key(takes="a number from 0 to 100", check=_number(0, 100)),
    "divider_mm": MM,
    "divider_clear_mm": MM,
    "divider_top_mm": MM,
    "shelf_floor_mm": MM,
    "shelf_clear_mm": MM,
}
LISTS: dict[str, dict[str, Key]] = {"items": ITEM, "crates": CRATE, "shelves": SHELF, "shared_boxes": SHARED}
SECTIONS: dict[str, dict[str, Key]] = {"limits": LIMITS}
"""What stands in a list of [[...]] and what in one [section]."""
COLUMNS: dict[str, tuple[str, ...]] = {
    "items": ("size_l_mm", "size_w_mm", "size_h_mm"),
    "crates": ("inside_l_mm", "inside_w_mm", "inside_h_mm"),
}
"""In a CSV file the three sizes have a column each."""
