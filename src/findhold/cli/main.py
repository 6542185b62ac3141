"""The program: commands by name, errors to sentences, exit codes."""

from __future__ import annotations

import sys

import typer

from findhold.cli import ask
from findhold.cli.ondemand import HELP, OnDemand
from findhold.errors import FindholdError

app = typer.Typer(
    name="findhold",
    cls=OnDemand,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    epilog="Exit codes: 0 done; 1 the answer is no (for example a hold that cannot be kept); 2 bad input.",
    **HELP,
)


@app.callback()
def findhold() -> None:
    """Keeps fragile, damp finds whole, damp, cool, dark, identified and findable until they can be opened."""


def main() -> None:
    """Run the command on the command line and leave with its exit code."""
    try:
        app(prog_name="findhold")
    except FindholdError as error:
        sys.exit(ask.report(error, as_json=ask.wants_json()))
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    main()
