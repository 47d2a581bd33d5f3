"""Pattern probabilities against closed forms, against scipy's bivariate normal, and against sums written out in NumPy."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.special import ndtr, ndtri
from scipy.stats import multivariate_normal

from fencecast.kernels.patterns import transfer
from fencecast.prove.walks.patterns import camera_pd, every_site_pd, log_likelihood, pattern_table, site_pd
from prove.walks.made_steps import CYCLES_50, one_walk, sure_walk

CORRELATIONS = (0.0, 0.3, 0.5, 0.65, 0.66, 0.8, 0.9)


@pytest.mark.parametrize("r", CORRELATIONS)
def test_table_against_the_normal_distribution(r):
    """Catches cubics that are too coarse, a tail that is lost, nodes that are not those of the weights. Source: scipy's ndtr
    between the rows, absolute and, to 8 sd, relative."""
    law = transfer(r)
    z = np.linspace(-5.5, 5.5, law.weight.size) if r > 0.0 else np.zeros(1)
    assert law.weight == pytest.approx(np.exp(-0.5 * z * z) / np.exp(-0.5 * z * z).sum(), rel=1e-12)
    rows = np.arange(law.table.shape[0] - 1)
    score = (rows + 0.5) / law.rows_a_score - 6.5
    x = (score[:, None] - math.sqrt(r) * z) / math.sqrt(1.0 - r)
    (alarm, silent, slope), (alarm_next, silent_next, slope_next) = (
        np.moveaxis(law.table[rows + more], 1, 0) for more in (0, 1)
    )  # fmt: skip
    bend = (slope - slope_next) / 8.0
    found_alarm, found_silent = 0.5 * (alarm + alarm_next) + bend, 0.5 * (silent + silent_next) - bend
    assert np.abs(found_alarm - ndtr(x)).max() < 1.2e-8
    near = np.abs(x) < 8.0
    assert np.abs(found_alarm / ndtr(x) - 1.0)[near].max() < 1e-4
    assert np.abs(found_silent / ndtr(-x) - 1.0)[near].max() < 1e-4


@pytest.mark.parametrize(
    ("pd", "r", "both"),
    [((0.5, 0.5), r, 0.25 + math.asin(r) / (2.0 * math.pi)) for r in (0.0, 0.3, 0.5, 0.8, 0.9)]
    + [((0.9, 0.9), 0.5, 0.832402), ((0.8, 0.6), 0.3, 0.513669)],
)
def test_two_cameras(pd, r, both):
    """Catches a correlation that is not the tetrachoric one, z not shared, nodes too far apart. Source: Sheppard's arc sine at
    one half; printed values and scipy's bivariate normal elsewhere."""
    steps = sure_walk(pd)
    table = pattern_table(steps, 0, [0, 1], CYCLES_50, r)
    outside = multivariate_normal([0.0, 0.0], [[1.0, r], [r, 1.0]])
    assert table[3] == pytest.approx(both, abs=1e-6 if pd != (0.5, 0.5) else 1e-8)
    assert table[3] == pytest.approx(outside.cdf(ndtri(pd)), abs=1e-7)
    assert table[0] == pytest.approx(outside.cdf(-ndtri(pd)), abs=1e-7)
    assert table[1] + table[3] == pytest.approx(pd[0], abs=1e-7)
    assert table[2] + table[3] == pytest.approx(pd[1], abs=1e-7)


@pytest.mark.parametrize(
    ("pd", "r", "any_camera"), [((0.9, 0.9), 0.5, 0.967598), ((0.8, 0.6), 0.3, 0.886331), ((0.5, 0.5), 0.5, 2.0 / 3.0)]
)
def test_any_of_two(pd, r, any_camera):
    """Catches a union that multiplies misses outside the mean over z. Source: printed values."""
    assert site_pd(sure_walk(pd), 0, CYCLES_50, r)[0, 0] == pytest.approx(any_camera, abs=1e-6)


def test_the_steep_part():
    """Catches another curve, N over N50 the wrong way round. Source: printed table of Pd and of the information P (1 - P) slope^2
    on ln N50, slope 2.7 + 0.7 x (1 + ln x), here from differences."""
    x = np.array([0.7, 0.8, 0.9, 1.0, 1.2, 1.5, 1.75, 2.0, 2.5])
    steps = one_walk(np.full((1, 1, 1), 2.6), np.ones((1, 1, 1)))
    pd = camera_pd(steps, 0, 2.6 / x)[:, 0]
    assert pd.round(3).tolist() == [0.243, 0.326, 0.413, 0.500, 0.656, 0.821, 0.900, 0.945, 0.983]
    h = 1e-4
    high, low = (camera_pd(steps, 0, 2.6 / x * math.exp(sign * h))[:, 0] for sign in (1, -1))
    information = ((high - low) / (2.0 * h)) ** 2 / (pd * (1.0 - pd))
    assert information.round(3).tolist() == [1.671, 2.159, 2.583, 2.890, 3.078, 2.567, 1.914, 1.339, 0.601]


def _random_walk(cameras, crossings, seed, post=None):
    random = np.random.default_rng(seed)
    cycles = np.sort(random.uniform(0.6, 5.0, (crossings, cameras, 6)), axis=2)[:, :, ::-1]
    gain = random.dirichlet(np.ones(7), (crossings, cameras))[:, :, :6]
    gain[random.random((crossings, cameras)) < 0.2] = 0.0
    return one_walk(cycles, gain, post), cycles, gain


def _given_z(cycles, gain, n50, r, z):
    """P(alarm | z), shape (nodes, crossings, cameras), written out."""
    ratio = cycles / n50
    score = ndtri(1.0 / (1.0 + np.exp(-(2.7 + 0.7 * ratio) * np.log(ratio))))
    return (gain * ndtr((score - math.sqrt(r) * z[:, None, None, None]) / math.sqrt(1.0 - r))).sum(axis=3)


@pytest.mark.parametrize(("cameras", "r"), [(3, 0.0), (3, 0.4), (3, 0.9), (7, 0.65), (7, 0.9)])
def test_against_sums_written_out(cameras, r):
    """Catches a product over cameras outside the mean over crossings or z, a step too many, bits in another order, nodes too far
    apart for many cameras. Source: the same sums in NumPy over 2,001 nodes."""
    steps, cycles, gain = _random_walk(cameras, 12, 5)
    z = np.linspace(-8.0, 8.0, 2001)
    weight = np.exp(-0.5 * z * z) / np.exp(-0.5 * z * z).sum()
    p = _given_z(cycles, gain, 1.7, r, z)
    asked = [2, 0, 1]
    table = pattern_table(steps, 0, asked, 1.7, r)
    wanted = np.zeros(8)
    for pattern in range(8):
        factors = [p[..., c] if pattern >> bit & 1 else 1.0 - p[..., c] for bit, c in enumerate(asked)]
        wanted[pattern] = weight @ np.prod(factors, axis=0).mean(axis=1)
    assert table == pytest.approx(wanted, abs=1e-7)
    assert table.sum() == pytest.approx(1.0, abs=1e-12)
    assert site_pd(steps, 0, 1.7, r)[0, 0] == pytest.approx(weight @ (1.0 - np.prod(1.0 - p, axis=2)).mean(axis=1), abs=1e-7)
    assert camera_pd(steps, 0, 1.7, r)[0] == pytest.approx((weight @ p.mean(axis=1)), abs=1e-7)


@pytest.mark.parametrize("r", CORRELATIONS)
@pytest.mark.parametrize("post", [None, (0, 0, 2, 2), (0, 1, 0, 0)])
def test_patterns_add_up_to_the_sites_pd(r, post):
    """Catches a post that is paid twice, and patterns that overlap. Reference: all patterns add up to 1, all but the empty one to
    the site's Pd, and their margins are the cameras' own."""
    steps, _, _ = _random_walk(4, 9, 11, post)
    table = pattern_table(steps, 0, range(4), 2.3, r)
    assert table.sum() == pytest.approx(1.0, abs=1e-12)
    assert 1.0 - table[0] == pytest.approx(site_pd(steps, 0, 2.3, r)[0, 0], abs=1e-12)
    own = camera_pd(steps, 0, 2.3, r)[0]
    for c in range(4):
        assert sum(table[p] for p in range(16) if p >> c & 1) == pytest.approx(own[c], abs=1e-7)


def test_one_post_is_one_pair_of_eyes():
    """Catches two cameras of one mast that alarm independently. Reference: the weaker one never alarms alone, and the union is
    the better one's."""
    steps = sure_walk((0.8, 0.6, 0.5), (0, 0, 2))
    table = pattern_table(steps, 0, [0, 1], CYCLES_50, 0.0)
    assert table == pytest.approx([0.2, 0.2, 0.0, 0.6], abs=1e-7)
    assert site_pd(steps, 0, CYCLES_50, 0.0)[0, 0] == pytest.approx(1.0 - 0.2 * 0.5, abs=1e-7)
    # Named without its post's first camera, the second stands for itself.
    assert pattern_table(steps, 0, [1, 2], CYCLES_50, 0.0) == pytest.approx([0.2, 0.3, 0.2, 0.3], abs=1e-7)


@pytest.mark.parametrize("post", [None, (0, 0, 2)])
def test_likelihood_is_the_patterns_logarithm(post):
    """Catches rows mixed up, an unknown taken for a no, a grid the wrong way round. Reference: the pattern tables, added up over
    what is unknown."""
    steps, _, _ = _random_walk(3, 5, 3, post)
    n50, r = np.array([1.0, 2.0, 4.0]), np.array([0.0, 0.5, 0.9])
    seen = np.array([[1, 0, 1], [-1, 1, -1], [0, 0, 0], [1, 0, 1], [-1, -1, -1], [0, -1, 1]], dtype=np.int8)
    found = log_likelihood(steps, 0, seen, n50, r)
    assert found.shape == (6, 3, 3)
    for (i, n), (j, correlation) in itertools.product(enumerate(n50), enumerate(r)):
        table = pattern_table(steps, 0, range(3), n, correlation)
        for m, row in enumerate(seen):
            fits = [p for p in range(8) if all(row[c] < 0 or row[c] == (p >> c & 1) for c in range(3))]
            assert found[m, i, j] == pytest.approx(math.log(sum(table[p] for p in fits)), abs=1e-6)


def test_an_alarm_that_the_walk_did_not_cause():
    """Catches a chance added instead of united, put on the site instead of the camera. Reference: P' = 1 - (1 - P)(1 - eps)."""
    steps = sure_walk((0.5, 0.3))
    eps = np.array([0.1, 0.2])
    found = np.exp(log_likelihood(steps, 0, np.array([[1, 1], [0, 1], [0, 0]]), CYCLES_50, 0.0, eps))[:, 0, 0]
    a, b = 1.0 - 0.5 * 0.9, 1.0 - 0.7 * 0.8
    assert found == pytest.approx([a * b, (1 - a) * b, (1 - a) * (1 - b)], abs=1e-7)
    blind = one_walk(np.zeros((2, 1, 1)), np.zeros((2, 1, 1)))
    assert log_likelihood(blind, 0, np.array([[1]]), CYCLES_50, 0.5)[0, 0, 0] == -np.inf
    assert log_likelihood(blind, 0, np.array([[0]]), CYCLES_50, 0.5)[0, 0, 0] == 0.0
    assert log_likelihood(blind, 0, np.array([[1]]), CYCLES_50, 0.5, np.array([0.05]))[0, 0, 0] == pytest.approx(math.log(0.05))


def test_a_surprise_keeps_a_probability():
    """Catches a miss of a nearly sure camera that becomes impossible because 1 - P was rounded. Source: the curve's tail, 3e-8;
    at r = 0.9 a tenth of it lies beyond the quadrature in z."""
    steps = one_walk(np.full((1, 1, 1), 16.0), np.ones((1, 1, 1)))
    x = 8.0
    wanted = -math.log1p(x ** (2.7 + 0.7 * x))
    for r, within in ((0.0, 0.001), (0.5, 0.01), (0.9, 0.3)):
        assert log_likelihood(steps, 0, np.array([[0]]), 2.0, r)[0, 0, 0] == pytest.approx(wanted, abs=within)


def test_same_bits_whatever_threads():
    """Catches sums that depend on the order in which threads finish."""
    steps, _, _ = _random_walk(3, 20, 8)
    tables = [every_site_pd(steps, np.geomspace(0.7, 8.0, 5), [0.0, 0.5], threads=threads) for threads in (1, 2, 2)]
    assert tables[0].shape == (1, 5, 2)
    assert all(np.array_equal(table, tables[0]) for table in tables)
    assert np.array_equal(tables[0][0], site_pd(steps, 0, np.geomspace(0.7, 8.0, 5), [0.0, 0.5]))


@pytest.mark.parametrize(("n50", "r"), [(0.0, 0.5), (-1.0, 0.5), (math.nan, 0.5), (2.0, -0.1), (2.0, 0.95)])
def test_out_of_range(n50, r):
    """Catches probabilities of what the quadrature was not made for."""
    with pytest.raises(ValueError, match="above 0|between 0 and 0.9"):
        site_pd(sure_walk((0.5,)), 0, n50, r)
