"""Passage of water vapour out of a closed box: through its walls, past its lid, and by breathing.

Every passage is a conductance K [kg/(s Pa)]: mass flow = K (p_inside - p_outside). Conductances add.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from findhold.physics.moist_air import (
    GAS_CONSTANT,
    STANDARD_PRESSURE_PA,
    VAPOUR_GAS_CONSTANT,
    ZERO_C,
    Numbers,
)

SECONDS_PER_DAY = 86400.0
REFERENCE_K = 298.15
"""Temperature at which permeabilities are tabled [K]."""


def permeability_at(p25: Numbers, activation_j_per_mol: Numbers, temp_c: Numbers) -> npt.NDArray[np.float64]:
    """Water-vapour permeability of a plastic at a temperature, from its value at 25 degC.

    Not for an activation energy quoted for a transmission rate at fixed humidity: that one contains the saturation
    pressure already and is about 43 kJ/mol larger.

    Parameters
    ----------
    p25 : permeability at 25 degC [kg/(m s Pa)].
    activation_j_per_mol : activation energy on a pressure-difference basis [J/mol].
    temp_c : temperature [degC].

    Returns
    -------
    Permeability, broadcast shape [kg/(m s Pa)].

    Valid for
        -10 to 50 degC, below the softening of the plastic.
    Source
        Arrhenius' law; values come with the table permeability.csv.
    """
    kelvin = np.asarray(temp_c, dtype=np.float64) + ZERO_C
    return np.asarray(
        p25 * np.exp(-np.asarray(activation_j_per_mol) / GAS_CONSTANT * (1.0 / kelvin - 1.0 / REFERENCE_K))
    )


def inside_area_m2(inside_m: tuple[float, float, float]) -> float:
    """Inside surface of a rectangular box: all six faces [m2], from its inside length, width and height [m].

    Source
        Geometry. The lid is taken as thick and as tight as the walls.
    """
    length, width, height = inside_m
    return 2.0 * (length * width + width * height + height * length)


def wall_conductance(permeability: Numbers, area_m2: Numbers, thickness_m: Numbers) -> npt.NDArray[np.float64]:
    """Vapour conductance of a wall.

    Parameters
    ----------
    permeability : of the wall material [kg/(m s Pa)].
    area_m2 : inside surface [m2].
    thickness_m : thickness, above 0 [m].

    Returns
    -------
    Conductance [kg/(s Pa)].

    Valid for
        Steady flow; a 1.2 mm polypropylene wall takes hours to a day to reach it.
    Source
        Fick's first law for a plane wall; ISO 2528 and ASTM E96 measure the same quantity.
    """
    return np.asarray(np.asarray(permeability) * area_m2 / thickness_m)


def exchange_conductance(changes_per_day: Numbers, volume_m3: Numbers, temp_c: Numbers) -> npt.NDArray[np.float64]:
    """Vapour conductance of an exchange of air, from air changes a day on a volume.

    Parameters
    ----------
    changes_per_day : air changes [1/d].
    volume_m3 : the volume the changes are counted on (the empty box for a lid, the headspace for breathing) [m3].
    temp_c : temperature of the air [degC].

    Returns
    -------
    Conductance [kg/(s Pa)].

    Valid for
        Vapour pressures small against the barometer (error 0.7 % at 4 degC, 2 % at 20 degC).
    Source
        Ideal gas: K = N V / (86400 Rv T).
    """
    kelvin = np.asarray(temp_c, dtype=np.float64) + ZERO_C
    return np.asarray(changes_per_day * np.asarray(volume_m3) / (SECONDS_PER_DAY * VAPOUR_GAS_CONSTANT * kelvin))


def breathing_changes_per_day(
    cycles_per_day: Numbers, swing_k: Numbers, barometric_pa_per_day: Numbers, temp_c: Numbers
) -> npt.NDArray[np.float64]:
    """Air changes of the headspace driven by its temperature swings and by the barometer.

    Not for a flexible lid, which moves instead of breathing: the true figure is then lower.

    Parameters
    ----------
    cycles_per_day : temperature cycles a day [1/d].
    swing_k : peak-to-peak swing of the headspace temperature [K].
    barometric_pa_per_day : sum of the barometer's rises in a day [Pa/d].
    temp_c : mean temperature of the headspace [degC].

    Returns
    -------
    Air changes on the headspace volume [1/d].

    Source
        Ideal gas: each swing expels the fraction dT/T, each rise dP/P, at 101325 Pa.
    """
    kelvin = np.asarray(temp_c, dtype=np.float64) + ZERO_C
    swings = np.asarray(cycles_per_day) * swing_k / kelvin
    return np.asarray(swings + np.asarray(barometric_pa_per_day) / STANDARD_PRESSURE_PA)


def air_permeability(temp_c: Numbers) -> npt.NDArray[np.float64]:
    """Permeability of still air to water vapour at 101325 Pa [kg/(m s Pa)], at temp_c [degC].

    Valid for
        -20 to 60 degC; another published correlation lies 9 % lower, so carry 10 %.
    Source
        [schirmer-1938], as quoted with EN ISO practice; seen.
    """
    kelvin = np.asarray(temp_c, dtype=np.float64) + ZERO_C
    return np.asarray(0.083 / 3600.0 / (VAPOUR_GAS_CONSTANT * kelvin) * (kelvin / ZERO_C) ** 1.81)


def gap_conductance(gap_m: Numbers, perimeter_m: Numbers, path_m: Numbers, temp_c: Numbers) -> npt.NDArray[np.float64]:
    """Vapour conductance of a straight slit of still air under a lid.

    Not for gaps above a millimetre or air blown by a fan: air then flows through the slit as well.

    Parameters
    ----------
    gap_m, perimeter_m, path_m : height of the slit, its length round the rim, and its depth [m].
    temp_c : temperature of the air in it [degC].

    Returns
    -------
    Conductance [kg/(s Pa)].

    Source
        Fick's first law with `air_permeability`; equimolar, 0.7 % low at 4 degC.
    """
    return np.asarray(air_permeability(temp_c) * np.asarray(gap_m) * perimeter_m / path_m)
