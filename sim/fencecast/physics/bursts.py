"""Events that are no body on the ground: insects before the lens, webs, branches, steam, patches of sun.

Nothing about them can be projected, so they are rates with closed forms: an event counts when it lasts for enough looks, stands
out of the noise, and is taken for a person. All laws are lognormal, given by median and standard deviation of the logarithm.

Tests: tests/physics/test_bursts.py.
"""

import math

import numpy as np

from fencecast.jit import compiled, vectorised
from fencecast.physics.acceptance import shape_acceptance, size_acceptance
from fencecast.physics.detector import normal_cdf
from fencecast.physics.discrimination import discrimination_probability

NODES = 40
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(NODES)
_WEIGHTS = _WEIGHTS / math.sqrt(2.0 * math.pi)


@compiled
def mean_excess(above, median, sigma):
    """E[(Y - a)+] of a lognormal Y: M Phi(d2 + sigma) - a Phi(d2), d2 = ln(median / a) / sigma, M its mean.

    above a, any; median > 0; sigma >= 0, of the logarithm; M = median e^(sigma^2/2).
    Check: test_bursts.py::test_mean_excess_against_an_integral.
    """
    mean = median * math.exp(0.5 * sigma * sigma)
    if above <= 0.0:
        return mean - above
    if sigma <= 0.0:
        return max(median - above, 0.0)
    d2 = math.log(median / above) / sigma
    return mean * normal_cdf(d2 + sigma) - above * normal_cdf(d2)


@compiled
def lasting_share(looks, looks_per_s, duration_s, sigma):
    """Share of events that are there at `looks` successive looks at least: E[clip(T r - (m - 1), 0, 1)] = R(m - 1) - R(m).

    looks m >= 1 [whole]; looks_per_s r [1/s]; duration_s: median of T [s]; sigma of its logarithm. The first look comes at a
    random phase; R is `mean_excess` of T r.
    Check: test_bursts.py::test_printed_shares_that_last.
    """
    median = duration_s * looks_per_s
    return mean_excess(looks - 1.0, median, sigma) - mean_excess(float(looks), median, sigma)


@compiled
def event_noise_k(netd_k, fixed_pattern, clutter_k):
    """Noise [K] that an event stands out of: NETD with its fixed pattern, and what moves in the background, in quadrature.

    Check: test_bursts.py::test_printed_alarms_of_one_camera.
    """
    return math.hypot(netd_k * math.sqrt(1.0 + fixed_pattern * fixed_pattern), clutter_k)


@compiled
def passing_share(contrast_k, sigma, threshold_sigma, noise_k):
    """Share of events whose contrast passes the threshold: Phi(ln(C / (k noise)) / sigma).

    contrast_k: median of C [K] > 0; sigma of its logarithm, 0 for one contrast; threshold_sigma k > 0; noise_k [K] > 0.
    Check: test_bursts.py::test_a_contrast_at_the_threshold.
    """
    ratio = contrast_k / (threshold_sigma * noise_k)
    if sigma <= 0.0:
        return 1.0 if ratio >= 1.0 else 0.0
    return normal_cdf(math.log(ratio) / sigma)


@compiled
def mean_size_acceptance(size, sigma, cycles, low, high, spread):
    """`size_acceptance` over a lognormal size, exactly: the same with both spreads of the logarithm in quadrature.

    size: median of s > 0; sigma of its logarithm; the rest as in `size_acceptance`, low < high where both are given.
    Check: test_bursts.py::test_a_spread_of_sizes_against_an_integral.
    """
    if low <= 0.0 and high <= 0.0:
        return 1.0
    if sigma <= 0.0 or cycles <= 0.0:
        return size_acceptance(size, cycles, low, high, spread)
    both = math.hypot(math.hypot(spread, 0.5 / cycles), sigma)
    above = 1.0 if low <= 0.0 else normal_cdf(math.log(size / low) / both)
    below = 1.0 if high <= 0.0 else normal_cdf(math.log(high / size) / both)
    return max(above + below - 1.0, 0.0)


@compiled
def accepted_share(cycles, sigma, cycles_50, shape_cycles, confused, size, size_sigma, low, high, spread):
    """Share of events that are resolved and taken for a person: the mean of P(N / N50) S G over a lognormal N.

    cycles: median of N > 0; sigma of its logarithm; cycles_50 N50 > 0; shape_cycles, confused as in `shape_acceptance`; size,
    size_sigma, low, high, spread as in `mean_size_acceptance`. Gauss-Hermite, 40 points.
    Check: test_bursts.py::test_printed_alarms_of_one_camera, test_bursts.py::test_accepted_against_an_integral.
    """
    total = 0.0
    for k in range(NODES):
        n = cycles * math.exp(sigma * _NODES[k])
        resolved = discrimination_probability(n / cycles_50) * shape_acceptance(n, shape_cycles, confused)
        total += _WEIGHTS[k] * resolved * mean_size_acceptance(size, size_sigma, n, low, high, spread)
    return total


passing_share_array = vectorised(passing_share)
event_noise_k_array = vectorised(event_noise_k)
