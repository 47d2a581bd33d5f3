"""Nights from rates: distributions of counts, intervals of rates, what was counted on site, and the operator's queue."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom, chi2, gamma, nbinom, poisson

from fencecast.errors import UsageError
from fencecast.estimate import nights


@pytest.mark.parametrize(
    ("mean", "size", "worst"),
    [(2.0, math.inf, 5), (2.0, 1.0, 7), (2.0, 0.5, 8), (5.0, math.inf, 9), (5.0, 1.0, 16)],
)
def test_bad_nights_of_one_kind(mean, size, worst):
    """Catches: k taken for another parameter of the family, a night off by one. Values worked out beforehand, and scipy's own."""
    assert nights.bad_night(nights.night_distribution([[mean]], np.array([size]))) == worst
    law = poisson(mean) if math.isinf(size) else nbinom(size, size / (size + mean))
    assert law.ppf(0.95) == worst
    assert nights.negative_binomial(mean, size, 60) == pytest.approx(law.pmf(np.arange(60)), rel=1e-11, abs=1e-300)


def test_a_kept_share_of_encounters_keeps_its_size():
    """Catches: k scaled with the mean. NB(8, 1.5), each kept with 0.25 (scipy's binomial), is NB(2, 1.5)."""
    before = nights.negative_binomial(8.0, 1.5, 400)
    kept = np.array([before @ binom.pmf(n, np.arange(400), 0.25) for n in range(40)])
    assert kept == pytest.approx(nights.negative_binomial(2.0, 1.5, 40), abs=1e-15)


def test_two_kinds_in_a_night():
    """Catches: kinds that are not independent, a size of another kind. Printed values, and numpy's convolution."""
    found = nights.night_distribution([[2.0, 3.0]], np.array([1.0, 0.3]))
    n = np.arange(len(found))
    mean = found @ n
    assert mean == pytest.approx(5.0, abs=1e-6)
    assert found @ n**2 - mean**2 == pytest.approx(39.0, abs=1e-3)  # the tail that is cut
    assert nights.bad_night(found) == 17
    by_hand = np.convolve(nights.negative_binomial(2.0, 1.0, 600), nights.negative_binomial(3.0, 0.3, 600))[: len(found)]
    assert found == pytest.approx(by_hand, abs=2e-9)


def test_classes_mix_and_are_not_averaged():
    """Catches: one distribution of the mean rate: then one night in twenty has 9 alarms, not 14."""
    sizes = np.array([1.0])
    assert nights.bad_night(nights.night_distribution([[1.0], [10.0]], sizes, np.array([0.8, 0.2]))) == 14
    assert nights.bad_night(nights.night_distribution([[2.8]], sizes)) == 9


def test_many_sorts_of_nights():
    """Catches: a mixture that loses nights. Poisson nights whose rate is lognormal (mean 2, sigma 1): printed values."""
    u = (np.arange(4000) + 0.5) / 4000
    rates = 2.0 * np.exp(-0.5) * nights.lognormal_factors(u, 1.0)
    found = nights.night_distribution(rates[:, None], np.array([math.inf]))
    assert nights.bad_night(found) == 7
    assert found[0] == pytest.approx(0.3325, abs=5e-4)


def test_a_distribution_is_whole():
    """Catches: a tail that wraps round, negative probabilities, a night without alarms, weights that do not add up."""
    for mean, size in ((0.0, 1.0), (1e-6, 0.3), (300.0, 0.3), (5000.0, math.inf), (40.0, 2.0)):
        found = nights.night_distribution([[mean, 0.0]], np.array([size, 1.0]), np.array([12.0]))
        assert found.sum() == pytest.approx(1.0, abs=1e-12) and np.all(found >= 0.0)
        law = poisson(mean) if math.isinf(size) or mean == 0.0 else nbinom(size, size / (size + mean))
        assert nights.bad_night(found) == law.ppf(0.95)
        assert law.sf(len(found) - 1) < 2e-9
    with pytest.raises(UsageError, match="a night are more than can be counted"):
        nights.night_distribution([[1e7]], np.array([0.3]))


def test_a_factor_three_either_way():
    """Catches: natural for decimal logarithms, one tail for two."""
    assert nights.rate_sigma(3.0) == pytest.approx(0.5605, abs=5e-5)
    factors = nights.lognormal_factors(nights.uniform_draws(["one"])[:, 0], nights.rate_sigma(3.0))
    assert np.quantile(factors, [0.025, 0.5, 0.975]) == pytest.approx([1 / 3, 1.0, 3.0], rel=2e-3)


def test_rates_are_drawn_apart_and_stay_where_they_are():
    """Catches: one factor for all kinds, draws of a kind that move when another is added, columns that repeat."""
    names = [f"kind {k}" for k in range(43)]
    found = nights.uniform_draws(names, 1024)
    assert np.all((found > 0.0) & (found < 1.0))
    assert np.array_equal(found[:, :5], nights.uniform_draws(names[:5], 1024))
    assert np.max(np.abs(np.corrcoef(found, rowvar=False) - np.eye(43))) < 0.12  # 1,024 draws: 3.8 standard errors
    assert found.mean(axis=0) == pytest.approx(0.5, abs=0.04)


def test_the_interval_of_a_mean():
    """Catches: kinds that all go wrong together, an error that is left out. One kind: a factor of 3 either way. Four alike and
    independent: sum of lognormals by brute force (numpy's generator, 400,000 draws). 1.5 %: 4,096 draws place a 2.5 % point to
    1 % or so (scrambled sequences of that length scatter as much), brute force to 0.3 %."""
    sigma = nights.rate_sigma(3.0)
    one = nights.lognormal_factors(nights.uniform_draws(["a"]), sigma)
    assert nights.mean_interval(np.array([2.0]), one, 0.0, 0.95) == pytest.approx((2 / 3, 6.0), rel=2e-3)
    four = nights.lognormal_factors(nights.uniform_draws(list("abcd")), sigma)
    drawn = np.exp(sigma * np.random.default_rng(5).standard_normal((400_000, 4))).sum(axis=1)
    low, high = nights.mean_interval(np.ones(4), four, 0.0, 0.95)
    assert (low, high) == pytest.approx(tuple(np.quantile(drawn, [0.025, 0.975])), rel=1.5e-2)
    wide_low, wide_high = nights.mean_interval(np.ones(4), four, 1.0, 0.95)
    assert wide_high - 4.0 == pytest.approx(math.hypot(high - 4.0, 1.96), rel=1e-4)
    assert 4.0 - wide_low == pytest.approx(math.hypot(4.0 - low, 1.96), rel=1e-4)
    assert nights.mean_interval(np.array([0.1]), one, 1.0, 0.95)[0] == 0.0


def test_true_share():
    """Catches: nights of a year for hours, a share of the wrong side. 12 a night, 2 attempts a year, Pd 0.9: 1 alarm in 2,436."""
    assert 1.0 / nights.true_share(2.0, 0.9, 12.0) == pytest.approx(2436.0, abs=0.5)
    assert math.isnan(nights.true_share(0.0, 0.9, 0.0))


def test_the_queue_of_the_operator():
    """Catches: minutes for seconds, C for C squared, a queue that never ends called short. Values of the textbook formulas."""
    for rate, minutes, longer in ((12.0, 4 / 3, 0.2195), (20.0, 4.0, 0.4777), (27.0, 18.0, 0.8144)):
        assert nights.queue_wait_s(rate, 120.0) / 60.0 == pytest.approx(minutes, rel=1e-12)
        assert nights.queue_wait_s(rate, 120.0, 0.0) / 60.0 == pytest.approx(minutes / 2.0, rel=1e-12)
        assert nights.waits_longer(120.0, rate, 120.0) == pytest.approx(longer, abs=5e-5)
    assert math.isnan(nights.queue_wait_s(30.0, 120.0)) and nights.waits_longer(1e6, 30.0, 120.0) == 1.0


def test_what_was_counted_on_site():
    """Catches: a one-sided end for a two-sided one, nights that do not divide. One-sided 95 % ends as printed in tables of
    Poisson counts; the lower end with scipy's chi-square."""
    for alarms, upper in ((0, 3.00), (1, 4.74), (2, 6.30), (5, 10.51), (10, 16.96)):
        assert nights.counted_interval(alarms, 1.0, 0.90)[1] == pytest.approx(upper, abs=6e-3)
    low, high = nights.counted_interval(5, 7.0, 0.95)
    assert (low, high) == pytest.approx((chi2.ppf(0.025, 10) / 14.0, chi2.ppf(0.975, 12) / 14.0), rel=1e-12)
    wider = nights.counted_interval(5, 7.0, 0.95, mean=1.5, size=0.5)
    assert wider[1] - 5 / 7 == pytest.approx(2.0 * (high - 5 / 7), rel=1e-12) and wider[0] == 0.0
    assert nights.counted_interval(0, 7.0, 0.95)[0] == 0.0


@pytest.mark.parametrize(("rate", "over", "size"), [(3.0, 7, 0.3), (0.5, 30, 0.3), (3.0, 30, 1.0), (3.0, 7, np.inf)])
def test_what_a_count_leaves_open_keeps_its_promise(rate, over, size):
    """Catches: a count of uneven nights taken for one of Poisson's, whose interval holds 49 to 85 % at k = 0.3. 4,000 sites whose
    rates come from the prior, and their counts, summed night by night: a standard error of 0.37 %. An interval that keeps 94 to
    95.5 % leaves the bounds with one seed of 15,000 or fewer (four standard errors)."""
    rng = np.random.default_rng(5)
    prior = nights.gamma_prior(rate, nights.lognormal_relative_variance(nights.rate_sigma(3.0)))
    truth = rng.gamma(prior[0], 1.0 / prior[1], 4000)
    uneven = np.ones((4000, over)) if np.isinf(size) else rng.gamma(size, 1.0 / size, (4000, over))
    alarms = rng.poisson(truth[:, None] * uneven).sum(axis=1)
    ends = [nights.gamma_quantile(nights.posterior(prior, alarms, over, size), end) for end in (0.025, 0.975)]
    assert 0.925 <= np.mean((ends[0] <= truth) & (truth <= ends[1])) <= 0.97


def test_a_rate_after_a_count_on_site():
    """Catches: a prior with the wrong spread, nights added to the wrong parameter. Rate 2 within a factor of 3, then 5 alarms in
    7 nights: 0.9227 (0.391-1.679), worked out beforehand; quantiles with scipy's gamma."""
    prior = nights.gamma_prior(2.0, nights.lognormal_relative_variance(nights.rate_sigma(3.0)))
    assert prior[0] == pytest.approx(2.709, abs=1e-3)
    after = nights.posterior(prior, 5, 7.0)
    assert after[0] / after[1] == pytest.approx(0.9227, abs=5e-5)
    assert nights.posterior(prior, 5, 7.0, 1e12) == pytest.approx(after)
    assert nights.gamma_quantile(after, np.array([0.025, 0.975])) == pytest.approx([0.391, 1.679], abs=1e-3)
    assert nights.gamma_quantile(after, 0.3) == pytest.approx(gamma(after[0], scale=1.0 / after[1]).ppf(0.3), rel=1e-10)
