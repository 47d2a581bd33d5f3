"""Two designs on the same crossings: both run in lockstep, their difference with an interval and a p-value of its own.

Common random numbers (Glasserman & Yao 1992, from memory): strata are keyed by names and camera draws by marks, so two designs
see the same intruders in the same air; what they have in common leaves the difference. The scramblings are independent, so the
differences of their means are eight independent numbers, whatever the two designs share.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr

from fencecast.estimate.intervals import RARE, half_width, standard_error
from fencecast.estimate.simulate import REPLICATES, Forecast, Tally, advance, in_rounds, new_tally
from fencecast.kernels.crossing import SUM_PD

VERDICTS = ("better", "worse", "equivalent", "not distinguishable", "no data")


@dataclass(frozen=True)
class Difference:
    """Pd of one design minus Pd of another, cell by cell: arrays (cells,), NaN where nothing was simulated.

    half: half width of the paired interval; p: the smallest error rate at which that interval would leave zero out;
    unpaired_se, unpaired_half: standard error and half width if the two had been run on crossings of their own.
    """

    mean: np.ndarray
    se: np.ndarray
    half: np.ndarray
    p: np.ndarray
    unpaired_se: np.ndarray
    unpaired_half: np.ndarray
    crossings: np.ndarray

    @property
    def low(self) -> np.ndarray:
        return np.clip(self.mean - self.half, -1.0, 1.0)

    @property
    def high(self) -> np.ndarray:
        return np.clip(self.mean + self.half, -1.0, 1.0)


def difference(base: Tally, other: Tally, confidence: float) -> Difference:
    """other - base, both with the same number of crossings in every cell.

    Scrambling by scrambling: where the two share crossings the interval is narrow; where not, it is still right, only wide.
    """
    if not np.array_equal(base.points, other.points):
        raise ValueError("two designs are compared at equal numbers of crossings")
    with np.errstate(invalid="ignore", divide="ignore"):
        means = [tally.sums[:, :, SUM_PD] / tally.points[:, None] for tally in (base, other)]
        each = means[1] - means[0]
        se = standard_error(each)
        apart = np.hypot(standard_error(means[0]), standard_error(means[1]))
        n = base.crossings
        mean = each.mean(axis=-1)
        half = half_width(se, n, base.replicates, confidence)
        # Two samples of equal size: twice the degrees of freedom (Student's two-sample t).
        wide = half_width(apart, n, 2 * base.replicates - 1, confidence)
    known = base.points > 0

    def where_known(values: np.ndarray) -> np.ndarray:
        return np.where(known, values, np.nan)

    p = where_known(p_values(mean, se, n, base.replicates))
    return Difference(*(where_known(v) for v in (mean, se, half)), p, where_known(apart), where_known(wide), n)


def p_values(mean: np.ndarray, se: np.ndarray, crossings: np.ndarray, replicates: int) -> np.ndarray:
    """The error rate at which the interval of a difference just reaches zero: `half_width` solved for 1 - confidence.

    Two conditions make that interval, t se + 1 / n and the floor RARE ln(2 / rate) / n; both must leave zero out, so the larger
    of their two rates counts. Shapes as given; 1 where the difference is within 1 / n.
    """
    size, n = np.abs(mean), np.asarray(crossings, dtype=float)
    with np.errstate(invalid="ignore", divide="ignore"):
        beyond = size - 1.0 / n
        t = np.where(beyond > 0.0, beyond / se, 0.0)
        by_t = 2.0 * stdtr(replicates - 1, -t)
        by_floor = 2.0 * np.exp(-n * size / RARE)
    return np.clip(np.maximum(by_t, by_floor), 0.0, 1.0)


def holm(p: np.ndarray) -> np.ndarray:
    """p-values adjusted for all cells together (Holm 1979), in the shape given; NaN stays and does not count.

    Taking those at most alpha for true differences, the chance of even one false one among all cells is at most alpha.
    """
    flat = np.asarray(p, dtype=float).ravel()
    known = np.flatnonzero(~np.isnan(flat))
    order = known[np.argsort(flat[known], kind="stable")]
    adjusted = np.full(flat.shape, np.nan)
    adjusted[order] = np.minimum(np.maximum.accumulate(flat[order] * (len(order) - np.arange(len(order)))), 1.0)
    return adjusted.reshape(np.shape(p))


def comparison_verdicts(low: np.ndarray, high: np.ndarray, margin: float) -> np.ndarray:
    """Interval within +-margin: equivalent, too small to matter; above zero: better; below: worse; else not distinguishable."""
    word = np.where(low > 0.0, "better", np.where(high < 0.0, "worse", "not distinguishable"))
    word = np.where((low >= -margin) & (high <= margin), "equivalent", word)
    return np.where(np.isnan(low) | np.isnan(high), "no data", word)


def lockstep(
    plans: Sequence,
    cells: Sequence,
    active: np.ndarray,
    precision: float,
    confidence: float,
    max_crossings: int,
    threads: int = 1,
    progress: Callable[[int, int], None] | None = None,
    touched: Callable[[int, Tally], np.ndarray] | None = None,
) -> list[Tally]:
    """Run several plans over the same cells, always to equal numbers of crossings; the first is the base.

    plans, cells: one of each per design, cells in the same order. A cell stays open until the paired half width of every design
    against the base is at most `precision`, or the cap is reached; rounds as in `estimate.simulate`.
    touched(k, base): which cells design k can differ in, given the base's sums (bool, (cells,)); in the others the base's Pd
    stands, without being simulated again (only the column of Pd is then valid in the tallies of k >= 1).
    """
    tallies = [new_tally(len(active), plan.cameras.bearing_rad.size) for plan in plans]
    base = tallies[0]
    which = np.flatnonzero(active)
    forecast = Forecast(progress, precision, len(which), REPLICATES * len(plans))

    def upto(which: np.ndarray, points: int) -> None:
        for k, (plan, strata, tally) in enumerate(zip(plans, cells, tallies)):
            asked = which
            if k and touched is not None:
                some = touched(k, base)[which]
                rest, asked = which[~some], which[some]
                tally.sums[rest, :, SUM_PD] = base.sums[rest, :, SUM_PD]
                tally.points[rest] = points
            if len(asked):
                advance(plan, strata, tally, asked, points, threads, forecast)
        forecast.points = points

    def still_open(which: np.ndarray, growth: float) -> np.ndarray:
        half = np.max([difference(base, other, confidence).half for other in tallies[1:]], axis=0)[which]
        forecast.expect(half, growth)
        return half > precision

    in_rounds(which, max_crossings // REPLICATES, upto, still_open)
    return tallies
