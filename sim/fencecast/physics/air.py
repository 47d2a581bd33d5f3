"""The clear air: water vapour in it, what it passes in the 8-14 um band, and how contrast is built across it.

Tests: tests/physics/test_air.py.
"""

from __future__ import annotations

import math

from fencecast.jit import compiled
from fencecast.units import ZERO_CELSIUS_K

GAS_POWER = 0.5709
GAS_FIT_RANGE_M = (5.0, 300.0)  # beyond it the trend is kept; whoever prints the number marks it as extrapolated

OPTICAL_RANGE = 0  # visibility at 5 % contrast: what weather stations report
VISUAL_RANGE = 1  # visibility at 2 % contrast
KOSCHMIEDER_OPTICAL_RANGE = 2.996
KOSCHMIEDER_VISUAL_RANGE = 3.912


@compiled
def saturation_pressure_hpa(temperature_k):
    """Saturation vapour pressure over liquid water [hPa], also below freezing (as humidity is reported).

    temperature_k [K], scalar; within 0.75 % of Murphy and Koop (2005) over -45..60 C; 0 at 30.03 K and below.
    Formula: 6.112 exp(17.62 t / (243.12 + t)), t in C (WMO No. 8, Magnus). Check: test_air.py::test_saturation_*.
    """
    celsius = temperature_k - ZERO_CELSIUS_K
    if celsius <= -243.12:
        return 0.0
    return 6.112 * math.exp(17.62 * celsius / (243.12 + celsius))


@compiled
def vapour_pressure_hpa(air_temperature_k, relative_humidity):
    """Pressure of the water vapour in the air [hPa]: humidity times the saturation pressure over water.

    air_temperature_k [K], relative_humidity [fraction, 0-1], scalars.
    """
    return relative_humidity * saturation_pressure_hpa(air_temperature_k)


@compiled
def dew_point_k(air_temperature_k, relative_humidity):
    """Temperature at which the vapour in the air saturates it [K]: the Magnus formula solved for temperature.

    Arguments as `vapour_pressure_hpa`. Humidity below 1e-6 counts as 1e-6 (dry air has no dew point).
    """
    celsius = air_temperature_k - ZERO_CELSIUS_K
    logarithm = math.log(max(relative_humidity, 1e-6)) + 17.62 * celsius / (243.12 + celsius)
    return ZERO_CELSIUS_K + 243.12 * logarithm / (17.62 - logarithm)


@compiled
def water_vapour_density_g_m3(air_temperature_k, relative_humidity):
    """Absolute humidity [g/m3]: 216.68 e / T, e in hPa (ideal gas law).

    Arguments as `vapour_pressure_hpa`. Check: test_air.py::test_vapour_density_*.
    """
    return 216.68 * vapour_pressure_hpa(air_temperature_k, relative_humidity) / air_temperature_k


@compiled
def gas_power_coefficient(vapour_g_m3):
    """Factor of d^GAS_POWER in -ln(transmission) of clear air [1/m^0.5709]: 2.024e-3 + 4.974e-4 rho^0.7245.

    vapour_g_m3 [g/m3] >= 0, scalar. Validity and source: `gas_transmission`.
    """
    return 2.024e-3 + 4.974e-4 * max(vapour_g_m3, 0.0) ** 0.7245


@compiled
def gas_linear_coefficient(vapour_g_m3):
    """Factor of d in -ln(transmission) of clear air [1/m]: 9.308e-7 rho^2, the vapour continuum.

    vapour_g_m3 [g/m3] >= 0, scalar. Validity and source: `gas_transmission`.
    """
    return 9.308e-7 * vapour_g_m3 * vapour_g_m3


@compiled
def gas_transmission(distance_m, vapour_g_m3):
    """What the gases of clear air pass in 8-14 um over a path [fraction].

    distance_m [m], vapour_g_m3 [g/m3], scalars. Valid over 5-300 m (GAS_FIT_RANGE_M) and -20..40 C; shorter paths tend to 1,
    longer ones keep the trend and are extrapolated; zero or negative distance gives 1. The band is fixed: a camera with another
    band still gets the air of 8-14 um.
    Formula: -ln tau = (2.024e-3 + 4.974e-4 rho^0.7245) d^0.5709 + 9.308e-7 rho^2 d, the project's fit to a run of the LOWTRAN7
    band model (rms error 0.0016, largest 0.0096 over all runs of that fit). Check: test_air.py::test_gas_*.
    """
    if distance_m <= 0.0:
        return 1.0
    depth = gas_power_coefficient(vapour_g_m3) * distance_m**GAS_POWER + gas_linear_coefficient(vapour_g_m3) * distance_m
    return math.exp(-depth)


@compiled
def koschmieder_constant(convention):
    """Optical depth that a visibility stands for: 2.996 at OPTICAL_RANGE (0; 5 % contrast), 3.912 at VISUAL_RANGE (1; 2 %).

    The error between the two is 31 % of the extinction, so the convention is an input. Anything but 1 counts as optical range.
    """
    if convention == VISUAL_RANGE:
        return KOSCHMIEDER_VISUAL_RANGE
    return KOSCHMIEDER_OPTICAL_RANGE


@compiled
def apparent_contrast(tau_target, tau_background, target_radiance, background_radiance, air_radiance):
    """Contrast of a surface before a farther background, both seen through emitting air [radiance units of the arguments].

    tau_target, tau_background: transmission to each [fraction], tau_background <= tau_target; the radiances leaving the target
    and the background, and that of a black body at air temperature, in one unit. Scalars.
    Formula: tau_t (L_t - L_b) + (tau_t - tau_b) (L_b - L_air): the difference of two paths, each tau L + (1 - tau) L_air.
    Check: test_air.py::test_contrast_*.
    """
    return tau_target * (target_radiance - background_radiance) + (tau_target - tau_background) * (
        background_radiance - air_radiance
    )
