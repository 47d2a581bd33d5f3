"""How wet a person's clothing is and what is on the camera's window, from this hour and the last ones.

All of it is judgement without a source, except where a rule says otherwise. Tests: tests/meteorology/test_hours_rules.py.
"""

from __future__ import annotations

import numpy as np

from fencecast.meteorology.history import hours_before
from fencecast.physics.air import saturation_pressure_hpa
from fencecast.physics.droplets import window_film_transmission
from fencecast.physics.radiance import STEFAN_BOLTZMANN_W_M2_K4
from fencecast.units import ZERO_CELSIUS_K

HOURS_OUTDOORS = 3  # an intruder came out dry and has been outdoors for this hour and the two before
CLOTHING_HOLDS_MM = 0.6  # kg of water on a square metre of soaked cloth
CATCHES = 0.5  # of the rain on a square metre of ground, what a square metre of a walker's cloth catches
DRY_SNOW_STICKS = 0.1  # of snow at -2 C and below; all of it at 0 C and above
FOG_WETS_MM_H = 0.06
BODY_DRIES_MM_H = 0.03  # 20 W/m2 of the body's heat
WET_LEGS = 0.1  # what wet grass, soil or lying snow makes of trousers
WET_GROUND_SHARE = 0.1  # ground is wet when water or snow lies on a tenth of it
SOAKING_GROUNDS = ("soil", "grass")  # paving and gravel do not wet who walks on them

WINDOW_DROPS_AT_1_MM_H, MOST_WINDOW_DROPS = 0.08, 0.30
FOG_WINDOW_DROPS = 0.05
SNOW_WINDOW_DROPS = 0.05
DEW_FILM_UM, DEW_WIND_M_S = 2.0, 1.5
WINDOW_EMISSIVITY, CALM_EXCHANGE_W_M2K = 0.9, 8.0


def drying_mm_h(air_c: np.ndarray, relative_humidity: np.ndarray, wind_m_s: np.ndarray) -> np.ndarray:
    """What wet cloth on a person loses [mm/h]: Penman's (1948) open water 0.26 (1 + 0.54 u) mm a day and hPa of deficit (from
    memory), and 0.03 mm/h for the body's heat (judgement). Arrays of one shape, C, 0-1, m/s."""
    saturation_hpa = np.vectorize(saturation_pressure_hpa, otypes=[float])(air_c + ZERO_CELSIUS_K)
    deficit_hpa = saturation_hpa * np.maximum(1.0 - relative_humidity, 0.0)
    return 0.26 / 24.0 * (1.0 + 0.54 * wind_m_s) * deficit_hpa + BODY_DRIES_MM_H


def caught_mm_h(rain_mm_h: np.ndarray, snow_mm_h: np.ndarray, air_c: np.ndarray, is_fog: np.ndarray) -> np.ndarray:
    """What a walker's clothing catches [mm/h]: half the rain, as much of wet snow and a tenth of that of dry, a little of fog."""
    sticks = DRY_SNOW_STICKS + (1.0 - DRY_SNOW_STICKS) * np.clip(0.5 * air_c + 1.0, 0.0, 1.0)
    return CATCHES * (rain_mm_h + sticks * snow_mm_h) + FOG_WETS_MM_H * is_fog


def clothing_wetness(caught: np.ndarray, drying: np.ndarray, wet_ground: np.ndarray) -> np.ndarray:
    """Wetness of clothing [0-1]: a bucket of 0.6 mm, dry three hours ago, filled by what it catches and emptied by drying.

    caught, drying [mm/h] (hours,); wet_ground [bool] (..., hours): wets the legs, a tenth at least.
    """
    held = np.zeros(len(caught))
    for back in range(HOURS_OUTDOORS - 1, -1, -1):
        held = np.clip(held + hours_before(caught - drying, back), 0.0, CLOTHING_HOLDS_MM)
    return np.maximum(held / CLOTHING_HOLDS_MM, WET_LEGS * wet_ground)


def wet_underfoot(watered: np.ndarray, cover: np.ndarray, material: str) -> np.ndarray:
    """Whether crossing the ground wets the legs [bool]: lying snow, or water on grass or soil; shares [0-1] of one shape."""
    return (cover > WET_GROUND_SHARE) | ((watered > WET_GROUND_SHARE) & (material in SOAKING_GROUNDS))


def window_drops(rain_mm_h: np.ndarray, snow_mm_h: np.ndarray, is_fog: np.ndarray) -> np.ndarray:
    """Share of the window under drops [0-1]: 0.08 sqrt(mm/h) of rain, at most 0.3, half an hour later; 0.05 in fog, snow."""
    rained = np.minimum(WINDOW_DROPS_AT_1_MM_H * np.sqrt(rain_mm_h), MOST_WINDOW_DROPS)
    drops = np.maximum(rained, 0.5 * hours_before(rained, 1))
    return np.maximum(drops, np.where(is_fog, FOG_WINDOW_DROPS, np.where(snow_mm_h > 0.0, SNOW_WINDOW_DROPS, 0.0)))


def window_passes(drops: np.ndarray, dew: np.ndarray) -> np.ndarray:
    """Share of contrast that the window passes [0-1]: what is not under drops, times what a film of 2 um passes where dew falls.

    drops (hours,) [0-1], dew (..., hours) [bool]. A window that its camera's heat keeps dry has no dew; not every one does.
    """
    return (1.0 - drops) * np.where(dew, window_film_transmission(DEW_FILM_UM), 1.0)


def window_below_air_k(air_c: np.ndarray, low_sky_below_air_k: np.ndarray) -> np.ndarray:
    """How much colder than the air an unheated window gets [K]: the heat balance of a plate in calm air, half its view low sky.

    Emissivity 0.9; 8 W/m2K with calm air and its own mount (judgement). air_c (hours,), low_sky_below_air_k (..., hours).
    """
    radiates = 4.0 * STEFAN_BOLTZMANN_W_M2_K4 * (air_c + ZERO_CELSIUS_K) ** 3
    return 0.5 * WINDOW_EMISSIVITY * radiates * low_sky_below_air_k / (CALM_EXCHANGE_W_M2K + WINDOW_EMISSIVITY * radiates)


def dew_falls(air_c: np.ndarray, relative_humidity: np.ndarray, wind_m_s: np.ndarray, below_air_k: np.ndarray) -> np.ndarray:
    """Whether dew settles on a window [bool] `below_air_k` colder than the air: it is below the dew point, wind under 1.5 m/s."""
    saturation = np.vectorize(saturation_pressure_hpa, otypes=[float])
    air_k = air_c + ZERO_CELSIUS_K
    return (saturation(air_k - below_air_k) < relative_humidity * saturation(air_k)) & (wind_m_s < DEW_WIND_M_S)
