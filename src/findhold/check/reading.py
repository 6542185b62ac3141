"""One weighing as a person gave it, and how good it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from findhold.errors import BadInput, UnknownName
from findhold.tables.load import table

FINEST_BALANCE_G, COARSEST_BALANCE_G = 0.0001, 1000.0


def rule(name: str) -> float:
    """A rule of the weighings by its name, in the unit the table gives [unit of the rule]."""
    return float(table("weighing_rules").by("rule")[name]["value"])


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One weighing as a person gave it.

    typed_step_g is the last digit typed; wiped None means that nobody said; opened: the lid was off since the reading
    before; water_g was put in with it.
    """

    at: datetime
    mass_kg: float
    typed_step_g: float
    unit: str
    balance_g: float
    wiped: bool | None = None
    opened: bool = False
    water_g: float = 0.0
    look: str = ""
    """What was seen; "" when nobody looked or said."""

    def __post_init__(self) -> None:
        if not FINEST_BALANCE_G <= self.balance_g <= COARSEST_BALANCE_G:
            raise BadInput(
                f"a balance that shows {self.balance_g:g} g",
                where="--balance",
                limit=f"{FINEST_BALANCE_G:g} to {COARSEST_BALANCE_G:g} g, its last digit",
                do="Give the last digit of the balance in grams, for example 1 or 0.1",
            )
        if not (math.isfinite(self.water_g) and self.water_g >= 0.0):
            raise BadInput(
                f"{self.water_g:g} g of water added",
                where="--water",
                limit="0 g or more",
                do="Give the water put in, in grams; what was taken out shows in the weighing",
            )
        if self.look and self.look not in looks():
            raise UnknownName("look", self.look, list(looks()), where="--look")

    @property
    def touched(self) -> bool:
        """True when the box is no longer what it was: opened, or given water."""
        return self.opened or self.water_g > 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """The outside of a box, which dew settles on [m2], and the air in it, which is heavier when cold [m3]."""

    area_m2: float
    air_m3: float


def looks() -> tuple[str, ...]:
    """What can be seen at a check."""
    return tuple(dict.fromkeys(row["look"] for row in table("weighing_looks").rows))


def reading_sd_kg(reading: Reading, outside: Outside, unsaid_g: float) -> float:
    """Standard deviation of a reading, from the balance and from how the box was weighed.

    Parameters
    ----------
    reading : the weighing.
    outside : of the box.
    unsaid_g : of a box of which nobody said whether it was cold and wiped (the unit's policy).

    Returns
    -------
    Balance, rounding of what was typed, and the box's own: 0.05 g cold and wiped; dew and cold air when not [kg].

    Source
        Table weighing_rules.csv; a 0.01 mm film on 0.22 m2 weighs 2.2 g, 4.5 litres of air at 4 and 20 degC differ by
        0.3 g. Errors are independent and add as squares.
    """
    balance_g = rule("balance_sd_share") * reading.balance_g
    rounding_g = reading.typed_step_g / math.sqrt(12.0) if reading.typed_step_g > reading.balance_g else 0.0
    if reading.wiped is None:
        box_g = max(unsaid_g, rule("wiped_sd_g"))
    elif reading.wiped:
        box_g = rule("wiped_sd_g")
    else:
        dew_g = rule("dew_film_um") * outside.area_m2
        box_g = math.hypot(dew_g, rule("cold_air_g_per_l") * 1000.0 * outside.air_m3)
    return math.hypot(balance_g, rounding_g, box_g) / 1000.0


def opening_sd_kg(reading: Reading) -> float:
    """What opening a box and adding water leaves unknown of its mass; 0 for a box left closed [kg]."""
    if not reading.touched:
        return 0.0
    return math.hypot(rule("opening_sd_g"), rule("dose_sd_share") * reading.water_g) / 1000.0
