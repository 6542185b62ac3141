"""What a label says: facts in, ordered lines out, each with its weight and its place in the order of leaving out."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

from findhold.errors import BadInput, UnknownName
from findhold.rounding import told_mass
from findhold.tables.contact import find_analysis
from findhold.tables.load import table

FindKind = Literal["registered", "bulk", "sample"]
Part = Literal["inside", "lid", "end", "block"]
PARTS: tuple[Part, ...] = ("inside", "lid", "end", "block")
SHAPES = ("triangle", "diamond", "circle", "box", "plain")
BRACKETS = {"brackets": "[]", "round brackets": "()", "angle brackets": "<>", "braces": "{}", "plain": ("", "")}
KEPT_WORDS = {
    "damp": ("KEEP DAMP", "COOL", "DARK", "DO NOT FREEZE"),
    "waterlogged": ("KEEP WET", "COOL", "DARK", "DO NOT FREEZE"),
    "dry": ("KEEP DRY",),
}
DOT = "\u00a0·"
BLANK_DAY, BLANK_NAME = 12 * "_", 6 * "_"
"""Room to write in by hand."""
_WRITTEN_SCALE = 1.5
"""A line to be written on by hand is this much larger."""
FORBIDDEN_WORDS = {"bare hands": "no bare hands", "washing": "no washing", "drying": "no drying"}
LEAVING_OUT = (
    "place", "mass", "site name", "marks", "packed", "position", "material", "speaking code", "box", "analyses", "what"
)  # fmt: skip
"""What is left out first when the stock is too small; what is not named here is never left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberSymbols:
    """How numbers are written: trade use differs between units, so this is a setting.

    Find numbers take a shape of SHAPES or brackets of BRACKETS, contexts take brackets.
    """

    registered: str = "triangle"
    bulk: str = "plain"
    sample: str = "diamond"
    context: str = "brackets"

    def __post_init__(self) -> None:
        for name in (self.registered, self.bulk, self.sample):
            if name not in SHAPES and name not in BRACKETS:
                raise UnknownName("number symbol", name, [*SHAPES, *BRACKETS])
        if self.context not in BRACKETS:
            raise UnknownName("kind of brackets", self.context, list(BRACKETS))

    def of(self, kind: FindKind) -> str:
        """The shape or brackets for a find's number."""
        return {"registered": self.registered, "bulk": self.bulk, "sample": self.sample}[kind]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelFacts:
    """Everything a label may say about one find in one box.

    Identities carry their check character. `kept` says how the hold keeps the find when that differs from the state
    it was found in (iron dried at once, for example); None follows the state. Temperatures None follow the table.
    """

    site_code: str
    site_name: str
    find_number: str
    find_kind: FindKind
    context: str
    what: str
    material: str
    state: str
    find_id: str
    box_id: str
    packed_on: date | None
    """None when nobody stated it: the label leaves room to write it in."""
    easting_m: float | None = None
    northing_m: float | None = None
    level_m: float | None = None
    grid: str = ""
    vertical_datum: str = ""
    box_n: int = 1
    box_of: int = 1
    keep_until: date | None = None
    analyses: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    person: str = ""
    mass_kg: float | None = None
    place: str = ""
    symbols: NumberSymbols = field(default_factory=NumberSymbols)
    kept: str | None = None
    temp_low_c: float | None = None
    temp_high_c: float | None = None

    def __post_init__(self) -> None:
        where = f"label of find {self.find_number}"
        if self.find_kind not in ("registered", "bulk", "sample"):
            raise UnknownName("kind of find", self.find_kind, ["registered", "bulk", "sample"], where=where)
        for state in (self.state, self.kept or self.state):
            if state not in KEPT_WORDS:
                raise UnknownName("state", state, list(KEPT_WORDS), where=where)
        if not 1 <= self.box_n <= self.box_of:
            raise BadInput(
                f"box {self.box_n} of {self.box_of} cannot be", where=where, do="Give n of m with n from 1 to m"
            )
        if (self.easting_m is None) != (self.northing_m is None):
            raise BadInput("the position has only one of easting and northing", where=where, do="Give both or neither")
        if self.easting_m is not None and not self.grid:
            raise BadInput("the position has no grid named", where=where, do="Name the site's grid")
        for name in ("site_code", "find_number", "context", "find_id", "box_id"):
            if not getattr(self, name).strip():
                raise BadInput(
                    f"a label needs its {name.replace('_', ' ')}", where=where, do="Enter it and print again"
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One thing a label says: its role, its text in pieces that stay whole when broken into rows, its weight."""

    role: str
    pieces: tuple[str, ...]
    scale: float = 1.0
    bold: bool = False

    @property
    def text(self) -> str:
        """The whole line."""
        return " ".join(self.pieces).replace("\u00a0", " ")

    def without(self, dropped: tuple[str, ...]) -> Line | None:
        """The line when some things are left out: itself, a shorter one, or nothing."""
        if self.role == "site" and "site name" in dropped:
            return replace(self, pieces=self.pieces[:1])
        return None if self.role in dropped else self


def keep_words(facts: LabelFacts) -> tuple[str, ...]:
    """The words that say how the find is kept: only what is true for the state it is kept in.

    Source
    ------
    [nas-2009] p153: cool, never frozen, dark, as found; the wording is our own.
    """
    return KEPT_WORDS[facts.kept or facts.state]


def handling_lines(facts: LabelFacts) -> tuple[str, ...]:
    """What the planned analyses forbid, as short words ("no bare hands"); a find kept dry is not told "no drying".

    Raises
    ------
    UnknownName: an analysis is not in the table of analyses.

    Source
    ------
    The tables analyses and contact_rules (verdict "forbidden").
    """
    wanted = {analysis_named(name) for name in facts.analyses}
    forbidden = {
        row["contact"]
        for row in table("contact_rules").rows
        if row["verdict"] == "forbidden" and row["analysis"] in wanted
    }
    if (facts.kept or facts.state) == "dry":
        forbidden.discard("drying")
    lines = [words for contact, words in FORBIDDEN_WORDS.items() if contact in forbidden]
    return tuple(lines)


def analysis_named(name: str) -> str:
    """The table's name for an analysis given under any name in use."""
    return find_analysis(name).name


def context_text(facts: LabelFacts) -> str:
    """The context's number in its brackets."""
    left, right = BRACKETS[facts.symbols.context]
    return f"{left}{facts.context}{right}"


def day_text(day: date) -> str:
    """A date that reads the same in every country: 13 Aug 2026."""
    return f"{day.day} {day:%b} {day.year}"


def position_text(facts: LabelFacts) -> str:
    """Easting, northing and level with their grid and datum; empty when there is neither."""
    parts = []
    if facts.easting_m is not None and facts.northing_m is not None:
        parts.append(f"E {facts.easting_m:.3f} N {facts.northing_m:.3f} {facts.grid}")
    if facts.level_m is not None:
        parts.append(f"level {facts.level_m:.3f} m {facts.vertical_datum}".rstrip())
    return ", ".join(parts)


def label_texts(facts: LabelFacts, part: Part) -> tuple[Line, ...]:
    """What one label says beside its number, codes and marks, most needed first.

    Parameters
    ----------
    facts : the find and its box.
    part : inside, lid, end or block.

    Returns
    -------
    Lines in reading order; roles are stable names, used by the order of leaving out.

    Raises
    ------
    UnknownName: no such part, or an analysis that is not in the table.
    """
    if part not in PARTS:
        raise UnknownName("part of a label set", part, list(PARTS))
    lines = [
        Line(role="context", pieces=(context_text(facts),), scale=1.9, bold=True),
        Line(role="site", pieces=(facts.site_code, *_words(facts.site_name)), scale=1.1, bold=True),
        Line(role="identity", pieces=(facts.find_id,), scale=1.15, bold=True),
        Line(role="what", pieces=_words(facts.what), scale=1.2, bold=True),
        Line(role="material", pieces=_words(f"{_plain(facts.material)}, {_state(facts)}")),
    ]
    lines += [Line(role="flag", pieces=_words(flag.upper()), scale=1.25, bold=True) for flag in facts.flags]
    lines.append(Line(role="keep", pieces=_dotted(keep_words(facts)), scale=1.45, bold=True))
    if facts.keep_until:
        until = ("Keep", "until", _glued(day_text(facts.keep_until)))
        lines.append(Line(role="keep until", pieces=until, scale=1.45, bold=True))
    if facts.analyses:
        names = ", ".join(analysis_named(name) for name in facts.analyses)
        handling = handling_lines(facts)
        if handling:
            lines.append(Line(role="handling", pieces=_dotted(handling), scale=1.15, bold=True))
        lines.append(Line(role="analyses", pieces=_words(f"for {names}")))
    lines.append(
        Line(role="box", pieces=(_glued(f"Box {facts.box_id},"), _glued(f"{facts.box_n} of {facts.box_of}")), bold=True)
    )
    packed = _packed(facts)
    lines.append(Line(role="packed", pieces=_words(packed), scale=_WRITTEN_SCALE if "_" in packed else 1.0))
    if position_text(facts) and part in ("inside", "block"):
        lines.append(Line(role="position", pieces=_words(position_text(facts))))
    if facts.mass_kg is not None and part != "block":
        lines.append(Line(role="mass", pieces=(_glued(f"mass {told_mass(facts.mass_kg)}"),)))
    if facts.place and part in ("lid", "end"):
        lines.append(Line(role="place", pieces=_words(facts.place)))
    return tuple(line for line in lines if line.text.strip())


def _state(facts: LabelFacts) -> str:
    """The state, as the one it was found in where it is kept otherwise."""
    return facts.state if facts.kept in (None, facts.state) else f"found {facts.state}"


def _packed(facts: LabelFacts) -> str:
    """When and by whom it was packed, with room to write in what is not known."""
    day = BLANK_DAY if facts.packed_on is None else day_text(facts.packed_on)
    return f"packed {_glued(day)} by {_glued(facts.person.strip() or BLANK_NAME)}"


def _plain(material: str) -> str:
    return material.replace("_", " ")


def _words(text: str) -> tuple[str, ...]:
    return tuple(piece for piece in text.split(" ") if piece)


def _glued(text: str) -> str:
    """Keep a short phrase in one line."""
    return text.replace(" ", "\u00a0")


def _dotted(phrases: tuple[str, ...]) -> tuple[str, ...]:
    """Phrases that stay whole, parted by raised dots."""
    return tuple(_glued(phrase) + (DOT if i < len(phrases) - 1 else "") for i, phrase in enumerate(phrases))
