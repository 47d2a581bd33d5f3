"""How much better any other choice could be: bounds by linear programs over the same candidates and crossings.

For a monotone submodular f and any set S, every set T has f(T) <= f(S) + sum over j in T of [f(S + j) - f(S)] (Nemhauser and
others 1978). Here f is the capped Pd of each cell, so each S gives one inequality a cell; dropping that cameras are whole gives a
linear program whose optimum no set of these candidates can beat on these crossings. Here only cameras on one spot are one post:
posts are then the same in every set, f is submodular, and Pd is never lower than with posts 2 m wide, so the bounds stand.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_array, hstack, vstack
from scipy.sparse import eye_array as eye

from fencecast.decide.place.candidates import NEW
from fencecast.decide.place.search import Start, Task


def _cuts(task: Task, sets, cells: np.ndarray):
    """For each set S: f(S) (cells,) and the gains of every candidate, sparse (cells, candidates)."""
    task = replace(task, joint=replace(task.joint, link_m=0.0))
    row_of = np.full(len(task.weights), -1)
    row_of[cells] = np.arange(len(cells))
    for subset in sets:
        start = Start(task, subset)
        base = start.capped
        # Empty ones first: every candidate may be in the set.
        rows, columns, values = [np.zeros(0, dtype=int)], [np.zeros(0, dtype=int)], [np.zeros(0)]
        for j in range(len(task.candidates)):
            if j in subset:
                continue
            which = row_of[task.joint.cells[j]] >= 0
            own = task.joint.cells[j][which]
            gain = np.minimum(start.pd(j)[which], task.caps[own]) - base[own]
            keep = gain > 0.0
            rows.append(row_of[own[keep]])
            columns.append(np.full(int(keep.sum()), j))
            values.append(gain[keep])
        shape = (len(cells), len(task.candidates))
        triple = (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))
        yield base[cells], csr_array(triple, shape=shape)


def _one_of_each_group(task: Task):
    """Rows and right sides: of each existing camera exactly one form is there."""
    groups = sorted({c.group for c in task.candidates if c.group != NEW})
    if not groups:
        return None, None
    rows = np.array([[float(c.group == g) for c in task.candidates] for g in groups])
    return rows, np.ones(len(groups))


def least_cost(task: Task, sets) -> float:
    """No set of the candidates that brings every counted cell to its cap costs less than this; inf when none can."""
    cells = np.flatnonzero(task.weights > 0.0)
    left, right = [], []
    for base, gains in _cuts(task, sets, cells):
        # Rounding must not ask for more than there is.
        left.append(-gains)
        right.append(-(task.caps[cells] - base) + 1e-6)
    rows, ones = _one_of_each_group(task)
    cost = np.array([c.cost for c in task.candidates])
    result = linprog(cost, vstack(left), np.concatenate(right), rows, ones, bounds=(0.0, 1.0), method="highs")
    return float(max(result.fun, 0.0)) if result.status == 0 else float("inf")


def most_worth(task: Task, sets) -> float:
    """No set of the candidates within the task's limits is worth more than this."""
    cells = np.flatnonzero(task.weights > 0.0)
    n, m = len(task.candidates), len(cells)
    left, right = [], []
    for base, gains in _cuts(task, sets, cells):
        left.append(hstack([-gains, eye(m)]))
        right.append(base + 1e-6)
    extra = []
    if task.budget is not None:
        extra.append(([c.cost for c in task.candidates], task.budget))
    if task.cameras is not None:
        extra.append(([float(c.kind == "new") for c in task.candidates], float(task.cameras)))
    for row, limit in extra:
        left.append(csr_array(np.concatenate([row, np.zeros(m)])[None, :]))
        right.append([limit + 1e-9])
    rows, ones = _one_of_each_group(task)
    if rows is not None:
        rows = np.hstack([rows, np.zeros((len(rows), m))])
    objective = np.concatenate([np.zeros(n), -task.weights[cells]])
    limits = [(0.0, 1.0)] * n + [(0.0, float(cap)) for cap in task.caps[cells]]
    result = linprog(objective, vstack(left), np.concatenate(right), rows, ones, bounds=limits, method="highs")
    return float(-result.fun) if result.status == 0 else task.full
