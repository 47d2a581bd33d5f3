"""What is held of N50 and the correlation before anyone walks: the nodes over which plans are averaged.

Tests: tests/prove/walks/test_worth.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from fencecast.kernels.decided import MOST_CORRELATION
from fencecast.site import Site
from fencecast.site.calibration import Calibration

SPREAD = 0.5  # sd of ln N50 where the file has none: 95 % from 0.37 to 2.7 times its value [judgement, no source]
CORRELATION_SD = MOST_CORRELATION / math.sqrt(12.0)  # of a uniform one
_NODES, _R_NODES = 13, 10
_REACH = 3.0  # of the nodes of ln N50, in standard deviations
_NODE_SD = math.sqrt(1.5)  # three nodes of equal weight this far apart have the standard deviation
_LEAST_SD = 0.05  # what walks can leave at best


@dataclass(frozen=True)
class Prior:
    """ln N50 normal about ln(median) with sd `spread`, the correlation uniform from 0 to 0.9; `correlation`: what the file says.

    Of a calibrated site: the posterior of its walks, node by node; median, spread, correlation and its sd are read off it.
    cycles_50 (n,), r (m,): nodes; weight (n, m), adding up to 1. r_nodes: three correlations of equal weight.
    """

    median: float
    spread: float
    correlation: float
    cycles_50: np.ndarray
    r: np.ndarray
    weight: np.ndarray
    correlation_sd: float = CORRELATION_SD
    r_nodes: tuple[float, ...] = (0.15, 0.45, 0.75)
    calibrated: bool = False

    @property
    def precision(self) -> np.ndarray:
        """Of (ln N50, r), (2, 2)."""
        return np.diag([1.0 / self.spread**2, 1.0 / self.correlation_sd**2])

    def equal_draws(self, cycles_50: int, correlations: int) -> list[tuple[float, float]]:
        """Equally likely (N50, r): the middles of so many equal shares of ln N50 and, of each, of the correlation."""
        shares = (np.arange(cycles_50) + 0.5) / cycles_50
        inner = np.arange(correlations) + 0.5
        if not self.calibrated:
            flat = MOST_CORRELATION * inner / correlations
            return [(float(n), float(r)) for n in self.median * np.exp(self.spread * ndtri(shares)) for r in flat]
        ln = np.log(self.cycles_50)
        drawn = []
        for each in quantiles(ln, self.weight.sum(axis=1), tuple(shares)):
            # Between two nodes of N50 the correlation has the weights of both.
            row = np.array([np.interp(each, ln, self.weight[:, k]) for k in range(len(self.r))])
            drawn += [(math.exp(each), float(r)) for r in quantiles(self.r, row, tuple(inner / correlations))]
        return drawn


def prior_of(site: Site) -> Prior:
    """The prior of a site: what `[calibration]` says, else the file's spread of `cycles_50`, else `SPREAD`."""
    if site.calibration is not None:
        return calibrated_prior(site.calibration)
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


def calibrated_prior(known: Calibration) -> Prior:
    """The posterior of earlier walks as the prior of the next ones."""
    weight = np.array(known.weight) / np.sum(known.weight)
    ln, r = np.array(known.ln_cycles_50), np.array(known.correlation)
    mean = float(weight.sum(axis=0) @ r)
    sd_r = max(math.sqrt(float(weight.sum(axis=0) @ (r - mean) ** 2)), _LEAST_SD)
    of_ln = weight.sum(axis=1)
    sd_ln = math.sqrt(float(of_ln @ (ln - of_ln @ ln) ** 2))
    ends = (mean - _NODE_SD * sd_r, mean, mean + _NODE_SD * sd_r)
    nodes = tuple(min(max(each, 0.0), MOST_CORRELATION) for each in ends)
    return Prior(
        known.median_cycles_50, max(sd_ln, _LEAST_SD), min(mean, MOST_CORRELATION), np.exp(ln), r, weight, sd_r, nodes, True
    )


def quantiles(values: np.ndarray, weight: np.ndarray, shares: tuple[float, ...]) -> np.ndarray:
    """Quantiles of values under weights of the same shape, (shares,): steps made continuous at the middle of each weight."""
    order = np.argsort(values, axis=None)
    v, w = values.reshape(-1)[order], weight.reshape(-1)[order]
    return np.interp(shares, (np.cumsum(w) - 0.5 * w) / w.sum(), v)
