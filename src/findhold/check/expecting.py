"""What a learned lid lets expect: the next reading, the water lost so far, and what the balance can see at all."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from findhold.check.learning import Array, Posterior
from findhold.physics.band import HIGH_SHARE, LOW_SHARE, Band

_NODES = 201  # equal shares of the posterior that an expected mass is made from
_SECONDS_PER_DAY = 86400.0
_STEPS = 60
_CLOSE_KG = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What the balance should show: a mixture of normal curves, one for each equally likely lid.

    means_kg : shape (nodes,). sd_kg : of each.
    """

    means_kg: Array
    sd_kg: float

    def below(self, mass_kg: float) -> float:
        """Probability of a reading below this mass [1]."""
        scaled = (mass_kg - self.means_kg) / (self.sd_kg * math.sqrt(2.0))
        return float(np.mean([0.5 * (1.0 + math.erf(value)) for value in scaled]))

    def quantile_kg(self, share: float) -> float:
        """Mass below which the reading lies with a share [1] of probability, between 0 and 1 [kg]."""
        edge = self.sd_kg * abs(NormalDist().inv_cdf(share))
        low, high = float(self.means_kg.min()) - edge, float(self.means_kg.max()) + edge
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.below(middle) < share else (low, middle)
        return 0.5 * (low + high)

    @property
    def band_kg(self) -> Band:
        """5, 50 and 95 % points [kg]."""
        return Band(low=self.quantile_kg(LOW_SHARE), best=self.quantile_kg(0.5), high=self.quantile_kg(HIGH_SHARE))


def expect(
    posterior: Posterior,
    *,
    exposure_pa_s: float,
    other_kg: float,
    sd_kg: float,
    added_kg: float = 0.0,
    segment: int = -1,
) -> Expected | None:
    """What the balance should show at some instant, from the other readings of the segment.

    Parameters
    ----------
    posterior : what the readings so far taught.
    exposure_pa_s, other_kg : at that instant, since packing, as in `Readings`.
    sd_kg : of the reading to come, with everything that may have been done to the box.
    added_kg : water put in since the segment's last reading.
    segment : which; the present one when not given.

    Returns
    -------
    The expected reading, None when the segment has no reading yet.

    Source
        Given K, the starting mass is normal about mean(w) + K mean(x) with variance 1/sum(1/s2); mixed over K.
    """
    own = posterior.segments[segment]
    if own.count == 0:
        return None
    lids = posterior.quantiles((np.arange(_NODES) + 0.5) / _NODES, segment)
    means = own.mean_kg + lids * (own.mean_pa_s - exposure_pa_s) - other_kg + added_kg
    return Expected(means_kg=means, sd_kg=math.sqrt(1.0 / own.precision + sd_kg**2))


def edges_kg(expected: Sequence[Expected], shares: Sequence[float]) -> Array:
    """Masses [kg] below which many readings lie with given shares [1] of probability, shape (readings, shares).

    The same as `Expected.quantile_kg`, for all at once, to a thousandth of a milligram.
    """
    from scipy.special import ndtr, ndtri

    means = np.array([one.means_kg for one in expected])[:, None, :]
    sd_kg = np.array([one.sd_kg for one in expected])[:, None]
    wanted = np.asarray(shares, dtype=np.float64)[None, :]
    spread_kg = np.sqrt(means.var(axis=2) + sd_kg**2)
    low = means.min(axis=2) - sd_kg * np.abs(ndtri(wanted))
    high = means.max(axis=2) + sd_kg * np.abs(ndtri(wanted))
    found = np.clip(means.mean(axis=2) + spread_kg * ndtri(wanted), low, high)
    for _ in range(_STEPS):
        scaled = (found[..., None] - means) / sd_kg[..., None]
        below = ndtr(scaled).mean(axis=2)
        low, high = np.where(below < wanted, found, low), np.where(below < wanted, high, found)
        slope = np.exp(-0.5 * scaled**2).mean(axis=2) / (sd_kg * math.sqrt(2.0 * math.pi))
        step = np.divide(wanted - below, slope, out=np.zeros_like(found), where=slope > 0.0)
        newton = found + step
        # Newton's step where it stays between the bounds, halving where it does not.
        found = np.where((newton >= low) & (newton <= high) & (slope > 0.0), newton, 0.5 * (low + high))
        if float((high - low).max()) < _CLOSE_KG or float(np.abs(step).max()) < _CLOSE_KG:
            break
    return np.asarray(found)


def lost_kg(posterior: Posterior, spans_pa_s: Sequence[float], other_kg: float = 0.0) -> Band:
    """Water lost while the box stood through the given exposures, one for each segment.

    Parameters
    ----------
    posterior : what the readings taught.
    spans_pa_s : exposure within each segment, in order.
    other_kg : water lost by ways that are not the lid.

    Returns
    -------
    5, 50 and 95 % points; with several segments their edges are added as if the lids moved together, which makes the
    band a little too wide, never too narrow [kg].

    Source
        m = K x, summed over the segments.
    """
    total = np.full(3, other_kg)
    for number, span in enumerate(spans_pa_s):
        edges = posterior.quantiles((LOW_SHARE, 0.5, HIGH_SHARE), number) * span
        total += np.sort(edges)
    return Band(low=float(total[0]), best=float(total[1]), high=float(total[2]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """What the balance can see of a lid.

    smallest [kg/(s Pa)] is the conductance that would stand one standard deviation above nothing, None before two
    readings; upper [kg/(s Pa)] the 95 % point of the posterior.
    """

    smallest: float | None
    upper: float
    seen: bool
    seen_after_days: float | None
    """Days between two weighings after which the best lid shows, one standard deviation; None: never, as things are."""


def sight(posterior: Posterior, *, sd_kg: float, difference_pa: float) -> Sight:
    """What a balance can see of this lid, and how long it takes.

    Parameters
    ----------
    posterior : what the readings taught.
    sd_kg : of one weighing with the balance used now.
    difference_pa : mean vapour pressure inside less outside.

    Returns
    -------
    The smallest lid seen so far, whether the best one is above it, its upper limit, and the days two weighings need.

    Source
        Two readings a time t apart see K = sqrt(2) s / (dp t), one standard deviation; more readings 1/sqrt(Sxx).
    """
    total = sum(segment.sxx for segment in posterior.segments)
    smallest = 1.0 / math.sqrt(total) if total > 0.0 else None
    best = posterior.lid.best
    days = None
    if difference_pa > 0.0:
        days = math.sqrt(2.0) * sd_kg / (best * difference_pa) / _SECONDS_PER_DAY
    return Sight(
        smallest=smallest,
        upper=posterior.lid.high,
        seen=smallest is not None and best > smallest,
        seen_after_days=days,
    )
