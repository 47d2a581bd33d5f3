"""Plane geometry: edge frames, mitred offsets, where rays cross edges."""

import numpy as np


def edge_frames(points, inside):
    """Unit directions (k, 2), normals towards the inside (k, 2) and lengths (k,) of the edges of a polyline.

    inside: +1 when the inside lies to the left of travel, -1 to the right."""
    step = np.diff(points, axis=0)
    length = np.hypot(step[:, 0], step[:, 1])
    unit = step / length[:, None]
    return unit, inside * np.column_stack([-unit[:, 1], unit[:, 0]]), length


def offset_line(points, left_m, ring):
    """The polyline moved to its left by left_m, corners mitred; the ends of an open one move squarely."""
    if left_m == 0.0:
        return points
    unit, normal, _ = edge_frames(points, 1.0)
    moved = []
    for k in range(len(points)):
        before, after = k - 1, k
        if ring:
            before, after = before % len(unit), after % len(unit)
        elif k == 0 or k == len(points) - 1:
            before = after = min(k, len(unit) - 1)
        mitre = normal[before] + normal[after]
        moved.append(points[k] + left_m * mitre / (1.0 + normal[before] @ normal[after]))
    return np.array(moved)


def cross(a, b):
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


def ray_hits(origin, step, start, end):
    """Where rays origin + r step cross edges start -> end.

    origin (2,), step (n, 2), start and end (e, 2). Returns r (n, e), NaN where the edge is not met;
    an edge owns its first point, so a shared corner is met once."""
    if len(start) == 0:
        return np.full((len(step), 0), np.nan)
    edge = (end - start)[None]
    between = (start - origin)[None]
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = cross(step[:, None, :], edge)
        along_ray = cross(between, edge) / slope
        along_edge = cross(between, step[:, None, :]) / slope
    met = np.isfinite(along_ray) & (along_edge >= 0.0) & (along_edge < 1.0)
    return np.where(met, along_ray, np.nan)


def inside_polygon(point, ring):
    """Whether a point lies inside a closed ring (k, 2), by parity."""
    below = (ring[:-1, 1] > point[1]) != (ring[1:, 1] > point[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        x = ring[:-1, 0] + (point[1] - ring[:-1, 1]) * (ring[1:, 0] - ring[:-1, 0]) / (ring[1:, 1] - ring[:-1, 1])
    return bool(np.sum(below & (point[0] < x)) % 2)


def distance_to_line_m(point, points):
    """Distance from a point (2,) to a polyline (k, 2)."""
    step = np.diff(points, axis=0)
    along = np.sum((point - points[:-1]) * step, axis=1) / np.sum(step * step, axis=1)
    nearest = points[:-1] + np.clip(along, 0.0, 1.0)[:, None] * step
    return float(np.min(np.hypot(*(nearest - point).T)))
