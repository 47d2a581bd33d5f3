"""How warm fur, legs and the sides of a vehicle are: what tells an animal in the picture from the air and from a person.

Known bias: wind opens fur, which is not modelled; coats come out too cool in wind.

Tests: tests/physics/test_coat.py.
"""

from __future__ import annotations

from fencecast.jit import compiled
from fencecast.physics.surfaces import (
    CORE_TEMPERATURE_K,
    clothing_balance_temperature_k,
    mean_radiant_temperature_k,
    relative_air_speed_m_s,
    skin_temperature_under_clothing_k,
    wet_clothing_emissivity,
)
from fencecast.units import ZERO_CELSIUS_K

FUR_EMISSIVITY = (0.94, 0.99)  # uniform between; from memory
SKIN_ABOVE_A_PERSONS_K = 3.0  # 34 C at 0 C air: judgement, no source
WETNESS_OF_FUR = 0.3  # of the weather's: fur sheds water; judgement, no source
LEAST_AIR_SPEED_M_S = 0.1
BARE_MUZZLE_SHARE = 0.15  # of an animal's head: judgement, no source
LEAST_LEG_TEMPERATURE_K = ZERO_CELSIUS_K + 1.0  # foxes keep legs, paws and face above freezing: Klir & Heath 1992 (abstract)

# Judgement, no source.
VEHICLE_SIDES_ABOVE_AIR_K = 2.0
VEHICLE_WARM_PARTS_ABOVE_AIR_K = 10.0
VEHICLE_EMISSIVITY = 0.93


@compiled
def fur_wetness(wetness):
    """Wetness of fur [0-1] in a weather of that wetness [0-1]: 0.3 of it. Scalar; judgement, no source.

    Check: test_coat.py::test_wet_fur_*.
    """
    return WETNESS_OF_FUR * wetness


@compiled
def coat_temperature_k(
    air_temperature_k,
    relative_humidity,
    wind_m_s,
    speed_m_s,
    coat_m2k_w,
    emissivity,
    wetness,
    ground_temperature_k,
    low_sky_temperature_k,
):
    """Temperature of the outer surface of an animal's coat [K].

    air_temperature_k, ground_temperature_k, low_sky_temperature_k [K]; relative_humidity [fraction]; wind_m_s, speed_m_s
    [m/s]; coat_m2k_w [m2K/W] > 0: dry, depth / 0.045 W/mK (judgement, no source); emissivity [-]: the dry value; wetness [0-1]
    of the weather. Scalars.
    Formula: `clothing_balance_temperature_k` with skin 3 K above a person's, R (1 - w/2), area factor 1, air speed the root of
    the sum of squares of wind and speed but at least 0.1 m/s, wetness 0.3 w. Held against trunks of penned deer in winter, 6-8 K
    above air (Moen 1968, abstract). Steady state. Check: test_coat.py::test_coats_*.
    """
    wet = fur_wetness(wetness)
    return clothing_balance_temperature_k(
        skin_temperature_under_clothing_k(air_temperature_k) + SKIN_ABOVE_A_PERSONS_K,
        coat_m2k_w * (1.0 - 0.5 * wetness),
        1.0,
        air_temperature_k,
        relative_humidity,
        max(relative_air_speed_m_s(wind_m_s, speed_m_s), LEAST_AIR_SPEED_M_S),
        mean_radiant_temperature_k(ground_temperature_k, low_sky_temperature_k),
        wet_clothing_emissivity(emissivity, wet),
        wet,
    )


@compiled
def leg_temperature_k(air_temperature_k, air_speed_m_s, leg_m2k_w):
    """Temperature of an animal's legs [K]: T_air + (37 C - T_air) / (1 + h R), h = 4.5 + 8.3 v^0.6 W/m2K, never below 1 C.

    air_temperature_k [K]; air_speed_m_s [m/s] relative to the animal; leg_m2k_w [m2K/W]. Scalars. The form of
    `bare_skin_temperature_k`; floor: Klir & Heath 1992 (abstract: foxes from -25 to 33 C air). Steady state.
    Check: test_coat.py::test_legs_*.
    """
    transfer = 4.5 + 8.3 * max(air_speed_m_s, 0.0) ** 0.6
    legs = air_temperature_k + (CORE_TEMPERATURE_K - air_temperature_k) / (1.0 + transfer * leg_m2k_w)
    return max(legs, LEAST_LEG_TEMPERATURE_K)
