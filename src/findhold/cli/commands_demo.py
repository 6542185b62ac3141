"""demo: the main job on an invented site."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from findhold.cli import commands_hold, commands_store, screen
from findhold.cli.ask import JsonOption
from findhold.service import demo as demo_service
from findhold.service import stores, wire


def demo(
    out: Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Folder to make.")] = Path("demo-out"),
    as_json: JsonOption = False,
) -> None:
    """Run the main job on an invented site and say where to look. Everything in it is invented."""

    def say(line: str) -> None:
        if as_json:
            return
        if line.startswith("findhold"):
            screen.say(f"$ {line}")
        else:
            screen.say(line, style=screen.ACT if line.strip().startswith("STOP") else "dim")

    done = demo_service.run_demo(out, say)
    if as_json:
        monday = demo_service.run_monday(Path(done.folder), say)
        screen.show_json({**wire.plain(done), "monday": stores.store_answer(monday)})
        return
    screen.say()
    screen.say("Withy Carr (WCR26) on Friday 31 July 2026, half past five; closed from 8 to 23 August.", style="bold")
    commands_hold.tell_table(done.packed)
    for file in done.files:
        if file not in done.packed.files:
            screen.say(f"  {file}")
    screen.say()
    screen.say("Monday 3 August, 08:30: the logger of Fridge 2 is read.", style="bold")
    commands_store.tell_store(demo_service.run_monday(Path(done.folder), say))
    screen.say()
    screen.say(f"Look in {done.folder}: pack/ has sheets, labels and calendar, plans/ the drawings.")
    screen.say(f"Try next: findhold keep 37 --ledger {done.ledger}")
    screen.say(f"The pages, on that Monday: findhold serve --demo-clock --ledger {done.ledger}")
    screen.say(f"And the story of a find that was in the fridge: findhold show 44 --ledger {done.ledger}")
