"""Which section of the fence a camera looks along.

Tests: tests/prove/test_mount.py.
"""

from __future__ import annotations

import numpy as np

from fencecast.camera import CameraGeometry, off_bearing_rad
from fencecast.site import Site
from fencecast.site.fenceplaces import FencePlace, place_on
from fencecast.site.geometry import point_at, section_length_m

# A camera at a corner stands next to two sections and watches one: sections about as near as the nearest are asked.
ALSO_NEAR_M = 3.0
LOOK_M = 60.0  # how far along a fence a camera is taken to look (judgement)


def looked_along(site: Site, camera: CameraGeometry) -> FencePlace:
    """Where a camera stands, measured from the section that it looks along.

    Of the sections about as near as the nearest, the one with most metres within its horizontal field, to 60 m.
    """
    standing = [place_on(site, k, camera.x_m, camera.y_m) for k in range(len(site.perimeter))]
    nearest = min(place.distance_m for place in standing)
    best, most = standing[0], -1.0
    for place in standing:
        if place.distance_m > nearest + ALSO_NEAR_M:
            continue
        section = site.perimeter[place.section]
        points = point_at(section, np.arange(0.5, section_length_m(section), 1.0))
        east, north = (points - np.array([camera.x_m, camera.y_m])).T
        off = off_bearing_rad(east, north, camera.bearing_rad)
        seen = (np.hypot(east, north) <= LOOK_M) & (off <= 0.5 * camera.horizontal_field_rad)
        metres = float(np.cos(off[seen]).sum())
        if metres > most:
            best, most = place, metres
    return best
