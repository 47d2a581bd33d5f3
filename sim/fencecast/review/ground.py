"""The yard as an area: rings that sections close, alone or end to end.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

import numpy as np
import shapely

from fencecast.site.geometry import vertices

JOINT_M = 0.5  # ends nearer than this touch, as in `estimate.places`


def ends_of(site) -> list[tuple[int, int, np.ndarray]]:
    """Every open end: section, 0 for its first point or 1 for its last, the point (2,)."""
    return [
        (k, side, np.asarray(section.points_m[-side], dtype=float))
        for k, section in enumerate(site.perimeter)
        if not section.closed
        for side in (0, 1)
    ]


def chains_of(site) -> list[list[np.ndarray]]:
    """Sections that close a ring together, each as their corner points in order; a closed section alone."""
    rings = [[vertices(section)[:-1]] for section in site.perimeter if section.closed]
    left = {k: np.asarray(section.points_m, dtype=float) for k, section in enumerate(site.perimeter) if not section.closed}
    while left:
        first = min(left)
        chain = [left.pop(first)]
        while True:
            end = chain[-1][-1]
            if np.hypot(*(end - chain[0][0])) <= JOINT_M and (len(chain) > 1 or len(chain[0]) > 2):
                rings.append(chain)
                break
            following = None
            for k, points in left.items():
                if np.hypot(*(points[0] - end)) <= JOINT_M:
                    following = (k, points)
                elif np.hypot(*(points[-1] - end)) <= JOINT_M:
                    following = (k, points[::-1])
                if following:
                    break
            if following is None:
                break
            del left[following[0]]
            chain.append(following[1])
    return rings


def yard_of(site) -> shapely.Geometry | None:
    """The enclosed ground, or None. Rings within rings (an inner fence, a wall round a store) are part of the yard."""
    areas = []
    for chain in chains_of(site):
        points = np.vstack(chain)
        if len(points) >= 3:
            ring = shapely.Polygon(points)
            if ring.is_valid and ring.area > 1.0:
                areas.append(ring)
    if not areas:
        return None
    whole = shapely.union_all(areas)
    shapely.prepare(whole)
    return whole


def own_ground(site, yard: shapely.Geometry | None) -> shapely.Geometry | None:
    """Land of kind "own" where the file has some, else the yard."""
    own = [shapely.Polygon(land.points_m) for land in site.land if land.ground == "own"]
    return shapely.union_all([*own, yard] if yard is not None else own) if own else yard
