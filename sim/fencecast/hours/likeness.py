"""Which states of the weather are alike for a site: how well its usual camera would make out a person in each of them.

The numbers saturate where the simulation does (see `meteorology.ease`), so that distances between them are differences of Pd.
They only say which states are alike; no Pd is ever taken from them.
"""

from __future__ import annotations

import numpy as np

from fencecast.meteorology.classes import FOG_KINDS
from fencecast.meteorology.ease import (
    BLOCK_ROWS,
    BODIES_M2,
    CONTRASTS_LEFT,
    DISTANCES_M,
    DROPS,
    View,
    chances_of,
    curves,
    extinctions,
    scene_of,
)
from fencecast.meteorology.year import HourStates
from fencecast.physics.detector import temporal_noise_radiance
from fencecast.physics.radiance import band_radiance_slope
from fencecast.physics.surfaces import GROUND_EMISSIVITY


def usual_view(site) -> View:
    """The medians of a site's cameras, with its rule, ground and dress."""
    rows = []
    for camera in site.camera:
        sensor, lens = site.sensors[camera.sensor], site.lenses[camera.lens]
        slope = band_radiance_slope(300.0, *sensor.band_um)
        noise = temporal_noise_radiance(
            sensor.netd_mk * 1e-3, slope, lens.f_number, sensor.netd_f_number or 0.0, lens.transmission
        )
        rows.append((noise, sensor.fixed_pattern, lens.focal_length_mm * 1e3 / sensor.pitch_um, *sensor.band_um))
    noise, fixed_pattern, focal_px, low, high = (float(np.median(column)) for column in zip(*rows))
    own, decision = site.intruder.clo, site.decision
    return View(
        noise,
        fixed_pattern,
        focal_px,
        (low, high),
        decision.threshold_sigma.middle(),
        decision.cycles_50.middle(),
        GROUND_EMISSIVITY[site.site.ground],
        None if own is None else own.middle(),
    )


def likeness(site, states: HourStates) -> np.ndarray:
    """Points (n, features), all from 0 to 1: the root mean square between two of them is a difference in chances to be made out.

    Each is the chance that a person of one size, at one distance from the site's usual camera, with one share of the contrast
    left, is discriminated; the mean over kinds of people and over drop sizes.
    """
    view = usual_view(site)
    tables = curves()
    points = np.empty((len(states), len(DISTANCES_M) * len(CONTRASTS_LEFT) * len(BODIES_M2)))
    foggy = states.fog != FOG_KINDS["none"]
    for rows, sizes in ((np.flatnonzero(foggy), DROPS), (np.flatnonzero(~foggy), (0.0,))):
        for start in range(0, len(rows), BLOCK_ROWS):
            block = rows[start : start + BLOCK_ROWS]
            part = states.take(block)
            scene = scene_of(view, part)
            chances = sum(chances_of(view, part, scene, extinctions(part, z), DISTANCES_M, tables) for z in sizes)
            points[block] = chances / len(sizes)
    return points
