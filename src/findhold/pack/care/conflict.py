"""What stands against a plan: one conflict, whatever it is about."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.tables.contact import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """A pair that is forbidden or wants a control; `analysis` is the analysis or the rule it is about.

    Of two parts of a find, `material` is the pair ("iron with leather"), `remedy` the least-bad course. Of something
    done too early, `material` is what was done and `analysis` what should have come first.
    """

    material: str
    analysis: str
    verdict: Verdict
    source: str
    text: str
    remedy: str
    overridden_by: str | None = None
    reason: str | None = None
    seen: str = ""
    """How far the source was seen."""
    kind: str = "contact"
    """contact, state, parts or order."""
    severity: str = ""
    """What is lost if nothing is done: destroys, contaminates or hampers; empty where the rule does not grade it."""
    who: str = ""
    """Who decides; empty when the remedy is all there is to do."""
    by: str = ""
    """By when, in words."""
    choices: tuple[str, ...] = ()
    """What a person can settle on."""

    @property
    def pair(self) -> str:
        """What it is about, in words: a rule's own name means nothing to who packs."""
        return self.material if self.kind in ("parts", "state") else f"{self.material} and {self.analysis}"

    @property
    def sentence(self) -> str:
        """What stands against the plan, and what to do, in words."""
        if self.kind in ("parts", "state"):
            return f"{self.pair}: {self.text}. {self.remedy}"
        return f"{self.pair}: {self.verdict}. {self.remedy}"

    @property
    def open(self) -> bool:
        """A person has to choose, and nobody has."""
        return bool(self.choices) and self.overridden_by is None

    @property
    def stops(self) -> bool:
        """Forbidden, and nobody has let it pass."""
        return self.verdict == "forbidden" and self.overridden_by is None
