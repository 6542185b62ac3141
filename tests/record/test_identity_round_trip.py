"""Identities: written and read back; every single slip and every swap of neighbours is seen."""

import pytest

from findhold.errors import BadInput
from findhold.record.identity import ALPHABET, LETTERS, check_character, identity, parse_identity

SITES = ("WCR26", "A92", "NW-26", "7", *(f"S{n}" for n in range(40)))


@pytest.mark.parametrize("letter", sorted(LETTERS))
def test_every_identity_reads_back_and_none_ends_in_a_star(letter):
    doubled = 0
    for site in SITES:
        for number in range(1, 250):
            text = identity(site, letter, number)
            read = parse_identity(text)
            assert (read.site, read.letter, read.number) == (site, letter, str(number))
            assert not text.endswith("*")
            assert read.text() == text
            doubled += letter * 2 + str(number) in text
    # 44 sites x 249 numbers: about one in 37 x 37 needs the doubled letter
    assert doubled < 44 * 249 / 37


def test_a_number_whose_check_would_be_a_star_gets_one_nought():
    # ISO/IEC 7064 MOD 37-2 of WCR26F48 is the star (value 36): computed with the published rule in the next line
    assert check_character("WCR26F48") == "*"
    assert identity("WCR26", "F", 48) == f"WCR26-F048-{check_character('WCR26F048')}"
    assert parse_identity("WCR26-F048-T").number == "48"


def test_a_site_for_which_noughts_change_nothing_gets_a_doubled_letter():
    # the remainder after "A92S" is 0, so leading noughts leave every check as it was
    assert check_character("A92S1") == check_character("A92S01") == "*"
    assert identity("A92", "S", 1) == "A92-SS1-Z"
    assert parse_identity("A92-SS1-Z").number == "1"


@pytest.mark.parametrize(
    "text", ["WCR26-F37-5", "WCR26-B3-Q", "A92-SS1-Z", "WCR26-S12-U", "WCR26-F37A-" + check_character("WCR26F37A")]
)
def test_every_single_substitution_is_seen(text):
    body = text.replace("-", "")
    for place in range(len(body)):
        for other in ALPHABET:
            if other == body[place]:
                continue
            changed = body[:place] + other + body[place + 1 :]
            seen = "*" in changed[:-1] or check_character(changed[:-1]) != changed[-1]
            assert seen, changed


@pytest.mark.parametrize("text", ["WCR26-F37-5", "WCR26-B3-Q", "A92-SS1-Z", "WCR26-S12-U"])
def test_every_swap_of_neighbours_is_seen(text):
    body = text.replace("-", "")
    for place in range(len(body) - 1):
        if body[place] == body[place + 1]:
            continue
        changed = body[:place] + body[place + 1] + body[place] + body[place + 2 :]
        assert check_character(changed[:-1]) != changed[-1], changed


def test_small_letters_spaces_and_long_dashes_are_understood():
    for typed in ("wcr26-f37-5", " WCR26 F37 5 ", "WCR26–F37–5", "WCR26 - F37 - 5"):
        assert parse_identity(typed).text() == "WCR26-F37-5"


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("WCR26-F38-5", "does not check"),
        ("WCR2G-F37-5", "could be WCR26-F37-5"),
        ("WCR26-F3T-5", "does not check"),
        ("WCR26-F37", "is not an identity"),
        ("WCR26-X37-5", "'X' where its kind should stand"),
        ("WCR26-F48-*", "ends in a star"),
        ("", "is not an identity"),
    ],
)
def test_what_is_wrong_is_said(typed, says):
    with pytest.raises(BadInput, match=says.replace("*", "\\*")):
        parse_identity(typed)


@pytest.mark.parametrize(
    ("site", "letter", "number"),
    [("WC R", "F", "1"), ("WCR", "Q", "1"), ("WCR", "F", "ä1"), ("WCR", "F", ""), ("", "F", "1"), ("WCR", "F", "/")],
)
def test_parts_of_another_form_are_refused(site, letter, number):
    with pytest.raises(BadInput):
        identity(site, letter, number)


def test_nought_is_a_number_and_leading_noughts_do_not_count():
    assert identity("WCR26", "F", "0037") == identity("WCR26", "F", 37)
    assert parse_identity(identity("WCR26", "F", 0)).number == "0"
    assert parse_identity(identity("WCR26", "F", "007A")).number == "7A"


@pytest.mark.parametrize("number", ["B216", "SF 37", "SF-0042", "12/3", "A", "F12"])
def test_numbers_of_any_form_have_an_identity_of_their_own(number):
    text = identity("WCR26", "F", number)
    assert not text.endswith("*")
    assert identity("WCR26", "F", parse_identity(text).number) == text


def test_no_two_lettered_numbers_share_an_identity():
    written = {identity("WCR26", "F", f"{letter}{number}") for letter in "ABF" for number in range(300)}
    assert len(written) == 900
    assert not any(text.endswith("*") for text in written)
