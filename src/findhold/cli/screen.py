"""Printing: tables that fit the window, plain lines, and JSON."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from rich.console import Console, JustifyMethod
from rich.padding import Padding
from rich.progress import BarColumn, Progress, TextColumn
from rich.table import Table
from rich.text import Text

ACT = "bold #b3541e"
"""The one warm accent: only for what a person must act on."""


def console() -> Console:
    """The screen, at most 100 columns wide; 80 where the output is not a terminal."""
    plain = Console(highlight=False, soft_wrap=False)
    return Console(highlight=False, width=min(plain.width, 100) if plain.is_terminal else 80)


def say(text: str = "", style: str | None = None) -> None:
    """One line, or a paragraph wrapped to the window; typed text never acts as markup, and its indent is kept."""
    body = text.lstrip(" ")
    console().print(Padding(Text(body, style=style or ""), (0, 0, 0, len(text) - len(body)), expand=False))


def complain(text: str) -> None:
    """One line to the error channel."""
    Console(stderr=True, highlight=False, width=None).print(text, markup=False, soft_wrap=True)


def show_json(value: Any) -> None:
    """Plain data as JSON on standard output, and nothing else beside it."""
    json.dump(value, sys.stdout, ensure_ascii=False, indent=2)
    sys.stdout.write("\n")


def table(
    headings: Sequence[str], rows: Sequence[Sequence[Any]], *, right: Sequence[str] = (), flex: Sequence[str] = ()
) -> None:
    """A table with a ruled heading. Columns named in `right` hold numbers; those in `flex` give way and wrap.

    Where no column may give way, all wrap: a cell never loses a letter.
    """
    drawn = Table(box=None, pad_edge=False, show_edge=False, header_style="bold")
    for heading in headings:
        stiff = bool(flex) and heading not in flex
        justify: JustifyMethod = "right" if heading in right else "left"
        drawn.add_column(heading, justify=justify, overflow="fold", no_wrap=stiff)
    for row in rows:
        drawn.add_row(*[_cell(cell) for cell in row])
    console().print(drawn)


def facts(pairs: Sequence[tuple[str, Any]]) -> None:
    """Names and values, two columns, leaving out what is not known."""
    drawn = Table(box=None, pad_edge=False, show_edge=False, show_header=False)
    drawn.add_column(style="dim", no_wrap=True)
    drawn.add_column(overflow="fold")
    for name, value in pairs:
        if value not in (None, "", [], ()):
            drawn.add_row(name, _cell(value))
    console().print(drawn)


def _cell(value: Any) -> Text:
    """A value as text that the table takes as it stands: a context such as [214] is no markup."""
    if value is None:
        return Text("")
    if isinstance(value, bool):
        return Text("yes" if value else "no")
    if isinstance(value, float):
        return Text(f"{value:.10g}")
    if isinstance(value, list | tuple):
        return Text(", ".join(str(_cell(item)) for item in value))
    if isinstance(value, dict):
        return Text("; ".join(f"{name}: {_cell(item)}" for name, item in value.items()))
    return Text(str(value))


@contextmanager
def busy(text: str) -> Iterator[None]:
    """A moving line on a terminal while something runs for more than a moment; nothing where nobody watches."""
    if not sys.stderr.isatty():
        yield
        return
    with Console(stderr=True).status(text):
        yield


@contextmanager
def progress(text: str) -> Iterator[Callable[[str, int, int], None]]:
    """A progress bar on a terminal; calling it with (what, done, of) moves it."""
    if not sys.stderr.isatty():
        yield lambda _what, _done, _of: None
        return
    columns = (TextColumn("{task.description}"), BarColumn(bar_width=24), TextColumn("{task.completed}/{task.total}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(text, total=None)

        def moved(what: str, done: int, of: int) -> None:
            bar.update(task, description=f"{text}: {what}", completed=done, total=of)

        yield moved
