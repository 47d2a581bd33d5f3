"""For every check a defect of the product that it must see: what is replaced, and by what.

A break takes pytest's monkeypatch and replaces a function or constant of the product where the check calls it. Compiled code has
its constants burnt in, so most breaks wrap the function: a wrong unit, a swapped argument, a slip of a percent. The kernel has no
seam for three rules of the crossing; there the rule is taken from the other side of the comparison, which parts the two alike.
"""

from __future__ import annotations

import math

import numpy as np

from fencecast.estimate import intervals, walktest
from fencecast.evidence import crossings, slow
from fencecast.evidence.independent import corners
from fencecast.evidence.independent import look as independent_look
from fencecast.kernels import confirm, look, render, sight
from fencecast.kernels.look import BLUR_U, P_LOOK, SEEN_SHARE
from fencecast.onelook import drawing
from fencecast.physics import air, discrimination, droplets, ground_heat, ground_history, optics, radiance, sky, surfaces
from fencecast.sampling import sobol


def wrapped(module, name, around):
    """A break that puts around(function, *arguments) in the place of a function."""
    function = getattr(module, name)

    def install(monkeypatch):
        monkeypatch.setattr(module, name, lambda *arguments: around(function, *arguments))

    return install


def scaled(module, name, factor):
    """A function whose result is off by a factor."""
    return wrapped(module, name, lambda f, *arguments: f(*arguments) * factor)


def ice_below_freezing(f, kelvin):
    celsius = kelvin - 273.15
    return 6.112 * math.exp(22.46 * celsius / (272.62 + celsius)) if celsius < 0.0 else f(kelvin)


def look_with(row, change):
    """The product's look with one of its results changed."""

    def around(f, *arguments):
        drawn = f(*arguments)
        work = arguments[-1]
        work.look[row] = change(work.look[row])
        return drawn

    return wrapped(look, "look_at_body", around)


def wider_blur(f, *arguments):
    drawn = f(*arguments)
    arguments[-1][BLUR_U] *= 1.01
    return drawn


def breadth_for_depth(f, *arguments):
    *head, body, edges, result = arguments
    return f(*head, body._replace(breadth=body.depth, depth=body.breadth), edges, result)


def weaker_fence(f, *arguments):
    f(*arguments)
    factor = arguments[-1]
    factor[factor < 1.0] *= 0.999


def slipped_column(f, points, dimensions):
    table = f(points, dimensions).copy()
    table[:, 5] = table[:, 6]
    return table


def packed_with(change):
    """A break that changes the packed plan of each site."""
    pack = crossings.pack_plan

    def install(monkeypatch):
        monkeypatch.setattr(crossings, "pack_plan", lambda site: change(pack(site)))

    return install


def less_inert(f, *arguments):
    """The ground's history on a material of two thirds of the inertia."""
    *head, ground, snow, start_k, spin_up, steps = arguments
    return f(*head, ground._replace(inertia=ground.inertia / 1.5), snow, start_k, spin_up, steps)


def harder_to_discriminate(plan):
    return plan._replace(decision=plan.decision._replace(cycles_50=plan.decision.cycles_50 * 1.03))


def gaits_in_reverse(plan):
    """Shares of the gaits from the wrong end: 0.036 in the mean Pd of the cells."""
    shares = np.diff(plan.intruder.gait_cumulative, prepend=0.0)[::-1]
    return plan._replace(intruder=plan.intruder._replace(gait_cumulative=np.cumsum(shares)))


def paths_anywhere(monkeypatch):
    """Paths near corners at any drawn angle: up to 0.25 in the Pd of a cell."""
    monkeypatch.setattr(corners.Corners, "possible", lambda self, point: [(-90.0, 90.0)])


def every_camera_its_own_post(monkeypatch):
    """Cameras on one mast as independent eyes: 0.02 in the Pd of a cell."""
    for name, *_ in crossings.POSTS:
        site, _ = slow.slow_site(name)
        monkeypatch.setattr(site, "posts", [[camera.mark] for camera in site.cameras])


def contrast_after_the_fence(monkeypatch):
    """Shares of what is left behind a fence, of parts that are not cut, as in the first version."""
    parts, bands = independent_look.part_contrasts, independent_look.fence_bands

    def weakened(eye, scene, pose, *rest):
        contrast, *others = parts(eye, scene, pose, *rest)
        return contrast * independent_look.part_passed(pose, *bands(eye, scene, pose)), *others

    def transparent(eye, scene, pose):
        ends, passed = bands(eye, scene, pose)
        return ends, np.ones_like(passed)

    monkeypatch.setattr(independent_look, "part_contrasts", weakened)
    monkeypatch.setattr(independent_look, "fence_bands", transparent)


BREAKS = {
    "planck_fraction": scaled(radiance, "planck_fraction", 1.0 + 1e-9),
    "planck_handbook": wrapped(radiance, "planck_fraction", lambda f, lambda_t: f(1.001 * lambda_t)),
    "band_radiance": wrapped(radiance, "band_radiance", lambda f, t, low, high: f(t + 1e-4, low, high)),
    "band_radiance_slope": wrapped(radiance, "band_radiance_slope", lambda f, t, low, high: f(t, low, high + 1e-5)),
    "water_vapour": scaled(air, "water_vapour_density_g_m3", 1.01),
    "saturation_cold": wrapped(air, "saturation_pressure_hpa", ice_below_freezing),
    "clear_air": wrapped(air, "gas_transmission", lambda f, d, vapour: f(d, 1.05 * vapour)),
    "clear_air_formula": wrapped(air, "gas_transmission", lambda f, d, vapour: f(1.2 * d, vapour)),
    "clear_air_parting": wrapped(air, "gas_transmission", lambda f, d, vapour: f(d, 1.01 * vapour)),
    "fog_ratio": wrapped(droplets, "fog_extinction_ratio", lambda f, radius: f(1.02 * radius)),
    "fog_named": lambda monkeypatch: monkeypatch.setattr(droplets, "HEAVY_RADIATION_RATIO", 0.757),
    "rain_drop_sizes": scaled(droplets, "rain_extinction_per_m", 1.01),
    "rain_itu": scaled(droplets, "rain_extinction_per_m", 1.01),
    "rain_thermal": scaled(droplets, "rain_extinction_per_m", 4.343),  # decibels
    "snow_rate": wrapped(droplets, "snow_visibility_m", lambda f, rate, wet: f(rate, not wet)),
    "window_film": wrapped(droplets, "window_film_transmission", lambda f, film: f(1.01 * film)),
    "clothing_iso_7730": wrapped(
        surfaces, "clothing_balance_temperature_k", lambda f, skin, insulation, *rest: f(skin, 1.02 * insulation, *rest)
    ),
    "clothing_cold": wrapped(
        surfaces, "clothing_balance_temperature_k", lambda f, *a: f(*a[:6], a[3], *a[7:])
    ),  # radiation exchanged with the air
    "clothing_reduction": wrapped(
        surfaces, "resultant_insulation_m2k_w", lambda f, still, area, wind, walking: f(still, area, wind, 1.01 * walking)
    ),
    "clothing_area": wrapped(surfaces, "clothing_area_factor", lambda f, insulation: f(1.2 * insulation)),
    "clothing_wet": wrapped(surfaces, "clothing_balance_temperature_k", lambda f, *a: f(*a[:8], 1.2 * a[8])),
    "daily_wave": wrapped(ground_heat, "restored_surface_k", lambda f, *a: f(*a[:5], 1.01 * a[5], a[6])),
    "ground_slab": wrapped(ground_history, "ground_history", less_inert),
    "air_exchange": scaled(ground_heat, "air_exchange_m_s", 1.2),
    "clear_sky": wrapped(sky, "clear_sky_emissivity", lambda f, vapour, air_k: f(1.3 * vapour, air_k)),
    "projection": wrapped(optics, "project", lambda f, x, y, z, focal, law: f(x, y, z, focal * (1.0 + 1e-9), law)),
    "field_of_view": scaled(optics, "field_of_view_rad", 0.5),
    "rectangles": wrapped(look, "fill_body_image", breadth_for_depth),
    "blur": wrapped(look, "fill_body_image", wider_blur),
    "body_drawn": wrapped(drawing, "pixel_share_array", lambda f, pixels, *rest: f(pixels + 0.001, *rest)),
    "body_sums": look_with(SEEN_SHARE, lambda share: share * 1.001),
    "body_passes": look_with(P_LOOK, lambda p: p - 0.001),
    "occlusion": scaled(sight, "shadow_height_m", 1.0 + 1e-5),
    "backdrop": wrapped(sight, "obstacle_behind", lambda f, *a: f(*a[:6], a[6] + 0.3)),
    "fences": wrapped(sight, "fill_barrier_factors", weaker_fence),
    "pixels_of_many": wrapped(render, "render_look", lambda f, *a: f(*a[:11], a[11] + 0.01, a[12])),
    "hits_of_looks": wrapped(confirm, "confirm_probability", lambda f, p, m, n, armed: f(p * armed, m, n, armed)),
    "published_counts": wrapped(confirm, "confirm_probability", lambda f, p, m, n, armed: f(p, m, max(n - 1, m), armed)),
    "published_examples": wrapped(confirm, "confirm_probability", lambda f, p, m, n, armed: f(p[1:], m, n, armed[1:])),
    "transfer_table": wrapped(discrimination, "discrimination_probability", lambda f, x: f(1.1 * x)),
    "transfer_inverse": scaled(discrimination, "discrimination_ratio", 1.0 + 1e-6),
    "walk_tests": wrapped(walktest, "walks_needed", lambda f, *a: f(*a) - 1),
    "walk_tests_published": wrapped(
        walktest, "walks_needed", lambda f, pd, confidence, misses=0: f(pd, 0.5 + 0.5 * confidence, misses)
    ),
    "intervals_of_means": scaled(intervals, "standard_error", math.sqrt(7.0 / 8.0)),
    "noise_alarms": wrapped(discrimination, "noise_alarm_probability", lambda f, n, wanted, k: f(n, wanted + 1, k)),
    "normal_quantile": wrapped(discrimination, "normal_quantile", lambda f, p: f(p) + 1e-9),
    "sobol_points": wrapped(sobol, "sobol_table", slipped_column),
    "same_draws": packed_with(harder_to_discriminate),
    "ends_inside": paths_anywhere,
    "one_post": every_camera_its_own_post,
    "fence_hides": contrast_after_the_fence,
    "own_draws": packed_with(gaits_in_reverse),
}


def not_a_number(*_arguments) -> float:
    """What a function gives that has lost its numbers."""
    return np.nan
