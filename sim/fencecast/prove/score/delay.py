"""How long after the crossing an alarm comes beyond what the plan predicts: the delay of the system itself; depth as noted.

A median and its interval by the sign test (order statistics; no shape of the distribution is assumed), widened by half the unit
to which times are read. Area rules have a predicted spread of delays; with twenty walks or more its shape is looked at by
simulation.

Tests: tests/prove/score/test_scoredelay.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.prove.log.walked import Walked, WalkLog
from fencecast.prove.walks.planfile import Kind, WalkPlan

CONFIDENCE = 0.95
LEAST_FOR_SHAPE = 20
REPLICATES = 4_999


@dataclass(frozen=True)
class Middle:
    """A median with its interval; low, high None for fewer than six values, where no interval holds 95 %."""

    median: float
    low: float | None
    high: float | None
    values: int


@dataclass(frozen=True)
class DelayScore:
    """Delay of the system [s] beyond the predicted one.

    unit_s: to which times are read. latest_s: what was asked, and `kept`: whether the interval lies at or below it, "open" when
    it holds it. later: single alarms that came more than latest_s after the predicted moment. p_shape: of the spread, None when
    the rules predict none or walks are too few.
    """

    delay_s: Middle
    unit_s: float
    latest_s: float | None
    kept: str | None
    later: int | None
    p_shape: float | None


def score_delay(plan: WalkPlan, log: WalkLog, latest_s: float | None = None) -> DelayScore | None:
    """From walks that count, alarmed, and have a time from every camera that did; None when there is none.

    Whole minutes say nothing of delays: then None too.
    """
    kinds = {kind.kind: kind for kind in plan.kinds}
    timed = [
        (walk, kinds[walk.kind]) for walk in log.counted if walk.kind and _first(walk) is not None and kinds[walk.kind].delay_s
    ]
    if not timed or log.unit_s > 1.0:
        return None
    beyond = np.array([(_first(walk) or 0.0) - _middle_of(kind) for walk, kind in timed])
    middle = median_interval(beyond, log.unit_s)
    kept = later = None
    if latest_s is not None:
        later = int(np.count_nonzero(beyond > latest_s))
        low = middle.median if middle.low is None else middle.low
        kept = "open" if middle.high is None or low <= latest_s < middle.high else "yes" if middle.high <= latest_s else "no"
    p = _p_shape([kind for _, kind in timed], beyond, log.unit_s, plan.seed)
    return DelayScore(middle, log.unit_s, latest_s, kept, later, p)


def score_depth(log: WalkLog) -> Middle | None:
    """Median depth [m] at which alarms were called, as noted; None when none was."""
    depths = [walk.depth_m for walk in log.counted if walk.depth_m is not None and walk.alarm]
    return median_interval(np.array(depths), 0.0) if depths else None


def median_interval(values: np.ndarray, unit: float) -> Middle:
    """The median and its 95 % interval by the sign test, each end moved out by half a unit of reading."""
    ordered = np.sort(np.asarray(values, dtype=float))
    n = len(ordered)
    # The most values that may be cut off at either end.
    cut, tail, term = -1, 0.0, 0.5**n
    for k in range(n // 2):
        tail += term
        if 2.0 * tail > 1.0 - CONFIDENCE:
            break
        cut = k
        term *= (n - k) / (k + 1)
    middle = float(np.median(ordered))
    if cut < 0:
        return Middle(middle, None, None, n)
    return Middle(middle, float(ordered[cut] - 0.5 * unit), float(ordered[n - 1 - cut] + 0.5 * unit), n)


def _first(walk: Walked) -> float | None:
    """Seconds from the crossing to the first alarm; None when some camera alarmed without its time."""
    heard = list(walk.heard.values())
    times = [each for each in heard if isinstance(each, float)]
    return min(times) if times and "yes" not in heard else None


def _middle_of(kind: Kind) -> float:
    """The predicted median delay [s]."""
    pairs = sorted(kind.delay_s)
    total, half = 0.0, 0.5 * sum(share for _, share in pairs)
    for seconds, share in pairs:
        total += share
        if total >= half:
            return seconds
    return pairs[-1][0]


def _p_shape(kinds: Sequence[Kind], beyond: np.ndarray, unit: float, seed: int) -> float | None:
    """Chance of a sum of squared standardised deviations as large, from delays drawn as predicted and read to the unit."""
    tables = [(np.array([t for t, _ in kind.delay_s]), np.array([share for _, share in kind.delay_s])) for kind in kinds]
    means = np.array([np.average(t, weights=share) for t, share in tables])
    spreads = np.sqrt([np.average((t - mean) ** 2, weights=share) for (t, share), mean in zip(tables, means, strict=True)])
    if len(kinds) < LEAST_FOR_SHAPE or spreads.min() < 0.5 * unit:
        return None
    middles = np.array([_middle_of(kind) for kind in kinds])
    rng = np.random.default_rng([seed, 0xDE1A])
    drawn = np.stack([rng.choice(t, REPLICATES, p=share / share.sum()) for t, share in tables], axis=1)
    drawn = drawn + rng.uniform(-0.5 * unit, 0.5 * unit, drawn.shape) - middles

    def statistic(values: np.ndarray) -> np.ndarray:
        centred = values - np.median(values, axis=-1, keepdims=True) - (means - middles)
        return ((centred / spreads) ** 2).sum(axis=-1)

    return float((1 + np.count_nonzero(statistic(drawn) >= statistic(beyond) - 1e-9)) / (REPLICATES + 1))
