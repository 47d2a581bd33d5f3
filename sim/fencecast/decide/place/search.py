"""Choosing among simulated candidates: greedy, then exchange steps.

The worth of a set is sum over cells of weight x min(Pd, cap): monotone and submodular, because each crossing's Pd is. Caps at
1 and weights by hours make it the mean Pd; caps at a target make it "how near every metre is to it". For at most N added
cameras greedy then reaches at least 1 - 1/e of the most that can be added (Nemhauser, Wolsey, Fisher 1978, Math. Program. 14,
265-294). Cameras of one post count as the best of them; only where a camera would join two posts into one can it take Pd away.
"Every metre meets it" itself is not submodular and has no such bound; `bounds` gives one for each case instead.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from fencecast.decide.place.candidates import NEW, Candidate
from fencecast.decide.place.ceiling import Ceiling
from fencecast.decide.place.joint import Joint
from fencecast.decide.place.posts import near

LEAST_GAIN = 1e-6  # of the worth of a set where every cell is at its cap: less is rounding
_MOST_ROUNDS = 30
# A search that must bring everything to its cap stops all the same after so many moves that bring together less than this share
# of it, or for their cost less than this share of what the moves before them brought (judgement): the rest is not worth it.
PATIENCE, LEAST_SHARE, LEAST_RATE = 3, 0.003, 0.02


@dataclass(frozen=True)
class Task:
    """What is searched: candidates with their tables, cells with weights and caps (cells,), and the limits.

    base: indexes of the candidates that are there at the start (one of each group). Weights add up so that a set with every cell
    at its cap is worth 1.
    """

    joint: Joint
    candidates: tuple[Candidate, ...]
    weights: np.ndarray
    caps: np.ndarray
    base: tuple[int, ...]
    budget: float | None = None
    cameras: int | None = None
    ceiling: Ceiling | None = None

    def worth_of(self, pd: np.ndarray) -> float:
        """Worth of a set from the Pd of all cells."""
        return float(self.weights @ np.minimum(pd, self.caps))

    def cost(self, subset) -> float:
        return float(sum(self.candidates[c].cost for c in subset))

    def added(self, subset) -> int:
        """How many new cameras a set has."""
        return sum(self.candidates[c].kind == "new" for c in subset)

    def allowed(self, cost: float, added: int) -> bool:
        return (self.budget is None or cost <= self.budget + 1e-9) and (self.cameras is None or added <= self.cameras)

    def admits(self, subset) -> bool:
        """Whether a set keeps the ceiling on nuisance alarms, if there is one."""
        return self.ceiling is None or self.ceiling.admits(subset)

    @property
    def full(self) -> float:
        """Worth of a set with every cell at its cap."""
        return float(self.weights @ self.caps)


def make_task(joint, candidates, lengths, caps, base, budget=None, cameras=None, ceiling=None) -> Task:
    """A task whose weights are metres (cells,), 0 where nothing counts, scaled so that all cells at their cap are worth 1."""
    metres = np.where(joint.active & (caps > 0.0), lengths, 0.0)
    scale = float(metres @ caps)
    weights = metres / scale if scale > 0.0 else metres
    return Task(joint, tuple(candidates), weights, caps, tuple(base), budget, cameras, ceiling)


def reachable(joint: Joint, candidates, base) -> np.ndarray:
    """At least the highest Pd of each cell (all cells,) that any set brings: all new cameras, and one existing camera changed.

    Only what stands on one spot counts as one post here: with all candidates there at once longer chains would be one post.
    """
    joint = replace(joint, link_m=0.0)
    everything = (*base, *(c for c, each in enumerate(candidates) if each.kind == "new"))
    best = np.nan_to_num(joint.pd(everything))
    for old in base:
        for j, each in enumerate(candidates):
            if each.group == candidates[old].group and j != old:
                best = np.maximum(best, np.nan_to_num(joint.pd([*(c for c in everything if c != old), j])))
    return best


@dataclass
class Step:
    """One set on the way: indexes, cost, worth, and what was done to come here (candidate index, or -1 at the start)."""

    subset: tuple[int, ...]
    cost: float
    worth: float
    moved: int = -1


@dataclass
class Found:
    """The end of a search and the sets on the way, cheapest first.

    exchanges: steps that changed the greedy's choice; slack: it stopped at diminishing returns, before everything was at its cap.
    """

    steps: list[Step] = field(default_factory=list)
    exchanges: int = 0
    slack: bool = False

    @property
    def last(self) -> Step:
        return self.steps[-1]


class Start:
    """A set from which candidates are tried one by one: what is kept makes each of them cheap."""

    def __init__(self, task: Task, subset):
        self.task, self.subset = task, tuple(subset)
        self.survive = task.joint.survive(self.subset)
        self.capped = np.minimum(mean_pd(task, self.survive), task.caps)
        self.worth = float(task.weights @ self.capped)
        self._posts, self._apart = task.joint.posts(self.subset), {}

    def gain(self, j: int) -> float:
        """Worth that candidate j adds."""
        task, joint = self.task, self.task.joint
        if len(self._touched(j)) > 1:  # it would join two posts into one, which matters beyond its own cells
            return float(task.weights @ np.minimum(mean_pd(task, joint.survive((*self.subset, j))), task.caps)) - self.worth
        cells = joint.cells[j]
        return float(task.weights[cells] @ (np.minimum(self.pd(j), task.caps[cells]) - self.capped[cells]))

    def pd(self, j: int) -> np.ndarray:
        """Pd of the cells of candidate j with it, (its cells,), when it stands alone or joins one post."""
        post = next(iter(self._touched(j)), None)
        if post is None:
            return self.task.joint.pd_if_joined(self.survive, j)
        if post not in self._apart:
            rest = self.task.joint.survive([c for c in self.subset if c not in post])
            self._apart[post] = rest, self.task.joint.least(post)
        return self.task.joint.pd_if_joined(self._apart[post][0], j, self._apart[post][1])

    def _touched(self, j: int) -> list[tuple[int, ...]]:
        joint = self.task.joint
        return [] if joint.xy_m is None else [post for post in self._posts if near(joint.xy_m, j, post, joint.link_m)]


class State(Start):
    """A set with its cost, and the gain of every move from it."""

    def __init__(self, task: Task, subset):
        super().__init__(task, subset)
        self.cost, self.added = task.cost(self.subset), task.added(self.subset)

    def moves(self):
        """(candidate, set after it, gain in worth, change of cost) for every candidate that may come in and is allowed."""
        task = self.task
        members = {task.candidates[c].group: c for c in self.subset if task.candidates[c].group != NEW}
        without: dict[int, Start] = {}
        for j, candidate in enumerate(task.candidates):
            if j in self.subset:
                continue
            if candidate.group == NEW:
                change, added = candidate.cost, self.added + 1
                if task.allowed(self.cost + change, added) and task.admits((*self.subset, j)):
                    yield j, (*self.subset, j), self.gain(j), change
                continue
            if candidate.group not in members:  # a search from scratch has no existing camera
                continue
            old = members[candidate.group]
            change = candidate.cost - task.candidates[old].cost
            if not task.allowed(self.cost + change, self.added):
                continue
            if old not in without:
                without[old] = Start(task, [c for c in self.subset if c != old])
            after = tuple(j if c == old else c for c in self.subset)
            if not task.admits(after):
                continue
            yield j, after, without[old].worth - self.worth + without[old].gain(j), change


def mean_pd(task: Task, survive: np.ndarray) -> np.ndarray:
    """Pd of every cell (all cells,) behind a product of survivals."""
    return 1.0 - (survive @ task.joint.weights.astype(np.float32)).mean(axis=1, dtype=float)


def greedy(task: Task, start=None, per_cost=True, enough: float | None = None, progress=None, changes=True) -> Found:
    """Move by move, the largest gain (for its cost when `per_cost`), until nothing gains or the worth is `enough`.

    changes: existing cameras may be turned or get another lens; progress(moves) is called after each one.
    """
    state = State(task, task.base if start is None else start)
    found = Found([Step(state.subset, state.cost, state.worth)])
    while enough is None or state.worth < enough - LEAST_GAIN:
        if enough is not None and _slack(found.steps, task.full):
            del found.steps[-PATIENCE:]
            found.slack = True
            break
        best = None
        for j, after, gain, change in state.moves():
            if gain > LEAST_GAIN and (changes or task.candidates[j].group == NEW):
                score = gain / max(change, 1e-3) if per_cost else gain
                if best is None or score > best[0]:
                    best = (score, j, after)
        if best is None:
            break
        state = State(task, best[2])
        found.steps.append(Step(state.subset, state.cost, state.worth, best[1]))
        if progress:
            progress(len(found.steps) - 1)
    return found


def exchange(task: Task, found: Found, enough: float | None = None) -> Found:
    """Exchange steps from the greedy's end: drop a camera, or take another for it, while that saves cost or gains worth.

    With `enough` sets stay at least so good, and cheaper is better; without it the limits hold, and better is better.
    """
    subset, improved, exchanges = found.last.subset, True, 0
    floor = -1.0 if enough is None else min(enough, found.last.worth) - LEAST_GAIN
    while improved and exchanges < _MOST_ROUNDS:
        improved = False
        state = State(task, subset)
        best = ((1e-9, 0.0) if enough is not None else (LEAST_GAIN, 0.0), None)
        for c in subset:
            if task.candidates[c].kind != "new":
                continue
            rest = tuple(k for k in subset if k != c)
            less = State(task, rest)
            trials = [(rest, less.worth, less.cost)] if enough is not None else []
            trials += [(after, less.worth + gain, less.cost + change) for _, after, gain, change in less.moves()]
            for after, worth, cost in trials:
                if enough is not None:
                    if worth < floor:
                        continue
                    score = (state.cost - cost, worth - state.worth)
                else:
                    score = (worth - state.worth, state.cost - cost)
                if score > best[0] and set(after) != set(subset):
                    best = (score, after)
        if best[1] is not None:
            subset, improved, exchanges = best[1], True, exchanges + 1
    if exchanges:
        state = State(task, subset)
        kept = [step for step in found.steps if step.cost < state.cost - 1e-9 and step.worth < state.worth - LEAST_GAIN]
        return Found([*kept, Step(state.subset, state.cost, state.worth)], found.exchanges + exchanges, found.slack)
    return found


def _slack(steps: list[Step], full: float) -> bool:
    """Whether the last moves brought next to nothing."""
    if len(steps) <= PATIENCE:
        return False
    first, before, last = steps[0], steps[-1 - PATIENCE], steps[-1]
    gain, spent = last.worth - before.worth, last.cost - before.cost
    earlier = (before.worth - first.worth) * spent, (before.cost - first.cost) * gain
    return gain < LEAST_SHARE * full or earlier[1] < LEAST_RATE * earlier[0]


def search(task: Task, enough: float | None = None, per_cost: bool = True, start=None, progress=None) -> Found:
    """The best of a few greedy searches, each with exchange steps.

    A camera turned early may be missed later, and a cheap gain may use up a budget; so additions alone are tried too, and with a
    budget the largest gains whatever they cost.
    """
    ways = [(per_cost, True)]
    if any(candidate.kind in ("turned", "lens") for candidate in task.candidates):
        ways.append((per_cost, False))
    if task.budget is not None and per_cost:
        ways.append((False, True))
    best = None
    for by_cost, changes in ways:
        found = exchange(task, greedy(task, start, by_cost, enough, progress, changes), enough)
        reached = enough is not None and found.last.worth >= enough - LEAST_GAIN
        score = (reached, -found.last.cost if reached else found.last.worth)
        if best is None or score > best[0]:
            best = (score, found)
    return best[1] if enough is None else _for_less(task, best[1], enough)


def _for_less(task: Task, found: Found, enough: float) -> Found:
    """The search again with a little less money than the last set cost, as long as that still brings `enough`."""
    while found.last.worth >= enough - LEAST_GAIN and found.last.cost > LEAST_GAIN:
        poorer = replace(task, budget=found.last.cost - 1e-6)
        if not poorer.allowed(task.cost(task.base), 0):
            break
        tries = [search(poorer), exchange(poorer, greedy(poorer, changes=False))]
        best = max((each for each in tries), key=lambda each: (each.last.worth >= enough - LEAST_GAIN, -each.last.cost))
        if best.last.worth < enough - LEAST_GAIN:
            break
        best = exchange(task, best, enough)
        found = Found(best.steps, found.exchanges + best.exchanges, found.slack)
    return found
