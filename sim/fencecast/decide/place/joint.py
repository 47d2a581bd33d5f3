"""P(alarm | z) of every candidate camera in every crossing: simulated once, after which any subset's Pd is arithmetic.

Cameras of one post (`posts`) count as the best of them, posts multiply.

Memory: 4 bytes for each (cell that a candidate sees, crossing, node of z). 200 candidates that each see a seventh of 900 cells,
64 crossings, 16 nodes: 105 MB. Past `MOST_BYTES` tables go to unnamed temporary files that vanish with the process.
"""

from __future__ import annotations

import math
import tempfile
import threading
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from fencecast.camera import ImageGeometry, off_bearing_rad
from fencecast.decide.place.posts import POST_M, posts_of
from fencecast.estimate.intervals import half_width, standard_error
from fencecast.estimate.simulate import REPLICATES
from fencecast.kernels.joint import given_z_jobs, join, pd_with
from fencecast.kernels.types import Cameras
from fencecast.kernels.work import look_capacity
from fencecast.sampling.sobol import sobol_table
from fencecast.sampling.variables import SITE_VARIABLES, variable_keys

MOST_BYTES = 1 << 30
POINTS = 8  # of each scrambling: 64 crossings a cell
_FASTEST_M_S = 15.0  # no site file may ask for more
_EDGE_RAD = math.radians(3.0)


@dataclass(frozen=True)
class Joint:
    """Tables of all candidates over the cells of a site.

    cells (candidates): per candidate the cells (indexes) where any crossing has a chance of an alarm; tables (candidates): per
    candidate P(alarm | z), float32 (its cells, crossings, nodes); active (all cells,) bool: cells that some rule watches; xy_m
    (candidates, 2): where they stand, None when each is a post of its own; link_m: how near neighbours on a post are.
    Crossings come scrambling by scrambling.
    """

    cells: tuple[np.ndarray, ...]
    tables: tuple[np.ndarray, ...]
    active: np.ndarray
    weights: np.ndarray
    replicates: int
    looks: int
    xy_m: np.ndarray | None = None
    link_m: float = POST_M

    @property
    def crossings(self) -> int:
        """Crossings of each cell."""
        return self.tables[0].shape[1]

    @property
    def bytes(self) -> int:
        """Size of all tables."""
        return sum(table.nbytes for table in self.tables)

    def survive(self, subset: Sequence[int]) -> np.ndarray:
        """Product over the posts of a subset of the smallest 1 - P(alarm | z), float32 (all cells, crossings, nodes)."""
        product = self._ones()
        for post in self.posts(subset):
            if len(post) == 1:
                join(product, self.cells[post[0]], self.tables[post[0]])
            else:
                product *= self.least(post)
        return product

    def posts(self, subset: Sequence[int]) -> list[tuple[int, ...]]:
        """A subset by post."""
        return [(c,) for c in subset] if self.xy_m is None else posts_of(self.xy_m, subset, self.link_m)

    def least(self, post: Sequence[int]) -> np.ndarray:
        """Smallest 1 - P(alarm | z) of the cameras of one post, float32 (all cells, crossings, nodes)."""
        least = self._ones()
        for c in post:
            least[self.cells[c]] = np.minimum(least[self.cells[c]], np.float32(1.0) - self.tables[c])
        return least

    def _ones(self) -> np.ndarray:
        return np.ones((len(self.active), self.crossings, len(self.weights)), dtype=np.float32)

    def pd_crossings(self, subset: Sequence[int]) -> np.ndarray:
        """Pd of every crossing for a subset of candidates (indexes), shape (all cells, crossings)."""
        return 1.0 - self.survive(subset) @ self.weights.astype(np.float32)

    def pd(self, subset: Sequence[int]) -> np.ndarray:
        """Pd of every cell for a subset, shape (all cells,); NaN where no rule watches."""
        return np.where(self.active, self.pd_crossings(subset).mean(axis=1, dtype=float), np.nan)

    def estimate(self, subset: Sequence[int], confidence: float) -> tuple[np.ndarray, np.ndarray]:
        """Pd and half width of its interval for every cell, each (all cells,); NaN where no rule watches."""
        each = self.pd_crossings(subset).reshape(len(self.active), self.replicates, -1).mean(axis=2, dtype=float)
        pd = each.mean(axis=1)
        crossings = np.full(len(self.active), self.crossings)
        half = half_width(standard_error(each), crossings, self.replicates, confidence, pd)
        return np.where(self.active, pd, np.nan), np.where(self.active, half, np.nan)

    def pd_if_joined(self, survive: np.ndarray, c: int, least: np.ndarray | None = None) -> np.ndarray:
        """Pd of the cells of candidate c when it joins the posts behind `survive`, shape (its cells,).

        least: what its own post has already (`survive` is then without that post); None when it stands alone.
        """
        if least is not None:
            own = np.minimum(least[self.cells[c]], np.float32(1.0) - self.tables[c])
            return 1.0 - ((survive[self.cells[c]] * own) @ self.weights.astype(np.float32)).mean(axis=1, dtype=float)
        pd = np.empty(len(self.cells[c]))
        pd_with(survive, self.cells[c], self.tables[c], self.weights.astype(np.float32), pd)
        return pd


def simulate_joint(plan, cells, active, points: int = POINTS, threads: int = 1, progress=None, may_see=None) -> Joint:
    """Simulate every camera of `plan` alone in every active cell, on the crossings that `run` would draw for these cells.

    points: crossings of each of 8 scramblings; may_see (cameras, cells) bool: pairs to simulate, all when None. The result does
    not depend on the number of threads. progress(done, expected) counts crossings.
    """
    count = plan.cameras.bearing_rad.size
    table = sobol_table(1 << max(points - 1, 1).bit_length(), len(SITE_VARIABLES))
    keys, capacity, nodes = variable_keys(), look_capacity(plan), plan.decision.node_z.size
    wanted = np.broadcast_to(active, (count, len(active))) if may_see is None else may_see & active
    expected = max(int(wanted.sum()) * points * REPLICATES, 1)
    lock, done, kept, looks = threading.Lock(), 0, 0, 0
    stop = threading.Event()

    def one(c: int):
        nonlocal done, kept, looks
        which = np.flatnonzero(wanted[c])
        if stop.is_set() or not len(which):
            return which, np.zeros((0, points * REPLICATES, nodes), dtype=np.float32)
        job_cell = np.repeat(which, REPLICATES)
        replicate = np.tile(np.arange(REPLICATES, dtype=np.int64), len(which))
        out = np.empty((len(job_cell), points, nodes), dtype=np.float32)
        rendered = given_z_jobs(camera_plan(plan, c), cells, keys, table, job_cell, replicate, 0, points, capacity, out)
        out = out.reshape(len(which), REPLICATES * points, nodes)
        seen = out.any(axis=(1, 2))
        out = out[seen]
        with lock:
            done += len(which) * points * REPLICATES
            looks += rendered
            kept += out.nbytes
            spill = kept > MOST_BYTES
        return which[seen], _spilled(out) if spill and out.size else out

    found = []
    with ThreadPoolExecutor(max(threads, 1)) as pool:
        try:
            for result in pool.map(one, range(count)):
                found.append(result)
                if progress:
                    progress(done, expected)
        except BaseException:
            stop.set()
            pool.shutdown(wait=True, cancel_futures=True)
            raise
    return Joint(
        cells=tuple(which for which, _ in found),
        tables=tuple(out for _, out in found),
        active=np.asarray(active, dtype=bool),
        weights=plan.decision.node_weight,
        replicates=REPLICATES,
        looks=looks,
        xy_m=np.array(plan.cameras.position[:, :2]),
    )


def camera_plan(plan, c: int):
    """The plan with camera c alone; its hashed draws are keyed by its mark and stay the same."""
    cameras = Cameras(*(np.ascontiguousarray(column[c : c + 1]) for column in plan.cameras))._replace(post=np.zeros(1, np.int64))
    scene = plan.scene._replace(rule_camera=np.ascontiguousarray(plan.scene.rule_camera[:, c : c + 1]))
    return plan._replace(cameras=cameras, scene=scene)


def _spilled(array: np.ndarray) -> np.ndarray:
    """The array in a temporary file without a name."""
    file = tempfile.TemporaryFile()  # noqa: SIM115  it lives as long as the map
    file.write(array.tobytes())
    file.flush()
    return np.memmap(file, dtype=array.dtype, mode="r", shape=array.shape)


def pairs_in_view(site, plan, cells_xy: np.ndarray, half_length_m: np.ndarray) -> np.ndarray:
    """Which camera may have a body of which segment in its frame, (cameras, segments) bool: never False for one that has.

    cells_xy (segments, 2): middles; half_length_m (segments,). In plan, the frame spans an angle about the bearing; a crossing in
    the segment stays in a circle about its middle while looks count. Sites with a area rule keep every pair.
    """
    cameras = plan.cameras
    count = cameras.bearing_rad.size
    if any(rule.kind == "area" for rule in site.rule):
        return np.ones((count, len(cells_xy)), dtype=bool)
    time_window_s = max((rule.time_window_s for rule in site.rule), default=0.0)
    offset_m = max((abs(rule.offset_m) for rule in site.rule), default=0.0)
    looks_s = time_window_s + site.decision.confirm[1] / site.decision.looks_per_s
    reach = min(2.0 * offset_m + looks_s * _FASTEST_M_S, site.intruder.path_m) + half_length_m + 1.0
    seen = np.zeros((count, len(cells_xy)), dtype=bool)
    for c in range(count):
        half = _half_azimuth(cameras, c) + _EDGE_RAD + 6.0 * float(cameras.tolerance[c, 0])
        dx, dy = (cells_xy - cameras.position[c, :2]).T
        distance = np.hypot(dx, dy)
        off = off_bearing_rad(dx, dy, cameras.bearing_rad[c])
        near = distance <= reach
        spread = np.arcsin(np.minimum(reach / np.maximum(distance, 1e-9), 1.0))
        seen[c] = near | (off <= half + spread)
    return seen


def _half_azimuth(cameras, c: int) -> float:
    """Largest angle in plan between the bearing and any ray of the frame [rad]; pi when some ray looks back."""
    image = ImageGeometry(cameras.focal_px[c], cameras.projection[c], cameras.columns[c], cameras.rows[c])
    depression = cameras.depression_rad[c]
    t = np.linspace(-1.0, 1.0, 33)
    u = 0.5 * image.columns * np.concatenate([t, t, -np.ones(33), np.ones(33)])
    v = 0.5 * image.rows * np.concatenate([-np.ones(33), np.ones(33), t, t])
    across, down, ahead = image.ray(u, v)
    sine, cosine = math.sin(cameras.roll_rad[c]), math.cos(cameras.roll_rad[c])
    across, down = cosine * across - sine * down, sine * across + cosine * down
    level = ahead * math.cos(depression) - down * math.sin(depression)
    # Straight down inside the frame: every direction is in the picture.
    if np.any(level <= 0.0):
        return math.pi
    return float(np.max(np.abs(np.arctan2(across, level))))
