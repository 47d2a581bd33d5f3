"""What each camera's lens can do, on paper: fields, pixels on a person, blind ground, ranges, false alarms from noise."""

from __future__ import annotations

import math
from os import PathLike
from typing import Any

from fencecast.camera import WAIST_M, camera_geometry
from fencecast.cautions import CAUTION, not_modelled
from fencecast.physics.body import GAITS, body_size_m
from fencecast.physics.discrimination import discrimination_ratio, noise_alarms_per_day
from fencecast.site import Site, as_site
from fencecast.site.mounting import need_camera
from fencecast.site.schema import Camera

# The person on paper, upright [m].
PERSON_HEIGHT_M, PERSON_WIDTH_M = 1.8, 0.5
HEIGHTS_M = {"feet": 0.0, "waist": WAIST_M, "head": PERSON_HEIGHT_M}
PIXEL_DISTANCES_M = (10, 20, 30, 60)
# Cycles that half of all observers need to detect, recognise and identify. Published values, not checked against the originals:
# Johnson (1958) counts across the smaller dimension of the target; the two-dimensional form counts on a characteristic one.
CYCLES = ("1.0", "4.0", "6.4")
CYCLES_2D = ("0.75", "3", "6")
CHARACTERISTIC_M = 0.75


def ranges(site: Site | str | PathLike[str]) -> dict[str, Any]:
    """The camera table of a site, as the JSON object of `fencecast ranges --json`.

    All ranges are slant ranges on axis, small angles, full contrast, for a person of 1.8 x 0.5 m. N cycles on a dimension d are
    reached at R = d / (2 N IFOV): `cycles_range_m` with d = 0.5 m, `cycles_2d_range_m` with d = 0.75 m, `range_50_m` and
    `range_90_m` with d = sqrt(H W) as the simulation counts (`cycles_50`). UsageError for a site without cameras.
    """
    site = as_site(site)
    need_camera(site)
    limits = list(not_modelled(False, site.calibration is not None))
    return {"cameras": [_camera(site, camera) for camera in site.camera], "not_modelled": limits, "caution": CAUTION}


def _camera(site: Site, camera: Camera) -> dict[str, Any]:
    geometry = camera_geometry(site, camera)
    ifov_rad = geometry.ifov_rad
    leaves = geometry.top_of_frame_distance_m(HEIGHTS_M["head"])
    return {
        "mark": camera.mark,
        "ifov_mrad": ifov_rad * 1e3,
        "horizontal_field_deg": math.degrees(geometry.horizontal_field_rad),
        "vertical_field_deg": math.degrees(geometry.vertical_field_rad),
        "blind_m": {name: _blind(geometry.blind_distance_m(z)) for name, z in HEIGHTS_M.items()},
        "head_leaves_frame_m": None if math.isinf(leaves) else leaves,
        "pixels_on_person": {str(d): PERSON_HEIGHT_M / (d * ifov_rad) for d in PIXEL_DISTANCES_M},
        "cycles_range_m": {n: PERSON_WIDTH_M / (2.0 * float(n) * ifov_rad) for n in CYCLES},
        "cycles_2d_range_m": {n: CHARACTERISTIC_M / (2.0 * float(n) * ifov_rad) for n in CYCLES_2D},
        **sheet_ranges(site, ifov_rad),
        "noise_alarms_per_day": noise_alarms(site, camera),
    }


def sheet_ranges(site: Site, ifov_rad: float) -> dict[str, Any]:
    """From a data sheet's range on [m]: 50 and 90 % of looks, nine alarms in ten after m of n looks, and the same for the
    smallest posture of the intruders, with that gait's name. Looks independent, one window of n, full contrast, on axis."""
    decision, who = site.decision, site.intruder
    n50, stature = decision.cycles_50.middle(), who.stature_m.middle()
    sizes = {
        gait: body_size_m(g, stature, float(who.depth_ratio.get(gait, math.nan)))
        for g, gait in enumerate(GAITS)
        if who.gaits.get(gait.replace(" ", "_"), 0.0) > 0.0
    }
    # Crossing the view, a body is as wide as it is deep.
    smallest, (height, _, depth) = min(sizes.items(), key=lambda item: item[1][0] * item[1][2])

    def range_m(chance: float, height_m: float = PERSON_HEIGHT_M, width_m: float = PERSON_WIDTH_M) -> float:
        return 0.5 * math.sqrt(height_m * width_m) / (ifov_rad * n50 * discrimination_ratio(chance))

    one_look = look_chance_for(0.90, *decision.confirm)
    return {
        "range_50_m": range_m(0.50),
        "range_90_m": range_m(0.90),
        "range_alarm_90_m": range_m(one_look),
        "range_alarm_90_smallest_m": range_m(one_look, height, depth),
        "smallest_gait": smallest,
    }


def look_chance_for(alarm: float, confirm_m: int, confirm_n: int) -> float:
    """The chance of one look at which at least m of n independent looks count with chance `alarm`; bisection to 1e-12."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        at_least = sum(
            math.comb(confirm_n, k) * middle**k * (1.0 - middle) ** (confirm_n - k) for k in range(confirm_m, confirm_n + 1)
        )
        low, high = (middle, high) if at_least < alarm else (low, middle)
    return 0.5 * (low + high)


def noise_alarms(site: Site, camera: Camera) -> float:
    """False alarms of a camera in a day from sensor noise alone."""
    sensor, d = site.sensors[camera.sensor], site.decision
    return noise_alarms_per_day(sensor.columns * sensor.rows, d.looks_per_s, d.min_pixels, d.threshold_sigma.middle(), *d.confirm)


def _blind(distance_m: float) -> float | str | None:
    """None when there is no blind ground, "undefined" when the camera looks over the horizon."""
    if math.isnan(distance_m):
        return "undefined"
    return None if distance_m <= 0.0 else distance_m
