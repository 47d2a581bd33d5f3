"""Likelihoods of logs, alarms by chance and the contrast factor, on walks of which everything is known."""

import math

import numpy as np
import pytest
from scipy import optimize, stats

from fencecast.errors import UsageError
from fencecast.prove.fit.grid import Grid, Prior
from fencecast.prove.fit.groups import group_walks
from fencecast.prove.fit.likelihood import chance_alarm, contrast_information, contrast_is_known, place_likelihoods, seeing
from fencecast.prove.fit.posterior import posterior
from prove.fit.onestep import WALKERS, OneStep, curve, invented_crossings, invented_log
from prove.invented_walks import invented_plan


def test_chance_of_an_alarm_that_nobody_caused():
    assert chance_alarm(20.0, 2) == pytest.approx([0.105, 0.105], abs=5e-4)
    assert chance_alarm(0.0, 2) is None
    for rate in (-1.0, math.nan, 5000.0):
        with pytest.raises(UsageError, match="--nuisance-per-hour is"):
            chance_alarm(rate, 2)


def test_walks_of_one_camera_are_a_regression_with_one_unknown():
    """Against scipy: the mode of the product's posterior under a flat prior is the maximum of the likelihood typed here."""
    plan = invented_plan(12)
    log = invented_log(plan, 2.6, 0.0, 3)
    groups = group_walks(plan, [log], WALKERS)
    west = [{"cycles": invented_crossings(groups).cycles[k][0]} for k in range(len(groups))]

    def minus_ln(ln_cycles_50):
        total = 0.0
        for group, each in zip(groups, west):
            p = curve(each["cycles"] / math.exp(ln_cycles_50))
            total -= stats.binom.logpmf(int((group.seen[:, 0] == 1).sum()), len(group.seen), p)
        return total

    best = optimize.minimize_scalar(minus_ln, bounds=(-1.0, 2.5), method="bounded", options={"xatol": 1e-9}).x
    blind = OneStep(np.array([[each["cycles"], 1e-9] for each in west]))
    for group in groups:
        group.seen[:, 1] = 0
    grid = Grid.about(2.0)
    ln = place_likelihoods(groups, [blind], grid)
    known = posterior([str(k) for k in range(len(ln))], ln, Prior(2.0, 1.0).with_spread(1e3), grid, (0.0,))
    top = grid.ln_points[np.argmax(known.of_ln_cycles_50)]
    assert top == pytest.approx(best, abs=grid.step)
    curvature = (minus_ln(best + 1e-3) - 2 * minus_ln(best) + minus_ln(best - 1e-3)) / 1e-6
    assert known.cycles_50().sd_ln == pytest.approx(curvature**-0.5, rel=0.03)


def test_alarms_by_chance_raise_n50_for_the_same_log():
    plan = invented_plan(6)
    groups = group_walks(plan, [invented_log(plan, 2.6, 0.3, 3)], WALKERS)
    crossings, grid = invented_crossings(groups), Grid.about(2.0)
    names = sorted({group.place for group in groups})
    plain, doubted = (
        posterior(names, place_likelihoods(groups, [crossings], grid, chance), Prior(), grid).cycles_50().median
        for chance in (None, chance_alarm(60.0, 2))
    )
    assert doubted > 1.02 * plain


def test_a_camera_that_was_off_says_nothing():
    plan = invented_plan(2)
    groups = group_walks(plan, [invented_log(plan, 2.6, 0.3, 3)], WALKERS)
    crossings, grid = invented_crossings(groups), Grid.about(2.0)
    for group in groups:
        group.seen[:] = -1
    assert place_likelihoods(groups, [crossings], grid) == pytest.approx(0.0, abs=1e-5)


def test_the_order_of_walks_changes_no_bit_and_threads_neither():
    plan = invented_plan(3)
    log = invented_log(plan, 2.6, 0.3, 3)
    groups = group_walks(plan, [log], WALKERS)
    crossings, grid = invented_crossings(groups), Grid.about(2.0)
    one = place_likelihoods(groups, [crossings], grid, threads=1)
    assert np.array_equal(one, place_likelihoods(groups, [crossings], grid, threads=3))
    for group in groups:
        group.seen[:] = group.seen[::-1].copy()
    assert np.array_equal(one, place_likelihoods(groups, [crossings], grid))


def test_the_contrast_factor_is_known_only_where_cycles_go_with_it():
    """One camera alone: information on ln of the factor is that on ln N50 times the square of the power, P (1 - P) slope^2."""
    plan = invented_plan(10)
    groups = group_walks(plan, [invented_log(plan, 2.6, 0.0, 3)], WALKERS)
    assert contrast_information(groups, invented_crossings(groups), 2.6, 0.0) == 0.0
    power, expected = 0.3, 0.0
    crossings = invented_crossings(groups, power)
    for k, group in enumerate(groups):
        for cycles in crossings.cycles[k]:
            ratio = cycles / 2.6
            p, slope = curve(ratio), 2.7 + 0.7 * ratio * (1.0 + math.log(ratio))
            expected += len(group.seen) * p * (1.0 - p) * (slope * power) ** 2
    found = contrast_information(groups, crossings, 2.6, 0.0)
    assert found == pytest.approx(expected, rel=0.01)
    assert contrast_is_known(found) and not contrast_is_known(0.5 * 0.35**-2)


def test_cameras_that_see_nothing_take_no_part_in_patterns():
    crossings = OneStep(np.array([[2.0, 0.05, 6.0] * 4]))
    assert seeing(crossings, 0, 2.0) == (0, 2, 3, 5, 6, 8, 9, 11)
