"""A camera as geometry, made once from its tables: where it stands, how it is turned, where points fall in its picture.

Metres, radians, pixels; bearings run clockwise from grid north, depression is positive downwards (`physics.optics`). No weather,
no noise, no obstacle. Checks: tests/estimate/test_places.py, tests/physics/test_optics.py, tests/decide/place.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fencecast.physics.optics import (
    PROJECTIONS,
    RECTILINEAR,
    blind_distance_m,
    camera_axes,
    field_of_view_rad,
    project,
    top_of_frame_distance_m,
)

WAIST_M = 1.0  # the height at which readings, searches and pictures ask what a camera sees
# A rectilinear picture as wide as this cannot be made: the tangent runs away.
WIDEST_RECTILINEAR_RAD = math.radians(178.0)


@dataclass(frozen=True)
class ImageGeometry:
    """A lens on a sensor: focal length [px], projection (`physics.optics`), pixels across and down."""

    focal_px: float
    projection: int
    columns: int
    rows: int

    @property
    def ifov_rad(self) -> float:
        """Angle of one pixel on the axis."""
        return 1.0 / self.focal_px

    @property
    def horizontal_field_rad(self) -> float:
        """Full horizontal field of view."""
        return field_of_view_rad(self.columns, self.focal_px, self.projection)

    @property
    def vertical_field_rad(self) -> float:
        """Full vertical field of view."""
        return field_of_view_rad(self.rows, self.focal_px, self.projection)

    @property
    def fits(self) -> bool:
        """Whether the lens can make a picture of that size: to its sides, or to its corners when equidistant."""
        if self.projection == RECTILINEAR:
            return max(self.horizontal_field_rad, self.vertical_field_rad) < WIDEST_RECTILINEAR_RAD
        return math.hypot(self.columns, self.rows) / self.focal_px < 2.0 * math.pi

    def ray(self, u_px, v_px):
        """Direction (right, down, forward) of image positions from the axis; of any length, numbers or arrays alike."""
        if self.projection == RECTILINEAR:
            return u_px / self.focal_px, v_px / self.focal_px, np.ones_like(u_px, dtype=float)
        radius = np.hypot(u_px, v_px)
        theta = radius / self.focal_px
        scale = np.sin(theta) / np.maximum(radius, 1e-12)
        return u_px * scale, v_px * scale, np.cos(theta)


@dataclass(frozen=True)
class CameraGeometry(ImageGeometry):
    """The same, mounted: mark, ground point, height, bearing, depression and roll.

    Blind ground and the top of the frame are those on the bearing, under the middle of the frame of a camera without roll.
    """

    mark: str
    x_m: float
    y_m: float
    height_m: float
    bearing_rad: float
    depression_rad: float
    roll_rad: float = 0.0  # positive: the camera's right side is lower

    @cached_property
    def axes(self) -> tuple[float, ...]:
        """Right (3), down (3) and forward (3) in the site frame: east, north, up."""
        return tuple(camera_axes(self.bearing_rad, self.depression_rad, self.roll_rad))

    def distance_m(self, x_m: float, y_m: float) -> float:
        """Ground distance to a point."""
        return math.hypot(x_m - self.x_m, y_m - self.y_m)

    def off_axis_rad(self, x_m: float, y_m: float) -> float:
        """Angle in plan between the bearing and the direction to a point, 0 to pi."""
        return float(off_bearing_rad(x_m - self.x_m, y_m - self.y_m, self.bearing_rad))

    def position_px(self, x_m: float, y_m: float, z_m: float) -> tuple[float, float] | None:
        """Image position from the axis (u, v), or None when the lens cannot map the point."""
        east, north, up = x_m - self.x_m, y_m - self.y_m, z_m - self.height_m
        a = self.axes
        along = [east * a[i] + north * a[i + 1] + up * a[i + 2] for i in (0, 3, 6)]
        u, v, mapped = project(along[0], along[1], along[2], self.focal_px, self.projection)
        return (u, v) if mapped else None

    def in_frame(self, x_m: float, y_m: float, z_m: float) -> bool:
        """Whether the point falls into the frame."""
        where = self.position_px(x_m, y_m, z_m)
        return where is not None and abs(where[0]) <= 0.5 * self.columns and abs(where[1]) <= 0.5 * self.rows

    def ground_point(self, u_px: float, v_px: float, z_m: float = 0.0) -> tuple[float, float] | None:
        """Where the ray of an image position meets the plane at height z (x, y), or None when it never does."""
        right, down, forward = self.ray(u_px, v_px)
        a = self.axes
        east, north, up = (float(right * a[i] + down * a[3 + i] + forward * a[6 + i]) for i in range(3))
        if up >= -1e-9:
            return None
        reach = (z_m - self.height_m) / up
        return self.x_m + reach * east, self.y_m + reach * north

    def blind_distance_m(self, z_m: float) -> float:
        """Ground distance within which height z lies below the frame, on the bearing; 0 and NaN as in `physics.optics`."""
        return blind_distance_m(self.height_m, self.depression_rad, self.vertical_field_rad, z_m)

    def top_of_frame_distance_m(self, z_m: float) -> float:
        """Ground distance beyond which height z is above the frame, on the bearing; inf when it never is."""
        return top_of_frame_distance_m(self.height_m, self.depression_rad, self.vertical_field_rad, z_m)


def off_bearing_rad(east_m, north_m, bearing_rad: float):
    """Angle in plan between a bearing and directions (numbers or arrays), 0 to pi."""
    return np.abs((np.arctan2(east_m, north_m) - bearing_rad + math.pi) % (2.0 * math.pi) - math.pi)


def image_geometry(sensor, lens) -> ImageGeometry:
    """The geometry of a lens on a sensor, from their tables of the site file."""
    focal_px = lens.focal_length_mm * 1e-3 / (sensor.pitch_um * 1e-6)
    return ImageGeometry(focal_px, PROJECTIONS[lens.projection], int(sensor.columns), int(sensor.rows))


def camera_geometry(site, camera) -> CameraGeometry:
    """The geometry of one camera of a site (or of a stand-in with the same attributes)."""
    image = image_geometry(site.sensors[camera.sensor], site.lenses[camera.lens])
    return CameraGeometry(
        image.focal_px,
        image.projection,
        image.columns,
        image.rows,
        camera.mark,
        float(camera.position_m[0]),
        float(camera.position_m[1]),
        float(camera.height_m),
        math.radians(camera.bearing_deg),
        math.radians(camera.depression_deg),
        math.radians(camera.roll_deg),
    )
