"""Probabilities of what a walk's cameras do, for any N50 and correlation, from the walk's steps alone.

P(a) = mean over crossings x of sum over nodes z of w(z) prod over posts of what their cameras do given x and z. The compiled
loops are in `kernels.patterns`; they let go of Python's lock, so that walks can be asked for in threads.

Tests: tests/prove/walks/test_patterns.py.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache

import numpy as np

from fencecast.kernels.decided import MOST_CORRELATION
from fencecast.kernels.patterns import Transfer, marginal_probabilities, pattern_probabilities, silence, transfer
from fencecast.prove.walks.kinds import Steps


@lru_cache(maxsize=32)
def _transfer(correlation: float) -> Transfer:
    return transfer(correlation)


def _asked(cycles_50, correlation) -> tuple[np.ndarray, np.ndarray]:
    """Both as arrays; ValueError out of range."""
    n = np.atleast_1d(np.asarray(cycles_50, dtype=float))
    r = np.atleast_1d(np.asarray(correlation, dtype=float))
    if not (n > 0.0).all() or not np.isfinite(n).all():
        raise ValueError("N50 must be above 0")
    if not ((r >= 0.0) & (r <= MOST_CORRELATION)).all():
        raise ValueError(f"correlations lie between 0 and {MOST_CORRELATION}")
    return n, r


def _seeing(steps: Steps, walk: int, cameras: Sequence[int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Steps (crossings, cameras, 16) of some cameras, and per camera the first of them that is on its post."""
    cycles = np.ascontiguousarray(steps.cycles[walk][:, cameras])
    gain = np.ascontiguousarray(steps.gain[walk][:, cameras])
    posts = [int(steps.post[camera]) for camera in cameras]
    return cycles, gain, np.array([posts.index(post) for post in posts], dtype=np.int64)


def camera_pd(steps: Steps, walk: int, cycles_50, correlation: float = 0.0) -> np.ndarray:
    """P(alarm) of each camera by itself, shape (n, cameras), for N50 cycles_50 (n,).

    A marginal: the correlation, which is taken for likeness with the others, does not change it.
    """
    n, _ = _asked(cycles_50, correlation)
    out = np.zeros((n.size, len(steps.marks)))
    marginal_probabilities(steps.cycles[walk], steps.gain[walk], n, out)
    return out


def pattern_table(steps: Steps, walk: int, cameras: Sequence[int], cycles_50: float, correlation: float) -> np.ndarray:
    """Probability of each pattern of `cameras` (indices), shape (2**k,), adding up to 1: bit i says that cameras[i] alarms.

    Cameras that are not named may do as they like. Two that can only alarm together, on one post, have patterns of probability 0.
    """
    n, r = _asked(cycles_50, correlation)
    cameras = list(cameras)
    seen = np.array([[pattern >> bit & 1 for bit in range(len(cameras))] for pattern in range(1 << len(cameras))], dtype=np.int8)
    return _probabilities(steps, walk, cameras, seen.reshape(-1, len(cameras)), n, r, None)[:, 0, 0]


def site_pd(steps: Steps, walk: int, cycles_50, correlation) -> np.ndarray:
    """Probability that any camera alarms, shape (n, r): the product's Pd of that walk; ValueError for r above 0.9."""
    n, r = _asked(cycles_50, correlation)
    cycles, gain, head = _seeing(steps, walk, np.flatnonzero(steps.in_view[walk] > 0.0).tolist())
    out = np.zeros((r.size, n.size))
    for j, correlation_j in enumerate(r):
        silence(cycles, gain, head, n, _transfer(float(correlation_j)), out[j])
    return np.clip(1.0 - out.T, 0.0, 1.0)


def every_site_pd(steps: Steps, cycles_50, correlation, threads: int | None = None) -> np.ndarray:
    """`site_pd` of every walk, shape (walks, n, r), the same bits whatever threads."""
    with ThreadPoolExecutor(threads or os.cpu_count() or 1) as pool:
        tables = list(pool.map(lambda walk: site_pd(steps, walk, cycles_50, correlation), range(len(steps))))
    return np.array(tables)


def log_likelihood(
    steps: Steps, walk: int, seen: np.ndarray, cycles_50, correlation, chance_alarm: np.ndarray | None = None
) -> np.ndarray:
    """ln of the probability of each row of `seen` (m, cameras) int8: 1 alarm, 0 none, -1 not known; shape (m, n, r).

    chance_alarm (cameras,): chance that a camera alarms during the walk whatever walks: P' = 1 - (1 - P)(1 - eps). -inf where
    something impossible was seen: an alarm of a camera without a step.
    """
    n, r = _asked(cycles_50, correlation)
    seen = np.asarray(seen, dtype=np.int8).reshape(-1, len(steps.marks))
    rows, which = np.unique(seen, axis=0, return_inverse=True)
    chance = _probabilities(steps, walk, list(range(len(steps.marks))), rows, n, r, chance_alarm)
    with np.errstate(divide="ignore"):
        return np.log(chance)[which.reshape(-1)]


def _probabilities(steps: Steps, walk: int, cameras: list[int], seen, n, r, chance_alarm) -> np.ndarray:
    """Probabilities (m, n, r) of rows of `seen` (m, k) of some cameras."""
    eps = np.zeros(len(cameras)) if chance_alarm is None else np.asarray(chance_alarm, dtype=float)[cameras]
    if not ((eps >= 0.0) & (eps <= 1.0)).all():
        raise ValueError("a chance of an alarm lies between 0 and 1")
    cycles, gain, head = _seeing(steps, walk, cameras)
    out = np.zeros((r.size, len(seen), n.size))
    for j, correlation_j in enumerate(r):
        pattern_probabilities(cycles, gain, head, np.ascontiguousarray(seen), n, _transfer(float(correlation_j)), eps, out[j])
    return np.clip(np.moveaxis(out, 0, 2), 0.0, 1.0)
