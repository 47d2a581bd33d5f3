"""Proposals against every set: 40 small cases with random tables, cost of the proposal over that of the cheapest set.

    PYTHONPATH=sim:tests python benchmarks/proposals.py

Half of the cases have places (cameras within 2 m count as the best of them), half have cameras that may be turned. Prints each
ratio, their mean and the worst; ends with 1 when the mean is above 1.05 or the worst above 1.15.
"""

from __future__ import annotations

import dataclasses
import sys

import numpy as np

from decide.place.test_search import CELLS, every_set, invented
from fencecast.decide.place.search import greedy, make_task, search

CASES, MEAN, WORST = 40, 1.05, 1.15


def case(seed: int):
    """A task with 11 or 12 candidates and unequal prices: what the present cameras leave must be brought to 0.8."""
    turned = 2 * (seed % 2)
    joint, candidates, base = invented(1000 + seed, new=10, turned=turned)
    if (seed // 2) % 2:
        joint = dataclasses.replace(joint, xy_m=np.random.default_rng(seed).uniform(0.0, 12.0, (len(candidates), 2)))
    free = make_task(joint, candidates, np.ones(CELLS), np.ones(CELLS), base)
    together = np.max([joint.pd(subset) for subset, _, _ in every_set(free)], axis=0)
    # No set need reach every cell's own best: the target is what one good set has.
    good = joint.pd(max(every_set(free), key=lambda each: each[2])[0])
    return make_task(joint, candidates, np.ones(CELLS), np.minimum(0.8, np.minimum(together, good) - 0.001), base)


def ratio(seed: int) -> tuple[float, float]:
    """Cost of what the search finds over the least cost of any set that does it, and the same of its first, greedy part alone."""
    task = case(seed)
    least = min(cost for _, cost, worth in every_set(task) if worth >= task.full - 1e-6)
    ends = search(task, task.full).last, greedy(task, enough=task.full).last
    found, alone = (end.cost / least if end.worth >= task.full - 2e-6 else float("inf") for end in ends)
    return found, alone


def main() -> int:
    ratios, alone = np.array([ratio(seed) for seed in range(CASES)]).T
    print(" ".join(f"{each:.3f}" for each in ratios))
    print(f"mean {ratios.mean():.4f}, worst {ratios.max():.3f}, at the optimum {np.sum(ratios < 1.0 + 1e-9)} of {CASES}")
    print(f"greedy alone: mean {alone.mean():.4f}, worst {alone.max():.3f}, at the optimum {np.sum(alone < 1.0 + 1e-9)}")
    return int(ratios.mean() > MEAN or ratios.max() > WORST)


if __name__ == "__main__":
    sys.exit(main())
