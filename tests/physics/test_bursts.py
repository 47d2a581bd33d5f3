"""Events without a body: how long, how warm, how like a person; against values worked out beforehand and integrals."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from fencecast.physics import bursts
from fencecast.physics.acceptance import shape_acceptance, size_acceptance
from fencecast.physics.discrimination import discrimination_probability

# A night of one camera: events, share on a line, median and sigma of duration [s], contrast [K] and cycles, confused, N_shape.
EVENTS = {
    "insect": (30.0, 0.2, (0.35, 0.6), (2.0, 0.7), (3.0, 0.5), 0.05, 8.0),
    "web": (1.5, 0.15, (20.0, 1.0), (2.5, 0.6), (4.0, 0.5), 0.10, 8.0),
    "branch": (20.0, 0.1, (1.5, 0.8), (0.8, 0.6), (2.5, 0.5), 0.10, 6.0),
    "steam": (10.0, 0.1, (4.0, 0.8), (3.0, 0.6), (5.0, 0.6), 0.10, 6.0),
}


def alarms(kind: str, looks: int) -> float:
    """Of one camera in a night: 5 looks a second, 5 sigma, N50 2, noise 0.16 K, no limits of size."""
    rate, on_line, lasts, contrast, cycles, confused, shape = EVENTS[kind]
    holds = bursts.lasting_share(looks, 5.0, *lasts)
    passes = bursts.passing_share(*contrast, 5.0, bursts.event_noise_k(0.05, 0.5, math.sqrt(0.16**2 - 0.05**2 * 1.25)))
    return rate * on_line * holds * passes * bursts.accepted_share(*cycles, 2.0, shape, confused, 1.0, 1.0, 0.0, 0.0, 0.2)


@pytest.mark.parametrize(
    ("kind", "looks", "wanted"),
    [("insect", 3, 0.99), ("web", 3, 0.15), ("branch", 3, 0.49), ("steam", 3, 0.51), ("insect", 5, 0.21), ("web", 5, 0.15)],
)
def test_printed_alarms_of_one_camera(kind, looks, wanted):
    """Catches: a factor that is left out or stands twice; noise without its fixed pattern. Values worked out beforehand, two
    digits."""
    assert alarms(kind, looks) == pytest.approx(wanted, abs=5e-3)


def test_printed_shares_that_last():
    """Catches: m looks for m - 1 intervals, a phase that is not random. Median 0.35 s, sigma 0.6, 5 looks a second; five digits
    worked out beforehand, and 400,000 events laid under looks here (standard error at most 8e-4)."""
    wanted = (0.95582, 0.60747, 0.28349, 0.12742, 0.05918)
    rng = np.random.default_rng(3)
    lasts, phase = 5.0 * 0.35 * np.exp(0.6 * rng.standard_normal(400_000)), rng.random(400_000)
    met = np.floor(lasts - phase) + 1.0  # looks at phase, phase + 1, ...
    for m, share in enumerate(wanted, start=1):
        assert bursts.lasting_share(m, 5.0, 0.35, 0.6) == pytest.approx(share, abs=5e-6)
        assert np.mean(met >= m) == pytest.approx(share, abs=4e-3)
    assert bursts.lasting_share(3, 5.0, 0.5, 0.0) == pytest.approx(0.5)  # 2.5 intervals: a third look in half of the phases


def excess_part(above: float, median: float, sigma: float, z: float) -> float:
    """What the score z adds to the mean excess."""
    return max(median * math.exp(sigma * z) - above, 0.0) * norm.pdf(z)


def test_mean_excess_against_an_integral():
    """Catches: d1 for d2, a mean for a median. Source: scipy's quadrature."""
    for above, median, sigma in ((2.0, 1.75, 0.6), (0.5, 20.0, 1.0), (30.0, 4.0, 0.8)):
        part = partial(excess_part, above, median, sigma)
        wanted = quad(part, -12, 12, limit=400)[0]
        assert bursts.mean_excess(above, median, sigma) == pytest.approx(wanted, rel=1e-6)
    assert bursts.mean_excess(0.0, 1.75, 0.6) == pytest.approx(1.75 * math.exp(0.18), rel=1e-12)
    assert bursts.mean_excess(-1.0, 1.75, 0.6) == pytest.approx(1.75 * math.exp(0.18) + 1.0, rel=1e-12)


def test_a_contrast_at_the_threshold():
    """Catches: sigma of the noise for that of contrasts. At the threshold half pass, at e^sigma times it Phi(1); no spread: a
    step; the array form is the same."""
    assert bursts.passing_share(0.8, 0.7, 5.0, 0.16) == pytest.approx(0.5, abs=1e-12)
    assert bursts.passing_share(0.8 * math.exp(0.7), 0.7, 5.0, 0.16) == pytest.approx(norm.cdf(1.0), rel=1e-12)
    assert [bursts.passing_share(c, 0.0, 5.0, 0.16) for c in (0.79, 0.81)] == [0.0, 1.0]
    noise = bursts.event_noise_k_array(0.05, 0.5, np.array([0.1, 0.4]))
    one_by_one = [bursts.passing_share(2.0, 0.7, 5.0, bursts.event_noise_k(0.05, 0.5, c)) for c in (0.1, 0.4)]
    assert bursts.passing_share_array(2.0, 0.7, 5.0, noise) == pytest.approx(one_by_one, rel=1e-12)


@pytest.mark.parametrize(("low", "high"), [(0.45, 0.0), (0.0, 1.6), (0.45, 1.6), (0.9, 1.1), (0.0, 0.0)])
def test_a_spread_of_sizes_against_an_integral(low, high):
    """Catches: spreads that are added for ones in quadrature, ends exchanged. Source: scipy's quadrature of `size_acceptance`."""
    for size, sigma, cycles in ((1.0, 1.0, 3.0), (0.8, 0.6, 2.5), (1.5, 0.0, 4.0)):
        wanted = quad(
            lambda z, m=size, s=sigma, n=cycles: size_acceptance(m * math.exp(s * z), n, low, high, 0.2) * norm.pdf(z),
            -9,
            9,
            limit=400,
        )[0]
        found = bursts.mean_size_acceptance(size, sigma, cycles, low, high, 0.2)
        assert found == pytest.approx(wanted, abs=1e-7)


def test_accepted_against_an_integral():
    """Catches: weights that do not add up, a node of another law. Source: scipy's quadrature, a lower limit of size 0.45."""
    wanted = quad(
        lambda z: (
            norm.pdf(z)
            * discrimination_probability(3.0 * math.exp(0.5 * z) / 2.0)
            * shape_acceptance(3.0 * math.exp(0.5 * z), 8.0, 0.05)
            * bursts.mean_size_acceptance(1.0, 1.0, 3.0 * math.exp(0.5 * z), 0.45, 0.0, 0.2)
        ),
        -9,
        9,
        limit=400,
    )[0]
    assert bursts.accepted_share(3.0, 0.5, 2.0, 8.0, 0.05, 1.0, 1.0, 0.45, 0.0, 0.2) == pytest.approx(wanted, abs=2e-6)
    assert wanted < bursts.accepted_share(3.0, 0.5, 2.0, 8.0, 0.05, 1.0, 1.0, 0.0, 0.0, 0.2)
