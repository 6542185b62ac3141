"""Drawings whose parts lead somewhere: links laid over the places that a drawing names."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr


@dataclass(frozen=True, slots=True, kw_only=True)
class Over:
    """A link over a part of a drawing: where it leads, what it is called, and its rectangle [mm of the drawing]."""

    href: str
    words: str
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    current: bool = False


def with_links(svg: str, links: Iterable[Over]) -> str:
    """A drawing with links laid over it; it becomes a group for screen readers, so that its links can be reached."""
    made = "\n".join(_link(one) for one in links)
    if not made:
        return svg
    head, sep, tail = svg.rpartition("</svg>")
    return head.replace(' role="img"', ' role="group"', 1) + made + "\n" + sep + tail


def _link(one: Over) -> str:
    place = f'x="{one.left_mm:.3f}" y="{one.top_mm:.3f}" width="{one.width_mm:.3f}" height="{one.height_mm:.3f}"'
    current = ' aria-current="true"' if one.current else ""
    return (
        f'<a href={quoteattr(one.href)} aria-label={quoteattr(one.words)} class="over"{current}>'
        f"<title>{escape(one.words)}</title><rect {place}/></a>"
    )
