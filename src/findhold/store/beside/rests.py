"""What a plan rests on of its find's facts, as one text on each side, so that a changed fact is seen at once."""

from __future__ import annotations

RESTS_ON = (
    *("material", "state", "length_mm", "width_mm", "height_mm", "mass_kg", "soil", "water_content"),
    *("analyses", "part_materials", "done", "box", "barrier", "human_remains", "treasure"),
)
"""Facts of a find that its plan is worked out from; an outline or profile stands and falls with its measurement."""
MEASURED_AT = "measured"
"""When the measurement was made that the plan rests on."""


def rests_text(body: str, path: str, measured: str) -> str:
    """SQL of the facts as one text, from a JSON column; nothing, an empty list and no are told alike."""
    paths = [*(f"{path}.{name}" for name in RESTS_ON), measured]
    told = [f"coalesce(nullif(nullif(json_extract({body}, '{one}'), '[]'), 0), '')" for one in paths]
    return f"json_array({', '.join(told)})"
