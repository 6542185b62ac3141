"""The texts inside the codes: a speaking text that any telephone shows, and the short identity.

The speaking text has one fact a line, each line beginning with its word, so that a stranger can read it and the
record can be restored from it without this program's files.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from findhold.errors import BadInput
from findhold.label.wording import FindKind, LabelFacts, Part
from findhold.record.identity import identity, parse_identity

KIND_WORDS: dict[FindKind, str] = {"registered": "FIND", "bulk": "BULK FIND", "sample": "SAMPLE"}
AGAIN = "Read the label again, or type the identity that is printed on it"


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """The record as it stands in a speaking code."""

    site_code: str
    site_name: str
    find_number: str
    find_kind: FindKind
    context: str
    what: str
    material: str
    state: str
    find_id: str
    box_id: str
    easting_m: float | None = None
    northing_m: float | None = None
    level_m: float | None = None
    grid: str = ""
    vertical_datum: str = ""


def speaking_text(facts: LabelFacts) -> str:
    """The text of the speaking code.

    Parameters
    ----------
    facts : the find and its box; line breaks and runs of spaces in them become single spaces.

    Returns
    -------
    Lines SITE, FIND, CONTEXT, WHAT, MATERIAL, AT, LEVEL, BOX, ID; lines without a fact are left out. `restore`
    is its inverse, positions to the millimetre.
    """
    lines = [
        f"SITE {_tidy(facts.site_code)} {_tidy(facts.site_name)}",
        f"{KIND_WORDS[facts.find_kind]} {_tidy(facts.find_number)}",
        f"CONTEXT {_tidy(facts.context)}",
        f"WHAT {_tidy(facts.what)}" if facts.what.strip() else "",
        f"MATERIAL {_tidy(facts.material)}, {facts.state}",
    ]
    if facts.easting_m is not None and facts.northing_m is not None:
        lines.append(f"AT {_metres(facts.easting_m)} {_metres(facts.northing_m)} {_tidy(facts.grid)}")
    if facts.level_m is not None:
        lines.append(f"LEVEL {_metres(facts.level_m)} {_tidy(facts.vertical_datum)}")
    lines += [f"BOX {facts.box_id}", f"ID {facts.find_id}"]
    return "\n".join(line.strip() for line in lines if line)


def short_text(facts: LabelFacts, part: Part) -> str:
    """The short code's text: the box's identity outside on lid and end, the find's inside and on the block."""
    return facts.box_id if part in ("lid", "end") else facts.find_id


def restore(text: str) -> Restored:
    """The record from a speaking text.

    Parameters
    ----------
    text : as decoded.

    Raises
    ------
    BadInput: a line is missing, stands twice or is unknown, or an identity does not check or is of another find.
    """
    lines = _lines(text)
    kinds: list[FindKind] = [kind for kind, word in KIND_WORDS.items() if word in lines]
    if len(kinds) != 1:
        raise _not_ours("it needs one line FIND, BULK FIND or SAMPLE")
    number = lines[KIND_WORDS[kinds[0]]]
    for word in ("SITE", "CONTEXT", "MATERIAL", "BOX", "ID"):
        if word not in lines:
            raise _not_ours(f"it has no line {word}")
    site_code, _, site_name = lines["SITE"].partition(" ")
    material, _, state = lines["MATERIAL"].rpartition(", ")
    easting, northing, grid = _measured(lines.get("AT"), 2)
    level, _, datum = _measured(lines.get("LEVEL"), 1)
    _check_identities(lines["ID"], lines["BOX"], site_code, number)
    return Restored(
        site_code=site_code,
        site_name=site_name,
        find_number=number,
        find_kind=kinds[0],
        context=lines["CONTEXT"],
        what=lines.get("WHAT", ""),
        material=material,
        state=state,
        find_id=lines["ID"],
        box_id=lines["BOX"],
        easting_m=easting,
        northing_m=northing,
        level_m=level,
        grid=grid,
        vertical_datum=datum,
    )


def is_speaking(text: str) -> bool:
    """Whether a decoded text looks like one of our speaking texts."""
    return text.startswith("SITE ") and "\nID " in text


def _lines(text: str) -> dict[str, str]:
    known = (*KIND_WORDS.values(), "SITE", "CONTEXT", "WHAT", "MATERIAL", "AT", "LEVEL", "BOX", "ID")
    lines: dict[str, str] = {}
    for line in text.strip().splitlines():
        word = next((w for w in known if line.startswith(w + " ")), None)
        if word is None:
            raise _not_ours(f"the line {line!r} begins with no word of a label")
        if word in lines:
            raise _not_ours(f"the line {word} stands twice")
        lines[word] = line[len(word) + 1 :].strip()
    return lines


def _measured(value: str | None, count: int) -> tuple[float | None, float | None, str]:
    """One or two figures in metres and the name of what they are measured in."""
    if value is None:
        return None, None, ""
    pieces = value.split(" ", count)
    try:
        figures = [float(piece) for piece in pieces[:count]]
    except ValueError:
        raise _not_ours(f"{value!r} is not a measured position") from None
    if len(figures) < count:
        raise _not_ours(f"{value!r} is not a measured position")
    name = pieces[count] if len(pieces) > count else ""
    return figures[0], figures[1] if count == 2 else None, name


def _check_identities(find_id: str, box_id: str, site_code: str, number: str) -> None:
    find, box = parse_identity(find_id), parse_identity(box_id)
    site = site_code.upper()
    if find.site != site or box.site != site:
        raise BadInput(f"the label's identities are not of its site {site_code}", where=find_id, do=AGAIN)
    if find.letter not in "FS" or box.letter != "B" or find_id != identity(site, find.letter, number):
        raise BadInput(f"the label's identity is not that of number {number}", where=find_id, do=AGAIN)


def _not_ours(why: str) -> BadInput:
    return BadInput(f"the code's text is not a whole label: {why}", do=AGAIN)


def _tidy(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()


def _metres(length_m: float) -> str:
    """To the millimetre, without trailing noughts."""
    return f"{length_m:.3f}".rstrip("0").rstrip(".")
