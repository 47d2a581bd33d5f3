"""Where many points fall in one camera's picture at once, and what hides them: the kernel's own rules in NumPy.

The scalar forms are `physics.optics.project` and `kernels.sight.shadow_height_m`; nothing is compiled here, so that a review
starts at once. Metres, radians, pixels from the axis; bearings clockwise from grid north, depression positive downwards.

Tests: tests/review/test_cover.py compares both with the compiled forms on random points.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from fencecast.camera import image_geometry
from fencecast.physics.optics import RECTILINEAR, RECTILINEAR_LIMIT_RAD
from fencecast.site.geometry import inward_sign, vertices

ON_LINE_M = 1.0e-6
# A fence that passes less than this of a contrast hides a walker on a clear night: 10 K become less than noise (judgement).
LEAST_PASSED = 0.02
_COS2_LIMIT = math.cos(RECTILINEAR_LIMIT_RAD) ** 2


@dataclass(frozen=True)
class Eye:
    """One camera as numbers: where it stands, how it looks, its lens [px] and its frame [px]."""

    mark: str
    x_m: float
    y_m: float
    height_m: float
    bearing_rad: float
    depression_rad: float
    focal_px: float
    projection: int
    columns: int
    rows: int
    roll_rad: float = 0.0  # positive: the camera's right side is lower

    def turned(self, bearing_rad: float = 0.0, depression_rad: float = 0.0) -> Eye:
        """The same camera with an error of aim."""
        return replace(self, bearing_rad=self.bearing_rad + bearing_rad, depression_rad=self.depression_rad + depression_rad)

    def field_rad(self, pixels: float) -> float:
        """Full field over so many pixels, centred on the axis."""
        if self.projection == RECTILINEAR:
            return 2.0 * math.atan(0.5 * pixels / self.focal_px)
        return pixels / self.focal_px

    @property
    def vertical_field_rad(self) -> float:
        return self.field_rad(self.rows)

    @property
    def horizontal_field_rad(self) -> float:
        return self.field_rad(self.columns)

    @property
    def lower_edge_rad(self) -> float:
        """How far below the horizon the lower edge of the frame lies, on the axis."""
        return self.depression_rad + 0.5 * self.vertical_field_rad

    @property
    def upper_edge_rad(self) -> float:
        return self.depression_rad - 0.5 * self.vertical_field_rad

    def blind_m(self, z_m: float) -> float:
        """Ground distance within which height z lies below the frame; 0 without blind ground or over the horizon."""
        if not 0.0 < self.lower_edge_rad < 0.5 * math.pi or self.height_m <= z_m:
            return 0.0
        return (self.height_m - z_m) / math.tan(self.lower_edge_rad)

    def along_right(self, x_m: np.ndarray, y_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """How far points lie ahead of the camera and to its right, on the plan [m]."""
        sb, cb = math.sin(self.bearing_rad), math.cos(self.bearing_rad)
        east, north = x_m - self.x_m, y_m - self.y_m
        return sb * east + cb * north, cb * east - sb * north

    def beneath(self, x_m: np.ndarray, y_m: np.ndarray, z_m: float, wider_rad: float = 0.0) -> np.ndarray:
        """Which points lie below the frame so that tilting the camera down, up to 90 degrees, brings them into its width.

        wider_rad: added to half the width. Tilting turns the camera about a level axle: how far right a point is stays, and how
        far ahead becomes at most its distance from that axle. Behind the camera, or beside its field, no tilt helps.
        """
        (along, right), drop = self.along_right(x_m, y_m), self.height_m - z_m
        _, v, mapped = self.image_of(x_m, y_m, z_m)
        low = np.where(mapped, v > 0.5 * self.rows, np.arctan2(drop, along) > self.lower_edge_rad)
        beside = np.arctan2(np.abs(right), np.hypot(along, drop)) > 0.5 * self.horizontal_field_rad + wider_rad
        return low & ~beside & (along >= -ON_LINE_M) & (drop > 0.0)

    def image_of(self, x_m: np.ndarray, y_m: np.ndarray, z_m: np.ndarray | float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Image positions (u, v) from the axis [px] of points, and which of them the lens can map."""
        sb, cb = math.sin(self.bearing_rad), math.cos(self.bearing_rad)
        st, ct = math.sin(self.depression_rad), math.cos(self.depression_rad)
        east, north, up = x_m - self.x_m, y_m - self.y_m, z_m - self.height_m
        along = sb * east + cb * north
        right = cb * east - sb * north
        down = -st * along - ct * up
        ahead = ct * along - st * up
        if self.roll_rad:
            sr, cr = math.sin(self.roll_rad), math.cos(self.roll_rad)
            right, down = cr * right + sr * down, cr * down - sr * right
        radius2 = right * right + down * down
        if self.projection == RECTILINEAR:
            mapped = (ahead > 0.0) & (ahead * ahead > _COS2_LIMIT * (radius2 + ahead * ahead))
            scale = self.focal_px / np.where(mapped, ahead, 1.0)
        else:
            radius = np.sqrt(radius2)
            mapped = (radius >= 1e-12) | (ahead > 0.0)
            scale = self.focal_px * np.arctan2(radius, ahead) / np.maximum(radius, 1e-12)
        return scale * right, scale * down, mapped

    def frames(self, x_m: np.ndarray, y_m: np.ndarray, z_m: np.ndarray | float) -> np.ndarray:
        """Which points fall into the frame."""
        u, v, mapped = self.image_of(x_m, y_m, z_m)
        return mapped & (np.abs(u) <= 0.5 * self.columns) & (np.abs(v) <= 0.5 * self.rows)


def eyes_of(site) -> list[Eye]:
    """The site's cameras in their order."""
    eyes = []
    for camera in site.camera:
        image = image_geometry(site.sensors[camera.sensor], site.lenses[camera.lens])
        eyes.append(
            Eye(
                camera.mark,
                float(camera.position_m[0]),
                float(camera.position_m[1]),
                float(camera.height_m),
                math.radians(camera.bearing_deg),
                math.radians(camera.depression_deg),
                image.focal_px,
                image.projection,
                image.columns,
                image.rows,
                math.radians(camera.roll_deg),
            )
        )
    return eyes


@dataclass(frozen=True)
class Prism:
    """An obstacle: edges (k, 4), a circle round it (x, y, radius), its height [m]."""

    name: str
    edges: np.ndarray
    circle: tuple[float, float, float]
    height_m: float


@dataclass(frozen=True)
class Sheet:
    """A straight piece of a section's barrier: ends (4,), height [m], share open to a view square to it (0 for a wall)."""

    name: str
    ends: np.ndarray
    height_m: float
    open_share: float


@dataclass(frozen=True)
class Hiders:
    """What can stand between a camera and a body."""

    prisms: tuple[Prism, ...]
    sheets: tuple[Sheet, ...]


def outline(points_m) -> np.ndarray:
    """The edges (n, 4) of a ring of points."""
    points = np.asarray(points_m, dtype=float)
    return np.hstack([points, np.roll(points, -1, axis=0)])


def hiders_of(site, heights_m: dict[str, float] | None = None) -> Hiders:
    """Obstacles, and every barrier of the fence; heights_m: other heights of obstacles, by name."""
    prisms = []
    for obstacle in site.obstacle:
        points = np.asarray(obstacle.footprint_m, dtype=float)
        middle = 0.5 * (points.min(axis=0) + points.max(axis=0))
        radius = float(np.hypot(*(points - middle).T).max()) + 1e-6
        height = (heights_m or {}).get(obstacle.name, obstacle.height_m)
        prisms.append(Prism(obstacle.name, outline(points), (float(middle[0]), float(middle[1]), radius), float(height)))
    sheets = []
    for section in site.perimeter:
        if section.barrier == "none":
            continue
        corners = vertices(section)
        open_share = 0.0 if section.barrier == "wall" else float(section.barrier_open_share)
        height, name = float(section.barrier_height_m), section.name
        sheets += [Sheet(name, np.array([*a, *b]), height, open_share) for a, b in zip(corners, corners[1:])]
    return Hiders(tuple(prisms), tuple(sheets))


def _meetings(eye: Eye, x: np.ndarray, y: np.ndarray, edge: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where lines from a camera to points cross one edge: s from the camera (1 at the point), t along the edge; NaN: never."""
    ex, ey = edge[2] - edge[0], edge[3] - edge[1]
    dx, dy = x - eye.x_m, y - eye.y_m
    determinant = dx * ey - dy * ex
    rx, ry = edge[0] - eye.x_m, edge[1] - eye.y_m
    with np.errstate(divide="ignore", invalid="ignore"):
        s = np.where(determinant == 0.0, np.nan, (rx * ey - ry * ex) / determinant)
        t = np.where(determinant == 0.0, np.nan, (rx * dy - ry * dx) / determinant)
    return s, t


def prism_shadow_m(eye: Eye, prism: Prism, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Height below which one obstacle hides everything over the points (n,); 0 where it hides nothing."""
    shadow = np.zeros(len(x))
    cx, cy, radius = prism.circle
    dx, dy = x - eye.x_m, y - eye.y_m
    length2 = np.maximum(dx * dx + dy * dy, 1e-12)
    rx, ry = cx - eye.x_m, cy - eye.y_m
    along = np.clip((rx * dx + ry * dy) / length2, 0.0, 1.0)
    near = np.flatnonzero((rx - along * dx) ** 2 + (ry - along * dy) ** 2 <= radius * radius)
    if not len(near):
        return shadow
    px, py = x[near], y[near]
    distance = np.hypot(px - eye.x_m, py - eye.y_m)
    highest, met, at_face = np.zeros(len(near)), np.zeros(len(near), dtype=int), np.zeros(len(near), dtype=bool)
    rise = prism.height_m - eye.height_m
    for edge in prism.edges:
        s, t = _meetings(eye, px, py, edge)
        crossed = (s * distance > ON_LINE_M) & (t >= 0.0) & (t <= 1.0)
        before = crossed & ((1.0 - s) * distance > ON_LINE_M)
        met += before
        highest[before] = np.maximum(highest[before], eye.height_m + rise / s[before])
        at_face |= crossed & ~before & ((s - 1.0) * distance <= ON_LINE_M)
    behind = at_face & (met % 2 == 1)
    highest[behind] = np.maximum(highest[behind], prism.height_m)
    shadow[near] = highest
    return shadow


def sheet_shadow_m(eye: Eye, sheet: Sheet, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """The same behind a piece of barrier: a wall, or a fence that is looked along so flat that it passes next to nothing."""
    distance = np.hypot(x - eye.x_m, y - eye.y_m)
    s, t = _meetings(eye, x, y, sheet.ends)
    met = (s * distance > ON_LINE_M) & ((1.0 - s) * distance > ON_LINE_M) & (t >= 0.0) & (t <= 1.0)
    if sheet.open_share > 0.0:
        ex, ey = sheet.ends[2] - sheet.ends[0], sheet.ends[3] - sheet.ends[1]
        across = np.abs((x - eye.x_m) * ey - (y - eye.y_m) * ex) / (math.hypot(ex, ey) * np.maximum(distance, 1e-9))
        met &= 1.0 - (1.0 - sheet.open_share) / np.maximum(across, 1e-9) < LEAST_PASSED
    top = eye.height_m + (sheet.height_m - eye.height_m) / np.where(met, s, 1.0)
    return np.where(met, np.maximum(top, 0.0), 0.0)


def shadow_m(eye: Eye, hiders: Hiders, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Height [m] over each point (n,) below which everything is hidden from the camera; 0 where nothing hides."""
    shadow = np.zeros(len(x))
    for prism in hiders.prisms:
        shadow = np.maximum(shadow, prism_shadow_m(eye, prism, x, y))
    for sheet in hiders.sheets:
        shadow = np.maximum(shadow, sheet_shadow_m(eye, sheet, x, y))
    return shadow


def inward_of(section, along: np.ndarray) -> np.ndarray:
    """Unit vectors pointing inside, square to directions of travel (n, 2)."""
    return inward_sign(section) * np.stack([-along[:, 1], along[:, 0]], axis=1)
