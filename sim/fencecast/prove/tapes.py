"""Two tapes that check a mark: from points that stand fast on the site, short enough to pull and crossing well.

Metres. Tests: tests/prove/test_tapes.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely

from fencecast.prove.marks import Mark
from fencecast.site import Site
from fencecast.site.geometry import point_at, section_length_m, vertices

LONGEST_TAPE_M = 30.0  # of a common steel or glass-fibre tape (common practice, no source)
SHORTEST_TAPE_M = 1.0
LEAST_CROSSING_DEG = 24.0  # flatter, and an error of a tape grows by more than 2.5 across
SAME_POINT_M = 0.5  # ends of sections nearer than this are one corner: sites are drawn to decimetres
_EIGHTH = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


@dataclass(frozen=True)
class FixedPoint:
    """A point to measure from. kind: "end" or "corner" of sections, "bend", "post" of a gate, "building" corner, "mast".

    sections: indices of the sections that it belongs to; name: of the gate or the building; which: number of the bend, the
    chainage of the post, or the corner's direction from the middle of the building (N, NE ...).
    """

    kind: str
    x_m: float
    y_m: float
    sections: tuple[int, ...] = ()
    name: str = ""
    which: str = ""
    chainage_m: float = math.nan


@dataclass(frozen=True)
class Tape:
    """A tape from a fixed point to a mark, level along the ground."""

    start: FixedPoint
    length_m: float


def fixed_points(site: Site, camera) -> tuple[FixedPoint, ...]:
    """Everything on a site that a tape may be hooked to, the camera's own mast last."""
    return (
        *_fence_points(site),
        *_gate_posts(site),
        *_building_corners(site),
        FixedPoint("mast", *camera.position_m, (), camera.mark),
    )


def _fence_points(site: Site) -> list[FixedPoint]:
    ends: list[tuple[float, float, list[int]]] = []
    bends = []
    for k, section in enumerate(site.perimeter):
        points = [tuple(map(float, point)) for point in section.points_m]
        chainages = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(vertices(section), axis=0).T))])
        inner = range(len(points)) if section.closed else range(1, len(points) - 1)
        for i in inner:
            bends.append(FixedPoint("bend", *points[i], (k,), chainage_m=float(chainages[i])))
        for x, y in () if section.closed else (points[0], points[-1]):
            near = next((end for end in ends if math.hypot(end[0] - x, end[1] - y) <= SAME_POINT_M), None)
            if near is None:
                ends.append((x, y, [k]))
            elif k not in near[2]:
                near[2].append(k)
    numbered = []
    for bend in bends:
        alike = [other for other in bends if other.sections == bend.sections]
        which = str(alike.index(bend) + 1) if len(alike) > 1 else ""
        numbered.append(FixedPoint("bend", bend.x_m, bend.y_m, bend.sections, which=which, chainage_m=bend.chainage_m))
    return [*(FixedPoint("corner" if len(s) > 1 else "end", x, y, tuple(s)) for x, y, s in ends), *numbered]


def _gate_posts(site: Site) -> list[FixedPoint]:
    posts = []
    for k, section in enumerate(site.perimeter):
        length = section_length_m(section)
        for gate in section.gates:
            for at in (gate.from_m, gate.to_m):
                if 0.0 < at < length:
                    posts.append(FixedPoint("post", *map(float, point_at(section, at)), (k,), gate.name, chainage_m=float(at)))
    return posts


def _building_corners(site: Site) -> list[FixedPoint]:
    """Corners that a direction alone names; where two of a building have the same, the one that sticks out farther."""
    corners = []
    for obstacle in site.obstacle:
        points = np.asarray(obstacle.footprint_m, dtype=float)
        middle = 0.5 * (points.min(axis=0) + points.max(axis=0))
        by_name: dict[str, tuple[float, float, float]] = {}
        for x, y in points:
            east, north = x - middle[0], y - middle[1]
            name = _eighth(east, north)
            out = math.hypot(east, north)
            if name not in by_name or out > by_name[name][0] + 1e-9:
                by_name[name] = (out, float(x), float(y))
        corners += [FixedPoint("building", x, y, (), obstacle.name, name) for name, (_, x, y) in by_name.items()]
    return corners


def _eighth(east: float, north: float) -> str:
    """The direction in plan in eighths of a turn; corners of a long building along the grid are NE, SE, SW, NW all the same."""
    bearing = math.degrees(math.atan2(east, north)) % 360.0
    if min(abs(east), abs(north)) > 0.15 * math.hypot(east, north):
        return ("N" if north > 0 else "S") + ("E" if east > 0 else "W")
    return _EIGHTH[round(bearing / 45.0) % 8]


def tapes_of(site: Site, points: tuple[FixedPoint, ...], mark: Mark) -> tuple[Tape, ...]:
    """The two tapes that fix a mark best, the shorter first; one or none when the site has no more in reach.

    Of all pairs of at most 30 m that cross at more than 24 degrees, the one with the least sum of lengths over the sine of the
    angle: an error of a tape grows with both. No tape runs through an obstacle or across a fence.
    """
    reach = [
        (point, length)
        for point in points
        if SHORTEST_TAPE_M <= (length := math.hypot(point.x_m - mark.x_m, point.y_m - mark.y_m)) <= LONGEST_TAPE_M
    ]
    reach = [(point, length) for point, length in reach if _lies_free(site, point, mark)]
    best: tuple[float, tuple[Tape, ...]] | None = None
    for (a, length_a), (b, length_b) in combinations(reach, 2):
        sine = abs((a.x_m - mark.x_m) * (b.y_m - mark.y_m) - (a.y_m - mark.y_m) * (b.x_m - mark.x_m)) / (length_a * length_b)
        if sine <= math.sin(math.radians(LEAST_CROSSING_DEG)):
            continue
        cost = round((length_a + length_b) / sine, 6)
        if best is None or cost < best[0]:
            best = (cost, tuple(sorted((Tape(a, length_a), Tape(b, length_b)), key=lambda tape: tape.length_m)))
    if best is not None:
        return best[1]
    return tuple(Tape(point, length) for point, length in sorted(reach, key=lambda each: each[1])[:1])


def _lies_free(site: Site, point: FixedPoint, mark: Mark) -> bool:
    """Whether a tape between the two lies on open ground; it may end at a corner or a post."""
    a, b = np.array([point.x_m, point.y_m]), np.array([mark.x_m, mark.y_m])
    tape = shapely.LineString([a + 1e-3 * (b - a), b])
    if any(tape.intersects(shapely.Polygon(obstacle.footprint_m)) for obstacle in site.obstacle):
        return False
    return not any(tape.crosses(shapely.LineString(vertices(section))) for section in site.perimeter)
