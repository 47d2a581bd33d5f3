"""A small invented yard with prices for the tests of bills: four cameras on two masts and a wall, two lenses, a switch."""

from __future__ import annotations

import copy

from fencecast.site import Site

NIGHT = {
    "name": "clear", "hours_per_year": 3000, "air_temperature_c": 5.0, "relative_humidity": 0.75, "ground_minus_air_k": -2.0,
}  # fmt: skip
FOG = NIGHT | {"name": "fog", "hours_per_year": 200, "fog": "radiation", "visibility_m": 12.0, "relative_humidity": 0.99}


def camera(mark: str, x: float, y: float, lens: str = "long", height_m: float = 4.0, **more) -> dict:
    return {
        "mark": mark, "position_m": [x, y], "height_m": height_m, "bearing_deg": 90.0, "depression_deg": 14.0,
        "sensor": "core", "lens": lens, **more,
    }  # fmt: skip


def tables(**more) -> dict:
    """Everything that a bill counts, with a price for all of it."""
    made = {
        "title": "Priced yard",
        "seed": 3,
        "site": {"ground": "grass", "segment_length_m": 4.0},
        "perimeter": [{"name": "south", "points_m": [[0.0, 0.0], [20.0, 0.0]], "inside": "left"}],
        "obstacle": [{"name": "hut", "footprint_m": [[14.0, 4.0], [18.0, 4.0], [18.0, 8.0], [14.0, 8.0]], "height_m": 5.0}],
        "sensors": {"core": {"columns": 160, "rows": 120, "pitch_um": 17.0, "netd_mk": 50.0, "price": 1000.0}},
        "lenses": {
            "long": {"focal_length_mm": 6.0, "f_number": 1.0, "price": 300.0},
            "wide": {"focal_length_mm": 3.0, "f_number": 1.0, "price": 200.0},
        },
        "camera": [
            camera("C1", -2.0, 1.0, depends_on="switch A"),
            camera("C2", -1.0, 1.0, "wide", 3.0, depends_on="switch A"),  # on the mast of C1
            camera("C3", 22.0, 1.0, height_m=6.0, depends_on="switch B"),
            camera("C4", 16.0, 3.9, "wide"),  # on the wall of the hut
        ],
        "rule": [{"kind": "line", "perimeter": "south"}],
        "weather": [NIGHT, FOG],
        "prices": {
            "currency": "EUR",
            "masts": [{"up_to_m": 4.0, "price": 500.0}, {"up_to_m": 6.0, "price": 700.0}],
            "on_building": 80.0,
            "depends_on": {"switch A": 250.0, "switch B": 260.0},
        },
        "kit": {"camera_price": 150.0},
        "item": [
            {"name": "cable", "kind": "parts", "per": "camera", "number": 25, "unit": "m", "price": 1.85},
            {"name": "foundation", "per": "mast", "price": 320.0},
            {"name": "trench", "per": "fence_m", "number": 1, "unit": "m", "price": 30.0},
            {"name": "walk test", "number": 16, "unit": "h", "price": 60.0},
        ],
    }
    return copy.deepcopy({**made, **more})


# By hand: 4 sensors 4000, 2 long 600, 2 wide 400, switches 510, cable 4 x 25 m x 1.85 = 185; masts 500 + 700, wall 80;
# fitting 4 x 150 = 600, foundations 2 x 320 = 640, trench 20 m x 30 = 600, walk test 16 h x 60 = 960.
TOTAL = 4000 + 600 + 400 + 510 + 185 + 500 + 700 + 80 + 600 + 640 + 600 + 960


def priced(**more) -> Site:
    return Site(**tables(**more))
