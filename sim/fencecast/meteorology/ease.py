"""How easily people are made out in a state of the weather, by one plain camera: puts states in an order (`ease`).

A state has a dozen numbers, but most differences between them change nothing: with contrast to spare, 9 km of optical range are
as good as 20. The numbers here saturate where the simulation does. `hours.likeness` asks the same for a site's own camera. No
Pd is ever taken from them.
"""

from __future__ import annotations

import math
from itertools import product
from typing import NamedTuple

import numpy as np

from fencecast.meteorology.classes import FOG_DROPS, FOG_KINDS
from fencecast.meteorology.year import HourStates
from fencecast.physics.air import GAS_POWER, gas_linear_coefficient, gas_power_coefficient
from fencecast.physics.air import water_vapour_density_g_m3 as vapour_density
from fencecast.physics.detector import normal_cdf
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
from fencecast.units import ZERO_CELSIUS_K

# Common practice, no source, all of these; only likeness depends on them, and a test compares it with the simulation.
DISTANCES_M = (8.0, 15.0, 25.0, 40.0, 60.0)
BODIES_M2 = (0.85, 0.25)  # height times breadth of a person upright and of one who crawls
CONTRASTS_LEFT = (1.0, 0.5, 0.25)  # in the middle of the field, at its edge, behind a mesh
DRESS = (-1.2816, 0.0, 1.2816)  # 10, 50, 90 % of what is worn in this air
DROPS = (-1.2816, 0.0, 1.2816)  # 10, 50, 90 % of a fog's drop sizes
_HEAD_AREA = 0.07  # of the body's outline
_RAY_STRETCH = 1.3  # the ground behind a person's middle lies this much farther than the person, for masts of 4 m
BLOCK_ROWS = 1024


class People(NamedTuple):
    """Kinds of people: paces [m/s], emissivities of dry cloth, bare shares of the head; each in three dresses."""

    paces_m_s: tuple[float, ...] = (0.6, 1.3, 4.5)
    emissivities: tuple[float, ...] = (0.83, 0.87, 0.91)
    bare_heads: tuple[float, ...] = (0.05, 0.25, 0.45)


class View(NamedTuple):
    """Who looks at what: noise [W m-2 sr-1], fixed pattern, focal length [px], band [um], decision, ground, usual insulation."""

    noise: float
    fixed_pattern: float
    focal_px: float
    band_um: tuple[float, float]
    threshold_sigma: float
    cycles_50: float
    ground_emissivity: float
    clo: float | None  # None: what is usual in the state's air


EVERYBODY = People()
FEW = People((1.3,), (0.87,), (0.25,))
# What `ease` looks with: 17 um pixels behind 6 mm, 50 mK, 8 to 14 um, over grass (invented, plain numbers of the trade).
_PLAIN = (0.05, 0.0, 353.0, (8.0, 14.0), 5.0, 2.0, GROUND_EMISSIVITY["grass"], None)
_EASE_DISTANCES_M = (8.0, 25.0, 60.0)


class Scene(NamedTuple):
    """Radiances [W m-2 sr-1] of air and ground (n,), of clothing and head (kinds of people, n), and the ground's dL/dT (n,)."""

    air: np.ndarray
    ground: np.ndarray
    clothing: np.ndarray
    head: np.ndarray
    slope: np.ndarray


def _each(function, *columns) -> np.ndarray:
    """A compiled scalar function over columns (n,): compiled once and kept, which an array form would not be."""
    return np.array([function(*row) for row in zip(*columns)], dtype=float)


def _on_grid(function, low: float, high: float, steps: int = 4000):
    """A compiled scalar function as straight lines between the rows of a table, for large arrays."""
    at = np.linspace(low, high, steps)
    table = _each(function, at)
    return lambda values: np.interp(values, at, table)


def plain_view() -> View:
    """The same camera, ground and dress whatever the site."""
    view = View(*_PLAIN)
    return view._replace(noise=view.noise * band_radiance_slope(300.0, *view.band_um))


def scene_of(view: View, states: HourStates, people: People = EVERYBODY) -> Scene:
    """What air, ground and people radiate in each state."""
    air_k = states.air_temperature_c + ZERO_CELSIUS_K
    ground_k = air_k + states.ground_minus_air_k
    sky_k = air_k - states.low_sky_below_air_k

    def of(temperature_k):
        return _each(lambda t: band_radiance(t, *view.band_um), temperature_k)

    sky = of(sky_k)
    ground = leaving_radiance(view.ground_emissivity, of(ground_k), sky)
    around = upright_environment_radiance(ground, sky)
    usual = _each(median_clo, air_k) if view.clo is None else np.full(len(states), view.clo)
    clothing, head = [], []
    for pace in people.paces_m_s:
        speed = _each(lambda v, pace=pace: relative_air_speed_m_s(v, pace), states.wind_m_s)
        skin = leaving_radiance(SKIN_EMISSIVITY, of(_each(bare_skin_temperature_k, air_k, speed)), around)
        for z, emissivity in product(DRESS, people.emissivities):

            def temperature(t, h, v, c, w, g, s, pace=pace, emissivity=emissivity):
                return clothing_temperature_k(t, h, v, pace, c, emissivity, w, g, s)

            worn = usual * math.exp(CLO_SIGMA_LN * z)
            rows = (air_k, states.relative_humidity, states.wind_m_s, worn, states.wetness, ground_k, sky_k)
            cloth = leaving_radiance(wet_clothing_emissivity(emissivity, states.wetness), of(_each(temperature, *rows)), around)
            for bare in people.bare_heads:
                clothing.append(cloth)
                head.append(bare * skin + (1.0 - bare) * cloth)
    slope = _each(lambda t: band_radiance_slope(t, *view.band_um), ground_k)
    return Scene(of(air_k), ground, np.array(clothing), np.array(head), slope)


def extinctions(states: HourStates, z: float) -> tuple[np.ndarray, np.ndarray]:
    """Coefficients of d^0.5709 and of d in -ln transmission, each (n,), with fog drops at z standard deviations of their size."""
    air_k = states.air_temperature_c + ZERO_CELSIUS_K
    vapour = _each(vapour_density, air_k, states.relative_humidity)
    given = np.isfinite(states.visibility_m)
    radius = np.ones(len(states))
    for kind, drops in FOG_DROPS.items():
        radius[states.fog == FOG_KINDS[kind]] = drops.median * math.exp(drops.sigma_ln * z)
    rows = (states.fog, np.where(given, states.visibility_m, 20_000.0), given, radius, states.rain_mm_h, states.snow_mm_h, air_k)
    drops = _each(lambda f, v, g, r, rain, snow, t: sum(droplet_extinctions(f, v, g, 0, r, rain, snow, t)), *rows)
    return _each(gas_power_coefficient, vapour), _each(gas_linear_coefficient, vapour) + drops


def ease(states: HourStates) -> np.ndarray:
    """How easily a few kinds of people are made out in each state (n,), from 0 to 1, by the same camera whatever the site.

    It puts states in an order, so that neighbours are alike in what matters. It may not depend on a site's cameras: a draw of the
    hour must mean the same hour for two designs that are compared.
    """
    view, tables = plain_view(), curves()
    mean = np.empty(len(states))
    for start in range(0, len(states), BLOCK_ROWS):
        part = states.take(slice(start, start + BLOCK_ROWS))
        chances = chances_of(view, part, scene_of(view, part, FEW), extinctions(part, 0.0), _EASE_DISTANCES_M, tables)
        mean[start : start + BLOCK_ROWS] = chances.mean(axis=1)
    return mean


def curves():
    """Phi and the curve of discrimination, for large arrays."""
    return _on_grid(normal_cdf, -8.0, 8.0), _on_grid(discrimination_probability, 0.0, 20.0)


def chances_of(view: View, states, scene: Scene, extinction, distances_m, tables) -> np.ndarray:
    power, linear = extinction
    passes, discriminated = tables
    features = []
    for distance in distances_m:
        near, far = (np.exp(-(power * d**GAS_POWER + linear * d)) for d in (distance, _RAY_STRETCH * distance))
        veil = (near - far) * (scene.ground - scene.air)
        for left in CONTRASTS_LEFT:
            passed = left * states.window
            clutter = passed * near * states.clutter_k * scene.slope
            sigma = np.sqrt(view.noise**2 * (1.0 + view.fixed_pattern**2) + clutter**2)
            cloth = (1.0 - _HEAD_AREA) * (np.abs(near * (scene.clothing - scene.ground) + veil) * passed / sigma)
            face = _HEAD_AREA * (np.abs(near * (scene.head - scene.ground) + veil) * passed / sigma)
            seen = cloth * passes(cloth / (1.0 - _HEAD_AREA) - view.threshold_sigma)
            seen = seen + face * passes(face / _HEAD_AREA - view.threshold_sigma)
            seen = np.sqrt(seen / np.maximum(cloth + face, 1e-12))
            for body in BODIES_M2:
                cycles = 0.5 * math.sqrt(body) * view.focal_px / distance * seen
                features.append(discriminated(cycles / view.cycles_50).mean(axis=0))
    return np.array(features).T
