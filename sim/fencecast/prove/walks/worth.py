"""What a walk says of N50 and the correlation before it is walked: Fisher's information of the pattern of cameras that alarm.

J = sum over patterns of dP dP' / P, with P from the walk's steps; theta = (ln N50, r). A camera that has no step in part of the
crossings (blind ground, the frame's edge) alarms by geometry, not by N50: it counts for nothing here.

Tests: tests/prove/walks/test_worth.py.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from fencecast.prove.walks.kinds import Steps
from fencecast.prove.walks.patterns import camera_pd, log_likelihood
from fencecast.prove.walks.prior import Prior

IN_VIEW = 0.9  # of crossings with a step, from which on a camera sees a place
NAMED_PD = 0.001  # a camera with less is not expected to alarm at all
EDGE_PD = 0.05  # a camera at the edge of its frame with less spoils nothing
MOST_CAMERAS = 4  # in the patterns of one place: those with the highest Pd
STEP_LN, STEP_R = 0.02, 0.02  # of the differences
# Nodes of the prior at which information is averaged: ln N50 in standard deviations, weights of a normal (Gauss and Hermite).
_Z = np.array([-1.7320508, 0.0, 1.7320508])
_Z_WEIGHT = np.array([1.0, 4.0, 1.0]) / 6.0


@dataclass(frozen=True)
class Worth:
    """Information of walks, walk by walk.

    here: (walks, 2, 2) at the file's own values; nodes: (walks, k, 2, 2) over the prior, weight (k,); clean: (walks,) whether
    some camera sees the place and none that counts sees it in part.
    """

    here: np.ndarray
    nodes: np.ndarray
    weight: np.ndarray
    clean: np.ndarray


def worth_of(steps: Steps, prior: Prior, threads: int | None = None) -> Worth:
    """The information of every walk; the same bits whatever threads."""
    with ThreadPoolExecutor(threads or os.cpu_count() or 1) as pool:
        found = list(pool.map(lambda walk: _one(steps, walk, prior), range(len(steps))))
    weight = (_Z_WEIGHT[:, None] * np.full(len(prior.r_nodes), 1.0 / len(prior.r_nodes))).reshape(-1)
    here, nodes = (np.array([each[k] for each in found]) for k in (0, 1))
    return Worth(here, nodes, weight, np.array([each[2] for each in found], dtype=bool))


def _one(steps: Steps, walk: int, prior: Prior) -> tuple[np.ndarray, np.ndarray, bool]:
    pd = camera_pd(steps, walk, np.array([prior.median]), prior.correlation)[0]
    seen = steps.in_view[walk]
    counted = np.flatnonzero((seen >= IN_VIEW) & (camera_pd(steps, walk, prior.cycles_50[:1])[0] >= NAMED_PD))
    clean = len(counted) > 0 and not ((seen < IN_VIEW) & (pd >= EDGE_PD)).any()
    counted = counted[np.argsort(-pd[counted], kind="stable")][:MOST_CAMERAS]
    at_nodes = information(steps, walk, counted, prior.median * np.exp(prior.spread * _Z), np.array(prior.r_nodes))
    here = information(steps, walk, counted, np.array([prior.median]), np.array([prior.correlation]))
    return here[0, 0], at_nodes.reshape(-1, 2, 2), bool(clean)


def information(steps: Steps, walk: int, cameras: Sequence[int] | np.ndarray, cycles_50: np.ndarray, r: np.ndarray) -> np.ndarray:
    """Fisher's information on (ln N50, r) of one walk's pattern of some cameras, (n, m, 2, 2) at N50 (n,), correlation (m,)."""
    count = len(cameras)
    if count == 0:
        return np.zeros((len(cycles_50), len(r), 2, 2))
    seen = np.full((1 << count, len(steps.marks)), -1, dtype=np.int8)
    for bit, camera in enumerate(cameras):
        seen[:, camera] = np.arange(1 << count) >> bit & 1
    # Differences inwards at the ends of the correlation's range.
    low, high = np.clip(r - STEP_R, 0.0, 0.9), np.clip(r + STEP_R, 0.0, 0.9)
    n = np.concatenate([cycles_50, cycles_50 * np.exp(-STEP_LN), cycles_50 * np.exp(STEP_LN)])
    chance = np.exp(log_likelihood(steps, walk, seen, n, np.concatenate([r, low, high]))).reshape(1 << count, 3, -1, 3, len(r))
    p = chance[:, 0, :, 0]
    by_n = (chance[:, 2, :, 0] - chance[:, 1, :, 0]) / (2.0 * STEP_LN)
    by_r = (chance[:, 0, :, 2] - chance[:, 0, :, 1]) / (high - low)
    slope = np.stack([by_n, by_r], axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        each = slope[..., :, None] * slope[..., None, :] / p[..., None, None]
    return np.where(p[..., None, None] > 1e-12, each, 0.0).sum(axis=0)
