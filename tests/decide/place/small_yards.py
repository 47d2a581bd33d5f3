"""Small invented yards for the tests of proposals: a straight fence, two lenses with prices, places to stand."""

from __future__ import annotations

from fencecast.site import Site
from kernels.kernel_sites import NIGHT

CORE = {"columns": 160, "rows": 120, "pitch_um": 17.0, "netd_mk": 50.0, "price": 1000.0}
WIDE = {"focal_length_mm": 3.0, "f_number": 1.0, "price": 200.0}
LONG = {"focal_length_mm": 6.0, "f_number": 1.0, "price": 300.0}
FOG = {
    "name": "fog",
    "hours_per_year": 200,
    "air_temperature_c": 7.0,
    "relative_humidity": 0.99,
    "ground_minus_air_k": 0.3,
    "fog": "radiation",
    "visibility_m": {"dist": "lognormal", "median": 80.0, "sigma_ln": 0.4},
    "sky": "overcast",
}


def camera(mark, x, y, bearing, lens="long", depression=12.0, **more):
    return {
        "mark": mark, "position_m": [x, y], "height_m": 4.0, "bearing_deg": bearing, "depression_deg": depression,
        "sensor": "core", "lens": lens, **more,
    }  # fmt: skip


def yard(length_m=40.0, cameras=None, weather=(NIGHT,), step_m=4.0, lenses=None, **more) -> Site:
    """A fence along the x axis, the yard to its north; mountings 1 m inside it unless told otherwise."""
    tables = {
        "title": "Small yard",
        "seed": 3,
        "site": {"ground": "grass", "segment_length_m": step_m},
        "perimeter": [{"name": "south", "points_m": [[0.0, 0.0], [length_m, 0.0]], "inside": "left"}],
        "sensors": {"core": CORE},
        "lenses": lenses or {"wide": WIDE, "long": LONG},
        "camera": [camera("C1", 0.0, 1.0, 90.0)] if cameras is None else cameras,
        "rule": [{"kind": "line", "perimeter": "south", "offset_m": 1.0}],
        "weather": list(weather),
        "mounting": [{"name": "inside", "points_m": [[0.0, 1.0], [length_m, 1.0]], "heights_m": [4.0], "spacing_m": 10.0}],
        "kit": {"camera_price": 100.0, "reaim_price": 50.0},
    }
    return Site(**{**tables, **more})
