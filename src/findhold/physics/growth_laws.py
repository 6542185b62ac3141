"""Growth against temperature: rates relative to a reference, by the forms that microbiology uses.

Only ratios of rates are used, so the unit in which a law was published does not matter.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from findhold.physics.moist_air import GAS_CONSTANT, ZERO_C, Numbers

Array = npt.NDArray[np.float64]


def q10_rate(temp_c: Numbers, q10: float) -> Array:
    """Relative rate that grows by a factor q10 [1] in ten degrees; 1 at 0 degC; temp_c [degC].

    Source
        Definition of the temperature quotient.
    """
    return np.asarray(q10 ** (np.asarray(temp_c, dtype=np.float64) / 10.0))


def ratkowsky_rate(temp_c: Numbers, temp_min_c: float) -> Array:
    """Relative rate by the square-root law [K2]: (T - Tmin)2, zero below temp_min_c [degC]; temp_c [degC].

    Valid for
        Below the optimum of the organism, which the law does not know.
    Source
        Ratkowsky's square-root law; parameters are handed in; code.
    """
    return np.asarray(np.maximum(np.asarray(temp_c, dtype=np.float64) - temp_min_c, 0.0) ** 2)


def rosso_rate(temp_c: Numbers, temp_min_c: float, temp_opt_c: float, temp_max_c: float) -> Array:
    """Rate relative to the optimum by the law of cardinal temperatures.

    Parameters
    ----------
    temp_c : temperature, any shape [degC].
    temp_min_c, temp_opt_c, temp_max_c : cardinal temperatures [degC].

    Returns
    -------
    Rate, 1 at the optimum, 0 outside the cardinal temperatures [1].

    Source
        Rosso's law with inflection; parameters are handed in; code.
    """
    low, best, high = temp_min_c, temp_opt_c, temp_max_c
    t = np.clip(np.asarray(temp_c, dtype=np.float64), low, high)
    below = (best - low) * ((best - low) * (t - best) - (best - high) * (best + low - 2.0 * t))
    return np.asarray((t - high) * (t - low) ** 2 / below)


def arrhenius_rate(temp_c: Numbers, activation_j_per_mol: float) -> Array:
    """Relative rate by Arrhenius' law, 1 at 0 degC; temp_c [degC], activation_j_per_mol [J/mol].

    Source
        Arrhenius' law; parameters are handed in; code.
    """
    kelvin = np.asarray(temp_c, dtype=np.float64) + ZERO_C
    return np.asarray(np.exp(-activation_j_per_mol / GAS_CONSTANT * (1.0 / kelvin - 1.0 / ZERO_C)))
