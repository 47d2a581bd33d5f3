"""Band radiance against direct quadrature, tables and closed limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.constants as si
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from fencecast.jit import vectorised
from fencecast.physics.radiance import (
    SECOND_RADIATION_CONSTANT_UM_K,
    STEFAN_BOLTZMANN_W_M2_K4,
    band_radiance,
    band_radiance_slope,
    planck_fraction,
)

BANDS_UM = [(8.0, 14.0), (3.0, 5.0), (7.5, 13.5), (10.0, 10.1), (3.0, 20.0), (3.0, 3.1), (19.9, 20.0)]


def spectral_radiance(wavelength_um, temperature_k):
    """Planck's law with the library's constants [W/(m²·sr·µm)]."""
    wavelength_m = wavelength_um * 1e-6
    exponent = si.h * si.c / (wavelength_m * si.k * temperature_k)
    return 2e-6 * si.h * si.c**2 / wavelength_m**5 / math.expm1(exponent)


def quadrature(temperature_k, low_um, high_um):
    return quad(spectral_radiance, low_um, high_um, args=(temperature_k,), epsabs=0.0, epsrel=1e-12, limit=200)[0]


def test_constants_are_those_of_the_si():
    """Catches: a mistyped constant. Source: CODATA as scipy ships it."""
    assert pytest.approx(si.h * si.c / si.k * 1e6, rel=1e-14) == SECOND_RADIATION_CONSTANT_UM_K
    assert pytest.approx(si.sigma, rel=1e-14) == STEFAN_BOLTZMANN_W_M2_K4


@pytest.mark.parametrize("lambda_t", [500.0, 800.0, 1448.0, 3000.0, 5000.0, 7990.0, 7996.0, 8000.0, 12000.0, 50000.0])
def test_fraction_against_quadrature(lambda_t):
    """Catches: a wrong coefficient or too few terms in either series (they meet at 7993 um K).

    Source: integral of x^3/(exp(x) - 1) over x; the tolerance is the docstring's promise.
    """
    x = si.h * si.c / si.k * 1e6 / lambda_t
    if x > 1.0:
        share = quad(lambda y: y**3 * math.exp(-y) / -math.expm1(-y), x, x + 80.0, epsabs=0.0, epsrel=1e-13, limit=200)[0]
        expected = 15.0 / math.pi**4 * share
    else:
        expected = 1.0 - 15.0 / math.pi**4 * quad(lambda y: y**3 / math.expm1(y), 0.0, x, epsabs=0.0, epsrel=1e-13)[0]
    assert planck_fraction(lambda_t) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize(
    ("lambda_t", "share"),
    [(1000.0, 0.000321), (2000.0, 0.066728), (2898.0, 0.250108), (3000.0, 0.273232), (5000.0, 0.633747), (8000.0, 0.856288)],
)
def test_fraction_against_the_handbook(lambda_t, share):
    """Catches: a wrong argument (frequency for wavelength, micrometre slips). Source: the blackbody table of heat-transfer
    textbooks (published values, not checked against the originals). That table is itself up to 4e-5 above the quadrature of the
    test before this one (at 8000 um K; it uses c2 = 14388), which is what the tolerance allows for; slips of argument or unit are
    thousands of times larger."""
    assert planck_fraction(lambda_t) == pytest.approx(share, abs=5e-5)


def test_fraction_reference_values():
    """Catches: any change of the series. Source: the model card, six digits."""
    assert planck_fraction(3000.0) == pytest.approx(0.273229, abs=6e-7)
    assert planck_fraction(5000.0) == pytest.approx(0.633726, abs=6e-7)


@pytest.mark.parametrize(
    ("celsius", "radiance"), [(-40.0, 15.1893), (0.0, 35.1520), (20.0, 49.3729), (26.85, 54.9335), (40.0, 66.6132)]
)
def test_radiance_reference_values(celsius, radiance):
    """Catches: a wrong band, a factor of pi, exitance for radiance. Source: the model card, 8-14 um, its printed digits."""
    assert band_radiance(celsius + 273.15, 8.0, 14.0) == pytest.approx(radiance, abs=6e-5)


def test_slope_reference_values():
    """Catches: the slope of the wrong temperature or band. Source: the model card, its printed digits."""
    assert band_radiance_slope(300.0, 8.0, 14.0) == pytest.approx(0.83782, abs=6e-6)
    assert band_radiance_slope(253.15, 8.0, 14.0) == pytest.approx(0.49705, abs=6e-6)


@pytest.mark.parametrize(("low_um", "high_um"), BANDS_UM)
@pytest.mark.parametrize("temperature_k", [200.0, 253.15, 300.0, 355.0, 400.0])
def test_radiance_against_quadrature(temperature_k, low_um, high_um):
    """Catches: loss of digits where two fractions nearly cancel. Tolerance: the docstring's promise."""
    assert band_radiance(temperature_k, low_um, high_um) == pytest.approx(quadrature(temperature_k, low_um, high_um), rel=1e-7)


@pytest.mark.parametrize(("low_um", "high_um"), BANDS_UM)
@pytest.mark.parametrize("temperature_k", [200.0, 253.15, 300.0, 355.0, 400.0])
def test_slope_against_quadrature(temperature_k, low_um, high_um):
    """Catches: a wrong edge term in the closed derivative. Source: integral of the derivative of Planck's law."""

    def derivative(wavelength_um):
        x = si.h * si.c / (wavelength_um * 1e-6 * si.k * temperature_k)
        return spectral_radiance(wavelength_um, temperature_k) * x / -math.expm1(-x) / temperature_k

    expected = quad(derivative, low_um, high_um, epsabs=0.0, epsrel=1e-12, limit=200)[0]
    assert band_radiance_slope(temperature_k, low_um, high_um) == pytest.approx(expected, rel=1e-7)


def test_radiance_of_all_wavelengths_is_stefan_boltzmann():
    """Catches: a wrong constant before the fraction. Closed form: sigma T^4 / pi."""
    everything = band_radiance(300.0, 0.2, 1e7)
    assert everything == pytest.approx(si.sigma * 300.0**4 / math.pi, rel=1e-10)


@given(temperature_k=st.floats(200.0, 400.0), middle_um=st.floats(8.5, 13.5))
def test_radiance_of_adjoining_bands_adds_up(temperature_k, middle_um):
    """Catches: a band edge used twice or dropped. Conservation; rounding of two subtractions."""
    parts = band_radiance(temperature_k, 8.0, middle_um) + band_radiance(temperature_k, middle_um, 14.0)
    assert parts == pytest.approx(band_radiance(temperature_k, 8.0, 14.0), rel=1e-12)


@given(temperature_k=st.floats(200.0, 399.0), step_k=st.floats(0.001, 1.0))
def test_radiance_rises_between_its_slopes(temperature_k, step_k):
    """Catches: a slope with the wrong sign or of another temperature: L is convex in 8-14 um up to 400 K, so that the mean rise
    lies between the slopes at both ends."""
    rise = (band_radiance(temperature_k + step_k, 8.0, 14.0) - band_radiance(temperature_k, 8.0, 14.0)) / step_k
    low, high = band_radiance_slope(temperature_k, 8.0, 14.0), band_radiance_slope(temperature_k + step_k, 8.0, 14.0)
    assert low * (1.0 - 1e-9) < rise < high * (1.0 + 1e-9)


def test_slope_times_difference_is_too_low_for_ten_kelvin():
    """Catches: contrast by slope sneaking in. Source: the model card, 5.4 % low at 0 C."""
    true = band_radiance(283.15, 8.0, 14.0) - band_radiance(273.15, 8.0, 14.0)
    assert 1.0 - 10.0 * band_radiance_slope(273.15, 8.0, 14.0) / true == pytest.approx(0.054, abs=0.0005)


def test_nothing_at_absolute_zero():
    """Catches: a division by zero or NaN at the edge of the domain."""
    assert planck_fraction(0.0) == 0.0
    assert band_radiance(0.0, 8.0, 14.0) == 0.0
    assert band_radiance_slope(0.0, 8.0, 14.0) == 0.0


def test_array_form_broadcasts():
    """Catches: a wrapper that loses the scalar's arguments or shape."""
    temperatures = np.array([[250.0], [300.0]])
    lows = np.array([8.0, 9.0, 10.0])
    table = vectorised(band_radiance)(temperatures, lows, 14.0)
    assert table.shape == (2, 3)
    assert table[1, 2] == pytest.approx(band_radiance(300.0, 10.0, 14.0), rel=1e-12)
