"""Cushions against a drop: peak deceleration from static stress, drop height and thickness, and what follows from it.

Stress-energy law of closed-cell foam: the peak stress y = G s [Pa] follows the energy density x = s h / t [Pa] as
y = a exp(b x), so G = (a / s) exp(b s h / t). Everything below it is algebra on that line. Simple bounds, vibration on
a spring and pressures under a block stand beside it. The sheet docs/models/cushion.md says what this leaves out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
G0 = 9.80665
"""Standard gravity [m/s2], exact by definition."""

_TOUCHING = 1e-12
"""A limit this near the lowest point touches it: the branches of the Lambert function meet there and lose digits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StressEnergy:
    """Constants of one foam: a_pa, the peak stress at no energy [Pa], and its growth with energy, b_per_pa [1/Pa]."""

    a_pa: float
    b_per_pa: float

    @property
    def least_factor(self) -> float:
        """Least cushion factor J = y/x any loading of this foam reaches [1]: a b e."""
        return self.a_pa * self.b_per_pa * math.e


def peak_g(law: StressEnergy, static_stress_pa: Any, drop_m: Any, thickness_m: Any) -> Array:
    """Peak deceleration in units of gravity.

    Not for open-cell foam, bubble film or crumpled paper, unless the constants were fitted to drops on them.

    Parameters
    ----------
    law : the foam's constants.
    static_stress_pa, drop_m, thickness_m : scalars or arrays [Pa, m, m], each > 0.

    Returns
    -------
    Array [1], broadcast.

    Valid for
        energies s h / t inside the range the constants were fitted to; first impacts unless fitted to later ones.
    Source
        Stress-energy method: G s = a exp(b s h / t).
    """
    s, h, t = (np.asarray(value, dtype=np.float64) for value in (static_stress_pa, drop_m, thickness_m))
    return np.asarray(law.a_pa / s * np.exp(law.b_per_pa * s * h / t))


def energy_density_pa(static_stress_pa: Any, drop_m: Any, thickness_m: Any) -> Array:
    """Energy a drop brings into each volume of cushion: s h / t [Pa]."""
    s, h, t = (np.asarray(value, dtype=np.float64) for value in (static_stress_pa, drop_m, thickness_m))
    return np.asarray(s * h / t)


def best_stress_pa(law: StressEnergy, drop_m: Any, thickness_m: Any) -> Array:
    """Static stress at the lowest point of the cushion curve: t / (b h) [Pa]."""
    return np.asarray(np.asarray(thickness_m, dtype=np.float64) / (law.b_per_pa * np.asarray(drop_m, dtype=np.float64)))


def least_g(law: StressEnergy, drop_m: Any, thickness_m: Any) -> Array:
    """Peak deceleration at the lowest point of the cushion curve: a b e h / t [1]."""
    return np.asarray(law.least_factor * np.asarray(drop_m, dtype=np.float64) / np.asarray(thickness_m))


def least_thickness_m(law: StressEnergy, drop_m: Any, limit_g: Any) -> Array:
    """Thickness that just reaches a limit at the best loading: a b e h / G [m]; no loading does with less.

    Parameters
    ----------
    law : the foam's constants. drop_m : [m]. limit_g : deceleration allowed [1].
    """
    return np.asarray(law.least_factor * np.asarray(drop_m, dtype=np.float64) / np.asarray(limit_g, dtype=np.float64))


def usable_stress_pa(law: StressEnergy, limit_g: float, drop_m: float, thickness_m: float) -> tuple[float, float]:
    """Lowest and highest static stress that keep the peak at or under a limit; (nan, nan) where none does.

    Parameters
    ----------
    law : the foam's constants. limit_g : deceleration allowed [1]. drop_m, thickness_m : [m].

    Returns
    -------
    (low, high) [Pa]: the two cuts of the curve with the limit; equal where they touch.

    Source
        s = -W(-a c / G) / c with c = b h / t and W both real branches of the Lambert function; computed.
    """
    from scipy.special import lambertw

    rate = law.b_per_pa * drop_m / thickness_m
    inner = law.a_pa * rate / limit_g
    if abs(inner * math.e - 1.0) < _TOUCHING:
        return 1.0 / rate, 1.0 / rate
    if inner * math.e > 1.0:
        return math.nan, math.nan
    low, high = (float(-lambertw(-inner, branch).real / rate) for branch in (0, -1))
    return low, high


def thickness_at_stress_m(law: StressEnergy, static_stress_pa: Any, drop_m: Any, limit_g: Any) -> Array:
    """Thickness that keeps the peak at a limit under a fixed static stress; nan where the foam is too stiff.

    Parameters
    ----------
    law : the foam's constants. static_stress_pa, drop_m : [Pa, m]. limit_g : deceleration allowed [1].

    Returns
    -------
    Array [m]: b s h / ln(G s / a). Where G s <= a no thickness will do: the loading must rise.

    Source
        Algebra on the stress-energy law; computed.
    """
    s, h, g = np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in (static_stress_pa, drop_m, limit_g)))
    lead = g * s / law.a_pa
    found = np.full(lead.shape, np.nan)
    soft = lead > 1.0
    found[soft] = law.b_per_pa * s[soft] * h[soft] / np.log(lead[soft])
    return found


def suiting_stiffness_pa(static_stress_pa: Any, limit_g: Any) -> Array:
    """The constant a of the foam for which a wanted loading is the best one: G s / e [Pa].

    Parameters
    ----------
    static_stress_pa : [Pa]. limit_g : deceleration allowed [1].
    """
    return np.asarray(np.asarray(limit_g, dtype=np.float64) * np.asarray(static_stress_pa) / math.e)


def constant_force_travel_m(drop_m: Any, limit_g: Any) -> Array:
    """Travel of an ideal stop at constant force: h / (G - 1) [m]; no cushion of any kind does with less.

    Parameters
    ----------
    drop_m : [m]. limit_g : deceleration allowed, above 1 [1].

    Source
        Energy: m g (h + d) = G m g d.
    """
    return np.asarray(np.asarray(drop_m, dtype=np.float64) / (np.asarray(limit_g, dtype=np.float64) - 1.0))


def linear_spring_g(drop_m: Any, sink_m: Any) -> Array:
    """Peak deceleration on a linear spring that its load presses down by `sink_m`: 1 + sqrt(1 + 2 h / d) [1]."""
    return np.asarray(1.0 + np.sqrt(1.0 + 2.0 * np.asarray(drop_m, dtype=np.float64) / np.asarray(sink_m)))


def linear_spring_sink_m(drop_m: Any, limit_g: Any) -> Array:
    """Static sinking of the linear spring that just reaches a limit: 2 h / ((G - 1)^2 - 1) [m].

    Parameters
    ----------
    drop_m : [m]. limit_g : deceleration allowed, above 2 [1]; a linear spring never does better than 2.
    """
    lead = np.asarray(limit_g, dtype=np.float64) - 1.0
    return np.asarray(2.0 * np.asarray(drop_m, dtype=np.float64) / (lead * lead - 1.0))


def impact_speed_m_per_s(drop_m: Any) -> Array:
    """Speed at the end of a free fall: sqrt(2 g h) [m/s]."""
    return np.asarray(np.sqrt(2.0 * G0 * np.asarray(drop_m, dtype=np.float64)))


def half_sine_s(speed_change_m_per_s: Any, limit_g: Any) -> Array:
    """Length of a half-sine pulse with a given change of speed and peak: pi dv / (2 G g) [s].

    Parameters
    ----------
    speed_change_m_per_s : [m/s]; without rebound the impact speed. limit_g : peak [1].
    """
    return np.asarray(math.pi * np.asarray(speed_change_m_per_s, dtype=np.float64) / (2.0 * np.asarray(limit_g) * G0))


def natural_frequency_hz(sink_m: Any) -> Array:
    """Natural frequency of a load that presses its spring down by `sink_m`: sqrt(g / d) / (2 pi) [Hz]."""
    return np.asarray(np.sqrt(G0 / np.asarray(sink_m, dtype=np.float64)) / (2.0 * math.pi))


def transmissibility(frequency_ratio: Any, damping_ratio: Any) -> Array:
    """Motion passed on by a damped spring, over the motion put in, at f / f_n.

    Source
        sqrt((1 + (2 z r)^2) / ((1 - r^2)^2 + (2 z r)^2)); 1 at r = sqrt(2) whatever the damping.
    """
    r, z = np.asarray(frequency_ratio, dtype=np.float64), np.asarray(damping_ratio, dtype=np.float64)
    damped = (2.0 * z * r) ** 2
    return np.asarray(np.sqrt((1.0 + damped) / ((1.0 - r * r) ** 2 + damped)))


def miles_grms(frequency_hz: Any, amplification: Any, density: Any) -> Array:
    """Root-mean-square answer of a lightly damped spring to a broad random motion.

    Parameters
    ----------
    frequency_hz : natural frequency [Hz]. amplification : Q = 1 / (2 damping ratio) [1].
    density : acceleration spectral density there [G2/Hz].

    Returns
    -------
    Array [G].

    Source
        J. W. Miles: sqrt(pi / 2 f Q PSD).
    """
    f, q, psd = (np.asarray(value, dtype=np.float64) for value in (frequency_hz, amplification, density))
    return np.asarray(np.sqrt(0.5 * math.pi * f * q * psd))


def density_at(frequency_hz: Any, spectrum_hz: Array, densities: Array) -> Array:
    """A spectrum of straight lines on log-log paper, read at given frequencies; 0 outside it.

    Parameters
    ----------
    frequency_hz, spectrum_hz : [Hz], the spectrum's corners rising. densities : at the corners [G2/Hz].
    """
    f = np.asarray(frequency_hz, dtype=np.float64)
    read = np.exp(np.interp(np.log(f), np.log(spectrum_hz), np.log(densities)))
    return np.asarray(np.where((f >= spectrum_hz[0]) & (f <= spectrum_hz[-1]), read, 0.0))


def spectrum_grms(spectrum_hz: Array, densities: Array) -> float:
    """Overall root-mean-square acceleration [G] of a spectrum of straight lines on log-log paper.

    Parameters
    ----------
    spectrum_hz : corners, rising [Hz]. densities : at the corners [G2/Hz].

    Source
        Each segment p f^n integrates to p f ((f2/f1)^(n+1) - 1) / (n + 1), or p f ln(f2/f1) where n = -1.
    """
    f1, f2 = spectrum_hz[:-1], spectrum_hz[1:]
    power = np.log(densities[1:] / densities[:-1]) / np.log(f2 / f1) + 1.0
    rise = np.log(f2 / f1)
    flat = np.abs(power) < 1e-9
    safe = np.where(flat, 1.0, power)
    area = densities[:-1] * f1 * np.where(flat, rise, np.expm1(power * rise) / safe)
    return float(math.sqrt(float(area.sum())))


def prism_pressure_pa(density_kg_per_m3: Any, height_m: Any) -> Array:
    """Pressure under a prism that stands on its whole base: density x g x height [Pa]."""
    return np.asarray(np.asarray(density_kg_per_m3, dtype=np.float64) * G0 * np.asarray(height_m))


def bearing_pressure_pa(mass_kg: Any, area_m2: Any) -> Array:
    """Pressure of a mass on the area it really stands on [Pa]."""
    return np.asarray(np.asarray(mass_kg, dtype=np.float64) * G0 / np.asarray(area_m2))


def ring_area_m2(diameter_m: Any, width_m: Any) -> Array:
    """Area of a ring foot from its middle diameter and its width: pi d w [m2]."""
    return np.asarray(math.pi * np.asarray(diameter_m, dtype=np.float64) * np.asarray(width_m))


def board_sag_m(load_n_per_m: float, free_m: float, stiffness: float, *, overhang: bool) -> float:
    """Sag of an evenly loaded board over a free length, between pads or beyond one pad.

    Parameters
    ----------
    load_n_per_m : load along the board [N/m]. free_m : clear length between pads, or beyond the one pad [m].
    stiffness : E I of the board [N m2]. overhang : True for the free end beyond a pad.

    Returns
    -------
    Sag [m]: 5 w L^4 / (384 E I) between pads (ends free to turn), w c^4 / (8 E I) at a free end.

    Source
        Beam theory; closed forms.
    """
    return load_n_per_m * free_m**4 / stiffness / (8.0 if overhang else 384.0 / 5.0)
