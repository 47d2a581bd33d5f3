"""What a stimulus is in one encounter: about or not, how large, how warm."""

import math

import numpy as np

from fencecast.jit import compiled_inline
from fencecast.kernels.draw import quantile
from fencecast.kernels.state import coat_temperatures, draw_clothing, fill_body_radiances, fill_radiances, surface_temperatures
from fencecast.kernels.types import (
    AIR_TEMPERATURE_K,
    BASE_M,
    CLOTHED,
    CLUTTER_K,
    COACHWORK,
    COAT_EMISSIVITY,
    GROUND_MINUS_AIR_K,
    OFFSET_M,
    RAIN_MM_H,
    RELATIVE_HUMIDITY,
    SIZE_FACTOR,
    SNOW_MM_H,
    SPEED_M_S,
    STATURE_M,
    STIMULUS_QUANTITIES,
    SUMMER_COAT_M2K_W,
    VISIBILITY_M,
    WAY_ANGLE_RAD,
    WAY_PAUSE_S,
    WAY_REACH_M,
    WETNESS,
    WIND_M_S,
    WINTER_COAT_M2K_W,
)
from fencecast.physics.body import FOUR_LEGGED, WALK, body_size_m
from fencecast.physics.coat import BARE_MUZZLE_SHARE
from fencecast.sampling.variables import DIMENSION

_D_VISIBILITY = DIMENSION["visibility"]
_D_SIZE = DIMENSION["stature"]
_D_COAT = DIMENSION["clo"]
_D_GROUND = DIMENSION["ground_minus_air"]
_D_AIR = DIMENSION["air_temperature"]
_D_WIND = DIMENSION["wind"]
_D_EMISSIVITY = DIMENSION["clothing_emissivity"]
_D_RAIN = DIMENSION["rain"]
_D_CLUTTER = DIMENSION["clutter"]
_D_WETNESS = DIMENSION["wetness"]
_D_HUMIDITY = DIMENSION["relative_humidity"]
_D_SNOW = DIMENSION["snow"]
_D_BARE = DIMENSION["bare_head_share"]
_D_DEPTH = DIMENSION["depth_ratio"]
# The variable of each row of Stimuli.quantity: what a crossing has too is drawn by the same, whichever coat is worn.
_VARIABLES = {
    SPEED_M_S: "speed",
    SIZE_FACTOR: "stature",
    WINTER_COAT_M2K_W: "clo",
    SUMMER_COAT_M2K_W: "clo",
    COAT_EMISSIVITY: "clothing_emissivity",
    WAY_ANGLE_RAD: "approach_angle",
    WAY_REACH_M: "reach",
    OFFSET_M: "offset",
    BASE_M: "base",
    WAY_PAUSE_S: "pause",
}
_DRAWN_BY = np.array([DIMENSION[_VARIABLES[row]] for row in range(STIMULUS_QUANTITIES)])
# What `active` may limit, with the dimension that each is drawn by.
_LIMITED = (
    (AIR_TEMPERATURE_K, _D_AIR),
    (RELATIVE_HUMIDITY, _D_HUMIDITY),
    (WIND_M_S, _D_WIND),
    (VISIBILITY_M, _D_VISIBILITY),
    (RAIN_MM_H, _D_RAIN),
    (SNOW_MM_H, _D_SNOW),
    (GROUND_MINUS_AIR_K, _D_GROUND),
    (CLUTTER_K, _D_CLUTTER),
    (WETNESS, _D_WETNESS),
)


@compiled_inline
def activity(weather, state, stimuli, stimulus, u):
    """How much a stimulus is about in the weather drawn: 0 with a quantity out of its limits, its share in heavy rain, or 1."""
    rows, choice, limits = weather.quantity[state], weather.choice, stimuli.active[stimulus]
    about = 1.0
    for quantity, dimension in _LIMITED:
        low, high = limits[quantity, 0], limits[quantity, 1]
        if low > -math.inf or high < math.inf:
            value = quantile(rows[quantity], choice, u[dimension])
            if not low <= value <= high:
                about = 0.0
    if stimuli.rain_share[stimulus] < 1.0 and quantile(rows[RAIN_MM_H], choice, u[_D_RAIN]) >= stimuli.heavy_rain_mm_h:
        about *= stimuli.rain_share[stimulus]
    return about


@compiled_inline
def draw_quantities(stimuli, stimulus, u, drawn):
    """All quantities of a stimulus in one encounter, into drawn (STIMULUS_QUANTITIES,)."""
    for k in range(STIMULUS_QUANTITIES):
        drawn[k] = quantile(stimuli.quantity[stimulus, k], stimuli.choice, u[_DRAWN_BY[k]])


@compiled_inline
def draw_size(stimuli, stimulus, intruder, drawn, u):
    """Height, breadth and depth along its heading [m]: a person's are those of the intruder who walks."""
    if stimuli.cover[stimulus] == CLOTHED:
        stature = quantile(intruder.quantity[STATURE_M], intruder.choice, u[_D_SIZE])
        return body_size_m(WALK, stature, quantile(intruder.depth_share[WALK], intruder.choice, u[_D_DEPTH]))
    size, factor = stimuli.size_m[stimulus], drawn[SIZE_FACTOR]
    return factor * size[0], factor * size[2], factor * size[1]


@compiled_inline
def warm_up_body(plan, stimuli, stimulus, air, speed_m_s, drawn, u, table):
    """What leaves it and its surroundings, into table (bands, RADIANCES)."""
    cover = stimuli.cover[stimulus]
    ground = plan.scene.ground_emissivity
    if cover == CLOTHED:
        clo, dry_emissivity, bare = draw_clothing(plan.intruder, air, u[_D_COAT], u[_D_EMISSIVITY], u[_D_BARE])
        clothing_k, skin_k = surface_temperatures(air, speed_m_s, clo, dry_emissivity)
        fill_radiances(table, plan.bands, air, ground, clothing_k, skin_k, dry_emissivity, bare)
        return
    dry_emissivity = drawn[COAT_EMISSIVITY]
    if cover == COACHWORK:
        sides_k = air.air_temperature_k + stimuli.over_air_k[stimulus, 0]
        skin_k, legs_k = sides_k, air.air_temperature_k + stimuli.over_air_k[stimulus, 1]
    else:
        winter = air.air_temperature_k < stimuli.winter_coat_below_k
        coat = drawn[WINTER_COAT_M2K_W] if winter else drawn[SUMMER_COAT_M2K_W]
        sides_k, skin_k, legs_k = coat_temperatures(air, speed_m_s, coat, stimuli.leg_m2k_w[stimulus], dry_emissivity)
    bare = BARE_MUZZLE_SHARE if stimuli.posture[stimulus] == FOUR_LEGGED else 0.0
    fill_body_radiances(table, plan.bands, air, ground, sides_k, skin_k, legs_k, dry_emissivity, bare)
