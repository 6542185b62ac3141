"""What the unit has chosen: policy of the hold, packing defaults, number symbols, label stock; all in settings.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field, fields, replace
from functools import cache
from typing import Any, TypeVar

from findhold.errors import BadInput, near_names
from findhold.keep.inputs import Policy
from findhold.label.wording import NumberSymbols
from findhold.lift.inputs import LiftDefaults, lift_defaults
from findhold.pack.inputs import PackDefaults, pack_defaults
from findhold.service.scenario import check_section
from findhold.service.settings import settings_file
from findhold.tables.crates import CrateDefaults, crate_defaults
from findhold.tables.storing import StoreDefaults, store_defaults

T = TypeVar("T")
DEFAULT_LABEL_STOCK = "A4 2 x 4"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """Every editable default with the unit's own figures in place."""

    policy: Policy = field(default_factory=Policy)
    packing: PackDefaults = field(default_factory=pack_defaults)
    lift: LiftDefaults = field(default_factory=lift_defaults)
    numbers: NumberSymbols = field(default_factory=NumberSymbols)
    crates: CrateDefaults = field(default_factory=crate_defaults)
    stores: StoreDefaults = field(default_factory=store_defaults)
    label_stock: str = DEFAULT_LABEL_STOCK
    cushion: dict[str, Any] = field(default_factory=dict)
    """Keys of [cushion] as in a scenario file; empty = the bed is a seat only."""


@cache
def _sections() -> dict[str, Callable[[], Any]]:
    return {
        "policy": Policy,
        "packing": pack_defaults,
        "lift": lift_defaults,
        "numbers": NumberSymbols,
        "crates": crate_defaults,
        "stores": store_defaults,
    }


def read_choices() -> Choices:
    """The choices in settings.toml; raises BadInput for an unknown or impossible one."""
    file = settings_file()
    values = tomllib.loads(file.read_text(encoding="utf-8")) if file.is_file() else {}
    made = {name: _with(name, make(), values.get(name, {})) for name, make in _sections().items()}
    stock = values.get("labels", {}).get("stock", DEFAULT_LABEL_STOCK)
    cushion = values.get("cushion", {})
    if cushion:
        check_section("cushion", cushion, file.name)
    return Choices(**made, label_stock=str(stock), cushion=cushion)


def _with(section: str, base: T, given: dict[str, Any]) -> T:
    known = [item.name for item in fields(base)]  # type: ignore[arg-type]  # the three are dataclasses
    for key, value in given.items():
        if key not in known:
            near = near_names(key, known)
            raise BadInput(
                f"unknown setting {key!r}",
                where=f"settings.toml [{section}]",
                limit=", ".join(known),
                do=f"Did you mean {near[0]}?" if near else "Remove the line",
            )
        wanted = type(getattr(base, key))
        if not isinstance(value, int if wanted is int else (int, float) if wanted is float else wanted):
            raise BadInput(
                f"{key} is {value!r}", where=f"settings.toml [{section}]", limit=wanted.__name__, do="Mend the line"
            )
    return replace(base, **given)  # type: ignore[type-var]
