"""What is held of N50 and the correlation before anyone walks: the nodes over which plans are averaged.

Tests: tests/prove/walks/test_worth.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fencecast.kernels.decided import MOST_CORRELATION
from fencecast.site import Site

SPREAD = 0.5  # sd of ln N50 where the file has none: 95 % from 0.37 to 2.7 times its value [judgement, no source]
CORRELATION_SD = MOST_CORRELATION / math.sqrt(12.0)  # of a uniform one
_NODES, _R_NODES = 13, 10
_REACH = 3.0  # of the nodes of ln N50, in standard deviations


@dataclass(frozen=True)
class Prior:
    """ln N50 normal about ln(median) with sd `spread`, the correlation uniform from 0 to 0.9; `correlation`: what the file says.

    cycles_50 (n,), r (m,): nodes; weight (n, m), adding up to 1.
    """

    median: float
    spread: float
    correlation: float
    cycles_50: np.ndarray
    r: np.ndarray
    weight: np.ndarray

    @property
    def precision(self) -> np.ndarray:
        """Of (ln N50, r), (2, 2)."""
        return np.diag([1.0 / self.spread**2, 1.0 / CORRELATION_SD**2])


def prior_of(site: Site) -> Prior:
    """The prior of a site: its own spread of `cycles_50` where that is a distribution, else `SPREAD`."""
    quantity = site.decision.cycles_50
    median = quantity.quantile(0.5)
    spread = SPREAD if quantity.is_fixed else 0.5 * math.log(quantity.quantile(0.8413447) / quantity.quantile(0.1586553))
    z = np.linspace(-_REACH, _REACH, _NODES)
    r = np.linspace(0.0, MOST_CORRELATION, _R_NODES)
    ends = np.ones(_R_NODES)
    ends[[0, -1]] = 0.5
    weight = np.exp(-0.5 * z**2)[:, None] * ends
    correlation = site.decision.encounter_correlation.middle()
    return Prior(median, spread, correlation, median * np.exp(spread * z), r, weight / weight.sum())


def quantiles(values: np.ndarray, weight: np.ndarray, shares: tuple[float, ...]) -> np.ndarray:
    """Quantiles of values under weights of the same shape, (shares,): steps made continuous at the middle of each weight."""
    order = np.argsort(values, axis=None)
    v, w = values.reshape(-1)[order], weight.reshape(-1)[order]
    return np.interp(shares, (np.cumsum(w) - 0.5 * w) / w.sum(), v)
