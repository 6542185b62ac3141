"""Typed reading of the keeping tables: walls, lids, mould classes, heat properties, priors.

Unknown names give near names and are never taken for something else.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from findhold.errors import BadInput, UnknownName
from findhold.tables.load import number, table


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A wall material: permeability at 25 degC p25 [kg/(m s Pa)] and its activation energy.

    activation_j_per_mol [J/mol], with the range activation_low to activation_high [J/mol].
    """

    name: str
    p25: float
    activation_j_per_mol: float
    activation_low: float
    activation_high: float
    sources: tuple[str, ...]
    remembered: bool
    """True when the figure comes from memory or is a judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What the ensemble assumes of one input, in the unit the table gives, and the words a person reads.

    centre [unit of the input], spread [unit of the input, or 1 for a geometric one].
    """

    name: str
    centre: float
    spread: float
    low: float
    high: float
    words: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldRow:
    """One sensitivity class as tabled: k1_below [1], k1_above [1], a [1], b [1], c [1], rh_min [fraction]."""

    name: str
    k1_below: float
    k1_above: float
    a: float
    b: float
    c: float
    rh_min: float
    examples: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LidClass:
    """A class of lid: air_changes_per_day on the empty box [1/d]."""

    name: str
    air_changes_per_day: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureRow:
    """A way of closing a find in: what stands in the place of the wall, and what is open.

    permeance [kg/(m2 s Pa)], convection [W/(m2 K)].
    """

    name: str
    material: str | None
    """Film in the place of the box's wall; None: the wall itself, or the permeance."""
    film_m: float | None
    permeance: float | None
    opening: str
    """none, top or all."""
    neck_m: float | None
    convection: float | None
    lid: bool
    breathes: bool
    inner_bag: str | None
    words: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowthLaw:
    """A law of growth against temperature: q10 [1], activation_kj_per_mol, temperatures of its curve."""

    name: str
    law: str
    temp_min_c: float
    temp_opt_c: float
    temp_max_c: float
    q10: float
    activation_kj_per_mol: float
    source: str


@cache
def walls() -> dict[str, Wall]:
    """Wall materials by name; a material without a figure (no barrier) is not among them."""
    return {row["name"]: _wall(row) for row in table("permeability").rows if row["p25"]}


def wall(name: str) -> Wall:
    """One wall material by name or alias, upper or lower case.

    Raises
    ------
    UnknownName : not in the table.
    BadInput : in the table as no barrier to vapour.
    """
    names: dict[str, str] = {}
    for row in table("permeability").rows:
        for word in (row["name"], *row["aliases"].split(";")):
            names[word.casefold()] = row["name"]
    found = names.get(name.strip().casefold())
    if found is None:
        raise UnknownName("wall material", name, sorted({*names, *walls()}))
    if found not in walls():
        raise BadInput(
            f"a wall of {found} lets vapour through freely and no figure for it was found",
            where="wall",
            limit=", ".join(walls()),
            do="Use a plastic box, or give the plastic bag or liner as the wall",
        )
    return walls()[found]


@cache
def mould_rows() -> dict[str, MouldRow]:
    """Sensitivity classes by name, most sensitive first."""
    return {row["name"]: _mould_row(row) for row in table("mould_classes").rows}


def mould_row(name: str, *, where: str = "") -> MouldRow:
    """One sensitivity class by name; raises UnknownName with near names."""
    known = mould_rows()
    if name not in known:
        raise UnknownName("mould sensitivity class", name, list(known), where=where)
    return known[name]


@cache
def lid_classes() -> dict[str, LidClass]:
    """Lid classes by name, tightest first."""
    return {
        row["name"]: LidClass(
            name=row["name"], air_changes_per_day=float(row["air_changes_per_day"]), source=row["source"]
        )
        for row in table("lid_classes").rows
    }


def lid_class(name: str) -> LidClass:
    """One lid class by name; raises UnknownName with near names."""
    known = lid_classes()
    if name not in known:
        raise UnknownName("lid class", name, list(known))
    return known[name]


@cache
def closures() -> dict[str, ClosureRow]:
    """Ways of closing a find in, by name."""
    return {row["name"]: _closure(row) for row in table("closures").rows}


@cache
def closure(name: str) -> ClosureRow:
    """One way of closing by name or alias, upper or lower case; raises UnknownName with near names."""
    names = {
        word.casefold(): row["name"]
        for row in table("closures").rows
        for word in (row["name"], *row["aliases"].split(";"))
    }
    found = names.get(name.strip().casefold())
    if found is None:
        raise UnknownName("closure", name, sorted({*names, *closures()}), where="closure")
    return closures()[found]


@cache
def growth_laws() -> tuple[GrowthLaw, ...]:
    """Laws of growth against temperature; a figure that a law does not use is nan."""

    def figure(text: str) -> float:
        value = number(text)
        return float("nan") if value is None else value

    return tuple(
        GrowthLaw(
            name=row["name"],
            law=row["law"],
            temp_min_c=figure(row["temp_min_c"]),
            temp_opt_c=figure(row["temp_opt_c"]),
            temp_max_c=figure(row["temp_max_c"]),
            q10=figure(row["q10"]),
            activation_kj_per_mol=figure(row["activation"]),
            source=row["source"],
        )
        for row in table("growth_laws").rows
    )


@cache
def thermal(name: str) -> float:
    """A heat property by name, in the unit the table gives; raises UnknownName."""
    known = table("thermal").by("name")
    if name not in known:
        raise UnknownName("heat property", name, list(known))
    return float(known[name]["value"])


@cache
def priors() -> dict[str, Prior]:
    """The ensemble's assumptions by name; a figure that does not apply is nan."""
    return {row["name"]: _prior(row) for row in table("keep_priors").rows}


def _wall(row: dict[str, str]) -> Wall:
    return Wall(
        name=row["name"],
        p25=float(row["p25"]),
        activation_j_per_mol=1000.0 * float(row["e_best"]),
        activation_low=1000.0 * float(row["e_low"]),
        activation_high=1000.0 * float(row["e_high"]),
        sources=tuple(dict.fromkeys((row["source"], row["e_source"]))),
        remembered=row["seen"] in ("memory", "judgement"),
    )


def _closure(row: dict[str, str]) -> ClosureRow:
    film_mm = number(row["film_mm"])
    return ClosureRow(
        name=row["name"],
        material=row["material"] or None,
        film_m=None if film_mm is None else film_mm / 1000.0,
        permeance=number(row["permeance"]),
        opening=row["opening"],
        neck_m=number(row["neck_m"]),
        convection=number(row["convection"]),
        lid=row["lid"] == "1",
        breathes=row["breathes"] == "1",
        inner_bag=row["inner_bag"] or None,
        words=row["words"],
        source=row["source"],
    )


def _mould_row(row: dict[str, str]) -> MouldRow:
    return MouldRow(
        name=row["name"],
        k1_below=float(row["k1_below"]),
        k1_above=float(row["k1_above"]),
        a=float(row["a"]),
        b=float(row["b"]),
        c=float(row["c"]),
        rh_min=float(row["rh_min"]),
        examples=row["examples"],
        source=row["source"],
    )


def _prior(row: dict[str, str]) -> Prior:
    def figure(column: str) -> float:
        value = number(row[column])
        return float("nan") if value is None else value

    return Prior(
        name=row["name"],
        centre=figure("centre"),
        spread=figure("spread"),
        low=figure("low"),
        high=figure("high"),
        words=row["words"],
        source=row["source"],
    )
