"""Figures as they are printed: parts that add up to their printed total, and bands no finer than they are wide."""

from __future__ import annotations

import math
from collections.abc import Sequence

_LIGHT_KG = 2.0
"""Below this a mass is told to the gram, above it to ten grams."""
_FINEST, _COARSEST = 4, 2
"""Decimals of a kilogram that a band is told with at most and at least."""


def mass_places(total_kg: float) -> int:
    """Decimals of a kilogram that a packed mass and its parts are printed with: 3 below 2 kg, else 2."""
    return 3 if total_kg < _LIGHT_KG else 2


def told_mass(total_kg: float) -> str:
    """A packed mass with its unit, as it stands everywhere: 8.06 kg, 0.453 kg."""
    return f"{total_kg:.{mass_places(total_kg)}f} kg"


def told_parts(parts: Sequence[float], places: int) -> tuple[str, ...]:
    """Parts as printed, so that what is printed adds up to the printed total exactly.

    Parameters
    ----------
    parts : what is to be added [any unit]. places : decimals printed.

    Returns
    -------
    Texts, each part rounded down or up to one of its two neighbours, those with the largest remainder up.

    Source: largest remainder.
    """
    unit = 10.0**places
    scaled = [part * unit for part in parts]
    whole = [math.floor(value + 1e-9) for value in scaled]
    # the total as it is printed, ties and all
    up = round(float(f"{sum(parts):.{places}f}") * unit) - sum(whole)
    order = sorted(range(len(parts)), key=lambda at: (whole[at] - scaled[at], at))
    for at in order[:up]:
        whole[at] += 1
    return tuple(f"{value / unit:.{places}f}" for value in whole)


def band_places(low_kg: float, high_kg: float) -> int:
    """Decimals of a kilogram for a band: a step of at most a fifth of its width, from 10 g down to 0.1 g."""
    width_kg = high_kg - low_kg
    if width_kg <= 0.0:
        return _FINEST
    places = -math.floor(math.log10(width_kg / 5.0) + 1e-9)
    return min(max(places, _COARSEST), _FINEST)


def told_band(low_kg: float, best_kg: float, high_kg: float) -> tuple[str, str, str]:
    """A band of masses as printed, its edges rounded outwards so that what lies inside is never told as outside.

    Parameters
    ----------
    low_kg, best_kg, high_kg : edges and best of the band [kg].
    """
    places = band_places(low_kg, high_kg)
    unit = 10.0**places
    low, high = math.floor(low_kg * unit + 1e-6) / unit, math.ceil(high_kg * unit - 1e-6) / unit
    return f"{low:.{places}f}", f"{best_kg:.{places}f}", f"{high:.{places}f}"


def told_span(low_kg: float, high_kg: float) -> str:
    """The edges of a band of masses as printed: "13.03 to 13.06 kg"."""
    low, _, high = told_band(low_kg, low_kg, high_kg)
    return f"{low} to {high} kg"


def as_typed(mass_kg: float, step_g: float | None) -> str:
    """A mass with as many digits as it was typed with: "12.5 kg"; to the gram or ten where that is not known.

    Parameters
    ----------
    mass_kg : what was read [kg]. step_g : the last digit typed [g]; None where it is not known.
    """
    if not step_g:
        return told_mass(mass_kg)
    return f"{mass_kg:.{max(0, 3 - math.floor(math.log10(step_g) + 1e-9))}f} kg"


def told_expected(low_kg: float, best_kg: float, high_kg: float, *, weighed: bool) -> str:
    """The mass to expect at a check: its band, or before any weighing the planned mass alone, which is known less well.

    Parameters
    ----------
    low_kg, best_kg, high_kg : edges and best of the band [kg].
    """
    return told_span(low_kg, high_kg) if weighed else f"not weighed yet, planned about {told_mass(best_kg)}"
