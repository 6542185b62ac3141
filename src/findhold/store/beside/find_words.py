"""What finds are looked for by: a few words of each, in the order their numbers are counted."""

from __future__ import annotations

from findhold.store.beside.rests import rests_text
from findhold.store.beside.table import Beside

_FACTS = ("what", "material", "context", "number")


def _words(row: str) -> str:
    told = [f"coalesce(json_extract({row}.body, '$.{name}'), '')" for name in _FACTS]
    return " || ' ' || ".join(told)


FIND_WORDS = Beside(
    name="find_words",
    kind="find",
    # Without a type, so that it compares with a find's number inside a hold by that one's index.
    columns=(
        *("site TEXT NOT NULL", "count INTEGER", "number", "store TEXT", "state TEXT", "words TEXT NOT NULL"),
        "rests TEXT NOT NULL",
    ),
    values=lambda row: (
        f"{row}.site",
        f"CAST(json_extract({row}.body, '$.number') AS INTEGER)",
        f"json_extract({row}.body, '$.number')",
        f"json_extract({row}.body, '$.store')",
        f"json_extract({row}.body, '$.state')",
        _words(row),
        rests_text(f"{row}.body", "$", "$.measured.at"),
    ),
    order="site, count, number",
)
