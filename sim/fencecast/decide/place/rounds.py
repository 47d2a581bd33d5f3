"""The rounds of a proposal: what must be reached, a search, a look at fresh crossings, and what is given up."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from fencecast.decide.place.bounds import least_cost, most_worth
from fencecast.decide.place.demand import Demand
from fencecast.decide.place.joint import Joint
from fencecast.decide.place.kit import Kit
from fencecast.decide.place.search import LEAST_GAIN, Found, Step, Task, make_task, search

CHECK_POINTS = 16  # of each scrambling: 128 fresh crossings a cell for the sets on the way
_ROUNDS = 3
# Where a cell only just reaches its target with every candidate at once, no sensible set will.
SPARE = 0.005


def caps(goal, until, target, best, demand: Demand):
    """Caps and metres of the cells; the cap is 0 where no set reaches the target."""
    hours = np.repeat([max(w.hours_per_year, 0.0) for w in demand.classes], len(demand.middles))
    if goal == "mean" and not until:
        return np.ones(len(best)), demand.metres * (hours if hours.sum() > 0 else 1.0)
    caps = np.full(len(best), target)
    if not until:
        return caps, demand.metres
    return np.where(demand.active & (best >= target + SPARE), caps, 0.0), demand.metres


def beyond(task: Task, demand: Demand) -> tuple[tuple[str, float], ...]:
    """Metres of each class that are left out of the goal."""
    lost = demand.active & (task.caps <= 0.0)
    by_class = (lost * demand.metres).reshape(len(demand.classes), -1).sum(axis=1)
    return tuple((w.name, float(m)) for w, m in zip(demand.classes, by_class) if m > 0.0)


def found(task: Task, enough: float | None, per_cost: bool) -> tuple[Found, Task]:
    """A search, and its task; cells that stay short at its end are given up and nothing more is paid for them."""
    found = search(task, enough, per_cost)
    limited = not found.slack and not (task.budget is None and task.cameras is None and task.ceiling is None)
    if enough is None or limited or found.last.worth >= enough - 2.0 * LEAST_GAIN:
        return found, task
    pd = np.nan_to_num(task.joint.pd(found.last.subset))
    kept = np.where(pd >= task.caps - 1e-4, task.caps, 0.0)
    if not (kept > 0.0).any():
        return found, task
    less = make_task(task.joint, task.candidates, task.weights, kept, task.base, task.budget, task.cameras, task.ceiling)
    return search(less, less.full, per_cost), less


def with_last(task: Task, solution: Found, subset, demand: Demand, check: Joint, used: list[int]):
    """The search's way with another end, and tables of fresh crossings for it."""
    cost, worth = task.cost(subset), task.worth_of(task.joint.pd(subset))
    way = [s for s in solution.steps[:-1] if s.cost < cost - 1e-9]
    solution = Found([*way, Step(tuple(subset), cost, worth)], solution.exchanges, solution.slack)
    wanted = sorted({c for step in solution.steps for c in step.subset})
    if not set(wanted) <= set(used):
        check, used = demand.simulate([task.candidates[c] for c in wanted], "place check last", CHECK_POINTS), wanted
    return solution, check, used


def checked_again(task: Task, solution: Found, demand: Demand, until: bool, best, tell):
    """The sets on the way, judged on fresh crossings; until meets, cells that turn out short get a higher target and more comes.

    Each round has crossings of its own. Returns solution, task, the tables of the last round and which candidates they hold.
    """
    for number in range(1, _ROUNDS + 1):
        used = sorted({c for step in solution.steps for c in step.subset})
        report = partial(tell, f"Checking on fresh crossings, round {number}")
        check = demand.simulate([task.candidates[c] for c in used], f"place check {number}", CHECK_POINTS, report)
        if not until or number == _ROUNDS:
            break
        pd, half, _, _ = demand.judged(check, [used.index(c) for c in solution.last.subset])
        short = (task.weights > 0.0) & (pd - np.minimum(half, 0.02) < demand.site.requirement.pd)
        # Never near what all candidates together reach: that would buy them all.
        top = np.minimum(best - SPARE, 0.5 * (1.0 + demand.site.requirement.pd))
        higher = np.minimum(task.caps + np.maximum(task.caps - pd, 0.01), top)
        caps = np.where(short, np.maximum(higher, task.caps), task.caps)
        if not (caps > task.caps + 1e-9).any():
            break
        lengths = np.where(task.weights > 0.0, demand.metres, 0.0)
        task = make_task(task.joint, task.candidates, lengths, caps, task.base, task.budget, task.cameras, task.ceiling)
        solution, task = found(task, task.full, True)
    return solution, task, check, used


def bounds(task: Task, solution: Found, until: bool, kit: Kit) -> tuple[float | None, float | None]:
    """(least cost of any set that does it, None); or (None, most worth of any set within the limits)."""
    sets = list(dict.fromkeys([(), task.base, solution.last.subset]))
    if not until:
        return None, most_worth(task, sets)
    if solution.last.worth < task.full - 2.0 * LEAST_GAIN:
        return None, None
    bound = least_cost(task, sets)
    whole = all(c.kind in ("as it is", "new") for c in task.candidates) and not kit.priced
    return (math.ceil(bound - 1e-6) if whole else bound) if math.isfinite(bound) else None, None
