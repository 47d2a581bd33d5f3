"""Rain or snow: what falls, when a record only says how much.

Tests: tests/meteorology/test_hours_rules.py.
"""

from __future__ import annotations

import numpy as np

ALL_SNOW_C, ALL_RAIN_C = 0.0, 2.0  # wet-bulb temperature; half and half at 1 C
SNOW_DENSITY = 0.2  # of lying snow over that of water: settled snow, judgement, no source


def wet_bulb_c(air_c: np.ndarray, relative_humidity: np.ndarray) -> np.ndarray:
    """Wet-bulb temperature [C] at sea level from air temperature [C] and relative humidity [0-1], any shape.

    Formula: Stull, J. Appl. Meteorol. Climatol. 50 (2011), [M]; within 1 K over -20..50 C and 5-99 %.
    """
    percent = 100.0 * np.clip(relative_humidity, 0.05, 0.99)
    return (
        air_c * np.arctan(0.151977 * np.sqrt(percent + 8.313659))
        + np.arctan(air_c + percent)
        - np.arctan(percent - 1.676331)
        + 0.00391838 * percent**1.5 * np.arctan(0.023101 * percent)
        - 4.686035
    )


def snow_share(air_c: np.ndarray, relative_humidity: np.ndarray) -> np.ndarray:
    """Share of precipitation that falls as snow [0-1]: all at a wet bulb of 0 C and below, none from 2 C up, straight between.

    Half at 1 C of wet bulb is near what stations see on the mean (Sims and Liu 2015, [M]); the line is judgement.
    """
    return np.clip((ALL_RAIN_C - wet_bulb_c(air_c, relative_humidity)) / (ALL_RAIN_C - ALL_SNOW_C), 0.0, 1.0)


def rain_and_snow_mm_h(
    rain: np.ndarray, snow: np.ndarray, either: np.ndarray, air_c: np.ndarray, relative_humidity: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Rain and snow [mm/h of water] of each hour, NaN where the record says neither; all arrays (hours,).

    rain, snow: what the record says of each; either: precipitation of a kind that it does not say. What it says of rain or snow
    stands. With one of the two and the sum, the other is the rest. With one of the two alone, the other is none. With the sum
    alone, `snow_share` splits it.
    """
    share = snow_share(air_c, relative_humidity)
    rain_out = np.where(np.isnan(rain), np.maximum(either - snow, 0.0), rain)
    snow_out = np.where(np.isnan(snow), np.maximum(either - rain, 0.0), snow)
    rain_out = np.where(np.isnan(rain) & np.isnan(snow), either * (1.0 - share), rain_out)
    snow_out = np.where(np.isnan(rain) & np.isnan(snow), either * share, snow_out)
    rain_out = np.where(np.isnan(rain_out) & ~np.isnan(snow), 0.0, rain_out)
    snow_out = np.where(np.isnan(snow_out) & ~np.isnan(rain), 0.0, snow_out)
    return rain_out, snow_out


def lying_snow_mm(depth_m: np.ndarray) -> np.ndarray:
    """Lying snow as water [mm] from its depth [m], NaN where the record has none: a fifth of the depth (judgement, no source)."""
    return 1000.0 * SNOW_DENSITY * depth_m
