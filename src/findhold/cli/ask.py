"""What every command shares: its common options, and how errors and exit codes come out."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from findhold.cli import asking, screen
from findhold.errors import FindholdError, Mistakes

OK, THE_ANSWER_IS_NO, BAD_INPUT = 0, 1, 2

LedgerOption = Annotated[
    str | None,
    typer.Option("--ledger", metavar="FILE", help="The ledger file. Default: FINDHOLD_LEDGER, then the setting."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the result as JSON instead of text.")]
PersonOption = Annotated[
    str | None,
    typer.Option("--person", metavar="NAME", help="Who is recording. Default: FINDHOLD_PERSON, then your login name."),
]
SiteOption = Annotated[
    str | None, typer.Option("--site", metavar="CODE", help="The site, when the ledger holds several.")
]


def report(error: FindholdError, *, as_json: bool) -> int:
    """Print an error for a person or as JSON; returns the exit code."""
    if as_json:
        screen.show_json({"error": error.as_dict()})
        return BAD_INPUT
    screen.complain(f"findhold: {error.sentence()}")
    if isinstance(error, Mistakes):
        for mistake in error.mistakes:
            screen.complain(f"  - {mistake.line()}")
        for question in error.questions:
            place = f"row {question.row}: " if question.row is not None else ""
            options = asking.option_lines(question) if error.answerable else []
            # A line for each choice says them already.
            listed = () if 0 < len(question.choices) <= asking.MOST_OPTIONS and options else question.choices
            choices = f" Choices: {', '.join(listed)}." if listed else ""
            screen.complain(f"  ? {place}{question.text}{choices}")
            for option in options:
                screen.complain(f"      {option}")
    return BAD_INPUT


def wants_json() -> bool:
    """True when --json stands on the command line; needed where no command was reached."""
    return "--json" in sys.argv[1:]


def leave(code: int) -> None:
    """End the command with an exit code other than 0."""
    if code:
        raise typer.Exit(code)
