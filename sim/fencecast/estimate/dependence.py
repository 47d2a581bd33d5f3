"""What the answer depends on: how the mean Pd of each class moves with N50, NETD, the threshold and clutter."""

from __future__ import annotations

import math

import numpy as np
import xarray as xr
from scipy.special import stdtrit

from fencecast.estimate.simulate import FIRST_POINTS, advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.types import CHOICE, CLUTTER_K, FIXED, LOGNORMAL, NORMAL, TRIANGULAR, UNIFORM, Cells, Plan, Weather

# Central differences between these factors, on the first points of one scrambling of every segment in every class: the same
# crossings on both sides, so that only the change itself shows.
_DOWN, _UP = 0.95, 1.05
# Numbers of a packed distribution that are multiplied when its values are (see `kernels.draw.quantile`).
_SCALED = {FIXED: (1,), UNIFORM: (1, 2), NORMAL: (1, 2), LOGNORMAL: (1,), TRIANGULAR: (1, 2, 3)}


def with_n50(plan: Plan, factor: float) -> Plan:
    """The plan with N50 times a factor."""
    return plan._replace(decision=plan.decision._replace(cycles_50=plan.decision.cycles_50 * factor))


def with_threshold(plan: Plan, factor: float) -> Plan:
    """The plan with the threshold, in sigma, times a factor."""
    return plan._replace(decision=plan.decision._replace(threshold=plan.decision.threshold * factor))


def with_clutter(plan: Plan, factor: float) -> Plan:
    """The plan with every `clutter_k` of its weather times a factor, whatever it is distributed like."""
    return plan._replace(weather=_clutter_scaled(plan.weather, factor))


def _clutter_scaled(weather: Weather, factor: float) -> Weather:
    quantity, choice = weather.quantity.copy(), weather.choice.copy()
    for row in quantity[:, CLUTTER_K]:
        if row[0] == CHOICE:
            first, count = int(row[1]), int(row[2])
            choice[first : first + count, 0] *= factor
        else:
            row[list(_SCALED[int(row[0])])] *= factor
    return weather._replace(quantity=quantity, choice=choice)


def add_dependence(results: xr.Dataset, plan: Plan, cells: Cells, active: np.ndarray, threads: int) -> int:
    """Adds `dpd_dln_n50`, `_netd`, `_threshold`, `_clutter` (weather,) with the ends of their intervals: d mean Pd / d ln of
    each, the mean over metres with data.

    active (cells,): which cells some rule watches. Returns the looks drawn.

    An interval comes from the two halves of every segment's points, which each estimate the slope: half their difference, squared
    and added up over segments by their share of the metres, is the variance of the mean (segments are drawn independently; halves
    of a digital net balance each other, so the interval is a little wide). Student's t with as many degrees as segments.
    """
    which = np.flatnonzero(active)
    classes = results.sizes["weather"]
    cameras = plan.cameras.bearing_rad.size
    length = results["segment_end_m"].values - results["segment_start_m"].values
    looks = 0

    def mean_pd(changed: Plan, netd_scale: float = 1.0) -> np.ndarray:
        """Mean Pd of all points, of the first half and of the second, (3, classes, segments); NaN where nobody watches."""
        nonlocal looks
        tally = new_tally(len(cells.weather), cameras, replicates=1)
        half = FIRST_POINTS // 2
        sums = np.zeros((2, len(cells.weather)))
        for k, points in enumerate((half, FIRST_POINTS)):
            if len(which):
                advance(changed, cells, tally, which, points, threads, netd_scale=netd_scale)
            sums[k] = tally.sums[:, 0, SUM_PD]
        looks += tally.looks
        pd = np.stack([sums[1] / FIRST_POINTS, sums[0] / half, (sums[1] - sums[0]) / (FIRST_POINTS - half)])
        return np.where(tally.points > 0, pd, np.nan).reshape(3, classes, -1)

    step = math.log(_UP / _DOWN)
    changes = {"n50": with_n50, "threshold": with_threshold, "clutter": with_clutter}
    pairs = {name: (mean_pd(change(plan, _UP)), mean_pd(change(plan, _DOWN))) for name, change in changes.items()}
    pairs["netd"] = mean_pd(plan, _UP), mean_pd(plan, _DOWN)
    confidence = float(results.attrs["confidence"])
    for name, (up, down) in pairs.items():
        for end, values in zip(("", "_low", "_high"), _mean_slope(up, down, step, length, confidence)):
            results[f"dpd_dln_{name}{end}"] = ("weather", values)
    return looks


def _mean_slope(
    up: np.ndarray, down: np.ndarray, step: float, length: np.ndarray, confidence: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Slope of the mean over segments by their length (segments,) and both ends of its interval, (classes,); NaN without data.

    up, down (3, classes, segments): Pd of all points, of the first half of them and of the second, `step` apart.
    """
    known = ~np.isnan(up).all(axis=(0, 1))
    if not known.any():
        nothing = np.full(up.shape[1], np.nan)
        return nothing, nothing, nothing
    whole = length[known].sum()
    ends = [(pd[0][:, known] @ length[known]) / whole for pd in (up, down)]
    slope = (ends[0] - ends[1]) / step
    halves = (up - down)[:, :, known] / step
    error = np.sqrt((0.5 * (halves[1] - halves[2])) ** 2 @ (length[known] / whole) ** 2)
    error = error * stdtrit(int(known.sum()), 0.5 + 0.5 * confidence)
    return slope, slope - error, slope + error
