"""How much structure of the background the analytics' background model leaves over, by wind, sun and rain.

Tests: tests/meteorology/test_hours_rules.py.
"""

from __future__ import annotations

import numpy as np

CALM_NIGHT_K = 0.1
WIND_K_PER_M_S = 0.09  # above 1 m/s: 0.9 K more at 11 m/s
SUN_K = 0.9  # more in 800 W/m2
FULL_SUN_W_M2 = 800.0
RAIN_K, RAIN_FULL_MM_H = 0.2, 10.0


def clutter_k(wind_m_s: np.ndarray, solar_w_m2: np.ndarray, rain_mm_h: np.ndarray) -> np.ndarray:
    """Clutter of the background [K]: 0.1 on calm nights, 1.0 at 11 m/s or in full sun, their sum when both; broadcasting.

    wind_m_s [m/s], solar_w_m2 on the level [W/m2], rain_mm_h [mm/h]. Judgement, no source: 0.1 + 0.09 (wind - 1 m/s) for what
    moves, + 0.9 sun/800 for patches that warm at different rates, + up to 0.2 for rain of 10 mm/h and more (drops and splashes).
    """
    moving = WIND_K_PER_M_S * np.maximum(wind_m_s - 1.0, 0.0)
    sunlit = SUN_K * np.maximum(solar_w_m2, 0.0) / FULL_SUN_W_M2
    splashing = RAIN_K * np.minimum(rain_mm_h / RAIN_FULL_MM_H, 1.0)
    return CALM_NIGHT_K + moving + sunlit + splashing
