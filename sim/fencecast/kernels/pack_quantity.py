"""Packing one quantity: a distribution as a row of numbers."""

from __future__ import annotations

import numpy as np

from fencecast.kernels.types import (
    CHOICE,
    DISTRIBUTION_WIDTH,
    FIXED,
    FOLLOWS,
    LOGNORMAL,
    NORMAL,
    TRIANGULAR,
    UNIFORM,
)
from fencecast.physics.detector import normal_cdf
from fencecast.site.quantity import Quantity


class Choices:
    """Collects the values and cumulative weights of `choice` distributions into one table."""

    def __init__(self):
        self.rows: list[tuple[float, float]] = []

    def table(self) -> np.ndarray:
        return np.array(self.rows or [(0.0, 1.0)], dtype=float)


def pack_quantity(quantity: Quantity | None, choices: Choices, scale: float = 1.0, shift: float = 0.0) -> np.ndarray:
    """A distribution as one row (DISTRIBUTION_WIDTH,), its values times `scale` plus `shift`; None becomes FOLLOWS."""
    row = np.zeros(DISTRIBUTION_WIDTH)
    if quantity is None:
        row[0] = FOLLOWS
        return row

    def si(value):
        return value * scale + shift

    if quantity.dist == "fixed":
        row[:2] = FIXED, si(quantity.value)
    elif quantity.dist == "uniform":
        row[:3] = UNIFORM, si(quantity.low), si(quantity.high)
    elif quantity.dist == "normal":
        if quantity.sd <= 0.0:
            row[:2] = FIXED, si(quantity.mean)
        else:
            low = 0.0 if quantity.low is None else normal_cdf((quantity.low - quantity.mean) / quantity.sd)
            high = 1.0 if quantity.high is None else normal_cdf((quantity.high - quantity.mean) / quantity.sd)
            row[:5] = NORMAL, si(quantity.mean), quantity.sd * scale, low, high
    elif quantity.dist == "lognormal":
        row[:3] = LOGNORMAL, si(quantity.median), quantity.sigma_ln
        if shift != 0.0:
            raise ValueError("a lognormal temperature has no meaning in Celsius")
    elif quantity.dist == "triangular":
        row[:4] = TRIANGULAR, si(quantity.low), si(quantity.mode), si(quantity.high)
    else:
        values = np.asarray(quantity.values, dtype=float)
        weights = np.ones(len(values)) if quantity.weights is None else np.asarray(quantity.weights, dtype=float)
        row[:3] = CHOICE, len(choices.rows), len(values)
        choices.rows += zip(si(values), np.cumsum(weights) / weights.sum())
    return row


def fixed_rows(values: np.ndarray, shift: float = 0.0) -> np.ndarray:
    """Rows (len(values), DISTRIBUTION_WIDTH) of numbers that do not vary."""
    rows = np.zeros((len(values), DISTRIBUTION_WIDTH))
    rows[:, 0], rows[:, 1] = FIXED, values + shift
    return rows
