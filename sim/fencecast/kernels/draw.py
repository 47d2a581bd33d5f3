"""Turning uniform numbers into values: the quantile functions of the site file's distributions."""

import math

from fencecast.jit import compiled
from fencecast.kernels.types import CHOICE, FIXED, LOGNORMAL, NORMAL, TRIANGULAR, UNIFORM
from fencecast.physics.discrimination import normal_quantile


@compiled
def quantile(row, choice, u):
    """The value at probability u of a packed distribution.

    FIXED [a]; UNIFORM [low, high]; NORMAL [mean, sd, Phi(low), Phi(high)], truncated, not clipped; LOGNORMAL [median, sigma_ln];
    TRIANGULAR [low, mode, high]; CHOICE [first row, rows] of `choice` (value, cumulative weight).
    """
    kind = int(row[0])
    if kind == FIXED:
        return row[1]
    if kind == UNIFORM:
        return row[1] + u * (row[2] - row[1])
    if kind == NORMAL:
        return row[1] + row[2] * normal_quantile(row[3] + u * (row[4] - row[3]))
    if kind == LOGNORMAL:
        return row[1] * math.exp(row[2] * normal_quantile(u))
    if kind == TRIANGULAR:
        low, mode, high = row[1], row[2], row[3]
        width = high - low
        if width <= 0.0:
            return low
        if u * width < mode - low:
            return low + math.sqrt(u * width * (mode - low))
        return high - math.sqrt((1.0 - u) * width * (high - mode))
    if kind == CHOICE:
        first, count = int(row[1]), int(row[2])
        for k in range(first, first + count - 1):
            if u < choice[k, 1]:
                return choice[k, 0]
        return choice[first + count - 1, 0]
    return math.nan
