"""What each camera of a large set does in every crossing, kept apart: the joint Pd of any subset follows without more simulation.

Given z, cameras are independent, so a crossing's Pd for a set S is sum over nodes of w [1 - prod over S of (1 - P_c(alarm | z))].
`given_z_jobs` fills P_c(alarm | z) of one camera; the others turn such tables into Pd. Tables are float32: there are many.
"""

import numpy as np

from fencecast.jit import borrow, compiled_alone, keep_alive
from fencecast.kernels.crossing import cross_once, draw_units
from fencecast.kernels.work import make_work
from fencecast.sampling.sobol import combine_keys

_UNUSED = -1.0


@compiled_alone
def given_z_jobs(plan, cells, variable_keys, sobol, job_cell, job_replicate, first, last, max_looks, out):
    """P(alarm | z) of the one camera of `plan` in the crossings of some jobs, into out (jobs, last - first, nodes) float32.

    A job is (cell, replicate), its crossings the points first to last - 1: the same crossings as in `run_jobs`, bit for bit.
    Returns the looks rendered. `cross_once` does the work and leaves 1 - P(alarm by the end of bucket b | z) in work.survive;
    rows that it did not use keep the mark that is set here, so the last used row is the end of the crossing.
    """
    plan, cells = borrow(plan), borrow(cells)
    variables = variable_keys.size
    nodes = plan.decision.node_z.size
    owned = make_work(1, plan.bands.low_um.size, nodes, plan.decision.confirm_n - 1, variables, max_looks)
    work = borrow(owned)
    for b in range(work.survive.shape[0]):
        work.survive[b, 0] = _UNUSED
    looks = 0
    for job in range(job_cell.size):
        cell = job_cell[job]
        replicate_key = np.uint64(combine_keys(cells.key[cell], np.uint64(job_replicate[job])))
        for v in range(variables):
            work.keys[v] = combine_keys(replicate_key, variable_keys[v])
        for point in range(first, last):
            draw_units(work, sobol[point], variables)
            looks += cross_once(plan, cells, cell, point, (replicate_key, replicate_key, replicate_key), 1.0, False, work)
            row = out[job, point - first]
            buckets = 0
            while buckets < work.survive.shape[0] and work.survive[buckets, 0] != _UNUSED:
                buckets += 1
            for k in range(nodes):
                row[k] = 1.0 - work.survive[buckets - 1, k] if buckets > 0 else 0.0
            for b in range(buckets):
                work.survive[b, 0] = _UNUSED
    keep_alive(owned)
    return looks


@compiled_alone
def pd_with(survive, cells, table, weights, pd):
    """Pd of cells when one camera joins: pd[i] for cells[i], from survive (all cells, crossings, nodes) and table (cells, ...).

    survive: product of 1 - P over the cameras that are there; table: P(alarm | z) of the new one in cells[i].
    """
    crossings, nodes = table.shape[1], table.shape[2]
    for i in range(cells.size):
        cell = cells[i]
        missed = 0.0
        for x in range(crossings):
            part = np.float32(0.0)
            for k in range(nodes):
                part += weights[k] * survive[cell, x, k] * (np.float32(1.0) - table[i, x, k])
            missed += part
        pd[i] = 1.0 - missed / crossings


@compiled_alone
def join(survive, cells, table):
    """Let a camera join: survive[cells[i]] *= 1 - table[i]."""
    for i in range(cells.size):
        cell = cells[i]
        for x in range(table.shape[1]):
            for k in range(table.shape[2]):
                survive[cell, x, k] *= np.float32(1.0) - table[i, x, k]
