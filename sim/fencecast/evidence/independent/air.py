"""Transmission of the air and of water on the window, from the model's section on the air.

Extinctions in 1/m (natural logarithm), distances in metres, temperatures in Celsius, relative humidity 0..1.
"""

import numpy as np
from scipy.interpolate import CubicSpline

# Fog: extinction at 8-14 um over extinction at 0.55 um, by effective drop radius [um]: modified gamma, alpha 6, water index
# of Hale and Querry 1973, weighted by Planck's curve at 300 K. Worked out apart from the product's table with a general Mie
# library, 13 wavelengths; the values that the model prints (1, 2, 4, 6, 10, 20 um) are met within 0.6 %.
_RADIUS_UM = np.array([0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0])
_RATIO = np.array(
    [0.0291, 0.0445, 0.0799, 0.1413, 0.2071, 0.3512, 0.4972, 0.6332, 0.7528, 0.8529, 0.9333, 0.9953, 1.0414]
    + [1.0969, 1.1254, 1.1213, 1.1076, 1.0963, 1.0810]
)
_FOG_CURVE = CubicSpline(np.log(_RADIUS_UM), np.log(_RATIO))
HAZE_RATIO = 0.10

# Absorption index of water, Hale and Querry 1973; joined by straight lines of its logarithm (straight lines of the index itself
# give 0.564 for a film of 5 um, where the model prints 0.57).
_WAVELENGTH_UM = np.array([8.0, 9.0, 10.0, 10.6, 11.0, 12.0, 13.0, 14.0])
_ABSORPTION = np.array([0.0343, 0.0399, 0.0508, 0.0723, 0.0968, 0.199, 0.305, 0.370])


def saturation_pressure_hpa(temperature_c):
    return 6.112 * np.exp(17.62 * temperature_c / (243.12 + temperature_c))


def water_vapour_g_m3(temperature_c, humidity):
    return 216.68 * humidity * saturation_pressure_hpa(temperature_c) / (273.15 + temperature_c)


def gas_transmission(distance_m, vapour_g_m3):
    depth = (2.024e-3 + 4.974e-4 * vapour_g_m3**0.7245) * distance_m**0.5709 + 9.308e-7 * vapour_g_m3**2 * distance_m
    return np.exp(-depth)


def fog_ratio(radius_um):
    """Interpolated in the logarithms; held at the ends of the table."""
    return float(np.exp(_FOG_CURVE(np.log(np.clip(radius_um, _RADIUS_UM[0], _RADIUS_UM[-1])))))


def extinctions(draw):
    """(fog or haze, rain, snow) in 1/m from one draw of a weather class (a dict, see weather_draw)."""
    contrast_constant = 2.996 if draw["visibility_convention"] == "optical_range" else 3.912
    by_visibility = contrast_constant / draw["visibility_m"]
    raining, snowing = draw["rain_mm_h"] > 0.0, draw["snow_mm_h"] > 0.0
    fog_named = draw["fog"] != "none"
    rain = 3.65e-4 * draw["rain_mm_h"] ** 0.63 if raining else 0.0
    snow = 0.0
    if snowing:
        if draw["visibility_given"] and not fog_named:
            snow = 1.2 * by_visibility
        else:
            density_speed = 0.017 * 100.0 if draw["air_temperature_c"] < 0.0 else 0.072 * 200.0
            rate_cm_s = draw["snow_mm_h"] * 0.1 / 3600.0
            snow = 1.2 * 2.996 / (1.3 * density_speed / rate_cm_s * 0.01)
    if fog_named:
        fog = fog_ratio(draw["drop_radius_um"]) * by_visibility
    elif raining or snowing:
        fog = 0.0
    else:
        fog = HAZE_RATIO * by_visibility
    return fog, rain, snow


def window_transmission(window, band_um, radiance_slope_at):
    """Share of the contrast that a wet window passes.

    radiance_slope_at: function of wavelength [um] giving the weight (dL/dT at 300 K)."""
    state = window.get("state", "dry")
    if state == "drops":
        return 1.0 - window["share"]
    if state == "film":
        nodes, weights = np.polynomial.legendre.leggauss(64)
        wavelength = 0.5 * (band_um[0] + band_um[1]) + 0.5 * (band_um[1] - band_um[0]) * nodes
        weights = weights * radiance_slope_at(wavelength)
        index = np.exp(np.interp(wavelength, _WAVELENGTH_UM, np.log(_ABSORPTION)))
        absorbed = 4.0 * np.pi * index * window["film_um"] / wavelength
        return float(np.sum(weights * np.exp(-absorbed)) / np.sum(weights))
    return 1.0
