"""The likelihood of a log, place by place, at the nodes of the grid; and what it tells of the contrast threshold.

Tests: tests/prove/fit/test_likelihood.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from fencecast.errors import UsageError
from fencecast.estimate.options import processors
from fencecast.prove.fit.crossings import Crossings
from fencecast.prove.fit.grid import CONTRAST_SPREAD, Array, Grid
from fencecast.prove.fit.groups import Group

# No walk counts for less than this, whatever the model thinks of it: a cell that was misread must not rule the fit.
LEAST_PROBABILITY = 1e-6
WINDOW_S = 20.0  # of a walk: alarms from 5 s before the crossing to 15 s after it count as its own
NAMED_PD = 0.001  # a camera that alarms for fewer of a group's walks takes no part in its patterns
MOST_CAMERAS = 8  # in a table of patterns


def chance_alarm(nuisance_per_hour: float, cameras: int) -> Array | None:
    """Probability per camera that a walk's window holds an alarm that nobody caused: 1 - exp(-20 s x rate). None for a rate of 0.

    UsageError for a rate below 0 or above 1,000 per hour.
    """
    if not (math.isfinite(nuisance_per_hour) and 0.0 <= nuisance_per_hour <= 1000.0):
        raise UsageError(
            f"--nuisance-per-hour is {nuisance_per_hour:g}; allowed: 0 to 1000 alarms of one camera an hour; such as 0.5"
        )
    share = -math.expm1(-WINDOW_S * nuisance_per_hour / 3600.0)
    return np.full(cameras, share) if share > 0.0 else None


def place_names(groups: Sequence[Group]) -> tuple[str, ...]:
    """Places walked, sorted."""
    return tuple(sorted({group.place for group in groups}))


def place_likelihoods(
    groups: Sequence[Group],
    crossings: Sequence[Crossings],
    grid: Grid,
    by_chance: Array | None = None,
    threads: int | None = None,
) -> Array:
    """ln-likelihoods (places, contrast, nodes, r nodes); crossings: one for each contrast factor of the grid.

    Groups are computed on threads and added up in their own order: the same bits on any number of them.
    """
    places = place_names(groups)
    total = np.zeros((len(places), len(crossings), len(grid.ln_nodes), len(grid.r_nodes)))
    floor = math.log(LEAST_PROBABILITY)

    def of_group(k: int) -> Array:
        """(contrast, nodes, r nodes) of all walks of a group."""
        rows, counts = groups[k].patterns
        ln = [each.log_likelihood(k, rows, grid.cycles_50, grid.r_nodes, by_chance) for each in crossings]
        return np.array([np.tensordot(counts.astype(float), np.logaddexp(one, floor), axes=1) for one in ln])

    with ThreadPoolExecutor(threads or processors()) as pool:
        for group, ln in zip(groups, pool.map(of_group, range(len(groups)))):
            total[places.index(group.place)] += ln
    return total


def seeing(crossings: Crossings, group: int, cycles_50: float) -> tuple[int, ...]:
    """Cameras that take part in a group's patterns: the likeliest to alarm, at most eight, in file order."""
    pd = crossings.camera_pd(group, np.array([cycles_50]))[0]
    order = sorted(range(len(pd)), key=lambda k: (-pd[k], k))[:MOST_CAMERAS]
    return tuple(sorted(k for k in order if pd[k] >= NAMED_PD))


def contrast_information(groups: Sequence[Group], crossings: Crossings, cycles_50: float, correlation: float) -> float:
    """Fisher information of all walks on ln of the contrast factor, N50 and correlation fixed: sum of (dP)^2 / P over patterns.

    Central difference over a factor of 1.1 both ways. Cameras that were off are taken for on: what is lost by that is little, and
    the threshold of what counts as known is a judgement.
    """
    step = math.log(1.1)
    high, low = crossings.at_contrast(1.1), crossings.at_contrast(1.0 / 1.1)
    total = 0.0
    for k, group in enumerate(groups):
        cameras = seeing(crossings, k, cycles_50)
        if not cameras:
            continue
        at, above, below = (each.pattern_table(k, cameras, cycles_50, correlation) for each in (crossings, high, low))
        slope = (above - below) / (2.0 * step)
        total += len(group.seen) * float(np.sum(slope**2 / np.maximum(at, LEAST_PROBABILITY)))
    return total


def contrast_is_known(information: float) -> bool:
    """The walks tell the contrast factor at least as well as its prior does."""
    return information * CONTRAST_SPREAD**2 > 1.0
