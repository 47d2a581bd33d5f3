"""Alarms of walks that are not alike: exact probabilities of their number.

Tests: tests/prove/score/test_scoretotal.py.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fencecast.prove.walks.chance import alarms_distribution

# Two counts are equally likely when their probabilities agree to this share: rounding must not take one out of a sum.
_EQUAL = 1e-7


def two_sided_p(pd: Sequence[float], alarms: int, middle: bool = False) -> float:
    """Probability of a number of alarms that is as unlikely as `alarms` or more, in walks with a Pd of their own each.

    Exact (Poisson binomial), two-sided by probability. middle: counts as likely as the observed one enter with half their
    probability (mid-P), which is nearer to the nominal size where walks are few.
    """
    found = alarms_distribution(pd)
    if not 0 <= alarms < len(found):
        raise ValueError(f"{alarms} alarms of {len(found) - 1} walks")
    as_likely = np.abs(found - found[alarms]) <= _EQUAL * found[alarms]
    less = found[~as_likely & (found < found[alarms])].sum()
    equal = found[as_likely].sum()
    return float(min(less + (0.5 if middle else 1.0) * equal, 1.0))


def holm(p: Sequence[float]) -> tuple[float, ...]:
    """p-values adjusted for their number by Holm's steps (Holm 1979, from memory)."""
    order = sorted(range(len(p)), key=lambda each: p[each])
    adjusted, largest = [1.0] * len(p), 0.0
    for rank, at in enumerate(order):
        largest = max(largest, min((len(p) - rank) * p[at], 1.0))
        adjusted[at] = largest
    return tuple(adjusted)
