"""Turning uniform numbers into values: the quantile functions of the site file's distributions."""

import math

import numpy as np

from fencecast.jit import compiled
from fencecast.kernels.types import CHOICE, FIXED, LOGNORMAL, NORMAL, TRIANGULAR, UNIFORM
from fencecast.physics.detector import normal_cdf
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


@compiled
def quantiles(row, choice, u):
    """The values at probabilities u (n,) of a packed distribution, (n,)."""
    values = np.empty(u.size)
    for k in range(u.size):
        values[k] = quantile(row, choice, u[k])
    return values


# A value of a FIXED or CHOICE distribution this near to an end of an interval is in it.
_ON_THE_END = 1.0e-9


@compiled
def cumulative(row, value):
    """The share of a continuous distribution below `value`: the inverse of `quantile`."""
    kind = int(row[0])
    if kind == UNIFORM:
        if row[2] <= row[1]:
            return 1.0 if value >= row[1] else 0.0
        share = (value - row[1]) / (row[2] - row[1])
    elif kind == NORMAL:
        share = (normal_cdf((value - row[1]) / row[2]) - row[3]) / (row[4] - row[3])
    elif kind == LOGNORMAL:
        if value <= 0.0:
            return 0.0
        if row[2] <= 0.0:
            return 1.0 if value >= row[1] else 0.0
        share = normal_cdf(math.log(value / row[1]) / row[2])
    else:  # TRIANGULAR
        low, mode, high = row[1], row[2], row[3]
        if value <= low or value >= high:
            return 1.0 if value >= high else 0.0
        if value < mode:
            share = (value - low) ** 2 / ((high - low) * (mode - low))
        else:
            share = 1.0 - (high - value) ** 2 / ((high - low) * (high - mode))
    return min(max(share, 0.0), 1.0)


@compiled
def share_between(row, choice, low, high):
    """The share of a distribution from `low` to `high`, ends included; exactly 1 when nothing lies outside."""
    kind = int(row[0])
    if kind == FIXED:
        return 1.0 if low - _ON_THE_END <= row[1] <= high + _ON_THE_END else 0.0
    if kind == CHOICE:
        inside, all_of_it, before = 0.0, True, 0.0
        for k in range(int(row[1]), int(row[1]) + int(row[2])):
            if low - _ON_THE_END <= choice[k, 0] <= high + _ON_THE_END:
                inside += choice[k, 1] - before
            elif choice[k, 1] > before:
                all_of_it = False
            before = choice[k, 1]
        return 1.0 if all_of_it else inside
    return cumulative(row, high) - cumulative(row, low)


@compiled
def quantile_between(row, choice, u, low, high):
    """The value at probability u of a distribution restricted to [low, high], in which it must have a share."""
    kind = int(row[0])
    if kind == FIXED:
        return row[1]
    if kind == CHOICE:
        wanted, before, value = u * share_between(row, choice, low, high), 0.0, math.nan
        for k in range(int(row[1]), int(row[1]) + int(row[2])):
            if low - _ON_THE_END <= choice[k, 0] <= high + _ON_THE_END and choice[k, 1] > before:
                value = choice[k, 0]
                wanted -= choice[k, 1] - before
                if wanted < 0.0:
                    return value
            before = choice[k, 1]
        return value
    below = cumulative(row, low)
    return min(max(quantile(row, choice, below + u * (cumulative(row, high) - below)), low), high)
