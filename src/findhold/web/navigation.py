"""An entry of the navigation."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Nav:
    """A page's entry: its word, its address, and where it stands (Today 10, Finds 20, Pack 30, Round 40, Stores 50,
    Closures 60, Plot 70, Hand over 80, Settings 90)."""

    word: str
    path: str
    order: int
