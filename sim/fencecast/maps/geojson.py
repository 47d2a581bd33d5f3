"""GeoJSON (RFC 7946) into features. Every coordinate is checked: a number that is none is a problem with its place."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from pathlib import Path

from fencecast.maps import limits
from fencecast.maps.features import AREA, LINE, POINT, Drawing, checked_text
from fencecast.maps.limits import Unreadable, read_bytes, too_many

_DEPTHS = {"Point": 0, "MultiPoint": 1, "LineString": 1, "MultiLineString": 2, "Polygon": 2, "MultiPolygon": 3}
_SHAPES = {"Point": POINT, "LineString": LINE, "Polygon": AREA}
_EVERY_KIND = (*_DEPTHS, "GeometryCollection", "Feature", "FeatureCollection")


class _Bad(ValueError):
    """What is wrong with one geometry."""


def read_geojson(path: Path, file: str) -> Drawing:
    """The drawing; Unreadable when it is no GeoJSON at all."""
    return parse_geojson(read_bytes(path), file)


def parse_geojson(content: bytes, file: str) -> Drawing:
    """The drawing that the bytes of a file hold."""
    # Every point opens a bracket: a file of a million points is refused before its numbers are read.
    if content.count(b"[") > 2 * limits.POINTS:
        raise too_many("points", limits.POINTS)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Unreadable(f"byte {error.start + 1:,} is not UTF-8 text, which GeoJSON is; save it again as UTF-8") from None
    try:
        raw = json.loads(text, parse_constant=_no_number, object_pairs_hook=_once)
    except RecursionError:
        raise Unreadable("this is not JSON that can be read: its brackets are nested too deeply") from None
    except json.JSONDecodeError as error:
        raise Unreadable(f"this is not JSON: line {error.lineno}, column {error.colno}: {error.msg}") from None
    except Unreadable:
        raise
    except ValueError:
        raise Unreadable("this is not JSON that can be read: it holds a number of thousands of digits") from None
    drawing = Drawing(file, "GeoJSON")
    if not isinstance(raw, Mapping) or raw.get("type") not in _EVERY_KIND:
        found = raw.get("type") if isinstance(raw, Mapping) else type(raw).__name__
        raise Unreadable(f'this is JSON, but no GeoJSON: "type" is {str(found)[:60]!r}; it should be "FeatureCollection"')
    drawing.title = raw["name"] if isinstance(raw.get("name"), str) else ""
    drawing.crs = _crs(raw.get("crs"))
    if raw["type"] == "FeatureCollection":
        features = raw.get("features")
        if not isinstance(features, list):
            raise Unreadable('this FeatureCollection has no list "features"')
        if len(features) > limits.FEATURES:
            raise too_many("features", limits.FEATURES)
        for feature in features:
            _add(drawing, feature)
    else:
        _add(drawing, raw)
    return drawing


def _once(pairs: list) -> dict:
    made = dict(pairs)
    if len(made) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for number, key in enumerate(keys) if key in keys[:number])
        raise Unreadable(f"this is not JSON that can be read: the key {twice[:60]!r} stands twice in one object; keep one")
    return made


def _no_number(word: str) -> None:
    raise Unreadable(f"this is not JSON: {word} is no number")


def _crs(raw: object) -> str:
    """The name of a `crs` member as GeoJSON had it in 2008; "" for none and for WGS 84."""
    if raw is None:
        return ""
    name = (
        raw.get("properties", {}).get("name") if isinstance(raw, Mapping) and isinstance(raw.get("properties"), Mapping) else None
    )
    if not isinstance(name, str):
        raise Unreadable("its crs member has no name; take it out when coordinates are degrees, longitude first")
    return "" if name.strip().upper().replace("::", ":").endswith(("CRS84", "EPSG:4326")) else name.strip()[:100]


def _add(drawing: Drawing, raw: object) -> None:
    if not isinstance(raw, Mapping):
        number = drawing.begin()
        drawing.wrong.append(
            ((drawing.file, number, 0), f"feature {number}: an object with type, geometry and properties is wanted")
        )
        return
    properties = raw.get("properties") if raw.get("type") == "Feature" else {}
    properties = {str(k): checked_text(str(k), v) for k, v in properties.items()} if isinstance(properties, Mapping) else {}
    lower = {key.lower(): value for key, value in reversed(list(properties.items()))}
    name = next((lower[key] for key in ("name", "mark", "title", "label") if lower.get(key) not in (None, "")), "")
    layer = next((lower[key] for key in ("layer", "folder") if lower.get(key) not in (None, "")), "")
    geometry = raw.get("geometry") if raw.get("type") == "Feature" else raw
    try:
        parts = _parts(geometry, 0) if geometry is not None else []
    except _Bad as bad:
        number = drawing.begin()
        head = f"feature {number}" + (f' "{str(name)[:60]}"' if isinstance(name, str) and name else "")
        drawing.wrong.append(((drawing.file, number, 0), f"{head}: {bad}"))
        return
    drawing.add(name, lower.get("kind"), layer, properties, parts)


def _parts(geometry: object, depth: int) -> list:
    """Each point, line or area of a geometry as (shape, rings, heights)."""
    if not isinstance(geometry, Mapping):
        raise _Bad('its geometry should be an object such as { "type": "LineString", "coordinates": [...] }')
    if depth > limits.DEPTH:
        raise _Bad("its geometry collections are nested too deeply")
    kind = geometry.get("type")
    if kind == "GeometryCollection":
        members = geometry.get("geometries")
        if not isinstance(members, list):
            raise _Bad('its GeometryCollection has no list "geometries"')
        return [part for member in members for part in _parts(member, depth + 1)]
    if not isinstance(kind, str) or kind not in _DEPTHS:
        raise _Bad(f"its geometry is a {str(kind)[:60]!r}; GeoJSON has {', '.join(_DEPTHS)}")
    coordinates = geometry.get("coordinates")
    if not isinstance(coordinates, list):
        raise _Bad(f"its {kind} has no coordinates")
    if not coordinates:
        return []
    single = kind.removeprefix("Multi")
    several = coordinates if kind.startswith("Multi") else [coordinates]
    return [_part(single, each) for each in several if each != []]


def _part(kind: str, coordinates: object) -> tuple:
    heights: list[float] = []
    if kind == "Point":
        rings = [[_position(coordinates, 1, heights)]]
    elif kind == "LineString":
        rings = [_positions(coordinates, heights)]
    else:
        if not isinstance(coordinates, list):
            raise _Bad("a ring of its area is no list of positions")
        rings = [_positions(ring, heights) for ring in coordinates]
    return _SHAPES[kind], rings, (min(heights), max(heights)) if heights else None


def _positions(rows: object, heights: list[float]) -> list:
    if not isinstance(rows, list):
        raise _Bad("its coordinates are no list of positions [longitude, latitude]")
    return [_position(row, number, heights) for number, row in enumerate(rows, start=1)]


def _position(row: object, number: int, heights: list[float]) -> tuple[float, float]:
    if not isinstance(row, list) or len(row) < 2:
        raise _Bad(f"position {number} should be two numbers [longitude, latitude], and is {_shown(row)}")
    values = []
    for value in row[:3]:
        try:
            good = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
        except OverflowError:
            good = False
        if not good:
            raise _Bad(f"position {number} should be two numbers [longitude, latitude], and is {_shown(row)}")
        values.append(float(value))
    heights += values[2:3]
    return values[0], values[1]


def _shown(value: object) -> str:
    try:
        text = json.dumps(value)
    except (ValueError, RecursionError):
        return "something else"
    return text if len(text) <= 60 else text[:56] + " ..."
