"""What walks left open, as weights over N50 and correlation, and Pd over them from a few points: for a site with [calibration].

Pd is asked at POINTS values of ln N50 by the four correlations of the table; between them logit Pd is a cubic spline in ln N50
(the correlations are the table's own, so nothing is interpolated in them). Against asking at all 25 values: mean within 2e-4,
ends within 1e-3 (tests/estimate/test_calibrated.py). Ends are taken between the values, from weights drawn through the table's:
among 25 they would jump by steps of up to 0.04.

Places have shifts of ln N50. In ln N50 they cancel over many places; in Pd they do not, which is concave where it is high. So the
mean over a fence is that of shifted places as well, and known better only because each shift is one of many.
Tests: tests/estimate/test_calibrated.py, tests/estimate/test_fence_band.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline, PchipInterpolator
from scipy.special import betaincinv, expit, logit, ndtr, roots_hermitenorm

from fencecast.site.calibration import Calibration, weighted_quantile

POINTS = 7
FINER = 4  # values for each of the table's, for ends
# The points span this much of the weights on either side of the middle, and at least LEAST_REACH of ln N50.
_TAIL, _LEAST_REACH = 0.001, 0.02
_LEAST_PD = 1e-9  # a Pd nearer to 0 or 1 is taken to be there
# Below this share of the largest weight a value does not bear on an end: it would draw the end to itself.
_LEAST_WEIGHT = 1e-5
_SHIFTS = 15  # points of a place's shift
_LEFT_OVER = 9  # points of what few places leave of their shifts in their mean


@dataclass(frozen=True)
class Posterior:
    """nodes (POINTS,): ln N50 where Pd is asked. weight (25, 4) over ln N50 and correlation, place (25, 4) the same for a place
    that nobody walked, whose ln N50 has a shift of its own: its rows are the file's weights of such a place, and each row has the
    correlations that the shifted weights have there. Both add up to 1. spline (25, POINTS): from logit Pd at the nodes to logit
    Pd at the 25 values. The same between the values for ends: fine_weight and fine_place (values, 4), fine_spline
    (values, POINTS).

    shift (spreads, values, values): mean over a place's shift, for each spread of places; spread_weight (spreads,) adds up to 1.
    """

    nodes: np.ndarray
    correlations: tuple[float, ...]
    weight: np.ndarray
    place: np.ndarray
    spline: np.ndarray
    fine_weight: np.ndarray
    fine_place: np.ndarray
    fine_spline: np.ndarray
    shift: np.ndarray
    spread_weight: np.ndarray

    @classmethod
    def of(cls, calibration: Calibration) -> Posterior:
        """The weights of a site's table, scaled to add up to 1 exactly."""
        weight = np.array(calibration.weight, dtype=float)
        weight /= weight.sum()
        alone = np.array(calibration.weight_place, dtype=float)
        alone /= alone.sum()
        values = np.array(calibration.ln_cycles_50)
        spreads, spread_weight = _spreads(calibration, values, weight.sum(axis=1), alone)
        place = _of_place(weight, alone, sum(share * _shifted(values, tau) for share, tau in zip(spread_weight, spreads)))
        rows = weight.sum(axis=1), alone
        low = min(weighted_quantile(values, row, _TAIL) for row in rows)
        high = max(weighted_quantile(values, row, 1.0 - _TAIL) for row in rows)
        middle, reach = 0.5 * (low + high), max(0.5 * (high - low), _LEAST_REACH)
        nodes = np.linspace(middle - reach, middle + reach, POINTS)
        fine = np.linspace(values[0], values[-1], FINER * (len(values) - 1) + 1)
        curve = CubicSpline(nodes, np.eye(POINTS))
        spline, fine_spline = (curve(np.clip(at, nodes[0], nodes[-1])) for at in (values, fine))
        finer = _finer(values, weight, fine), _finer(values, place, fine)
        shift = np.stack([_shifted(fine, tau) for tau in spreads])
        return cls(nodes, calibration.correlation, weight, place, spline, *finer, fine_spline, shift, spread_weight)

    def table(self, asked: np.ndarray, fine: bool = False) -> np.ndarray:
        """Pd at every value of the table (..., 25, 4) from Pd at the points (..., POINTS, 4); fine: and between them."""
        known = logit(np.clip(asked, _LEAST_PD, 1.0 - _LEAST_PD))
        return expit(np.einsum("ij,...jk->...ik", self.fine_spline if fine else self.spline, known))

    def mean(self, asked: np.ndarray) -> np.ndarray:
        """Mean Pd of a place that nobody walked (...,) from Pd at the points (..., POINTS, 4)."""
        return np.einsum("ik,...ik->...", self.place, self.table(asked))

    def mean_alone(self, asked: np.ndarray) -> np.ndarray:
        """The same of a Pd that no correlation changes, (...,) from (..., POINTS)."""
        table = self.table(asked[..., None])[..., 0]
        return np.einsum("i,...i->...", self.place.sum(axis=1), table)

    def place_ends(self, table: np.ndarray, confidence: float) -> tuple[np.ndarray, np.ndarray]:
        """Ends of Pd at a place that nobody walked, (...,) each, from its fine table (..., values, 4)."""
        return ends(table.reshape(*table.shape[:-2], -1), self.fine_place.ravel(), confidence)

    def mean_ends(self, table: np.ndarray, confidence: float) -> tuple[np.ndarray, np.ndarray]:
        """Ends of the mean Pd of very many places that are alike but for their shifts, (...,) each, from a fine table
        (..., values, 4): what is open is N50, the correlation, and how much places differ."""
        means = np.einsum("tij,...jk->...tik", self.shift, table)
        weights = self.spread_weight[:, None, None] * self.fine_weight
        return ends(means.reshape(*table.shape[:-2], -1), weights.ravel(), confidence)

    def fence_ends(self, tables: np.ndarray, share: np.ndarray, confidence: float) -> tuple[float, float]:
        """Ends of the mean Pd of these places with a share of the fence each (places,): fine tables (places, values, 4).

        As `mean_ends`, and what so many places leave of their shifts: each has its own, a beta law for their mean.
        """
        pd = np.einsum("s,sik->ik", share, tables)
        square = np.einsum("s,sik->ik", share**2, tables**2)
        mean = np.einsum("tij,jk->tik", self.shift, pd)
        each = np.einsum("tij,sjk->stik", self.shift, tables)
        spread = np.einsum("tij,jk->tik", self.shift, square) - np.einsum("s,stik->tik", share**2, each**2)
        weights = self.spread_weight[:, None, None] * self.fine_weight
        kept = weights > _LEAST_WEIGHT * weights.max()
        found, chance = _left_over(mean[kept], spread[kept])
        weights = weights[kept][:, None] * chance
        low, high = ends(found.ravel(), weights.ravel(), confidence)
        return float(low), float(high)


def _left_over(mean: np.ndarray, variance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Values (n, points) of beta laws with these means and variances (n,), and the weights (points,) that they have."""
    x, chance = roots_hermitenorm(_LEFT_OVER)
    found = np.repeat(mean[:, None], _LEFT_OVER, axis=1)
    open_ = variance > 1e-10
    m = mean[open_]
    size = np.maximum(m * (1.0 - m) / variance[open_] - 1.0, 1e-3)[:, None]
    found[open_] = betaincinv(m[:, None] * size, (1.0 - m[:, None]) * size, ndtr(x))
    return found, chance / chance.sum()


def _spreads(calibration: Calibration, values: np.ndarray, rows: np.ndarray, alone: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Standard deviations of places' shifts, and how probable each is; without those keys the one that both weights imply."""
    if calibration.place_spreads and calibration.weight_spread:
        weight = np.array(calibration.weight_spread, dtype=float)
        return np.array(calibration.place_spreads, dtype=float), weight / weight.sum()

    def variance(weight: np.ndarray) -> float:
        return float(weight @ (values - weight @ values) ** 2)

    return np.array([np.sqrt(max(variance(alone) - variance(rows), 0.0))]), np.ones(1)


def _shifted(values: np.ndarray, spread: float) -> np.ndarray:
    """(values, values): from anything at the values, linear between them, to its mean over a normal shift; the ends beyond."""
    x, chance = roots_hermitenorm(_SHIFTS)
    at = np.clip(values[:, None] + spread * x, values[0], values[-1])
    hats = np.maximum(1.0 - np.abs(at[..., None] - values) / (values[1] - values[0]), 0.0)
    return np.einsum("q,iqj->ij", chance / chance.sum(), hats)


def _of_place(weight: np.ndarray, alone: np.ndarray, shift: np.ndarray) -> np.ndarray:
    """Weights of an unwalked place (25, 4): rows as the file has them, correlations as the shifted weights have them there."""
    moved = shift.T @ weight
    rows = moved.sum(axis=1, keepdims=True)
    known = rows > 1e-9 * rows.max()
    return alone[:, None] * np.where(known, moved / np.where(known, rows, 1.0), weight.sum(axis=0))


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
