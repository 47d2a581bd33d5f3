"""Which camera has a point in its picture, by geometry alone: for plain readings and for the blind ground on the plan.

No weather, no noise, no body: a point at a height is 'in view' when it falls into the frame and no obstacle stands
between. Barriers are left out, since most of them only thin the contrast. Lengths are metres, angles radians.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely import LineString, Polygon

from fencecast.camera import WAIST_M, CameraGeometry, camera_geometry


def views_of(site) -> list[CameraGeometry]:
    """The site's cameras in their order."""
    return [camera_geometry(site, camera) for camera in site.camera]


@dataclass(frozen=True)
class Hider:
    """One obstacle: a prism on the ground."""

    name: str
    footprint: Polygon
    height_m: float


def hiders_of(site) -> list[Hider]:
    """The site's obstacles, and its walls as thin prisms."""
    hiders = [Hider(o.name, Polygon(o.footprint_m), float(o.height_m)) for o in site.obstacle]
    for perimeter in site.perimeter:
        if perimeter.barrier == "wall":
            points = list(perimeter.points_m) + ([perimeter.points_m[0]] if perimeter.closed else [])
            hiders.append(Hider(perimeter.name, LineString(points).buffer(0.05), float(perimeter.barrier_height_m)))
    return hiders


def hidden_by(view: CameraGeometry, hiders, x_m: float, y_m: float, z_m: float) -> str | None:
    """Name of the first obstacle that the straight line from the camera to the point runs through, or None."""
    ray = LineString([(view.x_m, view.y_m), (x_m, y_m)])
    if ray.length == 0.0:
        return None
    for hider in hiders:
        if not hider.footprint.intersects(ray):
            continue
        cut = hider.footprint.intersection(ray)
        # The ray sinks towards the point: it is lowest over the prism at the far end of the cut.
        far = max(view.distance_m(*point) for part in getattr(cut, "geoms", [cut]) for point in part.coords)
        if far > ray.length - 0.1:
            continue  # the point stands at the obstacle's face or within it, not behind it
        if view.height_m + (z_m - view.height_m) * far / ray.length < hider.height_m:
            return hider.name
    return None


def blind_outline(view: CameraGeometry, z_m: float = 0.0, steps: int = 24) -> np.ndarray | None:
    """Blind ground, the dead zone under a camera, as a polygon (n, 2) [m]; None when there is none.

    The curve where the lower edge of the frame meets the plane at height z, closed at the camera.
    """
    us = np.linspace(-0.5 * view.columns, 0.5 * view.columns, steps)
    curve = [view.ground_point(float(u), 0.5 * view.rows, z_m) for u in us]
    if any(point is None for point in curve):
        return None
    middle = view.ground_point(0.0, 0.5 * view.rows, z_m)
    ahead = (middle[0] - view.x_m) * math.sin(view.bearing_rad) + (middle[1] - view.y_m) * math.cos(view.bearing_rad)
    if ahead <= 0.0:
        return None  # the lower edge looks back past the camera: no blind ground in front
    return np.array([(view.x_m, view.y_m), *curve])


def near_edge_m(view: CameraGeometry, x_m: float, y_m: float, z_m: float = WAIST_M) -> float | None:
    """Ground distance, on the way from the camera to a point, at which height z enters the frame; None when it never does."""
    distance = view.distance_m(x_m, y_m)
    if distance < 0.1:
        return None
    east, north = (x_m - view.x_m) / distance, (y_m - view.y_m) / distance
    for reach in np.arange(0.0, max(60.0, distance) + 0.25, 0.25):
        if view.in_frame(view.x_m + reach * east, view.y_m + reach * north, z_m):
            return float(reach)
    return None
