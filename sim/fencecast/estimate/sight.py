"""Which camera has a point in its picture, by geometry alone: for plain readings and for the blind ground on the plan.

No weather, no noise, no body: a point at a height is 'in view' when it falls into the frame and no obstacle stands
between. Barriers are left out, since most of them only thin the contrast. Lengths are metres, angles radians.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely import LineString, Polygon

from fencecast.physics.optics import PROJECTIONS, camera_axes, field_of_view_rad, project

WAIST_M = 1.0


@dataclass(frozen=True)
class View:
    """One camera as geometry: where it stands, its axes in the site frame, its lens in pixels."""

    mark: str
    x_m: float
    y_m: float
    height_m: float
    bearing_rad: float
    axes: tuple[float, ...]
    focal_px: float
    projection: int
    columns: int
    rows: int

    @property
    def horizontal_field_rad(self) -> float:
        """Full horizontal field of view."""
        return field_of_view_rad(self.columns, self.focal_px, self.projection)

    def distance_m(self, x_m: float, y_m: float) -> float:
        """Ground distance from the mast."""
        return math.hypot(x_m - self.x_m, y_m - self.y_m)

    def off_axis_rad(self, x_m: float, y_m: float) -> float:
        """Angle in plan between the bearing and the direction to a point, 0 to pi."""
        bearing = math.atan2(x_m - self.x_m, y_m - self.y_m)
        return abs((bearing - self.bearing_rad + math.pi) % (2.0 * math.pi) - math.pi)

    def position_px(self, x_m: float, y_m: float, z_m: float):
        """Image position from the axis (u, v) [px], or None when the lens cannot map the point."""
        east, north, up = x_m - self.x_m, y_m - self.y_m, z_m - self.height_m
        a = self.axes
        along = [east * a[i] + north * a[i + 1] + up * a[i + 2] for i in (0, 3, 6)]
        u, v, mapped = project(along[0], along[1], along[2], self.focal_px, self.projection)
        return (u, v) if mapped else None

    def in_frame(self, x_m: float, y_m: float, z_m: float) -> bool:
        """Whether the point falls into the frame."""
        where = self.position_px(x_m, y_m, z_m)
        return where is not None and abs(where[0]) <= 0.5 * self.columns and abs(where[1]) <= 0.5 * self.rows

    def ground_point(self, u_px: float, v_px: float, z_m: float = 0.0):
        """Where the ray of an image position meets the plane at height z (x, y), or None when it never does."""
        radius = math.hypot(u_px, v_px)
        if self.projection == PROJECTIONS["rectilinear"]:
            across, ahead = (u_px / self.focal_px, v_px / self.focal_px), 1.0
        else:
            theta = radius / self.focal_px
            scale = math.sin(theta) / radius if radius > 0 else 0.0
            across, ahead = (u_px * scale, v_px * scale), math.cos(theta)
        a = self.axes
        ray = [across[0] * a[i] + across[1] * a[3 + i] + ahead * a[6 + i] for i in range(3)]
        if ray[2] >= -1e-9:
            return None
        reach = (z_m - self.height_m) / ray[2]
        return self.x_m + reach * ray[0], self.y_m + reach * ray[1]


def views_of(site) -> list[View]:
    """The site's cameras in their order."""
    views = []
    for camera in site.camera:
        sensor, lens = site.sensors[camera.sensor], site.lenses[camera.lens]
        bearing = math.radians(camera.bearing_deg)
        views.append(
            View(
                mark=camera.mark,
                x_m=float(camera.position_m[0]),
                y_m=float(camera.position_m[1]),
                height_m=float(camera.height_m),
                bearing_rad=bearing,
                axes=tuple(camera_axes(bearing, math.radians(camera.depression_deg))),
                focal_px=lens.focal_length_mm * 1e-3 / (sensor.pitch_um * 1e-6),
                projection=PROJECTIONS[lens.projection],
                columns=int(sensor.columns),
                rows=int(sensor.rows),
            )
        )
    return views


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


def hidden_by(view: View, hiders, x_m: float, y_m: float, z_m: float) -> str | None:
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


def blind_outline(view: View, z_m: float = 0.0, steps: int = 24) -> np.ndarray | None:
    """Ground under the lower edge of the frame, from the mast out: a polygon (n, 2) [m], None when there is none.

    The curve where the lower edge of the frame meets the plane at height z, closed at the mast.
    """
    us = np.linspace(-0.5 * view.columns, 0.5 * view.columns, steps)
    curve = [view.ground_point(float(u), 0.5 * view.rows, z_m) for u in us]
    if any(point is None for point in curve):
        return None
    middle = view.ground_point(0.0, 0.5 * view.rows, z_m)
    ahead = (middle[0] - view.x_m) * math.sin(view.bearing_rad) + (middle[1] - view.y_m) * math.cos(view.bearing_rad)
    if ahead <= 0.0:
        return None  # the lower edge looks back past the mast: no blind ground in front
    return np.array([(view.x_m, view.y_m), *curve])


def near_edge_m(view: View, x_m: float, y_m: float, z_m: float = WAIST_M) -> float | None:
    """Ground distance, on the way from the mast to a point, at which height z enters the frame; None when it never does."""
    distance = view.distance_m(x_m, y_m)
    if distance < 0.1:
        return None
    east, north = (x_m - view.x_m) / distance, (y_m - view.y_m) / distance
    for reach in np.arange(0.0, max(60.0, distance) + 0.25, 0.25):
        if view.in_frame(view.x_m + reach * east, view.y_m + reach * north, z_m):
            return float(reach)
    return None
