"""Whom to call when something asks for it: names, jobs and telephones of the ledger's people."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

NO_NUMBER = "no number entered"
_JOBS: dict[str, tuple[str, ...]] = {"conservator": ("conservator",), "duty": ("duty", "finds officer")}
_UNNAMED = {"conservator": ("the conservator",), "duty": ("the finds officer", "the duty holder")}


def whom_to_call(
    people: Iterable[Mapping[str, Any]], words: Iterable[str], analyses: Sequence[str] | None = None
) -> list[str]:
    """Whom to call, each once, as "name, job, telephone"; by the job alone where the ledger knows nobody with it.

    Parameters
    ----------
    people : facts of the ledger's people.
    words : conservator, analysts, duty, in the order of calling.
    analyses : planned for the find, whose analysts are told; None when they are not known here: every analyst.
    """
    known = list(people)
    found: list[str] = []
    for word in words:
        if word != "analysts":
            found += _named(known, _JOBS[word]) or list(_UNNAMED[word])
        elif analyses is None:
            found.append("every analyst")
        else:
            for analysis in analyses:
                found += _named(known, (analysis.casefold(),)) or [f"the analyst for {analysis}"]
    return list(dict.fromkeys(found))


def _named(people: Sequence[Mapping[str, Any]], jobs: tuple[str, ...]) -> list[str]:
    """People whose job holds one of the words, with their telephone."""
    chosen = [one for one in people if any(job in str(one.get("role") or "").casefold() for job in jobs)]
    return [
        ", ".join([*(str(one[key]) for key in ("name", "role") if one.get(key)), str(one.get("phone") or NO_NUMBER)])
        for one in chosen
    ]
