"""Crossings at draws that the caller chose, instead of at the points of the sequence: for asking what an answer depends on."""

from fencecast.jit import borrow, compiled, keep_alive
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


@compiled
def probe_crossings(plan, cells, cell, units, camera_keys, camera_points, max_looks, out):
    """The alarm probability of each crossing of one cell, given its draws; returns the looks rendered.

    units (n, site variables): numbers in (0, 1), one row a crossing, in the order of `sampling.variables`. camera_keys (n,)
    uint64 and camera_points (n,) int64: what the cameras' hashed draws (NETD, mounting) of the row are keyed by. max_looks: room
    for looks, `work.look_capacity(plan)`. out (n,): filled. A row depends on nothing but its own draws.
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
        looks += cross_once(plan, cells, cell, camera_points[row], camera_keys[row], 1.0, work)
        out[row] = work.result[PD]
    keep_alive(owned)
    return looks
