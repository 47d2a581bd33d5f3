"""What walks left open, as weights over N50 and correlation, and Pd over them from a few points: for a site with [calibration].

Pd is asked at POINTS values of ln N50 by the four correlations of the table; between them logit Pd is a cubic spline in ln N50
(the correlations are the table's own, so nothing is interpolated in them). Against asking at all 25 values: mean within 2e-4,
ends within 1e-3 (tests/estimate/test_calibrated.py). Ends are taken between the values, from weights drawn through the table's:
among 25 they would jump by steps of up to 0.04.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline, PchipInterpolator
from scipy.special import expit, logit

from fencecast.site.calibration import Calibration, weighted_quantile

POINTS = 7
FINER = 4  # values for each of the table's, for ends
# The points span this much of the weights on either side of the middle, and at least LEAST_REACH of ln N50.
_TAIL, _LEAST_REACH = 0.001, 0.02
_LEAST_PD = 1e-9  # a Pd nearer to 0 or 1 is taken to be there
# Below this share of the largest weight a value does not bear on an end: it would draw the end to itself.
_LEAST_WEIGHT = 1e-5


@dataclass(frozen=True)
class Posterior:
    """nodes (POINTS,): ln N50 where Pd is asked. weight (25, 4) over ln N50 and correlation, place (25, 4) the same for a place
    that nobody walked: its own ln N50, and the correlations as they are over all; both add up to 1. spline (25, POINTS): from
    logit Pd at the nodes to logit Pd at the 25 values. The same between the values for ends: fine_weight and fine_place
    (values, 4), fine_spline (values, POINTS)."""

    nodes: np.ndarray
    correlations: tuple[float, ...]
    weight: np.ndarray
    place: np.ndarray
    spline: np.ndarray
    fine_weight: np.ndarray
    fine_place: np.ndarray
    fine_spline: np.ndarray

    @classmethod
    def of(cls, calibration: Calibration) -> Posterior:
        """The weights of a site's table, scaled to add up to 1 exactly."""
        weight = np.array(calibration.weight, dtype=float)
        weight /= weight.sum()
        alone = np.array(calibration.weight_place, dtype=float)
        place = np.outer(alone / alone.sum(), weight.sum(axis=0))
        values = np.array(calibration.ln_cycles_50)
        rows = weight.sum(axis=1), place.sum(axis=1)
        low = min(weighted_quantile(values, row, _TAIL) for row in rows)
        high = max(weighted_quantile(values, row, 1.0 - _TAIL) for row in rows)
        middle, reach = 0.5 * (low + high), max(0.5 * (high - low), _LEAST_REACH)
        nodes = np.linspace(middle - reach, middle + reach, POINTS)
        fine = np.linspace(values[0], values[-1], FINER * (len(values) - 1) + 1)
        curve = CubicSpline(nodes, np.eye(POINTS))
        spline, fine_spline = (curve(np.clip(at, nodes[0], nodes[-1])) for at in (values, fine))
        finer = _finer(values, weight, fine), _finer(values, place, fine)
        return cls(nodes, calibration.correlation, weight, place, spline, *finer, fine_spline)

    def table(self, asked: np.ndarray, fine: bool = False) -> np.ndarray:
        """Pd at every value of the table (..., 25, 4) from Pd at the points (..., POINTS, 4); fine: and between them."""
        known = logit(np.clip(asked, _LEAST_PD, 1.0 - _LEAST_PD))
        return expit(np.einsum("ij,...jk->...ik", self.fine_spline if fine else self.spline, known))

    def mean(self, asked: np.ndarray) -> np.ndarray:
        """Mean Pd over the weights (...,) from Pd at the points (..., POINTS, 4)."""
        return np.einsum("ik,...ik->...", self.weight, self.table(asked))

    def mean_alone(self, asked: np.ndarray) -> np.ndarray:
        """Mean of a Pd that no correlation changes, (...,) from (..., POINTS)."""
        table = self.table(asked[..., None])[..., 0]
        return np.einsum("i,...i->...", self.weight.sum(axis=1), table)


def _finer(values: np.ndarray, weight: np.ndarray, fine: np.ndarray) -> np.ndarray:
    """Weights of the values between, as a curve through the table's; each correlation keeps its share. All weight on one value
    stays there."""
    if np.count_nonzero(weight.sum(axis=1)) == 1:
        found = np.zeros((len(fine), weight.shape[1]))
        found[::FINER] = weight
        return found
    found = np.maximum(PchipInterpolator(values, weight, axis=0)(fine), 0.0)
    total = found.sum(axis=0)
    return found * np.where(total > 0.0, weight.sum(axis=0) / np.where(total > 0.0, total, 1.0), 0.0)


def ends(values: np.ndarray, weights: np.ndarray, confidence: float) -> tuple[np.ndarray, np.ndarray]:
    """Both ends of the middle `confidence` of weighted values along their last axis, linear between the middles of their weights.

    values (..., n), weights (n,).
    """
    kept = weights > _LEAST_WEIGHT * weights.max()
    share = weights[kept] / weights[kept].sum()
    order = np.argsort(values[..., kept], axis=-1, kind="stable")
    ranked = np.take_along_axis(values[..., kept], order, axis=-1)
    mass = share[order]
    below = np.cumsum(mass, axis=-1) - 0.5 * mass
    tail = 0.5 * (1.0 - confidence)
    return _at_share(ranked, below, tail), _at_share(ranked, below, 1.0 - tail)


def _at_share(ranked: np.ndarray, below: np.ndarray, share: float) -> np.ndarray:
    right = np.argmax(below >= share, axis=-1)
    right = np.where(below[..., -1] < share, below.shape[-1] - 1, right)
    left = np.maximum(right - 1, 0)

    def take(table: np.ndarray, at: np.ndarray) -> np.ndarray:
        return np.take_along_axis(table, at[..., None], axis=-1)[..., 0]

    a, b = take(below, left), take(below, right)
    with np.errstate(invalid="ignore", divide="ignore"):
        part = np.where(b > a, (share - a) / (b - a), 1.0)
    low, high = take(ranked, left), take(ranked, right)
    return low + np.clip(part, 0.0, 1.0) * (high - low)
