"""The worked weighing example: synthetic weights of a box at 4 degC beside air of 70 %, and what they teach of its lid.

Source: table of the worked example as typed (keeping_weighing_data.csv, keeping_weighing_update.csv); computed there by
quadrature on a grid of ln K with scipy, not with this program. Tolerance: the last digit printed.
"""

import math

import numpy as np
import pytest

from findhold.check.expecting import lost_kg, sight
from findhold.check.learning import LidPrior, Readings, learn
from findhold.physics.vapour import exchange_conductance

DAY_S = 86400.0


def printed(text):
    """Half a unit of the last digit printed, and a little for its own rounding."""
    mantissa, _, exponent = text.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return 0.51 * 10.0 ** (int(exponent or 0) - decimals)


def same_as_printed(value, text):
    return abs(value - float(text)) <= printed(text)


@pytest.fixture
def weights(authority):
    rows = authority("keeping_weighing_data.csv")
    exposure = np.array([float(row["x_integral_dp_dt_Pa_s"]) for row in rows])
    mass = np.array([float(row["box_weight_g"]) for row in rows]) / 1000.0
    return exposure, mass


def posterior_of(row, weights):
    count = int(row["n_weights"])
    exposure, mass = weights[0][:count], weights[1][:count]
    sd = np.full(count, float(row["sigma_g"]) / 1000.0)
    prior = LidPrior(conductance=float(row["prior_median_K"]), gsd=math.exp(float(row["prior_sd_lnK"])), refit_gsd=1.6)
    readings = Readings(exposure_pa_s=exposure, other_kg=np.zeros(count), mass_kg=mass, sd_kg=sd, segment=(0,) * count)
    return learn(readings, prior)


@pytest.mark.parametrize("place", [0, 1, 2, 3])
def test_least_squares_and_its_error_are_those_printed(authority, weights, place):
    row = authority("keeping_weighing_update.csv")[place]
    segment = posterior_of(row, weights).segments[0]
    assert same_as_printed(segment.slope, row["K_least_squares"])
    assert same_as_printed(segment.sxx**-0.5, row["sd_least_squares"])


@pytest.mark.parametrize("place", [0, 1, 2, 3])
def test_the_posterior_has_the_quantiles_and_moments_printed(authority, weights, place):
    row = authority("keeping_weighing_update.csv")[place]
    found = posterior_of(row, weights)
    low, best, high = found.quantiles((0.05, 0.5, 0.95))
    sd = math.sqrt(found.share[-1] @ (np.exp(found.ln_k) - found.mean) ** 2)
    # The print was made by quadrature on its own grid, so its fifth digit may differ by one or two; four stand.
    figures = {"K_post_q05": low, "K_post_q50": best, "K_post_q95": high, "K_post_mean": found.mean, "K_post_sd": sd}
    assert {name: value for name, value in figures.items() if value != pytest.approx(float(row[name]), rel=2e-4)} == {}


@pytest.mark.parametrize("place", [0, 1, 2, 3])
def test_the_loss_in_21_days_is_that_printed(authority, weights, place):
    row = authority("keeping_weighing_update.csv")[place]
    lost = lost_kg(posterior_of(row, weights), [float(row["dp_Pa"]) * 21.0 * DAY_S])
    columns = ("loss_21d_q05_g", "loss_21d_median_g", "loss_21d_q95_g")
    for value, column in zip((lost.low, lost.best, lost.high), columns, strict=True):
        assert 1000.0 * value == pytest.approx(float(row[column]), rel=2e-4)


def test_sums_of_squares_of_the_example(weights):
    # Source: the text of the example: xbar 1.433865e8, Sxx 5.460055e16 Pa2 s2, five weights.
    exposure, mass = weights
    segment = learn(
        Readings(exposure_pa_s=exposure, other_kg=np.zeros(5), mass_kg=mass, sd_kg=np.full(5, 5e-5), segment=(0,) * 5),
        LidPrior(conductance=2.7146e-13, gsd=3.0, refit_gsd=1.6),
    ).segments[0]
    assert segment.mean_pa_s == pytest.approx(1.433865e8, abs=51.0)
    assert segment.sxx * 5e-5**2 == pytest.approx(5.460055e16, rel=2e-7)


@pytest.mark.parametrize("place", [0, 1, 2, 3])
def test_the_conjugate_normal_row_follows_from_the_same_sums(authority, weights, place):
    # Source: 1/v1 = 1/v0 + Sxx/s2, k1 = v1 (k0/v0 + K_ls Sxx/s2), the normal prior with the lognormal's moments.
    row = authority("keeping_weighing_update.csv")[place]
    segment = posterior_of(row, weights).segments[0]
    spread = float(row["prior_sd_lnK"]) ** 2
    k0 = float(row["prior_median_K"]) * math.exp(spread / 2.0)
    v0 = k0**2 * (math.exp(spread) - 1.0)
    v1 = 1.0 / (1.0 / v0 + segment.sxx)
    assert v1 * (k0 / v0 + segment.slope * segment.sxx) == pytest.approx(
        float(row["K_conjugate_normal_mean"]), rel=1e-4
    )
    assert math.sqrt(v1) == pytest.approx(float(row["K_conjugate_normal_sd"]), rel=1e-4)


def test_the_smallest_lid_seen_after_a_week():
    # Source: the example's text: s 0.1 g, 7 d, 4 degC, 70 %: 9.6e-13 kg/(s Pa), 1.8 air changes a day of 6 litres.
    exposure = np.array([0.0, 244.0538 * 7.0 * DAY_S])
    readings = Readings(
        exposure_pa_s=exposure, other_kg=np.zeros(2), mass_kg=np.full(2, 1.25), sd_kg=np.full(2, 1e-4), segment=(0, 0)
    )
    prior = LidPrior(conductance=2.7146e-13, gsd=3.0, refit_gsd=1.6)
    seen = sight(learn(readings, prior), sd_kg=1e-4, difference_pa=244.0538)
    assert seen.smallest == pytest.approx(9.6e-13, abs=0.05e-13)
    assert seen.smallest / float(exchange_conductance(1.0, 0.006, 4.0)) == pytest.approx(1.8, abs=0.05)
    assert not seen.seen


def test_the_prior_of_the_example_is_half_an_air_change_a_day():
    # Source: prior median 2.7146e-13 kg/(s Pa) stands for N 0.5 a day on 6 litres; true K 1.50387e-12 for N 2.77.
    assert float(exchange_conductance(0.5, 0.006, 4.0)) == pytest.approx(2.7146e-13, abs=0.51e-17)
    assert float(exchange_conductance(2.77, 0.006, 4.0)) == pytest.approx(1.50387e-12, abs=0.51e-17)
