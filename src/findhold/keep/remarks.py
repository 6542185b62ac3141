"""The words that go with a forecast: what was assumed, what to watch, which sources it rests on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from findhold.keep.draws import Draws, barrier
from findhold.keep.inputs import HoldInputs
from findhold.keep.response import Response
from findhold.physics.band import time_above_s
from findhold.physics.heat import biot_number
from findhold.tables.keeping import closure, mould_row, priors, thermal

LONGEST_GAP_H = 6.0
"""A logger silent for longer is mentioned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Water of the best run at the instant of the figures."""

    loss_kg: float
    moved_kg: float
    drip_kg: float


def assumptions(inputs: HoldInputs, draws: Draws) -> tuple[str, ...]:
    """What the best run assumes where nothing was stated, and what the spread about it is made of."""
    prior, climate = priors(), inputs.climate
    said = []
    if inputs.lid_air_changes_per_day is None:
        said.append(
            f"lid unknown: {draws.lid_air_changes[0]:g} air changes a day, within a factor of 3 or so either way"
        )
    if climate.rh is None and climate.series_rh is None:
        rh = prior["outside_rh"]
        said.append(f"humidity of the place unknown: {rh.centre:.0%}, between {rh.low:.0%} and {rh.high:.0%}")
    if climate.series_s is None:
        said.append(
            f"temperature of the place known to {prior['outside_temp'].spread:g} K; 119 household refrigerators "
            "averaged 6.6 °C, from 0.9 to 11.4 °C"
        )
    elif climate.temp_c is None:
        said.append("after the last logged reading the place stays at the mean of the readings")
    if climate.swing_k is None or climate.cycles_per_day is None:
        said.append(
            f"air in the box swings by {draws.swing_k[0]:g} K, {draws.cycles_per_day[0]:g} times a day, "
            f"barometer {draws.barometric_pa_per_day[0]:g} Pa a day"
        )
    material = barrier(inputs)
    if material.remembered:
        said.append(f"permeability of {material.name} is from memory, no source was seen")
    if inputs.state != "dry" and inputs.headspace_rh is None:
        said.append("the air in the box is saturated: wet wrapping and soil keep it so until the free water is gone")
    row = closure(inputs.closure)
    if row.name != "lid":
        said.append(f"closed in as {row.words}; its figures: {row.source}")
    if inputs.state != "dry" and row.opening in ("none", "top"):
        said.append(
            "vapour passes the cushion as still air does, within a factor of 2: water that moves inside is known to "
            "that, water that leaves much better"
        )
    said.append(
        f"growth may be quicker or slower than the model by a factor of {inputs.policy.growth_time_gsd:g} (one "
        "standard deviation); the model was made for wood"
    )
    return tuple(said)


def notes(inputs: HoldInputs, draws: Draws, response: Response, at: Figures, moved: bool) -> tuple[str, ...]:
    """What a person should know before acting on this forecast."""
    return (
        *_of_the_place(inputs, draws, response),
        *_of_the_state(inputs),
        *_of_the_model(inputs, draws, response, at),
        *(("a band was widened to hold the best run",) if moved else ()),
    )


def sources(inputs: HoldInputs) -> tuple[str, ...]:
    """Keys of the bibliography this forecast rests on, in order, once each."""
    keys = [
        "common-practice",
        "hukka-viitanen-1999",
        mould_row(inputs.find_class).source,
        "wagner-pruss-2002",
        *barrier(inputs).sources,
        *dict.fromkeys(prior.source for prior in priors().values()),
        "moene-van-dam-2014",
        "farouki-1982",
        "findhold-memory",
        "findhold-computed",
        "laguerre-2002",
        "nas-2009",
    ]
    return tuple(dict.fromkeys(keys))


def _of_the_place(inputs: HoldInputs, draws: Draws, response: Response) -> list[str]:
    """Warm, cold and silent spells of the place."""
    policy, place = inputs.policy, response.place
    said = []
    coldest, warmest = float(place.temp_c.min()), float(place.temp_c.max())
    if coldest < policy.cold_note_c:
        said.append(f"the place goes down to {coldest:.1f} °C: frost destroys wet finds, keep it at 2 °C or warmer")
    share = float(np.mean(warmest + draws.temp_offset_k[1:] > policy.warm_c))
    if inputs.climate.series_s is None and warmest <= policy.warm_c and share > 0.05:
        said.append(f"{share:.0%} chance that the place is warmer than {policy.warm_c:g} °C: put a logger in")
    if inputs.climate.series_s is not None:
        said += _of_the_logger(inputs, response)
    return said


def _of_the_logger(inputs: HoldInputs, response: Response) -> list[str]:
    """Warm hours and gaps of a logged series."""
    place, series = response.place, np.asarray(inputs.climate.series_s)
    said = []
    logged = place.time_s <= series[-1]
    warm_h = time_above_s(place.time_s[logged], place.temp_c[logged], inputs.policy.warm_c) / 3600.0
    if warm_h > 0.5:
        said.append(
            f"the place was above {inputs.policy.warm_c:g} °C for {warm_h:.0f} h; more than 24 h: ask the conservator"
        )
    gap_h = float(np.diff(series).max()) / 3600.0
    if gap_h > LONGEST_GAP_H:
        said.append(f"the logger was silent for {gap_h:.0f} h; a straight line was drawn across")
    if series[0] > LONGEST_GAP_H * 3600.0:
        start_h = float(series[0]) / 3600.0
        said.append(
            f"the logger begins {start_h:.0f} h after packing; before it the place is taken as at its first reading"
            if inputs.climate.temp_c is None
            else f"the logger begins {start_h:.0f} h after packing; before it the stated temperature is taken"
        )
    return said


def _of_the_state(inputs: HoldInputs) -> list[str]:
    """What dry and submerged finds change."""
    if inputs.state == "waterlogged":
        return ["the growth model is for surfaces in air: for a find under water it is an extrapolation"]
    if inputs.state == "dry":
        return [
            "a dry find: no water is forecast to be lost, growth follows the humidity of the place, "
            "and what the find takes up or gives off is not forecast"
        ]
    return []


def _of_the_model(inputs: HoldInputs, draws: Draws, response: Response, at: Figures) -> list[str]:
    """Where this hold lies outside what the models were made for."""
    said = []
    coldest, warmest = float(response.place.temp_c.min()), float(response.place.temp_c.max())
    if coldest < 2.0:
        said.append("below 2 °C this is extrapolation: growth was not measured there, and ice is not modelled")
    if coldest < 5.0:
        said.append("growth below 5 °C extrapolates a model fitted at about 5 to 40 °C")
    said += _of_the_water(inputs, response, at)
    if warmest > 40.0:
        said.append("growth above 40 °C extrapolates a model fitted at about 5 to 40 °C")
    if inputs.state != "dry" and at.loss_kg > 0.5 * draws.water_kg[0]:
        said.append(
            "more than half of the water goes: the air in the box no longer stays saturated, expect it to dry out"
        )
    biot = biot_number(inputs.block_m, response.heat.total, thermal("conductivity block"))
    if biot > 0.1:
        said.append(f"the middle of the block cools later than the forecast of one lump says (Biot number {biot:.2f})")
    return said


def _of_the_water(inputs: HoldInputs, response: Response, at: Figures) -> list[str]:
    """Water that moves inside, and air that is wetter outside than in."""
    said: list[str] = []
    if inputs.state == "dry":
        return said
    if at.moved_kg > 0.002:
        said.append(f"{1000.0 * at.moved_kg:.0f} g of water move to lid and walls: look for drops as the lid is lifted")
    if at.drip_kg > 0.0005:
        said.append("more condenses than lid and walls can hold: it drips; put an absorbent sheet under the lid")
    if response.gains:
        said.append("for a time the place is wetter than the air in the box: water comes in instead of leaving")
    if response.leaky:
        said.append("water leaves fast enough to cool and dry the find: the box hardly shuts")
    return said
