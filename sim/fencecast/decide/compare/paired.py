"""Two designs on the same crossings: both run in lockstep, their difference with an interval and a p-value of its own.

Common random numbers (Glasserman & Yao 1992, [M]): strata are keyed by names and camera
draws by marks, so two designs see the same intruders in the same air; what they have in common leaves the difference. The
scramblings are independent, so the differences of their means are eight independent numbers, whatever the two designs share.

What n crossings cannot see. Of a Pd: a share of crossings below 3.1 / n (95 %, `intervals.rare_half`), each worth up to 1. Of a
difference the same share, but a crossing is worth only by how much it differs, and both designs saw the same one: in the first
round, crossing by crossing, the largest difference L among all N crossings of all cells is kept. Crossings that differ by more
than L make up less than 3.1 / N of all; where they lie in a fifth of the cells, less than 5 x 3.1 / N there. So the difference of
a cell can hide 3.1 (L / n + 5 / N), never more than 3.1 / n. That is the floor for n / min(1, L + 5 n / N) crossings, which stand
for n wherever a floor is asked (`Difference.crossings`). L is taken as a quarter at least; N counts cells in which some crossing
differs, and in another cell the floor stays 3.1 / n. Where one design alone sees some crossing, L is 1 and nothing is gained.
What it does not hold: large differences that are rare and in one cell alone among many (at worst, 0.8 / n of its crossings that
differ by 1: kept by every second run; `benchmarks/paired.py` measures such mixtures).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr

from fencecast.estimate.intervals import RARE, half_width, standard_error
from fencecast.estimate.simulate import REPLICATES, Forecast, Tally, advance, in_rounds, new_tally
from fencecast.kernels.crossing import SUM_PD

# Crossings that are not seen are taken to differ by as much as any that was, by this at least, and those that differ by more to
# lie in one cell of so many (judgement: the table of `benchmarks/paired.py` with others).
_LEAST, _SPREAD = 0.25, 5.0
VERDICTS = ("better", "worse", "equivalent", "not distinguishable", "no data")


@dataclass
class Paired(Tally):
    """The sums of a design that runs in lockstep with a base.

    largest: the largest difference of Pd from the base of a single crossing, over all cells; seen: in how many crossings it was
    looked for. Without a look, a crossing may differ by 1.
    """

    largest: float = 1.0
    seen: int = 0

    def sure(self, crossings: np.ndarray) -> np.ndarray:
        """Crossings that the floor of a difference goes by, for n crossings of a cell."""
        n = np.asarray(crossings, dtype=float)
        if not self.seen:
            return n
        return n / np.minimum(1.0, max(self.largest, _LEAST) + _SPREAD * n / self.seen)


@dataclass(frozen=True)
class Difference:
    """Pd of one design minus Pd of another, cell by cell: arrays (cells,), NaN where nothing was simulated.

    half: half width of the paired interval; p: the smallest error rate at which that interval would leave zero out;
    unpaired_se, unpaired_half: standard error and half width if the two had been run on crossings of their own.
    crossings: those that the floor goes by, the more the less single crossings differ (see above). each (cells, scramblings): the
    difference in every scrambling; mean and se are theirs.
    """

    mean: np.ndarray
    se: np.ndarray
    half: np.ndarray
    p: np.ndarray
    unpaired_se: np.ndarray
    unpaired_half: np.ndarray
    crossings: np.ndarray
    each: np.ndarray

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
        # A cell in which no crossing differs says nothing of how much one could.
        sure = np.where(each.any(axis=-1), other.sure(n), n) if isinstance(other, Paired) else n.astype(float)
        half = half_width(se, sure, base.replicates, confidence)
        # Two samples of equal size: twice the degrees of freedom (Student's two-sample t).
        wide = half_width(apart, n, 2 * base.replicates - 1, confidence)
    known = base.points > 0

    def where_known(values: np.ndarray) -> np.ndarray:
        return np.where(known, values, np.nan)

    p = where_known(p_values(mean, se, sure, base.replicates))
    return Difference(*(where_known(v) for v in (mean, se, half)), p, where_known(apart), where_known(wide), sure, each)


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
) -> list[Paired]:
    """Run several plans over the same cells, always to equal numbers of crossings; the first is the base.

    plans, cells: one of each per design, cells in the same order. A cell stays open until the paired half width of every design
    against the base is at most `precision`, or the cap is reached; rounds as in `estimate.simulate`.
    touched(k, base): which cells design k can differ in, given the base's sums (bool, (cells,)); in the others the base's Pd
    stands, without being simulated again (only the column of Pd is then valid in the tallies of k >= 1).
    """
    new = [new_tally(len(active), plan.cameras.bearing_rad.size) for plan in plans]
    tallies = [Paired(each.sums, each.points, 0.0, 0) for each in new]
    base = tallies[0]
    which = np.flatnonzero(active)
    forecast = Forecast(progress, precision, len(which), REPLICATES * len(plans))

    def upto(which: np.ndarray, points: int) -> None:
        if base.points[which].any():
            run(which, points)
            return
        differs: dict[int, np.ndarray] = {}
        for one in range(1, points + 1):  # the first round crossing by crossing, to see by how much one can differ
            before = [tally.sums[which, :, SUM_PD] for tally in tallies]
            run(which, one)
            moved = [tally.sums[which, :, SUM_PD] - old for tally, old in zip(tallies, before)]
            for tally, other in zip(tallies[1:], moved[1:]):
                apart = np.abs(other - moved[0])
                tally.largest = max(tally.largest, float(apart.max(initial=0.0)))
                if one == 1:
                    differs[id(tally)] = np.zeros(len(which), dtype=bool)
                differs[id(tally)] |= apart.any(axis=1)
        for tally in tallies[1:]:
            tally.seen = int(differs[id(tally)].sum()) * points * tally.replicates

    def run(which: np.ndarray, points: int) -> None:
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
