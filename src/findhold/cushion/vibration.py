"""Shaking on the way: where the block on its cushion rings, and what a lorry's floor makes of that."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from findhold.cushion.inputs import CushionInputs, Spread
from findhold.physics.cushioning import (
    density_at,
    linear_spring_sink_m,
    miles_grms,
    natural_frequency_hz,
    spectrum_grms,
    transmissibility,
)
from findhold.tables.cushions import truck_spectrum

_SPRING_FLOOR_G = 2.0
"""A linear spring never stops a fall with less than 2 G."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Vibration:
    """The block on its cushion as a spring: sinking [mm], natural frequency [Hz], motion passed on [1], shaking [G].

    measured : whether the sinking was measured; else it is that of the linear spring that would just keep the limit.
    frequency_hz : natural frequency on the cushion [Hz]. at_resonance : times the floor's motion there [1].
    grms : root-mean-square on a lorry [G].
    """

    measured: bool
    sink_mm: float
    frequency_hz: float
    at_resonance: Spread
    at_vessel: float
    """Motion passed on where a vessel's own ringing begins [1]."""
    grms: Spread
    floor_grms: float
    """Overall shaking of the lorry's floor [G]."""
    near_vehicle: bool
    near_vessel: bool
    text: str


def vibration_of(inputs: CushionInputs, drop_m: float) -> Vibration | None:
    """Vibration of a block on its cushion; None where neither a sinking nor a spring that keeps the limit is known.

    Parameters
    ----------
    inputs : measured sinking, declared limit. drop_m : drop designed for [m].

    Source
        f = sqrt(g/d)/(2 pi); damped spring; Miles. Lorry spectrum: astm-d4169-truck, memory.
    """
    rules, limit = inputs.rules, inputs.declared.fragility_g
    if inputs.sink_mm is not None:
        sink_mm = inputs.sink_mm
    elif limit > _SPRING_FLOOR_G:
        sink_mm = float(linear_spring_sink_m(drop_m, limit)) * 1000.0
    else:
        return None
    frequency = float(natural_frequency_hz(sink_mm / 1000.0))
    lorry = truck_spectrum()
    corners, heights = np.array(lorry.frequency_hz), np.array(lorry.density)
    damping = np.array([rules.damping_high, rules.damping_best, rules.damping_low])
    peak = [float(value) for value in transmissibility(1.0, damping)]
    shaken = [float(v) for v in miles_grms(frequency, 1.0 / (2.0 * damping), density_at(frequency, corners, heights))]
    near_vehicle = rules.vehicle_body_low_hz <= frequency <= rules.vehicle_body_high_hz
    near_vessel = frequency >= rules.vessel_low_hz
    told = Vibration(
        measured=inputs.sink_mm is not None,
        sink_mm=sink_mm,
        frequency_hz=frequency,
        at_resonance=Spread(low=peak[0], best=peak[1], high=peak[2]),
        at_vessel=float(transmissibility(rules.vessel_low_hz / frequency, rules.damping_best)),
        grms=Spread(low=shaken[0], best=shaken[1], high=shaken[2]),
        floor_grms=spectrum_grms(corners, heights),
        near_vehicle=near_vehicle,
        near_vessel=near_vessel,
        text="",
    )
    return _with_text(told, inputs)


def _with_text(told: Vibration, inputs: CushionInputs) -> Vibration:
    rules = inputs.rules
    how = f"with {told.sink_mm:g} mm of sinking the block rings on its cushion at {told.frequency_hz:.1f} Hz"
    if not told.measured:
        how = (
            f"on a linear spring that just keeps the limit the block would sink {told.sink_mm:.1f} mm (measure it and "
            f"give sink_mm) and ring at {told.frequency_hz:.1f} Hz"
        )
    place = "between a vehicle's body and a vessel's own ringing"
    if told.near_vehicle:
        place = (
            f"among the motions of a vehicle's body ({rules.vehicle_body_low_hz:g} to {rules.vehicle_body_high_hz:g} "
            "Hz): it would bounce with the road; take a stiffer or smaller seat"
        )
    elif told.near_vessel:
        place = f"where a vessel itself rings (from about {rules.vessel_low_hz:g} Hz): take a softer seat"
    shaking = (
        f"on a lorry's floor ({told.floor_grms:.2f} G rms, memory) the block would shake at {told.grms.best:.2f} G rms "
        f"({told.grms.low:.2f} to {told.grms.high:.2f})"
    )
    return replace(told, text=f"{how}, {place}; {shaking}")
