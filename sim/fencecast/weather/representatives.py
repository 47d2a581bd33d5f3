"""A few real joint states that stand for all the hours of a year.

The first of them come from `likeness` alone (weighted k-means; of each group the state nearest to its middle: a state that
happened, not a mean of several that never did). The rest are added in rounds where the answer hangs on them: states that stand
for many hours, far from what has been simulated, where Pd is near the requirement. Every other state is a blend of the three
nearest, weighted by the inverse square of its distance.

Equal states are one state, and states are put in an order of their own first, so that neither repeated hours nor the order of
hours changes anything.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from fencecast.weather.likeness import likeness
from fencecast.weather.year import HourClass, HourStates, Year

# With 96, weak hours differ from those of every state simulated by itself, and from those with 192, by under 5 % (measured; the
# numbers stand in tests/weather/test_representatives.py).
DEFAULT_STATES = 96
BLEND = 3
ROUNDS = 4
_FIRST_SHARE = 0.5
_K_MEANS_ROUNDS = 40
_BLOCK_ROWS = 8192
# Added to the spread of Pd that a state's distance suggests: what likeness does not see (measured, rms 0.003 to 0.006).
_UNSEEN_PD = 0.01


@dataclass(frozen=True)
class Distinct:
    """The different states of a year's armed known hours.

    states (m): each once, weights (m,): hours of the record that it stands for, points (m, features): its likeness. rows (n,):
    rows of the year's states that count, member (n,): which of the m each of them is.
    """

    states: HourStates
    weights: np.ndarray
    points: np.ndarray
    rows: np.ndarray
    member: np.ndarray


@dataclass(frozen=True)
class Representatives:
    """states (K): those that stand for others, most hours first; their weight is the hours of the record that each stands for.

    blend (n, BLEND) and share (n, BLEND): for each counted row of the year's states, which states stand for it and how much of
    each; other and other_share: the same with the nearest one left out, by which the choice is judged. rows: as in `Distinct`.
    """

    states: HourStates
    rows: np.ndarray
    blend: np.ndarray
    share: np.ndarray
    other: np.ndarray
    other_share: np.ndarray

    def __len__(self) -> int:
        return len(self.states)


def distinct_states(site, year: Year) -> Distinct:
    """The different states of the armed known hours of a year, in an order that does not know the order of the hours."""
    rows = np.flatnonzero(year.counted[year.states.hour])
    states = year.states.take(rows)
    names = [f.name for f in fields(states) if f.name not in ("hour", "weight")]
    table = np.column_stack([np.asarray(getattr(states, name), dtype=float) for name in names])
    _, first, member = np.unique(table, axis=0, return_index=True, return_inverse=True)
    member = member.reshape(-1)
    # Weights of equal states are added in an order of their own too, so that the order of hours cannot change the last bit.
    order = np.lexsort((states.weight, member))
    weights = np.bincount(member[order], weights=states.weight[order], minlength=len(first))
    each = states.take(first)
    return Distinct(each, weights, likeness(site, each), rows, member)


def state_classes(distinct: Distinct, chosen: np.ndarray) -> list[HourClass]:
    """Each chosen state as a weather class of its own."""
    return [HourClass(f"state {k}", 0.0, distinct.states.take(np.array([k]))) for k in chosen]


def first_choice(distinct: Distinct, count: int, seed: int = 0) -> np.ndarray:
    """The states to begin with, of at most `count` in all: rows of `distinct`; all of them when there are no more."""
    if len(distinct.weights) <= count:
        return np.arange(len(distinct.weights))
    return _medoids(distinct.points, distinct.weights, max(int(_FIRST_SHARE * count), min(count, BLEND + 1)), seed)


def where_it_hangs(distinct: Distinct, chosen: np.ndarray, pd: np.ndarray, need: float, more: int) -> np.ndarray:
    """Rows of up to `more` further states, where the count of weak hours hangs on them.

    chosen (K,): rows simulated so far; pd (K, segments): what they gave. A state counts by its hours, its distance from the
    nearest chosen one, and how near to the requirement that distance can bring Pd, judged by the slope between its two nearest.
    """
    points = distinct.points
    near, away = nearest(points, points[chosen], 2)
    gap = np.sqrt(np.maximum(((points[chosen[near[:, 0]]] - points[chosen[near[:, 1]]]) ** 2).mean(axis=1), 1e-8))
    distance = np.sqrt(away[:, 0])
    reach = (distance / gap)[:, None] * np.abs(pd[near[:, 0]] - pd[near[:, 1]]) + _UNSEEN_PD
    risk = np.exp(-np.abs(pd[near[:, 0]] - need) / reach).mean(axis=1) * distinct.weights * distance
    added = []
    for _ in range(more):
        k = int(risk.argmax())
        if not risk[k] > 0.0:
            break
        added.append(k)
        # What the new one takes over is judged by its distance to it.
        closer = np.sqrt(((points - points[k]) ** 2).mean(axis=1))
        nearer = closer < distance
        risk = np.where(nearer, risk * closer / np.maximum(distance, 1e-12), risk)
        distance = np.where(nearer, closer, distance)
    return np.array(added, dtype=np.int64)


def represent(distinct: Distinct, chosen: np.ndarray) -> tuple[Representatives, np.ndarray]:
    """The representatives for all hours, and the order (K,) in which they take the chosen rows."""
    points = distinct.points
    exact = len(chosen) == len(points)
    near, away = nearest(points, points[chosen], BLEND + 1)
    for k, row in enumerate(chosen):  # a chosen state stands for itself, even if another one is exactly like it
        at = np.flatnonzero(near[row] == k)
        near[row, at[0] if len(at) else 0] = near[row, 0]
        near[row, 0], away[row, 0] = k, 0.0
    share = _shares(away[:, :BLEND])
    other, other_share = (near[:, :BLEND], share) if exact else (near[:, 1:], _shares(away[:, 1:]))
    near = near[:, :BLEND]
    hours = np.bincount(near.ravel(), weights=(share * distinct.weights[:, None]).ravel(), minlength=len(chosen))
    order = np.argsort(-hours, kind="stable")
    place = np.empty(len(chosen), dtype=np.int64)
    place[order] = np.arange(len(chosen))
    picked = distinct.states.take(chosen[order])
    states = HourStates(**{f.name: getattr(picked, f.name) for f in fields(picked) if f.name != "weight"}, weight=hours[order])
    m = distinct.member
    return Representatives(states, distinct.rows, place[near][m], share[m], place[other][m], other_share[m]), order


def _shares(away: np.ndarray) -> np.ndarray:
    """Shares (n, some) by the inverse of the squared distance; all to the first one where there is no distance."""
    inverse = 1.0 / np.maximum(away, 1e-12)
    inverse[away[:, 0] <= 1e-12] = np.eye(away.shape[1])[0]
    inverse[~np.isfinite(away)] = 0.0
    inverse[inverse.sum(axis=1) == 0.0] = np.eye(away.shape[1])[0]
    return inverse / inverse.sum(axis=1, keepdims=True)


def nearest(points: np.ndarray, centres: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """The `count` nearest centres of each point and their mean squared distance, each (n, count), nearest first.

    Where there are fewer centres, the last columns hold the first centre at an infinite distance.
    """
    found = np.zeros((len(points), count), dtype=np.int64)
    away = np.full((len(points), count), np.inf)
    have = min(count, len(centres))
    for start in range(0, len(points), _BLOCK_ROWS):
        block = points[start : start + _BLOCK_ROWS]
        squares = (block**2).sum(axis=1)[:, None] + (centres**2).sum(axis=1) - 2.0 * block @ centres.T
        some = np.argpartition(squares, have - 1, axis=1)[:, :have]
        exact = ((block[:, None, :] - centres[some]) ** 2).mean(axis=2)
        order = np.lexsort((some, exact), axis=1)
        found[start : start + len(block), :have] = np.take_along_axis(some, order, axis=1)
        away[start : start + len(block), :have] = np.take_along_axis(exact, order, axis=1)
    return found, away


def _medoids(points: np.ndarray, weights: np.ndarray, count: int, seed: int) -> np.ndarray:
    """Rows of `points` (n, features) that stand for all of them: weighted k-means, then the row nearest to each middle."""
    rng = np.random.default_rng([seed, len(points)])
    centres = points[_spread_out(points, weights, count, rng)]
    group = np.full(len(points), -1)
    for _ in range(_K_MEANS_ROUNDS):
        before, group = group, nearest(points, centres, 1)[0][:, 0]
        if np.array_equal(before, group):
            break
        total = np.bincount(group, weights=weights, minlength=len(centres))
        for feature in range(points.shape[1]):
            sums = np.bincount(group, weights=weights * points[:, feature], minlength=len(centres))
            centres[:, feature] = np.where(total > 0.0, sums / np.maximum(total, 1e-300), centres[:, feature])
    away = ((points - centres[group]) ** 2).sum(axis=1)
    order = np.lexsort((away, group))
    return np.sort(order[np.unique(group[order], return_index=True)[1]])


def _spread_out(points, weights, count, rng) -> np.ndarray:
    """Rows to begin with, each drawn with a chance that grows with its weight and its squared distance to those before it."""
    chosen = [int(rng.choice(len(points), p=weights / weights.sum()))]
    away = ((points - points[chosen[0]]) ** 2).sum(axis=1)
    for _ in range(count - 1):
        chance = weights * away
        if not chance.sum() > 0.0:
            break
        chosen.append(int(rng.choice(len(points), p=chance / chance.sum())))
        away = np.minimum(away, ((points - points[chosen[-1]]) ** 2).sum(axis=1))
    return np.array(chosen)
