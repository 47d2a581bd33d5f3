"""What one crossing finds: the air between, and what ground, sky, clothing or coat, and skin radiate."""

import math
from typing import NamedTuple

from fencecast.jit import compiled_inline
from fencecast.kernels.draw import quantile
from fencecast.kernels.types import (
    AIR_TEMPERATURE_K,
    BARE_HEAD_SHARE,
    CLO,
    CLOTHING_EMISSIVITY,
    CLUTTER_K,
    DROP_RADIUS_UM,
    FOLLOWS,
    GROUND_MINUS_AIR_K,
    RAIN_MM_H,
    RELATIVE_HUMIDITY,
    SNOW_MM_H,
    VISIBILITY_M,
    WETNESS,
    WIND_M_S,
)
from fencecast.physics.air import (
    GAS_POWER,
    gas_linear_coefficient,
    gas_power_coefficient,
    water_vapour_density_g_m3,
)
from fencecast.physics.body import COVER, FACE, LIMBS
from fencecast.physics.coat import coat_temperature_k, fur_wetness, leg_temperature_k
from fencecast.physics.discrimination import normal_quantile
from fencecast.physics.droplets import droplet_extinctions
from fencecast.physics.exponential import exponential, logarithm
from fencecast.physics.radiance import band_radiance, band_radiance_slope
from fencecast.physics.surfaces import (
    CLO_SIGMA_LN,
    SKIN_EMISSIVITY,
    bare_skin_temperature_k,
    clothing_temperature_k,
    leaving_radiance,
    median_clo,
    relative_air_speed_m_s,
    upright_environment_radiance,
    wet_clothing_emissivity,
)

# Columns of the radiance table, one row per band; those of a body's surfaces follow each other as body.PART_SURFACE numbers them.
AIR, GROUND, GROUND_SLOPE, CLOTHING, HEAD, LEGS = range(6)
RADIANCES = 6
FIRST_SURFACE = CLOTHING
assert (CLOTHING, HEAD, LEGS) == (FIRST_SURFACE + COVER, FIRST_SURFACE + FACE, FIRST_SURFACE + LIMBS)


class Air(NamedTuple):
    """The air and the ground of one crossing."""

    air_temperature_k: float
    ground_temperature_k: float
    low_sky_k: float
    relative_humidity: float
    wind_m_s: float
    vapour_g_m3: float
    power_coefficient: float  # of d^0.5709 in -ln tau
    linear_coefficient: float  # of d in -ln tau: gas and droplets
    fog_per_m: float
    rain_per_m: float
    snow_per_m: float
    clutter_k: float
    wetness: float
    window: float
    drop_radius_um: float


@compiled_inline
def draw_state(weather, class_index, u):
    """Index of the joint state of the weather that a crossing of this class happens in, for a draw u in (0, 1)."""
    low, high = weather.class_first[class_index], weather.class_first[class_index + 1] - 1
    while low < high:  # the first state whose cumulative weight is above u
        middle = (low + high) // 2
        if weather.cumulative[middle] > u:
            high = middle
        else:
            low = middle + 1
    return low


@compiled_inline
def draw_air(weather, state, u_air, u_humidity, u_wind, u_visibility, u_rain, u_snow, u_ground, u_clutter, u_wetness, u_drop):
    """The air of one crossing from its uniform draws (each in (0, 1)) and the state of the weather it happens in."""
    rows = weather.quantity[state]
    choice = weather.choice
    air_k = quantile(rows[AIR_TEMPERATURE_K], choice, u_air)
    humidity = quantile(rows[RELATIVE_HUMIDITY], choice, u_humidity)
    ground_k = air_k + quantile(rows[GROUND_MINUS_AIR_K], choice, u_ground)
    drop_um = quantile(rows[DROP_RADIUS_UM], choice, u_drop)
    fog, rain, snow = droplet_extinctions(
        weather.fog_kind[state],
        quantile(rows[VISIBILITY_M], choice, u_visibility),
        weather.visibility_given[state] != 0,
        weather.convention[state],
        drop_um,
        quantile(rows[RAIN_MM_H], choice, u_rain),
        quantile(rows[SNOW_MM_H], choice, u_snow),
        air_k,
    )
    vapour = water_vapour_density_g_m3(air_k, humidity)
    return Air(
        air_k,
        ground_k,
        air_k - weather.low_sky_below_air_k[state],
        humidity,
        quantile(rows[WIND_M_S], choice, u_wind),
        vapour,
        gas_power_coefficient(vapour),
        gas_linear_coefficient(vapour) + fog + rain + snow,
        fog,
        rain,
        snow,
        quantile(rows[CLUTTER_K], choice, u_clutter),
        quantile(rows[WETNESS], choice, u_wetness),
        weather.window[state],
        drop_um,
    )


@compiled_inline
def with_clutter(air, factor):
    """The same air with its clutter times a factor."""
    return Air(
        air.air_temperature_k, air.ground_temperature_k, air.low_sky_k, air.relative_humidity, air.wind_m_s, air.vapour_g_m3,
        air.power_coefficient, air.linear_coefficient, air.fog_per_m, air.rain_per_m, air.snow_per_m, air.clutter_k * factor,
        air.wetness, air.window, air.drop_radius_um,
    )  # fmt: skip


@compiled_inline
def draw_clothing(intruder, air, u_clo, u_emissivity, u_bare):
    """Insulation [clo], dry emissivity and bare share of the head of one intruder.

    Insulation left out of the site file follows the air: lognormal about `median_clo` of the drawn air temperature.
    """
    row = intruder.quantity[CLO]
    if int(row[0]) == FOLLOWS:
        clo = median_clo(air.air_temperature_k) * math.exp(CLO_SIGMA_LN * normal_quantile(u_clo))
    else:
        clo = quantile(row, intruder.choice, u_clo)
    emissivity = quantile(intruder.quantity[CLOTHING_EMISSIVITY], intruder.choice, u_emissivity)
    return clo, emissivity, quantile(intruder.quantity[BARE_HEAD_SHARE], intruder.choice, u_bare)


@compiled_inline
def surface_temperatures(air, speed_m_s, clo, dry_emissivity):
    """Clothing and bare-skin temperature [K] of someone who moves at `speed_m_s`."""
    clothing_k = clothing_temperature_k(
        air.air_temperature_k,
        air.relative_humidity,
        air.wind_m_s,
        speed_m_s,
        clo,
        dry_emissivity,
        air.wetness,
        air.ground_temperature_k,
        air.low_sky_k,
    )
    return clothing_k, bare_skin_temperature_k(air.air_temperature_k, relative_air_speed_m_s(air.wind_m_s, speed_m_s))


@compiled_inline
def coat_temperatures(air, speed_m_s, coat_m2k_w, leg_m2k_w, dry_emissivity):
    """Coat, bare-skin and leg temperature [K] of an animal that moves at `speed_m_s`."""
    coat_k = coat_temperature_k(
        air.air_temperature_k,
        air.relative_humidity,
        air.wind_m_s,
        speed_m_s,
        coat_m2k_w,
        dry_emissivity,
        air.wetness,
        air.ground_temperature_k,
        air.low_sky_k,
    )
    air_speed = relative_air_speed_m_s(air.wind_m_s, speed_m_s)
    legs_k = leg_temperature_k(air.air_temperature_k, air_speed, leg_m2k_w)
    return coat_k, bare_skin_temperature_k(air.air_temperature_k, air_speed), legs_k


@compiled_inline
def fill_radiances(table, bands, air, ground_emissivity, clothing_k, skin_k, dry_emissivity, bare_share):
    """Radiance [W/(m²·sr)] that leaves air, ground, clothing and head of a person, and dL/dT of the ground, per band.

    Upright surfaces reflect half the ground's leaving radiance and half the low sky; the ground, seen at grazing view,
    reflects the low sky. The head is the area mix of skin and clothing.
    """
    emissivity = wet_clothing_emissivity(dry_emissivity, air.wetness)
    for band in range(bands.low_um.size):
        low, high = bands.low_um[band], bands.high_um[band]
        sky = band_radiance(air.low_sky_k, low, high)
        ground = leaving_radiance(ground_emissivity, band_radiance(air.ground_temperature_k, low, high), sky)
        environment = upright_environment_radiance(ground, sky)
        clothing = leaving_radiance(emissivity, band_radiance(clothing_k, low, high), environment)
        skin = leaving_radiance(SKIN_EMISSIVITY, band_radiance(skin_k, low, high), environment)
        table[band, AIR] = band_radiance(air.air_temperature_k, low, high)
        table[band, GROUND] = ground
        table[band, CLOTHING] = clothing
        table[band, HEAD] = bare_share * skin + (1.0 - bare_share) * clothing
        table[band, GROUND_SLOPE] = band_radiance_slope(air.ground_temperature_k, low, high)


@compiled_inline
def fill_body_radiances(table, bands, air, ground_emissivity, cover_k, skin_k, legs_k, dry_emissivity, bare_share):
    """As `fill_radiances` for an animal or a vehicle: coat or sides, head, and legs or what else is warm of it, per band.

    dry_emissivity [-]: of coat, legs and sides; fur keeps most of the wetness off. bare_share [-]: of the head, see
    coat.BARE_MUZZLE_SHARE; 0 for what shows no skin. A loop of its own: what the person's shares with another is rounded anew.
    """
    emissivity = wet_clothing_emissivity(dry_emissivity, fur_wetness(air.wetness))
    for band in range(bands.low_um.size):
        low, high = bands.low_um[band], bands.high_um[band]
        sky = band_radiance(air.low_sky_k, low, high)
        ground = leaving_radiance(ground_emissivity, band_radiance(air.ground_temperature_k, low, high), sky)
        environment = upright_environment_radiance(ground, sky)
        cover = leaving_radiance(emissivity, band_radiance(cover_k, low, high), environment)
        skin = leaving_radiance(SKIN_EMISSIVITY, band_radiance(skin_k, low, high), environment)
        table[band, AIR] = band_radiance(air.air_temperature_k, low, high)
        table[band, GROUND] = ground
        table[band, CLOTHING] = cover
        table[band, HEAD] = bare_share * skin + (1.0 - bare_share) * cover
        table[band, LEGS] = leaving_radiance(emissivity, band_radiance(legs_k, low, high), environment)
        table[band, GROUND_SLOPE] = band_radiance_slope(air.ground_temperature_k, low, high)


@compiled_inline
def transmission(power_coefficient, linear_coefficient, distance_m, distance_power):
    """exp(-(a d^0.5709 + b d)); the caller passes d^0.5709, because a path and its background share most of it."""
    return exponential(-(power_coefficient * distance_power + linear_coefficient * distance_m))


@compiled_inline
def distance_power(distance_m):
    """d^0.5709, the distance law of the clear-air fit; d > 0."""
    return exponential(GAS_POWER * logarithm(distance_m))
