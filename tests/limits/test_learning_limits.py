"""Learning from weighings against closed forms, symmetries, and simulated boxes whose lids are known."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from findhold.check.expecting import expect, lost_kg, sight
from findhold.check.learning import LidPrior, Readings, learn
from findhold.errors import BadInput
from findhold.physics.band import Band

PRIOR = LidPrior(conductance=3e-13, gsd=3.0, refit_gsd=1.6)
DAY_PA_S = 244.0538 * 86400.0


def readings(days, masses_g, *, sd_g=0.1, segment=None, other_g=None):
    count = len(days)
    return Readings(
        exposure_pa_s=np.asarray(days, dtype=float) * DAY_PA_S,
        other_kg=np.zeros(count) if other_g is None else np.asarray(other_g, dtype=float) / 1000.0,
        mass_kg=np.asarray(masses_g, dtype=float) / 1000.0,
        sd_kg=np.broadcast_to(np.asarray(sd_g, dtype=float) / 1000.0, (count,)).copy(),
        segment=tuple(segment or (0,) * count),
    )


def edges(posterior, segment=-1):
    return posterior.quantiles((0.05, 0.25, 0.5, 0.75, 0.95), segment)


# --- closed forms -------------------------------------------------------------------------------------------------


def test_no_weighing_gives_the_prior_back():
    # A lognormal's quantiles are median times gsd to the normal quantile; z 0.95 = 1.644854.
    found = learn(readings([], []), PRIOR)
    assert found.lid == Band(
        low=pytest.approx(3e-13 * 3.0**-1.644854, rel=1e-4),
        best=pytest.approx(3e-13, rel=1e-5),
        high=pytest.approx(3e-13 * 3.0**1.644854, rel=1e-4),
    )
    assert found.mean == pytest.approx(3e-13 * math.exp(math.log(3.0) ** 2 / 2.0), rel=1e-4)


def test_one_weighing_teaches_nothing_of_the_lid():
    assert edges(learn(readings([5.0], [1250.0]), PRIOR)) == pytest.approx(edges(learn(readings([], []), PRIOR)))


def test_a_narrow_prior_gives_the_conjugate_normal():
    # A lognormal with a spread of 1 % is a normal to 1e-4; then 1/v1 = 1/v0 + Sxx, k1 = v1 (k0/v0 + K_ls Sxx).
    k0, gsd = 1e-12, 1.01
    found = learn(
        readings([0, 7, 14], [1250.0, 1249.80, 1249.66], sd_g=0.002), LidPrior(conductance=k0, gsd=gsd, refit_gsd=1.0)
    )
    segment, v0 = found.segments[0], (k0 * math.log(gsd)) ** 2
    v1 = 1.0 / (1.0 / v0 + segment.sxx)
    k1 = v1 * (k0 / v0 + segment.slope * segment.sxx)
    assert found.mean == pytest.approx(k1, rel=2e-4)
    low, high = found.quantiles((0.15865525, 0.84134475))
    assert (high - low) / 2.0 == pytest.approx(math.sqrt(v1), rel=0.02)


def test_very_good_weighings_give_the_true_lid_whatever_the_prior():
    days = np.array([0.0, 10.0, 20.0, 30.0])
    true = 7.3e-12
    masses = 1250.0 - 1000.0 * true * days * DAY_PA_S
    for prior in (PRIOR, LidPrior(conductance=1e-14, gsd=3.0, refit_gsd=1.6)):
        found = learn(readings(days, masses, sd_g=1e-4), prior)
        assert found.lid.best == pytest.approx(true, rel=2e-5)
        assert found.lid.high / found.lid.low < 1.0001


def test_differences_of_neighbours_carry_the_correlation_of_minus_one_half():
    # Generalised least squares on differences with covariance s2 (2 on, -1 beside the diagonal) is the same line as
    # ours; taking the differences as independent is another answer with another error.
    days, masses = np.array([0.0, 3.0, 7.0, 10.0, 14.0]), np.array([1250.03, 1249.84, 1249.83, 1249.66, 1249.60])
    segment = learn(readings(days, masses, sd_g=0.05), PRIOR).segments[0]
    dx, dw = np.diff(days) * DAY_PA_S, np.diff(masses) / 1000.0
    covariance = 5e-5**2 * (2.0 * np.eye(4) - np.eye(4, k=1) - np.eye(4, k=-1))
    correlation = covariance[0, 1] / covariance[0, 0]
    assert correlation == -0.5
    weighed = np.linalg.solve(covariance, dx)
    assert segment.slope == pytest.approx(-(weighed @ dw) / (weighed @ dx), rel=1e-9)
    assert segment.sxx == pytest.approx(weighed @ dx, rel=1e-9)
    naive = (dx @ dx) / (2.0 * 5e-5**2)
    assert segment.sxx > 2.0 * naive


def test_the_smallest_lid_seen_is_root_two_s_over_exposure():
    # Two readings: Sxx = x2 / (2 s2), so 1/sqrt(Sxx) = sqrt(2) s / x.
    found = sight(learn(readings([0, 9], [1250, 1250]), PRIOR), sd_kg=1e-4, difference_pa=244.0538)
    assert found.smallest == pytest.approx(math.sqrt(2.0) * 1e-4 / (9.0 * DAY_PA_S), rel=1e-12)
    best = learn(readings([0, 9], [1250, 1250]), PRIOR).lid.best
    assert found.seen_after_days == pytest.approx(math.sqrt(2.0) * 1e-4 / best / DAY_PA_S, rel=1e-9)


def test_in_a_place_as_humid_as_the_box_nothing_is_seen():
    level = Readings(
        exposure_pa_s=np.zeros(3), other_kg=np.zeros(3), mass_kg=np.full(3, 1.25), sd_kg=np.full(3, 1e-4),
        segment=(0, 0, 0),
    )  # fmt: skip
    found = learn(level, PRIOR)
    seen = sight(found, sd_kg=1e-4, difference_pa=0.0)
    assert edges(found) == pytest.approx(edges(learn(readings([], []), PRIOR)))
    assert (seen.smallest, seen.seen, seen.seen_after_days) == (None, False, None)


def test_other_losses_are_taken_off_before_the_lid_is_blamed():
    plain = learn(readings([0, 7, 14], [1250.0, 1249.9, 1249.8]), PRIOR)
    beside = learn(readings([0, 7, 14], [1250.0, 1249.6, 1249.2], other_g=[0.0, 0.3, 0.6]), PRIOR)
    assert edges(beside) == pytest.approx(edges(plain), rel=1e-6)


def test_loss_adds_over_the_segments_and_other_ways():
    found = learn(readings([0, 7, 8, 15], [1250, 1249.8, 1260, 1259.8], segment=(0, 0, 1, 1)), PRIOR)
    whole = lost_kg(found, [7 * DAY_PA_S, 7 * DAY_PA_S], 2e-4)
    first, second = lost_kg(found, [7 * DAY_PA_S, 0.0]), lost_kg(found, [0.0, 7 * DAY_PA_S])
    assert whole.best == pytest.approx(first.best + second.best + 2e-4, rel=1e-12)
    assert whole.high == pytest.approx(first.high + second.high + 2e-4, rel=1e-12)
    wetter = lost_kg(found, [-7 * DAY_PA_S, 0.0])
    assert wetter.low <= wetter.best <= wetter.high < 0.0


# --- segments -----------------------------------------------------------------------------------------------------


def test_a_lid_that_never_changes_is_one_lid_with_several_starting_masses():
    # With no step the likelihoods multiply: one segment whose slope is the Sxx-weighted mean of the two.
    steady = LidPrior(conductance=3e-13, gsd=3.0, refit_gsd=1.0)
    two = learn(readings([0, 7, 8, 18], [1250.0, 1249.8, 1300.0, 1299.8], segment=(0, 0, 1, 1)), steady)
    one, other = two.segments
    sxx = one.sxx + other.sxx
    slope = (one.sxx * one.slope + other.sxx * other.slope) / sxx
    k = np.exp(two.ln_k)
    log = -0.5 * (np.log(k / 3e-13) / math.log(3.0)) ** 2 - 0.5 * sxx * (k - slope) ** 2
    wanted = np.exp(log - log.max())
    assert two.share[-1] == pytest.approx(wanted / wanted.sum(), abs=1e-9)
    assert two.share[0] == pytest.approx(two.share[1], abs=1e-12)


def test_the_starting_mass_of_a_segment_teaches_nothing():
    days, segment = [0, 7, 8, 15], (0, 0, 1, 1)
    one = learn(readings(days, [1250.0, 1249.8, 1260.0, 1259.8], segment=segment), PRIOR)
    other = learn(readings(days, [1250.0, 1249.8, 9260.0, 9259.8], segment=segment), PRIOR)
    assert edges(one) == pytest.approx(edges(other), rel=1e-6)


def test_a_refitted_lid_is_less_certain_than_the_one_before():
    known = readings([0, 20, 40], [1250.0, 1249.0, 1248.0], sd_g=0.02)
    refitted = readings([0, 20, 40, 41], [1250.0, 1249.0, 1248.0, 1255.0], sd_g=0.02, segment=(0, 0, 0, 1))
    before, after = learn(known, PRIOR), learn(refitted, PRIOR)
    assert after.lid.best == pytest.approx(before.lid.best, rel=0.01)
    spread = math.log(after.lid.high / after.lid.low) / (2.0 * 1.644854)
    assert spread == pytest.approx(math.log(1.6), rel=0.02)
    assert edges(after, 0) == pytest.approx(edges(before), rel=1e-3)


def test_what_comes_after_an_opening_also_teaches_of_the_lid_before_it():
    short = readings([0, 2], [1250.0, 1249.9], sd_g=0.1)
    longer = readings([0, 2, 3, 40], [1250.0, 1249.9, 1250.0, 1246.0], sd_g=0.1, segment=(0, 0, 1, 1))
    alone, told = edges(learn(short, PRIOR)), edges(learn(longer, PRIOR), 0)
    assert told[-1] / told[0] < 0.5 * alone[-1] / alone[0]


# --- what the balance should show ---------------------------------------------------------------------------------


def test_a_lid_that_is_known_leaves_only_the_errors_of_weighing():
    # One known lid: the expected reading is normal with variance s2 (1 + 1/n).
    sure = LidPrior(conductance=3e-13, gsd=1.001, refit_gsd=1.0)
    found = learn(readings([0], [1250.0]), sure)
    told = expect(found, exposure_pa_s=7 * DAY_PA_S, other_kg=1e-5, sd_kg=1e-4)
    middle = 1.25 - 3e-13 * 7 * DAY_PA_S - 1e-5
    assert told.quantile_kg(0.5) == pytest.approx(middle, abs=1e-8)
    assert told.band_kg.high - middle == pytest.approx(1.644854 * math.sqrt(2.0) * 1e-4, rel=1e-3)
    assert told.below(middle) == pytest.approx(0.5, abs=1e-3)
    assert expect(learn(readings([], []), sure), exposure_pa_s=0.0, other_kg=0.0, sd_kg=1e-4) is None


def test_water_put_in_is_expected_to_show():
    found = learn(readings([0, 7], [1250.0, 1249.8]), PRIOR)
    asked = {"exposure_pa_s": 8 * DAY_PA_S, "other_kg": 0.0, "sd_kg": 1e-4}
    dry, wet = expect(found, **asked), expect(found, **asked, added_kg=0.02)
    assert wet.quantile_kg(0.5) - dry.quantile_kg(0.5) == pytest.approx(0.02, abs=1e-9)


@pytest.mark.parametrize("share", [0.001, 0.05, 0.5, 0.95, 0.999])
def test_quantile_and_probability_are_inverse(share):
    told = expect(
        learn(readings([0, 7], [1250.0, 1249.8]), PRIOR), exposure_pa_s=30 * DAY_PA_S, other_kg=0.0, sd_kg=1e-4
    )
    assert told.below(told.quantile_kg(share)) == pytest.approx(share, abs=1e-9)


# --- simulated boxes ----------------------------------------------------------------------------------------------

RUNS = 800


def simulated(seed, *, refits):
    """A box drawn from the prior, weighed eight times; with refits it is opened twice and the lid steps."""
    rng = np.random.default_rng(seed)
    days = np.sort(rng.uniform(0.0, 40.0, 8))
    segment = (0, 0, 0, 1, 1, 2, 2, 2) if refits else (0,) * 8
    lids = [3e-13 * 3.0 ** rng.standard_normal()]
    lids += [lids[-1] * 1.6 ** rng.standard_normal()] if refits else []
    lids += [lids[-1] * 1.6 ** rng.standard_normal()] if refits else []
    starts = rng.uniform(1000.0, 15000.0, 3)
    sd_g = rng.choice([0.05, 0.11, 0.3, 1.0], 8)
    lost_g = [1000.0 * lids[own] * day * DAY_PA_S for own, day in zip(segment, days, strict=True)]
    masses = [starts[own] - gone for own, gone in zip(segment, lost_g, strict=True)] + sd_g * rng.standard_normal(8)
    return lids, days, masses, sd_g, segment


@pytest.mark.parametrize("refits", [False, True])
def test_the_band_holds_the_true_lid_as_often_as_it_says(refits):
    # Simulation-based calibration: lids drawn from the prior fall below the posterior's quantiles with those shares.
    # Standard error of a share p in 800 runs is sqrt(p (1-p)/800), 1.1 % at 0.9; three of them are allowed.
    below = []
    for seed in range(RUNS):
        lids, days, masses, sd_g, segment = simulated(seed, refits=refits)
        found = learn(readings(days, masses, sd_g=sd_g, segment=segment), PRIOR)
        below.append(lids[-1] < found.quantiles((0.05, 0.25, 0.5, 0.75, 0.95)))
    for share, told in zip((0.05, 0.25, 0.5, 0.75, 0.95), np.mean(below, axis=0), strict=True):
        assert told == pytest.approx(share, abs=3.0 * math.sqrt(share * (1.0 - share) / RUNS))
    inside = np.mean([row[4] and not row[0] for row in below])
    assert inside == pytest.approx(0.9, abs=3.0 * math.sqrt(0.09 / RUNS))


@pytest.mark.parametrize("refits", [False, True])
def test_the_next_reading_falls_into_its_band_as_often_as_it_says(refits):
    runs, inside = 400, 0
    for seed in range(1000, 1000 + runs):
        _, days, masses, sd_g, segment = simulated(seed, refits=refits)
        found = learn(readings(days[:-1], masses[:-1], sd_g=sd_g[:-1], segment=segment[:-1]), PRIOR)
        told = expect(found, exposure_pa_s=days[-1] * DAY_PA_S, other_kg=0.0, sd_kg=sd_g[-1] / 1000.0)
        inside += told.band_kg.low <= masses[-1] / 1000.0 <= told.band_kg.high
    assert inside / runs == pytest.approx(0.9, abs=3.0 * math.sqrt(0.09 / runs))


def test_differences_taken_as_independent_would_miscount():
    # n + 1 readings d apart. Ours: variance 12 s2 / (d2 n (n+1) (n+2)), the sum of squares of an even row. Differences
    # taken as independent: the slope hangs on first and last alone, variance 2 s2 / (n2 d2), and 2 s2 / (n d2) is
    # claimed for it: n times too wide.
    steps, s_kg = 20, 5e-5
    days = np.arange(steps + 1.0)
    errors = s_kg * np.random.default_rng(7).standard_normal((4000, steps + 1))
    dx = np.full(steps, DAY_PA_S)
    naive = -(np.diff(errors, axis=1) @ dx) / (dx @ dx)
    assert naive == pytest.approx((errors[:, 0] - errors[:, -1]) / (steps * DAY_PA_S))
    claimed, true = 2.0 * s_kg**2 / (dx @ dx), 2.0 * s_kg**2 / (steps * DAY_PA_S) ** 2
    assert naive.var() == pytest.approx(true, rel=0.07)
    assert claimed / true == pytest.approx(steps)
    ours = learn(readings(days, np.full(steps + 1, 1250.0), sd_g=1000.0 * s_kg), PRIOR).segments[0]
    even = 12.0 * s_kg**2 / (DAY_PA_S**2 * steps * (steps + 1.0) * (steps + 2.0))
    assert 1.0 / ours.sxx == pytest.approx(even, rel=1e-9)
    assert even < true < claimed


# --- properties ---------------------------------------------------------------------------------------------------

weighed = some.lists(
    some.tuples(some.floats(0.0, 60.0), some.floats(-3.0, 3.0), some.sampled_from([0.05, 0.3, 1.0])),
    min_size=2,
    max_size=8,
)


@settings(max_examples=60, deadline=None)
@given(weighed, some.randoms(use_true_random=False))
def test_the_order_of_readings_within_a_segment_does_not_matter(rows, chance):
    mixed = list(rows)
    chance.shuffle(mixed)
    one, other = (
        learn(readings([r[0] for r in way], [1250.0 + r[1] for r in way], sd_g=[r[2] for r in way]), PRIOR)
        for way in (rows, mixed)
    )
    assert edges(one) == pytest.approx(edges(other), rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(weighed, some.floats(-500.0, 5000.0))
def test_a_balance_that_is_off_by_the_same_always_teaches_the_same(rows, off_g):
    days, masses, sd_g = [r[0] for r in rows], [1250.0 + r[1] for r in rows], [r[2] for r in rows]
    one = learn(readings(days, masses, sd_g=sd_g), PRIOR)
    other = learn(readings(days, [mass + off_g for mass in masses], sd_g=sd_g), PRIOR)
    assert edges(one) == pytest.approx(edges(other), rel=1e-5)


@settings(max_examples=60, deadline=None)
@given(weighed)
def test_the_lid_is_never_negative_and_its_points_are_in_order(rows):
    found = learn(readings([r[0] for r in rows], [1250.0 + r[1] for r in rows], sd_g=[r[2] for r in rows]), PRIOR)
    points = edges(found)
    assert np.all(np.diff(points) >= 0.0)
    assert points[0] > 0.0
    assert found.share.sum(axis=1) == pytest.approx(np.ones(1))
    assert list(found.spread(9)) == sorted(found.spread(9))


@settings(max_examples=40, deadline=None)
@given(some.floats(0.1, 3.0), some.floats(0.1, 3.0))
def test_a_box_that_lost_more_has_a_leakier_lid(one_g, other_g):
    less, more = sorted((one_g, other_g))
    found = [learn(readings([0, 14], [1250.0, 1250.0 - lost]), PRIOR).lid.best for lost in (less, more)]
    assert found[0] <= found[1] * (1.0 + 1e-9)


# --- bad input and the way into the forecast ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("conductance", "gsd", "refit"),
    [
        (0.0, 3.0, 1.6),
        (-1e-13, 3.0, 1.6),
        (math.nan, 3.0, 1.6),
        (1e-13, 0.5, 1.6),
        (1e-13, 1e6, 1.6),
        (1e-13, 3.0, 0.9),
    ],
)
def test_a_prior_that_cannot_be_is_refused(conductance, gsd, refit):
    with pytest.raises(BadInput, match="lid"):
        LidPrior(conductance=conductance, gsd=gsd, refit_gsd=refit)


@pytest.mark.parametrize("segment", [(1, 1), (0, 2), (1, 0)])
def test_segments_that_skip_are_a_mistake_of_the_program(segment):
    with pytest.raises(ValueError, match="segments"):
        readings([0, 1], [1250, 1250], segment=segment)
