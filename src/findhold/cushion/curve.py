"""A foam's cushion curve: fitted to points as a straight line of ln(G s) on s h / t, with its range and its scatter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput
from findhold.physics.cushioning import StressEnergy
from findhold.tables.cushions import CurvePoint, CushionRules, ShippedCurve, cushion_rules, shipped_curves

Array = npt.NDArray[np.float64]
_ONE_SIDE = 0.95
"""Share of drops under the high edge, as everywhere in this program (5 % to 95 %)."""
_SAME_ENERGY = 0.05
"""Energies closer than this fraction count as one (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Scatter of ln G about the line: residual sd [1], covariance of (ln a, b) and the t factor of its band [1].

    The covariance is that of ln a [1] and b [1/Pa].
    """

    residual: float
    """Standard deviation of ln G about the line [1]."""
    covariance: tuple[tuple[float, float], tuple[float, float]]
    t_factor: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """A cushion curve ready to use: its law, where it holds, what it was measured on, how sure it is."""

    name: str
    foam: str
    law: StressEnergy
    energy_low_kpa: float
    energy_high_kpa: float
    """Energies s h / t of the points: the curve is not used outside them [kPa]."""
    drop_low_m: float
    drop_high_m: float
    thickness_low_mm: float
    thickness_high_mm: float
    least_thickness_mm: float
    points: int
    energies: int
    r2: float | None
    """Straightness of the line [1]; None where it passes through its points exactly."""
    scatter: Scatter | None
    """None = no error estimate."""
    impact: str
    conditions: str
    note: str
    source: str
    """Key of the bibliography, or the file of a unit's own measurement."""
    seen: str

    @property
    def own(self) -> bool:
        """True for a unit's own measurement."""
        return self.seen == "measured"

    def band(self, energy_pa: npt.ArrayLike, unknown_fraction: float) -> tuple[Array, Array]:
        """Factors on G at the low and the high edge of its scatter.

        Parameters
        ----------
        energy_pa : energies s h / t [Pa]. unknown_fraction : taken where the curve has no error estimate.

        Returns
        -------
        (low, high) [1], shape of energy_pa.

        Source
            Prediction band of a straight line: residual and covariance of the fit, Student's t.
        """
        x = np.asarray(energy_pa, dtype=np.float64)
        if self.scatter is None:
            return np.full(x.shape, 1.0 - unknown_fraction), np.full(x.shape, 1.0 + unknown_fraction)
        (c00, c01), (_, c11) = self.scatter.covariance
        sd = np.sqrt(self.scatter.residual**2 + c00 + 2.0 * c01 * x + c11 * x * x)
        wide = np.exp(self.scatter.t_factor * sd)
        return 1.0 / wide, wide


def fit_curve(points: Sequence[CurvePoint], *, name: str, foam: str, rules: CushionRules | None = None) -> Curve:
    """A unit's own curve from its measured drops.

    Parameters
    ----------
    points : one per drop: static stress, peak G, drop height, foam thickness.
    name : what it is called in messages, for instance the file. foam : material it was measured on.

    Returns
    -------
    Curve with residual, covariance of (ln a, b) and R2.

    Raises
    ------
    BadInput : too few drops or energies, foam too thin, a figure that cannot be, a line that does not rise.

    Source
        Least squares of ln(G s) on s h / t; how many drops are enough: clemson-stress-energy.
    """
    rules = rules or cushion_rules()
    thin_mm = shipped_curves()[0].least_thickness_mm
    _check_points(points, name, rules, thin_mm)
    x, y = _line(points)
    rows = np.column_stack([np.ones_like(x), x])
    solution, *_ = np.linalg.lstsq(rows, np.log(y), rcond=None)
    left = np.log(y) - rows @ solution
    spare = len(points) - 2
    variance = float(left @ left) / spare
    covariance = variance * np.linalg.inv(rows.T @ rows)
    spread = float(((np.log(y) - np.log(y).mean()) ** 2).sum())
    if solution[1] <= 0.0:
        raise BadInput(
            "the peak stress G s does not rise with the energy s h / t in these drops",
            where=name,
            limit="a cushion that gets harder the further it is pressed",
            do="Check the columns and their units; measure at more static stresses",
        )
    return _curve(
        points,
        law=StressEnergy(a_pa=float(np.exp(solution[0])), b_per_pa=float(solution[1])),
        facts=_Facts(name=name, foam=foam, least_mm=thin_mm, source=name, seen="measured"),
        r2=1.0 - float(left @ left) / spread if spread > 0.0 else None,
        scatter=Scatter(
            residual=math.sqrt(variance),
            covariance=(
                (float(covariance[0, 0]), float(covariance[0, 1])),
                (float(covariance[1, 0]), float(covariance[1, 1])),
            ),
            t_factor=_student(spare),
        ),
    )


@cache
def shipped_curve(foam: str) -> Curve | None:
    """The shipped curve of a foam by its name in packing_materials; None where no curve with a source is known."""
    found = next((curve for curve in shipped_curves() if curve.foam == foam), None)
    return None if found is None else _through_two(found)


def _through_two(shipped: ShippedCurve) -> Curve:
    """The line through two printed points: exact, so it tells nothing of its own error."""
    if len(shipped.points) != 2:
        raise ValueError(f"cushion curve {shipped.name}: two points wanted, {len(shipped.points)} found")
    x, y = _line(shipped.points)
    b = float(np.log(y[1] / y[0]) / (x[1] - x[0]))
    law = StressEnergy(a_pa=float(y[0] * math.exp(-b * x[0])), b_per_pa=b)
    facts = _Facts(
        name=shipped.name,
        foam=shipped.foam,
        least_mm=shipped.least_thickness_mm,
        source=shipped.source,
        seen=shipped.seen,
        impact=shipped.impact,
        conditions=shipped.conditions,
        note=f"{shipped.density_kg_per_m3:g} kg/m³; {shipped.note}",
    )
    return _curve(shipped.points, law=law, facts=facts, r2=None, scatter=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Facts:
    name: str
    foam: str
    least_mm: float
    source: str
    seen: str
    impact: str = "as measured"
    conditions: str = "as measured"
    note: str = ""


def _curve(
    points: Sequence[CurvePoint], *, law: StressEnergy, facts: _Facts, r2: float | None, scatter: Scatter | None
) -> Curve:
    x, _ = _line(points)
    drops, thick = [point.drop_m for point in points], [point.thickness_mm for point in points]
    return Curve(
        name=facts.name,
        foam=facts.foam,
        law=law,
        energy_low_kpa=float(x.min()) / 1000.0,
        energy_high_kpa=float(x.max()) / 1000.0,
        drop_low_m=min(drops),
        drop_high_m=max(drops),
        thickness_low_mm=min(thick),
        thickness_high_mm=max(thick),
        least_thickness_mm=facts.least_mm,
        points=len(points),
        energies=_energies(x),
        r2=r2,
        scatter=scatter,
        impact=facts.impact,
        conditions=facts.conditions,
        note=facts.note,
        source=facts.source,
        seen=facts.seen,
    )


def _line(points: Sequence[CurvePoint]) -> tuple[Array, Array]:
    """Energy s h / t and peak stress G s of each point [Pa]."""
    table = np.array([(p.static_stress_kpa * 1000.0, p.peak_g, p.drop_m, p.thickness_mm / 1000.0) for p in points])
    s, g, h, t = table.T
    return s * h / t, g * s


def _energies(x: Array) -> int:
    """How many different energies there are."""
    steps = np.diff(np.sort(x)) / np.sort(x)[1:]
    return 1 + int((steps > _SAME_ENERGY).sum())


def _student(spare: int) -> float:
    """Student's t of the high edge."""
    from scipy.special import stdtrit

    return float(stdtrit(spare, _ONE_SIDE))


def _check_points(points: Sequence[CurvePoint], name: str, rules: CushionRules, thin_mm: float) -> None:
    if len(points) < rules.least_points:
        raise BadInput(
            f"{len(points)} drops are too few for a curve",
            where=name,
            limit=f"{rules.least_points} or more; {rules.enough_points} (five at each of three energies) are enough",
            do="Measure more drops, at different loads or heights",
        )
    for number, point in enumerate(points, 1):
        figures = (point.static_stress_kpa, point.peak_g, point.drop_m, point.thickness_mm)
        if not all(math.isfinite(value) and value > 0.0 for value in figures) or point.peak_g <= 1.0:
            raise BadInput(
                f"drop {number} has a figure that cannot be",
                where=name,
                limit="all above 0, and G above 1",
                do="Mend that row or leave it out",
            )
        if point.thickness_mm < thin_mm:
            raise BadInput(
                f"drop {number} was made on {point.thickness_mm:g} mm of foam",
                where=name,
                limit=f"{thin_mm:g} mm or more: curves of thinner foam do not follow the same line",
                do="Measure on thicker foam, or leave these drops out",
            )
    found = _energies(_line(points)[0])
    if found < rules.least_energies:
        raise BadInput(
            f"these drops have only {found} different energies s h / t",
            where=name,
            limit=f"{rules.least_energies} or more, over 5 % apart",
            do="Measure at other loads, heights or thicknesses too",
        )
