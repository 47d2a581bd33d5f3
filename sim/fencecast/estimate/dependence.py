"""What the answer depends on: how the mean Pd of each class moves with N50, NETD, the threshold and clutter."""

from __future__ import annotations

import math

import numpy as np
import xarray as xr

from fencecast.estimate.simulate import FIRST_POINTS, advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack_weather import clutter_scaled
from fencecast.kernels.types import Cells, Plan

# Central differences between these factors, on the first points of one scrambling of every segment in every class: the same
# crossings on both sides, so that only the change itself shows.
_DOWN, _UP = 0.95, 1.05


def with_n50(plan: Plan, factor: float) -> Plan:
    """The plan with N50 times a factor."""
    return plan._replace(decision=plan.decision._replace(cycles_50=plan.decision.cycles_50 * factor))


def with_threshold(plan: Plan, factor: float) -> Plan:
    """The plan with the threshold, in sigma, times a factor."""
    return plan._replace(decision=plan.decision._replace(threshold=plan.decision.threshold * factor))


def with_clutter(plan: Plan, factor: float) -> Plan:
    """The plan with every `clutter_k` of its weather times a factor, whatever it is distributed like."""
    return plan._replace(weather=clutter_scaled(plan.weather, factor))


def add_dependence(results: xr.Dataset, plan: Plan, cells: Cells, active: np.ndarray, threads: int) -> int:
    """Adds `dpd_dln_n50`, `_netd`, `_threshold`, `_clutter` (weather,): d mean Pd / d ln of each, the mean over metres with data.

    active (cells,): which cells some rule watches. Returns the looks drawn.
    """
    which = np.flatnonzero(active)
    classes = results.sizes["weather"]
    cameras = plan.cameras.bearing_rad.size
    length = results["segment_end_m"].values - results["segment_start_m"].values
    looks = 0

    def mean_pd(changed: Plan, netd_scale: float = 1.0) -> np.ndarray:
        tally = new_tally(len(cells.weather), cameras, replicates=1)
        if len(which):
            advance(changed, cells, tally, which, FIRST_POINTS, threads, netd_scale=netd_scale)
        nonlocal looks
        looks += tally.looks
        pd = np.where(tally.points > 0, tally.mean(SUM_PD), np.nan).reshape(classes, -1)
        known = ~np.isnan(pd).all(axis=0)
        return (pd[:, known] @ length[known]) / length[known].sum() if known.any() else np.full(classes, np.nan)

    step = math.log(_UP / _DOWN)
    for name, change in (("n50", with_n50), ("threshold", with_threshold), ("clutter", with_clutter)):
        moved = mean_pd(change(plan, _UP)) - mean_pd(change(plan, _DOWN))
        results[f"dpd_dln_{name}"] = ("weather", moved / step)
    results["dpd_dln_netd"] = ("weather", (mean_pd(plan, _UP) - mean_pd(plan, _DOWN)) / step)
    return looks
