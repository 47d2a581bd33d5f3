"""What each camera's lens can do, on paper: fields, pixels on a person, blind ground, ranges, false alarms from noise."""

from __future__ import annotations

import math

from fencecast.cautions import CAUTION, NOT_MODELLED
from fencecast.physics.discrimination import discrimination_ratio, noise_alarms_per_day
from fencecast.physics.optics import PROJECTIONS, blind_distance_m, field_of_view_rad, top_of_frame_distance_m
from fencecast.site.mounting import need_camera

PERSON_HEIGHT_M, PERSON_WIDTH_M = 1.8, 0.5
HEIGHTS_M = {"feet": 0.0, "waist": 1.0, "head": 1.8}
PIXEL_DISTANCES_M = (10, 20, 30, 60)
# Johnson 1958: cycles across the smaller dimension of the target; and the two-dimensional form on a characteristic dimension
# (published values, not checked against the originals).
CYCLES, CYCLES_2D, CHARACTERISTIC_M = ("1.0", "4.0", "6.4"), ("0.75", "3", "6"), 0.75


def ranges(site) -> dict:
    """The camera table of a site, as the JSON object of `fencecast ranges --json`.

    All ranges are slant ranges on axis, small angles, full contrast, for a person of 1.8 x 0.5 m. range_50_m and range_90_m
    count cycles on sqrt(H W): N = 0.5 sqrt(H W) / (IFOV R). UsageError for a site without cameras.
    """
    need_camera(site)
    return {"cameras": [_camera(site, camera) for camera in site.camera], "not_modelled": list(NOT_MODELLED), "caution": CAUTION}


def _camera(site, camera) -> dict:
    sensor, lens, decision = site.sensors[camera.sensor], site.lenses[camera.lens], site.decision
    focal_px = lens.focal_length_mm * 1e-3 / (sensor.pitch_um * 1e-6)
    projection = PROJECTIONS[lens.projection]
    ifov_rad = 1.0 / focal_px
    depression = math.radians(camera.depression_deg)
    vertical = field_of_view_rad(sensor.rows, focal_px, projection)
    one_cycle_m = 0.5 * math.sqrt(PERSON_HEIGHT_M * PERSON_WIDTH_M) / ifov_rad
    leaves = top_of_frame_distance_m(camera.height_m, depression, vertical, HEIGHTS_M["head"])
    return {
        "mark": camera.mark,
        "ifov_mrad": ifov_rad * 1e3,
        "horizontal_field_deg": math.degrees(field_of_view_rad(sensor.columns, focal_px, projection)),
        "vertical_field_deg": math.degrees(vertical),
        "blind_m": {name: _blind(blind_distance_m(camera.height_m, depression, vertical, z)) for name, z in HEIGHTS_M.items()},
        "head_leaves_frame_m": None if math.isinf(leaves) else leaves,
        "pixels_on_person": {str(d): PERSON_HEIGHT_M / (d * ifov_rad) for d in PIXEL_DISTANCES_M},
        "cycles_range_m": {n: PERSON_WIDTH_M / (2.0 * float(n) * ifov_rad) for n in CYCLES},
        "cycles_2d_range_m": {n: CHARACTERISTIC_M / (2.0 * float(n) * ifov_rad) for n in CYCLES_2D},
        "range_50_m": one_cycle_m / decision.cycles_50,
        "range_90_m": one_cycle_m / (decision.cycles_50 * discrimination_ratio(0.90)),
        "noise_alarms_per_day": noise_alarms(site, camera),
    }


def noise_alarms(site, camera) -> float:
    """Alarms of a camera in a day from sensor noise only."""
    sensor, d = site.sensors[camera.sensor], site.decision
    return noise_alarms_per_day(sensor.columns * sensor.rows, d.looks_per_s, d.min_pixels, d.threshold_sigma, *d.confirm)


def _blind(distance_m: float) -> float | str | None:
    """None when there is no blind ground, "undefined" when the camera looks over the horizon."""
    if math.isnan(distance_m):
        return "undefined"
    return None if distance_m <= 0.0 else distance_m
