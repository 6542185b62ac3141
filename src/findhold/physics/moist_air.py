"""Moist air: saturation pressure over water and over ice, vapour pressure, dew point.

One formula per phase. Over liquid water (also undercooled) the auxiliary equation of the 1995 formulation, because
it is closed, quick on arrays and within 8e-5 of the full equation; over ice the sublimation equation.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput

Numbers = float | npt.NDArray[np.float64]

GAS_CONSTANT = 8.314462618
"""Molar gas constant [J/(mol K)], exact by the definition of the SI."""
VAPOUR_GAS_CONSTANT = GAS_CONSTANT / 0.018015268
"""Gas constant of water vapour [J/(kg K)] from the molar mass of water."""
ZERO_C = 273.15
STANDARD_PRESSURE_PA = 101325.0

_CRITICAL_K = 647.096
_CRITICAL_PA = 22.064e6
_WATER = (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502)
_TRIPLE_K = 273.16
_TRIPLE_PA = 611.657
_ICE = ((-21.2144006, 0.00333333333), (27.3203819, 1.20666667), (-6.10598130, 1.70333333))


def saturation_over_water_pa(temp_c: Numbers) -> npt.NDArray[np.float64]:
    """Saturation vapour pressure over liquid water, undercooled water below 0.01 degC included.

    Not the pressure over ice: below the triple point use `saturation_over_ice_pa` when the water is frozen.

    Parameters
    ----------
    temp_c : temperature, any shape [degC].

    Returns
    -------
    Pressure, shape of temp_c [Pa].

    Valid for
        0.01 to 370 degC; undercooled water down to -20 degC as an extrapolation (2e-4 at -5 degC).
    Source
        [wagner-pruss-2002], eq. 2.5; memory, checked against four other formulas. Departure: none.
    """
    kelvin = np.asarray(temp_c, dtype=np.float64) + ZERO_C
    theta = 1.0 - kelvin / _CRITICAL_K
    root = np.sqrt(theta)
    cubed = theta**3
    a1, a2, a3, a4, a5, a6 = _WATER
    # theta^1.5, theta^3.5 and theta^7.5 as products: five times quicker than general powers.
    series = theta * (a1 + a2 * root) + cubed * (a3 + a4 * root + a5 * theta + a6 * cubed * theta * root)
    return np.asarray(_CRITICAL_PA * np.exp(_CRITICAL_K / kelvin * series))


def saturation_over_ice_pa(temp_c: Numbers) -> npt.NDArray[np.float64]:
    """Saturation vapour pressure over ice.

    Parameters
    ----------
    temp_c : temperature, any shape, at most 0.01 [degC].

    Returns
    -------
    Pressure, shape of temp_c [Pa].

    Raises
    ------
    BadInput : a temperature is above the triple point, where there is no ice.

    Valid for
        -223 to 0.01 degC.
    Source
        [iapws-r14-08], eq. 6; memory, checked against an independent library. Departure: none.
    """
    theta = (np.asarray(temp_c, dtype=np.float64) + ZERO_C) / _TRIPLE_K
    if np.any(theta > 1.0 + 1e-12):
        raise BadInput(
            "there is no ice above 0.01 °C", limit="at most 0.01 °C", do="Ask for the pressure over water instead"
        )
    series = sum(a * theta**b for a, b in _ICE)
    return np.asarray(_TRIPLE_PA * np.exp(series / theta))


def vapour_pressure_pa(temp_c: Numbers, rh: Numbers) -> npt.NDArray[np.float64]:
    """Partial pressure of vapour in air of a temperature and relative humidity (over water).

    Parameters
    ----------
    temp_c : temperature, any shape [degC].
    rh : relative humidity over liquid water, broadcastable [fraction].

    Returns
    -------
    Pressure [Pa].

    Raises
    ------
    BadInput : a humidity is outside 0 to 1.

    Source
        Definition of relative humidity; saturation from [wagner-pruss-2002].
    """
    fraction = np.asarray(rh, dtype=np.float64)
    if np.any((fraction < 0.0) | (fraction > 1.0)):
        raise BadInput("a relative humidity is outside 0 to 1", limit="a fraction from 0 to 1", do="Write 55 % as 0.55")
    return np.asarray(fraction * saturation_over_water_pa(temp_c))


def dew_point_c(pressure_pa: Numbers) -> npt.NDArray[np.float64]:
    """Temperature at which air of a given vapour pressure begins to wet a surface (dew point over liquid water).

    Not the frost point, which is up to 1.2 K higher between 0 and -10 degC.

    Parameters
    ----------
    pressure_pa : partial pressure of vapour, any shape, above 0 [Pa].

    Returns
    -------
    Dew point, shape of pressure_pa [degC].

    Raises
    ------
    BadInput : a pressure is zero or negative.

    Valid for
        100 Pa to 1 MPa (-20 to 180 degC).
    Source
        Inverse of `saturation_over_water_pa` by Newton's method on its logarithm.
    """
    pressure = np.asarray(pressure_pa, dtype=np.float64)
    if np.any(pressure <= 0.0):
        raise BadInput("a vapour pressure is zero or negative", limit="above 0 Pa", do="Check the humidity given")
    wanted = np.log(pressure)
    # Start: ln p is nearly a straight line in 1/T with the slope of the latent heat.
    temp = 1.0 / (1.0 / ZERO_C - (wanted - np.log(611.2)) / 5400.0) - ZERO_C
    for _ in range(6):
        value = np.log(saturation_over_water_pa(temp))
        slope = (np.log(saturation_over_water_pa(temp + 0.01)) - value) / 0.01
        temp = temp - (value - wanted) / slope
    return np.asarray(temp)
