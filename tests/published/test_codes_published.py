"""Code sizes against published capacities: which symbol a text needs."""

import pytest

from findhold.errors import BadInput
from findhold.label.codes import short_modules, speaking_modules


def test_qr_sizes_of_level_q_follow_the_capacity_table(authority):
    rows = [r for r in authority("records_qr_version_for_payload.csv") if r["ecc"] == "Q"]
    assert len(rows) == 9
    for row in rows:
        # small letters and punctuation, so that byte mode is used, as in the table
        text = ("find; " * 60)[: int(row["payload_bytes"])]
        assert len(speaking_modules(text)) == int(row["modules"]), row


def test_data_matrix_holds_the_published_number_of_bytes(authority):
    # a byte above 127 takes two ASCII codewords, so a text of n plain small letters in ASCII encoding fits where the
    # table says that n bytes of 8 bits fit with two codewords for the switch to bytes: the symbol can't be larger
    rows = [r for r in authority("records_datamatrix_byte_capacity.csv") if list(r.values())[1]]
    assert len(rows) >= 9
    for row in rows:
        modules, published = int(row["square symbol modules"]), int(list(row.values())[1])
        assert len(short_modules(("aZ-_" * 40)[: published + 2])) <= modules
        assert len(short_modules("12" * (published + 2))) == modules, "two digits a codeword: codewords = bytes + 2"


def test_a_text_for_no_code_is_refused():
    with pytest.raises(BadInput, match="fits no code"):
        speaking_modules("x" * 1700)
