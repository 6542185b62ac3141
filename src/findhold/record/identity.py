"""Identities that can be written down wet and read back: site, letter, number and a check character.

`WCR26-F37-5` is find 37 of site WCR26; 5 is the check character of `WCR26F37` by ISO/IEC 7064 MOD 37-2, which
catches every single wrong character and every swap of two neighbours. That system's 37th character is a star, which
people miswrite, so no identity ends in one: the number is written with one leading nought (find 48 is
`WCR26-F048-T`), and in the rare case where noughts change nothing the letter is written twice (sample 1 of site A92
is `A92-SS1-Z`). Both forms are read back as the same number.

A number that is not digits first ("B216", "SF-37", "12/3") is written behind a stop, its other signs as stops too:
`WCR26-F.B216-T`. There `00.` before the number keeps the star away.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from findhold.errors import BadInput

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
LETTERS = {"F": "find", "B": "box", "S": "sample"}
LOOK_ALIKE = {"O": "0", "0": "OD", "I": "1", "1": "I7", "7": "1", "S": "5", "5": "S", "B": "8", "8": "B"} | {
    "Z": "2", "2": "Z", "G": "6", "6": "G", "D": "0", "U": "V", "V": "U"
}  # fmt: skip
_LONGEST_NUMBER = 16
FORM = "such as WCR26-F37-5: site code, F for find, B for box or S for sample with the number, check character"


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """One identity taken apart: the number is without leading noughts."""

    site: str
    letter: str
    number: str
    check: str

    def text(self) -> str:
        """The identity as it is written."""
        return identity(self.site, self.letter, self.number)

    def kind(self) -> str:
        """What the letter stands for: find, box or sample."""
        return LETTERS[self.letter]


def check_character(text: str) -> str:
    """The check character of a text of capital letters and digits.

    Parameters
    ----------
    text : at least one of 0-9 and A-Z, nothing else.

    Returns
    -------
    One of 0-9, A-Z and the star.

    Raises
    ------
    BadInput: the text is empty or holds another character.

    Source
    ------
    [iso-7064], system MOD 37-2 (pure system: modulus 37, radix 2); checked against published values.
    """
    bad = "".join(dict.fromkeys(c for c in text if c not in ALPHABET[:36]))
    if bad or not text:
        raise BadInput(
            f"{text!r} cannot have a check character" + (f" because of {bad!r}" if bad else ""),
            limit="capital letters A-Z and digits 0-9",
            do="Write it with plain capital letters and digits only",
        )
    remainder = 0
    for character in text:
        remainder = (remainder + ALPHABET.index(character)) * 2 % 37
    return ALPHABET[(38 - remainder) % 37]


def identity(site_code: str, letter: str, number: str | int) -> str:
    """The identity of a find, box or sample, with its check character.

    Parameters
    ----------
    site_code : the site's code; capitals, digits and hyphens (small letters are made capitals).
    letter : F find, B box, S sample.
    number : as in the register: digits, perhaps followed by letters ("37", "37A", leading noughts do not count), or
        any letters, digits and signs ("B216", "12/3").

    Returns
    -------
    Such as "WCR26-F37-5"; never ending in a star (see the module's text).

    Raises
    ------
    BadInput: a part has another form.

    Source
    ------
    [iso-7064] for the check character; the written form is our own.
    """
    site, number = site_code.strip().upper(), str(number).strip().upper()
    if not re.fullmatch(r"[A-Z0-9]+(-[A-Z0-9]+)*", site):
        raise BadInput(
            f"{site_code!r} cannot be a site code",
            limit="capital letters, digits and single hyphens",
            do="Write the code in plain letters and digits, such as WCR26",
        )
    if letter not in LETTERS:
        raise BadInput(f"{letter!r} is no kind of identity", limit="F find, B box, S sample", do="Choose F, B or S")
    body = site.replace("-", "")
    for middle in _written_forms(letter, number):
        check = check_character(body + middle.replace(".", ""))
        if check != "*":
            return f"{site}-{middle}-{check}"
    raise AssertionError(f"no written form of {body}{letter}{number} avoids the star")


def _written_forms(letter: str, number: str) -> tuple[str, ...]:
    """How a number may be written, the plainest first; later forms are for keeping the star away."""
    if re.fullmatch(r"[0-9]+[A-Z]{0,2}", number):
        number = number.lstrip("0") if number.lstrip("0")[:1].isdigit() else "0" + number.lstrip("0")
        return (letter + number, letter + "0" + number, letter * 2 + number, letter * 2 + "0" + number)
    told = re.sub(r"[^A-Z0-9]+", ".", number).strip(".")
    if not told or not number.isascii() or len(told) > _LONGEST_NUMBER:
        raise BadInput(
            f"{number!r} cannot be a {LETTERS[letter]} number",
            limit=f"plain letters, digits and signs, at most {_LONGEST_NUMBER}",
            do="Give the number as it stands in the register, such as 37, 37A or B216",
        )
    return (f"{letter}.{told}", f"{letter}.00.{told}", f"{letter}.000.{told}")


def parse_identity(text: str) -> Identity:
    """Take an identity apart and check it.

    Parameters
    ----------
    text : as typed or decoded; small letters, spaces for hyphens and long dashes are understood.

    Raises
    ------
    BadInput: the form is wrong, or the check character does not fit; near readings are offered, never taken.

    Source
    ------
    [iso-7064] for the check.
    """
    tidy = re.sub(r"[\s‐‑‒–—−-]+", "-", text.strip().upper())
    parts = re.fullmatch(r"([A-Z0-9]+(?:-[A-Z0-9]+)*)-([A-Z])(\2?)([0-9]+[A-Z]{0,2})-([A-Z0-9*])", tidy)
    parts = parts or re.fullmatch(r"([A-Z0-9]+(?:-[A-Z0-9]+)*)-([A-Z])((?:\.000?)?)\.([A-Z0-9.]+)-([A-Z0-9*])", tidy)
    if not parts:
        raise BadInput(f"{text!r} is not an identity", limit=FORM, do="Type it again from the label, hyphens and all")
    site, letter, doubled, digits, check = parts.groups()
    if letter not in LETTERS:
        raise BadInput(
            f"{text!r} has {letter!r} where its kind should stand",
            limit="F find, B box, S sample",
            do="Look at the label again",
        )
    if check == "*":
        raise BadInput(f"{text!r} ends in a star, and no identity does", do="Look at the last character again")
    covered = site.replace("-", "") + letter + doubled + digits
    if check_character(covered.replace(".", "")) != check:
        raise BadInput(f"{text!r} does not check: at least one character is wrong", do=_near(tidy))
    if f"{letter}{doubled}." in tidy:
        return Identity(site=site, letter=letter, number=digits, check=check)
    number = digits.lstrip("0") if digits.lstrip("0")[:1].isdigit() else "0" + digits.lstrip("0")
    return Identity(site=site, letter=letter, number=number, check=check)


def _near(tidy: str) -> str:
    """Readings that differ in one character that is easily mistaken, and check."""
    near = []
    for position, character in enumerate(tidy):
        for other in LOOK_ALIKE.get(character, ""):
            reading = tidy[:position] + other + tidy[position + 1 :]
            site, _, rest = reading.partition("-")
            body = (site + rest).replace("-", "")
            fits = re.fullmatch(r".*-([FBS])\1?[0-9]+[A-Z]{0,2}-[A-Z0-9]", reading)
            if fits and check_character(body[:-1]) == body[-1]:
                near.append(reading)
    if near:
        return f"Look at the label again; it could be {' or '.join(near[:3])}"
    return "Type it again from the label, character by character"
