"""Canonical JSON: one text for one value, so that a hash of it means something to a stranger.

The form is RFC 8785 (JSON Canonicalization Scheme). The reference writer is the rfc8785 library; documents whose
numbers are written alike by both go through the standard library's encoder, which is several times faster. A test
compares both on random documents.
"""

from __future__ import annotations

import json
from typing import Any

import rfc8785

_ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
_LARGEST_EXACT = 2**53 - 1


class _NeedsReferenceError(Exception):
    """A value that the two writers may print differently."""


def canonical_json(value: Any) -> bytes:
    """The value as RFC 8785 bytes.

    Parameters
    ----------
    value : plain data: dicts with text keys, lists, text, numbers, booleans, None.

    Raises
    ------
    ValueError : not-a-number, infinity, an integer beyond 2**53, or a type that is not plain data.

    Source
    ------
    RFC 8785 (2020), from memory; the writer of the rfc8785 library, compared in tests/record.
    """
    try:
        return _ENCODER.encode(_plain(value)).encode("utf-8")
    except _NeedsReferenceError:
        return rfc8785.dumps(value)


def _plain(value: Any) -> Any:
    """The value with whole floats as integers; raises _NeedsReferenceError where printing differs."""
    if value is None or isinstance(value, str | bool):
        if isinstance(value, str) and not value.isascii():
            _check_text(value)
        return value
    if isinstance(value, int):
        if abs(value) > _LARGEST_EXACT:
            raise _NeedsReferenceError
        return value
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, dict):
        return {_key(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    raise _NeedsReferenceError


def _number(value: float) -> float | int:
    if value.is_integer() and abs(value) <= _LARGEST_EXACT:
        return int(value)
    # Below 1e-4 and above 1e16 Python writes an exponent where the scheme may not.
    if 1e-4 <= abs(value) < 1e16:
        return value
    raise _NeedsReferenceError


def _key(key: Any) -> str:
    if not isinstance(key, str) or not key.isascii():
        raise _NeedsReferenceError
    return key


def _check_text(text: str) -> None:
    """Lone surrogates have no UTF-8 form; the reference writer words the refusal."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise _NeedsReferenceError from None
