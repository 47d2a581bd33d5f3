"""Radiance of a black body inside a band of wavelengths, and its slope with temperature.

All contrast in the package is a difference of these radiances, never a slope times a difference of temperatures: at 0 C a
difference of 10 K handled by the slope at 0 C comes out 5.4 % low.

Tests: tests/physics/test_radiance.py.
"""

from __future__ import annotations

import math

from fencecast.jit import compiled

# Exact since the SI of 2019: c2 = h c / k, sigma = 2 pi^5 k^4 / (15 h^3 c^2).
SECOND_RADIATION_CONSTANT_UM_K = 14387.768775039337
STEFAN_BOLTZMANN_W_M2_K4 = 5.670374419184429e-8
DEFAULT_BAND_UM = (8.0, 14.0)

_SHARE = 15.0 / math.pi**4
_SIGMA_OVER_PI = STEFAN_BOLTZMANN_W_M2_K4 / math.pi
_SERIES_CROSSOVER = 1.8  # below it the power series needs fewer terms than the exponential one
_SERIES_REACH = 26.0  # terms are summed until exp(-n x) < exp(-26) exp(-x): 5e-12 of the first


@compiled
def planck_fraction(lambda_t_um_k):
    """Share of a black body's total emission at wavelengths from 0 to lambda.

    lambda_t_um_k: wavelength times temperature [um K], scalar. Zero or less gives 0.
    Valid for every positive value: relative error below 1e-10 over 500-50,000 um K.
    Formula: with x = c2 / (lambda T), F = 15/pi^4 sum_n exp(-n x)/n (x^3 + 3 x^2/n + 6 x/n^2 + 6/n^3) (Chang and Rhee, Int.
    Comm. Heat Mass Transfer 11, 1984); for small x one minus the integral of the power series of x^3/(exp(x) - 1), whose
    coefficients are Bernoulli numbers. Check: test_radiance.py::test_fraction_*.
    """
    if lambda_t_um_k <= 0.0:
        return 0.0
    x = SECOND_RADIATION_CONSTANT_UM_K / lambda_t_um_k
    if x < _SERIES_CROSSOVER:
        y = x * x
        # B_2k / ((2k)! (2k + 3)), k = 9 down to 1
        tail = 43867.0 / (798.0 * 6402373705728000.0 * 21.0)
        tail = tail * y - 3617.0 / (510.0 * 20922789888000.0 * 19.0)
        tail = tail * y + 7.0 / (6.0 * 87178291200.0 * 17.0)
        tail = tail * y - 691.0 / (2730.0 * 479001600.0 * 15.0)
        tail = tail * y + 5.0 / (66.0 * 3628800.0 * 13.0)
        tail = tail * y - 1.0 / (30.0 * 40320.0 * 11.0)
        tail = tail * y + 1.0 / (42.0 * 720.0 * 9.0)
        tail = tail * y - 1.0 / (30.0 * 24.0 * 7.0)
        tail = tail * y + 1.0 / (6.0 * 2.0 * 5.0)
        return 1.0 - _SHARE * x * y * (1.0 / 3.0 - 0.125 * x + tail * y)
    step = math.exp(-x)
    terms = int(_SERIES_REACH / x) + 1
    total = 0.0
    power = 1.0
    for n in range(1, terms + 1):
        power *= step
        inverse = 1.0 / n
        total += power * inverse * (x * x * x + inverse * (3.0 * x * x + inverse * (6.0 * x + inverse * 6.0)))
    return _SHARE * total


@compiled
def band_radiance(temperature_k, band_low_um, band_high_um):
    """Radiance of a black body within a band [W/(m²·sr)].

    temperature_k [K] > 0, band_low_um < band_high_um [um], scalars. Relative error below 1e-7 over 200-400 K for bands inside
    3-20 um that are at least 0.1 um wide (two fractions are subtracted). Zero for a temperature of zero or less.
    Formula: L = sigma T^4 / pi [F(high T) - F(low T)], `planck_fraction` for F. Check: test_radiance.py::test_radiance_*.
    """
    if temperature_k <= 0.0:
        return 0.0
    square = temperature_k * temperature_k
    return (
        _SIGMA_OVER_PI
        * square
        * square
        * (planck_fraction(band_high_um * temperature_k) - planck_fraction(band_low_um * temperature_k))
    )


@compiled
def band_radiance_slope(temperature_k, band_low_um, band_high_um):
    """Derivative of `band_radiance` by temperature [W/(m²·sr·K)].

    Arguments and validity as `band_radiance`. Formula: the derivative of that product, closed: with x = c2/(lambda T),
    dL/dT = sigma T^3 / pi [4 (F(high T) - F(low T)) + 15/pi^4 (g(x_high) - g(x_low))], g(x) = x^4 / (exp(x) - 1).
    Check: test_radiance.py::test_slope_*.
    """
    if temperature_k <= 0.0:
        return 0.0
    high = band_high_um * temperature_k
    low = band_low_um * temperature_k
    x_high = SECOND_RADIATION_CONSTANT_UM_K / high
    x_low = SECOND_RADIATION_CONSTANT_UM_K / low
    edge_high = x_high**4 / math.expm1(x_high)
    edge_low = x_low**4 / math.expm1(x_low)
    return (
        _SIGMA_OVER_PI
        * temperature_k**3
        * (4.0 * (planck_fraction(high) - planck_fraction(low)) + _SHARE * (edge_high - edge_low))
    )
