"""What stands between a camera and a person, by name, and by how much a picture misses the person."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from fencecast.camera import CameraGeometry, camera_geometry
from fencecast.kernels.sight import ON_LINE_M, crossing_parameter, shadow_height_m
from fencecast.kernels.types import NO_BARRIER, WALL
from fencecast.physics.optics import RECTILINEAR

# A fence that passes less than this share is said to hide, not to be seen through.
CLOSED = 0.005
# A person nearer to the edge of the picture than this many degrees is not said to be outside it.
_LEAST_DEGREES = 0.05


class Hider(NamedTuple):
    """Something between the camera and the person.

    kind: "obstacle", "wall" or "fence" (one that is seen through); distance_m: along the ground from the camera to where the line
    of sight first meets it; below_m: over the person's place, everything lower is behind it; passes: the share of contrast that
    its openings pass there, 0 for what is solid; check: below_m by hand.
    """

    name: str
    kind: str
    distance_m: float
    height_m: float
    below_m: float
    passes: float
    check: str

    @property
    def solid(self) -> bool:
        """Whether nothing passes it: an obstacle, a wall, or a fence whose openings are closed at this angle."""
        return self.passes < CLOSED


class Outside(NamedTuple):
    """Where a person lies who is not in the picture: the side ("below", "above", "left", "right") and how far beyond it; behind:
    the person is behind the camera."""

    side: str
    degrees: float
    behind: bool


def hiders(look) -> tuple[Hider, ...]:
    """What the line of sight of a look passes through or over and that hides something of the person, nearest first."""
    scene, position = look.plan.scene, tuple(float(v) for v in look.pose.position)
    person = (look.body.motion.x, look.body.motion.y)
    base = look.body.motion.base
    found = []
    for k, obstacle in enumerate(look.site.obstacle):
        edges = scene.obstacle_edge[scene.obstacle_first[k] : scene.obstacle_first[k + 1]]
        met = _met(position, person, edges)
        below = float(shadow_height_m(_alone(scene, k), *position, *person))
        if below > base and met:
            found.append(_solid(obstacle.name, "obstacle", met, obstacle.height_m, below, position[2], look.distance_m))
    for s, section in enumerate(look.site.perimeter):
        rows = range(scene.section_edge[s], scene.section_edge[s + 1])
        if section.barrier == "none":
            continue
        met = [(share, k) for k in rows for share in _met(position, person, scene.edge[k : k + 1])]
        # A body on the line of its own fence is not behind it.
        met = [(share, k) for share, k in met if (1.0 - share) * look.distance_m > ON_LINE_M]
        if not met:
            continue
        below = max(_over(section.barrier_height_m, position[2], share) for share, _ in met)
        if below <= base:
            continue
        shares = [share for share, _ in met]
        if scene.edge_barrier[met[0][1]] == WALL:
            found.append(_solid(section.name, "wall", shares, section.barrier_height_m, below, position[2], look.distance_m))
            continue
        passes = math.prod(_passed(scene, k, position, person) for _, k in met)
        distance = min(shares) * look.distance_m
        found.append(Hider(section.name, "fence", distance, section.barrier_height_m, below, passes, f"{passes:.3f}"))
    return tuple(sorted(found, key=lambda each: each.distance_m))


def hidden_share(look, found: tuple[Hider, ...], top: float = 0.0, bottom: float = 1.0) -> float:
    """Share of the person's height, or of a part of it (from and to, down from the head), that solid things hide."""
    body = look.body
    low, high = body.motion.base + body.height * (1.0 - bottom), body.motion.base + body.height * (1.0 - top)
    below = max((each.below_m for each in found if each.solid), default=0.0)
    return min(max((below - low) / (high - low), 0.0), 1.0)


def outside_of(look) -> tuple[Outside, ...]:
    """By how much and on which sides the person lies outside the picture; empty when some of the person is inside."""
    geometry, motion, body = camera_geometry(look.site, look.camera), look.body.motion, look.body
    places = _corners_px(geometry, body)
    if places is not None:
        (left, top), (right, bottom) = places.min(axis=0), places.max(axis=0)
        found = [
            ("left", _beyond(geometry, -right, 0.5 * geometry.columns)),
            ("right", _beyond(geometry, left, 0.5 * geometry.columns)),
            ("above", _beyond(geometry, -bottom, 0.5 * geometry.rows)),
            ("below", _beyond(geometry, top, 0.5 * geometry.rows)),
        ]
        return tuple(Outside(side, degrees, False) for side, degrees in found if degrees > _LEAST_DEGREES)
    # Behind the plane of the lens there is no picture point: angles in plan, and down from the horizon.
    turned = math.remainder(math.atan2(motion.x - geometry.x_m, motion.y - geometry.y_m) - geometry.bearing_rad, 2.0 * math.pi)
    beside = math.degrees(abs(turned) - 0.5 * geometry.horizontal_field_rad)
    down = math.atan2(geometry.height_m - motion.base - body.height, look.distance_m)
    beneath = math.degrees(down - geometry.depression_rad - 0.5 * geometry.vertical_field_rad)
    behind = abs(turned) > 0.5 * math.pi
    found = [("right" if turned > 0.0 else "left", beside), ("below", 0.0 if behind else beneath)]
    return tuple(Outside(side, degrees, behind) for side, degrees in found if degrees > _LEAST_DEGREES)


def person_px(look) -> list[float] | None:
    """The box round the whole person as seen by the camera as mounted, [column from, to, row from, to] [px], hidden or not,
    inside the frame or not; None when the lens cannot map all of it."""
    geometry = camera_geometry(look.site, look.camera)
    places = _corners_px(geometry, look.body)
    if places is None:
        return None
    (left, top), (right, bottom) = places.min(axis=0), places.max(axis=0)
    across, down = 0.5 * geometry.columns, 0.5 * geometry.rows
    return [float(left + across), float(right + across), float(top + down), float(bottom + down)]


def _corners_px(geometry: CameraGeometry, body) -> np.ndarray | None:
    """Picture places from the axis (8, 2) of the corners of a box about the body; None when one cannot be mapped."""
    motion, half = body.motion, 0.5 * max(body.breadth, body.depth)
    mapped = [
        geometry.position_px(motion.x + east * half, motion.y + north * half, motion.base + up * body.height)
        for east in (-1.0, 1.0)
        for north in (-1.0, 1.0)
        for up in (0.0, 1.0)
    ]
    return None if any(where is None for where in mapped) else np.array(mapped)


def _beyond(geometry: CameraGeometry, place_px: float, edge_px: float) -> float:
    """Degrees between the edge of the picture and a place beyond it, both from the axis; 0 or less inside."""
    if geometry.projection == RECTILINEAR:
        return math.degrees(math.atan(place_px / geometry.focal_px) - math.atan(edge_px / geometry.focal_px))
    return math.degrees((place_px - edge_px) / geometry.focal_px)


def _alone(scene, obstacle: int):
    """The scene with one obstacle and nothing else."""
    rows = slice(scene.obstacle_first[obstacle], scene.obstacle_first[obstacle + 1])
    return scene._replace(
        edge_barrier=np.full_like(scene.edge_barrier, NO_BARRIER),
        obstacle_edge=scene.obstacle_edge[rows],
        obstacle_first=np.array([0, rows.stop - rows.start], dtype=np.int64),
        obstacle_height_m=scene.obstacle_height_m[obstacle : obstacle + 1],
        obstacle_circle=scene.obstacle_circle[obstacle : obstacle + 1],
    )


def _met(position, person, edges) -> list[float]:
    """Shares of the way from the camera to the person at which the line of sight crosses edges (n, 4), nearest first."""
    found = []
    for edge in edges:
        s, t = crossing_parameter(position[0], position[1], *person, edge)
        if 0.0 < s <= 1.0 + ON_LINE_M and 0.0 <= t <= 1.0:
            found.append(float(s))
    return sorted(found)


def _over(height_m: float, camera_h: float, share: float) -> float:
    """Height over the person at which the ray over an edge of that height arrives."""
    return camera_h + (height_m - camera_h) / share


def _solid(name: str, kind: str, met: list[float], height_m: float, below: float, camera_h: float, distance_m: float) -> Hider:
    share = min(met, key=lambda s: abs(_over(height_m, camera_h, s) - below))
    check = f"{camera_h:.2f} + ({height_m:.2f} − {camera_h:.2f}) × {distance_m:.2f} / {share * distance_m:.2f} = {below:.2f} m"
    if abs(_over(height_m, camera_h, share) - below) > 1e-6:  # the person stands at the face that the sight line comes through
        check = f"{height_m:.2f} m high, the person at its face"
    return Hider(name, kind, met[0] * distance_m, height_m, below, 0.0, check)


def _passed(scene, edge: int, position, person) -> float:
    """Share that the openings of one see-through edge pass: 1 - (1 - open) / cos of the angle to its normal, at least 0."""
    dx, dy = person[0] - position[0], person[1] - position[1]
    cosine = abs(dx * scene.edge_normal[edge, 0] + dy * scene.edge_normal[edge, 1]) / math.hypot(dx, dy)
    return max(1.0 - (1.0 - float(scene.edge_open[edge])) / max(cosine, 1e-9), 0.0)
