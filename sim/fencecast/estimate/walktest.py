"""How many walks a test on the finished site needs before it can show the requirement."""

from __future__ import annotations

from math import comb


def walks_needed(requirement_pd: float, confidence: float, misses: int = 0) -> int:
    """Fewest walks of which at most `misses` may be missed, so that Pd >= requirement is shown at the confidence.

    requirement_pd, confidence: [fraction, between 0 and 1]. Exact one-sided binomial test: the smallest n for which
    `misses` or fewer out of n have a probability of at most 1 - confidence when the true Pd equals the requirement
    (Clopper and Pearson 1934, the lower limit). 0.90 at 0.95: 29, 46 and 61 walks with none, one and two missed.
    The walks must be independent and like the crossings that the requirement speaks of.
    """
    if not (0.0 < requirement_pd < 1.0 and 0.0 < confidence < 1.0):
        raise ValueError("the requirement and the confidence lie between 0 and 1")
    n = misses + 1
    while at_most(misses, n, requirement_pd) > 1.0 - confidence:
        n += 1
    return n


def at_most(misses: int, n: int, pd: float) -> float:
    """Probability of at most so many misses in n independent walks of one Pd [fraction]."""
    return sum(comb(n, k) * (1.0 - pd) ** k * pd ** (n - k) for k in range(misses + 1))
