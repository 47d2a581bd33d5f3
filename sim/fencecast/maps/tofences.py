"""Fences, gates and buildings from features."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from fencecast.maps import defaults
from fencecast.maps.features import AREA, POINT, Feature
from fencecast.maps.fences import (
    LEAST_AREA_M2,
    Fence,
    crossing_words,
    find_insides,
    join_ends,
    make_fence,
    nearest_fence,
    without_near_points,
)
from fencecast.maps.making import Making
from fencecast.maps.recognise import Recognised
from fencecast.maps.rows import Row, number, pairs
from fencecast.site.geometry import section_length_m
from fencecast.site.schema import Perimeter

GATE_REACH_M = 3.0


def add_fences(making: Making, found: Sequence[Recognised], opened: Sequence[str], voters: Sequence[np.ndarray]) -> None:
    """Every fence as a Fence (`making.fences`) and a table; with an older site its other fences are known too."""
    drawn = []
    for each in found:
        values = making.read(each)
        if each.word == "quay":
            values.setdefault("barrier", "none")
        name = making.name("perimeter", each.feature.name, "fence", each.feature)
        fence = make_fence(each.feature, name, values, making.degrees, making.wrong, making.note)
        if fence is not None:
            drawn.append((each, fence))
        else:
            making.lost.append(each.feature)
    names = {fence.name for _, fence in drawn}
    kept = []
    if making.old is not None:
        for table in making.old.perimeter:
            if table.name not in names:
                kept.append(Fence(table.name, np.array(table.points_m), table.closed, table.inside, sure=True))
    making.fences = [fence for _, fence in drawn] + kept
    join_ends(making.fences, opened, making.wrong, making.note)
    find_insides(making.fences, voters)
    for each, fence in drawn:
        making.add(_fence_row(making, fence), each, "fence")


def _fence_row(making: Making, fence: Fence) -> Row:
    keys: dict[str, object] = {"name": fence.name, "points_m": pairs(fence.points_m), "inside": fence.inside}
    unsure: dict[str, str] = {}
    if not fence.sure:
        unsure["inside"] = fence.why
    if fence.closed:
        keys["closed"] = True
    for key, value in (("barrier", defaults.BARRIER), ("barrier_height_m", defaults.BARRIER_HEIGHT_M)):
        keys[key] = fence.values.get(key, value)
        if key not in fence.values:
            unsure[key] = ""
    if "barrier_open_share" in fence.values:
        keys["barrier_open_share"] = fence.values["barrier_open_share"]
    if keys["barrier"] == "none":
        for key in ("barrier_height_m", "barrier_open_share"):
            keys.pop(key, None)
            unsure.pop(key, None)
    row = Row("perimeter", fence.name, keys, unsure, fence.feature)
    old = _old_fence(making, fence.name)
    if old is not None and not fence.sure:
        # Drawn the other way round, the same side is on its other hand.
        ways = [np.asarray(points)[-1] - np.asarray(points)[0] for points in (fence.points_m, old.points_m)]
        turned = float(np.dot(*ways)) < 0.0
        side = {"left": "right", "right": "left"}[old.inside] if turned else old.inside
        keys["inside"], fence.inside = side, side
        if turned:
            unsure.pop("inside", None)
            making.note(f'"{fence.name}" was drawn the other way round: its inside is now on the {side}')
    return row


def _old_fence(making: Making, name: str) -> Perimeter | None:
    return None if making.old is None else next((p for p in making.old.perimeter if p.name == name), None)


def add_gates(making: Making, found: Sequence[Recognised]) -> None:
    """Gates into the tables of their fences; after ends were joined, since chainages change with them."""
    for each in found:
        values = making.read(each)
        span = _gate_span(making, each, values)
        if span is None:
            continue
        fence, start, end = span
        name = each.feature.name or f"gate {len(fence.gates) + 1}"
        other = next((gate for gate in fence.gates if gate["from_m"] < end and start < gate["to_m"]), None)
        if other is not None:
            making.wrong(
                each.feature, f'this gate overlaps gate "{other["name"]}" ({other["from_m"]:.2f} to {other["to_m"]:.2f} m)'
            )
            continue
        while name in {gate["name"] for gate in fence.gates}:
            name = f"{name[:56]} 2"
        fence.gates.append({"name": name, "from_m": start, "to_m": end})
        if each.feature.shape != POINT and "width_m" in values:
            making.report.passed.setdefault(making.label(each.feature), []).append("width (this gate is as wide as it is drawn)")
        if each.feature.shape == POINT and "width_m" not in values:
            making.report.checks.append((f"gate {name}", "width_m", f"{defaults.GATE_WIDTH_M:g} m taken"))
        making.report.taken.append((making.label(each.feature), f'gate of "{fence.name}"', name, each.by))
    for fence in making.fences:
        row = next((row for row in making.rows if row.table == "perimeter" and row.name == fence.name), None)
        if not fence.gates:
            continue
        gates = sorted(fence.gates, key=lambda gate: gate["from_m"])
        if row is None:  # a gate drawn on a fence of the older file
            row = Row("perimeter", fence.name, {"name": fence.name})
            making.rows.append(row)
        row.keys["gates"] = gates


def _gate_span(making: Making, each: Recognised, values: dict) -> tuple[Fence, float, float] | None:
    feature: Feature = each.feature
    middle = feature.points.mean(axis=0)
    fence, along, away = nearest_fence(making.fences, middle)
    ends = [] if fence is None else [nearest_fence([fence], point) for point in feature.points]
    away = max([away, *(distance for _, _, distance in ends)])
    if fence is None or away > GATE_REACH_M:
        where = f"{away:.1f} m from the nearest fence" if fence is not None else "without a fence"
        # Without any fence that is the problem, told once for the whole drawing.
        none_at_all = fence is None and making.old is None
        if none_at_all or making.unplaced or any(_away_m(each, middle) <= GATE_REACH_M for each in making.lost):
            making.report.follows.add(feature.key)
        making.wrong(
            feature, f"a gate {where}: draw it as a line along a fence, or as a point on it, at most {GATE_REACH_M:g} m away"
        )
        return None
    length_m = section_length_m(fence)
    if feature.shape == POINT:
        half = 0.5 * float(values.get("width_m", defaults.GATE_WIDTH_M))
        start, end = max(0.0, along - half), min(length_m, along + half)
    else:
        start, end = sorted((ends[0][1], ends[-1][1]))
        drawn = float(shapely.LineString(feature.points).length)
        if fence.closed and end - start > 0.5 * length_m > drawn:
            making.wrong(feature, f'this gate runs over the first point of "{fence.name}": begin that fence at another corner')
            return None
    if end - start < 0.1:
        making.wrong(feature, "a gate of no width: draw it along the fence, not across")
        return None
    return fence, number(start), min(number(end), length_m)


def _away_m(feature: Feature, place: np.ndarray) -> float:
    """How far a place lies from a fence as it was drawn [m]."""
    ring = np.vstack([feature.points, feature.points[:1]]) if feature.shape == AREA else feature.points
    return float(shapely.LineString(ring).distance(shapely.Point(place)))


def add_buildings(making: Making, found: Sequence[Recognised]) -> None:
    """Buildings as obstacles."""
    for each in found:
        feature, values = each.feature, making.read(each)
        name = making.name("obstacle", feature.name, "building", feature)
        points = outline_of(making, feature)
        if points is None:
            continue
        if len(feature.rings) > 1:
            making.note(f"{making.label(feature)}: the hole in this building is filled")
        keys = {"name": name, "footprint_m": pairs(points), "height_m": values.get("height_m", defaults.BUILDING_HEIGHT_M)}
        unsure = {} if "height_m" in values else {"height_m": ""}
        making.add(Row("obstacle", name, keys, unsure, feature), each, "building")


def outline_of(making: Making, feature: Feature) -> np.ndarray | None:
    """The outline of an area [m], mended; None when it is none, which is reported."""
    points, left = without_near_points(feature.points, closed=True)
    if left:
        making.note(f"{making.label(feature)}: {left} point{'s' * (left > 1)} nearer than 1 cm to another left out")
    if len(points) < 3:
        making.wrong(feature, "an area needs three points in different places")
        return None
    words = crossing_words(points, True, making.degrees)
    if words:
        making.wrong(feature, words)
        return None
    area = shapely.Polygon(points).area
    if area < LEAST_AREA_M2:
        making.wrong(
            feature, f"an area of {area:.2g} m2: at least {LEAST_AREA_M2:g} m2 are expected; are its numbers not degrees?"
        )
        return None
    return points
