"""Which places are walked: those that say most of N50 and the correlation, those that need a claim of their own, and a sample.

Calibration: the places for which the prior mean of ln det (prior precision + information of all walks) is largest (Bayesian
D-optimal design; Chaloner and Larntz 1989), every gait at every place equally often. Without that rule the best test has all its
walks at two or three places and cannot tell a place from a gait.

Tests: tests/prove/walks/test_choose.py.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fencecast.prove.walks.order import stream
from fencecast.prove.walks.places import Spot
from fencecast.prove.walks.prior import Prior
from fencecast.prove.walks.worth import Worth

NORMAL_95 = 1.959964
_BETTER = 1e-9  # an exchange must gain more than rounding


def calibration_places(
    spots: Sequence[Spot], walks: Sequence[Sequence[int]], worth: Worth, prior: Prior, count: int, repeats: int
) -> list[int]:
    """Indices of up to `count` of the spots, best first: greedy, then exchanges, places at least 4 m apart.

    walks: for each spot the rows of `worth` that are walked there, each `repeats` times. Places that the user asked for are
    always among them. Places that a camera sees in part are taken only when others do not suffice, and those at corners last.
    """
    node = np.array([repeats * worth.nodes[list(rows)].sum(axis=0) for rows in walks])  # (spots, k, 2, 2)
    clean = np.array([bool(worth.clean[list(rows)].all()) for rows in walks])
    straight = np.array([not spot.corner for spot in spots])
    tells = np.trace(node, axis1=2, axis2=3) @ worth.weight

    def value(chosen: Sequence[int]) -> float:
        found = prior.precision + node[list(chosen)].sum(axis=0) if chosen else np.broadcast_to(prior.precision, node.shape[1:])
        return float(np.linalg.slogdet(found)[1] @ worth.weight)

    chosen = [k for k, spot in enumerate(spots) if spot.asked]
    for allowed in (clean & straight & (tells > 0.0), straight & (tells > 0.0), tells > 0.0):
        kept = list(chosen)
        while len(chosen) < count:
            free = [k for k in np.flatnonzero(allowed) if k not in chosen and all(spots[k].apart(spots[j]) for j in chosen)]
            if not free:
                break
            chosen.append(int(max(free, key=lambda k: (value([*chosen, k]), -k))))
        if len(chosen) > len(kept):
            chosen = _exchanged(chosen, kept, spots, allowed, value)
    return chosen


def _exchanged(chosen: list[int], kept: list[int], spots: Sequence[Spot], allowed: np.ndarray, value) -> list[int]:
    """Swaps of one place, but those kept, for another as long as one gains: the best swap of each pass."""
    best = value(chosen)
    for _ in range(20):
        swaps = []
        for at, old in enumerate(chosen):
            if old in kept:
                continue
            others = [j for j in chosen if j != old]
            for new in np.flatnonzero(allowed):
                if new not in chosen and all(spots[new].apart(spots[j]) for j in others):
                    swapped = [*chosen[:at], int(new), *chosen[at + 1 :]]
                    swaps.append((value(swapped), -at, -int(new), swapped))
        if not swaps or max(swaps)[0] <= best + _BETTER:
            break
        best, _, _, chosen = max(swaps)
    return chosen


def weak_places(spots: Sequence[Spot], pd: np.ndarray, crossings: int, requirement: float) -> list[int]:
    """Indices of the lowest spot of each stretch that is weak or undecided, lowest first.

    pd: (spots,) predicted. Undecided: within 1.96 standard errors of so many crossings of the requirement, each taken as an alarm
    or none (more than they have).
    """
    half = NORMAL_95 * np.sqrt(pd * (1.0 - pd) / crossings)
    low = pd - half < requirement
    found, k = [], 0
    while k < len(spots):
        stop = k + 1
        if low[k]:
            while stop < len(spots) and low[stop] and spots[stop].section == spots[k].section:
                stop += 1
            found.append(k + int(np.argmin(pd[k:stop])))
        k = stop
    return sorted(found, key=lambda each: (pd[each], each))


def sample_places(spots: Sequence[Spot], among: Sequence[int], count: int, seed: int) -> list[int]:
    """Up to `count` of some spots at equal steps along them from a drawn offset: each with the same chance."""
    count = min(count, len(among))
    if count == 0:
        return []
    step = len(among) / count
    offset = float(stream(seed, "sample").random()) * step
    found: list[int] = []
    for k in range(count):
        spot = among[int(offset + k * step) % len(among)]
        if all(spots[spot].apart(spots[j]) for j in found):
            found.append(spot)
    return found
