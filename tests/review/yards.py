"""The base site of the review's tests: thirty metres of mesh fence and two cameras that look at each other. Only a note is found
on it, so a change of one thing shows what that thing is found by."""

import copy
import math
from pathlib import Path

import fencecast as fc
from fencecast.review.review import check as review

CONFIGS = Path(__file__).parents[2] / "configs"
GAITS = {"walk": 0.45, "run": 0.20, "crouch": 0.20, "crawl": 0.10, "flat_crawl": 0.05}
CLASSES = [
    {
        "name": "clear night", "hours_per_year": 2000, "air_temperature_c": 5.0, "relative_humidity": 0.8,
        "ground_minus_air_k": -2.0,
    },
    {
        "name": "fog", "hours_per_year": 100, "air_temperature_c": 5.0, "relative_humidity": 0.98, "ground_minus_air_k": 0.0,
        "fog": "radiation", "visibility_m": {"dist": "lognormal", "median": 120.0, "sigma_ln": 0.5},
    },
    {
        "name": "rain", "hours_per_year": 200, "air_temperature_c": 7.0, "relative_humidity": 0.95, "ground_minus_air_k": 0.0,
        "rain_mm_h": 4.0, "wetness": 0.8, "front_window": {"state": "drops", "share": 0.1}, "wind_m_s": 3.0,
    },
    {
        "name": "warm dusk", "hours_per_year": 500, "air_temperature_c": 20.0, "relative_humidity": 0.6,
        "ground_minus_air_k": 4.0, "clutter_k": 0.3,
    },
]  # fmt: skip
_CORE = {"columns": 160, "rows": 120, "pitch_um": 17.0, "netd_mk": 50.0}


def camera(mark, at, bearing, depression=13.0, **more):
    return {
        "mark": mark, "position_m": at, "height_m": 4.0, "bearing_deg": bearing, "depression_deg": depression,
        "sensor": "core", "lens": "long",
    } | more  # fmt: skip


def fence(points=((0.0, 0.0), (30.0, 0.0)), name="fence", **more):
    return {"name": name, "points_m": [list(p) for p in points], "inside": "left", "barrier": "mesh"} | more


A = camera("A", [-5.0, 1.5], 91.5, depends_on="east")
B = camera("B", [35.0, 1.5], 268.5, depends_on="west")
LINE = {"kind": "line", "points_m": [[-3.0, 0.5], [33.0, 0.5]]}


def base(cameras=None, sections=None, rules=None, obstacles=(), **tables):
    """The base site with other tables; `a` and `b` in tables change the two cameras' keys."""
    a, b = A | tables.pop("a", {}), B | tables.pop("b", {})
    made = {
        "title": "Base",
        "requirement": {"pd": 0.90},
        "site": {"ground": "gravel", "segment_length_m": 1.0},
        "perimeter": sections or [fence()],
        "sensors": {"core": dict(_CORE)},
        "lenses": {
            "long": {"focal_length_mm": 6.0, "f_number": 1.0},
            "wide": {"focal_length_mm": 3.0, "f_number": 1.0},
        },
        "camera": cameras if cameras is not None else [a, b],
        "rule": rules or [dict(LINE)],
        "tolerance": {"bearing_deg": 0.5, "depression_deg": 0.5, "height_m": 0.05},
        "weather": copy.deepcopy(CLASSES),
        "obstacle": list(obstacles),
    }
    made.update(tables)
    return fc.Site(**made)


def alone(**changes):
    """The base site with camera A alone, changed."""
    return base(cameras=[A | changes])


def box(x0, y0, x1, y1, height, name="stack", **more):
    return {"name": name, "footprint_m": [[x0, y0], [x1, y0], [x1, y1], [x0, y1]], "height_m": height} | more


def found(site, id, **options):
    """The findings of one id."""
    return [f for f in review(site, **options).findings if f.id == id]


def metres(findings):
    return [(round(s.start_m, 3), round(s.end_m, 3)) for f in findings for s in f.spans]


def large():
    """Forty cameras on a kilometre of closed fence, ten buildings: each camera looks along the fence at the mast of the next."""
    corners = [(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]
    sides = [((0.0, 0.0), (1.0, 0.0), 300.0), ((300.0, 0.0), (0.0, 1.0), 200.0)]
    sides += [((300.0, 200.0), (-1.0, 0.0), 300.0), ((0.0, 200.0), (0.0, -1.0), 200.0)]
    cameras, at = [], 3.0
    for (x, y), (dx, dy), length in sides:
        while at < length:
            where = [x + at * dx - 1.5 * dy, y + at * dy + 1.5 * dx]
            bearing = math.degrees(math.atan2(dx, dy)) % 360.0
            mark = f"C{len(cameras)}"
            cameras.append(camera(mark, where, bearing, depends_on=f"m{len(cameras) // 4}"))
            at += 25.0
        at -= length
    buildings = [box(20 + 26 * k, 60 + 8 * (k % 3), 36 + 26 * k, 90 + 8 * (k % 3), 6.0, name=f"b{k}") for k in range(10)]
    rules = [{"kind": "line", "perimeter": "ring", "offset_m": 0.5}]
    return base(cameras=cameras, sections=[fence(corners, "ring", closed=True)], rules=rules, obstacles=buildings)
