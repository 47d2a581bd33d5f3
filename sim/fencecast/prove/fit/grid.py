"""The grid on which the posterior of N50 and correlation is summed, the priors on it, and what is read off a column of weights.

Nothing is searched and nothing is drawn: sums over a fixed grid give the same bits on any number of threads.

Tests: tests/prove/fit/test_posterior.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from fencecast.errors import UsageError
from fencecast.site.calibration import Calibration

Array: TypeAlias = NDArray[np.float64]

HALF_WIDTH = 2.5  # of the grid in ln N50: a twelfth of the prior's median to twelve times it, five standard deviations of it
NODE_STEP = 0.1  # in ln N50, where the likelihood is computed; it is smooth, and a cubic spline carries it to the points
POINTS_A_NODE = 4
CORRELATION_NODES = 10
CORRELATION_MOST = 0.9
CORRELATION_POINTS_A_NODE = 2
PLACE_SPREADS = (0.0, 0.1, 0.2, 0.35, 0.5, 0.7)
CONTRAST_SPREAD = 0.35
CONTRAST_POINTS = 7
MEDIANS, SPREADS = (0.2, 20.0), (0.05, 1.0)  # of N50 and its prior's spread, which the grid can hold
PLACES_FOR_SPREAD = 4  # with fewer places their spread stays what the prior says


@dataclass(frozen=True)
class Prior:
    """What is believed before a walk counts.

    median: of N50 in cycles; spread: standard deviation of ln N50. place_spread: of the half-normal prior of the standard
    deviation of places' shifts of ln N50. walker_spread: standard deviation of ln N50 from one walker to the next. All but the
    file's median are judgement, no source: 0.5 is 0.37 to 2.7 times the median in 95 %, from one cycle to the five or so that
    trade rules ask of analytics. The correlation is uniform from 0 to 0.9; earlier: the
    calibration whose weights of it stand instead.
    """

    median: float = 2.0
    spread: float = 0.5
    place_spread: float = 0.3
    walker_spread: float = 0.10
    earlier: Calibration | None = None

    def __post_init__(self) -> None:
        """UsageError for a median or a spread that the grid cannot hold."""
        if not MEDIANS[0] <= self.median <= MEDIANS[1]:
            raise UsageError(
                f"--prior-median is {self.median:g}; allowed: 0.2 to 20 cycles; the site file's cycles_50 is the default"
            )
        if not SPREADS[0] <= self.spread <= SPREADS[1]:
            raise UsageError(
                f"--prior-spread is {self.spread:g}; allowed: 0.05 to 1 (standard deviation of ln N50); 0.5 is the default"
            )

    @classmethod
    def within(cls, median: float, spread: float) -> Prior:
        """The prior nearest to one that a plan has: a plan that was walked is not refused for what cannot be typed any more."""
        return cls(min(max(median, MEDIANS[0]), MEDIANS[1]), min(max(spread, SPREADS[0]), SPREADS[1]))

    def with_spread(self, factor: float) -> Prior:
        """The same with another spread of ln N50; not held against what may be typed."""
        other = replace(self)
        object.__setattr__(other, "spread", self.spread * factor)
        return other


@dataclass(frozen=True, eq=False)
class Grid:
    """ln_nodes (n,) and r_nodes: where the likelihood is computed; ln_points and r_points: where it is summed, nodes included.

    r_widths: trapezoid weights of r_points, half a step at both ends. ln_contrast: ln of the factor on the contrast threshold.
    """

    ln_nodes: Array
    r_nodes: Array
    ln_points: Array
    r_points: Array
    ln_contrast: Array

    @classmethod
    def about(cls, median: float, finer: int = 1, contrast: bool = False) -> Grid:
        """The grid about a median of N50; finer: steps that many times smaller, for tests of it."""
        ahead = round(HALF_WIDTH / NODE_STEP) * finer
        nodes = np.arange(-ahead, ahead + 1) * (NODE_STEP / finer)
        fine = np.arange(-ahead * POINTS_A_NODE, ahead * POINTS_A_NODE + 1) * (NODE_STEP / finer / POINTS_A_NODE)
        count = (CORRELATION_NODES - 1) * finer
        r_nodes = np.linspace(0.0, CORRELATION_MOST, count + 1)
        r_points = np.linspace(0.0, CORRELATION_MOST, count * CORRELATION_POINTS_A_NODE + 1)
        ends = 2.5 * CONTRAST_SPREAD
        factors = np.linspace(-ends, ends, CONTRAST_POINTS) if contrast else np.zeros(1)
        return cls(math.log(median) + nodes, r_nodes, math.log(median) + fine, r_points, factors)

    @property
    def cycles_50(self) -> Array:
        """N50 at the nodes, in cycles."""
        return np.exp(self.ln_nodes)

    @property
    def step(self) -> float:
        """Between points, in ln N50."""
        return float(self.ln_points[1] - self.ln_points[0])

    @property
    def r_widths(self) -> Array:
        """Trapezoid weights of r_points."""
        widths = np.full(len(self.r_points), self.r_points[1] - self.r_points[0])
        widths[[0, -1]] *= 0.5
        return widths

    def refined(self, log_likelihood: Array) -> Array:
        """Log-likelihoods (..., nodes, r nodes) at all points (..., points, r points): cubic splines in both."""
        from scipy.interpolate import CubicSpline

        along = CubicSpline(self.ln_nodes, log_likelihood, axis=-2)(self.ln_points)
        fine: Array = CubicSpline(self.r_nodes, along, axis=-1)(self.r_points)
        return fine

    def log_prior(self, prior: Prior) -> Array:
        """ln of the prior's weights of the points (points,), not normalised: normal in ln N50."""
        return -0.5 * ((self.ln_points - math.log(prior.median)) / prior.spread) ** 2


def spread_edges(spreads: Sequence[float]) -> Array:
    """Ends of the stretch that each spread stands for (spreads + 1,): half way to its neighbours, or its own end."""
    at = np.asarray(spreads, dtype=float)
    return np.concatenate([at[:1], 0.5 * (at[1:] + at[:-1]), at[-1:]])


def correlation_weights(grid: Grid, prior: Prior) -> Array:
    """Prior weights of r_points, adding up to 1: uniform, or those of an earlier calibration.

    The file has four weights, each shared out to its neighbours by hat functions; between them the density is linear.
    """
    if prior.earlier is None:
        return grid.r_widths / grid.r_widths.sum()
    nodes, step = np.array(prior.earlier.correlation), prior.earlier.correlation[1] - prior.earlier.correlation[0]
    areas = np.full(len(nodes), step)
    areas[[0, -1]] *= 0.5
    density = np.array(prior.earlier.weight).sum(axis=0) / areas
    weight: Array = np.interp(grid.r_points, nodes, density) * grid.r_widths
    return weight / weight.sum()


def spread_weights(prior: Prior, spreads: Sequence[float]) -> Array:
    """Prior weights of places' spreads: half-normal times trapezoid widths, adding up to 1."""
    at = np.asarray(spreads, dtype=float)
    if len(at) == 1:
        return np.ones(1)
    weight = np.diff(spread_edges(spreads)) * np.exp(-0.5 * (at / prior.place_spread) ** 2)
    return weight / weight.sum()


def contrast_weights(grid: Grid) -> Array:
    """Prior weights of the factors on the contrast threshold: ln normal about 1, sd 0.35 (judgement, no source)."""
    weight = np.exp(-0.5 * (grid.ln_contrast / CONTRAST_SPREAD) ** 2)
    return weight / weight.sum()


def shift_kernel(count: int, step: float, spread: float) -> Array:
    """Weights (count,) of shifts by 0, 1, ... steps, normal of that spread, cut at five of it; shifts both ways add up to 1."""
    if spread <= 0.0:
        return np.eye(1, count)[0]
    shifts = np.arange(count) * step / spread
    weight = np.where(shifts <= 5.0, np.exp(-0.5 * shifts**2), 0.0)
    return weight / (weight[0] + 2.0 * weight[1:].sum())


def smeared(log_likelihood: Array, step: float, spread: float) -> Array:
    """ln of the mean of L(ln N50 + shift) over normal shifts: (..., points, r) in and out.

    A discrete convolution on the equal steps. Beyond the ends of the grid ln L goes on with the slope of its last step, and never
    above 0. Every column is divided by its largest value before it leaves the logarithm; what is 1e-300 of that stays at 1e-300.
    """
    if spread <= 0.0:
        return log_likelihood
    points = log_likelihood.shape[-2]
    count = math.ceil(5.0 * spread / step) + 1
    half = shift_kernel(count, step, spread)
    far = np.arange(1, count)[:, None]
    first, last = log_likelihood[..., :1, :], log_likelihood[..., -1:, :]
    low = np.minimum(first - far[::-1] * (log_likelihood[..., 1:2, :] - first), 0.0)
    high = np.minimum(last + far * (last - log_likelihood[..., -2:-1, :]), 0.0)
    padded = np.concatenate([low, log_likelihood, high], axis=-2)
    top = padded.max(axis=-2, keepdims=True)
    likelihood = np.exp(padded - top)
    # Shift by shift, not as a product of matrices: a library of those may add in another order on other processors.
    mean = half[0] * likelihood[..., count - 1 : count - 1 + points, :]
    for k in range(1, count):
        up, down = count - 1 + k, count - 1 - k
        mean += half[k] * (likelihood[..., up : up + points, :] + likelihood[..., down : down + points, :])
    result: Array = top + np.log(np.maximum(mean, 1e-300))
    return result


def mean_sd(points: Array, weight: Array) -> tuple[float, float]:
    """Mean and standard deviation of weighted points."""
    total = weight.sum()
    mean = float((weight * points).sum() / total)
    return mean, math.sqrt(max(float((weight * (points - mean) ** 2).sum() / total), 0.0))


def _fine(points: Array, density: Array, times: int = 20) -> tuple[Array, Array]:
    """Points `times` closer and the density there: a cubic spline through its logarithm, where it is above 1e-25 of its top."""
    from scipy.interpolate import CubicSpline

    kept = np.flatnonzero(density > 1e-25 * density.max())
    low, high = max(int(kept[0]) - 1, 0), min(int(kept[-1]) + 1, len(points) - 1)
    inner = points[low : high + 1]
    ln = np.log(np.maximum(density[low : high + 1], 1e-26 * density.max()))
    at = np.linspace(inner[0], inner[-1], (len(inner) - 1) * times + 1)
    fine = np.exp(CubicSpline(inner, ln)(at)) if len(inner) > 3 else np.interp(at, inner, np.exp(ln))
    return at, fine


def _top(points: Array, density: Array) -> float:
    """Where the density is largest: the vertex of the parabola through the largest three."""
    at = int(np.argmax(density))
    if at in (0, len(points) - 1):
        return float(points[at])
    before, top, after = density[at - 1 : at + 2]
    bend = before - 2.0 * top + after
    step = points[1] - points[0]
    return float(points[at] + (0.5 * (before - after) / bend * step if bend < 0.0 else 0.0))


def quantiles(points: Array, density: Array, levels: Sequence[float]) -> tuple[float, ...]:
    """Points below which a share of the mass lies; density at equally spaced points."""
    at, fine = _fine(points, density)
    mass = np.concatenate([[0.0], np.cumsum(0.5 * (fine[1:] + fine[:-1]))])
    return tuple(float(each) for each in np.interp(levels, mass / mass[-1], at))


def highest_density(points: Array, density: Array, share: float = 0.95) -> tuple[float, float, float]:
    """(low, high) of the shortest stretch that holds the share, ends of the range included where they belong, and the mode."""
    at, fine = _fine(points, density)
    mass = np.concatenate([[0.0], np.cumsum(0.5 * (fine[1:] + fine[:-1]))])
    mass /= mass[-1]
    starts = mass[mass <= 1.0 - share]
    ends = np.interp(starts + share, mass, at)
    best = int(np.argmin(ends - at[: len(starts)]))
    mode = _top(at, fine)
    if best == len(starts) - 1:
        # The share may end at the last point and begin between two.
        return float(np.interp(1.0 - share, mass, at)), float(at[-1]), mode
    return float(at[best]), float(ends[best]), mode
