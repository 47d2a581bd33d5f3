"""What is known at a few points, estimated at all others: ordinary kriging, linear in what is known.

Sources [M]: N. Cressie, Statistics for Spatial Data (1993), section 3.2, ordinary kriging; C. E. Rasmussen and
C. K. I. Williams, Gaussian Processes for Machine Learning (2006), equation 4.17, the Matern correlation of smoothness 3/2.
O. Dubrule, Cross validation of kriging in a unique neighborhood (1983): each known point from all others by one inverse.
"""

from __future__ import annotations

import numpy as np

# Distances are root mean squares of chances to be made out (`representatives.Distinct.points`). Common practice, no source:
# lengths from 0.5 to 0.7 count equally well on two sites (measured).
LENGTH = 0.6
# Variance that distance does not tell, as a share of all variance.
NUGGET = 1e-4
_BLOCK_ROWS = 8192


def correlation(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Correlation of the values at points a (n, columns) and b (k, columns), (n, k): 1 at no distance, then falling to 0."""
    squares = (a**2).sum(axis=1)[:, None] + (b**2).sum(axis=1) - 2.0 * a @ b.T
    r = np.sqrt(3.0 * np.maximum(squares, 0.0)) / LENGTH
    return (1.0 + r) * np.exp(-r)


class Kriging:
    """Shares of what is known at some points (k, columns) that tell it anywhere: they add up to 1, and some may be negative."""

    def __init__(self, known: np.ndarray):
        k = len(known)
        bordered = np.ones((k + 1, k + 1))
        bordered[:k, :k] = correlation(known, known) + NUGGET * np.eye(k)
        bordered[k, k] = 0.0
        self.known = known
        self._inverse = np.linalg.inv(bordered)

    def shares(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Shares (n, k) of the known points at `points` (n, columns), and which of them is the nearest to each (n,)."""
        k = len(self.known)
        shares, nearest = np.empty((len(points), k)), np.empty(len(points), dtype=np.int64)
        for start in range(0, len(points), _BLOCK_ROWS):
            block = slice(start, start + _BLOCK_ROWS)
            alike = correlation(points[block], self.known)
            shares[block] = alike @ self._inverse[:k, :k] + self._inverse[k, :k]
            nearest[block] = alike.argmax(axis=1)
        return shares + (1.0 - shares.sum(axis=1, keepdims=True)) / k, nearest

    def unsure(self, points: np.ndarray) -> np.ndarray:
        """Standard deviation (n,) of the error at `points`, for values that vary by 1; `left_out` says by how much they do."""
        k = len(self.known)
        unsure = np.empty(len(points))
        for start in range(0, len(points), _BLOCK_ROWS):
            block = slice(start, start + _BLOCK_ROWS)
            alike = np.ones((len(points[block]), k + 1))
            alike[:, :k] = correlation(points[block], self.known)
            unsure[block] = 1.0 - np.einsum("nk,nk->n", alike @ self._inverse, alike)
        return np.sqrt(np.maximum(unsure, 0.0))

    def left_out(self) -> np.ndarray:
        """(k, k): times the known values, by how much each differs from what all others tell of it, over the standard deviation
        that this should have for values that vary by 1. So the root of the mean square of the k says by how much they vary.

        A single known point says nothing of that: 0.
        """
        k = len(self.known)
        if k == 1:
            return np.zeros((1, 1))
        inverse = self._inverse[:k, :k]
        return inverse / np.sqrt(np.diag(inverse))[:, None]
