"""Smooth film next to finds that fibres harm: taken without being asked for where the planned analyses allow it."""

from __future__ import annotations

from dataclasses import replace

from findhold.errors import Question
from findhold.pack.asked import Asked
from findhold.pack.contact import applies
from findhold.tables.contact import StateRule, contact_rule, state_rules
from findhold.tables.materials import PackingMaterial, packing_material, packing_material_names

FILM = "polyethylene film"
_FIBROUS = "fibrous"
_SPOILS = ("destroys", "contaminates")


def with_film(asked: Asked) -> Asked:
    """The request with film next to a find that no fibres may touch, where neither film nor bag was asked for.

    Not where "none" was asked for by name, nor where a planned analysis is soiled by film: then the fibres stand as a
    conflict, and `film_question` asks what is to lie there.

    Parameters
    ----------
    asked : a checked request.

    Source: rules of contact in state_rules that speak of fibrous things; contact_rules for the analyses.
    """
    rule = _fibres(asked)
    if rule is None or _spoilt(asked, packing_material(FILM)):
        return asked
    return replace(asked, barrier=packing_material(FILM), barrier_why=f"not asked for, taken because {rule.text}")


def film_question(asked: Asked) -> tuple[Question, ...]:
    """Which barrier is to lie next to a find that no fibres may touch, where film was not simply taken."""
    rule = None if asked.barrier is not None else _fibres(asked)
    spoilt = _spoilt(asked, packing_material(FILM))
    if rule is None or not spoilt:
        return ()
    sheets = [packing_material(name) for name in packing_material_names()]
    good = [one.name for one in sheets if one.closure == "barrier" and not one.fibrous and not _spoilt(asked, one)]
    text = (
        f"{asked.inputs.find}: {rule.text}, and {FILM} soils {', '.join(spoilt)}. Which barrier is to lie next to it?"
    )
    return (Question(about="barrier", text=text, choices=(*good, f"{FILM}, a piece of it kept as a blank")),)


def _fibres(asked: Asked) -> StateRule | None:
    """The rule that keeps fibres off this find, where its wrapping is fibrous and would touch it."""
    inputs = asked.inputs
    bagged = asked.kept == "waterlogged" and not inputs.sheets
    covered = asked.barrier is not None or inputs.no_barrier or inputs.sheets == 0 or bagged
    if covered or not asked.wrapping.fibrous or asked.kept == "dry":
        return None
    rules = (rule for rule in state_rules() if rule.kind == "contact" and _FIBROUS in rule.things)
    return next((rule for rule in rules if applies(rule, asked)), None)


def _spoilt(asked: Asked, material: PackingMaterial) -> list[str]:
    """Planned analyses that a material next to the find destroys or soils."""
    rules = {analysis.name: contact_rule(material.contact, analysis.name) for analysis in asked.analyses}
    return [name for name, rule in rules.items() if rule.verdict == "forbidden" or rule.severity in _SPOILS]
