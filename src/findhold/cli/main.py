"""The program: commands by name, errors to sentences, exit codes."""

from __future__ import annotations

import sys

import typer

from findhold.cli import ask, commands_demo, commands_hold, commands_ledger, commands_paper, commands_register
from findhold.errors import FindholdError

app = typer.Typer(
    name="findhold",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Keeps fragile, damp finds whole, damp, cool, dark, identified and findable until they can be opened.",
    epilog="Exit codes: 0 done; 1 the answer is no (for example a hold that cannot be kept); 2 bad input.",
)
app.command("new")(commands_ledger.new)
app.command("import")(commands_register.import_)
app.command("list")(commands_ledger.list_)
app.command("show")(commands_ledger.show)
app.command("plan")(commands_hold.plan)
app.command("keep")(commands_hold.keep)
app.command("label")(commands_paper.label)
app.command("read")(commands_paper.read)
app.command("plot")(commands_paper.plot)
app.command("due")(commands_paper.due)
app.command("prove")(commands_ledger.prove)
app.command("demo")(commands_demo.demo)


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
