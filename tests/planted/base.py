"""One good invented yard, and how a change of it becomes a site file.

The base is 40 m by 25 m with an open boundary and one camera on each corner; each looks along one side at the foot of the next
mast, so every blind ground lies in another camera's view. In its mild class every metre meets 0.9; its bad class is a fog in
which nearly every metre is weaker than by most faults, so that a diagnosis that asks the worst class always blames fog.
"""

from __future__ import annotations

from copy import deepcopy
from typing import Any

MILD, BAD = "clear night", "dense fog"

Tables = dict[str, Any]

_CORNERS = {"south": [[0.0, 0.0], [40.0, 0.0]], "east": [[40.0, 0.0], [40.0, 25.0]]}
_CORNERS |= {"north": [[40.0, 25.0], [0.0, 25.0]], "west": [[0.0, 25.0], [0.0, 0.0]]}


def camera(mark: str, x: float, y: float, bearing: float, **other: Any) -> Tables:
    """A camera as the base has them: 4 m up, 18 degrees down, the 4 mm lens; other keys as in a site file."""
    own = {"height_m": 4.0, "bearing_deg": bearing, "depression_deg": 18.0, "sensor": "core", "lens": "l4"}
    return {"mark": mark, "position_m": [x, y], **own, **other}


def line(section: str, offset: float = 1.0, **other: Any) -> Tables:
    """A rule along a section that hears every camera; other keys as in a site file."""
    return {"kind": "line", "perimeter": section, "offset_m": offset, **other}


def clear(name: str = MILD, **other: Any) -> Tables:
    """The mild class; other keys as in a site file."""
    own = {"hours_per_year": 3000, "air_temperature_c": 5.0, "relative_humidity": 0.75, "ground_minus_air_k": -2.0}
    return {"name": name, **own, **other}


def foggy(name: str = BAD, visibility: float = 18.0) -> Tables:
    """The bad class."""
    own = {"hours_per_year": 200, "air_temperature_c": 6.0, "relative_humidity": 0.99, "ground_minus_air_k": 0.0}
    return {"name": name, **own, "visibility_m": visibility, "fog": "advection", "sky": "overcast"}


_BASE: Tables = {
    "schema": 2,
    "title": "Planted fault",
    "seed": 5,
    "requirement": {"pd": 0.9},
    "site": {"ground": "gravel", "segment_length_m": 2.0},
    "perimeter": [{"name": name, "points_m": points, "inside": "left"} for name, points in _CORNERS.items()],
    "sensors": {"core": {"columns": 320, "rows": 240, "pitch_um": 12.0, "netd_mk": 50.0}},
    "lenses": {f"l{name}": {"focal_length_mm": mm, "f_number": 1.0} for name, mm in (("2", 2.0), ("4", 4.0), ("16", 16.0))},
    "camera": [
        camera("S", 1.0, 1.0, 90.0),
        camera("E", 39.0, 1.0, 0.0),
        camera("N", 39.0, 24.0, 270.0),
        camera("W", 1.0, 24.0, 180.0),
    ],
    "rule": [line(name) for name in _CORNERS],
    "decision": {"confirm": [3, 5]},
    "intruder": {"gaits": {"walk": 0.5, "run": 0.2, "crouch": 0.2, "crawl": 0.1}},
    "weather": [clear(), foggy()],
}


def base() -> Tables:
    """The tables of the good yard, a copy to change."""
    return deepcopy(_BASE)


def named(tables: Tables, kind: str, name: str) -> Tables:
    """The camera, section, rule (by its section) or class of this name."""
    key = {"camera": "mark", "rule": "perimeter"}.get(kind, "name")
    return next(row for row in tables[kind] if row[key] == name)


def toml(tables: Tables) -> str:
    """Tables as a site file: every top-level key on a line of its own, what is below it inline."""
    return "".join(f"{key} = {_value(value)}\n" for key, value in tables.items())


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    return repr(value)
