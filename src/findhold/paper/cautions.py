"""Cautions that stand on every packing sheet, and those that a flag calls for.

None of them says yes or no on the law, and none carries a figure: local rules and qualified people decide.
"""

from __future__ import annotations

from collections.abc import Sequence

ALWAYS = (
    ("freez", "Dark, this way up, in the state this sheet names. Never freeze a damp or wet find."),
    ("conservator's word", "A conservator's word overrides this sheet: write it down, with name and date."),
    (
        "mould",
        "Mould and dust: gloves and mask before opening, assessed beforehand (COSHH or the local equivalent)."
        " Mould seen: close the box, take a photograph, tell the conservator and every analyst. No biocide.",
    ),
    (
        "leptospir",
        "Wet ground may carry leptospirosis: cover cuts, wash before eating, tell a doctor where you work if ill.",
    ),
    ("Lifting", "Lifting: weigh first, then judge the lift; more hands or a trolley when in doubt."),
)
"""A word that shows the caution is already there, and the caution."""

FLAGGED = (
    (
        "human",
        "Human remains: with dignity, seen by those who need to. Check that the licence or permission local law asks"
        " for is held.",
    ),
    (
        "treasure",
        "May be treasure or the state's: check local rules, the time to report may be running. No sampling before"
        " that is settled.",
    ),
    (
        "ordnance",
        "May be ordnance: stop. Do not pack, move or refrigerate. Clear the place and call the police.",
    ),
    ("lead", "Lead: gloves, no dry brushing, no dust; wash hands before eating."),
)


def sheet_cautions(given: Sequence[str], flags: Sequence[str]) -> tuple[str, ...]:
    """The cautions a sheet prints: those of its flags, those handed in, then those that always stand.

    Parameters
    ----------
    given : cautions for this find, in the words of the unit; they replace ours on the same matter.
    flags : the find's flags, such as "human remains".

    Returns
    -------
    The cautions in the order they are printed, none twice.

    Source
    ------
    Common practice; no figure and no statement of law.
    """
    said = " ".join(given).casefold()
    raised = " ".join(flags).casefold()
    flagged = [text for word, text in FLAGGED if word in raised and word not in said]
    standing = [text for word, text in ALWAYS if word not in said]
    return tuple(dict.fromkeys([*flagged, *given, *standing]))
