"""Invented sites for aim sheets: plain ones whose numbers can be done by hand, and ones that a sheet could break on."""

from __future__ import annotations

from typing import Any

from fencecast.site import Site

LONG = "A name as long as a name may be in a site file, sixty signs."
assert len(LONG) == 60
SENSORS = {
    "core": {"columns": 160, "rows": 120, "pitch_um": 17.0, "netd_mk": 50.0},
    "large": {"columns": 640, "rows": 512, "pitch_um": 12.0, "netd_mk": 50.0},
    "wide": {"columns": 640, "rows": 120, "pitch_um": 12.0, "netd_mk": 50.0},
}
LENSES = {
    "three": {"focal_length_mm": 3.0, "f_number": 1.0},
    "six": {"focal_length_mm": 6.0, "f_number": 1.0},
    "fish": {"focal_length_mm": 3.0, "f_number": 1.0, "projection": "equidistant"},
    "tiny": {"focal_length_mm": 1.2, "f_number": 1.0, "projection": "equidistant"},
}
WEATHER = [
    {
        "name": "clear night",
        "hours_per_year": 3000,
        "air_temperature_c": 5.0,
        "relative_humidity": 0.75,
        "ground_minus_air_k": -2.0,
    }
]


def camera(mark: str = "K1", **keys: Any) -> dict[str, Any]:
    """A camera at (0, 2), 4 m up, along +x."""
    given = {"mark": mark, "position_m": [0.0, 2.0], "height_m": 4.0, "sensor": "core", "lens": "six"}
    if not {"aim_m", "bearing_deg"} & set(keys):
        given["aim_m"] = [20.0, 2.0]
    return given | keys


def yard(cameras: list[dict[str, Any]], **keys: Any) -> Site:
    """A fence of 48 m along +x, its yard to the north; keys replace tables."""
    tables = {
        "title": "Plain yard",
        "site": {"ground": "gravel", "segment_length_m": 4.0},
        "perimeter": [{"name": "south", "points_m": [[0.0, 0.0], [48.0, 0.0]], "inside": "left", "barrier": "mesh"}],
        "sensors": SENSORS,
        "lenses": LENSES,
        "camera": cameras,
        "rule": [{"kind": "line", "perimeter": "south", "offset_m": 0.5}],
        "weather": WEATHER,
    }
    return Site(**(tables | keys))


def ring(cameras: list[dict[str, Any]], **keys: Any) -> Site:
    """A closed ring of 40 by 30 m that is watched as an area, clockwise, with a hut in it."""
    perimeter = {
        "name": "ring",
        "points_m": [[0.0, 0.0], [0.0, 30.0], [40.0, 30.0], [40.0, 0.0]],
        "inside": "right",
        "closed": True,
    }
    tables = {
        "perimeter": [perimeter | {"barrier": "palisade", "gates": [{"name": "gate", "from_m": 10.0, "to_m": 14.0}]}],
        "rule": [{"kind": "area", "perimeter": "ring", "offset_m": 1.0}],
        "obstacle": [{"name": "hut", "footprint_m": [[18.0, 12.0], [24.0, 12.0], [24.0, 18.0], [18.0, 18.0]], "height_m": 3.0}],
    }
    return yard(cameras, **(tables | keys))


def hostile() -> Site:
    """Everything as long as it may be, many buildings, four sections, feet, three kinds of sensor, seven unusual cameras."""
    corners = [[0.0, 0.0], [60.0, 0.0], [60.0, 40.0], [0.0, 40.0], [0.0, 0.0]]
    kinds = ("mesh", "wall", "none", "palisade")
    sections: list[dict[str, Any]] = [
        {"name": f"{i} {LONG}"[:60].strip(), "points_m": [a, b], "inside": "left", "barrier": kinds[i]}
        for i, (a, b) in enumerate(zip(corners[:-1], corners[1:]))
    ]
    sections[0]["gates"] = [{"name": LONG, "from_m": 20.0, "to_m": 26.0}]
    huts = []
    for i in range(12):
        x, y = 8.0 + 9.0 * (i % 6), 12.0 + 14.0 * (i // 6)
        huts.append(
            {
                "name": f"{i} {LONG}"[:60].strip(),
                "footprint_m": [[x, y], [x + 4, y], [x + 4, y + 3], [x, y + 3]],
                "height_m": 2.0 + 0.5 * i,
            }
        )
    marks = [f"{sign}{'M' * 22}{i}" for i, sign in enumerate("=+-@/c.")]
    places = [
        {"position_m": [1.0, 1.5], "aim_m": [22.0, 2.0], "lens": "six"},
        {"position_m": [59.0, 1.5], "aim_m": [40.0, 2.0], "lens": "fish", "sensor": "large"},
        {"position_m": [30.0, 38.5], "bearing_deg": 180.0, "depression_deg": 12.0, "lens": "three", "height_m": 12.0},
        {"position_m": [59.0, 39.0], "bearing_deg": 271.0, "depression_deg": -20.0, "lens": "six"},
        {"position_m": [1.0, 39.0], "bearing_deg": 90.0, "depression_deg": 10.0, "lens": "three", "sensor": "wide"},
        {"position_m": [30.0, -3.0], "bearing_deg": 180.0, "depression_deg": 30.0, "lens": "six"},
        {"position_m": [58.5, 20.0], "bearing_deg": 0.04, "depression_deg": 30.0, "lens": "tiny"},
    ]
    cameras = [camera(mark, **place) for mark, place in zip(marks, places)]
    rules = [{"kind": "line", "perimeter": section["name"], "offset_m": 0.5} for section in sections]
    return yard(cameras, title="T" * 200, units="us", perimeter=sections, obstacle=huts, rule=rules,
                tolerance={"bearing_deg": 1.0, "depression_deg": 0.5, "height_m": 0.05})  # fmt: skip
