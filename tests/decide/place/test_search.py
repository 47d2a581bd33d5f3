"""Greedy, exchange and bounds against trying every set, on small cases with random tables and on a simulated yard."""

import itertools
import math
from types import SimpleNamespace

import numpy as np
import pytest

from fencecast.decide.place.bounds import least_cost, most_worth
from fencecast.decide.place.candidates import NEW, Candidate
from fencecast.decide.place.joint import Joint
from fencecast.decide.place.search import exchange, greedy, make_task, reachable, search

CELLS, CROSSINGS, NODES = 14, 16, 4


def invented(seed: int, new: int = 8, turned: int = 0, unit_cost: bool = False):
    """Random tables: each candidate sees a few neighbouring cells well. The first candidate is there at the start if any turn."""
    random = np.random.default_rng(seed)
    cells, tables, candidates = [], [], []
    for k in range(new + turned + (turned > 0)):
        first, count = int(random.integers(0, CELLS)), int(random.integers(2, 7))
        which = np.unique(np.arange(first, first + count) % CELLS)
        level = random.uniform(0.3, 1.0, (len(which), 1, 1))
        table = np.clip(level * random.uniform(0.2, 1.3, (len(which), CROSSINGS, NODES)), 0.0, 1.0)
        cells.append(which)
        tables.append(table.astype(np.float32))
        old = turned and k <= turned
        kind = "as it is" if old and k == 0 else "turned" if old else "new"
        cost = 0.0 if kind == "as it is" else 0.3 if kind == "turned" else 1.0 if unit_cost else float(random.integers(1, 4))
        candidates.append(Candidate(SimpleNamespace(mark=str(k)), cost, kind, 0 if old else NEW))
    joint = Joint(tuple(cells), tuple(tables), np.ones(CELLS, dtype=bool), np.full(NODES, 1.0 / NODES), 8, 0)
    return joint, candidates, (0,) if turned else ()


def task_of(seed, cap=0.9, **limits):
    shape = {key: limits.pop(key) for key in ("new", "turned", "unit_cost") if key in limits}
    joint, candidates, base = invented(seed, **shape)
    together = joint.pd([*base, *(k for k, c in enumerate(candidates) if c.kind == "new")])
    return make_task(joint, candidates, np.ones(CELLS), np.minimum(cap, together - 0.001), base, **limits)


def every_set(task):
    """All sets with one candidate of each group, within the limits: (set, cost, worth)."""
    groups: dict = {}
    for k, candidate in enumerate(task.candidates):
        groups.setdefault(candidate.group, []).append(k)
    new = groups.pop(NEW, [])
    for fixed in itertools.product(*groups.values()):
        for size in range(len(new) + 1):
            for chosen in itertools.combinations(new, size):
                subset = (*fixed, *chosen)
                if task.allowed(task.cost(subset), task.added(subset)):
                    yield subset, task.cost(subset), task.worth_of(task.joint.pd(subset))


SEEDS = range(20)


@pytest.mark.parametrize("seed", SEEDS)
def test_at_most_three_cameras_against_every_set(seed):
    """Greedy reaches 1 - 1/e of the best by proof; measured over 40 seeds: 0.970 or more alone, 1.000 with exchange steps."""
    task = task_of(seed, cap=1.0, cameras=3, unit_cost=True)
    best = max(worth for _, _, worth in every_set(task))
    alone = greedy(task, per_cost=False)
    both = exchange(task, alone)
    assert (1.0 - 1.0 / math.e) * best <= alone.last.worth <= both.last.worth + 1e-9 <= best + 1e-6
    assert both.last.worth >= 0.99 * best
    bound = most_worth(task, [(), alone.last.subset])
    assert best <= bound + 1e-6


@pytest.mark.parametrize("seed", SEEDS)
def test_within_a_budget_against_every_set(seed):
    """A budget and unequal prices, a camera that may be turned: 0.988 of the best or more over 40 seeds (measured)."""
    task = task_of(seed, cap=0.9, budget=5.0, turned=3, new=7)
    sets = list(every_set(task))
    best = max(worth for _, _, worth in sets)
    found = search(task)
    assert found.last.cost <= 5.0 + 1e-9
    assert 0.95 * best <= found.last.worth <= best + 1e-6
    assert best <= most_worth(task, [task.base, found.last.subset]) + 1e-6
    forms = [c for c in found.last.subset if task.candidates[c].group == 0]
    assert len(forms) == 1, "an existing camera is there in exactly one form"


@pytest.mark.parametrize("seed", (*range(12), 30, 35, 49))  # in the last three a camera turned early is missed later
def test_until_every_cell_is_at_its_target_against_every_set(seed):
    """No proof holds the price down here: at most 1.11 times the cheapest over 40 seeds, the bound 0.43 to 0.79 (measured)."""
    task = task_of(seed, cap=0.8, turned=2, new=8)
    cheapest = min(cost for _, cost, worth in every_set(task) if worth >= task.full - 1e-6)
    found = search(task, enough=task.full)
    assert found.last.worth >= task.full - 2e-6
    assert cheapest - 1e-9 <= found.last.cost <= 1.25 * cheapest
    bound = least_cost(task, [(), task.base, found.last.subset])
    assert bound <= cheapest + 1e-6
    assert bound >= 0.4 * cheapest, "a bound of nothing would hold as well"


@pytest.mark.parametrize("seed", range(6))
def test_two_candidates_are_chosen_as_by_trying_every_set(seed):
    for limits in ({"cameras": 1}, {"cameras": 2}, {"budget": 2.0}, {"budget": 3.0}):
        task = task_of(seed, new=2, **limits)
        best = max(worth for _, _, worth in every_set(task))
        assert search(task).last.worth == pytest.approx(best, abs=1e-6)
    task = task_of(seed, new=2)
    cheapest = min(cost for _, cost, worth in every_set(task) if worth >= task.full - 1e-6)
    assert search(task, enough=task.full).last.cost == pytest.approx(cheapest)


def test_steps_go_up_in_cost_and_worth():
    """The front is made of them."""
    found = search(task_of(3, cap=0.9), enough=0.95)
    costs, worths = [step.cost for step in found.steps], [step.worth for step in found.steps]
    assert costs == sorted(costs) and worths == sorted(worths) and len(found.steps) >= 3


def test_gains_of_moves_are_differences_of_whole_evaluations():
    """Would catch a gain that forgets what a turned camera no longer sees."""
    from fencecast.decide.place.search import State

    task = task_of(5, turned=3, new=5)
    state = State(task, (0, 4, 5))
    for _, after, gain, change in state.moves():
        assert gain == pytest.approx(task.worth_of(task.joint.pd(after)) - state.worth, abs=1e-6)
        assert change == pytest.approx(task.cost(after) - task.cost((0, 4, 5)))


def test_reachable_is_the_best_of_every_set_cell_by_cell():
    joint, candidates, base = invented(4, turned=3, new=4)
    task = make_task(joint, candidates, np.ones(CELLS), np.ones(CELLS), base)
    best = np.max([joint.pd(subset) for subset, _, _ in every_set(task)], axis=0)
    assert np.abs(reachable(joint, candidates, base) - best).max() < 1e-6


def test_remedies_are_ranked_by_cost_when_they_mend_and_by_gain_when_none_does():
    from fencecast.decide.remedy import _ranked

    task = task_of(2, cap=0.9, turned=3, new=6)
    base = (0,)
    worth = {j: task.worth_of(task.joint.pd((j,) if task.candidates[j].group == 0 else (0, j))) for j in range(1, 10)}
    order = [j for j, _ in _ranked(task, base, task.full)]
    assert order == sorted(order, key=lambda j: -worth[j]) and len(order) >= 4
    start = task.worth_of(task.joint.pd(base))
    costs = [task.candidates[j].cost for j, _ in _ranked(task, base, start)]  # every change that gains reaches this
    assert costs == sorted(costs) and len(set(costs)) > 2


def test_cells_without_weight_and_unwatched_cells_do_not_count():
    joint, candidates, base = invented(1)
    task = make_task(joint, candidates, np.where(np.arange(CELLS) < 3, 1.0, 0.0), np.full(CELLS, 0.9), base)
    assert task.full == pytest.approx(1.0) and task.weights[3:].sum() == 0.0
    found = search(task, enough=task.full)
    assert (joint.pd(found.last.subset)[:3] >= 0.9 - 1e-5).all() or found.last.worth < task.full
