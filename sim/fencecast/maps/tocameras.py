"""Cameras, the points that they look at, and places where cameras may be mounted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

import numpy as np

from fencecast.maps import defaults
from fencecast.maps.features import AREA, LINE
from fencecast.maps.fences import SAME_M, Fence, nearest_fence, without_near_points
from fencecast.maps.making import Making
from fencecast.maps.recognise import Recognised
from fencecast.maps.rows import Row, number, pairs
from fencecast.site.geometry import point_at, section_length_m

_LEAST_AIM_M = 0.1
ANOTHER_WAY_DEG = 5.0


def add_cameras(making: Making, found: Sequence[Recognised], aims: Sequence[Recognised]) -> None:
    """Cameras, each with the point or the angles that it looks along."""
    named = _aim_points(making, aims)
    marks = set()
    for each in found:
        feature, values = each.feature, making.read(each)
        if feature.shape == LINE and len(feature.points) != 2:
            making.wrong(
                feature, f"a camera's line has two points: where it stands and where it looks; this has {len(feature.points)}"
            )
            continue
        mark = making.name("camera", feature.name, "T", feature)
        marks.add(mark)
        aim = named.get(mark)
        if aim is None and "aim" in values:
            aim = named.get(str(values["aim"]))
            if aim is None:
                making.wrong(
                    feature, f"no aim is called {values['aim']!r}: draw a point of kind aim with that name, or give bearing_deg"
                )
                continue
        row = _camera(making, each, mark, values, aim)
        if row is not None:
            making.add(row, each, "camera")
    for each in aims:
        target = str(making.read(each).get("camera", each.feature.name))
        if target not in marks and making.old is not None and target in {c.mark for c in making.old.camera}:
            aim_m = [number(v) for v in each.feature.points[0]]
            row = Row(
                "camera", target, {"mark": target, "aim_m": aim_m}, feature=each.feature, drop=("bearing_deg", "depression_deg")
            )
            making.add(row, each, "aim")
        elif target in marks or any(f.feature.name and str(making.read(f).get("aim")) == each.feature.name for f in found):
            making.report.taken.append((making.label(each.feature), "aim", target, each.by))
        else:
            making.wrong(each.feature, f"an aim needs a property camera with the mark of a camera; {target!r} is none")


def _aim_points(making: Making, aims: Sequence[Recognised]) -> dict[str, np.ndarray]:
    found = {}
    for each in aims:
        values = making.read(each)
        for name in {str(values.get("camera", "")), each.feature.name} - {""}:
            found[name] = each.feature.points[0]
    return found


def _camera(making: Making, each: Recognised, mark: str, values: dict, aim: np.ndarray | None) -> Row | None:
    feature = each.feature
    place = feature.points[0]
    unsure: dict[str, str] = {}
    drop: tuple[str, ...] = ("aim_m",)
    keys: dict[str, object] = {"mark": mark, "position_m": [number(v) for v in place]}
    keys["height_m"] = values.get("height_m", defaults.CAMERA_HEIGHT_M)
    if "height_m" not in values:
        unsure["height_m"] = ""
    if aim is None and feature.shape == LINE:
        aim = feature.points[1]
    if aim is not None and np.hypot(*(aim - place)) < _LEAST_AIM_M:
        making.wrong(feature, "it looks at its own foot: draw where it looks farther away")
        return None
    if "bearing_deg" in values:
        bearing = float(values["bearing_deg"])
        bearing = making.grid.bearing_to_site(bearing) if making.grid is not None else bearing % 360.0
        keys["bearing_deg"] = bearing
        turn = 0.0 if aim is None else abs((_bearing(aim - place) - bearing + 180.0) % 360.0 - 180.0)
        if turn > ANOTHER_WAY_DEG:
            making.note(
                f"{making.label(feature)}: bearing_deg was taken; where it is drawn to look lies {turn:.0f} degrees from it"
            )
        keys["depression_deg"] = values.get("depression_deg", defaults.DEPRESSION_DEG)
        if "depression_deg" not in values:
            unsure["depression_deg"] = ""
    elif aim is not None and "depression_deg" in values:
        keys["bearing_deg"] = _bearing(aim - place)
        keys["depression_deg"] = values["depression_deg"]
    else:
        if aim is None:
            aim, why = _along_the_fence(making.fences, place)
            unsure["aim_m"] = why
        keys["aim_m"] = [number(v) for v in aim]
        # A direction that was only guessed takes no older one away.
        drop = () if "aim_m" in unsure else ("bearing_deg", "depression_deg")
    for key, name in (("sensor", defaults.SENSOR_NAME), ("lens", defaults.LENS_NAME)):
        keys[key] = values.get(key, name)
        if key not in values:
            unsure[key] = ""
    keys |= {key: values[key] for key in ("price", "depends_on") if key in values}
    return Row("camera", mark, keys, unsure, feature, drop)


def _bearing(way: np.ndarray) -> float:
    return round(float(np.degrees(np.arctan2(way[0], way[1])) % 360.0), 9) % 360.0


def _along_the_fence(fences: Sequence[Fence], place: np.ndarray) -> tuple[np.ndarray, str]:
    """The point 20 m along the nearest fence, on its longer side."""
    fence, along, _ = nearest_fence(fences, place)
    if fence is None:
        return place + np.array([0.0, defaults.AIM_ALONG_M]), "no direction was read, and there is no fence"
    length_m = section_length_m(fence)
    target = along + (defaults.AIM_ALONG_M if along < 0.5 * length_m or fence.closed else -defaults.AIM_ALONG_M)
    target = target % length_m if fence.closed else min(max(target, 0.0), length_m)
    aim = np.asarray(point_at(fence, target))
    if np.hypot(*(aim - place)) < _LEAST_AIM_M:
        aim = np.asarray(point_at(fence, 0.5 * length_m)) + 0.5
    return aim, f'along "{fence.name}", as no direction was read'


def add_mountings(making: Making, found: Sequence[Recognised]) -> None:
    """Places for `fencecast place`: a point is a mast, a line a stretch, an area a ring."""
    for each in found:
        feature, values = each.feature, making.read(each)
        name = making.name("mounting", feature.name, "mounting", feature)
        points, _ = without_near_points(feature.points, feature.shape == AREA)
        ring = np.vstack([points, points[:1]]) if feature.shape == AREA and len(points) > 2 else points
        if len(points) > 3 and np.hypot(*(points[0] - points[-1])) < SAME_M:
            ring = np.vstack([points[:-1], points[:1]])
        heights = list(cast("tuple[float, ...]", values.get("heights_m", (defaults.CAMERA_HEIGHT_M,))))
        keys: dict[str, object] = {"name": name, "points_m": pairs(ring), "heights_m": heights}
        keys |= {key: values[key] for key in ("spacing_m", "price") if key in values}
        making.add(Row("mounting", name, keys, {} if "heights_m" in values else {"heights_m": ""}, feature), each, "mounting")
