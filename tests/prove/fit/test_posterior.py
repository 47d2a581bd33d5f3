"""The posterior against closed forms, scipy's quadrature and integrals over places' shifts, written here without the product."""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from fencecast.errors import UsageError
from fencecast.prove.fit.grid import Grid, Prior, highest_density, quantiles, smeared, spread_weights
from fencecast.prove.fit.posterior import posterior

SEEN_AT = 2.6  # N of the one camera's one step, cycles


def ln_odds(ln_cycles_50):
    """E ln x of the law of resolution, typed anew: ln of Pd / (1 - Pd)."""
    ln_x = math.log(SEEN_AT) - ln_cycles_50
    return (2.7 + 0.7 * np.exp(ln_x)) * ln_x


def ln_binomial(ln_cycles_50, alarms, walks):
    odds = ln_odds(ln_cycles_50)
    return -alarms * np.logaddexp(0.0, -odds) - (walks - alarms) * np.logaddexp(0.0, odds)


def one_camera(alarms, walks, prior, finer=1, spreads=(0.0,)):
    grid = Grid.about(prior.median, finer)
    ln = np.broadcast_to(ln_binomial(grid.ln_nodes, alarms, walks)[:, None], (len(grid.ln_nodes), len(grid.r_nodes)))
    return posterior(["a"], ln[None, None], prior, grid, spreads)


def test_fifteen_of_thirty_is_what_was_published_for_this_case():
    known = one_camera(15, 30, Prior(2.0, 0.5)).cycles_50()
    assert known.mean_ln == pytest.approx(0.95031, abs=1e-5)
    assert known.sd_ln == pytest.approx(0.10585, abs=1e-5)
    assert (known.low, known.median, known.high) == pytest.approx((2.114, 2.581, 3.203), abs=5e-4)
    assert not known.only_from_above and not known.only_from_below


def test_twenty_seven_of_thirty():
    known = one_camera(27, 30, Prior(2.0, 0.5)).cycles_50()
    assert (known.mean_ln, known.sd_ln) == pytest.approx((0.40318, 0.12808), abs=1e-5)
    assert not known.only_from_above


def test_a_log_without_a_miss_knows_n50_from_above_only():
    known = one_camera(30, 30, Prior(2.0, 0.5)).cycles_50()
    assert (known.mean_ln, known.sd_ln) == pytest.approx((-0.07288, 0.26336), abs=1e-4)
    assert known.high == pytest.approx(1.43, abs=0.005)
    assert known.only_from_above and not known.only_from_below
    none = one_camera(0, 30, Prior(2.0, 0.5)).cycles_50()
    assert none.only_from_below and not none.only_from_above


@pytest.mark.parametrize(("alarms", "walks"), [(15, 30), (29, 30), (150, 300), (2, 3)])
def test_means_and_ends_are_those_of_scipys_quadrature(alarms, walks):
    """Catches: a grid too coarse for 300 walks, ends read off the points themselves, a prior cut where it still has weight."""
    prior = Prior(2.0, 0.5)
    top = max(ln_binomial(x, alarms, walks) for x in np.linspace(-2.0, 3.5, 2000))

    def density(x):
        return math.exp(ln_binomial(x, alarms, walks) - top) * stats.norm.pdf(x, math.log(2.0), 0.5)

    def part(f, low, high):
        cuts = np.linspace(low, high, 40)
        return sum(integrate.quad(f, a, b, epsabs=1e-14)[0] for a, b in zip(cuts, cuts[1:]))

    total = part(density, -2.5, 4.0)
    mean = part(lambda x: x * density(x), -2.5, 4.0) / total
    sd = math.sqrt(part(lambda x: (x - mean) ** 2 * density(x), -2.5, 4.0) / total)
    known = one_camera(alarms, walks, prior).cycles_50()
    assert known.mean_ln == pytest.approx(mean, abs=1e-5)
    assert known.sd_ln == pytest.approx(sd, abs=1e-5)
    for end, level in ((known.low, 0.025), (known.median, 0.5), (known.high, 0.975)):
        assert part(density, -2.5, math.log(end)) / total == pytest.approx(level, abs=2e-4)


def test_a_grid_four_times_as_fine_moves_the_mean_by_less_than_a_ten_thousandth():
    for alarms, walks in ((15, 30), (30, 30), (285, 300), (0, 5)):
        coarse, fine = (one_camera(alarms, walks, Prior(2.0, 0.5), finer).cycles_50() for finer in (1, 4))
        assert abs(coarse.mean_ln - fine.mean_ln) < 1e-4


def two_at_half(counts):
    """ln-likelihood in r of both, one, the other, none, two cameras at Pd 1/2: P(both) = 1/4 + asin(r) / 2 pi."""
    grid = Grid.about(2.0)
    both = 0.25 + np.arcsin(grid.r_nodes) / (2.0 * math.pi)
    ln = (counts[0] + counts[3]) * np.log(both) + (counts[1] + counts[2]) * np.log(0.5 - both)
    return grid, np.broadcast_to(ln, (1, 1, len(grid.ln_nodes), len(grid.r_nodes)))


def test_the_correlation_alone_from_counts_at_pd_one_half():
    grid, ln = two_at_half((18, 12, 12, 18))
    known = posterior(["a"], ln, Prior(2.0, 0.5), grid, (0.0,)).correlation()
    assert known.mode == pytest.approx(math.sin(0.1 * math.pi), abs=3e-4)
    assert known.mean == pytest.approx(0.3092, abs=2e-4)
    assert known.sd == pytest.approx(0.1553, abs=2e-4)
    assert not known.hardly_known
    grid, ln = two_at_half((4, 3, 3, 4))
    assert posterior(["a"], ln, Prior(2.0, 0.5), grid, (0.0,)).correlation().hardly_known


def test_the_shortest_interval_of_the_correlation_reaches_zero():
    """Catches: equal tails, which never hold a correlation of 0."""
    grid, ln = two_at_half((15, 15, 15, 15))
    known = posterior(["a"], ln, Prior(2.0, 0.5), grid, (0.0,)).correlation()
    assert known.low == 0.0
    fine = np.linspace(0.0, 0.9, 200_001)
    both = 0.25 + np.arcsin(fine) / (2.0 * math.pi)
    density = both**30 * (0.5 - both) ** 30
    mass = np.cumsum(density) / density.sum()
    assert known.high == pytest.approx(fine[np.searchsorted(mass, 0.95)], abs=2e-3)


def test_the_prior_is_a_uniform_correlation():
    grid, ln = two_at_half((0, 0, 0, 0))
    known = posterior(["a"], ln, Prior(2.0, 0.5), grid).correlation()
    assert known.mean == pytest.approx(0.45, abs=1e-9)
    assert known.sd == pytest.approx(0.9 / math.sqrt(12.0), abs=1e-3)
    assert known.sd == known.prior_sd and known.hardly_known


@pytest.mark.parametrize("spread", [0.1, 0.35, 0.7])
def test_a_smeared_place_is_the_integral_over_its_shift(spread):
    """Against Gauss-Hermite over the exact likelihood, ends of the grid included where posteriors have weight."""
    grid = Grid.about(2.0)
    ln = smeared(np.repeat(ln_binomial(grid.ln_points, 7, 10)[:, None], 2, axis=1), grid.step, spread)[:, 0]
    nodes, weights = np.polynomial.hermite_e.hermegauss(80)
    exact = np.log([np.exp(ln_binomial(x + spread * nodes, 7, 10)) @ weights / weights.sum() for x in grid.ln_points])
    inner = slice(20, -20)  # four standard deviations of the prior
    assert np.abs(np.exp(ln) - np.exp(exact))[inner].max() < 2e-5
    assert np.abs(ln - exact)[60:-60].max() < 5e-3


def test_places_that_differ_widen_n50_and_have_their_spread_found():
    """Six places, each alone certain of its N50, half of them 0.6 above the others: a spread near 0.3, a wide N50."""
    prior, shifts = Prior(2.0, 0.5), np.array([-0.3, 0.3, -0.3, 0.3, -0.3, 0.3])
    grid = Grid.about(2.0)
    ln = np.array([-0.5 * ((grid.ln_nodes - math.log(2.4) - shift) / 0.1) ** 2 for shift in shifts])
    ln = np.repeat(ln[:, None, :, None], len(grid.r_nodes), axis=3)
    names = [f"p{k}" for k in range(6)]
    known = posterior(names, ln, prior, grid)
    alike = known.at_spread(0.0)
    assert alike.cycles_50().sd_ln < 0.05
    assert known.cycles_50().sd_ln > 0.11
    assert 0.2 < known.place_spread()[0] < 0.45
    # The evidence of one spread, by hand: normal data with known variances, normal prior of the mean.
    cov = np.eye(6) * (0.1**2 + 0.2**2) + 0.5**2
    exact = stats.multivariate_normal(np.full(6, math.log(2.0)), cov).logpdf(math.log(2.4) + shifts)
    assert known.at_spread(0.2).evidence == pytest.approx(exact + 6 * math.log(0.1 * math.sqrt(2 * math.pi)), abs=2e-3)


def test_an_unwalked_place_has_its_own_shift():
    known = one_camera(15, 30, Prior(2.0, 0.5), spreads=(0.35,))
    mean, sd = known.cycles_50().mean_ln, known.cycles_50().sd_ln
    points, weight = known.of_unwalked_place()
    assert weight.sum() == pytest.approx(1.0)
    assert weight @ points == pytest.approx(mean, abs=1e-9)
    assert math.sqrt(weight @ (points - mean) ** 2) == pytest.approx(math.hypot(sd, 0.35), rel=1e-3)


def test_fewer_than_four_places_leave_their_spread_as_the_prior_has_it():
    prior = Prior(2.0, 0.5)
    grid = Grid.about(2.0)
    ln = np.array([ln_binomial(grid.ln_nodes, alarms, 20) for alarms in (2, 18, 10, 5)])
    ln = np.repeat(ln[:, None, :, None], len(grid.r_nodes), axis=3)
    three = posterior(["a", "b", "c"], ln[:3], prior, grid)
    assert three.spread_is_prior
    assert three.of_spread == pytest.approx(spread_weights(prior, three.spreads))
    four = posterior(["a", "b", "c", "d"], ln, prior, grid)
    assert not four.spread_is_prior and four.of_spread[0] < 1e-3
    assert four.without("d").spread_is_prior
    assert four.without("d").cycles_50() == three.cycles_50()


def test_places_without_a_walk_that_tells_leave_the_half_normal_as_it_was():
    """Median and 95 % end of a half-normal of 0.3 that ends at 0.7, from scipy: catches a spread read 30 % too low."""
    grid = Grid.about(2.0)
    nothing = np.zeros((1, 1, len(grid.ln_nodes), len(grid.r_nodes)))
    found = posterior(["a"], nothing, Prior(2.0, 0.5), grid)
    kept = stats.halfnorm(scale=0.3).cdf(0.7)
    exact = stats.halfnorm(scale=0.3).ppf([0.5 * kept, 0.95 * kept])
    assert exact == pytest.approx((0.198, 0.546), abs=5e-4)
    assert found.place_spread() == pytest.approx(tuple(exact), abs=0.012)
    assert found.at_spread(0.35).place_spread() == (0.35, 0.35)


def test_the_order_of_places_changes_no_bit():
    prior, grid = Prior(2.0, 0.5), Grid.about(2.0)
    ln = np.array([ln_binomial(grid.ln_nodes, alarms, 20) for alarms in (2, 18, 10, 5, 7)])
    ln = np.repeat(ln[:, None, :, None], len(grid.r_nodes), axis=3)
    names = list("abcde")
    for order in ([4, 2, 0, 1, 3], [1, 0, 3, 2, 4]):
        moved = posterior([names[k] for k in order], ln[order], prior, grid)
        assert np.array_equal(moved.weight, posterior(names, ln, prior, grid).weight)


def test_a_prior_half_and_twice_as_wide_moves_few_walks():
    known = one_camera(10, 12, Prior(2.0, 0.5))
    narrow, wide = (known.with_prior_spread(f).cycles_50().mean_ln for f in (0.5, 2.0))
    base = known.cycles_50().mean_ln
    assert (narrow - math.log(2.0)) / (base - math.log(2.0)) < 1.0 < (wide - math.log(2.0)) / (base - math.log(2.0))
    assert known.with_prior_spread(0.5).cycles_50() == one_camera(10, 12, Prior(2.0, 0.25)).cycles_50()


def test_ends_of_a_normal_and_of_a_ramp():
    points = np.linspace(-3.0, 3.0, 31)
    density = np.exp(-0.5 * (points / 0.2) ** 2)  # a point every standard deviation
    assert quantiles(points, density, (0.025, 0.975)) == pytest.approx((-0.39199, 0.39199), abs=1e-3)
    ramp = np.linspace(0.0, 0.9, 19)
    low, high, mode = highest_density(ramp, np.exp(3.0 * ramp))
    assert (high, mode) == (0.9, 0.9)
    assert low == pytest.approx(math.log(1.0 + 0.05 * math.expm1(2.7)) / 3.0, abs=1e-4)


@pytest.mark.parametrize(("median", "spread", "word"), [(0.1, 0.5, "--prior-median is 0.1"), (2.0, 1.5, "--prior-spread is 1.5")])
def test_priors_that_the_grid_cannot_hold_are_refused(median, spread, word):
    with pytest.raises(UsageError, match=word):
        Prior(median, spread)
