"""The one shape of an error, its HTTP status, and mistakes of a request in our own words."""

from __future__ import annotations

from typing import Any

from fastapi.exceptions import RequestValidationError
from starlette.responses import JSONResponse

from findhold.errors import FindholdError, Mistake, Mistakes
from findhold.service.doorway import status_of

_ERROR = {
    "type": "object",
    "required": ["error"],
    "properties": {
        "error": {
            "type": "object",
            "required": ["code", "wrong", "where", "limit", "do", "sentence"],
            "properties": {name: {"type": "string"} for name in ("code", "wrong", "where", "limit", "do", "sentence")},
        }
    },
}
_MEANINGS = {
    401: "Sign in first.",
    403: "Refused.",
    404: "There is no such thing; near names are offered.",
    405: "Not served here.",
    409: "The key was used for another request.",
    413: "Too large.",
    422: "Something given cannot be right; nothing was recorded.",
    429: "Too many wrong tries.",
    503: "The ledger cannot be read or written now.",
}
RESPONSES: dict[int | str, dict[str, Any]] = {
    status: {"description": words, "content": {"application/json": {"schema": _ERROR}}}
    for status, words in _MEANINGS.items()
}


def error_response(error: FindholdError) -> JSONResponse:
    """An error in the shape that `--json` prints."""
    return JSONResponse({"error": error.as_dict()}, status_code=status_of(error))


def mistakes_of(error: RequestValidationError) -> Mistakes:
    """Everything that is missing or of the wrong kind in a request, each by its name."""
    found = []
    for item in error.errors():
        place, *names = [str(part) for part in item["loc"]]
        given = item.get("input")
        found.append(
            Mistake(
                file="",
                row=None,
                column=".".join(names) or place,
                value=str(given)[:80] if isinstance(given, str | int | float | bool) else "",
                wrong="is not what is asked for here",
                allowed=str(item["msg"]),
            )
        )
    return Mistakes(mistakes=found)
