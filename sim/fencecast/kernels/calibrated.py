"""Crossings asked at several N50 and correlations at once, each rendered once: for a site that walks have calibrated.

What cameras made of a crossing is kept as steps (`steps`), which know neither N50 nor the correlation, so that any of them is
arithmetic: Pd(N50, r) = 1 - sum over z of w prod over posts of (1 - max over cameras of sum of g_i F(N_i / N50 | z)). F, z and
posts as in `integrate`.
"""

import math
from typing import NamedTuple

import numpy as np

from fencecast.jit import borrow, compiled, compiled_alone, compiled_inline, keep_alive
from fencecast.kernels.accept import gated
from fencecast.kernels.crossing import (
    SUM_ANY_VIEW,
    SUM_ARMED,
    SUM_CAMERA,
    SUM_CONFIRMED,
    SUM_DELAY,
    SUM_DEPTH,
    SUM_IN_VIEW,
    SUM_LOOKS,
    SUM_PD,
    SUM_RESOLVED,
    SUM_UNGATED,
    draw_units,
    render_crossing,
)
from fencecast.kernels.integrate import (
    CONFIRMED,
    DELAY,
    DEPTH,
    IN_VIEW,
    PD,
    RESOLVED,
    UNGATED,
    integrate_crossing,
)
from fencecast.kernels.render import sum_of
from fencecast.kernels.steps import MOST_STEPS, camera_steps
from fencecast.kernels.work import make_work
from fencecast.lanes import LANES, at_least, in_all, load, store
from fencecast.physics.detector import normal_cdf32
from fencecast.physics.discrimination import discrimination_exponent, score_of_log_odds
from fencecast.physics.exponential import exponential, logarithm
from fencecast.sampling.sobol import combine_keys

# F is 0 or 1 to 1e-9 past these odds.
_SURE_LOG_ODDS = math.log(1.0e9)
CORRELATIONS = 4
# Lanes of nodes in z: one for each of the first two correlations above 0, three for the highest.
BLOCKS = 5
NODES = BLOCKS * LANES
_ONE, _Z = np.float32(1.0), np.float32(0.0)


class Asked(NamedTuple):
    """Where Pd is asked: ln N50 (points,), and per node in z of the correlations above 0 (NODES,) float32 what makes
    F(N | z) = Phi(s scale - shift) of the score s of F(N), and the node's weight."""

    ln_cycles_50: np.ndarray
    scale: np.ndarray
    shift: np.ndarray
    weight: np.ndarray


class Steps(NamedTuple):
    """Steps of each camera of one crossing, and the scratch that turns them into Pd."""

    count: np.ndarray  # (cameras,)
    cycles: np.ndarray  # (cameras, MOST_STEPS)
    gain: np.ndarray
    log: np.ndarray  # ln of cycles
    survive: np.ndarray  # (NODES,) float32
    post: np.ndarray


def make_asked(ln_cycles_50: np.ndarray, correlations: tuple[float, ...]) -> Asked:
    """Equal steps in z: 16 over -5 to 5 for the two lower correlations above 0 (as `pack_inputs.z_quadrature`), 48 over -6 to 6
    for the highest, whose 64 there they meet to 1e-6. ValueError for correlations that these nodes are not for."""
    none, low, middle, high = correlations
    if none != 0.0 or not 0.0 < low < middle <= 0.7 < high <= 0.9:
        raise ValueError(f"correlations {correlations}: the nodes are for 0, two up to 0.7 and one up to 0.9")
    scale, shift, weight = [], [], []
    for r, nodes, reach in ((low, LANES, 5.0), (middle, LANES, 5.0), (high, 3 * LANES, 6.0)):
        z = np.linspace(-reach, reach, nodes)
        w = np.exp(-0.5 * z * z)
        scale.append(np.full(nodes, 1.0 / math.sqrt(1.0 - r)))
        shift.append(math.sqrt(r / (1.0 - r)) * z)
        weight.append(w / w.sum())
    parts = (np.concatenate(part).astype(np.float32) for part in (scale, shift, weight))
    return Asked(np.ascontiguousarray(ln_cycles_50, dtype=float), *parts)


@compiled
def make_steps(cameras):
    """The scratch of one thread."""
    shape = (cameras, MOST_STEPS)
    return Steps(
        np.zeros(cameras, dtype=np.int64),
        np.zeros(shape),
        np.zeros(shape),
        np.zeros(shape),
        np.zeros(NODES, dtype=np.float32),
        np.zeros(NODES, dtype=np.float32),
    )


@compiled_inline
def _join_post(post, block, share):
    """The best camera of a post counts, node by node."""
    store(post, block * LANES, at_least(share, load(post, block * LANES)))


@compiled_inline
def _given_z(asked, block, score, gain):
    """What one step adds to P(alarm | z) in one block of nodes."""
    at = block * LANES
    return gain * normal_cdf32(score * load(asked.scale, at) - load(asked.shift, at))


@compiled_inline
def add_asked(cameras, posts, asked, steps, row):
    """Add a crossing's Pd at every point to row: of the site (points, CORRELATIONS), then of each camera (points, cameras)."""
    points = asked.ln_cycles_50.size
    alone = points * CORRELATIONS
    for point in range(points):
        ln_50 = asked.ln_cycles_50[point]
        inverse = exponential(-ln_50)
        unseen = 1.0  # of the nodes of no correlation, which are one
        for block in range(BLOCKS):
            store(steps.survive, block * LANES, in_all(_ONE))
        for post in range(cameras):
            if posts[post] != post:
                continue
            best = 0.0
            for block in range(BLOCKS):
                store(steps.post, block * LANES, in_all(_Z))
            for camera in range(post, cameras):
                if posts[camera] != post or steps.count[camera] == 0:
                    continue
                marginal = 0.0
                a, b, c, d, e = in_all(_Z), in_all(_Z), in_all(_Z), in_all(_Z), in_all(_Z)
                for i in range(steps.count[camera]):
                    w = discrimination_exponent(steps.cycles[camera, i] * inverse) * (steps.log[camera, i] - ln_50)
                    w = min(max(w, -_SURE_LOG_ODDS), _SURE_LOG_ODDS)
                    marginal += steps.gain[camera, i] / (1.0 + exponential(-w))
                    score, gain = np.float32(score_of_log_odds(w)), np.float32(steps.gain[camera, i])
                    a = a + _given_z(asked, 0, score, gain)
                    b = b + _given_z(asked, 1, score, gain)
                    c = c + _given_z(asked, 2, score, gain)
                    d = d + _given_z(asked, 3, score, gain)
                    e = e + _given_z(asked, 4, score, gain)
                row[alone + point * cameras + camera] += marginal
                best = max(best, marginal)
                _join_post(steps.post, 0, a)
                _join_post(steps.post, 1, b)
                _join_post(steps.post, 2, c)
                _join_post(steps.post, 3, d)
                _join_post(steps.post, 4, e)
            unseen *= 1.0 - best
            for block in range(BLOCKS):
                at = block * LANES
                store(steps.survive, at, load(steps.survive, at) * (_ONE - load(steps.post, at)))
        for block in range(BLOCKS):
            at = block * LANES
            store(steps.survive, at, load(steps.survive, at) * load(asked.weight, at))
        at = point * CORRELATIONS
        row[at] += 1.0 - unseen
        row[at + 1] += 1.0 - sum_of(load(steps.survive, 0))
        row[at + 2] += 1.0 - sum_of(load(steps.survive, LANES))
        high = load(steps.survive, 2 * LANES) + load(steps.survive, 3 * LANES)
        row[at + 3] += 1.0 - sum_of(high + load(steps.survive, 4 * LANES))


def asked_width(points: int, cameras: int) -> int:
    """Columns of a row of `add_asked`."""
    return points * (CORRELATIONS + cameras)


@compiled_alone
def run_calibrated_jobs(
    plan, cells, variable_keys, sobol, job_cell, job_replicate, job_first, job_last, asked, max_looks, sums, asked_sums
):  # fmt: skip
    """As `crossing.run_jobs`, and of the same crossings Pd at every point asked: job j adds to row j of both alone.

    sums (jobs, SUM_CAMERA + cameras) at the plan's own N50 and correlation; asked_sums (jobs, asked_width(points, cameras)).
    """
    plan, cells, asked = borrow(plan), borrow(cells), borrow(asked)
    cameras = plan.cameras.bearing_rad.size
    variables = variable_keys.size
    owned = make_work(
        cameras, plan.bands.low_um.size, plan.decision.node_z.size, plan.decision.confirm_n - 1, variables, max_looks
    )
    own_steps = make_steps(cameras)
    work, steps = borrow(owned), borrow(own_steps)
    judged = gated(plan.decision)
    for job in range(job_cell.size):
        cell = job_cell[job]
        replicate_key = np.uint64(combine_keys(cells.key[cell], np.uint64(job_replicate[job])))
        stratum = (replicate_key, replicate_key, replicate_key)
        for v in range(variables):
            work.keys[v] = combine_keys(replicate_key, variable_keys[v])
        row = sums[job]
        for point in range(job_first[job], job_last[job]):
            draw_units(work, sobol[point], variables)
            decision, first, last, rendered, seen = render_crossing(plan, cells, cell, point, stratum, 1.0, True, work)
            row[SUM_LOOKS] += rendered
            if first < 0:
                continue
            integrate_crossing(
                work, cameras, plan.cameras.post, np.int64(0), last - first, decision, judged, work.result, work.camera_pd
            )
            row[SUM_PD] += work.result[PD]
            row[SUM_IN_VIEW] += work.result[IN_VIEW]
            row[SUM_RESOLVED] += work.result[RESOLVED]
            row[SUM_CONFIRMED] += work.result[CONFIRMED]
            row[SUM_DEPTH] += work.result[DEPTH]
            row[SUM_DELAY] += work.result[DELAY]
            row[SUM_ARMED] += 1.0
            row[SUM_ANY_VIEW] += 1.0 if seen else work.result[IN_VIEW]
            row[SUM_UNGATED] += work.result[UNGATED]
            for camera in range(cameras):
                row[SUM_CAMERA + camera] += work.camera_pd[camera]
                steps.count[camera] = 0
                if work.in_view[camera]:
                    accepted = work.accept[camera] if judged else 1.0
                    steps.count[camera] = camera_steps(
                        work, camera, 0, last - first, decision, accepted, steps.cycles[camera], steps.gain[camera]
                    )
                    for i in range(steps.count[camera]):
                        steps.log[camera, i] = logarithm(steps.cycles[camera, i])
            add_asked(cameras, plan.cameras.post, asked, steps, asked_sums[job])
    keep_alive(owned)
    keep_alive(own_steps)
