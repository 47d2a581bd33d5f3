"""What a camera has in its picture at waist height, as an area on the ground, and its blind ground."""

from __future__ import annotations

import math

import numpy as np
import shapely

from fencecast.camera import CameraGeometry
from fencecast.estimate.sight import WAIST_M, Hider, blind_outline, hiders_of, views_of
from fencecast.lensranges import ranges
from fencecast.maps.features import AREA
from fencecast.maps.things import Thing
from fencecast.site import Site

STEPS = 48
LEAST_AREA_M2 = 0.5


def view_things(site: Site) -> list[Thing]:
    """A view and the blind ground of every camera, where there are any."""
    hiders, things = hiders_of(site), []
    reach = {str(row["mark"]): float(row["range_50_m"]) for row in ranges(site)["cameras"]} if site.camera else {}
    for camera in views_of(site):
        area = view_area(camera, hiders, reach[camera.mark])
        keys = {"camera": camera.mark, "what": "waist (1.0 m) in the picture, to the 50 % range; shadows of buildings taken away"}
        for part in shapely.get_parts(area):
            if part.geom_type == "Polygon" and part.area > LEAST_AREA_M2:
                things.append(Thing("view", f"view of {camera.mark}", AREA, (_ring(part),), keys, "views", "view"))
        outline = blind_outline(camera)
        if outline is not None:
            keys = {"camera": camera.mark, "what": "ground too near for feet to be in the picture"}
            things.append(
                Thing("blind ground", f"blind ground of {camera.mark}", AREA, (outline,), keys, "blind ground", "blind")
            )
    return things


def view_area(camera: CameraGeometry, hiders: list[Hider], range_m: float) -> shapely.Geometry:
    """The ground where a waist is in the frame, within `range_m` (slant), and no obstacle stands before it."""
    near, far = [], []
    for u in np.linspace(-0.5 * camera.columns, 0.5 * camera.columns, STEPS):
        bottom = camera.ground_point(float(u), 0.5 * camera.rows, WAIST_M)
        if bottom is None:
            continue
        near.append(bottom)
        far.append(_far_point(camera, float(u), range_m))
    reach = math.sqrt(max(0.0, range_m**2 - (camera.height_m - WAIST_M) ** 2))
    if len(near) < 2:
        return shapely.Polygon()
    area = shapely.Polygon([*near, *far[::-1]])
    area = shapely.make_valid(area) & shapely.Point(camera.x_m, camera.y_m).buffer(reach, quad_segs=32)
    for hider in hiders:
        area = area - shadow(camera, hider, 2.0 * reach + 10.0)
    return area


def _far_point(camera: CameraGeometry, u: float, range_m: float) -> tuple[float, float]:
    """Where the upper edge of the frame meets waist height, or beyond the range in that direction."""
    top = camera.ground_point(u, -0.5 * camera.rows, WAIST_M)
    if top is not None and camera.distance_m(*top) < 2.0 * range_m:
        return top
    right, down, forward = camera.ray(u, 0.0)
    a = camera.axes
    east, north = (float(right * a[i] + down * a[3 + i] + forward * a[6 + i]) for i in (0, 1))
    length = math.hypot(east, north)
    return camera.x_m + 2.0 * range_m * east / length, camera.y_m + 2.0 * range_m * north / length


def shadow(camera: CameraGeometry, hider: Hider, reach_m: float) -> shapely.Geometry:
    """The ground where an obstacle hides a waist from a camera, with the obstacle's own ground."""
    place = np.array([camera.x_m, camera.y_m])
    parts = [hider.footprint]
    for polygon in shapely.get_parts(hider.footprint):
        ring = np.array(polygon.exterior.coords)
        away = ring - place
        if hider.height_m <= WAIST_M:
            return hider.footprint
        if hider.height_m < camera.height_m:
            beyond = place + away * (camera.height_m - WAIST_M) / (camera.height_m - hider.height_m)
        else:
            beyond = place + away * np.maximum(1.0, reach_m / np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-6))[:, None]
        quads = [shapely.MultiPoint([ring[k], ring[k + 1], beyond[k], beyond[k + 1]]).convex_hull for k in range(len(ring) - 1)]
        parts += quads
    return shapely.unary_union([part for part in parts if part.area > 0.0])


def _ring(polygon: shapely.Polygon) -> np.ndarray:
    """The outline; a hole (a low obstacle in view) is cut open, since areas here have one outline."""
    if polygon.interiors:
        polygon = shapely.Polygon(polygon.exterior)
    return np.array(polygon.exterior.coords)[:-1]
