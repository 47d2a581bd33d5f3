"""Crossings of a site that walks have calibrated: the same sums, and Pd as a mean over what the walks left open, with its ends.

Every segment is a place that nobody walked, with a shift of its own: its Pd, the ends and the verdict are of that one law. The
mean over many such places is known better, since each shift is one of many. What crossings leave open joins either in squares:
the causes are independent.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.intervals import joined, standard_error
from fencecast.estimate.posterior import POINTS, Posterior
from fencecast.estimate.simulate import REPLICATES, Tally, in_blocks
from fencecast.kernels.calibrated import CORRELATIONS, Asked, asked_width, make_asked, run_calibrated_jobs
from fencecast.kernels.crossing import (
    SUM_CAMERA,
    SUM_CONFIRMED,
    SUM_DELAY,
    SUM_DEPTH,
    SUM_IN_VIEW,
    SUM_PD,
    SUM_RESOLVED,
    SUM_UNGATED,
)
from fencecast.kernels.pack_inputs import z_quadrature
from fencecast.kernels.types import CORRELATION, CYCLES_50, FIXED, Plan
from fencecast.kernels.work import look_capacity
from fencecast.sampling.sobol import sobol_table
from fencecast.sampling.variables import SITE_VARIABLES, variable_keys
from fencecast.site import Site

_BLOCK_CELLS = 1024  # whose tables of Pd are in memory at a time: 100 numbers for each scrambling


def settled(plan: Plan) -> Plan:
    """The plan at its medians of N50 and correlation: their spreads in [decision] are what the weights replace."""
    decision = plan.decision
    if (decision.spread[[CYCLES_50, CORRELATION], 0] == FIXED).all():
        return plan
    spread = decision.spread.copy()
    for row, value in ((CYCLES_50, 1.0), (CORRELATION, decision.correlation)):
        spread[row] = 0.0
        spread[row, :2] = FIXED, value
    z, weight = z_quadrature(decision.correlation)
    drawn = int((spread[:, 0] != FIXED).any())
    return plan._replace(decision=decision._replace(spread=spread, drawn=drawn, node_z=z, node_weight=weight))


@dataclass
class CalibratedTally(Tally):
    """A tally that keeps Pd at the points of the posterior as well, asked_sums (cells, replicates, columns of `add_asked`).

    Its Pd and its cameras' are means over the posterior of a place that nobody walked. The ladder, depth and delay are
    those at the plan's own N50 and correlation, scaled to that Pd: what is not in view depends on neither, and the causes that do
    share what is left as there.
    """

    asked_sums: np.ndarray
    posterior: Posterior
    asked: Asked

    @property
    def _cameras(self) -> int:
        return self.sums.shape[2] - SUM_CAMERA

    def advance(self, plan, cells, which: np.ndarray, upto: int, threads: int, on_block=None) -> None:
        """As `simulate.advance`."""
        table = sobol_table(1 << max(upto - 1, 1).bit_length(), len(SITE_VARIABLES))
        keys, capacity, replicates = variable_keys(), look_capacity(plan), self.replicates
        cell = np.repeat(which, replicates).astype(np.int64)
        replicate = np.tile(np.arange(replicates, dtype=np.int64), len(which))
        first = np.repeat(self.points[which], replicates)
        last = np.full(len(cell), upto, dtype=np.int64)
        rows, more = self.sums[cell, replicate], self.asked_sums[cell, replicate]

        def run_block(a: int, b: int) -> int:
            run_calibrated_jobs(
                plan, cells, keys, table, cell[a:b], replicate[a:b], first[a:b], last[a:b], self.asked, capacity, rows[a:b],
                more[a:b],
            )  # fmt: skip
            return int((last[a:b] - first[a:b]).sum())

        in_blocks(len(cell), upto - int(first.min(initial=0)), threads, run_block, on_block)
        self.sums[cell, replicate], self.asked_sums[cell, replicate] = rows, more
        self.points[which] = upto

    def mean(self, column: int) -> np.ndarray:
        """As `Tally.mean`, of the posterior: see the class."""
        if column == SUM_PD:
            return self._posterior_pd()
        own = super().mean(column)
        if column >= SUM_CAMERA:
            first = POINTS * CORRELATIONS + column - SUM_CAMERA
            with np.errstate(invalid="ignore", divide="ignore"):
                asked = self.asked_sums[:, :, first :: self._cameras][:, :, :POINTS].sum(axis=1) / self.crossings[:, None]
            return self.posterior.mean_alone(asked)
        if column not in (SUM_RESOLVED, SUM_CONFIRMED, SUM_UNGATED, SUM_DEPTH, SUM_DELAY):
            return own
        pd, own_pd = self._posterior_pd(), super().mean(SUM_PD)
        with np.errstate(invalid="ignore", divide="ignore"):
            if column in (SUM_DEPTH, SUM_DELAY):
                return np.where(own_pd > 0.0, own * pd / own_pd, own)
            in_view = super().mean(SUM_IN_VIEW)
            part = (in_view - own) / (in_view - own_pd)
            return np.where(in_view - own_pd > 1e-12, in_view - part * (in_view - pd), np.minimum(pd, in_view))

    def _posterior_pd(self) -> np.ndarray:
        found = np.full(len(self.points), np.nan)
        for part in self._blocks():
            asked = self._site(part).sum(axis=1) / self.crossings[part, None, None]
            found[part] = np.minimum(self.posterior.mean(asked), super().mean(SUM_IN_VIEW)[part])
        return found

    def se(self, column: int = SUM_PD) -> np.ndarray:
        """As `Tally.se`; of Pd by the posterior means of the scramblings."""
        if column != SUM_PD:
            return super().se(column)
        found = np.full(len(self.points), np.nan)
        for part in self._blocks():
            found[part] = standard_error(self.posterior.mean(self._site(part) / self.points[part, None, None, None]))
        return found

    def _site(self, part: np.ndarray) -> np.ndarray:
        """Sums of the site's Pd (cells, replicates, POINTS, CORRELATIONS)."""
        shape = (len(part), self.replicates, POINTS, CORRELATIONS)
        return self.asked_sums[part, :, : POINTS * CORRELATIONS].reshape(shape)

    def _blocks(self) -> Iterator[np.ndarray]:
        """Cells with crossings, some at a time."""
        known = np.flatnonzero(self.points > 0)
        for first in range(0, len(known), _BLOCK_CELLS):
            yield known[first : first + _BLOCK_CELLS]

    def table(self, part: np.ndarray) -> np.ndarray:
        """Pd of some cells at every value for the ends of the posterior, (cells, values, 4)."""
        return self.posterior.table(self._site(part).sum(axis=1) / self.crossings[part, None, None], fine=True)

    def parameter_ends(self, confidence: float) -> tuple[tuple[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]:
        """Ends of Pd (low, high), each (cells,), over what the walks left open: of the mean of many places such as this, and of
        one that nobody walked."""
        shape = (4, len(self.points))
        found = np.full(shape, np.nan)
        for part in self._blocks():
            pd = self.table(part)
            found[0:2, part] = self.posterior.mean_ends(pd, confidence)
            found[2:4, part] = self.posterior.place_ends(pd, confidence)
        return (found[0], found[1]), (found[2], found[3])

    def ends_alike(self, confidence: float) -> tuple[np.ndarray, np.ndarray]:
        """As `Tally.ends_alike`, with what the walks left open."""
        return joined(self.mean(SUM_PD), *self.parameter_ends(confidence)[0], self.half_width(confidence))


def empty_tally(site: Site, plan: Plan, cells, replicates: int = REPLICATES) -> CalibratedTally | None:
    """A tally for a site with [calibration]; None for one without."""
    if site.calibration is None:
        return None
    posterior = Posterior.of(site.calibration)
    count, cameras = len(cells.weather), plan.cameras.bearing_rad.size
    return CalibratedTally(
        np.zeros((count, replicates, SUM_CAMERA + cameras)),
        np.zeros(count, dtype=np.int64),
        np.zeros((count, replicates, asked_width(POINTS, cameras))),
        posterior,
        make_asked(posterior.nodes, posterior.correlations),
    )
