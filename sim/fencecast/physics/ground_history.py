"""The ground through every hour of a record: the force-restore model of `ground_heat` run through hourly weather.

Tests: tests/meteorology/test_ground_heat.py.
"""

from __future__ import annotations

import math

import numpy as np

from fencecast.jit import compiled
from fencecast.physics.ground_heat import (
    DAY_S,
    FUSION_J_KG,
    VAPORISATION_J_KG,
    Air,
    blended,
    restored_deep_k,
    surface_fluxes_w_m2,
    surface_step,
    wet_share,
)
from fencecast.units import ZERO_CELSIUS_K

FULL_COVER_MM = 5.0  # snow, as water, that hides the ground: judgement, no source

# What `ground_history` tells of each hour, last axis of its fluxes: means over the hour [W/m2].
SOLAR, LONGWAVE, SENSIBLE, LATENT, MELT, STORED = range(6)


@compiled
def _between_middles(values, hour, place):
    """An hourly value at a place in an hour (0-1), on straight lines between the middles of hours, held at the ends."""
    other = hour + 1 if place >= 0.5 else hour - 1
    if other < 0 or other >= values.size:
        return values[hour]
    return values[hour] + abs(place - 0.5) * (values[other] - values[hour])


@compiled
def ground_history(
    air_k, vapour_hpa, wind_m_s, pressure_hpa, rain_mm_h, snow_mm_h, lying_mm, solar_w_m2, sky_w_m2, ground, snow, start_k,
    spin_up_hours, steps
):  # fmt: skip
    """The ground through every hour of a record, for several histories of the sky side by side.

    Arrays (hours,): air_k [K], vapour_hpa, wind_m_s at 10 m, pressure_hpa, rain_mm_h and snow_mm_h (water), lying_mm: lying snow
    as water [mm], NaN where the record does not say (then snowfall and melting keep it). Arrays (histories, hours): solar_w_m2 on
    the level, sky_w_m2 longwave. ground, snow: `Surface`; a ground that is snow itself never melts away. start_k [K] at the
    beginning; spin_up_hours: the first hours, whole days, are run twice, so that the slow layer forgets start_k. steps: implicit
    steps an hour, 6 to 12. Values belong to the middle of their hour and are joined by straight lines; rain and snow fall evenly.

    The histories share one slow layer, driven by their mean: nobody has clear sky for a month.
    Returns (histories, hours): surface temperature [K], share wet with water [0-1], share under snow [0-1], all means over the
    hour; fluxes (histories, hours, 6) [W/m2], means: SOLAR + LONGWAVE - SENSIBLE - LATENT = MELT + STORED; and the slow layer's
    temperature at the end of each hour [K] (hours,).
    Check: test_ground_heat.py::test_history_*.
    """
    histories, hours = solar_w_m2.shape
    surface_k = np.full(histories, start_k)
    held = np.zeros(histories)
    lying = np.zeros(histories)
    deep_k = start_k
    mean_k, mean_wet = np.zeros((histories, hours)), np.zeros((histories, hours))
    mean_cover, mean_flux = np.zeros((histories, hours)), np.zeros((histories, hours, 6))
    slow_k = np.zeros(hours)
    step_s = 3600.0 / steps
    hour_share = 1.0 / steps
    always_snow = ground.albedo == snow.albedo and ground.inertia == snow.inertia
    for run in range(spin_up_hours + hours):
        record = run >= spin_up_hours
        hour = run - spin_up_hours if record else run
        if run == spin_up_hours:
            held[:] = 0.0
            lying[:] = 0.0
            if spin_up_hours >= 24:  # both layers begin as far from the day's air as they came out
                moved = np.mean(air_k[:24]) - np.mean(air_k[spin_up_hours - 24 : spin_up_hours])
                surface_k += moved
                deep_k += moved
        for step in range(steps):
            place = (step + 0.5) * hour_share
            at_air_k = _between_middles(air_k, hour, place)
            at_vapour = _between_middles(vapour_hpa, hour, place)
            at_wind = _between_middles(wind_m_s, hour, place)
            heat_mean = 0.0
            for k in range(histories):
                air = Air(
                    at_air_k,
                    at_vapour,
                    at_wind,
                    pressure_hpa[hour],
                    max(_between_middles(solar_w_m2[k], hour, place), 0.0),
                    _between_middles(sky_w_m2[k], hour, place),
                )
                if always_snow:
                    lying[k] = 1.0e6
                elif step == 0 and not math.isnan(lying_mm[hour]):
                    lying[k] = lying_mm[hour]
                elif math.isnan(lying_mm[hour]):
                    lying[k] += snow_mm_h[hour] * hour_share
                held[k] = min(held[k] + rain_mm_h[hour] * hour_share, ground.holds_mm)
                cover = min(lying[k] / FULL_COVER_MM, 1.0)
                surface = blended(ground, snow, cover)

                # Water never leaves faster than it is there.
                watered = wet_share(held[k], ground.holds_mm)
                free = surface_fluxes_w_m2(surface_k[k], air, surface, 1.0)[3] * step_s / VAPORISATION_J_KG
                if free * watered > held[k]:
                    watered = held[k] / free
                wet = cover + (1.0 - cover) * watered
                now_k = surface_step(surface_k[k], deep_k, air, surface, wet, step_s)
                solar, longwave, sensible, latent, _ = surface_fluxes_w_m2(now_k, air, surface, wet)
                stored = solar + longwave - sensible - latent

                melt = 0.0
                if lying[k] > 0.0 and now_k > ZERO_CELSIUS_K:
                    # What would warm the snow past 0 C melts it instead.
                    per_kelvin = surface.inertia * math.sqrt(DAY_S) / (2.0 * math.sqrt(math.pi))
                    melted = min((now_k - ZERO_CELSIUS_K) * per_kelvin / FUSION_J_KG, lying[k])
                    melt = melted * FUSION_J_KG / step_s
                    now_k -= melted * FUSION_J_KG / per_kelvin
                    lying[k] -= melted
                    held[k] = min(held[k] + melted, ground.holds_mm)
                    stored -= melt

                vapour_mm = latent * step_s / VAPORISATION_J_KG
                if latent < 0.0:
                    held[k] = min(held[k] - (1.0 - cover) * vapour_mm, ground.holds_mm)
                    lying[k] -= cover * vapour_mm
                else:
                    free = surface_fluxes_w_m2(now_k, air, surface, 1.0)[3] * step_s / VAPORISATION_J_KG
                    held[k] = max(held[k] - (1.0 - cover) * watered * free, 0.0)
                    lying[k] = max(lying[k] - cover * free, 0.0)

                surface_k[k] = now_k
                heat_mean += stored / histories
                if record:
                    mean_k[k, hour] += now_k * hour_share
                    mean_wet[k, hour] += watered * hour_share
                    mean_cover[k, hour] += cover * hour_share
                    flux = mean_flux[k, hour]
                    flux[SOLAR] += solar * hour_share
                    flux[LONGWAVE] += longwave * hour_share
                    flux[SENSIBLE] += sensible * hour_share
                    flux[LATENT] += latent * hour_share
                    flux[MELT] += melt * hour_share
                    flux[STORED] += stored * hour_share
            deep_k = restored_deep_k(deep_k, heat_mean, ground.inertia, step_s)
        if record:
            slow_k[hour] = deep_k
    return mean_k, mean_wet, mean_cover, mean_flux, slow_k
