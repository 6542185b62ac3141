"""The error family: what is wrong, where, the limit, what to do now.

Every error that a person can meet is built from four facts and worded here, so that the command line and the
JSON output say the same sentence. Programming mistakes are not in this family; they keep Python's own errors.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

LONGEST_LIST = 120
"""A list of names longer than this is nobody's reading; a dozen of them stand for it."""


class FindholdError(Exception):
    """A mistake or a refusal that a person can act on.

    Parameters
    ----------
    wrong : what is wrong, one sentence without a full stop at the end.
    where : the find, box, file, row, column or key it stands in ("" when there is none).
    limit : what is allowed, with its unit and source ("" when there is none).
    do : what to do now, one sentence. Never empty.
    """

    code = "error"

    def __init__(self, wrong: str, *, do: str, where: str = "", limit: str = "") -> None:
        self.wrong = wrong
        self.where = where
        self.limit = limit
        self.do = do
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """The error as one line of text."""
        head = f"{self.where}: {self.wrong}" if self.where else self.wrong
        parts = [_stop(head)]
        if self.limit:
            parts.append(_stop(f"Allowed: {self.limit}"))
        parts.append(_stop(self.do))
        return " ".join(parts)

    def as_dict(self) -> dict[str, Any]:
        """The error in the one shape that --json prints."""
        return {
            "code": self.code,
            "wrong": self.wrong,
            "where": self.where,
            "limit": self.limit,
            "do": self.do,
            "sentence": self.sentence(),
        }


class BadInput(FindholdError):
    """Something typed or read from a file cannot be right."""

    code = "bad_input"


class UnknownName(BadInput):
    """A name that is not in the list; near names are offered, never taken."""

    code = "unknown_name"

    def __init__(self, kind: str, name: str, known: list[str], *, where: str = "") -> None:
        near = near_names(name, known)
        shown = sorted(known)
        if len(shown) > LONGEST_LIST:
            shown = [*shown[:: max(1, len(shown) // 12)][:12], "..."]
        do = f"Did you mean {' or '.join(near)}?" if near else f"Choose one of: {', '.join(shown)}"
        if not known:
            do = f"There is no {kind} yet: enter one first"
        super().__init__(f"there is no {kind} called {name!r}", where=where, do=do)
        self.name = name
        self.near = near


class LedgerTrouble(FindholdError):
    """The ledger file cannot be read or written, or does not prove whole."""

    code = "ledger"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mistake:
    """One mistake in outside input: where it stands, the value given and what is allowed."""

    file: str
    row: int | None
    column: str
    value: str
    wrong: str
    allowed: str

    def line(self) -> str:
        """The mistake as one line of text."""
        place = ", ".join(part for part in (f"row {self.row}" if self.row is not None else "", self.column) if part)
        given = f"{self.value!r} " if self.value else ""
        return f"{place}: {_stop(given + self.wrong)} Allowed: {_stop(self.allowed)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something only a person can settle; never guessed."""

    about: str
    text: str
    choices: tuple[str, ...] = ()
    row: int | None = None


@dataclass
class Mistakes(BadInput):
    """All mistakes of one input at once; `answerable` when the same command takes answers to the questions."""

    mistakes: list[Mistake] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    answerable: bool = False
    code = "mistakes"

    def __post_init__(self) -> None:
        count = len(self.mistakes) + len(self.questions)
        word = "thing" if count == 1 else "things"
        file = next((m.file for m in self.mistakes), "")
        super().__init__(
            f"{count} {word} must be settled; nothing was done",
            where=file,
            do="Mend the lines listed and run the same command again",
        )

    def as_dict(self) -> dict[str, Any]:
        """The error with every mistake and question listed."""
        shape = super().as_dict()
        shape["mistakes"] = [
            {"file": m.file, "row": m.row, "column": m.column, "value": m.value, "wrong": m.wrong, "allowed": m.allowed}
            for m in self.mistakes
        ]
        shape["questions"] = [
            {"about": q.about, "text": q.text, "choices": list(q.choices), "row": q.row} for q in self.questions
        ]
        return shape


def near_names(name: str, known: list[str], *, count: int = 3) -> list[str]:
    """Known names that look like the one given, best first; an empty list when none does."""
    lowered = {k.casefold(): k for k in known}
    return [lowered[k] for k in get_close_matches(name.casefold(), list(lowered), n=count, cutoff=0.6)]


def _stop(text: str) -> str:
    text = text.strip()
    return text if text.endswith((".", "?", "!")) else text + "."
