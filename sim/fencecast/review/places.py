"""Where the fence is asked: places of half a metre, and the samples of them where a straight path meets a rule.

Every section is cut into places of about 0.5 m. A place has one sample for each rule that watches it and that a straight inward
path from it meets; several rules are an OR, so a place is bad only when all its samples are. Metres; arrays of places (n,), of
samples (s,).

Tests: tests/review/test_cover.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.review.optics import outline
from fencecast.site.geometry import (
    area_polygon,
    cut_segments,
    direction_at,
    in_gate,
    rule_line,
    vertices,
)

PLACE_M = 0.5
_TOUCH_M = 1.0e-6


@dataclass(frozen=True, eq=False)
class Places:
    """Half metres of fence, section by section. climb_m: height of the barrier that is climbed there, 0 in gates and without one.

    free_m (n, 2): how far a straight path may run outwards and inwards of the place before an obstacle or another fence ends it.
    """

    section: np.ndarray
    start_m: np.ndarray
    end_m: np.ndarray
    point: np.ndarray
    normal: np.ndarray
    climb_m: np.ndarray
    gate: np.ndarray
    free_m: np.ndarray

    def __len__(self) -> int:
        return len(self.section)

    @property
    def length_m(self) -> np.ndarray:
        return self.end_m - self.start_m

    @property
    def middle_m(self) -> np.ndarray:
        return 0.5 * (self.start_m + self.end_m)


@dataclass(frozen=True, eq=False)
class Samples:
    """Where paths meet rules. depth_m: along the inward normal, from the fence to the rule's line or into its area; leave_m:
    where the area is left again (the depth, for a line)."""

    place: np.ndarray
    rule: np.ndarray
    depth_m: np.ndarray
    leave_m: np.ndarray
    point: np.ndarray

    def __len__(self) -> int:
        return len(self.place)


def meetings(point: np.ndarray, direction: np.ndarray, edges: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Distances [m] along directions (n, 2) from points (n, 2) at which edges (k, 4) are met, (n, k), NaN where they are not; and
    the sense: +1 towards the left of the edge."""
    ex, ey = edges[:, 2] - edges[:, 0], edges[:, 3] - edges[:, 1]
    dx, dy = direction[:, :1], direction[:, 1:]
    determinant = dx * ey - dy * ex
    rx, ry = edges[:, 0] - point[:, :1], edges[:, 1] - point[:, 1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (rx * ey - ry * ex) / determinant
        t = (rx * dy - ry * dx) / determinant
    met = (determinant != 0.0) & (t >= -1e-9) & (t <= 1.0 + 1e-9)
    return np.where(met, along, np.nan), np.where(determinant < 0.0, 1, -1)


def cut_places(site) -> Places:
    """Every section of the site in places."""
    parts = []
    for k, section in enumerate(site.perimeter):
        cut = cut_segments(section, PLACE_M)
        gate = in_gate(section, cut.middle_m)
        height = 0.0 if section.barrier == "none" else float(section.barrier_height_m)
        parts.append((np.full(len(cut), k), cut.start_m, cut.end_m, cut.point_m, cut.normal, np.where(gate, 0.0, height), gate))
    section, start, end, point, normal, climb, gate = (np.concatenate(column) for column in zip(*parts))
    return Places(section, start, end, point, normal, climb, gate, free_of(site, point, normal))


def free_of(site, point: np.ndarray, normal: np.ndarray) -> np.ndarray:
    """How far straight paths run outwards (0) and inwards (1): to a footprint or to another barrier, at most path_m."""
    edges = [outline(obstacle.footprint_m) for obstacle in site.obstacle]
    for section in site.perimeter:
        if section.barrier != "none":
            corners = vertices(section)
            edges.append(np.hstack([corners[:-1], corners[1:]]))
    free = np.full((len(point), 2), float(site.intruder.path_m))
    if not edges:
        return free
    for side, sign in enumerate((-1.0, 1.0)):
        along, _ = meetings(point, sign * normal, np.vstack(edges))
        ahead = np.where(along > 1e-4, along, np.inf)
        free[:, side] = np.minimum(free[:, side], ahead.min(axis=1))
    return free


def sample_rules(site, places: Places) -> Samples:
    """Every meeting of a straight path with a rule that watches its place; without paths that an obstacle ends before."""
    parts = []
    for number, rule in enumerate(site.rule):
        watched = np.array([rule.perimeter in (None, section.name) for section in site.perimeter], dtype=bool)
        where = np.flatnonzero(watched[places.section])
        if len(where):
            depth, leave = path_meets(site, rule, places, where, places.normal[where], places.free_m[where])
            good = ~np.isnan(depth)
            parts.append((where[good], np.full(int(good.sum()), number), depth[good], leave[good]))
    if not parts:
        empty = np.zeros(0)
        return Samples(empty.astype(int), empty.astype(int), empty, empty, np.zeros((0, 2)))
    place, rule_number, depth, leave = (np.concatenate(column) for column in zip(*parts))
    point = places.point[place] + depth[:, None] * places.normal[place]
    return Samples(place, rule_number, depth, leave, point)


def path_meets(
    site, rule, places: Places, where: np.ndarray, direction: np.ndarray, free_m: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Depth at which straight paths from some places in a direction (n, 2) meet a rule, and at which they leave its area; NaN
    where they never do. free_m (n, 2): how far the paths run outwards and inwards."""
    point = places.point[where]
    low, high = -free_m[:, :1] - _TOUCH_M, free_m[:, 1:] + _TOUCH_M
    if rule.kind == "line":
        line = rule_line(rule, site.perimeter)
        along, sense = meetings(point, direction, np.hstack([line[:-1], line[1:]]))
        # A line is crossed inwards when the path comes out on its left; one that watches outwards is crossed on the way back.
        fits = (along >= low) & (along <= high) & (sense > 0)
        nearest = np.where(fits, np.abs(along), np.inf).argmin(axis=1)
        depth = np.where(fits.any(axis=1), along[np.arange(len(where)), nearest], np.nan)
        return depth, depth
    edges = outline(area_polygon(rule, site.perimeter))
    far = high if rule.perimeter is None else np.maximum(high, site.intruder.path_m)
    along, sense = meetings(point, direction, edges)
    enters = np.where((sense > 0) & (along >= -_TOUCH_M) & (along <= far), along, np.inf).min(axis=1)
    # Area polygons run anticlockwise: to the left of an edge is inside, so a path that starts inside has a way out only.
    leaves = np.where((sense < 0) & (along > _TOUCH_M), along, np.inf)
    first_out = leaves.min(axis=1)
    enters = np.where(first_out < enters, 0.0, enters)
    after = np.where(leaves > enters[:, None] + _TOUCH_M, leaves, np.inf).min(axis=1)
    good = np.isfinite(enters) & np.isfinite(after)
    return np.where(good, enters, np.nan), np.where(good, np.minimum(after, free_m[:, 1]), np.nan)


def directions(places: Places, where: np.ndarray, angle_rad: float) -> np.ndarray:
    """Unit vectors (n, 2) at an angle from the inward normal, positive anticlockwise."""
    c, s = np.cos(angle_rad), np.sin(angle_rad)
    nx, ny = places.normal[where].T
    return np.stack([c * nx - s * ny, s * nx + c * ny], axis=1)


def travel_of(site, places: Places) -> np.ndarray:
    """Unit vectors (n, 2) of travel along the fence at each place."""
    found = np.zeros_like(places.point)
    for k, section in enumerate(site.perimeter):
        mine = places.section == k
        found[mine] = direction_at(section, places.middle_m[mine])
    return found
