"""What `plan` and `keep` answer for one find or several: the public shape, the same at every door."""

from __future__ import annotations

from typing import Any

from findhold.service.holds import Holding


def holding_answer(done: Holding) -> dict[str, Any]:
    """One find's shape as it is; several as a list beside those that could not be worked out, with the reason."""
    shapes = [one.shape for one in done.held]
    refused = [{"find": number, "error": error.as_dict()} for number, error in done.refused]
    if len(shapes) == 1 and not refused:
        return shapes[0]
    return {"finds": shapes, "refused": refused}
