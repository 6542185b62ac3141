"""The keys a scenario file may hold: what each takes, and the check that says what is wrong with a value."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

Check = Callable[[Any], str | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key: what it takes (for the error), and the check that says what is wrong with a value."""

    takes: str
    check: Check
    required: bool = False


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _number(low: float, high: float, *, open_low: bool = False) -> Check:
    def check(value: Any) -> str | None:
        if not _is_number(value):
            return "is not a number"
        if value < low or value > high or (open_low and value == low):
            return "is out of range"
        return None

    return check


def _positive(high: float, unit: str) -> Key:
    return Key(takes=f"a number above 0 and up to {high:g} {unit}", check=_number(0, high, open_low=True))


def _text(value: Any) -> str | None:
    return None if isinstance(value, str) and value.strip() else "is not text"


def _state(value: Any) -> str | None:
    return None if value in ("dry", "damp", "waterlogged") else "is not a state"


def _instants(value: Any) -> str | None:
    if not isinstance(value, list):
        return "is not a list of times"
    return next((wrong for item in value if (wrong := _instant(item))), None)


def _texts(value: Any) -> str | None:
    good = isinstance(value, list) and all(isinstance(item, str) and item.strip() for item in value)
    return None if good else "is not a list of texts"


def _pairs(value: Any) -> str | None:
    wrong = _texts(value)
    if wrong is not None:
        return wrong
    good = all(len([part for part in item.split(" before ") if part.strip()]) == 2 for item in value)
    return None if good else 'has an entry that does not read "one before another"'


def _sizes(value: Any) -> str | None:
    if not isinstance(value, list) or len(value) != 3:
        return "is not three numbers"
    if not all(_is_number(item) and 0 < item <= 5000 for item in value):
        return "has a size that is missing, zero, negative or too large"
    return None


def _profile(value: Any) -> str | None:
    if not isinstance(value, list) or not value:
        return "is not a list of [height, length, width]"
    if not all(isinstance(row, list) and len(row) == 3 and all(_is_number(item) for item in row) for row in value):
        return "has a row that is not three numbers"
    if not all(0 <= row[0] <= 5000 and 0 < row[1] <= 5000 and 0 < row[2] <= 5000 for row in value):
        return "has a size that is zero, negative or too large"
    return None


def _humidity(value: Any) -> str | None:
    if _is_number(value) and 1 < value <= 100:
        return f"looks like per cent; did you mean {value / 100:g}?"
    return _number(0, 1)(value)


def _instant(value: Any) -> str | None:
    if isinstance(value, str):
        try:
            value = datetime.fromisoformat(value)
        except ValueError:
            return "is not a date and time"
    if not isinstance(value, datetime):
        return "is a date without a time"
    return None if value.utcoffset() is not None else "has no zone: which zone is the site in?"


_SIZES = Key(takes="three sizes [length, width, height] in mm, each above 0 and up to 5000", check=_sizes)
_INSTANT = Key(takes="date, time and offset, for example 2026-07-29T16:30:00+01:00", check=_instant)
_NAME = Key(takes="a name in quotation marks", check=_text)
_SHEETS = Key(takes="a whole number of sheets, 0 to 1000", check=_number(0, 1000))


def _day(value: Any) -> str | None:
    if isinstance(value, str):
        try:
            value = date.fromisoformat(value)
        except ValueError:
            return "is not a date"
    return None if isinstance(value, date) and not isinstance(value, datetime) else "is not a date"


def _positives(many: int | None, high: float) -> Check:
    def check(value: Any) -> str | None:
        if not isinstance(value, list) or not value or (many is not None and len(value) != many):
            return "is not a list of numbers" if many is None else f"is not {many} numbers"
        good = all(_is_number(item) and 0 < item <= high for item in value)
        return None if good else "has a figure that is missing, zero, negative or too large"

    return check


def _whether(value: Any) -> str | None:
    return None if isinstance(value, bool) else "is neither true nor false"


def _one_of(*words: str) -> Key:
    known = ", ".join(f'"{word}"' for word in words)
    return Key(takes=known, check=lambda value: None if value in words else "is none of the words known")


_LEG_TAKES = (
    'legs [{name = "...", load = "block" or "box", from_mm = 0, to_mm = 750}, ...], each also with reach_mm, '
    "twist_deg, carry_m, door_mm, footing, trench, careful"
)


def _legs(value: Any) -> str | None:
    if not isinstance(value, list) or not value or not all(isinstance(leg, dict) for leg in value):
        return "is not a list of legs"
    for leg in value:
        for key in ("name", "load", "from_mm", "to_mm"):
            if key not in leg:
                return f"has a leg without {key}"
        for key, item in leg.items():
            if key not in LEG_KEYS:
                return f"has a leg with an unknown key {key}"
            if wrong := LEG_KEYS[key].check(item):
                return f"has a leg whose {key} {wrong}"
    return None


def _must(key: Key) -> Key:
    return Key(takes=key.takes, check=key.check, required=True)


def _count(low: int, high: int) -> Check:
    def check(value: Any) -> str | None:
        whole = isinstance(value, int) and not isinstance(value, bool)
        return None if whole and low <= value <= high else "is not a whole number in range"

    return check


_HEIGHT = Key(takes="a height in mm, 0 to 3000", check=_number(0, 3000))
LEG_KEYS: dict[str, Key] = {
    "name": _NAME,
    "load": _one_of("block", "box"),
    "from_mm": _HEIGHT,
    "to_mm": _HEIGHT,
    "reach_mm": _positive(2000, "mm"),
    "twist_deg": Key(takes="degrees, 0 to 180", check=_number(0, 180)),
    "carry_m": Key(takes="metres, 0 to 10000", check=_number(0, 10000)),
    "door_mm": _positive(10000, "mm"),
    "footing": _one_of("firm", "slippery", "steps"),
    "trench": Key(takes="true or false", check=_whether),
    "careful": Key(takes="true or false", check=_whether),
}
SECTIONS: dict[str, dict[str, Key]] = {
    "find": {
        "material": _must(_NAME),
        "state": _must(Key(takes='"dry", "damp" or "waterlogged"', check=_state)),
        "block_mm": _must(_SIZES),
        "scan": _NAME,
        "scan_units": _one_of("mm", "cm", "m", "in"),
        "scan_up": _one_of("z", "y", "x", "-z", "-y", "-x"),
        "mass_kg": _positive(2000, "kg"),
        "soil": _NAME,
        "water_content": Key(takes="kg of water per kg of dry soil, 0 to 10", check=_number(0, 10)),
        "analyses": Key(takes="a list of names in quotation marks", check=_texts),
        "parts": Key(takes="a list of names in quotation marks", check=_texts),
        "done": Key(takes="a list of acts in quotation marks", check=_texts),
        "order": Key(takes='a list such as ["imaging before lipid"]', check=_pairs),
        "exposed_at": _INSTANT,
        "ring_foot_mm": Key(takes="[middle diameter, width] in mm", check=_positives(2, 2000)),
        "profile_mm": Key(takes="rows [height, length, width] in mm, from the base up", check=_profile),
    },
    "box": {
        "inside_mm": _SIZES,
        "wall_mm": _positive(50, "mm"),
        "wall": _NAME,
        "lid_air_changes_per_day": Key(takes="air changes a day, 0 to 1000", check=_number(0, 1000)),
        "stock": _NAME,
        "closure": _NAME,
    },
    "wrapping": {
        "sheets": _SHEETS,
        "sheet_dry_g": _positive(500, "g"),
        "water_g_per_g": Key(takes="g of water per g of dry sheet, 0 to 20", check=_number(0, 20)),
        "material": _NAME,
        "barrier": _NAME,
        "lid_water_g": Key(takes="g of water, 0 to 100000", check=_number(0, 100_000)),
    },
    "surroundings": {
        "temp_c": Key(takes="degrees Celsius, -30 to 50", check=_number(-30, 50)),
        "rh": Key(takes="a fraction from 0 to 1", check=_humidity),
        "logger": _NAME,
        "zone": _NAME,
        "lid_colder_k": Key(takes="kelvin, 0 to 20", check=_number(0, 20)),
        "swing_k": Key(takes="kelvin, 0 to 20", check=_number(0, 20)),
        "cycles_per_day": Key(takes="a number from 0 to 500", check=_number(0, 500)),
        "barometric_pa_per_day": Key(takes="pascal a day, 0 to 10000", check=_number(0, 10000)),
    },
    "hold": {
        "packed_at": _INSTANT,
        "open_at": _INSTANT,
        "openings": Key(takes="a list of dates with time and offset", check=_instants),
        "find_temp_c": Key(takes="degrees Celsius, -30 to 50", check=_number(-30, 50)),
    },
    "stock": {"file": _must(_NAME)},
    "cushion": {
        "fragility_g": _must(
            Key(takes="G above 1 and up to 1000: lying still is 1 G already", check=_number(1, 1000, open_low=True))
        ),
        "declared_by": _must(_NAME),
        "declared_on": _must(Key(takes="the day it was declared, for example 2026-07-27", check=_day)),
        "drop_height_m": _positive(5, "m"),
        "route": Key(takes="a list of kinds of handling in quotation marks", check=_texts),
        "foam": _NAME,
        "foam_thickness_mm": Key(takes="a list of sheet thicknesses in mm, up to 500", check=_positives(None, 500)),
        "curve": _NAME,
        "clay_strength_kpa": _positive(1000, "kPa"),
        "board_mm": _positive(60, "mm"),
        "sink_mm": _positive(200, "mm"),
    },
    "deadlines": {},
    "dates": {},
    "lift": {
        "origin_height_mm": _HEIGHT,
        "destination_height_mm": _HEIGHT,
        "ground_height_mm": _HEIGHT,
        "reach_mm": _positive(2000, "mm"),
        "twist_deg": Key(takes="degrees, 0 to 180", check=_number(0, 180)),
        "lifts_per_min": Key(takes="lifts a minute, 0 to 60", check=_number(0, 60)),
        "hours": _positive(8, "h"),
        "handles": _one_of("none", "cut-outs", "handles"),
        "gloves": Key(takes="true or false", check=_whether),
        "careful": Key(takes="true or false", check=_whether),
        "trench": Key(takes="true or false", check=_whether),
        "lift_block": Key(takes="true or false", check=_whether),
        "people": Key(takes="a whole number of people, 1 to 12", check=_count(1, 12)),
        "guideline": _one_of("women", "men"),
        "carry_m": Key(takes="metres, 0 to 10000", check=_number(0, 10000)),
        "door_mm": _positive(10000, "mm"),
        "footing": _one_of("firm", "slippery", "steps"),
        "board": _NAME,
        "board_thickness_mm": Key(takes="mm, 0.5 to 100", check=_number(0.5, 100)),
        "board_support": _one_of("ends", "four edges"),
        "volume_l": _positive(2000, "L"),
        "cog_mm": _SIZES,
        "shelf_load_kg": Key(takes="kg, 0 to 100000", check=_number(0, 100000)),
        "shelf_taken_kg": Key(takes="kg, 0 to 100000", check=_number(0, 100000)),
        "shelf_clear_mm": _positive(10000, "mm"),
        "shelf_heights_mm": Key(
            takes="a list of heights in mm, each above 0 and up to 3000", check=_positives(None, 3000)
        ),
        "temp_c": Key(takes="degrees Celsius, -30 to 50", check=_number(-30, 50)),
        "rh": Key(takes="a fraction from 0 to 1", check=_humidity),
        "boxes": Key(takes="a whole number of boxes in one round, 1 to 200", check=_count(1, 200)),
        "round_min": _positive(480, "minutes"),
        "legs": Key(takes=_LEG_TAKES, check=_legs),
    },
}
STANDS_FOR = {"block_mm": "scan"}
"""Keys that need not be given when another is."""
FREE_SECTIONS = {"deadlines": _INSTANT, "dates": _INSTANT}
"""Sections whose keys are names of the writer's own, with what each of them takes."""
