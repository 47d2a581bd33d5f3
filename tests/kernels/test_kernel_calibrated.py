"""Pd at many N50 and correlations from the steps of one crossing, against the integral on a fine grid in SciPy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from fencecast.jit import compiled
from fencecast.kernels.calibrated import add_asked, asked_width, make_asked, make_steps

CORRELATIONS = (0.0, 0.3, 0.6, 0.9)
CYCLES_50 = np.array([1.6, 2.0, 2.3, 2.6, 3.0, 3.5, 4.0])
Z = np.linspace(-8.0, 8.0, 4001)


@compiled
def added(cameras, posts, asked, steps, row):
    """`add_asked` as it stands in the loop: compiled."""
    add_asked(cameras, posts, asked, steps, row)


def some_steps():
    """Three cameras with one step, four and sixteen."""
    random = np.random.default_rng(3)
    steps = make_steps(3)
    for camera, count in enumerate((4, 1, 16)):
        steps.count[camera] = count
        steps.cycles[camera, :count] = np.sort(random.uniform(0.8, 5.0, count))[::-1]
        steps.gain[camera, :count] = 0.9 * random.dirichlet(np.ones(count))
        steps.log[camera, :count] = np.log(steps.cycles[camera, :count])
    return steps


def curve(cycles, cycles_50):
    """The transfer law, written anew."""
    x = cycles / cycles_50
    return x ** (2.7 + 0.7 * x) / (1.0 + x ** (2.7 + 0.7 * x))


def by_hand(steps, posts, cycles_50, correlation):
    """Pd of the site and each camera's own, on 4,001 nodes."""
    alone, given = [], []
    for camera in range(3):
        part = slice(0, steps.count[camera])
        f, gain = curve(steps.cycles[camera, part], cycles_50), steps.gain[camera, part]
        alone.append(gain @ f)
        given.append(gain @ ndtr((ndtri(f)[:, None] - math.sqrt(correlation) * Z) / math.sqrt(1.0 - correlation)))
    missed = np.ones_like(Z)
    for post in set(posts):
        missed *= 1.0 - np.max([given[camera] for camera in range(3) if posts[camera] == post], axis=0)
    weight = np.exp(-0.5 * Z * Z)
    return 1.0 - missed @ (weight / weight.sum()), alone


@pytest.mark.parametrize(("posts", "tolerance"), [((0, 1, 2), 3e-6), ((0, 1, 0), 2e-4)])
def test_every_point_is_the_integral(posts, tolerance):
    """Catches: nodes of another correlation, a camera in the wrong post, gains left out. A shared post makes a kink in z, which
    the sixteen nodes of a plain run miss by as much."""
    steps, asked = some_steps(), make_asked(np.log(CYCLES_50), CORRELATIONS)
    row = np.zeros(asked_width(7, 3))
    added(3, np.array(posts), asked, steps, row)
    added(3, np.array(posts), asked, steps, row)  # rows go on being added to
    row *= 0.5
    for j, cycles_50 in enumerate(CYCLES_50):
        for k, correlation in enumerate(CORRELATIONS):
            pd, alone = by_hand(steps, posts, cycles_50, correlation)
            assert row[4 * j + k] == pytest.approx(pd, abs=tolerance)
        assert row[28 + 3 * j : 31 + 3 * j] == pytest.approx(alone, abs=1e-9)


def test_nodes_are_for_these_correlations():
    """Catches: a grid of correlations that the nodes are too few for."""
    with pytest.raises(ValueError, match="nodes are for"):
        make_asked(np.log(CYCLES_50), (0.0, 0.3, 0.8, 0.9))
