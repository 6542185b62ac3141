"""A cushion against a drop as text for a person: what to lay, for what, and what would help."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from findhold.cli import screen


def tell_cushion(shape: dict[str, Any] | None) -> None:
    """The cushion part of a plan, from its public shape; nothing where none was asked for."""
    if not shape or "lines" not in shape:
        return
    head = "No cushion" if shape["need"] is None else "Cushion"
    screen.say(
        f"{head} ({shape['foam']}), limit kept: {shape['verdict']}", style="bold" if shape["met"] else screen.ACT
    )
    for line in shape["lines"]:
        screen.say(f"  {line}")
    for warning in shape["warnings"]:
        screen.say(f"! {warning}")


def tell_cut(lines: Sequence[str], *, full: bool) -> None:
    """The cut list; where there is no more to cut than plank and strips, only when all is asked for."""
    if not lines or not (full or any("hole" in line or "over the block" in line.casefold() for line in lines)):
        return
    screen.say("  Cut, length x width x thickness:")
    for line in lines:
        screen.say(f"    {line}")


def tell_support(shape: dict[str, Any] | None) -> None:
    """What the block presses on its bed; nothing where that was not worked out."""
    for line in (shape or {}).get("lines", ()):
        screen.say(f"  {line}", style="dim")


def no_cushion(shape: dict[str, Any]) -> bool:
    """True when a cushion was asked for and none can be laid: the answer is no."""
    cushion = shape.get("cushion")
    return cushion is not None and cushion.get("need") is None
