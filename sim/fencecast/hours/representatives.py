"""A few real joint states that stand for all the hours of a year.

Every state's Pd follows from those of the few that are simulated by kriging between them (`kriging`): a mean with shares that add
up to 1 and know nothing of the segment. States lie at points that `likeness` and `signals` give, so that near means alike.

The few are chosen one after the other: each is the state that takes most away from what is still uncertain, hour by hour, over
the whole year. The first of them know no Pd; for the rest an hour counts by how near its Pd is to the requirement, estimated from
those before. They are states that happened, not means of several that never did.

Equal states are one state, and states are put in an order of their own first, so that neither repeated hours nor the order of
hours changes anything.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from fencecast.hours.kriging import NUGGET, Kriging, correlation
from fencecast.hours.likeness import likeness
from fencecast.hours.signals import signals
from fencecast.meteorology.year import HourClass, HourStates, Year

# With 64, weak hours differ from those by every state by 0.7 % in the median and by 6 % at most (two sites, ten seeds of the
# choice), from those with 128 by 0.7 % in the median and by 3 % at most (one site): `benchmarks/hours.py`.
DEFAULT_STATES = 64
ROUNDS = 4
_FIRST_SHARE = 0.5
# Distance for an e-fold of a signal, as a difference in chances to be made out. Common practice, no source: 0.025 and 0.05 count
# equally well on two sites (measured).
_PER_E_FOLD = 0.04
# States that may be chosen, spread over all of them; each counts by the hours of those nearest to it.
_CANDIDATES = 600
# Added to the spread of Pd that is expected where nothing was simulated: what distance does not tell.
_UNSEEN_PD = 0.02
_BLOCK_ROWS = 8192


@dataclass(frozen=True)
class Distinct:
    """The different states of a year's armed known hours.

    states (m): each once, weights (m,): hours of the record that it stands for, points (m, columns): where it lies; the distance
    between two points is a difference in chances to be made out. rows (n,): rows of the year's states that count, member (n,):
    which of the m each of them is.
    """

    states: HourStates
    weights: np.ndarray
    points: np.ndarray
    rows: np.ndarray
    member: np.ndarray


@dataclass(frozen=True)
class Representatives:
    """states (K): those that stand for others, most hours first; their weight is the hours of the record that are most like each.

    share (m, K): how much each of them counts in each distinct state. unsure (m,) and left_out (K, K): how sure that is, as
    `Kriging` has them; 0 for a state that is simulated itself. rows and member: as in `Distinct`.
    """

    states: HourStates
    rows: np.ndarray
    member: np.ndarray
    share: np.ndarray
    unsure: np.ndarray
    left_out: np.ndarray

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
    return Distinct(each, weights, points_of(site, each), rows, member)


def points_of(site, states: HourStates) -> np.ndarray:
    """Where states lie, (n, columns): likeness, so that a distance is its root mean square difference, and signals beside it."""
    alike = likeness(site, states)
    return np.column_stack([alike / np.sqrt(alike.shape[1]), _PER_E_FOLD * signals(site, states)])


def state_classes(distinct: Distinct, chosen: np.ndarray) -> list[HourClass]:
    """Each chosen state as a weather class of its own."""
    return [HourClass(f"state {k}", 0.0, distinct.states.take(np.array([k]))) for k in chosen]


class Choice:
    """Chooses up to `count` states to simulate, step by step; `rows` of `distinct`: those chosen so far."""

    def __init__(self, distinct: Distinct, count: int, seed: int = 0):
        points, weights = distinct.points, distinct.weights
        self.rows = np.array([], dtype=np.int64)
        self.count = min(count, len(weights))
        self._distinct = distinct
        self._candidates = np.arange(len(weights))
        if self.count < len(weights):
            rng = np.random.default_rng([seed, len(points)])
            self._candidates = _spread_out(points, weights, max(_CANDIDATES, 4 * count), rng)
        at = points[self._candidates]
        self._hours = np.bincount(_nearest(points, at), weights=weights, minlength=len(at))
        self._free = np.ones(len(at), dtype=bool)
        # Covariance of what is still uncertain at the candidates, where Pd varies by 1 over all of them.
        self._uncertain = correlation(at, at) if self.count < len(weights) else None

    def first(self) -> np.ndarray:
        """The states to begin with; all of them when there are no more than may be chosen."""
        if self._uncertain is None:
            self.rows = self._candidates
            return self.rows
        return self._add(max(int(_FIRST_SHARE * self.count), 1), self._hours)

    def further(self, pd: np.ndarray, need: float, more: int) -> np.ndarray:
        """Up to `more` further states, where the count of weak hours depends on them.

        pd (chosen so far, segments): what they gave.
        """
        if self._uncertain is None:
            return np.array([], dtype=np.int64)
        points = self._distinct.points
        estimate = Kriging(points[self.rows]).shares(points[self._candidates])[0] @ pd
        spread = np.sqrt(np.maximum(np.diag(self._uncertain), 0.0) * pd.var(axis=0).mean() + _UNSEEN_PD**2)[:, None]
        weight = (np.exp(-0.5 * ((estimate - need) / spread) ** 2) / spread).mean(axis=1)
        worth = self._hours * weight
        # Where every Pd is so far from the requirement that no count depends on any, hours alone say where to look.
        return self._add(min(more, self.count - len(self.rows)), worth if worth.any() else self._hours)

    def _add(self, more: int, worth: np.ndarray) -> np.ndarray:
        added = []
        while len(added) < more and self._free.any():
            own = np.diag(self._uncertain)
            # By how much the sum of all variances falls when this candidate is known.
            gain = (worth @ self._uncertain**2) / (own + NUGGET)
            k = int(np.where(self._free, gain, -1.0).argmax())
            column = self._uncertain[:, k].copy()
            self._uncertain -= np.outer(column, column) / (own[k] + NUGGET)
            self._free[k] = False
            added.append(self._candidates[k])
        added = np.array(added, dtype=np.int64)
        self.rows = np.concatenate([self.rows, added])
        return added


def represent(distinct: Distinct, chosen: np.ndarray) -> tuple[Representatives, np.ndarray]:
    """The representatives for all hours, and the order (K,) in which they take the chosen rows."""
    count = len(chosen)
    if count == len(distinct.weights):
        share = np.zeros((count, count))
        nearest = np.empty(count, dtype=np.int64)
        nearest[chosen] = np.arange(count)
        unsure, left_out = np.zeros(count), np.zeros((count, count))
    else:
        kriging = Kriging(distinct.points[chosen])
        share, nearest = kriging.shares(distinct.points)
        nearest[chosen] = np.arange(count)
        unsure, left_out = kriging.unsure(distinct.points), kriging.left_out()
    # A chosen state stands for itself, even if another one is exactly like it.
    share[chosen], unsure[chosen] = np.eye(count), 0.0
    hours = np.bincount(nearest, weights=distinct.weights, minlength=count)
    order = np.argsort(-hours, kind="stable")
    picked = distinct.states.take(chosen[order])
    states = HourStates(**{f.name: getattr(picked, f.name) for f in fields(picked) if f.name != "weight"}, weight=hours[order])
    left_out = left_out[np.ix_(order, order)]
    return Representatives(states, distinct.rows, distinct.member, share[:, order], unsure, left_out), order


def _nearest(points: np.ndarray, centres: np.ndarray) -> np.ndarray:
    """The nearest of the centres to each point, (n,)."""
    squares = (centres**2).sum(axis=1)
    blocks = range(0, len(points), _BLOCK_ROWS)
    return np.concatenate([(squares - 2.0 * points[a : a + _BLOCK_ROWS] @ centres.T).argmin(axis=1) for a in blocks])


def _spread_out(points: np.ndarray, weights: np.ndarray, count: int, rng) -> np.ndarray:
    """Up to `count` rows, each drawn with a chance that grows with its weight and its squared distance to those before it."""
    chosen = [int(rng.choice(len(points), p=weights / weights.sum()))]
    squares = (points**2).sum(axis=1)
    away = np.full(len(points), np.inf)
    for _ in range(count - 1):
        last = chosen[-1]
        away = np.minimum(away, np.maximum(squares + squares[last] - 2.0 * points @ points[last], 0.0))
        away[last] = 0.0
        chance = weights * away
        if not chance.sum() > 0.0:
            break
        chosen.append(int(rng.choice(len(points), p=chance / chance.sum())))
    return np.sort(np.array(chosen))
