"""Not a camera more than it takes: a set that meets is taken apart, tried with one camera less, and against one from scratch.

Whatever is left out here is judged on crossings that chose nothing before ("place thrift"): every cell that meets with the set
that was found must still meet, and no other may lose more than `_LESS`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fencecast.decide.place.candidates import NEW
from fencecast.decide.place.demand import Demand
from fencecast.decide.place.joint import Joint
from fencecast.decide.place.search import Task, search

POINTS = 32  # of each scrambling: 256 crossings a cell
_LESS = 0.005
_TRIES = 6


@dataclass(frozen=True)
class Thrift:
    """What was saved: the set kept (indexes), how many changes were dropped, and what a set from scratch needs.

    scratch: (cameras, cost) of the set that was found without the site's own cameras, None when it was not asked or not found.
    """

    subset: tuple[int, ...]
    dropped: int
    scratch: tuple[int, float] | None


class Judge:
    """Whether a set does as well as another on crossings of its own; cameras are simulated when first asked for."""

    def __init__(self, task: Task, demand: Demand, purpose: str = "place thrift"):
        self.task, self.demand, self.purpose = task, demand, purpose
        self._cells, self._tables, self._joint = {}, {}, None
        self.floor: np.ndarray | None = None

    def low_and_pd(self, subset: Sequence[int]) -> tuple[np.ndarray, np.ndarray]:
        """Lower end of the interval and Pd of every cell, each (cells,)."""
        subset = tuple(subset)
        missing = [c for c in subset if c not in self._tables]
        if missing:
            found = self.demand.simulate([self.task.candidates[c] for c in missing], self.purpose, POINTS)
            for row, c in enumerate(missing):
                self._cells[c], self._tables[c], self._joint = found.cells[row], found.tables[row], found
        if not subset:
            return (np.where(self.task.joint.active, 0.0, np.nan),) * 2
        joint: Joint = replace(
            self._joint,
            cells=tuple(self._cells[c] for c in subset),
            tables=tuple(self._tables[c] for c in subset),
            xy_m=np.array([self.task.candidates[c].camera.position_m for c in subset]).reshape(-1, 2),
        )
        pd, half = joint.estimate(range(len(subset)), self.demand.site.requirement.confidence)
        return pd - half, pd

    def set_floor(self, subset: Sequence[int]) -> None:
        """What every later set must reach: the requirement where this one meets it for sure, else almost its Pd."""
        low, pd = self.low_and_pd(subset)
        need, counts = self.demand.site.requirement.pd, self.task.weights > 0.0
        self.sure = counts & (low >= need)
        self.floor = np.where(counts & ~self.sure, np.minimum(pd - _LESS, need), -1.0)

    def does(self, subset: Sequence[int]) -> bool:
        """Whether a set is as good as the one that set the floor."""
        low, pd = self.low_and_pd(subset)
        enough = np.where(self.sure, low >= self.demand.site.requirement.pd, True) & (np.nan_to_num(pd) >= self.floor)
        return bool(enough[self.task.weights > 0.0].all())


def thrifty(task: Task, subset: Sequence[int], demand: Demand, scratch: bool, judge: Judge | None = None) -> Thrift:
    """The cheapest set found that does what `subset` does.

    scratch: look for a set of new cameras alone as well; where existing ones stay, they are there besides and cost nothing.
    """
    judge = judge or Judge(task, demand)
    judge.set_floor(subset)
    best = one_less(task, dropped(task, subset, judge.does), judge)
    alone = from_scratch(task, judge) if scratch else None
    if alone is not None:
        together = (*task.base, *alone)
        allowed = task.allowed(task.cost(together), task.added(together)) and task.admits(together)
        if allowed and judge.does(together):
            best = min(best, dropped(task, together, judge.does), key=task.cost)
    removed = len(set(subset) - set(best) - set(task.base))
    return Thrift(best, removed, None if alone is None else (len(alone), task.cost(alone)))


def dropped(task: Task, subset: Sequence[int], does) -> tuple[int, ...]:
    """Reverse deletion: without every change that nothing misses, the most expensive first, again until each is needed.

    does(subset) -> bool says whether a set still does; a changed camera that is not needed goes back to what it was.
    """
    subset = tuple(subset)
    before = {task.candidates[b].group: b for b in task.base}
    while True:
        for c in sorted(subset, key=lambda c: (-task.candidates[c].cost, c)):
            candidate = task.candidates[c]
            if candidate.group == NEW:
                rest = tuple(k for k in subset if k != c)
            elif c in task.base:
                continue
            else:
                rest = tuple(before[candidate.group] if k == c else k for k in subset)
            if does(rest):
                subset = rest
                break
        else:
            return subset


def one_less(task: Task, subset: tuple[int, ...], judge: Judge) -> tuple[int, ...]:
    """The set, or one with a new camera less that does as well: the search is asked for the best with one less."""
    for _ in range(_TRIES):
        count, cost = task.added(subset), task.cost(subset)
        if not count:
            break
        budget = cost - 1e-6 if task.budget is None else min(task.budget, cost - 1e-6)
        found = search(replace(task, cameras=count - 1, budget=budget), None, False).last
        # On its own crossings a set far from the target needs no second look.
        if found.worth < 0.99 * task.full or not judge.does(found.subset):
            break
        subset = dropped(task, found.subset, judge.does)
    return subset


def from_scratch(task: Task, judge: Judge) -> tuple[int, ...] | None:
    """The cheapest set found of new cameras alone that does as well; None when there is none."""
    alone = replace(task, base=(), budget=None, cameras=None)
    found = search(alone, task.full, True).last.subset
    return one_less(alone, dropped(alone, found, judge.does), judge) if judge.does(found) else None
