"""What weighings teach about a lid: one conductance, learned from masses whose starting point is unknown too.

Readings fall into segments between openings of the box. Each segment has its own unknown starting mass; the lid keeps
its conductance within a segment and may change by a random step when it is refitted. The posterior lives on a grid of
the logarithm of the conductance. Pure arithmetic: no clock, no chance, nothing but arrays.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput
from findhold.physics.band import HIGH_SHARE, LOW_SHARE, Band

Array = npt.NDArray[np.float64]

POINTS = 2001
"""Of the grid; it is drawn closer round what the readings leave possible until the posterior fills it."""
_WIDEST = 8.0  # standard deviations of the prior, with all its refittings, that the first grid reaches each way
_EMPTY = 1e-13  # share of the highest point below which a point of the grid is empty
_ZOOMS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class LidPrior:
    """What is thought of a lid before the box is weighed.

    conductance : median [kg/(s Pa)]. gsd : its geometric standard deviation [1]. refit_gsd : the factor by which a
    lid that was opened and closed again may differ from itself, one standard deviation [1].
    """

    conductance: float
    gsd: float
    refit_gsd: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.conductance) and self.conductance > 0.0):
            raise BadInput(
                f"the lid's conductance before weighing is {self.conductance:g} kg/(s Pa)",
                where="lid",
                limit="a number above 0",
                do="Mend the air changes a day of the box's lid",
            )
        for name, least in (("gsd", 1.001), ("refit_gsd", 1.0)):
            value = getattr(self, name)
            if not (math.isfinite(value) and least <= value <= 100.0):
                raise BadInput(
                    f"the spread of the lid, {name}, is {value:g}",
                    where="lid",
                    limit=f"{least:g} to 100, a factor",
                    do="Mend it in the settings; 3 is the default spread",
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """Weighings of one box in order of time, each an array of shape (n,).

    A segment's number grows by one at each reading before which the box was opened.
    """

    exposure_pa_s: Array
    """Integral since packing of the vapour pressure inside less outside."""
    other_kg: Array
    """Water lost since packing by ways that are not the lid: walls, breathing."""
    mass_kg: Array
    sd_kg: Array
    """Standard deviation of each reading."""
    segment: tuple[int, ...]

    def __post_init__(self) -> None:
        count = len(self.segment)
        if any(len(part) != count for part in (self.exposure_pa_s, self.other_kg, self.mass_kg, self.sd_kg)):
            raise ValueError("the columns of the weighings differ in length")
        if any(not 0 <= after - before <= 1 for before, after in pairwise(self.segment)) or self.segment[:1] > (0,):
            raise ValueError("segments are numbered 0, 1, 2 ... in order of time")
        if count and not (np.all(np.isfinite(self.mass_kg)) and np.all(self.sd_kg > 0.0)):
            raise ValueError("a weighing without a finite mass or with no error")


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """What the readings between two openings say by themselves.

    slope [kg/(s Pa)] is the least-squares conductance, sxx [1/(kg/(s Pa))2] the inverse of its variance;
    precision [1/kg2] is the sum of the inverse variances of the readings.
    """

    slope: float
    sxx: float
    precision: float
    mean_pa_s: float
    mean_kg: float
    count: int

    def log_likelihood(self, conductance: Array) -> Array:
        """Of conductance [kg/(s Pa)], shape (m,), the unknown starting mass integrated out; best value 0 [1]."""
        if self.sxx == 0.0:
            return np.zeros_like(conductance)
        return np.asarray(-0.5 * self.sxx * (conductance - self.slope) ** 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """What is known of the lid after the weighings.

    ln_k : logarithm of the conductance in kg/(s Pa), shape (m,) [1]. share : probability of each point for the lid of
    each segment, shape (segments, m) [1]; the last row is the lid as it is now.
    """

    ln_k: Array
    share: Array
    segments: tuple[Segment, ...]
    prior: LidPrior

    def quantiles(self, shares: Sequence[float] | Array, segment: int = -1) -> Array:
        """Conductances below which the lid lies with the given shares [1] of probability, same shape [kg/(s Pa)]."""
        part = self.share[segment]
        below = np.cumsum(part) - 0.5 * part
        return np.asarray(np.exp(np.interp(shares, below, self.ln_k)))

    @property
    def lid(self) -> Band:
        """The lid as it is now: 5, 50 and 95 % points [kg/(s Pa)]."""
        low, best, high = self.quantiles((LOW_SHARE, 0.5, HIGH_SHARE))
        return Band(low=float(low), best=float(best), high=float(high))

    @property
    def mean(self) -> float:
        """Mean conductance of the lid as it is now [kg/(s Pa)]."""
        return float(self.share[-1] @ np.exp(self.ln_k))

    def spread(self, count: int) -> tuple[float, ...]:
        """Factors about the median at `count` evenly spaced shares of probability, rising [1]."""
        found = self.quantiles((np.arange(count) + 0.5) / count)
        return tuple(float(value) for value in found / self.lid.best)


def learn(readings: Readings, prior: LidPrior) -> Posterior:
    """Learn the conductance of a lid from weighings.

    Not from differences of successive readings taken as independent: two neighbours share a reading, so their errors
    are correlated by -1/2 and the answer would be too sure or too wide.

    Parameters
    ----------
    readings : weighings that count, in order of time; none at all gives the prior back.
    prior : of the lid before any of them.

    Returns
    -------
    Posterior of the lid in every segment, the present one last.

    Valid for
        One lid, a box whose contents keep its air at a known humidity, reading errors that are independent.
    Source
        Bayes' rule; w = m0 - K x + e with a flat m0 for each segment, which integrates out in closed form; a normal
        step of ln K at every opening (forward and backward over the segments).
    """
    segments = tuple(_segment(readings, number) for number in range(max(readings.segment, default=0) + 1))
    step = math.log(prior.refit_gsd)
    reach = _WIDEST * math.hypot(math.log(prior.gsd), step * math.sqrt(len(segments) - 1))
    centre = math.log(prior.conductance)
    ln_k = np.linspace(centre - reach, centre + reach, POINTS)
    for _ in range(_ZOOMS):
        share = _smoothed(ln_k, segments, prior)
        kept = np.flatnonzero((share > _EMPTY * share.max(axis=1, keepdims=True)).any(axis=0))
        first, last = max(kept[0] - 1, 0), min(kept[-1] + 1, POINTS - 1)
        if last - first > POINTS // 2:
            break
        ln_k = np.linspace(ln_k[first], ln_k[last], POINTS)
    return Posterior(ln_k=ln_k, share=_smoothed(ln_k, segments, prior), segments=segments, prior=prior)


def _segment(readings: Readings, number: int) -> Segment:
    """Weighted straight line through the readings of one segment."""
    here = np.array([own == number for own in readings.segment], dtype=bool)
    if not here.any():
        return Segment(slope=0.0, sxx=0.0, precision=0.0, mean_pa_s=0.0, mean_kg=0.0, count=0)
    weight = readings.sd_kg[here] ** -2.0
    exposure, mass = readings.exposure_pa_s[here], readings.mass_kg[here] + readings.other_kg[here]
    precision = float(weight.sum())
    mean_pa_s, mean_kg = float(weight @ exposure) / precision, float(weight @ mass) / precision
    sxx = float(weight @ (exposure - mean_pa_s) ** 2)
    sxy = float(weight @ ((exposure - mean_pa_s) * (mass - mean_kg)))
    # Readings at one instant, or in a place as humid as the box, say nothing of the lid.
    blind = sxx <= 1e-18 * float(weight @ np.maximum(exposure**2, 1.0))
    return Segment(
        slope=0.0 if blind else -sxy / sxx,
        sxx=0.0 if blind else sxx,
        precision=precision,
        mean_pa_s=mean_pa_s,
        mean_kg=mean_kg,
        count=int(here.sum()),
    )


def _smoothed(ln_k: Array, segments: tuple[Segment, ...], prior: LidPrior) -> Array:
    """Probability of the lid of each segment on the grid, all readings known; shape (segments, m)."""
    spacing, step = float(ln_k[1] - ln_k[0]), math.log(prior.refit_gsd)
    likelihoods = [segment.log_likelihood(np.exp(ln_k)) for segment in segments]
    ahead = [-0.5 * ((ln_k - math.log(prior.conductance)) / math.log(prior.gsd)) ** 2]
    for likelihood in likelihoods[:-1]:
        ahead.append(_stepped(ahead[-1] + likelihood, spacing, step))
    back = [np.zeros_like(ln_k)]
    for likelihood in reversed(likelihoods[1:]):
        back.append(_stepped(back[-1] + likelihood, spacing, step))
    rows = [a + b + c for a, b, c in zip(ahead, likelihoods, reversed(back), strict=True)]
    share = np.array([np.exp(row - row.max()) for row in rows])
    return np.asarray(share / share.sum(axis=1, keepdims=True))


def _stepped(log_density: Array, spacing: float, step: float) -> Array:
    """Logarithm of a density after a normal step of the lid."""
    width = math.ceil(6.0 * step / spacing)
    if step == 0.0 or width == 0:
        return log_density
    width = min(width, len(log_density) - 1)
    kernel = np.exp(-0.5 * (np.arange(-width, width + 1) * spacing / step) ** 2)
    density = np.exp(log_density - log_density.max())
    blurred = np.convolve(density, kernel / kernel.sum())[width : width + len(density)]
    return np.asarray(np.log(np.maximum(blurred, 1e-300)))
