"""Sight lines through the town by shapely's polygons, cut and compared height by height."""

from __future__ import annotations

import math

import numpy as np

from fencecast.evidence.check import outside

# Farther behind the target than this a prism does not matter (the model's reach).
REACH_M = 2000.0


def spans(polygon, line) -> list[tuple[float, float]]:
    """Where a line runs through a polygon: (from, to) as shares of its length."""
    point = outside("shapely").Point
    common = line.intersection(polygon)
    pieces = [part for part in getattr(common, "geoms", [common]) if part.geom_type == "LineString" and part.length > 0.0]
    start = point(line.coords[0])
    ends = [[start.distance(point(c)) / line.length for c in (part.coords[0], part.coords[-1])] for part in pieces]
    return [(min(each), max(each)) for each in ends]


def meets(edge, line) -> float | None:
    """Share of the line's length at which it meets an edge, None when it does not."""
    shapely = outside("shapely")
    common = line.intersection(shapely.LineString(edge))
    return None if common.is_empty else shapely.Point(line.coords[0]).distance(common) / line.length


def edges(site, kind: str):
    """(edge, section) of every edge of a site's barriers of one kind."""
    return [
        ((a, b), section)
        for section in site.perimeter
        if section.barrier == kind
        for a, b in zip(section.points_m[:-1], section.points_m[1:])
    ]


def hidden_below(camera, target, height: float, shapes, walls) -> float:
    """The lowest height over the target whose sight line passes over every roof and wall; 0 when nothing hides."""
    line = outside("shapely").LineString([camera, target])
    lowest = 0.0
    for polygon, roof in shapes:
        for span in spans(polygon, line):
            for share in span:
                lowest = max(lowest, height + (roof - height) / max(share, 1e-12))
    for edge, section in walls:
        share = meets(edge, line)
        if share is not None:
            lowest = max(lowest, height + (section.barrier_height_m - height) / share)
    return lowest


def passed_by_fences(camera, target, height: float, heights: np.ndarray, fences) -> np.ndarray:
    """Share of contrast that see-through fences pass at each height over the target, by the angle between line and fence."""
    line = outside("shapely").LineString([camera, target])
    share_passed = np.ones(len(heights))
    for edge, section in fences:
        share = meets(edge, line)
        if share is None:
            continue
        along = math.atan2(edge[1][1] - edge[0][1], edge[1][0] - edge[0][0])
        alpha = abs(math.atan2(target[1] - camera[1], target[0] - camera[0]) - along - 0.5 * math.pi) % math.pi
        alpha = min(alpha, math.pi - alpha)
        under = height + (heights - height) * share < section.barrier_height_m
        share_passed[under] *= max(1.0 - (1.0 - section.barrier_open_share) / math.cos(alpha), 0.0)
    return share_passed


def backdrop(camera, target, height: float, z: float, shapes) -> tuple[bool, bool]:
    """(an obstacle stands behind height z over the target, too close to a roof's edge to tell)."""
    distance = math.hypot(target[0] - camera[0], target[1] - camera[1])
    end = min(height / (height - z) if z < height else math.inf, REACH_M / distance + 1.0)
    stop = (camera[0] + (target[0] - camera[0]) * end, camera[1] + (target[1] - camera[1]) * end)
    line = outside("shapely").LineString([target, stop])
    if line.length < 1e-6:
        return False, True
    found, close = False, False
    for polygon, roof in shapes:
        for span in spans(polygon, line):
            lowest = min(height + (z - height) * (1.0 + share * (end - 1.0)) for share in span)
            found = found or lowest <= roof
            close = close or abs(lowest - roof) < 0.01
    return found, close
