"""Check characters against published values and an independent implementation."""

import string

import pytest
from stdnum.iso7064 import mod_37_2

from findhold.record.identity import check_character


def test_published_mod_37_2_values_come_out(authority):
    rows = [r for r in authority("records_check_digit_vectors.csv") if r["scheme"] == "ISO 7064 MOD 37-2"]
    assert len(rows) == 4
    for row in rows:
        assert check_character(row["input"]) == row["check_or_full_output"], row["source"]


@pytest.mark.parametrize("site", ["WCR26", "A1", "ZZ9", "0", "SITE24"])
def test_an_independent_implementation_agrees(site):
    for number in range(400):
        for letter in string.ascii_uppercase[::5]:
            body = f"{site}{letter}{number}"
            assert check_character(body) == mod_37_2.calc_check_digit(body)
