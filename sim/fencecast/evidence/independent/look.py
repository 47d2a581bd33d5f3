"""Looks of one camera at one body: geometry, contrast, picture, noise, hits. Vectorised over looks."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from fencecast.evidence.independent.air import gas_transmission
from fencecast.evidence.independent.picture import at_least, covered, edge_blur
from fencecast.evidence.independent.surfaces import radiance_slope, spectral_slope

CHUNK = 24
IN_VIEW_SHARE = 0.01
LARGEST_WHOLE_PX = 1500


@dataclass
class Pose:
    """The body at n looks: foot point (n, 2), foot height (n,), heading (n, 2), velocity (n, 3), box (n, 3) as
    breadth, depth, height, and part rectangles (n, 4, 4)."""

    foot: np.ndarray
    foot_z: np.ndarray
    heading: np.ndarray
    velocity: np.ndarray
    box: np.ndarray
    parts: np.ndarray

    def take(self, index):
        return Pose(*(getattr(self, name)[index] for name in self.__dataclass_fields__))


@dataclass
class Conditions:
    """What one camera has in one crossing: surfaces in its band, air, window, noise, decision."""

    surfaces: object
    vapour_g_m3: float
    extinction: tuple
    window: float
    clutter_k: float
    netd_k: float
    threshold: float
    min_pixels: int


def mean_slope_weight(wavelength_um):
    """Weight of the wet window's band mean: dL/dT at 300 K."""
    return spectral_slope(np.asarray(wavelength_um) * 1e-6, 300.0)


def transmission(conditions, distance_m):
    wet = np.exp(-sum(conditions.extinction) * distance_m)
    return conditions.window * wet * gas_transmission(distance_m, conditions.vapour_g_m3)


def geometry(eye, pose):
    """Rectangle, blur and ranges of each look, as a dict of arrays."""
    to_foot = pose.foot - eye.xy
    distance = np.hypot(to_foot[:, 0], to_foot[:, 1])
    sight = np.where(distance[:, None] > 1e-9, to_foot / np.maximum(distance, 1e-9)[:, None], pose.heading)
    aside = np.column_stack([-sight[:, 1], sight[:, 0]])  # to the left of the line of sight
    cos_psi = np.abs(np.sum(sight * pose.heading, axis=1))
    lateral = np.sum(aside * pose.heading, axis=1)
    breadth, depth, height = pose.box.T
    wide = cos_psi * breadth + np.abs(lateral) * depth
    thick = np.abs(lateral) * breadth + cos_psi * depth
    middle_z = pose.foot_z + 0.5 * height
    lead = np.where(lateral >= 0.0, 1.0, -1.0)  # the side on which the head of a crawler is

    def at(xy, z):
        return np.column_stack([xy, z])

    u_lead, _, ok1 = eye.project(at(pose.foot + (0.5 * lead * wide)[:, None] * aside, middle_z))
    u_rear, _, ok2 = eye.project(at(pose.foot - (0.5 * lead * wide)[:, None] * aside, middle_z))
    _, v_low, ok3 = eye.project(at(pose.foot - 0.5 * thick[:, None] * sight, pose.foot_z))
    _, v_top, ok4 = eye.project(at(pose.foot + 0.5 * thick[:, None] * sight, pose.foot_z + height))
    centre = at(pose.foot, middle_z)
    step = 1e-4
    u_on, v_on, ok5 = eye.project(centre + step * pose.velocity)
    u_off, v_off, ok6 = eye.project(centre - step * pose.velocity)
    lag = eye.camera.time_constant_s / (2.0 * step)
    still = eye.camera.still_blur2
    mid_u, mid_v, _ = eye.project(centre)
    return {
        "mapped": ok1 & ok2 & ok3 & ok4 & ok5 & ok6,
        "u_lead": u_lead,
        "u_rear": u_rear,
        "v_top": v_top,
        "v_low": v_low,
        "blur_x": np.sqrt(still + (lag * (u_on - u_off)) ** 2),
        "blur_y": np.sqrt(still + (lag * (v_on - v_off)) ** 2),
        "range_m": np.hypot(distance, eye.height_m - middle_z),
        "mid_uv": (mid_u, mid_v),
        "wide_px": np.abs(u_lead - u_rear),
        "tall_px": np.abs(v_top - v_low),
    }


def part_contrasts(eye, scene, pose, geo, conditions):
    """Of each part (n, 4): the apparent contrast before barriers; the shadow height (n,); whether air or an obstacle is behind
    the part, and the range behind it."""
    surfaces = conditions.surfaces
    middle = 0.5 * (pose.parts[:, :, 2] + pose.parts[:, :, 3])
    part_z = pose.foot_z[:, None] + pose.box[:, 2, None] * (1.0 - middle)
    tau = transmission(conditions, geo["range_m"])[:, None]
    drop = eye.height_m - part_z
    over = drop <= 0.0  # above the horizon
    behind_m = geo["range_m"][:, None] * eye.height_m / np.where(over, 1.0, drop)
    tau_behind = transmission(conditions, behind_m)
    air_behind = over | scene.backdrop(eye.xy, eye.height_m, pose.foot, part_z)
    background = np.where(air_behind, surfaces.air_radiance, surfaces.ground_radiance)
    contrast = tau * (surfaces.part_radiance - background) + (tau - tau_behind) * (background - surfaces.air_radiance)
    return contrast, scene.shadow_height_m(eye.xy, eye.height_m, pose.foot), air_behind, behind_m


def fence_bands(eye, scene, pose):
    """The body cut where a fence's top stands before it: ends of the bands as shares of its height from the top (n, bands + 1),
    and the share of the contrast of each band that fences pass (n, bands). Bands may be empty."""
    tops = scene.fence_tops_m(eye.xy, eye.height_m, pose.foot)
    cuts = 1.0 - (tops - pose.foot_z[:, None]) / pose.box[:, 2, None]
    cuts = cuts[:, np.any((cuts > 0.0) & (cuts < 1.0), axis=0)]
    cuts = np.sort(np.clip(cuts, 0.0, 1.0), axis=1)
    ends = np.hstack([np.zeros((len(pose.foot), 1)), cuts, np.ones((len(pose.foot), 1))])
    middle_z = pose.foot_z[:, None] + pose.box[:, 2, None] * (1.0 - 0.5 * (ends[:, :-1] + ends[:, 1:]))
    return ends, scene.barrier_pass(eye.xy, eye.height_m, pose.foot, middle_z)


def in_band(parts, ends, band):
    """The parts (n, p, 4) cut to one band; empty where they lie outside it."""
    high, low = ends[:, band, None], ends[:, band + 1, None]
    rows = np.stack([np.clip(parts[:, :, 2], high, low), np.clip(parts[:, :, 3], high, low)], axis=2)
    return np.concatenate([parts[:, :, :2], rows], axis=2)


def part_passed(pose, ends, passed):
    """Mean share of each part's contrast that fences pass: (n, parts)."""
    total = np.zeros(pose.parts.shape[:2])
    for band in range(passed.shape[1]):
        some = in_band(pose.parts, ends, band)
        total += passed[:, band, None] * (some[:, :, 3] - some[:, :, 2])
    return total / (pose.parts[:, :, 3] - pose.parts[:, :, 2])


def render(eye, scene, pose, conditions):
    """Score every look. Returns a dict of arrays (n,): cycles, p_look, seen_share, in_view, cycles_perfect, peak_snr
    (zero where the look is empty)."""
    names = ("cycles", "p_look", "seen_share", "in_view", "cycles_perfect", "peak_snr")
    out = {name: np.zeros(len(pose.foot)) for name in names}
    geo = geometry(eye, pose)
    columns, rows = eye.camera.columns, eye.camera.rows
    left = np.minimum(geo["u_lead"], geo["u_rear"]) - 4.0 * geo["blur_x"]
    right = np.maximum(geo["u_lead"], geo["u_rear"]) + 4.0 * geo["blur_x"]
    top = np.minimum(geo["v_top"], geo["v_low"]) - 4.0 * geo["blur_y"]
    bottom = np.maximum(geo["v_top"], geo["v_low"]) + 4.0 * geo["blur_y"]
    near = geo["mapped"] & (right > 0) & (left < columns) & (bottom > 0) & (top < rows)
    keep = np.flatnonzero(near)
    keep = keep[np.argsort(geo["tall_px"][keep])]
    for first in range(0, len(keep), CHUNK):
        index = keep[first : first + CHUNK]
        some = {key: value[index] for key, value in geo.items() if key != "mid_uv"}
        reach = (left[index], right[index], top[index], bottom[index])
        result = _render_chunk(eye, scene, pose.take(index), some, reach, conditions)
        for name in names:
            out[name][index] = result[name]
    return out


def _images(rectangles, geo, y_cut, i0, wide, j0, tall):
    """Separable coverage of p rectangles (n, p, 4) on pixels from i0, j0 (n,): X (n, p, wide), Y (n, p, tall)."""
    span_u = (geo["u_rear"] - geo["u_lead"])[:, None]
    span_v = (geo["v_low"] - geo["v_top"])[:, None]
    y0 = np.minimum(rectangles[:, :, 2], y_cut[:, None])
    y1 = np.minimum(rectangles[:, :, 3], y_cut[:, None])
    x = covered(
        geo["u_lead"][:, None] + rectangles[:, :, 0] * span_u,
        geo["u_lead"][:, None] + rectangles[:, :, 1] * span_u,
        geo["blur_x"],
        i0,
        wide,
    )
    y = covered(geo["v_top"][:, None] + y0 * span_v, geo["v_top"][:, None] + y1 * span_v, geo["blur_y"], j0, tall)
    return x, y


def _render_chunk(eye, scene, pose, geo, reach, conditions):
    """Scores of some looks. Only what arrives behind fences passes the threshold; what is counted is what the body shows without
    them. In a pixel of several bands each counts by what would pass if the whole pixel were seen as that band is, and never by
    more than passes: what an opaque fence hides is not resolved by the pixel that shows the head above it."""
    camera = eye.camera
    contrast, shadow, _, _ = part_contrasts(eye, scene, pose, geo, conditions)
    ends, passed = fence_bands(eye, scene, pose)
    left, right, top, bottom = reach
    i0, i1 = np.maximum(np.floor(left), 0), np.minimum(np.floor(right), camera.columns - 1)
    j0, j1 = np.maximum(np.floor(top), 0), np.minimum(np.floor(bottom), camera.rows - 1)
    wide, tall = int(np.max(i1 - i0)) + 1, int(np.max(j1 - j0)) + 1
    y_cut = np.clip(1.0 - (shadow - pose.foot_z) / pose.box[:, 2], 0.0, 1.0)
    column = i0[:, None] + np.arange(wide)
    row = j0[:, None] + np.arange(tall)
    asked = (column <= i1[:, None])[:, None, :] & (row <= j1[:, None])[:, :, None]
    own, area_of = [], []
    for band in range(passed.shape[1]):
        x, y = _images(in_band(pose.parts, ends, band), geo, y_cut, i0, wide, j0, tall)
        own.append(np.einsum("np,npj,npi->nji", contrast, y, x, optimize=True) * asked)
        area_of.append(np.einsum("npj,npi->nji", y, x, optimize=True) * asked)
    own, area_of, share = np.array(own), np.array(area_of), passed.T[:, :, None, None]
    arriving = np.abs(np.sum(share * own, axis=0))
    coverage = np.sum(share * area_of, axis=0)
    noise = conditions.netd_k * radiance_slope(300.0, camera.band_um)
    light = eye.relative_illumination(column[:, None, :] + 0.5, row[:, :, None] + 0.5)
    tau = transmission(conditions, geo["range_m"])
    clutter = tau * conditions.clutter_k * conditions.surfaces.ground_slope
    sigma = np.sqrt((noise / light) ** 2 * (1.0 + camera.fixed_pattern**2) + clutter[:, None, None] ** 2)
    snr = arriving / sigma
    passing = ndtr(snr - conditions.threshold) * asked
    alone = np.minimum(arriving, share * np.maximum(np.abs(own.sum(axis=0)), arriving)) / sigma
    counted = np.abs(np.sum(ndtr(alone - conditions.threshold) * own, axis=0))
    viewed = coverage > IN_VIEW_SHARE
    shown = np.minimum(coverage, share * area_of.sum(axis=0)) > IN_VIEW_SHARE
    ideal = np.abs(np.sum(shown * own, axis=0))
    whole = _whole_strength(pose, geo, contrast)
    safe = np.where(whole > 0.0, whole, 1.0)
    seen = np.where(whole > 0.0, np.sum(counted, axis=(1, 2)) / safe, 0.0)
    perfect = np.where(whole > 0.0, np.sum(ideal, axis=(1, 2)) / safe, 0.0)
    area = geo["wide_px"] * geo["tall_px"]
    return {
        "cycles": 0.5 * np.sqrt(area * seen),
        "p_look": at_least(passing.reshape(len(passing), -1), conditions.min_pixels),
        "seen_share": seen,
        "in_view": np.sum(viewed, axis=(1, 2)),
        "cycles_perfect": 0.5 * np.sqrt(area * perfect),
        "peak_snr": np.max(snr, axis=(1, 2)),
    }


def _whole_strength(pose, geo, contrast):
    """Sum of |contrast| before barriers over the whole body, drawn as if nothing hid it and the frame had no edge (n,).

    Where all parts have one sign the blur only moves flux about, so the sum is contrast times area."""
    area = geo["wide_px"] * geo["tall_px"]
    share = (pose.parts[:, :, 1] - pose.parts[:, :, 0]) * (pose.parts[:, :, 3] - pose.parts[:, :, 2])
    total = area * np.sum(np.abs(contrast) * share, axis=1)
    mixed = (np.min(contrast, axis=1) < 0.0) & (np.max(contrast, axis=1) > 0.0)
    for n in np.flatnonzero(mixed & (np.maximum(geo["wide_px"], geo["tall_px"]) < LARGEST_WHOLE_PX)):
        one = slice(n, n + 1)
        some = {key: value[one] for key, value in geo.items()}
        reach = edge_blur(some)
        i0, j0 = np.floor(reach[0]), np.floor(reach[2])
        wide, tall = int(reach[1][0] - i0[0]) + 2, int(reach[3][0] - j0[0]) + 2
        x, y = _images(pose.parts[one], some, np.ones(1), i0, wide, j0, tall)
        total[n] = np.sum(np.abs(np.einsum("p,pj,pi->ji", contrast[n], y[0], x[0])))
    return total


def noise_at(eye, conditions, u, v):
    """Temporal noise [W/(m²·sr)] at one image point."""
    slope = radiance_slope(300.0, eye.camera.band_um)
    return conditions.netd_k * slope / eye.relative_illumination(u, v)
