"""The ensemble's inputs: one array an assumption, the best run first."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from findhold.keep.inputs import Array, HoldInputs
from findhold.physics.band import even_normal, even_uniform
from findhold.tables.keeping import Prior, closure, priors, wall


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """Inputs of all runs, each of shape (members + 1,); element 0 is the best run.

    lid_air_changes [1/d], p25 [kg/(m s Pa)], activation_j_per_mol [J/mol], cycles_per_day [1/d],
    barometric_pa_per_day [Pa/d].
    """

    lid_air_changes: Array
    rh_offset: Array
    """Added to the humidity of the place [fraction]."""
    temp_offset_k: Array
    """Added to the temperature of the place [K]."""
    p25: Array
    activation_j_per_mol: Array
    wall_m: Array
    swing_k: Array
    cycles_per_day: Array
    barometric_pa_per_day: Array
    water_kg: Array
    growth_time: Array
    """Factor on the time growth takes [1]."""
    heat_path: Array
    """Factor on the thermal resistance round the block [1]."""
    inner_path: Array
    """Factor on the vapour conductance from contents to headspace [1]."""
    wrapping_exchange_h: Array
    """Time in which wrapping and block share water."""
    open_film: Array
    """Factor on the film of air over an opening [1]."""
    reading_g: Array
    """Error of the difference of two weighings [g]; 0 in the best run."""

    @property
    def members(self) -> int:
        """Size of the ensemble, the best run not counted."""
        return len(self.growth_time) - 1

    def inputs(self) -> dict[str, Array]:
        """The varied inputs by the words a person reads, ensemble only; held ones are left out."""
        words = priors()
        by_prior = {
            "lid_air_changes": self.lid_air_changes,
            "outside_rh": self.rh_offset,
            "outside_temp": self.temp_offset_k,
            "permeability": self.p25,
            "activation": self.activation_j_per_mol,
            "wall_thickness": self.wall_m,
            "swing_k": self.swing_k,
            "cycles_per_day": self.cycles_per_day,
            "barometric": self.barometric_pa_per_day,
            "start_water": self.water_kg,
            "growth_time": self.growth_time,
            "heat_path": self.heat_path,
            "inner_path": self.inner_path,
            "wrapping_exchange": self.wrapping_exchange_h,
            "open_film": self.open_film,
        }
        return {words[key].words: value[1:] for key, value in by_prior.items() if np.ptp(value[1:]) > 0.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Barrier:
    """What stands between the find's air and the place: the wall of the box, or the film of a bag.

    p25 [kg/(m s Pa)], thickness_m, activation energies [J/mol]: activation_j_per_mol, activation_low [J/mol],
    activation_high [J/mol].
    """

    name: str
    p25: float
    thickness_m: float
    activation_j_per_mol: float
    activation_low: float
    activation_high: float
    sources: tuple[str, ...]
    remembered: bool


def barrier(inputs: HoldInputs) -> Barrier:
    """The barrier of a hold's closure."""
    row = closure(inputs.closure)
    if row.permeance is not None or row.opening == "all":
        # Only the permeance is known, or nothing is: a millimetre that passes just that at any temperature.
        permeance = row.permeance or 0.0
        return Barrier(
            name=row.name,
            p25=1e-3 * permeance,
            thickness_m=1e-3,
            activation_j_per_mol=0.0,
            activation_low=0.0,
            activation_high=0.0,
            sources=(row.source,),
            remembered=False,
        )
    material = wall(row.material or inputs.wall)
    return Barrier(
        name=material.name,
        p25=material.p25,
        thickness_m=row.film_m or inputs.wall_m,
        activation_j_per_mol=material.activation_j_per_mol,
        activation_low=material.activation_low,
        activation_high=material.activation_high,
        sources=tuple(dict.fromkeys((row.source, *material.sources))),
        remembered=material.remembered,
    )


def draw(inputs: HoldInputs, members: int, seed: int) -> Draws:
    """Draw the inputs of all runs.

    The same seed gives the same underlying draws whatever is stated, so that two forecasts that differ in one input
    can be compared.

    Parameters
    ----------
    inputs : the hold.
    members : size of the ensemble, at least 1.
    seed : of the generator.

    Returns
    -------
    The draws, best run first.

    Source
        Priors: table keep_priors.csv.
    """
    rng = np.random.default_rng(seed)
    normal = {
        name: even_normal(rng, members) for name in ("lid", "temp", "rh", "p25", "wall", "time", "heat", "reading")
    }
    uniform = {name: even_uniform(rng, members) for name in ("activation", "swing", "cycles", "barometric", "water")}
    beta = rng.beta(4.5, 3.0, members)
    later = {name: even_normal(rng, members) for name in ("inner", "exchange", "open")}
    prior, climate, material = priors(), inputs.climate, barrier(inputs)
    lid = inputs.lid_air_changes_per_day
    lid = prior["lid_air_changes"].centre if lid is None else lid
    logged = climate.series_s is not None and climate.measured
    temp_sd_k = prior["outside_temp_logged" if logged else "outside_temp"].spread
    spread_j = material.activation_high - material.activation_low
    return Draws(
        lid_air_changes=_first(lid, lid * _lid_factors(inputs, normal["lid"], prior["lid_air_changes"].spread)),
        rh_offset=_first(0.0, _humidity(inputs, normal["rh"], beta)),
        temp_offset_k=_first(0.0, temp_sd_k * normal["temp"]),
        p25=_first(material.p25, material.p25 * _lognormal(normal["p25"], prior["permeability"].spread)),
        activation_j_per_mol=_first(
            material.activation_j_per_mol, material.activation_low + spread_j * uniform["activation"]
        ),
        wall_m=_first(
            material.thickness_m,
            material.thickness_m * np.maximum(1.0 + prior["wall_thickness"].spread * normal["wall"], 0.2),
        ),
        swing_k=_stated_or(climate.swing_k, prior["swing_k"], uniform["swing"]),
        cycles_per_day=_stated_or(climate.cycles_per_day, prior["cycles_per_day"], uniform["cycles"]),
        barometric_pa_per_day=_stated_or(climate.barometric_pa_per_day, prior["barometric"], uniform["barometric"]),
        water_kg=inputs.water_kg * _stated_or(None, prior["start_water"], uniform["water"]),
        growth_time=_first(1.0, _lognormal(normal["time"], inputs.policy.growth_time_gsd)),
        heat_path=_first(1.0, _lognormal(normal["heat"], prior["heat_path"].spread)),
        inner_path=_first(1.0, _lognormal(later["inner"], prior["inner_path"].spread)),
        wrapping_exchange_h=prior["wrapping_exchange"].centre
        * _first(1.0, _lognormal(later["exchange"], prior["wrapping_exchange"].spread)),
        open_film=_first(1.0, _lognormal(later["open"], prior["open_film"].spread)),
        reading_g=_first(0.0, math.sqrt(2.0) * inputs.policy.weighing_sd_g * normal["reading"]),
    )


def outside_rh_best(inputs: HoldInputs) -> float:
    """Humidity of the place in the best run where no series gives it: as stated, or the median of the prior."""
    stated = inputs.climate.rh
    return priors()["outside_rh"].centre if stated is None else stated


def _first(best: float, ensemble: Array) -> Array:
    """The best run's value before the ensemble's."""
    return np.concatenate(([best], ensemble))


def _lognormal(normal: Array, gsd: float) -> Array:
    """Factors with median 1 and a geometric standard deviation."""
    return np.asarray(np.exp(math.log(gsd) * normal))


def _lid_factors(inputs: HoldInputs, normal: Array, gsd: float) -> Array:
    """Factors on the lid's air changes: as weighing taught them, else lognormal."""
    if inputs.lid_spread is None:
        return _lognormal(normal, gsd)
    count = len(inputs.lid_spread)
    share = (np.argsort(np.argsort(normal)) + 0.5) / len(normal)
    return np.interp(share, (np.arange(count) + 0.5) / count, inputs.lid_spread)


def _stated_or(stated: float | None, prior: Prior, uniform: Array) -> Array:
    """A stated value held for all runs, or the prior's centre and its uniform range."""
    if stated is not None:
        return np.full(len(uniform) + 1, stated)
    return _first(prior.centre, prior.low + (prior.high - prior.low) * uniform)


def _humidity(inputs: HoldInputs, normal: Array, beta: Array) -> Array:
    """Deviations of the humidity outside from the best run's."""
    if inputs.climate.series_rh is not None:
        return np.asarray(priors()["outside_rh_stated"].spread * normal)
    if inputs.climate.rh is not None:
        drawn = inputs.climate.rh + priors()["outside_rh_stated"].spread * normal
        return np.asarray(np.clip(drawn, 0.0, 1.0) - inputs.climate.rh)
    prior = priors()["outside_rh"]
    return np.asarray(prior.low + (prior.high - prior.low) * beta - prior.centre)
