"""Whether an hour has fog, and of which kind, by a written rule that is never sure.

Tests: tests/meteorology/test_hours_rules.py.
"""

from __future__ import annotations

import numpy as np

from fencecast.meteorology.history import hours_before
from fencecast.physics.air import KOSCHMIEDER_OPTICAL_RANGE, koschmieder_constant
from fencecast.physics.droplets import rain_extinction_per_m, snow_visibility_m

FOG_BELOW_M = 1000.0  # WMO: fog is a visibility (optical range) below 1 km by drops of water
RAIN_LEAVES = 2.0  # fog beside rain when the air takes this many times what the rain does
SNOW_LEAVES = 4.0  # laws of snow differ by a factor of three
CALM_M_S, WINDY_M_S = 1.5, 3.5
DAY_FACTOR = 0.3
WARMING_FACTOR = 0.4
AFTER_RAIN_FACTOR = 0.5
SUREST = 0.9


def optical_range_m(visibility_m: np.ndarray, convention: int) -> np.ndarray:
    """Optical range (5 %) [m] of a visibility by either convention: 0 optical range, 1 visual range (2 %). Any shape."""
    return visibility_m * KOSCHMIEDER_OPTICAL_RANGE / koschmieder_constant(convention)


def is_fog(visibility_m, rain_mm_h, snow_mm_h, air_c, convention: int) -> np.ndarray:
    """Whether each hour has fog [bool] (hours,): optical range below 1 km that rain and snow do not explain.

    Rain explains it while the air takes less than twice what the rain takes of visible light, snow while less than four times
    (judgement; extinctions of `physics.droplets`).
    """
    visible = KOSCHMIEDER_OPTICAL_RANGE / optical_range_m(visibility_m, convention)
    explained = np.zeros(len(visible))
    for hour in np.flatnonzero((visible > KOSCHMIEDER_OPTICAL_RANGE / FOG_BELOW_M) & ((rain_mm_h > 0.0) | (snow_mm_h > 0.0))):
        snow = KOSCHMIEDER_OPTICAL_RANGE / snow_visibility_m(snow_mm_h[hour], air_c[hour] >= 0.0)
        explained[hour] = RAIN_LEAVES * rain_extinction_per_m(rain_mm_h[hour]) + SNOW_LEAVES * snow
    return (visible > KOSCHMIEDER_OPTICAL_RANGE / FOG_BELOW_M) & (visible > explained)


def radiation_share(wind_m_s, air_c, rain_mm_h, sun_elevation_deg) -> np.ndarray:
    """How sure a fog of each hour would be radiation fog [0.1-0.9], not advection fog; all arrays (hours,).

    Radiation fog is born on calm, clear, cooling nights and lifts in the morning; advection fog comes with wind. Judgement, no
    source, a product of: calm (1 up to 1.5 m/s, 0 from 3.5 m/s, half at 2.5), night or within three hours after sunrise (else
    0.3), not warming (air not more than 0.5 K warmer than three hours ago while the sun is down; else 0.4), and no rain in this
    hour or the three before (else 0.5). Never below 0.1 or above 0.9.
    """
    calm = np.clip((WINDY_M_S - wind_m_s) / (WINDY_M_S - CALM_M_S), 0.0, 1.0)
    down = sun_elevation_deg < 0.0
    early = down | hours_before(down, 1) | hours_before(down, 2) | hours_before(down, 3)
    warming = down & (air_c - hours_before(air_c, 3) > 0.5)
    rained = np.max([hours_before(rain_mm_h, back) for back in range(4)], axis=0) > 0.0
    share = calm * np.where(early, 1.0, DAY_FACTOR) * np.where(warming, WARMING_FACTOR, 1.0)
    return np.clip(share * np.where(rained, AFTER_RAIN_FACTOR, 1.0), 1.0 - SUREST, SUREST)
