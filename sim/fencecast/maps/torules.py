"""Rules from lines and areas that were drawn, and one for each fence that has none."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from fencecast.maps import defaults
from fencecast.maps.features import AREA
from fencecast.maps.fences import Fence, crossing_words, nearest_fence, side_of, without_near_points
from fencecast.maps.making import Making
from fencecast.maps.recognise import Recognised
from fencecast.maps.rows import Row, pairs
from fencecast.maps.tofences import outline_of
from fencecast.site.geometry import direction_at, inward_sign, section_length_m, signed_area_m2
from fencecast.site.reading import REPEATED

EVEN_M = 0.5
BESIDE_M = 10.0
LENGTH_M = 4.0


def add_rules(making: Making, found: Sequence[Recognised]) -> None:
    """Drawn rules, then a line at 0.5 m for each new fence without one."""
    served = set()
    for each in found:
        values = making.read(each)
        values.pop("rule", None)
        row = _area(making, each, values) if each.kind == "area" else _line(making, each, values)
        if row is None:
            continue
        making.add(row, each, "rule" if each.kind == "rule" else "area of a rule")
        served.add(row.keys.get("perimeter"))
        if "points_m" in row.keys:
            # A line of its own watches every fence that its paths meet; the nearest one has its rule with it.
            near = nearest_fence(making.fences, np.asarray(row.keys["points_m"], dtype=float).mean(axis=0))[0]
            served.add(near and near.name)
    if making.old is not None:
        served |= {rule.perimeter for rule in making.old.rule} | {p.name for p in making.old.perimeter}
    for fence in making.fences:
        if fence.feature is not None and fence.name not in served:
            keys = {"kind": "line", "perimeter": fence.name, "offset_m": defaults.RULE_OFFSET_M}
            making.rows.append(Row("rule", None, keys, {"offset_m": "no rule was drawn"}))


def _area(making: Making, each: Recognised, values: dict) -> Row | None:
    if values.get("perimeter"):
        return Row("rule", None, {"kind": "area", **values}, feature=each.feature)
    if len(each.feature.rings) > 1:
        making.wrong(each.feature, "the area of a rule has no hole: draw it in two parts")
        return None
    points = outline_of(making, each.feature)
    if points is None:
        return None
    ring = np.vstack([points, points[:1]])
    return Row("rule", None, {"kind": "area", "points_m": pairs(ring), **values}, feature=each.feature)


def _line(making: Making, each: Recognised, values: dict) -> Row | None:
    if values.get("perimeter"):
        return Row("rule", None, {"kind": "line", **values}, feature=each.feature)
    points = each.feature.points
    closed = each.feature.shape == AREA or (len(points) > 3 and bool(np.allclose(points[0], points[-1], atol=1e-3)))
    points = points[:-1] if closed and each.feature.shape != AREA else points
    points, _ = without_near_points(points, closed)
    if len(points) < (3 if closed else 2):
        making.wrong(each.feature, "the line of a rule needs two points in different places")
        return None
    words = crossing_words(points, closed, making.degrees)
    if words:
        making.wrong(each.feature, words)
        return None
    ring = np.vstack([points, points[:1]]) if closed else points
    inside = values.pop("inside", None)
    beside = None if "offset_m" in values or inside else _beside(making.fences, ring, closed)
    if beside is not None:
        fence, offset_m = beside
        return Row(
            "rule",
            None,
            {"kind": "line", "perimeter": fence.name, "offset_m": round(offset_m, 2) + 0.0, **values},
            feature=each.feature,
        )
    turned, unsure = (points[:: 1 if inside == "left" else -1], {}) if inside else _inside_left(making, each, points, closed)
    line = np.vstack([turned, turned[:1]]) if closed else turned
    return Row("rule", None, {"kind": "line", "points_m": pairs(line), **values}, unsure, each.feature)


def _beside(fences: Sequence[Fence], line: np.ndarray, closed: bool) -> tuple[Fence, float] | None:
    """The fence that a line runs along, and its distance inwards: even to 0.5 m, within 10 m, as long to 4 m."""
    drawn = shapely.LineString(line)
    places = [drawn.interpolate(share, normalized=True) for share in np.linspace(0.02, 0.98, 25)]
    best = None
    for fence in fences:
        if fence.closed != closed or abs(section_length_m(fence) - drawn.length) > LENGTH_M + (8.0 * BESIDE_M if closed else 0.0):
            continue
        ring = fence.ring
        # On the straight parts the distance is the offset; near a corner it is that to the nearer edge, which is the same.
        sides = np.array([side_of(ring, np.array(place.coords[0])) for place in places]) * inward_sign(fence)
        mean = float(sides.mean())
        if np.ptp(sides) <= EVEN_M and abs(mean) <= BESIDE_M and (best is None or abs(mean) < abs(best[1])):
            best = fence, mean
    return best


def _inside_left(making: Making, each: Recognised, points: np.ndarray, closed: bool) -> tuple[np.ndarray, dict[str, str]]:
    """The line turned so that the inside is on its left."""
    if closed:
        return (points if signed_area_m2(points) > 0.0 else points[::-1]), {}
    middle = np.array(shapely.LineString(points).interpolate(0.5, normalized=True).coords[0])
    fence, along, away = nearest_fence(making.fences, middle)
    if fence is None or away > BESIDE_M:
        return points, {"points_m": "the inside is on the left of the way it was drawn"}
    way = np.asarray(direction_at(fence, along)) * inward_sign(fence)
    ahead = float((points[-1] - points[0]) @ way)
    return (points if ahead >= 0.0 else points[::-1]), {}


def add_land(making: Making, found: Sequence[Recognised]) -> None:
    """Ground of others, where the site file has a table for it."""
    for each in found:
        if "land" not in REPEATED:
            making.report.left.append((making.label(each.feature), "this version has no [[land]] in its site file"))
            continue
        values = making.read(each)
        name = making.name("land", each.feature.name, "land", each.feature)
        points = outline_of(making, each.feature)
        if points is None:
            continue
        unsure = {} if "ground" in values else {"ground": ""}
        keys = {"name": name, "points_m": pairs(points), "ground": values.get("ground", "own")}
        making.add(Row("land", name, keys, unsure, each.feature), each, "land")
