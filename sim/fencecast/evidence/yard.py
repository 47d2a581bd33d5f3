"""Invented scenes of the checks: a camera that looks about, and a town of odd buildings and fences."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from fencecast.errors import as_toml
from fencecast.evidence.check import outside
from fencecast.kernels.pack import pack_plan
from fencecast.site import parse_site

COLUMNS, ROWS = 160, 120
FENCE = {"name": "fence", "points_m": [[-900.0, -900.0], [900.0, -900.0]], "inside": "left"}
_CORE = {"columns": COLUMNS, "rows": ROWS, "pitch_um": 17.0, "netd_mk": 50.0, "time_constant_ms": 10.0}
_NIGHT = {
    "name": "night",
    "hours_per_year": 3000.0,
    "air_temperature_c": 5.0,
    "relative_humidity": 0.75,
    "ground_minus_air_k": -2.0,
    "clutter_k": 0.3,
}


def _site(perimeter, projection="rectilinear", obstacles=()):
    """A loaded site with one camera 4 m over the origin that looks north and down by 14 degrees."""
    camera = {"mark": "C1", "position_m": [0.0, 0.0], "height_m": 4.0, "bearing_deg": 0.0, "depression_deg": 14.0}
    lens = {"focal_length_mm": 3.0, "f_number": 1.0, "projection": projection}
    tables = [("[site]", {"ground": "gravel", "segment_length_m": 40.0}), ("[sensors.core]", _CORE), ("[lenses.wide]", lens)]
    tables += [("[[perimeter]]", table) for table in perimeter] + [("[[obstacle]]", table) for table in obstacles]
    tables += [("[[camera]]", {**camera, "sensor": "core", "lens": "wide"}), ("[[weather]]", _NIGHT)]
    tables += [("[[rule]]", {"kind": "line", "perimeter": perimeter[0]["name"]})]
    lines = ["schema = 2", 'title = "Invented scene"', "seed = 7"]
    for header, table in tables:
        lines += [header, *(f"{key} = {as_toml(value)}" for key, value in table.items())]
    return parse_site("\n".join(lines) + "\n", name="scene")


@cache
def looking_about(projection: str):
    """The packed plan of a site with nothing but its camera; the projection is "rectilinear" or "equidistant"."""
    return pack_plan(_site([FENCE], projection))


def _star(random, centre, corners):
    """A simple polygon, mostly not convex: corners at rising angles and random distances."""
    angle = np.sort(random.uniform(0.0, 2.0 * math.pi, corners)) + np.linspace(0.0, 0.1, corners)
    radius = random.uniform(1.0, 7.0, corners)
    return centre + np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)


def _notched(centre, turn):
    """A building with a courtyard that is open to one side."""
    points = np.array([[-6, -4], [6, -4], [6, 4], [2, 4], [2, -2], [-2, -2], [-2, 4], [-6, 4]], dtype=float)
    c, s = math.cos(turn), math.sin(turn)
    return centre + points @ np.array([[c, s], [-s, c]])


@cache
def town():
    """(scene, obstacles as (shapely polygon, roof height [m]), site): buildings of many shapes, a wall, mesh and a palisade."""
    shapely = outside("shapely")
    random = np.random.default_rng(41)
    sections = [
        {"name": "mesh", "points_m": [[-45.0, -12.0], [0.0, -8.0], [12.0, 10.0], [45.0, 12.0]], "barrier": "mesh"},
        {"name": "pales", "points_m": [[-20.0, -45.0], [-14.0, 45.0]], "barrier": "palisade", "barrier_height_m": 3.0},
        {"name": "wall", "points_m": [[-45.0, 20.0], [10.0, 24.0], [30.0, 45.0]], "barrier": "wall", "barrier_height_m": 2.2},
    ]
    fences = shapely.MultiLineString([section["points_m"] for section in sections])
    shapes = []
    while len(shapes) < 9:
        centre = random.uniform(-40.0, 40.0, 2)
        odd = _notched(centre, random.uniform(0, 6)) if len(shapes) % 3 == 0 else _star(random, centre, random.integers(3, 9))
        polygon = shapely.Polygon(odd)
        if (
            polygon.is_valid
            and polygon.area > 3.0
            and polygon.distance(shapely.Point(0.0, 0.0)) > 1.0
            and not polygon.intersects(fences)
        ):
            shapes.append((polygon, float(random.uniform(1.0, 9.0))))
    obstacles = [
        {"name": f"o{k}", "footprint_m": np.array(polygon.exterior.coords)[:-1].tolist(), "height_m": roof}
        for k, (polygon, roof) in enumerate(shapes)
    ]
    site = _site([{**section, "inside": "left"} for section in sections], obstacles=obstacles)
    return pack_plan(site).scene, tuple(shapes), site


@cache
def sight_lines(count: int) -> tuple[tuple[float, ...], ...]:
    """(camera x, y, height, target x, y) of random sight lines through the town; a third of the cameras stand on roofs."""
    shapely = outside("shapely")
    random = np.random.default_rng(42)
    shapes = town()[1]

    def free_point():
        while True:
            x, y = random.uniform(-45.0, 45.0, 2)
            if all(polygon.distance(shapely.Point(x, y)) > 1e-3 for polygon, _ in shapes):
                return float(x), float(y)

    lines = []
    for k in range(count):
        if k % 3 == 0:
            spot = shapes[random.integers(len(shapes))][0].representative_point()
            roof = max(height for polygon, height in shapes if polygon.covers(spot))
            x, y, height = spot.x, spot.y, roof + random.uniform(0.3, 4.0)
        else:
            x, y = free_point()
            height = random.uniform(1.5, 10.0)
        lines.append((x, y, height, *free_point()))
    return tuple(lines)
