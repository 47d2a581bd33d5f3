"""How warm the surfaces in the picture are, and what leaves them: clothing, bare skin, ground, low sky.

Every surface: L = e L(T) + (1 - e) L_env. Temperatures are kinetic; radiances come from fencecast.physics.radiance.

Tests: tests/physics/test_surfaces.py.
"""

from __future__ import annotations

import math

from fencecast.jit import compiled
from fencecast.physics.air import dew_point_k, saturation_pressure_hpa, vapour_pressure_hpa
from fencecast.physics.radiance import STEFAN_BOLTZMANN_W_M2_K4
from fencecast.units import ZERO_CELSIUS_K

# Emissivity over 8-14 um. Ground: SLUM spectra; Sutherland (1986). Skin: Steketee (1973). Clothing: NIJ measurements (nylon
# 0.87, cotton 0.88, polyester 0.88, acrylic 0.82). Wet cloth: that of water, judgement, no source.
GROUND_EMISSIVITY = {
    "asphalt": 0.943,
    "concrete": 0.939,
    "brick": 0.938,
    "gravel": 0.93,
    "soil": 0.96,
    "grass": 0.98,
    "snow": 0.98,
}
SKIN_EMISSIVITY = 0.98
WET_CLOTH_EMISSIVITY = 0.96

CLEAR_SKY_BELOW_AIR_K = 10.0  # low sky as a black body below air temperature: common practice, no source
OVERCAST_SKY_BELOW_AIR_K = 2.0

CLO_M2K_W = 0.155
CLO_SIGMA_LN = 0.2
FREE_CONVECTION_FACTOR = 2.38  # ISO 7730
FORCED_CONVECTION_FACTOR = 12.1
LEWIS_K_PER_KPA = 16.5
AIR_PERMEABILITY_L_M2_S = 8.0  # of clothing, ISO 11079 (published values, not checked against the originals)
REDUCTION_WIND_CUT_M_S = 3.0
REDUCTION_WALKING_CUT_M_S = 1.2
LEAST_INSULATION_M2K_W = 1.0e-3  # the reduction would make less than nothing of almost no clothing in calm air

CORE_TEMPERATURE_K = ZERO_CELSIUS_K + 37.0
SKIN_RESISTANCE_M2K_W = 0.05

_MOST_STEPS = 60


@compiled
def mean_radiant_temperature_k(ground_temperature_k, low_sky_temperature_k):
    """What an upright surface exchanges heat with [K]: T^4 is half the ground's, half the low sky's. Kelvin, scalars."""
    return (0.5 * ground_temperature_k**4 + 0.5 * low_sky_temperature_k**4) ** 0.25


@compiled
def leaving_radiance(emissivity, surface_radiance, environment_radiance):
    """Radiance that leaves a surface: e L(T) + (1 - e) L_env, in the unit of the two radiances; emissivity 0-1. Scalars."""
    return emissivity * surface_radiance + (1.0 - emissivity) * environment_radiance


@compiled
def upright_environment_radiance(ground_leaving_radiance, low_sky_radiance):
    """What an upright surface reflects: half of what leaves the ground, half the low sky. One unit for all, scalars.

    The ground itself is seen at grazing view and reflects the low sky: `leaving_radiance(e_ground, L(T_ground), L(T_lowsky))`.
    """
    return 0.5 * ground_leaving_radiance + 0.5 * low_sky_radiance


@compiled
def relative_air_speed_m_s(wind_m_s, walking_m_s):
    """Air speed over a moving person [m/s]: the root of the sum of squares (wind from any side). Scalars."""
    return math.sqrt(wind_m_s * wind_m_s + walking_m_s * walking_m_s)


@compiled
def skin_temperature_under_clothing_k(air_temperature_k):
    """Mean skin temperature under clothing [K]: a straight line from 29 C at -20 C air to 33 C at 20 C, held beyond both ends.

    air_temperature_k [K], scalar. Judgement, no source.
    """
    celsius = air_temperature_k - ZERO_CELSIUS_K
    return ZERO_CELSIUS_K + min(max(31.0 + 0.1 * celsius, 29.0), 33.0)


@compiled
def bare_skin_temperature_k(air_temperature_k, air_speed_m_s):
    """Temperature of bare facial skin [K]: T_air + (37 C - T_air) / (1 + h R), R 0.05 m2K/W, h = 4.5 + 8.3 v^0.6 W/m2K.

    air_temperature_k [K]; air_speed_m_s [m/s] relative to the person, see `relative_air_speed_m_s`. Scalars. Judgement, no
    source; steady state. Check: test_surfaces.py::test_bare_skin_*.
    """
    transfer = 4.5 + 8.3 * max(air_speed_m_s, 0.0) ** 0.6
    return air_temperature_k + (CORE_TEMPERATURE_K - air_temperature_k) / (1.0 + transfer * SKIN_RESISTANCE_M2K_W)


@compiled
def median_clo(air_temperature_k):
    """Median insulation that people wear in this air [clo]: 3.0 at -20 C, 2.0 at 0, 1.5 at 5, 1.0 at 10, 0.6 at 20, 0.5 at 30.

    air_temperature_k [K], scalar. Straight lines between, held beyond both ends. Judgement, no source.
    """
    celsius = air_temperature_k - ZERO_CELSIUS_K
    if celsius < 0.0:
        return min(2.0 - 0.05 * celsius, 3.0)
    if celsius < 10.0:
        return 2.0 - 0.1 * celsius
    if celsius < 20.0:
        return 1.4 - 0.04 * celsius
    return max(0.8 - 0.01 * celsius, 0.5)


@compiled
def clothing_area_factor(insulation_m2k_w):
    """Outer area of clothing over that of the skin [-]: 1 + 1.97 I_cl (ISO 11079), I_cl in m2K/W, not reduced. Scalar."""
    return 1.0 + 1.97 * insulation_m2k_w


@compiled
def resultant_insulation_m2k_w(insulation_m2k_w, area_factor, wind_m_s, walking_m_s):
    """Insulation of clothing with wind and walking pumping air through it [m2K/W].

    insulation_m2k_w [m2K/W] in still air, area_factor [-], wind_m_s and walking_m_s [m/s], taken as they are. Scalars.
    Formula: ISO 11079:2007 Annex (published values, not checked against the originals), p = 8 l/m2s: with q = exp(-0.15 va - 0.22
    w), (I_cl + 0.085/f_cl) [0.54 q p^0.075 - 0.06 ln p + 0.5] - (0.092 q - 0.0045)/f_cl.
    Check: test_surfaces.py::test_reduction_*.
    """
    pumping = math.exp(-0.15 * wind_m_s - 0.22 * walking_m_s)
    air_layer = 0.092 * pumping - 0.0045
    factor = 0.54 * pumping * AIR_PERMEABILITY_L_M2_S**0.075 - 0.06 * math.log(AIR_PERMEABILITY_L_M2_S) + 0.5
    return (insulation_m2k_w + 0.085 / area_factor) * factor - air_layer / area_factor


@compiled
def clothing_insulation_reduced(clo, wind_m_s, walking_m_s):
    """Insulation of what a moving person wears [m2K/W]: `resultant_insulation_m2k_w` with wind cut at 3 and walking at 1.2 m/s.

    clo [clo, 0.155 m2K/W each], wind_m_s, walking_m_s [m/s] >= 0, scalars. Not below 0.001 m2K/W.
    """
    insulation = CLO_M2K_W * clo
    reduced = resultant_insulation_m2k_w(
        insulation,
        clothing_area_factor(insulation),
        min(wind_m_s, REDUCTION_WIND_CUT_M_S),
        min(walking_m_s, REDUCTION_WALKING_CUT_M_S),
    )
    return max(reduced, LEAST_INSULATION_M2K_W)


@compiled
def _heat_surplus_w_m2(t_k, pieces):
    """Heat that reaches the clothing's surface at this temperature less the heat that leaves it, per area of skin [W/m2]."""
    skin_k, insulation, area, air_k, v_root, vapour_kpa, radiant_4, radiating, wetness = pieces
    difference = t_k - air_k
    transfer = max(FREE_CONVECTION_FACTOR * math.sqrt(math.sqrt(abs(difference))), FORCED_CONVECTION_FACTOR * v_root)
    loss = transfer * difference + radiating * STEFAN_BOLTZMANN_W_M2_K4 * (t_k**4 - radiant_4)
    if wetness > 0.0:
        loss += wetness * LEWIS_K_PER_KPA * transfer * (0.1 * saturation_pressure_hpa(t_k) - vapour_kpa)
    return (skin_k - t_k) / insulation - area * loss


@compiled
def clothing_balance_temperature_k(
    skin_temperature_k,
    insulation_m2k_w,
    area_factor,
    air_temperature_k,
    relative_humidity,
    air_speed_m_s,
    radiant_temperature_k,
    radiating_factor,
    wetness,
):
    """Temperature of the outer surface of clothing from its heat balance, with every piece given [K].

    skin_temperature_k [K]; insulation_m2k_w [m2K/W] > 0; area_factor [-] >= 1; air_temperature_k [K]; relative_humidity
    [fraction 0-1]; air_speed_m_s [m/s] relative to the person; radiant_temperature_k [K]; radiating_factor [-]: emissivity, or
    the product of emissivity and radiating area that a standard uses; wetness [0 dry - 1 soaked]. Scalars.
    Formula: (T_skin - T)/I = f [h (T - T_air) + e sigma (T^4 - T_r^4) + w 16.5 h (p_s(T) - p_air)], pressures in kPa, with
    h = max(2.38 |T - T_air|^0.25, 12.1 sqrt(v)): ISO 7730 with evaporation by the Lewis relation.
    The root is kept in a bracket whose ends have a sign by construction: the coldest of skin, air, surroundings and (wet) dew
    point can only gain heat, the warmest can only lose it. Soaked cloth that ends colder than perfectly still air can have
    two roots (the convection law is flat at equal temperatures); with 0.1 m/s of air movement or more there is one.
    Check: test_surfaces.py::test_balance_*.
    """
    pieces = (
        skin_temperature_k,
        insulation_m2k_w,
        area_factor,
        air_temperature_k,
        math.sqrt(max(air_speed_m_s, 0.0)),
        0.1 * vapour_pressure_hpa(air_temperature_k, relative_humidity),
        radiant_temperature_k**4,
        radiating_factor,
        wetness,
    )
    low = min(skin_temperature_k, air_temperature_k, radiant_temperature_k)
    high = max(skin_temperature_k, air_temperature_k, radiant_temperature_k)
    if wetness > 0.0:
        low = min(low, dew_point_k(air_temperature_k, relative_humidity))
    low_surplus = _heat_surplus_w_m2(low, pieces)
    high_surplus = _heat_surplus_w_m2(high, pieces)
    if low_surplus <= 0.0:
        return low
    if high_surplus >= 0.0:
        return high
    # Regula falsi with the Illinois halving; every third step is a bisection if the bracket has not halved since the last one.
    side = 0
    width = high - low
    for step in range(_MOST_STEPS):
        if high - low < 1.0e-7:
            break
        middle = (low * high_surplus - high * low_surplus) / (high_surplus - low_surplus)
        if step % 3 == 2:
            if high - low > 0.5 * width:
                middle = 0.5 * (low + high)
            width = high - low
        surplus = _heat_surplus_w_m2(middle, pieces)
        if abs(surplus) < 1.0e-7:
            return middle
        if surplus > 0.0:
            low, low_surplus = middle, surplus
            if side == 1:
                high_surplus *= 0.5
            side = 1
        else:
            high, high_surplus = middle, surplus
            if side == -1:
                low_surplus *= 0.5
            side = -1
    return 0.5 * (low + high)


@compiled
def wet_clothing_emissivity(dry_emissivity, wetness):
    """Emissivity of clothing that is partly wet [-]: straight from the dry value to 0.96 when soaked. wetness 0-1, scalars."""
    return dry_emissivity + (WET_CLOTH_EMISSIVITY - dry_emissivity) * wetness


@compiled
def clothing_temperature_k(
    air_temperature_k,
    relative_humidity,
    wind_m_s,
    walking_m_s,
    clo,
    emissivity,
    wetness,
    ground_temperature_k,
    low_sky_temperature_k,
):
    """Temperature of the outer surface of a person's clothing [K].

    air_temperature_k, ground_temperature_k, low_sky_temperature_k [K]; relative_humidity [fraction]; wind_m_s, walking_m_s
    [m/s]; clo [clo]; emissivity [-]: the DRY value as drawn, wetting is done in here; wetness [0-1]. Scalars.
    Formula: `clothing_balance_temperature_k` with the skin of `skin_temperature_under_clothing_k`, insulation of
    `clothing_insulation_reduced`, area factor 1 + 1.97 I_cl (not reduced), `wet_clothing_emissivity`, the mean of ground and low
    sky for the surroundings, and the root sum of squares of wind and walking for the air speed. Steady state: cloth takes some
    minutes to follow. Check: test_surfaces.py::test_clothing_*.
    """
    return clothing_balance_temperature_k(
        skin_temperature_under_clothing_k(air_temperature_k),
        clothing_insulation_reduced(clo, wind_m_s, walking_m_s),
        clothing_area_factor(CLO_M2K_W * clo),
        air_temperature_k,
        relative_humidity,
        relative_air_speed_m_s(wind_m_s, walking_m_s),
        mean_radiant_temperature_k(ground_temperature_k, low_sky_temperature_k),
        wet_clothing_emissivity(emissivity, wetness),
        wetness,
    )
