"""Crossings at draws that the caller chose, instead of at the points of the sequence: for asking what an answer depends on."""

from fencecast.jit import borrow, compiled, compiled_alone, keep_alive
from fencecast.kernels.crossing import cross_once
from fencecast.kernels.integrate import PD
from fencecast.kernels.work import make_work
from fencecast.sampling.sobol import owen_scramble, to_unit


@compiled
def scrambled_rows(table, order, keys, units):
    """Scrambled points as numbers in (0, 1): row i of units (n, variables) is point order[i] of `table`, scrambled by keys."""
    for row in range(order.size):
        for v in range(keys.size):
            units[row, v] = to_unit(owen_scramble(table[order[row], v], keys[v]))


@compiled_alone
def probe_crossings(plan, cells, cell, units, keys, points, max_looks, out):
    """The alarm probability of each crossing of one cell, given its draws; returns the looks rendered.

    units (n, site variables): numbers in (0, 1), one row a crossing, in the order of `sampling.variables`. keys (n, 3)
    uint64 and points (n,) int64: what the row's hashed draws are keyed by: the cameras' (NETD, mounting), the decision's and the
    factor on clutter. max_looks: room for looks, `work.look_capacity(plan)`. out (n,): filled. A row depends on nothing but its
    own draws.
    """
    plan, cells = borrow(plan), borrow(cells)
    variables = units.shape[1]
    owned = make_work(
        plan.cameras.bearing_rad.size,
        plan.bands.low_um.size,
        plan.decision.node_z.size,
        plan.decision.confirm_n - 1,
        variables,
        max_looks,
    )
    work = borrow(owned)
    looks = 0
    for row in range(units.shape[0]):
        for v in range(variables):
            work.units[v] = units[row, v]
        hashed = (keys[row, 0], keys[row, 1], keys[row, 2])
        looks += cross_once(plan, cells, cell, points[row], hashed, 1.0, False, work)
        out[row] = work.result[PD]
    keep_alive(owned)
    return looks
