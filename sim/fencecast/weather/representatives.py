"""A few real joint states that stand for all the hours of a year.

States are grouped by `likeness` (weighted k-means); of each group the state nearest to its middle stands for it: a state that
happened, not a mean of several that never did. Equal states are one state, and states are put in an order of their own first, so
that neither repeated hours nor the order of hours changes anything.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from fencecast.weather.likeness import likeness
from fencecast.weather.year import HourClass, HourStates, Year

# Measured: see DEFAULT_STATES in tests/weather/test_representatives.py and the note there.
DEFAULT_STATES = 96
_ROUNDS = 40
_BLOCK_ROWS = 8192


@dataclass(frozen=True)
class Representatives:
    """states (K rows): the states that stand for others, their weight the hours of the record that each stands for.

    rows (n,): rows of the year's states that count (armed hours whose state is known), in the year's order; nearest, second
    (n,): for each of them the state that stands for it, and the next one, by which the choice is judged.
    """

    states: HourStates
    rows: np.ndarray
    nearest: np.ndarray
    second: np.ndarray

    def __len__(self) -> int:
        return len(self.states)

    def classes(self, period_years: float) -> list[HourClass]:
        """Each state as a weather class of its own: `state 1` ... `state K`, most hours first."""
        hours = self.states.weight / period_years
        return [HourClass(f"state {k + 1}", float(hours[k]), self.states.take(np.array([k]))) for k in range(len(self))]


def choose_representatives(site, year: Year, count: int = DEFAULT_STATES, seed: int = 0) -> Representatives:
    """At most `count` of the states of a year's armed known hours, chosen to stand for all of them at this site.

    The same hours give the same states whatever their order; with `count` distinct states or fewer each stands for itself.
    """
    rows = np.flatnonzero(year.counted[year.states.hour])
    states = year.states.take(rows)
    table = np.column_stack(
        [np.asarray(getattr(states, f.name), dtype=float) for f in fields(states) if f.name not in _NOT_STATE]
    )
    distinct, first, member = np.unique(table, axis=0, return_index=True, return_inverse=True)
    member = member.reshape(-1)
    # Weights of equal states are added in an order of their own, so that the order of hours cannot change the last bit.
    order = np.lexsort((states.weight, member))
    weights = np.bincount(member[order], weights=states.weight[order], minlength=len(distinct))
    points = likeness(site, states.take(first))
    chosen = _medoids(points, weights, count, seed)
    nearest, second = _two_nearest(points, points[chosen])
    hours = np.bincount(nearest, weights=weights, minlength=len(chosen))
    rank = np.argsort(-hours, kind="stable")
    place = np.empty(len(chosen), dtype=np.int64)
    place[rank] = np.arange(len(chosen))
    picked = states.take(first[chosen[rank]])
    standing = HourStates(**{f.name: getattr(picked, f.name) for f in fields(picked) if f.name != "weight"}, weight=hours[rank])
    return Representatives(standing, rows, place[nearest][member], place[second][member])


_NOT_STATE = ("hour", "weight")


def _medoids(points: np.ndarray, weights: np.ndarray, count: int, seed: int) -> np.ndarray:
    """Rows of `points` (n, features) that stand for all of them: weighted k-means, then the row nearest to each middle."""
    if len(points) <= count:
        return np.arange(len(points))
    rng = np.random.default_rng([seed, len(points)])
    centres = points[_spread_out(points, weights, count, rng)]
    count = len(centres)
    group = np.full(len(points), -1)
    for _ in range(_ROUNDS):
        before, group = group, _two_nearest(points, centres)[0]
        if np.array_equal(before, group):
            break
        total = np.bincount(group, weights=weights, minlength=count)
        for feature in range(points.shape[1]):
            sums = np.bincount(group, weights=weights * points[:, feature], minlength=count)
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


def _two_nearest(points: np.ndarray, centres: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """For each point the nearest centre and the next one, each (n,); the same one twice when there is only one."""
    nearest, second = np.empty(len(points), dtype=np.int64), np.empty(len(points), dtype=np.int64)
    squares = (centres**2).sum(axis=1)
    for start in range(0, len(points), _BLOCK_ROWS):
        block = slice(start, start + _BLOCK_ROWS)
        away = squares - 2.0 * points[block] @ centres.T
        nearest[block] = away.argmin(axis=1)
        if len(centres) > 1:
            away[np.arange(len(away)), nearest[block]] = np.inf
        second[block] = away.argmin(axis=1)
    return nearest, second
