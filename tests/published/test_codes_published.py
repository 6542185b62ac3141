"""Code sizes against published capacities: which symbol a text needs."""

import numpy
import pytest
import zxingcpp

from findhold.errors import BadInput
from findhold.label.codes import short_modules, speaking_modules


def test_qr_sizes_of_level_q_follow_the_capacity_table(authority):
    rows = [r for r in authority("records_qr_version_for_payload.csv") if r["ecc"] == "Q"]
    assert len(rows) == 9
    for row in rows:
        # small letters and punctuation, so that byte mode is used, as in the table
        text = ("find; " * 60)[: int(row["payload_bytes"])]
        assert len(speaking_modules(text)) == int(row["modules"]), row


@pytest.mark.parametrize("length", [1, 12, 60, 119, 185, 260, 340, 500, 900, 1500, 1663])
@pytest.mark.parametrize("letters", ["find; ", "Fläche ж "])
def test_every_length_and_alphabet_reads_with_a_decoder_that_is_not_the_encoder(length, letters):
    text = (letters * length).encode()[: length - 20 if length > 1600 else length].decode(errors="ignore")
    modules = numpy.array(speaking_modules(text))
    picture = numpy.kron(numpy.where(modules, 0, 255).astype(numpy.uint8), numpy.ones((4, 4), numpy.uint8))
    picture = numpy.pad(picture, 32, constant_values=255)
    assert [code.text for code in zxingcpp.read_barcodes(picture)] == [text]


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
