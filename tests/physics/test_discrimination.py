"""The small closed forms of the decision against printed values and a statistics library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ndtri
from scipy.stats import binom

from fencecast.physics import discrimination


@pytest.mark.parametrize(("ratio", "wanted"), [(0.5, 0.108), (1.0, 0.5), (1.75, 0.900), (2.0, 0.945)])
def test_printed_values(ratio, wanted):
    """Catches a wrong exponent. Source: the model's printed values (three digits, hence 5e-4)."""
    assert discrimination.discrimination_probability(ratio) == pytest.approx(wanted, abs=5e-4)


def test_curve_is_the_power_law():
    """Catches the logistic form gone wrong. Closed form x^E / (1 + x^E), E = 2.7 + 0.7 x; it rises all the way from 0 to 1."""
    x = np.linspace(0.01, 8.0, 800)
    power = x ** (2.7 + 0.7 * x)
    found = np.vectorize(discrimination.discrimination_probability)(x)
    assert found == pytest.approx(power / (1.0 + power), rel=1e-12)
    assert np.all(np.diff(found[found < 1.0 - 1e-12]) > 0.0)
    assert discrimination.discrimination_probability(0.0) == 0.0
    assert discrimination.discrimination_probability(1e-300) == pytest.approx(0.0, abs=1e-300)
    assert discrimination.discrimination_probability(1e6) == 1.0


def test_score_of_a_threshold():
    """Catches a score from the wrong tail, a digit lost in a coefficient. Source: scipy's normal quantile of the logistic
    function, from the smaller tail; 5e-8 as documented, to odds of 3.6e9, past which a look is taken for certain."""
    for w in np.concatenate([np.linspace(-22.0, 22.0, 4001), np.geomspace(1e-9, 1.0, 100)]):
        tail = ndtri(1.0 / (1.0 + math.exp(abs(w))))
        assert discrimination.score_of_log_odds(w) == pytest.approx(tail if w < 0.0 else -tail, abs=5e-8), w


def test_log_odds_are_those_of_the_curve():
    """Catches a score taken from another curve than the probability. Source: the closed form, typed here."""
    for x in (0.01, 0.5, 1.0, 1.75, 3.0, 9.0):
        w = (2.7 + 0.7 * x) * math.log(x)
        assert discrimination.log_odds(x) == pytest.approx(w, rel=1e-13, abs=1e-15)
        assert discrimination.discrimination_probability(x) == pytest.approx(1.0 / (1.0 + x ** -(2.7 + 0.7 * x)), rel=1e-12)


def test_inverse():
    """Catches an inverse that stops early. Metamorphic: the curve at its inverse; 1e-10 is 1e-12 in log x on the steepest part,
    with room."""
    for p in (1e-6, 0.02, 0.108, 0.5, 0.9, 0.945, 0.999, 1.0 - 1e-9):
        assert discrimination.discrimination_probability(discrimination.discrimination_ratio(p)) == pytest.approx(p, abs=1e-10)
    assert discrimination.discrimination_ratio(0.5) == pytest.approx(1.0, abs=1e-10)


def test_cycles_are_johnsons_count_on_the_critical_dimension():
    """Catches lines for cycles, an area for its root. By hand: 1.8 x 0.5 m at 23 m with an IFOV of 17 um / 3 mm covers
    13.8 x 3.84 px, critical dimension 7.28 px, 3.64 cycles; a quarter of the flux halves them."""
    ifov = 17e-6 / 3e-3
    tall, wide = 1.8 / 23.0 / ifov, 0.5 / 23.0 / ifov
    assert discrimination.resolved_cycles(tall * wide, 1.0) == pytest.approx(3.64, abs=0.005)
    assert discrimination.resolved_cycles(tall * wide, 0.25) == pytest.approx(0.5 * 3.64, abs=0.003)
    assert discrimination.resolved_cycles(100.0, -1e-9) == 0.0


def test_normal_quantile_against_a_special_function_library():
    """Catches a tail that stops converging. Source: scipy.special.ndtri; 1e-13 absolute and relative, a few roundings."""
    p = np.concatenate(
        [10.0 ** np.linspace(-300, -1, 1200), np.linspace(0.01, 0.99, 1999), 1.0 - 10.0 ** np.linspace(-15, -1, 200)]
    )
    assert np.vectorize(discrimination.normal_quantile)(p) == pytest.approx(ndtri(p), rel=1e-13, abs=1e-13)
    assert discrimination.normal_quantile(0.0) == -math.inf
    assert discrimination.normal_quantile(1.0) == math.inf
    assert discrimination.normal_quantile(0.5) == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize("min_pixels", [1, 2, 3, 5, 64])
@pytest.mark.parametrize("threshold", [0.5, 2.0, 3.5, 5.0, 9.0])
def test_noise_window_against_a_statistics_library(min_pixels, threshold):
    """Catches a sum that starts one late, a lower tail for the upper. Source: scipy.stats.binom, survival function, relative
    1e-10 however small."""
    chance = 0.5 * math.erfc(threshold / math.sqrt(2.0))
    found = discrimination.noise_alarm_probability(64, min_pixels, threshold)
    assert found == pytest.approx(binom.sf(min_pixels - 1, 64, chance), rel=1e-10, abs=1e-300)


def test_noise_alarms_per_day_by_hand():
    """Catches looks per hour, windows of the wrong size, C(n, m). Hand count for a frame of 160 x 120, 5 looks a second, 2 of 3:
    300 windows, 432,000 looks, C(2, 1) = 2."""
    p = binom.sf(2, 64, 0.5 * math.erfc(2.5 / math.sqrt(2.0)))
    wanted = 300.0 * 432_000.0 * 2.0 * p**2 * (1.0 - p) ** 2
    assert discrimination.noise_alarms_per_day(160 * 120, 5.0, 3, 2.5, 2, 3) == pytest.approx(wanted, rel=1e-10)


def test_noise_alarms_with_one_look_in_one():
    """Catches a confirmation formula that fails at its corner. m = n = 1: every passing window is an alarm."""
    p = binom.sf(0, 64, 0.5 * math.erfc(3.0 / math.sqrt(2.0)))
    found = discrimination.noise_alarms_per_day(6400, 1.0, 1, 3.0, 1, 1)
    assert found == pytest.approx(100.0 * 86400.0 * p * (1.0 - p), rel=1e-10)


def test_raising_the_threshold_never_adds_noise_alarms():
    """Catches a sign. Metamorphic over the range of thresholds that a site may ask for."""
    rates = [discrimination.noise_alarms_per_day(19200, 5.0, 3, k, 3, 5) for k in np.linspace(3.0, 100.0, 60)]
    assert np.all(np.diff(rates) <= 0.0)
    assert rates[-1] == 0.0
