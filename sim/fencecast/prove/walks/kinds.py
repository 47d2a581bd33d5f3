"""Walks of a test as crossings: what every camera needs to alarm, for any N50 and any correlation that is asked for later.

A walk crosses as its card says: at a place, in a gait, in or out, without a pause, a turn or a climb. The Pd of such a walk is
not the Pd of a climber; the two share geometry, air, cameras, N50 and correlation.

Tests: tests/prove/walks/test_kinds.py.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from fencecast.estimate.simulate import in_blocks
from fencecast.kernels.steps import MOST_STEPS
from fencecast.kernels.types import (
    Cells,
    Plan,
)
from fencecast.kernels.walked import (
    DELAY_BINS,
    DELAY_STEP_S,
    FINISH_X,
    LINE_WIDTH,
    PATH_M,
    PATH_S,
    POINT_X,
    START_X,
    Walks,
    lay_walks,
    walk_jobs,
)
from fencecast.kernels.work import look_capacity
from fencecast.meteorology.load import classes_of
from fencecast.prove.walks.asfinished import Crossed, pack_walks
from fencecast.sampling.sobol import sobol_table
from fencecast.sampling.variables import SITE_VARIABLES, variable_keys

__all__ = ["Crossed", "Steps", "WalkLine", "simulate_walks", "walk_lines"]

# Walks in one call of the kernel.
_WALKS_A_BLOCK = 4


@dataclass(frozen=True)
class Steps:
    """What the cameras need, walk by walk.

    cycles, gain: (walks, crossings, cameras, 16), the steps (N_i, g_i) from the largest N down, 0 after the last:
    P(alarm | N_th) is the sum of the gains with N_th <= N_i. post: (cameras,) first camera of each one's post. marks: (cameras,).
    delay: (walks, bins) share of alarms by delay from the crossing of the line at the file's own N50 and correlation, adding up
    to 1, or all 0 without alarms: bin 0 before or at the line, bin i after delay_s[i - 1] and until delay_s[i] [s], the last all
    later. in_view: (walks, cameras) share of crossings with a step. path_s, path_m: (walks,) time and length of the path at the
    middle of its draws. pd: (walks,) of the site at the file's own N50 and correlation. looks: rendered in all.
    """

    cycles: np.ndarray
    gain: np.ndarray
    post: np.ndarray
    marks: tuple[str, ...]
    delay: np.ndarray
    delay_s: np.ndarray
    in_view: np.ndarray
    path_s: np.ndarray
    path_m: np.ndarray = field(default_factory=lambda: np.zeros(0))
    pd: np.ndarray = field(default_factory=lambda: np.zeros(0))
    looks: int = 0

    def __len__(self) -> int:
        return len(self.cycles)

    @property
    def crossings(self) -> int:
        """Simulated crossings of each walk."""
        return self.cycles.shape[1]


@dataclass(frozen=True)
class WalkLine:
    """Where a walk goes: start, point on the fence and finish (x, y) [m], length [m] and time [s]."""

    start_m: tuple[float, float]
    point_m: tuple[float, float]
    finish_m: tuple[float, float]
    path_m: float
    path_s: float


def simulate_walks(
    site,
    walks: Sequence[Crossed],
    weather: str | Sequence[str],
    *,
    crossings: int = 128,
    seed: int = 1,
    from_fence: bool = True,
    conditions: Sequence[Mapping[str, float]] | None = None,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Steps:
    """The steps of every walk: `crossings` simulated crossings each, a look of which is rendered once and for all.

    weather: the class of all walks, or one for each. conditions: per walk what was noted (air_c, humidity 0-1, wind_m_s,
    visibility_m, rain_mm_h, ground_c), instead of the class's distributions. from_fence: the path starts (`out`: ends) at the
    inside foot of the barrier; else both legs are the site's `path_m`. Chainage within 0.3 m and angle within 5 degrees are
    drawn uniformly, speed and everything else as the site says, but nothing that a finished site has fixed: no mounting errors,
    and NETD, N50, correlation, threshold and clutter at their medians. progress(done, expected) counts crossings.

    UsageError: unknown section, chainage, gait, direction, class or condition. The same seed gives the same bits, whatever
    threads, whatever other walks are asked for.
    """
    plan, cells, packed = pack_walks(site, walks, weather, seed, from_fence, conditions)
    count, cameras = len(walks), len(site.camera)
    cycles = np.zeros((count, crossings, cameras, MOST_STEPS))
    gain = np.zeros_like(cycles)
    delay, pd = np.zeros((count, DELAY_BINS)), np.zeros((count, crossings))
    table = sobol_table(1 << max(crossings - 1, 1).bit_length(), len(SITE_VARIABLES))
    keys, capacity = variable_keys(), look_capacity(plan)
    looks = np.zeros(count, dtype=np.int64)

    def run_block(a: int, b: int) -> int:
        first, last = a * _WALKS_A_BLOCK, min(b * _WALKS_A_BLOCK, count)
        looks[first] = walk_jobs(plan, cells, packed, keys, table, first, last, capacity, cycles, gain, delay, pd)
        return (last - first) * crossings

    done = 0

    def on_block(more: int) -> None:
        nonlocal done
        done += more
        if progress:
            progress(done, count * crossings)

    blocks = -(-count // _WALKS_A_BLOCK)
    in_blocks(blocks, 1 << 30, threads or os.cpu_count() or 1, run_block, on_block)
    alarms = delay.sum(axis=1, keepdims=True)
    lines = _lines(plan, cells, packed)
    return Steps(
        cycles=cycles,
        gain=gain,
        post=plan.cameras.post,
        marks=tuple(camera.mark for camera in site.camera),
        delay=np.divide(delay, alarms, out=np.zeros_like(delay), where=alarms > 0.0),
        delay_s=DELAY_STEP_S * np.arange(DELAY_BINS),
        in_view=(gain[..., 0] > 0.0).mean(axis=1),
        path_m=lines[:, PATH_M],
        path_s=lines[:, PATH_S],
        pd=pd.mean(axis=1),
        looks=int(looks.sum()),
    )


def walk_lines(site, walks: Sequence[Crossed], *, from_fence: bool = True) -> list[WalkLine]:
    """Where each walk goes on the ground, as `simulate_walks` walks it: at the middle of all draws. Errors likewise."""
    name = classes_of(site)[0].name
    plan, cells, packed = pack_walks(site, walks, name, 0, from_fence, None)
    return [
        WalkLine(
            (float(row[START_X]), float(row[START_X + 1])),
            (float(row[POINT_X]), float(row[POINT_X + 1])),
            (float(row[FINISH_X]), float(row[FINISH_X + 1])),
            float(row[PATH_M]),
            float(row[PATH_S]),
        )
        for row in _lines(plan, cells, packed)
    ]


def _lines(plan: Plan, cells: Cells, packed: Walks) -> np.ndarray:
    lines = np.zeros((len(cells.key), LINE_WIDTH))
    lay_walks(plan.scene, plan.intruder, cells, packed, lines)
    return lines
