"""Humidity over water at a potential, moisture held by paper, and how water shares itself between soil and paper.

Three links make the dose: soil potential to humidity (Kelvin), humidity to paper moisture (GAB), and the closed
balance in which nothing is lost (`equilibrate`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from findhold.physics.soil import DryTail, FloatArray, Retention, water_content

VAPOUR_GAS_CONSTANT_J_PER_KG_K = 461.523
"""Molar gas constant 8.314462618 over the molar mass of water 0.018015268 [J/(kg K)]."""
_KELVIN_AT_0_C = 273.15
_WETTEST_PA = 1e-3
_GAB_GAS_CONSTANT_KJ_PER_KG_K = 0.4615
_WATER_G_PER_CM3 = 1.0
"""Water's density in the soil balance, as in theta = w rho_dry / 1000."""


class Gab(Protocol):
    """Constants of a GAB isotherm with C and K following factor x exp(energy / (0.4615 T))."""

    @property
    def monolayer(self) -> float: ...
    @property
    def c_factor(self) -> float: ...
    @property
    def c_energy_kj_per_kg(self) -> float: ...
    @property
    def k_factor(self) -> float: ...
    @property
    def k_energy_kj_per_kg(self) -> float: ...
    @property
    def floor_temp_c(self) -> float: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedPair:
    """Soil and paper shut up together: dry masses in grams, water contents at the start."""

    soil_dry_g: npt.ArrayLike
    dry_density_kg_per_m3: npt.ArrayLike
    theta: npt.ArrayLike
    paper_dry_g: npt.ArrayLike
    paper_moisture: npt.ArrayLike
    """Water over dry paper [g/g]."""
    temp_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """Where the water ended: one humidity for both, and water that neither can bind."""

    rh: FloatArray
    psi_pa: FloatArray
    theta: FloatArray
    paper_moisture: FloatArray
    soil_gains_g: FloatArray
    """Water the soil took from the paper [g]; negative when the paper took it."""
    free_g: FloatArray
    """Water left over when both are full [g]."""


def water_density_kg_per_m3(temp_c: npt.ArrayLike) -> FloatArray:
    """Density of air-free water at one atmosphere.

    Parameters
    ----------
    temp_c : temperature [°C], any shape.

    Returns
    -------
    density [kg/m3].

    Valid for: 0-40 °C.
    Source: tanaka-2001, eq. 1; memory (checked against a table of 4 and 20 °C in the tests).
    """
    t = np.asarray(temp_c, dtype=np.float64)
    part = (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881))
    density: FloatArray = np.asarray(999.974950 * (1.0 - part))
    return density


def kelvin_rh(psi_pa: npt.ArrayLike, temp_c: npt.ArrayLike) -> FloatArray:
    """Relative humidity of air in balance with water at a potential.

    Not for salty water: multiply by the water activity of the solution.

    Parameters
    ----------
    psi_pa : potential [Pa], any shape, zero or below.
    temp_c : temperature [°C].

    Returns
    -------
    relative humidity [fraction 0-1].

    Source: kelvin-equation, RH = exp(psi / (rho_w Rv T)); computed.
    """
    rh: FloatArray = np.asarray(np.exp(np.asarray(psi_pa, dtype=np.float64) / _pa_per_e_fold(temp_c)))
    return rh


def kelvin_psi_pa(rh: npt.ArrayLike, temp_c: npt.ArrayLike) -> FloatArray:
    """Potential of water in balance with air: the inverse of `kelvin_rh`.

    Parameters
    ----------
    rh : relative humidity [fraction 0-1], above zero.
    temp_c : temperature [°C].

    Returns
    -------
    potential [Pa].

    Source: kelvin-equation; computed.
    """
    psi: FloatArray = np.asarray(np.log(np.asarray(rh, dtype=np.float64)) * _pa_per_e_fold(temp_c))
    return psi


def gab_moisture(rh: npt.ArrayLike, temp_c: float, paper: Gab) -> FloatArray:
    """Moisture of paper in balance with air.

    Not for capillary water between the fibres: the isotherm ends at its value for RH 1.

    Parameters
    ----------
    rh : relative humidity [fraction 0-1], any shape.
    temp_c : temperature [°C]; below paper.floor_temp_c the isotherm at that floor is used.
    paper : GAB constants.

    Returns
    -------
    water over dry paper [kg/kg].

    Valid for: the floor temperature and above; below 8.4 °C the fit's K passes 1 and the equation has no meaning.
    Source: tryding-2022 for the constants handed in; code.
    """
    c, k = gab_c_and_k(temp_c, paper)
    a = np.asarray(rh, dtype=np.float64) * k
    moisture: FloatArray = np.asarray(paper.monolayer * c * a / ((1.0 - a) * (1.0 - a + c * a)))
    return moisture


def gab_activity(moisture: npt.ArrayLike, temp_c: float, paper: Gab) -> FloatArray:
    """Relative humidity of air in balance with paper of a moisture: the inverse of `gab_moisture`.

    Parameters
    ----------
    moisture : water over dry paper [kg/kg], any shape; above the value for RH 1 the water is free.
    temp_c : temperature [°C]; below paper.floor_temp_c the isotherm at that floor is used.
    paper : GAB constants.

    Returns
    -------
    relative humidity [fraction 0-1], 1 where water is free.

    Source: tryding-2022 for the constants handed in; code. The root of the isotherm's quadratic; computed.
    """
    c, k = gab_c_and_k(temp_c, paper)
    w = np.maximum(np.asarray(moisture, dtype=np.float64), 0.0)
    middle = paper.monolayer * c - (c - 2.0) * w
    # the positive root of (c-1) w x^2 + middle x - w = 0, in the form that does not cancel
    x = 2.0 * w / (middle + np.sqrt(middle**2 + 4.0 * (c - 1.0) * w**2))
    activity: FloatArray = np.asarray(np.minimum(x / k, 1.0))
    return activity


def gab_c_and_k(temp_c: float, paper: Gab) -> tuple[float, float]:
    """C and K of the isotherm at a temperature [°C], not below the floor."""
    rt = _GAB_GAS_CONSTANT_KJ_PER_KG_K * (max(temp_c, paper.floor_temp_c) + _KELVIN_AT_0_C)
    c = paper.c_factor * float(np.exp(paper.c_energy_kj_per_kg / rt))
    k = paper.k_factor * float(np.exp(paper.k_energy_kj_per_kg / rt))
    return c, k


def equilibrate(pair: ClosedPair, soil: Retention, tail: DryTail, paper: Gab) -> Settled:
    """Share the water of soil and paper, shut up together, until both stand at one potential.

    Not for how long that takes, nor for water lost through the box.

    Parameters
    ----------
    pair : dry masses [g] and water contents at the start; arrays broadcast against each other.
    soil : van Genuchten constants.
    tail : dry end of the soil's curve [Pa].
    paper : GAB constants.

    Returns
    -------
    Settled; water is conserved to rounding.

    Source: the balance is an identity; van-genuchten-1980, kelvin-equation and tryding-2022 inside it; computed.
    """
    soil_cm3 = np.asarray(pair.soil_dry_g, dtype=np.float64) / np.asarray(pair.dry_density_kg_per_m3) * 1000.0
    paper_g = np.asarray(pair.paper_dry_g, dtype=np.float64)
    soil_start_g = soil_cm3 * np.asarray(pair.theta, dtype=np.float64) * _WATER_G_PER_CM3
    total_g = soil_start_g + paper_g * np.asarray(pair.paper_moisture, dtype=np.float64)

    def held_g(log_suction: FloatArray) -> FloatArray:
        psi = -np.exp(log_suction)
        in_soil = soil_cm3 * water_content(psi, soil, tail) * _WATER_G_PER_CM3
        return np.asarray(in_soil + paper_g * gab_moisture(kelvin_rh(psi, pair.temp_c), pair.temp_c, paper))

    full_g = soil_cm3 * soil.theta_s * _WATER_G_PER_CM3 + paper_g * gab_moisture(1.0, pair.temp_c, paper)
    free_g = np.maximum(total_g - full_g, 0.0)
    bound_g = total_g - free_g
    low = np.full(np.shape(total_g), np.log(_WETTEST_PA))
    high = np.full(np.shape(total_g), np.log(tail.end_pa))
    # held water falls as suction rises: halve the bracket until it is below rounding (43 natural logs / 2^60)
    for _ in range(60):
        middle = np.asarray((low + high) / 2.0)
        too_wet = held_g(middle) > bound_g
        low, high = np.where(too_wet, middle, low), np.where(too_wet, high, middle)
    psi_pa = np.where(free_g > 0.0, 0.0, -np.exp((low + high) / 2.0))
    theta = water_content(psi_pa, soil, tail)
    rh = kelvin_rh(psi_pa, pair.temp_c)
    return Settled(
        rh=rh,
        psi_pa=np.asarray(psi_pa),
        theta=theta,
        paper_moisture=gab_moisture(rh, pair.temp_c, paper),
        soil_gains_g=np.asarray(soil_cm3 * theta * _WATER_G_PER_CM3 - soil_start_g),
        free_g=np.asarray(free_g),
    )


def _pa_per_e_fold(temp_c: npt.ArrayLike) -> FloatArray:
    """Suction that lowers the humidity by a factor e [Pa]: density of water x gas constant x temperature."""
    kelvin = np.asarray(temp_c, dtype=np.float64) + _KELVIN_AT_0_C
    return np.asarray(water_density_kg_per_m3(temp_c) * VAPOUR_GAS_CONSTANT_J_PER_KG_K * kelvin)
