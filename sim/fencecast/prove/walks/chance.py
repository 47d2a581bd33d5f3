"""The arithmetic of claims: which walks show a requirement, and how likely a test passes. Exact; nothing is approximated.

A claim is a row of rungs, `stops`: after stops[k] walks at most k misses pass, and len(stops) misses end the test. A fixed number
of walks with its misses counted at the end is that number once for every count of misses that passes: (46, 46) is 46 walks with
at most one miss. "One miss, so we walk on to 46" is neither: its errors add up over the rungs, and `ladder` allows for that.

Limits are those of Clopper and Pearson (1934). Walks are independent unless `intraclass` says how alike those of one night are.
Tests: tests/prove/walks/test_chance.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv

from fencecast.errors import UsageError
from fencecast.estimate.walktest import walks_needed

MOST_MISSES = 20
MOST_WALKS = 20_000  # a person walks a hundred in a night


@dataclass(frozen=True)
class Course:
    """How a test goes. accepted: (rungs, ...) the chance of passing at each rung; expected_walks (...), walks until its end."""

    accepted: np.ndarray
    expected_walks: np.ndarray

    @property
    def chance(self) -> np.ndarray:
        """The chance of passing at all."""
        return self.accepted.sum(axis=0)


def ladder(pd: float, confidence: float, misses: int = 2) -> tuple[int, ...]:
    """The rungs that show Pd >= pd at the confidence while up to `misses` misses only lengthen the test.

    Rung k is the smallest number of walks for which, at a true Pd of exactly `pd`, the chance of having passed at it or before it
    is at most (1 - confidence) (k + 1) / (misses + 1): so the whole test errs at most as often as the confidence allows. By
    recursion over walks and misses. 0.90 at 0.95 with two misses: 39, 53 and 65 walks (it errs in 0.0496 of tests).
    UsageError for a requirement, a confidence or a number of misses outside what is allowed.
    """
    check_claim(pd, confidence, misses)
    alpha, rungs = 1.0 - confidence, misses + 1
    alive = [1.0] + [0.0] * misses  # by misses so far
    spent, stops, walks = 0.0, [], 0
    while len(stops) < rungs:
        walks += 1
        alive = [alive[k] * pd + (alive[k - 1] * (1.0 - pd) if k else 0.0) for k in range(rungs)]
        k = len(stops)
        if spent + alive[k] <= alpha * (k + 1) / rungs:
            spent += alive[k]
            alive[k] = 0.0
            stops.append(walks)
    return tuple(stops)


def fixed(pd: float, confidence: float, misses: int = 0) -> tuple[int, ...]:
    """The plan of one fixed number of walks (`estimate.walktest.walks_needed`) as rungs. UsageError as `ladder`."""
    check_claim(pd, confidence, misses)
    return (walks_needed(pd, confidence, misses),) * (misses + 1)


def course(stops: Sequence[int], pd: np.ndarray | float, intraclass: float = 0.0) -> Course:
    """How a test of these rungs goes at a true Pd: every walk alike.

    pd: (...) [fraction]. intraclass: correlation between the walks of one test that share a night or a walker [fraction]: each
    test then has a Pd of its own, drawn from a beta distribution about `pd` (beta-binomial).
    """
    return _course(stops, lambda walk: pd, np.shape(pd), intraclass)


def course_of_walks(stops: Sequence[int], pd: np.ndarray) -> Course:
    """The same for walks that are not alike: pd (walks, ...) in the order of walking, at least stops[-1] of them."""
    pd = np.asarray(pd, dtype=float)
    return _course(stops, lambda walk: pd[walk], pd.shape[1:], 0.0)


def _course(stops: Sequence[int], pd_of, shape: tuple[int, ...], rho: float) -> Course:
    rungs = len(stops)
    alive = np.zeros((rungs, *shape))
    alive[0] = 1.0
    accepted, expected = np.zeros((rungs, *shape)), np.zeros(shape)
    seen = np.arange(rungs).reshape(-1, *(1,) * len(shape))
    for walk in range(stops[-1]):
        expected = expected + alive.sum(axis=0)
        # A night that has shown misses is likelier to be a bad one (Polya's urn, which gives the beta-binomial).
        missed = ((1.0 - np.asarray(pd_of(walk), dtype=float)) * (1.0 - rho) + rho * seen) / (1.0 - rho + rho * walk)
        on = alive * missed
        alive = alive - on
        alive[1:] += on[:-1]
        for k, stop in enumerate(stops):
            if stop == walk + 1:
                accepted[k], alive[k] = alive[k], 0.0
    return Course(accepted, expected)


def chance_of(stops: Sequence[int], pd: float, intraclass: float = 0.0) -> float:
    """The chance that a test of these rungs passes at a true Pd; see `course`."""
    return float(course(stops, pd, intraclass).chance)


def expected_walks(stops: Sequence[int], pd: float) -> float:
    """How many walks it takes on average until it has passed or cannot pass any more."""
    return float(course(stops, pd).expected_walks)


def lower_limit(walks: int, misses: int, confidence: float) -> float:
    """One-sided lower limit of Pd after so many walks and misses (Clopper and Pearson 1934)."""
    return 0.0 if misses >= walks else float(betaincinv(walks - misses, misses + 1, 1.0 - confidence))


def upper_limit(walks: int, misses: int, confidence: float) -> float:
    """One-sided upper limit of Pd after so many walks and misses (Clopper and Pearson 1934)."""
    return 1.0 if misses == 0 else float(betaincinv(walks - misses + 1, misses, confidence))


def interval(walks: int, misses: int, confidence: float) -> tuple[float, float]:
    """Two-sided interval of Pd: half of what the confidence leaves on either side (Clopper and Pearson 1934)."""
    side = 0.5 + 0.5 * confidence
    return lower_limit(walks, misses, side), upper_limit(walks, misses, side)


def alarms_distribution(pd: Sequence[float] | np.ndarray) -> np.ndarray:
    """Probability of 0, 1, ... n alarms in n independent walks that each have a Pd of their own (Poisson binomial), (n + 1,)."""
    found = np.array([1.0])
    for each in np.asarray(pd, dtype=float):
        found = np.append(found, 0.0) * (1.0 - each) + np.append(0.0, found) * each
    return found


def check_claim(pd: float, confidence: float, misses: int) -> None:
    """Refuse what no claim can be made of: UsageError."""
    for name, value in (("pd", pd), ("confidence", confidence)):
        if not 0.0 < value < 1.0:
            raise UsageError(f"{name} {value:g} is not allowed: a number between 0 and 1; type for instance 0.9")
    if isinstance(misses, bool) or not isinstance(misses, int) or not 0 <= misses <= MOST_MISSES:
        raise UsageError(f"misses {misses} is not allowed: a whole number from 0 to {MOST_MISSES}; type for instance 2")
    # A lower bound of what is needed: no miss at all, with the whole error rate for the last rung.
    if np.log(1.0 - confidence) / np.log(pd) > MOST_WALKS:
        raise UsageError(
            f"pd {pd:g} at {confidence:g} needs more than {MOST_WALKS:,} walks: no test on a site shows it; ask for less"
        )
