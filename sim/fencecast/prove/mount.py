"""How a camera is to be mounted, as numbers that an installer can measure: place, height, directions, what its picture meets.

Tests: tests/prove/test_mount.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fencecast.camera import CameraGeometry, camera_geometry
from fencecast.prove.lookedalong import looked_along
from fencecast.site import Site
from fencecast.site.fenceplaces import FencePlace, place_on
from fencecast.site.geometry import bearing_of, direction_at, section_length_m
from fencecast.site.schema import Camera
from fencecast.site.tolerances import mounting_errors


@dataclass(frozen=True)
class Mount:
    """The mount of one camera. Metres, degrees, pixels; bearings clockwise from grid north (the y axis of the site file).

    stands: beside the section that the camera looks along. along_deg: bearing of the fence line there, in that of its two senses
    that is nearer to the camera's; inwards_deg: the camera's bearing against it, positive towards the inside. true_deg: bearing
    from true north, None where the site does not say where north is. axis_m: where the axis meets the ground (x, y), axis_from_m
    its ground distance, both None when it never does; axis: the same from the fence, None when it is not beside that section.
    feet_from_m: from here on feet on the axis are in the picture; 0 from under the camera, None when it looks over the horizon.
    horizon_row: of the horizon in the middle column [px from the top], outside 0..rows when it is not in the picture; None for a
    camera that looks straight down or up. horizon_above_deg: angle between horizon and upper edge, negative when it shows.
    px_per_deg: in the middle of the picture. tolerance_px: across, and up and down, what one sigma of [tolerance] moves it;
    tolerance_given: whether the site file has both. roll_deg: positive when the camera's right side is the lower.
    """

    mark: str
    sensor: str
    lens: str
    focal_length_mm: float
    f_number: float
    projection: str
    columns: int
    rows: int
    x_m: float
    y_m: float
    stands: FencePlace
    height_m: float
    horizontal_field_deg: float
    vertical_field_deg: float
    bearing_deg: float
    true_deg: float | None
    along_deg: float
    inwards_deg: float
    depression_deg: float
    axis_m: tuple[float, float] | None
    axis_from_m: float | None
    axis: FencePlace | None
    feet_from_m: float | None
    horizon_row: float | None
    horizon_above_deg: float
    px_per_deg: float
    tolerance_px: tuple[int, int]
    tolerance_given: bool
    height_tolerance_m: float
    roll_deg: float = 0.0

    @property
    def horizon_shows(self) -> bool:
        """Whether the horizon is in the middle column of the picture."""
        return self.horizon_row is not None and 0.0 <= self.horizon_row <= self.rows

    @property
    def only_sky(self) -> bool:
        """Whether the lower edge of the picture lies above the horizon."""
        return self.feet_from_m is None


def mount_of(site: Site, camera: Camera) -> Mount:
    """The mount of one camera of a site."""
    geometry = camera_geometry(site, camera)
    lens = site.lenses[camera.lens]
    stands = looked_along(site, geometry)
    along, inwards = _against_fence(site, stands, camera.bearing_deg)
    point = geometry.ground_point(0.0, 0.0)
    reach = None if point is None else geometry.distance_m(*point)
    feet = geometry.blind_distance_m(0.0)
    per_deg = geometry.focal_px * math.pi / 180.0
    bearing_sd, depression_sd, height_sd = mounting_errors(site, camera)
    return Mount(
        camera.mark, camera.sensor, camera.lens, float(lens.focal_length_mm), float(lens.f_number), lens.projection,
        geometry.columns, geometry.rows, geometry.x_m, geometry.y_m, stands, geometry.height_m,
        math.degrees(geometry.horizontal_field_rad), math.degrees(geometry.vertical_field_rad),
        float(camera.bearing_deg) % 360.0,
        None if site.map is None else (float(camera.bearing_deg) + site.map.grid_north_deg) % 360.0,
        along, inwards, float(camera.depression_deg), point, reach,
        None if point is None else _beside(site, stands.section, *point),
        None if math.isnan(feet) else feet,
        horizon_row(geometry), math.degrees(geometry.depression_rad - 0.5 * geometry.vertical_field_rad), per_deg,
        (_pixels(bearing_sd, per_deg), _pixels(depression_sd, per_deg)),
        bearing_sd > 0.0 and depression_sd > 0.0, height_sd, float(camera.roll_deg),
    )  # fmt: skip


def _pixels(sigma_deg: float, per_deg: float) -> int:
    """Whole pixels that an error of one sigma moves the middle of the picture, at least 1: nobody reads a picture better."""
    return max(1, math.floor(sigma_deg * per_deg + 1e-9))


def _against_fence(site: Site, stands: FencePlace, bearing_deg: float) -> tuple[float, float]:
    """Bearing of the fence line beside the camera, in the sense nearer to the camera's, and the camera's against it, positive
    inwards [degrees]."""
    section = site.perimeter[stands.section]
    travel = float(bearing_of(direction_at(section, np.clip(stands.chainage_m, 0.0, section_length_m(section)))))
    turn = _half_turn(bearing_deg - travel)
    inside = -1.0 if section.inside == "left" else 1.0  # of travel: a bearing grows to the right
    if abs(turn) <= 90.0:
        return travel, inside * turn
    return (travel + 180.0) % 360.0, -inside * _half_turn(bearing_deg - travel - 180.0)


def _half_turn(angle_deg: float) -> float:
    """The same angle from -180 to 180."""
    return (angle_deg + 180.0) % 360.0 - 180.0


def _beside(site: Site, section: int, x_m: float, y_m: float) -> FencePlace | None:
    """A ground point from a section that it lies beside; None past its ends."""
    place = place_on(site, section, x_m, y_m)
    return place if 0.0 <= place.chainage_m <= section_length_m(site.perimeter[section]) else None


def horizon_row(geometry: CameraGeometry) -> float | None:
    """Row of the horizon in the middle column [px from the top], by the camera's own projection; None where it has none."""
    far = 1.0e7
    # Where the middle column of a rolled picture meets the horizon: level, so far beside the bearing.
    beside = math.atan(math.tan(geometry.roll_rad) * math.sin(geometry.depression_rad))
    east, north = far * math.sin(geometry.bearing_rad + beside), far * math.cos(geometry.bearing_rad + beside)
    where = geometry.position_px(geometry.x_m + east, geometry.y_m + north, geometry.height_m)
    return None if where is None else 0.5 * geometry.rows + where[1]
