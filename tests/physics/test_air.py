"""Humidity and clear air against other formulas and the band-model run that the fit stands for."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pythermalcomfort.psychrometrics import p_sat

from fencecast.physics import air
from fencecast.physics.radiance import band_radiance

# LOWTRAN7 band model, 8-14 um, quoted in the model card: air temperature [C], humidity, distance [m], transmission.
BAND_MODEL = [
    (-10.0, 0.80, 60.0, 0.9713),
    (0.0, 0.80, 150.0, 0.9410),
    (10.0, 0.70, 60.0, 0.9573),
    (20.0, 0.50, 20.0, 0.9749),
    (20.0, 0.50, 100.0, 0.9347),
    (20.0, 0.90, 100.0, 0.9055),
    (30.0, 0.50, 150.0, 0.8801),
]


def two_exponentials(celsius, relative_humidity, distance_m):
    """Minkina and Dudzik, Infrared Thermography (2009): two-exponential atmosphere of short paths."""
    water = two_exponentials_vapour(celsius, relative_humidity)
    first = math.exp(-math.sqrt(distance_m) * (0.006569 - 0.002276 * math.sqrt(water)))
    second = math.exp(-math.sqrt(distance_m) * (0.01262 - 0.00667 * math.sqrt(water)))
    return 1.9 * first + (1.0 - 1.9) * second


def two_exponentials_vapour(celsius, relative_humidity):
    """Their water vapour [g/m3]."""
    return relative_humidity * math.exp(1.5587 + 0.06939 * celsius - 2.7816e-4 * celsius**2 + 6.8455e-7 * celsius**3)


def murphy_koop_hpa(temperature_k):
    """Saturation over liquid water, Murphy and Koop, Q. J. R. Meteorol. Soc. 131 (2005), eq. 10.

    Published value, not checked against the original.
    """
    t = temperature_k
    supercooled = math.tanh(0.0415 * (t - 218.8)) * (53.878 - 1331.22 / t - 9.44523 * math.log(t) + 0.014025 * t)
    return 0.01 * math.exp(54.842763 - 6763.22 / t - 4.210 * math.log(t) + 0.000367 * t + supercooled)


def transmission(celsius, relative_humidity, distance_m):
    vapour = air.water_vapour_density_g_m3(celsius + 273.15, relative_humidity)
    return air.gas_transmission(distance_m, vapour)


def test_saturation_against_murphy_and_koop():
    """Catches: a mistyped Magnus constant, ice for water below freezing (10 % per 10 K). The triple point (6.11657 hPa) shows
    that the reference was remembered right; 0.75 % is the docstring's promise, the worst being -45 C."""
    assert murphy_koop_hpa(273.16) == pytest.approx(6.11657, rel=1e-4)
    for celsius in range(-45, 61, 5):
        assert air.saturation_pressure_hpa(celsius + 273.15) == pytest.approx(murphy_koop_hpa(celsius + 273.15), rel=0.0075)


def test_saturation_against_a_comfort_library():
    """Catches: hPa for kPa, kelvin for Celsius. Source: pythermalcomfort (Hyland and Wexler), over water from 0 C up; the two
    formulas are known to differ by 0.3 %."""
    for celsius in range(0, 61, 5):
        assert 100.0 * air.saturation_pressure_hpa(celsius + 273.15) == pytest.approx(float(p_sat(celsius)), rel=0.004)


def test_vapour_density_against_the_gas_law():
    """Catches: a wrong constant. Closed form: e / (R/M T), CODATA gas constant, 18.01528 g/mol."""
    pressure_pa = 100.0 * air.vapour_pressure_hpa(288.15, 0.65)
    expected_g_m3 = 1000.0 * pressure_pa / (8.314462618 / 0.01801528 * 288.15)
    assert air.water_vapour_density_g_m3(288.15, 0.65) == pytest.approx(expected_g_m3, rel=1e-4)


def test_vapour_density_against_minkina_and_dudzik():
    """Catches: humidity in percent, a missing temperature. Source: their cubic, which is 2.4 % low at -20 C."""
    for celsius in range(-20, 36, 5):
        density = air.water_vapour_density_g_m3(celsius + 273.15, 0.6)
        assert two_exponentials_vapour(celsius, 0.6) == pytest.approx(density, rel=0.03)


@given(celsius=st.floats(-40.0, 50.0), relative_humidity=st.floats(0.01, 1.0))
def test_dew_point_inverts_the_vapour_pressure(celsius, relative_humidity):
    """Catches: a wrong inverse; closed form to rounding."""
    dew_k = air.dew_point_k(celsius + 273.15, relative_humidity)
    assert air.saturation_pressure_hpa(dew_k) == pytest.approx(
        air.vapour_pressure_hpa(celsius + 273.15, relative_humidity), rel=1e-11
    )


@pytest.mark.parametrize(("celsius", "relative_humidity", "distance_m", "expected"), BAND_MODEL)
def test_gas_against_the_band_model(celsius, relative_humidity, distance_m, expected):
    """Catches: a mistyped coefficient or power. Tolerance: twice the fit's published rms error of 0.0015."""
    assert transmission(celsius, relative_humidity, distance_m) == pytest.approx(expected, abs=0.003)


def test_gas_against_minkina_and_dudzik():
    """Catches: a fit that follows its run and not the air. Source: their formula, up to 150 m and 15 g/m3; 0.016 is the
    agreement that the model card states. They part in hot humid air, as stated."""
    for celsius in range(-20, 41, 5):
        for relative_humidity in np.linspace(0.1, 1.0, 10):
            if air.water_vapour_density_g_m3(celsius + 273.15, relative_humidity) < 15.0:
                for distance_m in (5.0, 10.0, 20.0, 40.0, 60.0, 100.0, 150.0):
                    other = two_exponentials(celsius, relative_humidity, distance_m)
                    assert transmission(celsius, relative_humidity, distance_m) == pytest.approx(other, abs=0.016)
    assert two_exponentials(35.0, 0.8, 100.0) == pytest.approx(0.868, abs=0.0006)
    assert transmission(35.0, 0.8, 100.0) == pytest.approx(0.815, abs=0.0006)


@pytest.mark.parametrize(
    ("celsius", "relative_humidity", "vapour", "distance_m", "tau"),
    [
        (5.0, 0.75, 5.09318, 8.59949, 0.987432),
        (5.0, 0.75, 5.09318, 45.1104, 0.96741),
        (7.0, 0.99, 7.66315, 20.2473, 0.975805),
        (7.0, 0.99, 7.66315, 45.1104, 0.961354),
    ],
)
def test_gas_against_an_independent_program(celsius, relative_humidity, vapour, distance_m, tau):
    """Catches: any slip between humidity and transmission. Source: the worked case's slow program, its six digits."""
    assert air.water_vapour_density_g_m3(celsius + 273.15, relative_humidity) == pytest.approx(vapour, rel=2e-6)
    assert transmission(celsius, relative_humidity, distance_m) == pytest.approx(tau, abs=1e-6)


@given(distance_m=st.floats(0.1, 2000.0), vapour=st.floats(0.0, 50.0))
def test_gas_pieces_make_the_whole(distance_m, vapour):
    """Catches: kernels that use the coefficients and get another air than `gas_transmission`."""
    depth = air.gas_power_coefficient(vapour) * distance_m**air.GAS_POWER + air.gas_linear_coefficient(vapour) * distance_m
    assert air.gas_transmission(distance_m, vapour) == pytest.approx(math.exp(-depth), rel=1e-12)


@given(distance_m=st.floats(0.1, 1000.0), factor=st.floats(1.01, 5.0), vapour=st.floats(0.0, 40.0))
def test_gas_falls_with_distance_and_vapour(distance_m, factor, vapour):
    """Catches: a sign; and an exponential law: in a band the first metres take more than the next (strong lines saturate)."""
    tau = air.gas_transmission(distance_m, vapour)
    assert 0.0 < air.gas_transmission(factor * distance_m, vapour) < tau < 1.0
    assert air.gas_transmission(distance_m, vapour + factor) < tau
    assert air.gas_transmission(2.0 * distance_m, vapour) > tau * tau


def test_no_path_loses_nothing():
    """Catches: a power of zero or of a negative distance."""
    assert air.gas_transmission(0.0, 10.0) == 1.0
    assert air.gas_transmission(-1.0, 10.0) == 1.0


def test_visibility_constants():
    """Catches: conventions swapped. Closed form: -ln of the contrast threshold, three digits kept."""
    assert air.koschmieder_constant(air.OPTICAL_RANGE) == pytest.approx(-math.log(0.05), abs=5e-4)
    assert air.koschmieder_constant(air.VISUAL_RANGE) == pytest.approx(-math.log(0.02), abs=5e-4)


@given(
    tau_target=st.floats(0.01, 1.0),
    share=st.floats(0.01, 1.0),
    target_k=st.floats(250.0, 320.0),
    ground_k=st.floats(250.0, 320.0),
    air_k=st.floats(250.0, 320.0),
)
def test_contrast_is_the_difference_of_two_paths(tau_target, share, target_k, ground_k, air_k):
    """Catches: a dropped air term or swapped transmissions. Closed form: each path gives tau L + (1 - tau) L_air."""
    target, ground, glow = (band_radiance(t, 8.0, 14.0) for t in (target_k, ground_k, air_k))
    tau_ground = tau_target * share
    seen = tau_target * target + (1.0 - tau_target) * glow
    behind = tau_ground * ground + (1.0 - tau_ground) * glow
    assert air.apparent_contrast(tau_target, tau_ground, target, ground, glow) == pytest.approx(seen - behind, abs=1e-12)


def test_contrast_of_a_uniform_world_is_nothing():
    """Catches: contrast made by the air alone."""
    assert air.apparent_contrast(0.8, 0.5, 40.0, 40.0, 40.0) == 0.0
