"""What a change of a remedy is worth: the site's Pd on one stream of crossings, before and after."""

from __future__ import annotations

import numpy as np

from fencecast.decide.place.demand import Demand
from fencecast.estimate.simulate import advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.site import Site


class Bench:
    """A site's Pd on a stream of crossings, cell by cell; the cells are those of the site before, whatever changes."""

    def __init__(self, demand: Demand):
        self.demand, self.tried = demand, 0

    def pd(self, site: Site, purpose: str, points: int, where: np.ndarray | None = None) -> tuple[np.ndarray, np.ndarray]:
        """Pd and half width of every cell, each (cells,); NaN where no rule of the site before watches, or not in `where`."""
        demand = self.demand
        asked = demand.active if where is None else demand.active & where
        plan, cells = pack_plan(site, demand.classes), pack_cells(site, demand.seed, demand.classes, purpose=purpose)
        tally = new_tally(len(cells.key), len(site.camera))
        advance(plan, cells, tally, np.flatnonzero(asked), points, demand.threads)
        half = tally.half_width(demand.site.requirement.confidence)
        return tuple(np.where(asked, each, np.nan) for each in (tally.mean(SUM_PD), half))

    def short_m(self, pd: np.ndarray) -> float:
        """Metres with a Pd under the requirement, summed over classes: what steps are weighed by."""
        return float(self.demand.metres[self.demand.active & (pd < self.demand.site.requirement.pd)].sum())

    def worth(self, pd: np.ndarray, target: float) -> float:
        """How near all metres are to the target, in metres summed over classes."""
        return float(np.nansum(self.demand.metres * np.minimum(pd, target)) / target)
