"""Where a walk meets the line that raises the alarm: the caller writes the time at which a foot comes over it.

Tests: tests/prove/walks/test_alarmline.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from fencecast.site import Site
from fencecast.site.geometry import area_polygon, rule_line

BEYOND_M = 0.05  # a line at the very start or finish of a walk is met too
_ALONG = 1e-9


@dataclass(frozen=True)
class AlarmLine:
    """What a walk crosses first. inside_m: of the fence line, along its inward normal at the place, negative outside it; area:
    whether it is the edge of an area on the walk's way into it."""

    inside_m: float
    area: bool


class AlarmLines:
    """The lines and areas of all rules of a site [m]."""

    def __init__(self, site: Site):
        self._site = site

    @cached_property
    def _shapes(self) -> tuple[tuple[str, shapely.Geometry], ...]:
        found: list[tuple[str, shapely.Geometry]] = []
        for rule in self._site.rule:
            if rule.kind == "area":
                found.append((rule.direction, shapely.Polygon(area_polygon(rule, self._site.perimeter))))
            else:
                found.append((rule.direction, shapely.LineString(rule_line(rule, self._site.perimeter))))
        return tuple(found)

    def met(
        self, start: Sequence[float], finish: Sequence[float], direction: str, line: np.ndarray, inward: np.ndarray
    ) -> AlarmLine | None:
        """The first that a straight walk meets; None where it meets none.

        start, finish, line (the place on the fence line) and inward (its unit normal): (2,), in the site's metres; direction `in`
        or `out`. A walk against the direction of all lines (a control) has the line that it crosses the wrong way.
        """
        a, b = np.asarray(start, dtype=float), np.asarray(finish, dtype=float)
        length = float(np.hypot(*(b - a)))
        if length < _ALONG:
            return None
        way = (b - a) / length
        path = shapely.LineString([a - BEYOND_M * way, b + BEYOND_M * way])
        asked = {"both", "inward" if direction == "in" else "outward"}
        best: dict[bool, tuple[float, AlarmLine]] = {}
        for rule_direction, shape in self._shapes:
            area = isinstance(shape, shapely.Polygon)
            at = _first(path, shape, area)
            if at is None:
                continue
            fits = area or rule_direction in asked
            found = AlarmLine(float((a + (at - BEYOND_M) * way - line) @ inward), area)
            if fits not in best or at < best[fits][0]:
                best[fits] = (at, found)
        return (best.get(True) or best.get(False) or (0.0, None))[1]


def _first(path: shapely.LineString, shape: shapely.Geometry, area: bool) -> float | None:
    """Metres along a path to the first point at which it crosses a line or comes into an area; None when it does not."""
    edge = shape.exterior if area else shape
    ends = shapely.get_coordinates(path.intersection(edge))
    along = sorted(path.project(shapely.Point(point)) for point in ends)
    if not along or (area and shape.contains(shapely.Point(path.coords[0]))):
        return None  # who starts in an area comes into it nowhere
    return along[0]
