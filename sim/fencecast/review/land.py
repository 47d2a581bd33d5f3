"""Whose ground do the cameras see? Area outside the yard, and pieces of land that the file names.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from fencecast.review.asked import Asked
from fencecast.review.cover import view_at
from fencecast.review.finding import NOTE, WARN, Finding, NotAsked
from fencecast.review.optics import Eye

_RAYS = 121
_GRID_M = 0.5
_MOST_POINTS = 40_000


def land(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    return _overspill(asked) + _in_view(asked)


def reach_m(asked: Asked, eye: Eye) -> float:
    """Range [m] at which a person of 1.8 x 0.5 m makes cycles_50, on axis: half of all looks."""
    return 0.5 * math.sqrt(1.8 * 0.5) * eye.focal_px / asked.cover.cycles_50


def _overspill(asked: Asked) -> list[Finding]:
    """Square metres outside the yard where a camera has a waist in view, to its 50 % range; the camera that has most of it."""
    yard = asked.yard
    if yard is None:
        asked.not_asked.append(NotAsked("overspill", "a fence that closes a ring"))
        return []
    rows = []
    for eye in asked.cover.eyes:
        half = 0.5 * math.pi if eye.lower_edge_rad > 1.2 else 0.5 * eye.horizontal_field_rad + 0.05
        angle = np.linspace(-half, half, _RAYS)
        radius = np.arange(0.5, max(reach_m(asked, eye), 1.0), 1.0)
        a, r = np.meshgrid(eye.bearing_rad + angle, radius, indexing="ij")
        point = np.stack([eye.x_m + (r * np.sin(a)).ravel(), eye.y_m + (r * np.cos(a)).ravel()], axis=1)
        area = (r * (angle[1] - angle[0])).ravel()
        seen = view_at(eye, asked.cover.hiders, point, 1.0)[1]
        where = np.flatnonzero(seen)
        outside = ~shapely.contains_xy(yard, point[where, 0], point[where, 1])
        whole = float(area[where].sum())
        rows.append((float(area[where][outside].sum()), whole, eye.mark))
    most, share = asked.limit("overspill-m2"), asked.limit("overspill-share")
    many = [row for row in rows if row[0] > most and row[0] > share * row[1]]
    if not many:
        return []
    area, whole, mark = max(many)
    facts = {"mark": mark, "share": area / whole, "count": len(many)}
    return [Finding("overspill", NOTE, "site", "", area, "m2", most, facts=facts)]


def _in_view(asked: Asked) -> list[Finding]:
    """Square metres of named land in the view of a camera that a rule hears: private land anywhere, other near the lines."""
    site = asked.site
    if not site.land:
        asked.not_asked.append(NotAsked("land-in-view", "[[land]]"))
        return []
    used = {mark for rule in site.rule for mark in rule.cameras}
    found = []
    for piece in site.land:
        if piece.ground == "own":
            continue
        shape = shapely.Polygon(piece.points_m)
        point, each = _grid(shape)
        seen = np.zeros(len(point), dtype=bool)
        marks = []
        for c, eye in enumerate(asked.cover.eyes):
            if eye.mark not in used:
                continue
            mine = view_at(eye, asked.cover.hiders, point, 0.0)[1]
            mine &= np.hypot(point[:, 0] - eye.x_m, point[:, 1] - eye.y_m) <= reach_m(asked, eye)
            if piece.ground not in ("private", "public"):
                mine &= _near_lines(asked, c, point)
            if mine.any():
                marks.append(eye.mark)
            seen |= mine
        area = float(seen.sum() * each)
        if area > 1.0:
            facts = {"ground": piece.ground, "cameras": ", ".join(marks)}
            found.append(Finding("land-in-view", WARN, "land", piece.name, area, "m2", 1.0, facts=facts))
    return found


def _grid(shape: shapely.Geometry) -> tuple[np.ndarray, float]:
    """Points inside a shape on a square grid (n, 2), and the area that each stands for [m2]."""
    step = max(_GRID_M, math.sqrt(shape.area / _MOST_POINTS))
    x0, y0, x1, y1 = shape.bounds
    xs = np.arange(x0 + 0.5 * step, x1, step)
    ys = np.arange(y0 + 0.5 * step, y1, step)
    x, y = (part.ravel() for part in np.meshgrid(xs, ys))
    inside = shapely.contains_xy(shape, x, y)
    point = np.stack([x[inside], y[inside]], axis=1)
    return point, shape.area / max(len(point), 1)


def _near_lines(asked: Asked, c: int, point: np.ndarray) -> np.ndarray:
    """Which points lie within `path_m` of fence that this camera is heard for: what moves there can look like a crossing."""
    cover = asked.cover
    mine = np.unique(cover.samples.place[cover.heard[:, c]])
    if not len(mine) or not len(point):
        return np.zeros(len(point), dtype=bool)
    fence = shapely.multipoints(cover.places.point[mine])
    return shapely.distance(shapely.points(point), fence) <= float(asked.site.intruder.path_m)
