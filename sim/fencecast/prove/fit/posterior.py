"""The posterior of N50, correlation, places' spread and (where walks tell it) the contrast factor: sums over a fixed grid.

Tests: tests/prove/fit/test_posterior.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fencecast.prove.fit.grid import (
    PLACE_SPREADS,
    PLACES_FOR_SPREAD,
    Array,
    Grid,
    Prior,
    contrast_weights,
    correlation_weights,
    highest_density,
    mean_sd,
    quantiles,
    shift_kernel,
    smeared,
    spread_edges,
    spread_weights,
)

LEVEL = 0.95
TELLS = 1.92  # half the 95 % point of chi-squared with one degree of freedom: a fall of ln L that counts as one
HARDLY = 0.8  # of the prior's standard deviation: a correlation that is less well known than this is hardly known


@dataclass(frozen=True)
class Cycles50:
    """N50 in cycles: median and equal-tailed ends, mean and standard deviation of ln N50.

    only_from_above: no miss tells, so that the lower end is the prior's; only_from_below: no alarm tells.
    """

    median: float
    low: float
    high: float
    mean_ln: float
    sd_ln: float
    only_from_above: bool
    only_from_below: bool


@dataclass(frozen=True)
class Correlation:
    """The encounter correlation: mean, mode and ends of the shortest 95 %; prior_sd: what the sd was before the walks."""

    mean: float
    mode: float
    low: float
    high: float
    sd: float
    prior_sd: float

    @property
    def hardly_known(self) -> bool:
        """The walks left more than 0.8 of the prior's standard deviation."""
        return self.sd > HARDLY * self.prior_sd


@dataclass(frozen=True, eq=False)
class Posterior:
    """Weights (contrast, spreads, points, r points) that add up to 1, widths of the grid included.

    log_likelihood: of each place at the points (places, contrast, points, r points); smeared: the same with each place's shift
    integrated (places, contrast, spreads, points, r points). spread_is_prior: fewer than four places, whose spread stays the
    prior's. evidence: ln of the mean likelihood under the prior.
    """

    grid: Grid
    prior: Prior
    places: tuple[str, ...]
    spreads: tuple[float, ...]
    log_likelihood: Array
    smeared: Array
    weight: Array
    spread_is_prior: bool
    evidence: float

    @property
    def joint(self) -> Array:
        """Weights of (points, r points)."""
        return self.weight.sum(axis=(0, 1))

    @property
    def of_ln_cycles_50(self) -> Array:
        """Weights of the points of ln N50."""
        return self.weight.sum(axis=(0, 1, 3))

    @property
    def of_correlation(self) -> Array:
        """Weights of the points of the correlation."""
        return self.weight.sum(axis=(0, 1, 2))

    @property
    def of_spread(self) -> Array:
        """Weights of the spreads."""
        return self.weight.sum(axis=(0, 2, 3))

    def cycles_50(self) -> Cycles50:
        """What is known of N50."""
        points, weight = self.grid.ln_points, self.of_ln_cycles_50
        half = 0.5 * (1.0 - LEVEL)
        low, median, high = (math.exp(each) for each in quantiles(points, weight, (half, 0.5, 1.0 - half)))
        mean, sd = mean_sd(points, weight)
        above, below = _one_sided(self.log_likelihood)
        return Cycles50(median, low, high, mean, sd, above, below)

    def correlation(self) -> Correlation:
        """What is known of the correlation."""
        points, widths, weight = self.grid.r_points, self.grid.r_widths, self.of_correlation
        low, high, mode = highest_density(points, weight / widths, LEVEL)
        mean, sd = mean_sd(points, weight)
        return Correlation(mean, mode, low, high, sd, mean_sd(points, correlation_weights(self.grid, self.prior))[1])

    def place_spread(self) -> tuple[float, float]:
        """Median and upper 95 % end of the standard deviation of places' shifts of ln N50: each weight over its stretch."""
        mass = np.concatenate([[0.0], np.cumsum(self.of_spread)])
        edges = spread_edges(self.spreads)
        return float(np.interp(0.5, mass, edges)), float(np.interp(LEVEL, mass, edges))

    def contrast(self) -> tuple[float, float, float]:
        """Median and 95 % ends of the factor on the contrast threshold; (1, 1, 1) where it was held."""
        if len(self.grid.ln_contrast) == 1:
            return 1.0, 1.0, 1.0
        half = 0.5 * (1.0 - LEVEL)
        low, median, high = quantiles(self.grid.ln_contrast, self.weight.sum(axis=(1, 2, 3)), (half, 0.5, 1.0 - half))
        return math.exp(median), math.exp(low), math.exp(high)

    def of_unwalked_place(self) -> tuple[Array, Array]:
        """ln N50 and weights of a place that nobody walked: a place's own shift is added, on a grid that holds it."""
        count = math.ceil(5.0 * max(self.spreads) / self.grid.step) + 1
        ahead = np.arange(1, count) * self.grid.step
        points = np.concatenate([self.grid.ln_points[0] - ahead[::-1], self.grid.ln_points, self.grid.ln_points[-1] + ahead])
        total = np.zeros(len(points))
        for spread, weight in zip(self.spreads, self.weight.sum(axis=(0, 3))):
            half = shift_kernel(count, self.grid.step, spread)
            total += np.convolve(weight, np.concatenate([half[:0:-1], half]))
        return points, total

    def without(self, place: str) -> Posterior:
        """The posterior of the same walks but for those of one place."""
        kept = [k for k, name in enumerate(self.places) if name != place]
        names = [self.places[k] for k in kept]
        return _summed(names, self.log_likelihood[kept], self.smeared[kept], self.grid, self.prior, self.spreads)

    def with_prior_spread(self, factor: float) -> Posterior:
        """The posterior of the same walks under a prior of ln N50 that is so many times as wide."""
        prior = self.prior.with_spread(factor)
        return _summed(self.places, self.log_likelihood, self.smeared, self.grid, prior, self.spreads)

    def at_the_files_threshold(self) -> Posterior:
        """The posterior of the same walks with the contrast factor held at 1."""
        held = [int(np.argmin(np.abs(self.grid.ln_contrast)))]
        grid = replace(self.grid, ln_contrast=np.zeros(1))
        return _summed(self.places, self.log_likelihood[:, held], self.smeared[:, held], grid, self.prior, self.spreads)

    def at_spread(self, spread: float) -> Posterior:
        """The posterior of the same walks with the spread of places held at one of `spreads`."""
        mine = self.smeared[:, :, [self.spreads.index(spread)]]
        return _summed(self.places, self.log_likelihood, mine, self.grid, self.prior, (spread,))


def posterior(
    places: Sequence[str],
    log_likelihood: Array,
    prior: Prior,
    grid: Grid,
    spreads: Sequence[float] = PLACE_SPREADS,
) -> Posterior:
    """The posterior from the ln-likelihoods of places at the nodes of the grid: (places, contrast, nodes, r nodes).

    Places have independent shifts of ln N50, normal with a spread of their own that is summed over too; walks of one place share
    its shift. With fewer than four places the spread keeps its prior weights.
    """
    log_likelihood = np.asarray(log_likelihood, dtype=float)
    asked = (len(places), len(grid.ln_contrast), len(grid.ln_nodes), len(grid.r_nodes))
    if log_likelihood.shape != asked:
        raise ValueError(f"ln-likelihoods have the shape {log_likelihood.shape}, the grid asks for {asked}")
    fine = grid.refined(log_likelihood)
    each = np.stack([smeared(fine, grid.step, spread) for spread in spreads], axis=2)
    return _summed(places, fine, each, grid, prior, spreads)


def _summed(places: Sequence[str], fine: Array, each: Array, grid: Grid, prior: Prior, spreads: Sequence[float]) -> Posterior:
    """`posterior` from ln-likelihoods at the points, before and after smearing."""
    ln = np.zeros((len(grid.ln_contrast), len(spreads), len(grid.ln_points), len(grid.r_points)))
    for place in sorted(range(len(places)), key=lambda k: places[k]):  # one order, whatever order rows came in
        ln += each[place]
    before = grid.log_prior(prior)
    before = np.exp(before - before.max())
    before /= before.sum()
    widths = correlation_weights(grid, prior)
    spread_prior = spread_weights(prior, spreads)
    top = ln.max()
    known = np.exp(ln - top) * before[None, None, :, None] * widths
    known *= contrast_weights(grid)[:, None, None, None]
    few = len(places) < PLACES_FOR_SPREAD
    evidence = top + math.log(float((known.sum(axis=(0, 2, 3)) * spread_prior).sum()))
    if few:
        known /= known.sum(axis=(0, 2, 3), keepdims=True)
    known *= spread_prior[None, :, None, None]
    return Posterior(
        grid, prior, tuple(places), tuple(spreads), fine, each, known / known.sum(), few and len(spreads) > 1, evidence
    )  # fmt: skip


def _one_sided(log_likelihood: Array) -> tuple[bool, bool]:
    """Whether ln L, best over everything else, does not fall towards low N50, and whether it does not towards high N50."""
    if not len(log_likelihood):
        return True, True
    profile = log_likelihood.sum(axis=0).max(axis=(0, 2))
    floor = profile.max() - TELLS
    return bool(profile[0] > floor), bool(profile[-1] > floor)
