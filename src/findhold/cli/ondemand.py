"""Commands loaded when they are called: the list of them costs nothing, and each pays only for what it needs."""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from typing import Any

import typer
from typer.core import TyperGroup


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """A command of the list: where its function stands, and its line in the list of commands."""

    module: str
    function: str
    line: str


COMMANDS: dict[str, Listed] = {
    "new": Listed(module="commands_ledger", function="new", line="Begin a ledger: one file that keeps everything."),
    "import": Listed(module="commands_register", function="import_", line="Read a register, stores, a logger ..."),
    "list": Listed(module="commands_ledger", function="list_", line="List finds, boxes, stores, holds and more."),
    "show": Listed(module="commands_ledger", function="show", line="Show one find: facts, box and story."),
    "change": Listed(module="commands_change", function="change", line="Change a telephone, a duty holder, a stock."),
    "measure": Listed(module="commands_measure", function="measure", line="Measure a find by tape or from a scan."),
    "plan": Listed(module="commands_hold", function="plan", line="Choose box, bed and dose; make all to pack."),
    "lift": Listed(module="commands_lift", function="lift", line="Say how many hands, which board, what helps."),
    "shopping": Listed(
        module="commands_shopping", function="shopping", line="List what boxes take, and what is short."
    ),
    "keep": Listed(module="commands_hold", function="keep", line="Say how long it may wait, and what helps."),
    "label": Listed(module="commands_paper", function="label", line="Make labels; each is read back first."),
    "read": Listed(module="commands_paper", function="read", line="Read a photographed label beside its record."),
    "plot": Listed(module="commands_paper", function="plot", line="Draw the plan of a feature to scale."),
    "weigh": Listed(module="commands_check", function="weigh", line="Weigh a box: is it right, what to do, when next."),
    "round": Listed(module="commands_round", function="round_", line="Say who goes when to which store; print sheets."),
    "move": Listed(module="commands_move", function="move", line="Say where a box can go; record a move."),
    "due": Listed(module="commands_due", function="due", line="List what is due, worst first; calendar, e-mail."),
    "book": Listed(module="commands_book", function="book", line="Plan who opens and analyses what, and when."),
    "open": Listed(module="commands_open", function="open_", line="Record that a box was opened: its hold ends."),
    "prove": Listed(module="commands_ledger", function="prove", line="Check that the ledger is whole and true."),
    "serve": Listed(module="commands_serve", function="serve", line="Serve the pages, here or on the network."),
    "passphrase": Listed(module="commands_serve", function="passphrase", line="Give a person a passphrase for them."),
    "demo": Listed(module="commands_demo", function="demo", line="Run the main job on an invented site."),
}

HELP: dict[str, Any] = {"context_settings": {"help_option_names": ["-h", "--help"]}}


class OnDemand(TyperGroup):
    """A group whose commands are imported one by one, when called."""

    def list_commands(self, _ctx: Any) -> list[str]:
        """All commands, in the order of the work."""
        return list(COMMANDS)

    def get_command(self, _ctx: Any, cmd_name: str) -> Any:
        """One command with its options; None for a name that is no command."""
        listed = COMMANDS.get(cmd_name)
        if listed is None:
            return None
        module = importlib.import_module(f"findhold.cli.{listed.module}")
        app = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)
        app.command(cmd_name, **HELP)(getattr(module, listed.function))
        return typer.main.get_command(app)

    def format_commands(self, _ctx: Any, formatter: Any) -> None:
        """The list of commands, from the table, without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, listed.line) for name, listed in COMMANDS.items()])
