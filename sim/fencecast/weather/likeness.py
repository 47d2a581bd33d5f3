"""In what two states of the weather differ, for a site: how well its usual camera would make out a person in each of them.

A state has a dozen numbers, but most differences between them change nothing: with contrast to spare, 9 km of optical range are
as good as 20. The numbers here saturate where the simulation does, so that distances between them are differences of Pd.
They only say which states are alike; no Pd is ever taken from them.
"""

from __future__ import annotations

import math

import numpy as np

from fencecast.physics.air import CELSIUS_ZERO_K, GAS_POWER, gas_linear_coefficient, gas_power_coefficient
from fencecast.physics.air import water_vapour_density_g_m3 as vapour_density
from fencecast.physics.detector import normal_cdf, temporal_noise_radiance
from fencecast.physics.discrimination import discrimination_probability
from fencecast.physics.droplets import droplet_extinctions
from fencecast.physics.radiance import band_radiance, band_radiance_slope
from fencecast.physics.surfaces import (
    CLO_SIGMA_LN,
    GROUND_EMISSIVITY,
    SKIN_EMISSIVITY,
    bare_skin_temperature_k,
    clothing_temperature_k,
    leaving_radiance,
    median_clo,
    relative_air_speed_m_s,
    upright_environment_radiance,
    wet_clothing_emissivity,
)
from fencecast.weather.classes import FOG_DROPS, FOG_KINDS, UNUSED_DROPS
from fencecast.weather.year import HourStates

DISTANCES_M = (8.0, 15.0, 25.0, 40.0, 60.0)
# Height times breadth of a person upright and of one who crawls [m2], and the contrast that the middle of the field and its
# edge or a mesh leave: common practice, no source; only likeness hangs on them.
BODIES_M2 = (0.85, 0.25)
CONTRASTS_LEFT = (1.0, 0.5)
# Three places in a normal distribution that stand for all of it: 10, 50 and 90 %.
_TENTHS = (-1.2816, 0.0, 1.2816)
_WALKING_M_S = 1.3
_DRY_EMISSIVITY = 0.87
_BARE_HEAD = 0.25
_HEAD_AREA = 0.07  # of the body's outline
_RAY_STRETCH = 1.3  # the ground behind a person's middle lies this much farther than the person, for masts of 4 m


def _each(function, *columns) -> np.ndarray:
    """A compiled scalar function over columns (n,): compiled once and kept, which an array form would not be."""
    return np.array([function(*row) for row in zip(*columns)], dtype=float)


def usual_camera(site):
    """Noise [W m-2 sr-1], fixed pattern, focal length in pixels and band [um] at the median of the site's cameras."""
    rows = []
    for camera in site.camera:
        sensor, lens = site.sensors[camera.sensor], site.lenses[camera.lens]
        slope = band_radiance_slope(300.0, *sensor.band_um)
        noise = temporal_noise_radiance(
            sensor.netd_mk * 1e-3, slope, lens.f_number, sensor.netd_f_number or 0.0, lens.transmission
        )
        rows.append((noise, sensor.fixed_pattern, lens.focal_length_mm * 1e3 / sensor.pitch_um, *sensor.band_um))
    return tuple(float(np.median(column)) for column in zip(*rows))


def surface_radiances(site, states: HourStates, band_um) -> tuple[np.ndarray, ...]:
    """Radiances [W m-2 sr-1] of air, ground, head (n,) and clothing (three kinds of dress, n), and the ground's dL/dT (n,).

    Dress is light, median and heavy: 10, 50 and 90 % of what people wear in this air, or of the site's own insulation.
    """
    air_k = states.air_temperature_c + CELSIUS_ZERO_K
    ground_k = air_k + states.ground_minus_air_k
    sky_k = air_k - states.low_sky_below_air_k

    def of(temperature_k):
        return _each(lambda t: band_radiance(t, *band_um), temperature_k)

    sky = of(sky_k)
    ground = leaving_radiance(GROUND_EMISSIVITY[site.site.ground], of(ground_k), sky)
    around = upright_environment_radiance(ground, sky)
    emissivity = wet_clothing_emissivity(_DRY_EMISSIVITY, states.wetness)
    own = site.intruder.clo
    clo = _each(median_clo, air_k) if own is None else np.full(len(states), own.middle())
    clothing = []
    for z in _TENTHS:
        worn = clo * math.exp(CLO_SIGMA_LN * z)
        temperature_k = np.array(
            [
                clothing_temperature_k(t, h, v, _WALKING_M_S, c, _DRY_EMISSIVITY, w, g, s)
                for t, h, v, c, w, g, s in zip(
                    air_k, states.relative_humidity, states.wind_m_s, worn, states.wetness, ground_k, sky_k
                )
            ]
        )
        clothing.append(leaving_radiance(emissivity, of(temperature_k), around))
    skin_k = np.array(
        [bare_skin_temperature_k(t, relative_air_speed_m_s(v, _WALKING_M_S)) for t, v in zip(air_k, states.wind_m_s)]
    )
    skin = leaving_radiance(SKIN_EMISSIVITY, of(skin_k), around)
    slope = _each(lambda t: band_radiance_slope(t, *band_um), ground_k)
    return of(air_k), ground, _BARE_HEAD * skin + (1.0 - _BARE_HEAD) * clothing[1], np.array(clothing), slope


def extinctions(states: HourStates) -> tuple[np.ndarray, np.ndarray]:
    """Coefficients of d^0.5709 (n,) and of d (three sizes of drops, n) in -ln transmission; drops at 10, 50 and 90 %."""
    air_k = states.air_temperature_c + CELSIUS_ZERO_K
    vapour = _each(vapour_density, air_k, states.relative_humidity)
    given = np.isfinite(states.visibility_m)
    visibility = np.where(given, states.visibility_m, 20_000.0)
    median, sigma = np.ones(len(states)), np.zeros(len(states))
    for kind, code in FOG_KINDS.items():
        drops = FOG_DROPS.get(kind, UNUSED_DROPS)
        median[states.fog == code] = drops.middle()
        sigma[states.fog == code] = drops.sigma_ln or 0.0
    linear = []
    for z in _TENTHS:
        rows = zip(states.fog, visibility, given, median * np.exp(sigma * z), states.rain_mm_h, states.snow_mm_h, air_k)
        linear.append([sum(droplet_extinctions(f, v, g, 0, r, rain, snow, t)) for f, v, g, r, rain, snow, t in rows])
    return _each(gas_power_coefficient, vapour), _each(gas_linear_coefficient, vapour) + np.array(linear)


def likeness(site, states: HourStates) -> np.ndarray:
    """Points (n, features), all from 0 to 1: the root mean square between two of them is a difference in chances to be made out.

    Each is the chance that a person of one size, at one distance from the site's usual camera, with one share of the contrast
    left, is discriminated; the mean over dress and drop size.
    """
    noise, fixed_pattern, focal_px, low_um, high_um = usual_camera(site)
    air, ground, head, clothing, slope = surface_radiances(site, states, (low_um, high_um))
    power, linear = extinctions(states)
    features = []
    for distance in DISTANCES_M:
        behind = _RAY_STRETCH * distance
        near, far = (np.exp(-(power * d**GAS_POWER + linear * d)) for d in (distance, behind))
        veil = (near - far) * (ground - air)
        for left in CONTRASTS_LEFT:
            passed = left * states.window
            sigma = np.sqrt(noise**2 * (1.0 + fixed_pattern**2) + (passed * near * states.clutter_k * slope) ** 2)
            cloth = np.abs(near * (clothing[:, None, :] - ground) + veil) * passed / sigma
            face = np.abs(near * (head - ground) + veil) * passed / sigma
            chance = _CDF(cloth - site.decision.threshold_sigma)
            of_head = _CDF(face - site.decision.threshold_sigma)
            total = (1.0 - _HEAD_AREA) * cloth + _HEAD_AREA * face
            seen = ((1.0 - _HEAD_AREA) * cloth * chance + _HEAD_AREA * face * of_head) / np.maximum(total, 1e-12)
            for body in BODIES_M2:
                cycles = 0.5 * np.sqrt(body * (focal_px / distance) ** 2 * seen)
                features.append(_DISCRIMINATED(cycles / site.decision.cycles_50).mean(axis=(0, 1)))
    return np.array(features).T


def _on_grid(function, low: float, high: float, steps: int = 4000):
    """A compiled scalar function as straight lines between the rows of a table, for large arrays."""
    at = np.linspace(low, high, steps)
    table = _each(function, at)
    return lambda values: np.interp(values, at, table)


_CDF = _on_grid(normal_cdf, -8.0, 8.0)
_DISCRIMINATED = _on_grid(discrimination_probability, 0.0, 20.0)
