"""Water held by soil against its potential, and the phase relations of a damp block.

Potentials are negative pressures [Pa]; theta is water volume over soil volume [m3/m3]. Numbers of a soil class are
handed in. Beyond the suction where the van Genuchten curve stops making sense a log-linear tail takes over.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

PA_PER_CM_WATER = 98.0665
"""1000 kg/m3 x 9.80665 m/s2 x 0.01 m: one centimetre of water as a pressure [Pa]."""
_WATER_KG_PER_M3 = 1000.0


class Retention(Protocol):
    """van Genuchten constants of a soil: theta_r, theta_s [m3/m3], alpha_per_cm [1/cm], n [-]."""

    @property
    def theta_r(self) -> float: ...
    @property
    def theta_s(self) -> float: ...
    @property
    def alpha_per_cm(self) -> float: ...
    @property
    def n(self) -> float: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class DryTail:
    """Where the log-linear dry end begins and where the soil holds no water, as suctions [Pa]."""

    start_pa: float
    end_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Phases:
    """The phases of a block of soil; densities in kg/m3, the rest as fractions."""

    bulk_kg_per_m3: float
    void_ratio: float
    porosity: float
    saturation: float
    saturated_kg_per_m3: float
    theta: float


def van_genuchten_1980(psi_pa: npt.ArrayLike, soil: Retention) -> FloatArray:
    """Water content of a soil at a potential, by the printed equation alone.

    Not for suctions beyond about 1.5 MPa, where its tail is unphysical: use `water_content`.

    Parameters
    ----------
    psi_pa : potential [Pa], any shape; zero and above count as saturated.
    soil : van Genuchten constants.

    Returns
    -------
    theta [m3/m3], same shape.

    Valid for: 0 to -1.5 MPa.
    Source: van-genuchten-1980, m = 1 - 1/n; memory.
    """
    head_cm = np.maximum(-np.asarray(psi_pa, dtype=np.float64), 0.0) / PA_PER_CM_WATER
    effective = (1.0 + (soil.alpha_per_cm * head_cm) ** soil.n) ** -(1.0 - 1.0 / soil.n)
    theta: FloatArray = np.asarray(soil.theta_r + (soil.theta_s - soil.theta_r) * effective)
    return theta


def water_content(psi_pa: npt.ArrayLike, soil: Retention, tail: DryTail) -> FloatArray:
    """Water content of a soil at any potential: van Genuchten, then a log-linear tail to no water.

    Parameters
    ----------
    psi_pa : potential [Pa], any shape; zero and above count as saturated.
    soil : van Genuchten constants.
    tail : where the tail begins and ends [Pa].

    Returns
    -------
    theta [m3/m3], same shape, between 0 and theta_s.

    Source: van-genuchten-1980; campbell-shiozawa-1992 for the form of the tail; memory. Departure: the tail starts
    from the van Genuchten value at tail.start_pa, so the curve has no step.
    """
    suction = np.maximum(-np.asarray(psi_pa, dtype=np.float64), 0.0)
    wet = van_genuchten_1980(-np.minimum(suction, tail.start_pa), soil)
    decades = np.log(tail.end_pa / np.maximum(suction, tail.start_pa)) / np.log(tail.end_pa / tail.start_pa)
    theta: FloatArray = np.asarray(wet * np.clip(decades, 0.0, 1.0))
    return theta


def water_potential(theta: npt.ArrayLike, soil: Retention, tail: DryTail) -> FloatArray:
    """Potential of a soil at a water content: the inverse of `water_content`.

    Parameters
    ----------
    theta : water content [m3/m3], any shape; theta_s and above give 0, zero and below give the dry end.
    soil : van Genuchten constants.
    tail : where the tail begins and ends [Pa].

    Returns
    -------
    potential [Pa], same shape, from -tail.end_pa to 0.

    Source: van-genuchten-1980, inverted; campbell-shiozawa-1992 for the tail; memory.
    """
    held = np.asarray(theta, dtype=np.float64)
    at_tail = float(van_genuchten_1980(-tail.start_pa, soil))
    inside = np.clip(held, at_tail, soil.theta_s)
    effective = (inside - soil.theta_r) / (soil.theta_s - soil.theta_r)
    m = 1.0 - 1.0 / soil.n
    # (S^(-1/m) - 1) written with expm1/log so that it stays exact near saturation
    head_cm = np.expm1(-np.log(effective) / m) ** (1.0 / soil.n) / soil.alpha_per_cm
    share = np.clip(held / at_tail, 0.0, 1.0)
    dry = tail.end_pa * (tail.start_pa / tail.end_pa) ** share
    psi: FloatArray = np.asarray(-np.where(held < at_tail, dry, head_cm * PA_PER_CM_WATER))
    return psi


def soil_phases(dry_density_kg_per_m3: float, water_by_mass: float, particle_density_kg_per_m3: float) -> Phases:
    """Phase relations of a soil of known dry density and water content.

    Parameters
    ----------
    dry_density_kg_per_m3 : dry mass over whole volume [kg/m3], above zero.
    water_by_mass : water over dry mass [kg/kg].
    particle_density_kg_per_m3 : density of the grains [kg/m3].

    Returns
    -------
    Phases; a saturation above 1 says that more water is named than the pores hold.

    Source: soil-phase-identities; computed.
    """
    void_ratio = particle_density_kg_per_m3 / dry_density_kg_per_m3 - 1.0
    porosity = void_ratio / (1.0 + void_ratio)
    grains = particle_density_kg_per_m3 / _WATER_KG_PER_M3
    return Phases(
        bulk_kg_per_m3=dry_density_kg_per_m3 * (1.0 + water_by_mass),
        void_ratio=void_ratio,
        porosity=porosity,
        saturation=water_by_mass * grains / void_ratio if void_ratio > 0 else float("inf"),
        saturated_kg_per_m3=(grains + void_ratio) / (1.0 + void_ratio) * _WATER_KG_PER_M3,
        theta=dry_density_kg_per_m3 * water_by_mass / _WATER_KG_PER_M3,
    )
