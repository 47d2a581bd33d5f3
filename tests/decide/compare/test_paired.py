"""Paired intervals, p-values, Holm, weighted means and verdicts, against libraries and by hand."""

import numpy as np
import pytest
from scipy.optimize import brentq
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

from decide.compare.two_designs import changed, invented_tally, pieces, site_of_table
from fencecast.decide.compare.paired import Paired, comparison_verdicts, difference, holm, lockstep, p_values
from fencecast.estimate.intervals import RARE, combined, half_width, standard_error
from fencecast.estimate.simulate import advance, new_tally
from fencecast.findings.comparison import Takeover, takeovers
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan


def test_intervals_of_a_difference_against_a_library():
    """Catches: an error that forgets that crossings are shared, or shares them where they are not; wrong degrees of freedom.

    statsmodels: t interval of eight differences; pooled two-sample t interval for the unpaired one. Ours add 1 / n.
    """
    rng = np.random.default_rng(2)
    a = rng.beta(6.0, 3.0, (20, 8))
    b = a + rng.normal(0.02, 0.01, a.shape)
    found = difference(invented_tally(a), invented_tally(b), 0.95)
    for k in range(len(a)):
        low, high = DescrStatsW(b[k] - a[k]).tconfint_mean(alpha=0.05)
        assert found.mean[k] == pytest.approx(0.5 * (low + high), abs=1e-12)
        assert found.half[k] == pytest.approx(0.5 * (high - low) + 1 / 512, abs=1e-12)
        low, high = CompareMeans(DescrStatsW(b[k]), DescrStatsW(a[k])).tconfint_diff(alpha=0.05, usevar="pooled")
        assert found.unpaired_half[k] == pytest.approx(0.5 * (high - low) + 1 / 512, abs=1e-12)


def test_unequal_numbers_of_crossings_are_refused():
    """Catches: a difference of means at different n, whose scramblings are no pairs any more."""
    with pytest.raises(ValueError, match="equal numbers"):
        difference(invented_tally([[0.5] * 8]), invented_tally([[0.5] * 8], points=32), 0.95)


def test_equal_means_leave_the_honest_floor():
    """n crossings without a difference do not say that there is none. Catches: an interval that is a point."""
    found = difference(invented_tally([[0.7] * 8]), invented_tally([[0.7] * 8]), 0.95)
    assert (found.mean[0], found.p[0]) == (0.0, 1.0)
    assert found.half[0] == pytest.approx(RARE * np.log(40.0) / 512)


def test_the_floor_goes_by_what_single_crossings_showed():
    """By hand: 512 crossings a cell, no crossing of 40,960 differs by more than 0.3: 0.3 + 5 x 512 / 40,960 of the floor. Where
    no crossing differs at all it stays; a difference of 1, or no look at single ones, leaves all of it. The p-value follows.
    Catches: a floor as wide as for two single Pd; one that shrinks to nothing; p-values of another interval."""
    base = invented_tally([[0.7] * 8, [0.7] * 8])
    moved = invented_tally([[0.7] * 8, [0.7001] * 8])

    def half(largest: float, seen: int) -> np.ndarray:
        return difference(base, Paired(moved.sums, moved.points, largest, seen), 0.95).half

    whole = RARE * np.log(40.0) / 512
    assert half(0.3, 40_960) == pytest.approx([whole, 0.3625 * whole])
    assert half(0.001, 10**9) == pytest.approx([whole, 0.25 * whole], rel=1e-3)
    for largest, seen in ((1.0, 40_960), (0.3, 512), (1.0, 0)):
        assert half(largest, seen) == pytest.approx([whole, whole])
    far = invented_tally([[0.7] * 8, [0.7 + 1.001 * 0.3625 * whole] * 8])
    found = difference(base, Paired(far.sums, far.points, 0.3, 40_960), 0.95)
    assert 0.045 < found.p[1] < 0.05 and found.low[1] > 0.0


def test_lockstep_keeps_the_largest_difference_of_single_crossings():
    """A change of sensitivity in lockstep against single crossings asked one by one. Catches: the largest mean of a round instead
    of the largest crossing; sums that change by being added one by one. Reference: tallies of one crossing each."""
    table = pieces(cycles_50=3.0)
    sites = [site_of_table(each) for each in (table, changed(table, sensor={"netd_mk": 60.0}))]
    plans, cells = [pack_plan(site) for site in sites], pack_cells(sites[0], 4)
    everywhere = np.arange(len(cells.key))
    base, other = lockstep(plans, [cells] * 2, np.ones(len(cells.key), dtype=bool), 1.0, 0.95, 2048)
    singles = []
    whole = [new_tally(len(cells.key), 1) for _ in plans]
    for points in range(1, 17):
        before = [tally.sums[:, :, SUM_PD].copy() for tally in whole]
        for plan, tally in zip(plans, whole):
            advance(plan, cells, tally, everywhere, points, 1)
        a, b = (tally.sums[:, :, SUM_PD] - old for tally, old in zip(whole, before))
        singles.append(b - a)
    singles = np.array(singles)
    assert other.largest == np.abs(singles).max() > 3.0 * np.abs(singles.mean(axis=(0, 2))).max()
    assert other.seen == 128 * int(singles.any(axis=(0, 2)).sum())
    at_once = new_tally(len(cells.key), 1)
    advance(plans[1], cells, at_once, everywhere, int(other.points.max()), 1)
    same = other.points == other.points.max()
    assert np.array_equal(other.sums[same], at_once.sums[same])


def test_p_is_the_error_rate_at_which_the_interval_reaches_zero():
    """Catches: a p-value of another test than the interval that is printed beside it. Reference: the root of |d| = half width."""
    rng = np.random.default_rng(4)
    checked = 0
    for _ in range(200):
        n, se, d = 8 * 2 ** rng.integers(4, 9), 10.0 ** rng.uniform(-5, -1.5), rng.choice([-1, 1]) * 10.0 ** rng.uniform(-3, -0.5)
        p = float(p_values(np.array(d), np.array(se), np.array(n), 8))

        def short(log_rate, n=n, se=se, d=d):
            return float(half_width(np.array(se), np.array(n), 8, 1.0 - np.exp(log_rate))) - abs(d)

        if short(np.log(1e-12)) > 0.0 > short(np.log(0.999)):
            root = np.exp(brentq(short, np.log(1e-12), np.log(0.999)))
            assert p == pytest.approx(root, rel=1e-4)
            checked += 1
        assert (p < 0.05) == (abs(d) > half_width(np.array(se), np.array(n), 8, 0.95))
    assert checked > 50


def test_holm_against_a_library():
    """Catches: Bonferroni, a lost step, cells without data counted as cells."""
    p = np.random.default_rng(1).random((5, 40)) ** 3
    p[2, 7] = p[0, 0] = np.nan
    known = ~np.isnan(p)
    ours = holm(p)
    assert np.array_equal(np.isnan(ours), ~known)
    assert ours[known] == pytest.approx(multipletests(p[known], method="holm")[1])


def test_verdicts_by_hand():
    """Catches: 'better' for a difference too small to matter, 'equivalent' for one that is only unknown, signs exchanged."""
    low = np.array([0.01, 0.001, -0.019, -0.05, -0.05, np.nan, -0.02])
    high = np.array([0.05, 0.019, 0.010, 0.03, -0.01, np.nan, 0.02])
    words = ["better", "equivalent", "equivalent", "not distinguishable", "worse", "no data", "equivalent"]
    assert comparison_verdicts(low, high, 0.02).tolist() == words


def test_a_weighted_mean_of_cells():
    """By hand. Catches: errors added straight, 1 / n added in squares, a cell without data that counts as zero."""
    mean, se, n = np.array([0.1, 0.3, np.nan]), np.array([0.03, 0.04, np.nan]), np.array([100, 200, 1])
    centre, half = combined(mean, se, n, np.array([1.0, 3.0, 5.0]), 8, 0.95)
    assert centre == pytest.approx(0.25)
    error = np.hypot(0.25 * 0.03, 0.75 * 0.04)
    assert half == pytest.approx(2.3646243 * error + 0.25 / 100 + 0.75 / 200)  # t of 7 degrees of freedom, from a table
    centre, half = combined(np.zeros(3), np.zeros(3), np.full(3, 128), np.ones(3), 8, 0.95)
    assert half == pytest.approx(max(1 / 128, RARE * np.log(40.0) / 384))
    assert np.isnan(combined(mean[2:], se[2:], n[2:], np.ones(1), 8, 0.95)).all()


def test_the_interval_of_a_weighted_mean_holds():
    """400 repetitions of 30 cells of 8 normal means: at least 0.95 less three binomial errors. Catches: too small an error."""
    rng = np.random.default_rng(6)
    inside = 0
    for _ in range(400):
        each = rng.normal(0.02, 0.05, (30, 8))
        centre, half = combined(each.mean(axis=1), standard_error(each), np.full(30, 10**6), rng.random(30), 8, 0.95)
        inside += abs(centre - 0.02) <= half
    assert inside / 400 >= 0.917


def test_takeovers_by_hand():
    """Catches: a change between undecided places, a wrong side, a crossing outside of its ends."""
    x = np.arange(2.0, 14.0, 2.0)
    mean = np.array([-0.30, -0.10, -0.02, 0.02, 0.10, 0.20])
    found = takeovers(x, mean, mean - 0.05, mean + 0.05)
    assert found == [Takeover(after=4.0, at=pytest.approx(7.0), before=10.0, up=True)]
    assert takeovers(x, -mean, -mean - 0.05, -mean + 0.05)[0].up is False
    assert takeovers(x, mean, mean - 0.5, mean + 0.5) == []
