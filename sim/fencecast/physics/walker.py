"""The contrast of one plain walker before the ground, at no distance: what the hours of a year are compared by.

Tests: tests/meteorology/test_ground_hours.py.
"""

from __future__ import annotations

import numpy as np

from fencecast.jit import compiled, compiled_alone
from fencecast.physics.radiance import DEFAULT_BAND_UM, band_radiance, band_radiance_slope
from fencecast.physics.surfaces import (
    clothing_temperature_k,
    leaving_radiance,
    median_clo,
    upright_environment_radiance,
    wet_clothing_emissivity,
)

WALKING_M_S = 1.3  # mean of the walking gait
CLOTHING_EMISSIVITY = 0.87  # middle of what is drawn, and that of nylon (NIJ)
REFERENCE_K = 300.0  # where NETD is stated


@compiled
def walker_contrast_k(air_k, relative_humidity, wind_m_s, wetness, ground_k, low_sky_k, ground_emissivity):
    """Radiance of a walker's clothing less that of the ground behind, over dL/dT(300 K) [K, as NETD is stated]; 8-14 um.

    air_k, ground_k, low_sky_k [K]; relative_humidity, wetness, ground_emissivity [0-1]; wind_m_s [m/s]. Scalars. Median dress for
    the air (`median_clo`), walking at 1.3 m/s, dry emissivity 0.87. Without air or window between, and without sun on the
    clothing. Check: test_ground_hours.py::test_walker_*.
    """
    low, high = DEFAULT_BAND_UM
    clothing_k = clothing_temperature_k(
        air_k,
        relative_humidity,
        wind_m_s,
        WALKING_M_S,
        median_clo(air_k),
        CLOTHING_EMISSIVITY,
        wetness,
        ground_k,
        low_sky_k,
    )
    sky = band_radiance(low_sky_k, low, high)
    ground = leaving_radiance(ground_emissivity, band_radiance(ground_k, low, high), sky)
    emissivity = wet_clothing_emissivity(CLOTHING_EMISSIVITY, wetness)
    environment = upright_environment_radiance(ground, sky)
    clothing = leaving_radiance(emissivity, band_radiance(clothing_k, low, high), environment)
    return (clothing - ground) / band_radiance_slope(REFERENCE_K, low, high)


@compiled_alone
def walker_contrasts_k(air_k, relative_humidity, wind_m_s, wetness, ground_k, low_sky_k, ground_emissivity):
    """`walker_contrast_k` of many states: arrays of one shape (states,), ground_emissivity a number.

    Check: test_ground_hours.py::test_walker_*.
    """
    contrast = np.empty(air_k.size)
    for k in range(air_k.size):
        contrast[k] = walker_contrast_k(
            air_k[k], relative_humidity[k], wind_m_s[k], wetness[k], ground_k[k], low_sky_k[k], ground_emissivity
        )
    return contrast
