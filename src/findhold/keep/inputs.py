"""What a forecast is made from: the surroundings, the packed box, its dates and the unit's policy.

Everything is checked when it is put together, so that a forecast never starts from something that cannot be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput, UnknownName
from findhold.tables.keeping import closure, mould_row, wall

Array = npt.NDArray[np.float64]

STATES = ("dry", "damp", "waterlogged")
COLDEST_C, WARMEST_C = -30.0, 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate:
    """Air round the box: a constant, a logged series, or a series followed by a constant."""

    temp_c: float | None
    """Constant temperature; with a series, the temperature after its end (None: the mean of the series)."""
    rh: float | None
    """Constant humidity as a fraction; None with no series_rh: unknown, taken from the prior."""
    series_s: Array | None = None
    """Seconds since packing, increasing; may begin before packing (negative)."""
    series_temp_c: Array | None = None
    series_rh: Array | None = None
    stood_s: float = 0.0
    """Since when it stood in that air, counted from packing [s]; negative for a box that was packed anew there."""
    measured: bool = True
    """False for a series that was not read off a logger all the time, but stated or typed for some of it."""
    swing_k: float | None = None
    """Peak-to-peak swing of the air in the box; None: unknown."""
    cycles_per_day: float | None = None
    barometric_pa_per_day: float | None = None
    wave_k: float | None = None
    """Amplitude of a regular wave of the place's temperature about temp_c, without a series; None: no wave."""
    wave_h: float | None = None
    """Period of that wave; None: a day."""
    lid_colder_k: float | None = None
    """By how much the lid is kept colder than the place, for instance under an evaporator; None: not."""

    def __post_init__(self) -> None:
        if self.temp_c is None and self.series_s is None:
            raise BadInput("no temperature of the place", where="surroundings", do="Give temp_c or a logger file")
        if self.temp_c is not None:
            _temperature("temp_c", self.temp_c)
        if self.rh is not None:
            _fraction("rh", self.rh)
        for name in ("swing_k", "cycles_per_day", "barometric_pa_per_day", "wave_k", "lid_colder_k"):
            value = getattr(self, name)
            if value is not None:
                _not_negative(name, value)
        if self.wave_h is not None:
            _positive("wave_h", self.wave_h)
        if self.series_s is not None:
            _check_series(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """What the unit allows itself; every figure is editable and stands beside the computed limits."""

    policy_days: float = 14.0
    """Longest hold from first exposure (common practice; no published limit found)."""
    water_loss_fraction: float = 0.02
    """Share of the water that may be lost (judgement)."""
    drip_mm: float = 1.0
    """Water that may drip on the find from the lid, as a layer over its plan (judgement)."""
    growth_index: float = 1.0
    """Growth index that ends a hold: 1 is first growth under the microscope."""
    growth_time_gsd: float = 2.0
    """Spread of the growth model's time (judgement); 1 leaves it out."""
    warm_c: float = 8.0
    """A damp find's place must not be warmer."""
    warm_spell_h: float = 1.0
    """A spell shorter than this is a door opened, not a warm place (judgement)."""
    cold_note_c: float = 2.0
    """Below this the forecast warns of frost."""
    freeze_c: float = 0.0
    """Below this the place is too cold to hold a wet find in."""
    weighing_sd_g: float = 0.3
    """Standard deviation of one weighing of a box that was not kept cold and wiped (judgement)."""
    decline_factor: float = 0.1
    """How readily the index falls again in dry air: 0.1 hardly, 1 strongly."""
    horizon_days: float = 400.0
    """How far ahead limits are looked for."""

    def __post_init__(self) -> None:
        for name in ("policy_days", "growth_index", "horizon_days", "water_loss_fraction", "drip_mm"):
            _positive(name, getattr(self, name))
        for name in ("weighing_sd_g", "decline_factor", "warm_spell_h"):
            _not_negative(name, getattr(self, name))
        _fraction("water_loss_fraction", self.water_loss_fraction)
        if self.growth_time_gsd < 1.0:
            raise BadInput(
                f"growth_time_gsd is {self.growth_time_gsd:g}",
                where="policy",
                limit="1 (no spread) or more",
                do="Give 1 to leave the spread out, 2 for the default",
            )
        if not self.freeze_c <= self.cold_note_c < self.warm_c:
            raise BadInput(
                "the policy's temperatures are out of order",
                where="policy",
                limit="freeze_c ≤ cold_note_c < warm_c",
                do="Mend them in the settings",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldInputs:
    """One hold as packed, in plain values."""

    find_class: str
    wrapping_class: str | None
    """None: no wrapping that could feed growth."""
    state: str
    block_m: tuple[float, float, float]
    block_mass_kg: float
    block_water_kg: float
    wrapping_dry_kg: float
    wrapping_water_kg: float
    cushion_m: float
    box_inside_m: tuple[float, float, float]
    wall: str
    wall_m: float
    lid_air_changes_per_day: float | None
    climate: Climate
    exposed_at: datetime
    packed_at: datetime
    open_at: datetime | None
    find_temp_c: float
    gross_mass_kg: float
    gross_spread_kg: tuple[float, float] = (0.0, 0.0)
    """How much less and how much more the packed box may weigh before it was weighed (a bag filled until covered)."""
    check_at: tuple[datetime, ...] = ()
    policy: Policy = field(default_factory=Policy)
    packing_m3: float = 0.0
    """Volume of bed and cushion that keeps its own air and so does not breathe."""
    headspace_rh: float | None = None
    """Humidity in the box; None: saturated for a damp find, that of the place for a dry one."""
    submerged: bool = False
    """True when the find lies under water: growth in air does not end its hold; growth under water is not modelled."""
    wrapping_renewed_at: datetime | None = None
    """When fresh wrapping is put in, which starts the wrapping's growth clock again."""
    lid_spread: tuple[float, ...] | None = None
    """Factors on the lid's air changes at evenly spaced shares of probability, as weighing taught them; None: the
    spread of the prior."""

    closure: str = "lid"
    """How the find is closed in: a name of closures.csv; wall and lid count as that closure says."""
    openings: tuple[datetime, ...] = ()
    """When the box is opened and its air exchanged for that of the place; a check alone does not open it."""
    paperwork: tuple[tuple[str, date | datetime], ...] = ()
    """Deadlines that are not physics: a report due, a licence that ends, a booking; a day counts to its end."""
    lost_kg: float = 0.0
    """Water that weighing found gone beyond what the lid lets out, by `lost_at`."""
    lost_at: datetime | None = None
    absorbent_g: float = 0.0
    """Water that an absorbent under the lid takes up before anything drips."""

    def __post_init__(self) -> None:
        _check_names(self)
        _check_sizes(self)
        _check_masses(self)
        _check_dates(self)

    @property
    def water_kg(self) -> float:
        """Water in the block and its wrapping [kg]."""
        return self.block_water_kg + self.wrapping_water_kg

    @property
    def box_volume_m3(self) -> float:
        """Inside volume of the empty box [m3]."""
        return math.prod(self.box_inside_m)

    @property
    def headspace_m3(self) -> float:
        """Air in the packed box that breathes [m3]."""
        return self.box_volume_m3 - math.prod(self.block_m) - self.packing_m3


def seconds_between(early: datetime, late: datetime) -> float:
    """Elapsed seconds between two instants, whatever clocks were put forward or back in between."""
    return (late.astimezone(UTC) - early.astimezone(UTC)).total_seconds()


def _positive(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise BadInput(f"{name} is {value:g}", where=name, limit="a number above 0", do="Measure it and enter it again")


def _not_negative(name: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0.0):
        raise BadInput(f"{name} is {value:g}", where=name, limit="0 or more", do="Measure it and enter it again")


def _fraction(name: str, value: float) -> None:
    if math.isfinite(value) and 0.0 <= value <= 1.0:
        return
    per_cent = 1.0 < value <= 100.0
    do = f"Did you mean {value / 100.0:g}?" if per_cent else "Enter it as a fraction"
    raise BadInput(f"{name} is {value:g}; it is a fraction, not per cent", where=name, limit="0 to 1", do=do)


def _temperature(name: str, value: float) -> None:
    if not (math.isfinite(value) and COLDEST_C <= value <= WARMEST_C):
        raise BadInput(
            f"{name} is {value:g} °C",
            where=name,
            limit=f"{COLDEST_C:g} to {WARMEST_C:g} °C",
            do="Enter the temperature in degrees Celsius",
        )


def _check_series(climate: Climate) -> None:
    if climate.series_s is None or climate.series_temp_c is None:
        raise BadInput("a series has times but no temperatures", where="surroundings", do="Give both columns")
    lengths = {len(part) for part in (climate.series_s, climate.series_temp_c, climate.series_rh) if part is not None}
    if len(lengths) != 1 or len(climate.series_s) < 2:
        raise BadInput(
            "the columns of the logger series differ in length or hold fewer than two readings",
            where="surroundings",
            do="Give one temperature for each time",
        )
    if not np.all(np.diff(climate.series_s) > 0.0):
        at = int(np.argmin(np.diff(climate.series_s))) + 2
        raise BadInput(
            f"reading {at} of the logger series is not later than the one before",
            where="surroundings",
            do="Sort the readings and take out doubles",
        )
    for value in (float(np.min(climate.series_temp_c)), float(np.max(climate.series_temp_c))):
        _temperature("series_temp_c", value)
    if climate.series_rh is not None:
        for value in (float(np.max(climate.series_rh)), float(np.min(climate.series_rh))):
            _fraction("series_rh", value)


def _check_names(inputs: HoldInputs) -> None:
    if inputs.state not in STATES:
        raise UnknownName("state of a find", inputs.state, list(STATES), where="state")
    mould_row(inputs.find_class, where="find_class")
    if inputs.wrapping_class is not None:
        mould_row(inputs.wrapping_class, where="wrapping_class")
    if closure(inputs.closure).opening != "all":
        wall(inputs.wall)
    _temperature("find_temp_c", inputs.find_temp_c)
    if inputs.headspace_rh is not None:
        _fraction("headspace_rh", inputs.headspace_rh)


def _check_sizes(inputs: HoldInputs) -> None:
    for name in ("block_m", "box_inside_m"):
        for side in getattr(inputs, name):
            _positive(name, side)
    _positive("wall_m", inputs.wall_m)
    _not_negative("cushion_m", inputs.cushion_m)
    _not_negative("packing_m3", inputs.packing_m3)
    _not_negative("absorbent_g", inputs.absorbent_g)
    if inputs.lid_air_changes_per_day is not None:
        _not_negative("lid_air_changes_per_day", inputs.lid_air_changes_per_day)
    if inputs.lid_spread is not None:
        _check_spread(inputs.lid_spread)
    fits = all(a <= b for a, b in zip(sorted(inputs.block_m), sorted(inputs.box_inside_m), strict=True))
    if not fits:
        raise BadInput(
            f"the block, {_sides(inputs.block_m)}, does not go into the box",
            where="block_m",
            limit=f"inside of the box, {_sides(inputs.box_inside_m)}",
            do="Choose a larger box or measure the block again",
        )
    if inputs.headspace_m3 <= 0.0:
        raise BadInput(
            f"block and packing leave no air in the box ({1000.0 * inputs.headspace_m3:.2f} litres)",
            where="packing_m3",
            limit=f"less than {1000.0 * inputs.box_volume_m3:.2f} litres together",
            do="Choose a larger box, or enter the volume of the packing again",
        )


def _check_spread(factors: tuple[float, ...]) -> None:
    rising = all(0.0 <= low <= high for low, high in pairwise(factors))
    if len(factors) < 2 or not rising or not math.isfinite(factors[-1]):
        raise BadInput(
            "the spread of the lid is not a rising row of factors",
            where="lid_spread",
            limit="two or more finite factors, 0 or more, in rising order",
            do="Leave it out to use the spread of the prior",
        )


def _sides(sides_m: tuple[float, float, float]) -> str:
    return " × ".join(f"{1000.0 * side:.0f}" for side in sides_m) + " mm"


def _check_gross_spread(inputs: HoldInputs) -> None:
    if not all(0.0 <= edge < inputs.gross_mass_kg for edge in inputs.gross_spread_kg):
        low, high = inputs.gross_spread_kg
        raise BadInput(
            f"the packed box may weigh {low:g} kg less or {high:g} kg more",
            where="gross_spread_kg",
            limit="0 kg or more, and less than the packed box",
            do="Plan the box again",
        )


def _check_masses(inputs: HoldInputs) -> None:
    _positive("block_mass_kg", inputs.block_mass_kg)
    _positive("gross_mass_kg", inputs.gross_mass_kg)
    for name in ("block_water_kg", "wrapping_dry_kg", "wrapping_water_kg"):
        _not_negative(name, getattr(inputs, name))
    if inputs.block_water_kg >= inputs.block_mass_kg:
        raise BadInput(
            f"the block holds {inputs.block_water_kg:g} kg of water but weighs {inputs.block_mass_kg:g} kg",
            where="block_water_kg",
            limit="less than the mass of the block",
            do="Weigh the block again or enter its water content per dry mass",
        )
    _check_gross_spread(inputs)
    inside = inputs.block_mass_kg + inputs.wrapping_dry_kg + inputs.wrapping_water_kg
    if inputs.gross_mass_kg < inside * (1.0 - 1e-9):
        raise BadInput(
            f"the packed box weighs {inputs.gross_mass_kg:g} kg, less than what is in it",
            where="gross_mass_kg",
            limit=f"at least {inside:.4g} kg (block and wrapping)",
            do="Weigh the box as packed",
        )
    if inputs.state == "dry" and inputs.wrapping_water_kg > 0.0:
        raise BadInput(
            "a dry find is packed in damp wrapping",
            where="wrapping_water_kg",
            limit="0 kg for a dry find",
            do="Take the damp wrapping out, or enter the find as damp",
        )
    if inputs.state != "dry" and inputs.water_kg <= 0.0:
        raise BadInput(
            f"a {inputs.state} find with no water in block or wrapping",
            where="block_water_kg",
            limit="above 0 kg",
            do="Enter the water content, or enter the find as dry",
        )


def _check_dates(inputs: HoldInputs) -> None:
    named = {"exposed_at": inputs.exposed_at, "packed_at": inputs.packed_at}
    optional = {"open_at": inputs.open_at, "wrapping_renewed_at": inputs.wrapping_renewed_at}
    named |= {name: when for name, when in optional.items() if when is not None}
    named |= {f"check_at {place}": when for place, when in enumerate(inputs.check_at, 1)}
    named |= {f"openings {place}": when for place, when in enumerate(inputs.openings, 1)}
    papers = {f"paperwork {name}": when for name, when in inputs.paperwork if isinstance(when, datetime)}
    for name, when in (named | papers).items():
        if when.utcoffset() is None:
            raise BadInput(
                f"{name} {when.isoformat(timespec='minutes')} has no zone",
                where=name,
                do=f"Write the site's offset with it, e.g. {when.isoformat(timespec='minutes')}+01:00",
            )
    if seconds_between(inputs.exposed_at, inputs.packed_at) < 0.0:
        raise BadInput(
            "the find was packed before it was exposed",
            where="packed_at",
            limit=f"not before {inputs.exposed_at.isoformat(timespec='minutes')}",
            do="Mend packed_at or exposed_at",
        )
    for name, when in named.items():
        if name != "exposed_at" and seconds_between(inputs.packed_at, when) < 0.0:
            raise BadInput(
                f"{name} {when.isoformat(timespec='minutes')} is before the packing",
                where=name,
                limit=f"not before {inputs.packed_at.isoformat(timespec='minutes')}",
                do=f"Mend {name} or packed_at",
            )
