"""How warm the ground's surface is, hour after hour: a force-restore model driven by the surface's balance of heat.

The ground is level, open to the whole sky and of one material. Left out: shadows and heat of buildings, the heat that rain
brings, freezing of wet ground, drying of the soil over weeks (soil and grass are always moist), and the age of snow.

Tests: tests/meteorology/test_ground_heat.py.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from fencecast.jit import compiled
from fencecast.physics.air import saturation_pressure_hpa
from fencecast.physics.radiance import STEFAN_BOLTZMANN_W_M2_K4
from fencecast.physics.surfaces import GROUND_EMISSIVITY
from fencecast.units import ZERO_CELSIUS_K

DAY_S = 86_400.0
YEAR_DAYS = 365.0  # depth of the slow layer, Deardorff (1978)
AIR_HEAT_J_KG_K = 1005.0
DRY_AIR_GAS_J_KG_K = 287.05
VAPORISATION_J_KG = 2.50e6  # at 0 C; also used for snow, whose sublimation takes 13 % more
FUSION_J_KG = 3.34e5
GRAVITY_M_S2 = 9.81
KARMAN = 0.40
SCREEN_HEIGHT_M, WIND_HEIGHT_M = 2.0, 10.0  # where stations measure temperature and wind
HEAT_ROUGHNESS_SHARE = 0.1  # roughness for heat over that for wind: FAO-56 (Allen et al. 1998), eq. 4
LEAST_WIND_M_S = 0.5  # of anemometers that stand still: judgement, no source
# 2 W/m2K that remain in the stillest night: Jordan (1991), a model of snow (published value, not checked against the original).
WINDLESS_M_S = 0.00155
NEVER_DRIES = 1.0e9
DAYLIGHT_W_M2 = 5.0
_MOST_ROUNDS = 30


class Surface(NamedTuple):
    """What a material is to the heat balance."""

    inertia: float  # thermal inertia (admittance) [J m-2 K-1 s-1/2]
    albedo: float
    emissivity: float
    roughness_m: float  # aerodynamic, for wind
    resistance_day_s_m: float  # of the dry surface to evaporation
    resistance_night_s_m: float
    holds_mm: float  # water that stays on it; more runs off


# Inertia: values of Oke, Boundary Layer Climates (1987), asphalt, concrete, brick, snow (fresh 130, old 595; the value is
# judgement between them); gravel, moist soil and grass (300-600) are judgement, no source. Dry sandy soil would be 620.
# Albedo: values of Oke (asphalt 0.05-0.20, concrete 0.10-0.35, brick 0.20-0.40, snow 0.40 old - 0.95 fresh, soil 0.05 wet -
# 0.40 dry), grass FAO-56; gravel judgement. Emissivity: that of 8-14 um, taken for all wavelengths.
# Roughness: classes of Davenport (published values, not checked against the originals: 0.0002 water, 0.005 smooth, 0.03 open),
# grass FAO-56 (0.123 x 0.12 m). Resistance: grass FAO-56 by day (70 s/m), ASCE-EWRI (2005) by night (200, published value, not
# checked against the original); moist soil judgement, no source. Water held: judgement, no source (puddles on paving, leaves).
MATERIALS = {
    "asphalt": Surface(1205.0, 0.10, GROUND_EMISSIVITY["asphalt"], 0.002, NEVER_DRIES, NEVER_DRIES, 1.0),
    "concrete": Surface(1785.0, 0.25, GROUND_EMISSIVITY["concrete"], 0.002, NEVER_DRIES, NEVER_DRIES, 1.0),
    "brick": Surface(1065.0, 0.30, GROUND_EMISSIVITY["brick"], 0.002, NEVER_DRIES, NEVER_DRIES, 1.0),
    "gravel": Surface(900.0, 0.20, GROUND_EMISSIVITY["gravel"], 0.005, NEVER_DRIES, NEVER_DRIES, 2.0),
    "soil": Surface(1400.0, 0.17, GROUND_EMISSIVITY["soil"], 0.005, 200.0, 200.0, 3.0),
    "grass": Surface(450.0, 0.23, GROUND_EMISSIVITY["grass"], 0.015, 70.0, 200.0, 1.0),
    "snow": Surface(350.0, 0.75, GROUND_EMISSIVITY["snow"], 0.001, 0.0, 0.0, 0.0),
}


class Air(NamedTuple):
    """The air over the ground at one moment."""

    temperature_k: float
    vapour_hpa: float
    wind_m_s: float  # at 10 m
    pressure_hpa: float
    solar_w_m2: float  # on the level
    sky_w_m2: float  # longwave from the sky


@compiled
def air_exchange_m_s(surface_k, air_k, wind_m_s, roughness_m):
    """How fast the air takes heat and vapour from a level surface [m/s]: one over the aerodynamic resistance.

    surface_k, air_k [K] (air at 2 m); wind_m_s [m/s] at 10 m, at least 0.5; roughness_m [m], below 0.5. Scalars.
    Formula: log profiles (FAO-56, eq. 4, with k = 0.40 and without displacement): C u2, C = k^2 / (ln(2/z0) ln(2/(0.1 z0))), u2
    the wind at 2 m; times the function of stability for heat of Louis, Boundary-Layer Meteorol. 17 (1979; published value, not
    checked against the original), in the bulk Richardson number Ri = g 2 m (T_air - T)/(T_air u2^2): stable 1/(1 + 4.7 Ri)^2,
    unstable 1 - 9.4 Ri/(1 + 5.3 9.4 C sqrt(2/z0) sqrt|Ri|); and the windless exchange of Jordan (1991), 0.00155 m/s, without
    which calm nights lose touch with the air.
    Check: test_ground_heat.py::test_exchange_*.
    """
    log_wind = math.log(SCREEN_HEIGHT_M / roughness_m)
    wind = max(wind_m_s, LEAST_WIND_M_S) * log_wind / math.log(WIND_HEIGHT_M / roughness_m)
    neutral = KARMAN * KARMAN / (log_wind * (log_wind - math.log(HEAT_ROUGHNESS_SHARE)))
    richardson = GRAVITY_M_S2 * SCREEN_HEIGHT_M * (air_k - surface_k) / (air_k * wind * wind)
    if richardson >= 0.0:
        factor = 1.0 / (1.0 + 4.7 * richardson) ** 2
    else:
        curb = 5.3 * 9.4 * neutral * math.sqrt(SCREEN_HEIGHT_M / roughness_m)
        factor = 1.0 - 9.4 * richardson / (1.0 + curb * math.sqrt(-richardson))
    return neutral * wind * factor + WINDLESS_M_S


@compiled
def wet_share(held_mm, holds_mm):
    """Share of a surface that water covers [0-1]: (held / held at most)^(2/3), Deardorff (1978). mm, scalars."""
    if holds_mm <= 0.0 or held_mm <= 0.0:
        return 0.0
    return min(held_mm / holds_mm, 1.0) ** (2.0 / 3.0)


@compiled
def surface_fluxes_w_m2(surface_k, air, surface, wet):
    """The heat that a surface takes and gives [W/m2]: absorbed sun, net longwave, sensible, latent; and the slope of their sum.

    surface_k [K]; air: `Air`; surface: `Surface`; wet: share that evaporates freely [0-1]. The first two warm the surface, the
    next two cool it when positive; the slope [W/m2K] is that of (sun + longwave - sensible - latent) by the surface's temperature
    with the air's exchange held. Dew and frost settle freely on any surface.
    Formula: (1 - albedo) S; e (L_sky - sigma T^4); rho c g (T - T_air); rho L 0.622/p g_v (e_s(T) - e), g of `air_exchange_m_s`,
    g_v = g on what is wet and 1/(1/g + r) on what is dry (Penman and Monteith's resistances). Check:
    test_ground_heat.py::test_balance_*.
    """
    exchange = air_exchange_m_s(surface_k, air.temperature_k, air.wind_m_s, surface.roughness_m)
    density = 100.0 * air.pressure_hpa / (DRY_AIR_GAS_J_KG_K * air.temperature_k)
    solar = (1.0 - surface.albedo) * air.solar_w_m2
    longwave = surface.emissivity * (air.sky_w_m2 - STEFAN_BOLTZMANN_W_M2_K4 * surface_k**4)
    sensible_factor = density * AIR_HEAT_J_KG_K * exchange
    saturation = saturation_pressure_hpa(surface_k)
    excess = saturation - air.vapour_hpa
    vapour_exchange = exchange
    if excess > 0.0:
        resistance = surface.resistance_day_s_m if air.solar_w_m2 > DAYLIGHT_W_M2 else surface.resistance_night_s_m
        vapour_exchange *= wet + (1.0 - wet) / (1.0 + resistance * exchange)
    latent_factor = density * VAPORISATION_J_KG * 0.622 / air.pressure_hpa * vapour_exchange
    magnus = 243.12 + surface_k - ZERO_CELSIUS_K
    saturation_slope = saturation * 17.62 * 243.12 / (magnus * magnus)
    slope = -4.0 * surface.emissivity * STEFAN_BOLTZMANN_W_M2_K4 * surface_k**3
    slope -= sensible_factor + latent_factor * saturation_slope
    return solar, longwave, sensible_factor * (surface_k - air.temperature_k), latent_factor * excess, slope


@compiled
def restored_surface_k(surface_k, deep_k, heat_w_m2, slope_w_m2_k, at_k, inertia, step_s):
    """Surface temperature one implicit step later [K], with the heat into the ground linear about a temperature.

    surface_k, deep_k [K] now; heat_w_m2 + slope_w_m2_k (T - at_k): heat into the ground at the end of the step; inertia
    [J m-2 K-1 s-1/2]; step_s [s]. Scalars. Implicit steps of 6 minutes make the daily wave 0.7 % too small.
    Formula: dT/dt = 2 sqrt(pi) G / (I sqrt(day)) - (2 pi / day) (T - T2), Deardorff, J. Geophys. Res. 83 (1978); backward Euler.
    Check: test_ground_heat.py::test_daily_wave_*.
    """
    warming = step_s * 2.0 * math.sqrt(math.pi) / (inertia * math.sqrt(DAY_S))
    restoring = step_s * 2.0 * math.pi / DAY_S
    given = surface_k + warming * (heat_w_m2 - slope_w_m2_k * at_k) + restoring * deep_k
    return given / (1.0 - warming * slope_w_m2_k + restoring)


@compiled
def restored_deep_k(deep_k, heat_w_m2, inertia, step_s):
    """Temperature of the slow layer one step later [K]: dT2/dt = G / (I sqrt(365 days)), Deardorff (1978). Scalars."""
    return deep_k + step_s * heat_w_m2 / (inertia * math.sqrt(YEAR_DAYS * DAY_S))


@compiled
def blended(ground, snow, cover):
    """The surface of ground that lies partly under snow, cover [0-1]: the mean of both."""
    bare = 1.0 - cover
    return Surface(
        bare * ground.inertia + cover * snow.inertia,
        bare * ground.albedo + cover * snow.albedo,
        bare * ground.emissivity + cover * snow.emissivity,
        bare * ground.roughness_m + cover * snow.roughness_m,
        ground.resistance_day_s_m,
        ground.resistance_night_s_m,
        ground.holds_mm,
    )


@compiled
def surface_step(surface_k, deep_k, air, surface, wet, step_s):
    """Surface temperature one step later [K] from the whole balance, by rounds of `restored_surface_k` until it stands still."""
    at_k = surface_k
    for _ in range(_MOST_ROUNDS):
        solar, longwave, sensible, latent, slope = surface_fluxes_w_m2(at_k, air, surface, wet)
        heat = solar + longwave - sensible - latent
        next_k = restored_surface_k(surface_k, deep_k, heat, slope, at_k, surface.inertia, step_s)
        moved = abs(next_k - at_k)
        at_k = next_k
        if moved < 1.0e-6:
            break
    return at_k
