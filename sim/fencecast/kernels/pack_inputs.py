"""Packing cameras, intruders and the decision as rows of numbers."""

from __future__ import annotations

import math

import numpy as np

from fencecast.camera import image_geometry
from fencecast.kernels.decided import MOST_CORRELATION
from fencecast.kernels.pack_quantity import Choices, pack_quantity
from fencecast.kernels.types import CLUTTER_FACTOR, CYCLES_50, FIXED, THRESHOLD, Bands, Cameras, Decision, Intruder
from fencecast.physics.body import GAITS
from fencecast.physics.detector import temporal_noise_radiance
from fencecast.physics.optics import EQUIDISTANT, static_blur_variance_px2
from fencecast.physics.radiance import band_radiance_slope
from fencecast.sampling.variables import camera_keys
from fencecast.site.quantity import Quantity
from fencecast.site.tolerances import mounting_errors

# Cameras this near to each other in plan are one pair of eyes (judgement): what one does not make out, its neighbour does not.
SAME_POST_M = 2.0


def posts_of(position_m: np.ndarray) -> np.ndarray:
    """Per camera the first camera of its post, shape (cameras,): single linkage of places (cameras, 2) within SAME_POST_M."""
    apart = np.hypot(*(position_m[:, None] - position_m[None]).T) if len(position_m) else np.zeros((0, 0))
    joined = apart <= SAME_POST_M + 1.0e-9
    for k in range(len(joined)):
        joined |= np.outer(joined[:, k], joined[k])
    return np.argmax(joined, axis=1).astype(np.int64) if len(joined) else np.zeros(0, dtype=np.int64)


def pack_cameras(site, cameras) -> tuple[Cameras, Bands]:
    """One row per camera of `cameras` (site.camera, or stand-ins with the same attributes)."""
    bands = sorted({tuple(site.sensors[camera.sensor].band_um) for camera in cameras})
    low = np.array([b[0] for b in bands], dtype=float)
    high = np.array([b[1] for b in bands], dtype=float)
    packed_bands = Bands(low, high, np.array([band_radiance_slope(300.0, *b) for b in bands]))
    rows = []
    for camera in cameras:
        sensor, lens = site.sensors[camera.sensor], site.lenses[camera.lens]
        image = image_geometry(sensor, lens)
        cos4 = lens.relative_illumination == "cos4"
        # NETD for this lens, as a temperature: temporal noise over the slope that it was multiplied with.
        netd = temporal_noise_radiance(sensor.netd_mk * 1e-3, 1.0, lens.f_number, sensor.netd_f_number or 0.0, lens.transmission)
        rows.append(
            (
                math.radians(camera.bearing_deg),
                math.radians(camera.depression_deg),
                image.focal_px,
                image.projection,
                1 if image.projection == EQUIDISTANT and cos4 else 0,
                image.focal_px if cos4 else 0.0,
                image.columns,
                image.rows,
                static_blur_variance_px2(lens.f_number, sensor.pitch_um * 1e-6, lens.aberration_px),
                sensor.time_constant_ms * 1e-3,
                netd,
                sensor.netd_spread,
                sensor.fixed_pattern,
                bands.index(tuple(sensor.band_um)),
            )
        )
    columns = list(zip(*rows)) if rows else [()] * 14
    whole = {3, 4, 6, 7, 13}
    arrays = [np.array(column, dtype=np.int64 if k in whole else float) for k, column in enumerate(columns)]
    position = np.array([(*camera.position_m, camera.height_m) for camera in cameras], dtype=float).reshape(-1, 3)
    keys = camera_keys(tuple(camera.mark for camera in cameras))
    roll = np.array([math.radians(camera.roll_deg) for camera in cameras], dtype=float)
    errors = [mounting_errors(site, camera) for camera in cameras]
    tolerance = np.array([(math.radians(b), math.radians(d), h) for b, d, h in errors], dtype=float).reshape(-1, 3)
    return Cameras(position, *arrays, keys, posts_of(position[:, :2]), roll, tolerance), packed_bands


def pack_intruder(site) -> Intruder:
    """Who crosses: quantities, gaits, speeds."""
    who = site.intruder
    choices = Choices()
    radians = math.pi / 180.0
    quantity = [
        pack_quantity(who.stature_m, choices),
        pack_quantity(who.clo, choices),
        pack_quantity(who.clothing_emissivity, choices),
        pack_quantity(who.bare_head_share, choices),
        pack_quantity(who.approach_angle_deg, choices, radians),
        pack_quantity(who.turn_deg, choices, radians),
        pack_quantity(who.pause_s, choices),
        pack_quantity(who.climb_s, choices),
    ]
    names = [name.replace(" ", "_") for name in GAITS]
    shares = np.array([who.gaits.get(name, 0.0) for name in names], dtype=float)
    speed = [pack_quantity(who.speed_m_s[name], choices) for name in names]
    depth = [pack_quantity(Quantity.fixed(who.depth_ratio[name]), choices) for name in names[:3]]
    return Intruder(
        quantity=np.array(quantity),
        choice=choices.table(),
        gait_cumulative=np.cumsum(shares) / shares.sum(),
        speed=np.array(speed),
        depth_share=np.array(depth),
        outside_m=float(who.path_m),
        inside_m=float(who.path_m),
    )


def z_quadrature(correlation: float) -> tuple[np.ndarray, np.ndarray]:
    """Nodes and weights in z: one node without correlation, else the trapezoidal rule in equal steps, 16 over -5 to 5 up to 0.7
    and 64 over -6 to 6 above.

    F(N | z) is a step sqrt((1 - r) / r) wide, and for such smooth integrands equal steps converge faster than any power (error
    3e-5 at r = 0.7, 2e-8 at 0.9: DEVELOPERS.md, "Equal steps in z").
    """
    if correlation <= 0.0:
        return np.zeros(1), np.ones(1)
    z = np.linspace(-5.0, 5.0, 16) if correlation <= 0.7 else np.linspace(-6.0, 6.0, 64)
    w = np.exp(-0.5 * z * z)
    return z, w / w.sum()


def pack_decision(site) -> Decision:
    """When a look counts and an alarm is raised."""
    d = site.decision
    correlation = d.encounter_correlation
    # The nodes of the highest correlation that can come out serve all the lower ones.
    z, weight = z_quadrature(min(correlation.likely_bounds()[1], MOST_CORRELATION))
    choices = Choices()
    quantities = (d.cycles_50, correlation, d.threshold_sigma, d.clutter_factor)
    # Factors on the median, so that what scales a median (a slope, a lift) scales its spread too.
    scales = {row: 1.0 / quantities[row].middle() for row in (CYCLES_50, THRESHOLD, CLUTTER_FACTOR)}
    spread = np.array([pack_quantity(each, choices, scales.get(row, 1.0)) for row, each in enumerate(quantities)])
    return Decision(
        threshold=float(d.threshold_sigma.middle()),
        min_pixels=int(d.min_pixels),
        cycles_50=float(d.cycles_50.middle()),
        correlation=float(min(max(correlation.middle(), 0.0), MOST_CORRELATION)),
        looks_per_s=float(d.looks_per_s),
        confirm_m=int(d.confirm[0]),
        confirm_n=int(d.confirm[1]),
        node_z=z,
        node_weight=weight,
        size_gate=(float(d.size_gate[0]), float(d.size_gate[1])),
        size_spread=float(d.size_spread),
        drawn=int((spread[:, 0] != FIXED).any()),
        spread=spread,
        choice=choices.table(),
    )
