"""Where a camera would meet the requirement, by geometry alone: within its reach, inside its field, nothing in between."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from fencecast.camera import off_bearing_rad
from fencecast.decide.place.reach import Reach
from fencecast.estimate.sight import WAIST_M, hiders_of
from fencecast.kernels.pack import watched_sections
from fencecast.site.geometry import cut_segments, vertices

# A bend sharper than this ends a straight run: beyond it the next stretch leaves a narrow field (judgement).
BEND_DEG = 12.0
# A person at the edge of the frame is cut: this much of the field is not counted on each side (judgement).
_EDGE_RAD = math.radians(1.0)


@dataclass(frozen=True)
class Targets:
    """Middles of the watched segments: points (n, 2), lengths (n,) [m], which segments of the whole site (n,)."""

    points: np.ndarray
    lengths: np.ndarray
    segments: np.ndarray


def targets_of(site) -> Targets:
    """The segments that some rule watches."""
    cuts = [cut_segments(section, site.site.segment_length_m) for section in site.perimeter]
    points = np.concatenate([cut.point_m for cut in cuts])
    lengths = np.concatenate([cut.end_m - cut.start_m for cut in cuts])
    watched = np.concatenate([np.full(len(cut), good) for cut, good in zip(cuts, watched_sections(site))])
    return Targets(points[watched], lengths[watched], np.flatnonzero(watched))


def clear(hiders, x: float, y: float, height_m: float, points: np.ndarray) -> np.ndarray:
    """Whether the straight line from a mount to a waist at each point (n, 2) passes over or beside every obstacle, (n,) bool."""
    free = np.ones(len(points), dtype=bool)
    if not hiders or not len(points):
        return free
    here = np.broadcast_to(np.array([x, y]), points.shape)
    rays = shapely.linestrings(np.stack([here, points], axis=1))
    length = np.maximum(np.hypot(*(points - here).T), 1e-9)
    for hider in hiders:
        cut = shapely.intersection(rays, hider.footprint)
        corners, which = shapely.get_coordinates(cut, return_index=True)
        far = np.zeros(len(points))  # the line sinks: it is lowest over a prism at the far end of the cut
        np.maximum.at(far, which, np.hypot(*(corners - [x, y]).T))
        behind = (far > 1e-3) & (far < length - 0.1)
        free &= ~(behind & (height_m + (WAIST_M - height_m) * far / length < hider.height_m))
    return free


def held_from(reach: Reach, x, y, bearing_deg, points: np.ndarray, in_sight: np.ndarray, stretch: float = 1.0) -> np.ndarray:
    """At which points (n,) a camera with this reach meets the requirement from (x, y) along a bearing; `stretch`
    lengthens its interval."""
    dx, dy = (points - [x, y]).T
    distance = np.hypot(dx, dy)
    off = off_bearing_rad(dx, dy, math.radians(bearing_deg))
    near, far = reach.near_m / stretch, reach.near_m + (reach.far_m - reach.near_m) * stretch
    return in_sight & (distance >= near) & (distance <= far) & (off <= 0.5 * reach.choice.image.horizontal_field_rad - _EDGE_RAD)


def bearings_deg(reach: Reach, x: float, y: float, points: np.ndarray, step_share: float = 0.5) -> list[float]:
    """Bearings to try from a mount: steps of a share of the horizontal field over the directions in which points lie."""
    if not len(points):
        return []
    step = math.degrees(reach.choice.image.horizontal_field_rad) * step_share
    count = max(1, math.ceil(360.0 / step))
    toward = np.degrees(np.arctan2(points[:, 0] - x, points[:, 1] - y)) % 360.0
    return [float(b) for b in np.unique(np.round(toward / (360.0 / count)).astype(int) % count) * (360.0 / count)]


@dataclass(frozen=True)
class Run:
    """A straight stretch of fence: from start to end (2,), unit vectors along it and inwards, its length [m]."""

    start: np.ndarray
    end: np.ndarray
    along: np.ndarray
    inward: np.ndarray
    length_m: float

    def point(self, chainage_m: float) -> np.ndarray:
        return self.start + chainage_m * self.along


def straight_runs(site) -> list[Run]:
    """The watched fences as straight runs, in walking order; bends of up to 12 degrees do not end one."""
    runs = []
    for section, watched in zip(site.perimeter, watched_sections(site)):
        if not watched:
            continue
        corners = vertices(section)
        first = 0
        for k in range(1, len(corners)):
            if k + 1 < len(corners) and _turn_deg(corners[k - 1 : k + 2]) <= BEND_DEG:
                continue
            step = corners[k] - corners[first]
            length = float(np.hypot(*step))
            along = step / length
            left = np.array([-along[1], along[0]])
            runs.append(Run(corners[first], corners[k], along, left if section.inside == "left" else -left, length))
            first = k
    return runs


def _turn_deg(three: np.ndarray) -> float:
    a, b = np.diff(three, axis=0)
    return abs(math.degrees(math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b))))


def hiders(site) -> list:
    """Obstacles and walls of the site that are taller than a waist."""
    return [hider for hider in hiders_of(site) if hider.height_m > WAIST_M]
