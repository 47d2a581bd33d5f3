"""That the sampler earns its keep: fewer crossings than coin tossing for the same error, and an error that falls faster.

Coin tossing has the variance Pd (1 - Pd) per crossing, exactly. One camera on a clear night, cells between 0.05 and 0.95, 64
independent scramblings: a variance is known to 18 % (one standard deviation of chi square with 63 degrees of freedom), a ratio
of two to 25 %. Measured: independent draws are worth 15 to 23 tosses a crossing, ours 80 to 95 at 64 crossings, 250 to 370 at
256, 1,200 to 2,200 at 2,048. The bounds are a third of that or less, over four standard deviations away: false alarms under
1e-4 in all. The demo's cells gain far less, because obstacles, corners and gaits make steps: `benchmarks/efficiency.py`.
"""

import numpy as np
import pytest

from fencecast.estimate.simulate import advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.kernels.probe import probe_crossings
from fencecast.kernels.work import look_capacity
from fencecast.sampling.variables import SITE_VARIABLES
from statistical.test_verdicts import on_the_axis

SCRAMBLINGS = 64
POINTS = (8, 32, 256)  # of each of eight scramblings: 64, 256 and 2,048 crossings
PLACES = {"before middle": 25.0, "middle": 41.6, "past middle": 60.0}

pytestmark = pytest.mark.slow  # compiles the probed crossing


@pytest.fixture(scope="module")
def variances():
    """(coin tossing (cells,), independent draws (cells,), ours (sizes, cells)): variance of Pd times crossings."""
    site = on_the_axis(PLACES)
    plan, cells = pack_plan(site), pack_cells(site, 4)
    count = len(cells.weather)
    tally, ours = new_tally(count, 1, SCRAMBLINGS), []
    for points in POINTS:
        advance(plan, cells, tally, np.arange(count), points, threads=1)
        ours.append((tally.sums[:, :, SUM_PD] / points).var(axis=1, ddof=1) * points)
    pd = tally.mean(SUM_PD)
    assert np.all((pd > 0.05) & (pd < 0.95)), pd
    random, alone = np.random.default_rng(5), np.empty((count, 2048))
    for cell in range(count):
        units, keys = random.random((2048, len(SITE_VARIABLES))), random.integers(0, 2**63, (2048, 1), dtype=np.uint64)
        probe_crossings(plan, cells, cell, units, np.tile(keys, 3), np.arange(2048), look_capacity(plan), alone[cell])
    assert np.all(np.abs(alone.mean(axis=1) - pd) < 5.0 * alone.std(axis=1) / np.sqrt(2048))  # one question, two samplers
    return pd * (1.0 - pd), alone.var(axis=1, ddof=1), np.array(ours)


def test_a_kept_probability_is_worth_several_tosses(variances):
    """Independent draws with N_th and noise integrated. Catches an N_th that is drawn after all."""
    coin, independent, _ = variances
    assert np.all(coin / independent > 5.0), coin / independent


def test_a_crossing_is_worth_many_tosses(variances):
    """At 256 crossings. Catches points that are no better than random ones, and everything of the test above."""
    coin, independent, ours = variances
    assert np.all(coin / ours[1] > 75.0), coin / ours[1]
    assert np.all(independent / ours[1] > 4.0), independent / ours[1]


def test_the_error_falls_faster_than_the_root(variances):
    """Variance times crossings stays level for independent draws; ours falls from 64 to 2,048 crossings, by a factor of 15 to 24.

    Catches scramblings that are no Owen scrambles, and a table of points that is not a net.
    """
    _, _, ours = variances
    assert np.all(ours[2] < ours[0] / 5.0), ours[0] / ours[2]
