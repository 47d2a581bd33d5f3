"""The discrimination curve, its inverse, and the spread of the threshold over encounters."""

from functools import lru_cache

import numpy as np
from scipy.optimize import brentq
from scipy.special import expit, ndtr, ndtri


def discriminate(ratio):
    """Probability at `ratio` = cycles over cycles_50 (any shape)."""
    ratio = np.asarray(ratio, float)
    with np.errstate(divide="ignore"):
        return expit((2.7 + 0.7 * ratio) * np.log(ratio))


def cycles_ratio_at(probability):
    return brentq(lambda ratio: float(discriminate(ratio)) - probability, 1e-6, 50.0)


@lru_cache(maxsize=64)
def encounter_nodes(correlation):
    """Nodes and weights over z, the standard normal that the cameras of one crossing share.

    Gauss-Hermite with enough nodes for 1e-6 up to a correlation of 0.9 (64 midpoints in Phi(z) are off by 2e-3 there)."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(16 if correlation <= 0.5 else 64)
    return nodes, weights / np.sum(weights)


def threshold_below(cycles, cycles_50, correlation, z):
    """P(N_th <= cycles | z), shapes (levels,) and (nodes,) -> (nodes, levels)."""
    level = ndtri(discriminate(np.asarray(cycles) / cycles_50))
    return ndtr((level[None, :] - np.sqrt(correlation) * z[:, None]) / np.sqrt(1.0 - correlation))
