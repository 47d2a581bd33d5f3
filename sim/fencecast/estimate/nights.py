"""From rates to nights: how many alarms a night, how many on a bad one, how sure that is, and what it costs the operator.

Counts of a night and kind are negative binomial with mean a and size k (variance a + a²/k): animals come in better and worse
nights. Keeping each encounter with a fixed probability keeps k, so k belongs to encounters and a to alarms. Kinds are independent
within a night; nights of several weather classes mix. Pure NumPy and SciPy; nothing here knows sites or weather.

Tests: tests/estimate/test_nights.py.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import gammaincinv, gammaln, ndtri

from fencecast.errors import UsageError
from fencecast.sampling.sobol import direction_numbers, hashed_unit, sobol_table
from fencecast.sampling.variables import key64

BAD_SHARE = 0.95  # of nights have so many or fewer
NEGLIGIBLE = 1.0e-9  # what the tail of a night's distribution is cut at
RATE_DRAWS = 4096
NIGHTS_A_YEAR = 365.25
_MOST_COUNTS = 1 << 22
_REPEATS = 5  # until the mean after a count has settled


def negative_binomial(mean: float, size: float, counts: int) -> np.ndarray:
    """Probabilities of 0 .. counts - 1 events a night, (counts,): mean a [1/night], size k; Poisson for an infinite k.

    Γ(n + k) / (n! Γ(k)) (k / (k + a))^k (a / (k + a))^n, its variance a + a²/k.
    """
    n = np.arange(counts, dtype=float)
    if mean <= 0.0:
        return np.where(n == 0.0, 1.0, 0.0)
    if np.isinf(size):
        return np.exp(n * np.log(mean) - mean - gammaln(n + 1.0))
    log_p = gammaln(n + size) - gammaln(n + 1.0) - gammaln(size)
    return np.exp(log_p - size * np.log1p(mean / size) - n * np.log1p(size / mean))


def night_distribution(means: np.ndarray, sizes: np.ndarray, weights: np.ndarray | None = None) -> np.ndarray:
    """Probabilities of 0, 1, 2, ... alarms in a night, to a tail of `NEGLIGIBLE`; they add up to 1.

    means (nights, kinds) [1/night] of each sort of night; sizes (kinds,), inf for Poisson; weights (nights,) of the sorts, scaled
    to add up to 1 (all alike when None). Kinds are independent within a sort of night, and sorts mix.

    By generating functions on the unit circle, ∏ (1 + a/k (1 - z))^-k, which is the convolution of all the kinds at once, and one
    inverse Fourier transform; rounding leaves 1e-15. UsageError past some four million alarms a night.
    """
    means, sizes = np.atleast_2d(np.asarray(means, dtype=float)), np.asarray(sizes, dtype=float)
    shares = np.ones(len(means)) if weights is None else np.asarray(weights, dtype=float)
    counted = shares > 0.0
    means, shares = means[counted], shares[counted] / shares[counted].sum()
    counts = max(_counts_needed(row, sizes) for row in means)
    z = np.exp(-2.0j * np.pi * np.arange(counts // 2 + 1) / counts)
    transform = np.zeros(len(z), dtype=complex)
    for row, share in zip(means, shares):
        transform += share * np.exp(_log_generating(row, sizes, z))
    found = np.maximum(np.fft.irfft(transform, counts), 0.0)
    tail = found.sum() - np.cumsum(found)
    kept = found[: int(np.argmax(tail < NEGLIGIBLE)) + 1]
    return kept / kept.sum()


def _log_generating(means: np.ndarray, sizes: np.ndarray, z: np.ndarray) -> np.ndarray:
    """Logarithm of the generating function of one sort of night at z (any shape)."""
    total = np.zeros_like(z)
    for mean, size in zip(means, sizes):
        if mean > 0.0:
            total -= mean * (1.0 - z) if np.isinf(size) else size * np.log1p(mean / size * (1.0 - z))
    return total


def _counts_needed(means: np.ndarray, sizes: np.ndarray) -> int:
    """A power of two past which the tail of one sort of night is negligible, by Chernoff's bound G(t) / t^n."""
    there = means > 0.0
    if not there.any():
        return 2
    radius = min(np.min(sizes[there] / means[there]), 1.0e3)  # G is finite for t below 1 + radius
    t = 1.0 + radius * np.geomspace(1.0e-7, 0.95, 60)
    bound = (_log_generating(means, sizes, t) - np.log(NEGLIGIBLE)) / np.log(t)
    needed = 1 << int(np.ceil(np.min(bound)) + 1).bit_length()
    if needed > _MOST_COUNTS:
        raise UsageError(f"{means.sum():,.0f} alarms a night are more than can be counted; look at the rates of [[stimulus]]")
    return needed


def bad_night(distribution: np.ndarray, share: float = BAD_SHARE) -> int:
    """The smallest number of alarms that a share of nights does not pass: with 0.95, 19 nights in 20 have so many or fewer."""
    return int(np.searchsorted(np.cumsum(distribution), share - 1.0e-12))


def rate_sigma(factor: float) -> float:
    """sigma of ln(rate) when a rate may be wrong by a factor either way at 95 %: ln(factor) / 1.96; 3 gives 0.5605."""
    return float(np.log(factor) / ndtri(0.975))


def uniform_draws(names: Sequence[str], draws: int = RATE_DRAWS) -> np.ndarray:
    """Fixed quasi-random numbers in (0, 1), (draws, names): Sobol, each column its own dimension, in the middle of its cells.

    A power of two of draws; 4,096 place the 2.5 % points of a sum to 1 % or so. A name's place decides its dimension, so a kind
    that is added at the end leaves the others alone; past the dimensions of the table a column is hashed from its name.
    """
    known = min(len(names), len(direction_numbers()))
    found = np.empty((draws, len(names)))
    found[:, :known] = sobol_table(draws, known) * 2.0**-32 + 0.5 / draws
    for column in range(known, len(names)):
        key = np.uint64(key64("rate", names[column]))
        found[:, column] = [hashed_unit(key, k) for k in range(draws)]
    return found


def lognormal_factors(u: np.ndarray, sigma: float) -> np.ndarray:
    """Factors with median 1 and sigma of the logarithm, at probabilities u."""
    return np.exp(sigma * ndtri(u))


def mean_interval(means: np.ndarray, factors: np.ndarray, error: float, confidence: float) -> tuple[float, float]:
    """Ends of the mean's interval [1/night]: what the rates leave open, and the encounters' own error added in quadrature.

    means (kinds,) at central rates [1/night]; factors (draws, kinds) on them; error: standard error of the sum from a finite
    number of encounters [1/night].
    """
    middle = float(np.sum(means))
    low, high = np.quantile(factors @ np.asarray(means, dtype=float), [0.5 - 0.5 * confidence, 0.5 + 0.5 * confidence])
    own = float(ndtri(0.5 + 0.5 * confidence)) * error
    return max(middle - float(np.hypot(middle - low, own)), 0.0), middle + float(np.hypot(high - middle, own))


def true_share(attempts_per_year: float, pd: float, alarms_per_night: float, nights: float = NIGHTS_A_YEAR) -> float:
    """Share of alarms that are true: a Pd / (a Pd + 365.25 n), a attempts a year and n nuisance alarms a night.

    NaN when there is neither.
    """
    true = attempts_per_year * pd
    every = true + nights * alarms_per_night
    return true / every if every > 0.0 else float("nan")


# ------------------------------------------------------------------------------------------------ what was counted on site


def counted_interval(alarms: int, nights: float, confidence: float, mean: float = 0.0, size: float = np.inf):
    """Interval of a rate [1/night] after so many alarms in so many nights: (low, high).

    Garwood's exact interval of a Poisson count, (χ²/2 quantiles) / nights; nights differ by more than chance when the size k is
    finite, so its halves are widened by sqrt(1 + mean/k), mean a night. The lower end is cut at 0.
    """
    rate, tail = alarms / nights, 0.5 * (1.0 - confidence)
    low = gammaincinv(alarms, tail) / nights if alarms > 0 else 0.0
    high = gammaincinv(alarms + 1.0, 1.0 - tail) / nights
    wider = np.sqrt(1.0 + mean / size)
    return max(rate - wider * (rate - low), 0.0), float(rate + wider * (high - rate))


def gamma_prior(rate: float, relative_variance: float) -> tuple[float, float]:
    """Shape a and rate b [nights] of a Gamma distribution with this mean [1/night] and variance over mean squared."""
    a = 1.0 / relative_variance
    return a, a / rate


def lognormal_relative_variance(sigma: float) -> float:
    """Variance over mean squared of a lognormal: exp(sigma²) - 1."""
    return float(np.expm1(sigma**2))


def posterior(prior: tuple[float, float], alarms: int, nights: float, size: float = np.inf) -> tuple[float, float]:
    """The Gamma distribution of a rate (a, b) after so many alarms in so many nights; its mean is a / b.

    size: k of the negative binomial. Of nights that differ by more than chance each says less: the variance of a count is w times
    that of a Poisson one, w = 1 + m/k, so alarms and nights both count 1/w; m, the mean after the count, is found by repetition.
    Kept at 95 %, measured with rates of 0.5 and 3 over 7 and 30 nights: 94 to 96 % at k from 0.3 to 3; were every night whole, 49
    to 85 % at k = 0.3.
    """
    m = 0.0 if np.isinf(size) else (prior[0] + alarms) / (prior[1] + nights)
    for _ in range(_REPEATS):
        w = 1.0 + m / size
        m = (prior[0] + alarms / w) / (prior[1] + nights / w)
    w = 1.0 + m / size
    return prior[0] + alarms / w, prior[1] + nights / w


def gamma_quantile(of: tuple[float, float], u):
    """Values of a Gamma distribution (a, b) at probabilities u, numbers or arrays."""
    return gammaincinv(of[0], u) / of[1]


# ------------------------------------------------------------------------------------------------ the operator's queue


def load(alarms_per_h: float, service_s: float) -> float:
    """rho: the share of the time in which one operator is busy with alarms; at 1 and above he never catches up."""
    return alarms_per_h * service_s / 3600.0


def queue_wait_s(alarms_per_h: float, service_s: float, variation: float = 1.0) -> float:
    """Mean wait of an alarm before the operator turns to it [s], by Pollaczek and Khinchine; NaN when rho is 1 or more.

    rho / (1 - rho) (1 + C²) / 2 × service; alarms come at random; service_s: mean time that an alarm takes him; variation C: its
    standard deviation over its mean (1: as an exponential time, 0: always the same).
    """
    rho = load(alarms_per_h, service_s)
    if rho >= 1.0:
        return float("nan")
    return rho / (1.0 - rho) * 0.5 * (1.0 + variation**2) * service_s


def waits_longer(wait_s: float, alarms_per_h: float, service_s: float) -> float:
    """Chance that an alarm waits longer than this [s], of exponential service: rho exp(-(mu - lambda) t); 1 when rho is 1."""
    rho = load(alarms_per_h, service_s)
    return 1.0 if rho >= 1.0 else rho * float(np.exp(-(1.0 - rho) / service_s * wait_s))
