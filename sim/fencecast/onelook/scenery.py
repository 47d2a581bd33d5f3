"""What stands in a camera's picture besides the person: faces of obstacles and fences, and the horizon, in pixels.

Picture places count from the upper left corner of the frame, columns to the right and rows down; everything is clipped to the
frame. Faces that look away from the camera are left out; what one shape hides of another is for whoever draws them.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from fencecast.camera import CameraGeometry, camera_geometry
from fencecast.physics.optics import RECTILINEAR
from fencecast.site.geometry import vertices

# What is nearer than this in front of the lens is cut off [m].
_NEAREST_M = 0.05
# Straight lines bend in an equidistant picture: so many pieces of each edge.
_PIECES = 6
# Fences and lines are cut into faces of at most this length, so that each can stand before or behind an obstacle [m].
_FACE_M = 3.0


class Shape(NamedTuple):
    """An obstacle ("obstacle"), a wall ("wall"), a fence ("fence") or a line without a barrier ("line") in the picture.

    faces: polygons, of a "line" polylines, each (n, 2) columns and rows [px]; distance_m: of each face, from the camera along the
    ground to the nearest point of what it is a face of.
    """

    name: str
    kind: str
    faces: tuple[np.ndarray, ...]
    distance_m: tuple[float, ...]


def scenery(site, camera) -> tuple[Shape, ...]:
    """Everything of a site that is in the picture of one of its cameras as mounted, nearest first."""
    geometry = camera_geometry(site, camera)
    found = []
    for obstacle in site.obstacle:
        points = np.array(obstacle.footprint_m, dtype=float)
        faces = [_face(geometry, a, b, obstacle.height_m) for a, b in _facing(geometry, points)]
        if geometry.height_m > obstacle.height_m:
            faces.append(_polygon(geometry, np.column_stack([points, np.full(len(points), obstacle.height_m)])))
        nearest = min(_distance_m(geometry, a, b) for a, b in zip(points, np.roll(points, -1, axis=0)))
        found.append(_shape(obstacle.name, "obstacle", [(face, nearest) for face in faces]))
    for section in site.perimeter:
        pairs = _pieces_of(vertices(section))
        kind = {"none": "line", "wall": "wall"}.get(section.barrier, "fence")
        parts = []
        for a, b in pairs:
            if kind == "line":
                drawn = _polyline(geometry, np.array([[*a, 0.0], [*b, 0.0]]))
            else:
                drawn = [_face(geometry, a, b, section.barrier_height_m)]
            parts += [(face, _distance_m(geometry, a, b)) for face in drawn]
        found.append(_shape(section.name, kind, parts))
    return tuple(sorted((shape for shape in found if shape.faces), key=lambda shape: min(shape.distance_m)))


def horizon(site, camera) -> tuple[np.ndarray, ...]:
    """The horizon in the picture of one camera: polylines (n, 2), columns and rows [px]; none when it is out of the frame."""
    geometry = camera_geometry(site, camera)
    bearings = geometry.bearing_rad + np.radians(np.linspace(-89.9, 89.9, 361))
    far = 1.0e6
    points = np.column_stack(
        [
            geometry.x_m + far * np.sin(bearings),
            geometry.y_m + far * np.cos(bearings),
            np.full(len(bearings), geometry.height_m),
        ]
    )
    return tuple(_polyline(geometry, points, pieces=1))


def lines_in_picture(geometry: CameraGeometry, points_m: np.ndarray, pieces: int = 24) -> list[np.ndarray]:
    """A line by its points (n, 3) [m] as polylines (m, 2), columns and rows [px], where it lies before the lens.

    Every straight edge is drawn in so many pieces; nothing is cut at the frame, so that whoever draws cuts exactly there. Points
    farther off the axis than a lens can map, or behind it, end a polyline.
    """
    fine = _fine(_in_camera(geometry, np.asarray(points_m, dtype=float)), pieces)
    ahead = fine[:, 2] >= _NEAREST_M
    edges = np.flatnonzero(np.diff(np.concatenate([[False], ahead, [False]]).astype(int)))
    return [_projected(geometry, fine[a:b]) for a, b in zip(edges[::2], edges[1::2]) if b - a > 1]


def _shape(name: str, kind: str, parts: list[tuple[np.ndarray, float]]) -> Shape:
    parts = [(face, distance) for face, distance in parts if len(face) > 1]
    return Shape(name, kind, tuple(face for face, _ in parts), tuple(distance for _, distance in parts))


def _pieces_of(points: np.ndarray) -> list[tuple[np.ndarray, np.ndarray]]:
    """The edges of a polyline (n, 2), long ones in equal pieces."""
    pairs = []
    for a, b in zip(points[:-1], points[1:]):
        count = max(1, math.ceil(math.dist(a, b) / _FACE_M))
        cuts = a + np.linspace(0.0, 1.0, count + 1)[:, None] * (b - a)
        pairs += list(zip(cuts[:-1], cuts[1:]))
    return pairs


def _distance_m(geometry: CameraGeometry, a: np.ndarray, b: np.ndarray) -> float:
    """Ground distance from the camera to the nearest point of an edge."""
    here, along = np.array([geometry.x_m, geometry.y_m]), b - a
    share = min(max(float((here - a) @ along) / max(float(along @ along), 1e-12), 0.0), 1.0)
    return float(np.hypot(*(a + share * along - here)))


def _facing(geometry: CameraGeometry, points: np.ndarray) -> list[tuple[np.ndarray, np.ndarray]]:
    """Edges of a footprint whose outer side looks to the camera."""
    following = np.roll(points, -1, axis=0)
    area = 0.5 * np.sum(points[:, 0] * following[:, 1] - following[:, 0] * points[:, 1])
    pairs = []
    for a, b in zip(points, following):
        outward = np.array([b[1] - a[1], a[0] - b[0]]) * math.copysign(1.0, area)
        if outward @ (np.array([geometry.x_m, geometry.y_m]) - a) > 0.0:
            pairs.append((a, b))
    return pairs


def _face(geometry: CameraGeometry, a: np.ndarray, b: np.ndarray, height_m: float) -> np.ndarray:
    return _polygon(geometry, np.array([[*a, 0.0], [*b, 0.0], [*b, height_m], [*a, height_m]]))


def _in_camera(geometry: CameraGeometry, points: np.ndarray) -> np.ndarray:
    """Site points (n, 3) in the camera's frame: right, down, forward [m]."""
    axes = np.array(geometry.axes).reshape(3, 3)
    return (points - np.array([geometry.x_m, geometry.y_m, geometry.height_m])) @ axes.T


def _polygon(geometry: CameraGeometry, points: np.ndarray) -> np.ndarray:
    """A face by its corners (n, 3) [m] as a polygon in the picture, clipped to it; (0, 2) when nothing of it is there."""
    corners = _clipped(_in_camera(geometry, points), np.array([0.0, 0.0, 1.0]), _NEAREST_M)
    if len(corners) < 3:
        return np.zeros((0, 2))
    pieces = 1 if geometry.projection == RECTILINEAR else _PIECES
    picture = _projected(geometry, _fine(np.vstack([corners, corners[:1]]), pieces)[:-1])
    for normal, least in _sides(geometry):
        if len(picture):
            picture = _clipped(picture, normal, least)
    return picture


def _polyline(geometry: CameraGeometry, points: np.ndarray, pieces: int = 24) -> list[np.ndarray]:
    """A line by its points (n, 3) [m] as polylines in the picture: the runs of its fine points that are inside."""
    fine = _fine(_in_camera(geometry, points), pieces)
    ahead = fine[:, 2] >= _NEAREST_M
    picture = np.full((len(fine), 2), np.nan)
    picture[ahead] = _projected(geometry, fine[ahead])
    inside = ahead & (picture >= 0.0).all(axis=1) & (picture <= (geometry.columns, geometry.rows)).all(axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int)))
    return [picture[a:b] for a, b in zip(edges[::2], edges[1::2]) if b - a > 1]


def _sides(geometry: CameraGeometry) -> tuple[tuple[np.ndarray, float], ...]:
    return (
        (np.array([1.0, 0.0]), 0.0),
        (np.array([-1.0, 0.0]), -float(geometry.columns)),
        (np.array([0.0, 1.0]), 0.0),
        (np.array([0.0, -1.0]), -float(geometry.rows)),
    )


def _fine(corners: np.ndarray, pieces: int) -> np.ndarray:
    """Every straight edge of a polyline in so many pieces."""
    steps = np.arange(pieces) / pieces
    parts = [a + steps[:, None] * (b - a) for a, b in zip(corners[:-1], corners[1:])]
    return np.vstack([*parts, corners[-1:]])


def _projected(geometry: CameraGeometry, points: np.ndarray) -> np.ndarray:
    """Points ahead of the camera (n, 3) as columns and rows; the formulas of `physics.optics.project`."""
    x, y, z = points.T
    if geometry.projection == RECTILINEAR:
        scale = geometry.focal_px / z
    else:
        radius = np.hypot(x, y)
        scale = geometry.focal_px * np.arctan2(radius, z) / np.maximum(radius, 1e-12)
    return np.column_stack([0.5 * geometry.columns + scale * x, 0.5 * geometry.rows + scale * y])


def _clipped(corners: np.ndarray, normal: np.ndarray, least: float) -> np.ndarray:
    """The part of a polygon with corner . normal >= least (one step of Sutherland and Hodgman 1974)."""
    level = corners @ normal - least
    kept = []
    for i in range(len(corners)):
        j = (i + 1) % len(corners)
        if level[i] >= 0.0:
            kept.append(corners[i])
        if (level[i] >= 0.0) != (level[j] >= 0.0):
            kept.append(corners[i] + level[i] / (level[i] - level[j]) * (corners[j] - corners[i]))
    return np.array(kept).reshape(-1, corners.shape[1])
