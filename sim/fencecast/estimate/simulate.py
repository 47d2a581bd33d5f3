"""Running cells until they are precise enough: rounds of doubling, spread over threads, the same bits whatever the threads.

Each (cell, scrambling) is one job per round, with a row of sums that only it writes; sums go on in the order of the points, so
neither the number of threads nor the size of a block changes a bit. Memory does not grow with the number of crossings.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, ThreadPoolExecutor, wait
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.intervals import half_width, interval, standard_error
from fencecast.kernels.crossing import SUM_CAMERA, SUM_LOOKS, SUM_PD, run_jobs
from fencecast.kernels.work import look_capacity
from fencecast.sampling.sobol import sobol_table
from fencecast.sampling.variables import SITE_VARIABLES, variable_keys

REPLICATES = 8
FIRST_POINTS = 16
DEFAULT_MAX_CROSSINGS = REPLICATES * 256
# Crossings in one call of the kernel: a tenth of a second or so, between which progress is shown and interrupts are heard.
BLOCK_CROSSINGS = 2048


@dataclass
class Tally:
    """Sums over the crossings of each cell.

    sums (cells, replicates, columns of the kernel); points (cells,): points of each scrambling, so that a cell has
    points * replicates crossings.
    """

    sums: np.ndarray
    points: np.ndarray

    @property
    def replicates(self) -> int:
        return self.sums.shape[1]

    @property
    def crossings(self) -> np.ndarray:
        """Crossings simulated per cell, shape (cells,)."""
        return self.points * self.replicates

    def mean(self, column: int) -> np.ndarray:
        """Mean of a column per crossing, shape (cells,); NaN where nothing was simulated."""
        with np.errstate(invalid="ignore", divide="ignore"):
            return self.sums[:, :, column].sum(axis=1) / self.crossings

    def se(self, column: int = SUM_PD) -> np.ndarray:
        """Standard error of that mean over the scramblings, shape (cells,)."""
        with np.errstate(invalid="ignore", divide="ignore"):
            return standard_error(self.sums[:, :, column] / self.points[:, None])

    def half_width(self, confidence: float) -> np.ndarray:
        """Half width of the interval of Pd, shape (cells,)."""
        return half_width(self.se(), self.crossings, self.replicates, confidence, self.mean(SUM_PD))

    def ends_alike(self, confidence: float) -> tuple[np.ndarray, np.ndarray]:
        """Ends of the interval of Pd of places that are alike, each (cells,)."""
        return interval(self.mean(SUM_PD), self.half_width(confidence))

    @property
    def looks(self) -> int:
        """Looks rendered in all."""
        return int(self.sums[:, :, SUM_LOOKS].sum())

    def advance(self, plan, cells, which: np.ndarray, upto: int, threads: int, on_block=None) -> None:
        """Simulate more of some cells into these sums: the function `advance`, unless a kind of sums has its own loop."""
        advance(plan, cells, self, which, upto, threads, on_block)


def new_tally(cells: int, cameras: int, replicates: int = REPLICATES) -> Tally:
    """An empty tally."""
    return Tally(np.zeros((cells, replicates, SUM_CAMERA + cameras)), np.zeros(cells, dtype=np.int64))


def advance(plan, cells, tally: Tally, which: np.ndarray, upto: int, threads: int, on_block=None, netd_scale: float = 1.0):
    """Simulate the cells `which` from the points they have to `upto` points a scrambling, adding to the tally.

    on_block(crossings) is called in this thread after each block.
    """
    table = sobol_table(1 << max(upto - 1, 1).bit_length(), len(SITE_VARIABLES))
    keys = variable_keys()
    replicates = tally.replicates
    cell = np.repeat(which, replicates).astype(np.int64)
    replicate = np.tile(np.arange(replicates, dtype=np.int64), len(which))
    first = np.repeat(tally.points[which], replicates)
    last = np.full(len(cell), upto, dtype=np.int64)
    rows = tally.sums[cell, replicate]  # a copy: each job's row, continued
    capacity = look_capacity(plan)

    def run_block(a: int, b: int) -> int:
        run_jobs(plan, cells, keys, table, cell[a:b], replicate[a:b], first[a:b], last[a:b], netd_scale, capacity, rows[a:b])
        return int((last[a:b] - first[a:b]).sum())

    in_blocks(len(cell), upto - int(first.min(initial=0)), threads, run_block, on_block)
    tally.sums[cell, replicate] = rows
    tally.points[which] = upto


def in_blocks(jobs: int, each: int, threads: int, run_block: Callable[[int, int], int], on_block=None) -> None:
    """Jobs 0 .. jobs - 1 in blocks of some BLOCK_CROSSINGS, spread over threads. each: crossings of a job, at most.

    run_block(a, b) runs jobs a .. b - 1 and returns how many crossings that were; on_block(crossings) is called in this thread
    after each block.
    """
    per_block = max(1, BLOCK_CROSSINGS // max(each, 1))
    bounds = [(a, min(a + per_block, jobs)) for a in range(0, jobs, per_block)]
    stop = threading.Event()

    def unless_stopped(a: int, b: int) -> int:
        return 0 if stop.is_set() else run_block(a, b)

    if threads <= 1 or len(bounds) == 1:
        for a, b in bounds:
            done = run_block(a, b)
            if on_block:
                on_block(done)
        return
    with ThreadPoolExecutor(threads) as pool:
        pending = {pool.submit(unless_stopped, a, b) for a, b in bounds}
        try:
            while pending:
                finished, pending = wait(pending, timeout=0.5, return_when=FIRST_COMPLETED)
                for future in finished:
                    done = future.result()
                    if on_block:
                        on_block(done)
        except BaseException:
            stop.set()
            for future in pending:
                future.cancel()
            raise


def simulate(
    plan,
    cells,
    active: np.ndarray,
    precision: float,
    confidence: float,
    max_crossings: int = DEFAULT_MAX_CROSSINGS,
    threads: int = 1,
    progress: Callable[[int, int], None] | None = None,
    replicates: int = REPLICATES,
    empty: Tally | None = None,
) -> Tally:
    """Simulate the `active` cells (bool, (cells,)) until each half width is at most `precision`, or the cap is reached.

    Rounds of 16, 32, 64 ... points a scrambling. progress(done, expected) counts crossings. empty: sums of another kind to fill.
    """
    tally = new_tally(len(cells.weather), plan.cameras.bearing_rad.size, replicates) if empty is None else empty
    which = np.flatnonzero(active)
    forecast = Forecast(progress, precision, len(which), replicates)

    def still_open(which: np.ndarray, growth: float) -> np.ndarray:
        half = tally.half_width(confidence)[which]
        forecast.expect(half, growth)
        return half > precision

    def upto(which: np.ndarray, points: int) -> None:
        tally.advance(plan, cells, which, points, threads, forecast)
        forecast.points = points

    in_rounds(which, max_crossings // replicates, upto, still_open)
    return tally


def in_rounds(
    which: np.ndarray,
    most: int,
    upto: Callable[[np.ndarray, int], None],
    still_open: Callable[[np.ndarray, float], np.ndarray],
    first: int = FIRST_POINTS,
) -> None:
    """The rounds of every estimate: `first` points of each scrambling, then twice as many, until no cell is open or `most` are.

    upto(which, points) simulates the open cells (indices) to so many points; still_open(which, growth) says which of them go on
    (bool), where `growth` is how many times as many points the cap allows.
    """
    most = max(2, most)
    points = min(first, most)
    while len(which):
        upto(which, points)
        if points >= most:
            break
        which = which[still_open(which, most / points)]
        points = min(2 * points, most)


class Forecast:
    """Progress of one estimate in crossings; what is to come assumes that half widths shrink with n^-0.8 between rounds.

    each: crossings of a cell for one point (scramblings times designs).
    """

    def __init__(self, progress: Callable[[int, int], None] | None, precision: float, cells: int, each: int):
        self.progress, self.precision, self.each = progress, precision, each
        self.done, self.points = 0, FIRST_POINTS
        self.expected = 2 * cells * FIRST_POINTS * each

    def __call__(self, crossings: int) -> None:
        self.done += crossings
        if self.progress:
            self.progress(self.done, max(self.expected, self.done))

    def expect(self, half: np.ndarray, growth: float) -> None:
        """After a round: half widths of the open cells, and how many times as many points the cap allows."""
        wide = half[half > self.precision]
        wanted = np.minimum(2.0 ** np.ceil(np.log2(np.maximum((wide / self.precision) ** 1.25, 2.0))), growth)
        self.expected = self.done + int(np.sum((wanted - 1.0) * self.points * self.each))
