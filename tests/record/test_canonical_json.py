"""Canonical JSON and the hash chain, against the reference writer and a vector computed apart from this code."""

import json

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from findhold.record import chain
from findhold.record.canonical import canonical_json
from findhold.record.events import NO_HASH

PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=4),
    max_leaves=12,
)


@given(PLAIN)
def test_the_fast_writer_prints_what_the_reference_writer_prints(value):
    # Source: RFC 8785 as written by the rfc8785 library (Trail of Bits), a writer that is not ours.
    try:
        expected = rfc8785.dumps(value)
    except (rfc8785.CanonicalizationError, UnicodeEncodeError):
        with pytest.raises((rfc8785.CanonicalizationError, UnicodeEncodeError, ValueError)):
            canonical_json(value)
        return
    assert canonical_json(value) == expected


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 2**53, {1: 2}, object()])
def test_what_has_no_canonical_form_is_refused(value):
    with pytest.raises((ValueError, rfc8785.CanonicalizationError)):
        canonical_json(value)


def test_the_chain_gives_the_hashes_of_the_worked_vector(authority):
    # Source: three-entry vector computed with independent code (tests/authorities/hash_chain_example.csv).
    previous = NO_HASH
    rows = authority("hash_chain_example.csv")
    assert len(rows) == 3
    for row in rows:
        assert row["prev_hash_hex"] == previous
        entry = json.loads(row["canonical_json_utf8"])
        assert canonical_json(entry).decode() == row["canonical_json_utf8"]
        previous = chain.seal(previous, entry)
        assert previous == row["entry_hash"]
