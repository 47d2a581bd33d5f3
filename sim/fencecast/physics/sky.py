"""What the sky radiates to the ground, and how cold the low sky behind a fence looks, from air, humidity and cloud.

Tests: tests/meteorology/test_sky_rules.py.
"""

from __future__ import annotations

import math

import numpy as np

from fencecast.jit import compiled
from fencecast.physics.air import vapour_pressure_hpa
from fencecast.physics.radiance import STEFAN_BOLTZMANN_W_M2_K4
from fencecast.physics.surfaces import CLEAR_SKY_BELOW_AIR_K, OVERCAST_SKY_BELOW_AIR_K
from fencecast.units import ZERO_CELSIUS_K

CLOUD_FILLS = 0.84  # share of the clear sky's gap to a black body that full cloud closes, Unsworth and Monteith (1975)
_ORDINARY_VAPOUR_HPA = 8.594  # 10 C, 70 %
_ORDINARY_AIR_K = ZERO_CELSIUS_K + 10.0


@compiled
def clear_sky_emissivity(vapour_hpa, air_k):
    """Emissivity of the whole clear sky, for a black body at air temperature [0-1].

    vapour_hpa [hPa], air_k [K] near the ground, scalars. Formula: 1 - (1 + w) exp(-sqrt(1.2 + 3 w)), w = 46.5 e / T (Prata,
    Q. J. R. Meteorol. Soc. 122, 1996). Check: test_sky_rules.py::test_clear_sky_*.
    """
    water_cm = 46.5 * max(vapour_hpa, 0.0) / air_k
    return 1.0 - (1.0 + water_cm) * math.exp(-math.sqrt(1.2 + 3.0 * water_cm))


@compiled
def sky_emissivity(clear_emissivity, cloud):
    """Emissivity of a sky with cloud [0-1]: (1 - 0.84 n) e_clear + 0.84 n, Unsworth and Monteith (1975). cloud [0-1], scalars."""
    filled = CLOUD_FILLS * cloud
    return (1.0 - filled) * clear_emissivity + filled


@compiled
def low_sky_below_air_k(clear_emissivity, cloud):
    """How much colder than the air the black body is that the sky near the horizon radiates as [K].

    clear_emissivity: of `clear_sky_emissivity`; cloud [0-1]. Scalars.
    Judgement, no source: 10 K under a clear sky and 2 K under an overcast one, as for weather classes, in ordinary air (10 C,
    70 %); between them straight in cloud, and the clear part in proportion to what the clear sky lacks of a black body: 12 K in
    dry frost, 8 K on a sultry night. Check: test_sky_rules.py::test_low_sky_*.
    """
    ordinary_lack = 1.0 - clear_sky_emissivity(_ORDINARY_VAPOUR_HPA, _ORDINARY_AIR_K)
    span = (CLEAR_SKY_BELOW_AIR_K - OVERCAST_SKY_BELOW_AIR_K) * (1.0 - clear_emissivity) / ordinary_lack
    return OVERCAST_SKY_BELOW_AIR_K + (1.0 - cloud) * span


@compiled
def sky_history(air_k, relative_humidity, cloud):
    """Longwave from the sky [W/m2] and low sky below air [K], each (histories, hours), and the vapour pressure [hPa] (hours,).

    air_k [K], relative_humidity [0-1]: (hours,); cloud [0-1]: (histories, hours).
    """
    histories, hours = cloud.shape
    longwave, below = np.empty((histories, hours)), np.empty((histories, hours))
    vapour = np.empty(hours)
    for hour in range(hours):
        vapour[hour] = vapour_pressure_hpa(air_k[hour], relative_humidity[hour])
        clear = clear_sky_emissivity(vapour[hour], air_k[hour])
        for k in range(histories):
            emissivity = sky_emissivity(clear, cloud[k, hour])
            longwave[k, hour] = emissivity * STEFAN_BOLTZMANN_W_M2_K4 * air_k[hour] ** 4
            below[k, hour] = low_sky_below_air_k(clear, cloud[k, hour])
    return longwave, below, vapour
