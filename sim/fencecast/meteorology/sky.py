"""Cloud and sun of each hour: what the record says, what its radiation or rain says, and three scenarios where nothing does.

Tests: tests/meteorology/test_sky_rules.py.
"""

from __future__ import annotations

import numpy as np

from fencecast.meteorology.history import LONGEST_GAP_H, filled, long_gaps

# Cloud cover where the record says nothing: three histories of equal weight. Cover is shaped like a U: mostly clear or mostly
# closed. Judgement; total cover in the typical year that pvlib carries has the means 0.05, 0.63 and 1.00 in its thirds.
CLOUD_SCENARIOS = (0.05, 0.6, 1.0)
# While it rains or snows, and in fog, which hides the sky: judgement. In the typical year that pvlib carries, hours of rain have
# a recorded cover of 0.99 and let 30 % of the clear sky's sun through, hours of fog 36 %; 0.9 would let 48 % through.
RAIN_CLOUD = 1.0
FOG_CLOUD = 1.0
LEAST_SUN_DEG = 10.0  # below it radiation says little of cloud
HAZE_TAKES = 0.10  # of the clear sky's radiation, by haze and season, before any of it counts as cloud: judgement

# Kasten and Czeplak, Solar Energy 24 (1980): global radiation under cloud n over that of the clear sky is 1 - 0.75 n^3.4.
CLOUD_DIMS, CLOUD_POWER = 0.75, 3.4


def clear_sky_w_m2(sun_elevation_deg: np.ndarray) -> np.ndarray:
    """Global radiation on the level under a clear sky [W/m2]: Haurwitz (1945) as pvlib has it, 0 with the sun down. Any shape.

    It needs the sun's height alone; haze, height above the sea and season are left out (some 5-10 %).
    """
    import pandas as pd  # late: pandas and pvlib take a second to load
    from pvlib.clearsky import haurwitz

    return haurwitz(pd.Series(90.0 - np.asarray(sun_elevation_deg, dtype=float)))["ghi"].to_numpy()


def dimmed(cloud: np.ndarray) -> np.ndarray:
    """Share of the clear sky's radiation under cloud [0-1]: 1 - 0.75 n^3.4 (Kasten and Czeplak 1980). Any shape."""
    return 1.0 - CLOUD_DIMS * cloud**CLOUD_POWER


def cloud_from_radiation(ghi_w_m2: np.ndarray, sun_elevation_deg: np.ndarray) -> np.ndarray:
    """Cloud [0-1] that measured global radiation stands for; NaN where the sun is below 10 degrees. Arrays (hours,).

    `dimmed` turned round, with a tenth of the clear sky's radiation left to haze: without it a clear day of thick air, 5 % dimmer
    than the formula, would count as half closed.
    """
    clear = clear_sky_w_m2(sun_elevation_deg)
    high = sun_elevation_deg >= LEAST_SUN_DEG
    lost = 1.0 - np.divide(ghi_w_m2, clear, out=np.full(len(clear), np.nan), where=high & (clear > 0.0))
    return np.clip((lost - HAZE_TAKES) / (CLOUD_DIMS - HAZE_TAKES), 0.0, 1.0) ** (1.0 / CLOUD_POWER)


def cloud_histories(cloud, ghi_w_m2, sun_elevation_deg, falls: np.ndarray, fog: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Cloud of each hour in each scenario [0-1] (scenarios, hours), and whether it is known [bool] (hours,).

    cloud, ghi_w_m2: as recorded, NaN where missing; falls, fog [bool]: whether it rains or snows, has fog; all (hours,).
    In this order: the recorded cloud; by day that of the recorded radiation; gaps up to three hours by a straight line; else
    CLOUD_SCENARIOS, one whole history each, so that ground, sky and low sky stay joint. Rain, snow and fog mean cloud of at least
    0.9, recorded or not.
    """
    said = np.where(np.isnan(cloud), cloud_from_radiation(ghi_w_m2, sun_elevation_deg), cloud)
    known = ~long_gaps(said, LONGEST_GAP_H)
    said = np.clip(filled(said, 0.0), 0.0, 1.0)
    scenarios = np.where(known, said, np.array(CLOUD_SCENARIOS)[:, None])
    least = np.maximum(np.where(falls, RAIN_CLOUD, 0.0), np.where(fog, FOG_CLOUD, 0.0))
    return np.maximum(scenarios, least), known


def solar_w_m2(ghi_w_m2: np.ndarray, sun_elevation_deg: np.ndarray, clouds: np.ndarray) -> np.ndarray:
    """Global radiation on the level [W/m2] (scenarios, hours): as recorded, else that of the clear sky dimmed by cloud."""
    modelled = clear_sky_w_m2(sun_elevation_deg) * dimmed(clouds)
    return np.where(np.isnan(ghi_w_m2), modelled, np.maximum(ghi_w_m2, 0.0))
