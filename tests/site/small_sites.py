"""The smallest site file, and the same site from keyword arguments, for tests to change."""

from fencecast.site import Quantity, Site, parse_site

LEAST = """
schema = 2
title = "Least"
[site]
ground = "gravel"
[[perimeter]]
name = "fence"
points_m = [[0, 0], [48, 0]]
inside = "left"
[sensors.core]
columns = 160
rows = 120
pitch_um = 17
netd_mk = 50
[lenses.wide]
focal_length_mm = 3
f_number = 1
[[camera]]
mark = "C1"
position_m = [0, 1]
height_m = 4
bearing_deg = 90
depression_deg = 14
sensor = "core"
lens = "wide"
[[rule]]
kind = "line"
perimeter = "fence"
[[weather]]
name = "clear"
hours_per_year = 3000
air_temperature_c = 5
relative_humidity = 0.75
ground_minus_air_k = -2
"""


def least(*changes):
    text = LEAST
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return parse_site(text)


def python_site(**changes):
    keys = {
        "title": "Built",
        "site": {"ground": "gravel"},
        "perimeter": [{"name": "fence", "points_m": [(0, 0), (48, 0)], "inside": "left"}],
        "sensors": {"core": {"columns": 160, "rows": 120, "pitch_um": 17, "netd_mk": 50}},
        "lenses": {"wide": {"focal_length_mm": 3, "f_number": 1}},
        "camera": [{"mark": "C1", "position_m": (0, 1), "height_m": 4, "aim_m": (16, 1), "sensor": "core", "lens": "wide"}],
        "rule": [{"kind": "line", "perimeter": "fence"}],
        "weather": [
            {
                "name": "clear",
                "hours_per_year": 3000,
                "air_temperature_c": Quantity.normal(5, 2),
                "relative_humidity": {"dist": "uniform", "low": 0.7, "high": 0.9},
                "ground_minus_air_k": -2,
            }
        ],
    }
    return Site(**(keys | changes))
