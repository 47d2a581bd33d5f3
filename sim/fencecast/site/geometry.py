"""Plane geometry of fences and rules.

Conventions: x east, y north, metres. Bearings in degrees clockwise from north (+y): a bearing b points along (sin b, cos b).
A section runs from its first point to its last; chainage is the distance travelled along it. The left of a direction (dx, dy)
is (-dy, dx); `inside` says on which side of the direction of travel the protected ground lies, and inward normals point there.
Offsets are positive inwards. Arrays of points have shape (n, 2). A `section` is anything with `points_m`, `closed` and `inside`
(a Perimeter); a closed one returns to its first point, which `points_m` does not repeat.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

SHORTEST_EDGE_M = 0.001


@dataclass(frozen=True)
class Segments:
    """The equal pieces of a section, in order of chainage; every array has one row for each segment.

    `start_m`, `end_m`, `middle_m`: chainage [m]; `point_m` (n, 2): the place of the middle;
    `normal` (n, 2): inward unit normal there.
    """

    start_m: np.ndarray
    end_m: np.ndarray
    middle_m: np.ndarray
    point_m: np.ndarray
    normal: np.ndarray

    def __len__(self) -> int:
        return len(self.start_m)


def bearing_vector(bearing_deg) -> np.ndarray:
    """Unit vector(s) (..., 2) along a bearing [degrees clockwise from north]."""
    angle = np.radians(np.asarray(bearing_deg, dtype=float))
    return np.stack([np.sin(angle), np.cos(angle)], axis=-1)


def bearing_of(vector) -> np.ndarray:
    """Bearing [degrees, 0 to 360] of vector(s) (..., 2)."""
    vector = np.asarray(vector, dtype=float)
    return np.degrees(np.arctan2(vector[..., 0], vector[..., 1])) % 360.0


def vertices(section) -> np.ndarray:
    """The section's corner points in order (n, 2); a closed section repeats its first point at the end."""
    points = np.asarray(section.points_m, dtype=float)
    return np.vstack([points, points[:1]]) if section.closed else points


def edge_lengths_m(section) -> np.ndarray:
    """Length of each straight edge [m], shape (edges,)."""
    return np.hypot(*np.diff(vertices(section), axis=0).T)


def section_length_m(section) -> float:
    """Length of the whole section [m]; of a closed one, its circumference."""
    return float(edge_lengths_m(section).sum())


def corner_chainages_m(section) -> np.ndarray:
    """Chainage of each corner point [m], from 0 to the section's length; shape (edges + 1,)."""
    return np.concatenate([[0.0], np.cumsum(edge_lengths_m(section))])


def edge_at(section, chainage_m) -> np.ndarray:
    """Number of the edge (from 0) on which a chainage [m] lies; a corner belongs to the edge that begins there.

    Outside 0..length it is the nearest edge.
    """
    corners = corner_chainages_m(section)
    return np.clip(np.searchsorted(corners, chainage_m, side="right") - 1, 0, len(corners) - 2)


def direction_at(section, chainage_m) -> np.ndarray:
    """Unit vector(s) (..., 2) of travel at a chainage [m]."""
    return _unit(np.diff(vertices(section), axis=0))[edge_at(section, chainage_m)]


def inward_normal_at(section, chainage_m) -> np.ndarray:
    """Unit vector(s) (..., 2) square to the edge at a chainage [m], pointing inside."""
    return inward_sign(section) * _left(direction_at(section, chainage_m))


def point_at(section, chainage_m) -> np.ndarray:
    """Point(s) (..., 2) [m] at a chainage [m]; beyond the ends the first or last edge goes on straight."""
    chainage_m = np.asarray(chainage_m, dtype=float)
    edge = edge_at(section, chainage_m)
    along = chainage_m - corner_chainages_m(section)[edge]
    return vertices(section)[edge] + along[..., None] * direction_at(section, chainage_m)


def inward_sign(section) -> float:
    """+1 when inside is on the left of travel, -1 when it is on the right."""
    return 1.0 if section.inside == "left" else -1.0


def in_gate(section, chainage_m) -> np.ndarray:
    """Whether a chainage [m] lies in one of the section's gates (ends included)."""
    chainage_m = np.asarray(chainage_m, dtype=float)
    inside = np.zeros(chainage_m.shape, dtype=bool)
    for gate in section.gates:
        inside |= (chainage_m >= gate.from_m) & (chainage_m <= gate.to_m)
    return inside


def segment_count(length_m: float, segment_length_m: float) -> int:
    """How many equal segments a length is cut into: length / segment_length, halves rounded up, at least one."""
    return max(1, int(np.floor(length_m / segment_length_m + 0.5)))


def cut_segments(section, segment_length_m: float) -> Segments:
    """The section in equal segments of about `segment_length_m` [m]; see `segment_count`."""
    length_m = section_length_m(section)
    count = segment_count(length_m, segment_length_m)
    # Not linspace: one edge value serves both as an end and as the next start, and the last is the length itself.
    edges_m = length_m * (np.arange(count + 1) / count)
    middle_m = 0.5 * (edges_m[:-1] + edges_m[1:])
    return Segments(edges_m[:-1], edges_m[1:], middle_m, point_at(section, middle_m), inward_normal_at(section, middle_m))


def mitred_offset(points_m, offset_m: float, closed: bool, to_left: bool = True) -> np.ndarray:
    """A line parallel to a line at a distance, its corners where neighbouring edges' offsets meet (mitred).

    `points_m` (n, 2), a ring without its repeated point; `offset_m` [m], positive to the left of travel (to the right when not
    `to_left`). Returns (n, 2): point i belongs to point i. Open lines end square to their end edges; a ring's corners are all
    mitred. ValueError when the offset line collapses: an edge would vanish or turn round, or the line would cross itself.
    """
    points = np.asarray(points_m, dtype=float)
    distance = offset_m if to_left else -offset_m
    if distance == 0.0:
        return points.copy()
    ring = np.vstack([points, points[:1]]) if closed else points
    directions = _unit(np.diff(ring, axis=0))
    normals = _left(directions)
    before = np.roll(normals, 1, axis=0) if closed else np.vstack([normals[:1], normals])
    after = normals if closed else np.vstack([normals, normals[-1:]])
    shared = 1.0 + np.einsum("ij,ij->i", before, after)
    # At a corner of a thousandth of a degree the mitre is 100 km away: that is a line that turns back on itself.
    if np.any(shared < 1e-10):
        raise ValueError("the line turns back on itself")
    moved = points + distance * (before + after) / shared[:, None]
    moved_ring = np.vstack([moved, moved[:1]]) if closed else moved
    left = np.einsum("ij,ij->i", np.diff(moved_ring, axis=0), directions)
    if np.any(left < SHORTEST_EDGE_M):
        edge = int(np.argmin(left)) + 1
        raise ValueError(f"edge {edge} of the line vanishes at this distance")
    if first_crossing(moved, closed) is not None:
        raise ValueError("the offset line crosses itself at this distance")
    return moved


def offset_line(section, offset_m: float) -> np.ndarray:
    """The mitred line at `offset_m` [m] inwards of a section, in its direction of travel.

    A closed one repeats its first point; ValueError as in `mitred_offset`.
    """
    moved = mitred_offset(section.points_m, offset_m, section.closed, to_left=section.inside == "left")
    return np.vstack([moved, moved[:1]]) if section.closed else moved


def rule_line(rule, perimeters) -> np.ndarray:
    """The line of a rule as a polyline (n, 2) with the inward side on its left; a ring repeats its first point.

    `rule`: a Rule on a perimeter, or with points of its own (inside on the left). `perimeters`: all Perimeters of the site.
    """
    if rule.perimeter is not None:
        section = next(each for each in perimeters if each.name == rule.perimeter)
        line = offset_line(section, rule.offset_m)
        return line if section.inside == "left" else line[::-1].copy()
    points, closed = ring_points(rule.points_m)
    moved = mitred_offset(points, rule.offset_m, closed)
    return np.vstack([moved, moved[:1]]) if closed else moved


def area_polygon(rule, perimeters) -> np.ndarray:
    """The polygon of an area rule (n, 2), anticlockwise, first point not repeated; positive offsets shrink it.

    `rule`: a Rule on a closed perimeter, or with a ring of points in either sense of travel.
    """
    if rule.perimeter is not None:
        return rule_line(rule, perimeters)[:-1]
    points, _ = ring_points(rule.points_m)
    points = points if signed_area_m2(points) > 0.0 else points[::-1].copy()
    return mitred_offset(points, rule.offset_m, closed=True)


def ring_points(points_m) -> tuple[np.ndarray, bool]:
    """The points without a repeated first point at the end, and whether there was one."""
    points = np.asarray(points_m, dtype=float)
    closed = len(points) > 1 and bool(np.all(points[0] == points[-1]))
    return (points[:-1] if closed else points), closed


def signed_area_m2(points_m) -> float:
    """Area inside a ring [m2], positive when its points run anticlockwise (seen with x right, y up)."""
    x, y = (np.asarray(points_m, dtype=float) - np.asarray(points_m[0], dtype=float)).T
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def short_edge(points_m, closed: bool) -> int | None:
    """The number (from 1) of the first point that lies on the one before it (within 1 mm), or None; of a ring, also the first
    on the last."""
    points = np.asarray(points_m, dtype=float)
    lengths = np.hypot(*np.diff(points, axis=0).T)
    short = np.flatnonzero(lengths < SHORTEST_EDGE_M)
    if len(short):
        return int(short[0]) + 2
    return len(points) if closed and np.hypot(*(points[-1] - points[0])) < SHORTEST_EDGE_M else None


def first_crossing(points_m, closed: bool) -> tuple[int, int, tuple[float, float]] | None:
    """Where a line crosses, touches or runs back along itself: two edge numbers (from 1) and a point, or None.

    Neighbouring edges may share their corner and nothing else. Every edge must have a length.
    """
    points = np.asarray(points_m, dtype=float)
    ring = np.vstack([points, points[:1]]) if closed else points
    edges = shapely.linestrings(np.stack([ring[:-1], ring[1:]], axis=1))
    first, second = shapely.STRtree(edges).query(edges, predicate="intersects")
    order = np.lexsort((second, first))
    count = len(edges)
    for i, j in zip(first[order], second[order]):
        if i >= j:
            continue
        common = shapely.intersection(edges[i], edges[j])
        neighbours = j == i + 1 or (closed and i == 0 and j == count - 1)
        if neighbours and common.geom_type == "Point":
            continue
        place = shapely.get_coordinates(common)[0]
        return int(i) + 1, int(j) + 1, (float(place[0]), float(place[1]))
    return None


def _left(vectors: np.ndarray) -> np.ndarray:
    return np.stack([-vectors[..., 1], vectors[..., 0]], axis=-1)


def _unit(vectors: np.ndarray) -> np.ndarray:
    return vectors / np.hypot(vectors[..., 0], vectors[..., 1])[..., None]
