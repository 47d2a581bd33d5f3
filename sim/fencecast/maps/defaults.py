"""What a site file needs and no map shows: written with `# check this` behind it. Common practice, no source."""

from __future__ import annotations

from fencecast.maps.rows import Row

REQUIREMENT = {"pd": 0.90}
GROUND = "gravel"
BARRIER = "mesh"
BARRIER_HEIGHT_M = 2.4
BUILDING_HEIGHT_M = 3.0
CAMERA_HEIGHT_M = 4.0
DEPRESSION_DEG = 12.0
GATE_WIDTH_M = 4.0
RULE_OFFSET_M = 0.5
AIM_ALONG_M = 20.0
SENSOR_NAME = "core"
SENSOR = {"columns": 160, "rows": 120, "pitch_um": 17.0, "netd_mk": 50.0}
LENSES = {
    "wide": {"focal_length_mm": 3.0, "f_number": 1.0},
    "long": {"focal_length_mm": 6.0, "f_number": 1.0},
}
LENS_NAME = "long"
ARMED_HOURS = ["18:00-06:00"]

WEATHER = """\
# Four kinds of weather to begin with: hours a year while the system is armed, and every value, want a look.
[[weather]]
name = "clear night"
hours_per_year = 2700  # check this
air_temperature_c = { dist = "normal", mean = 7.0, sd = 5.0 }  # check this
relative_humidity = { dist = "uniform", low = 0.65, high = 0.90 }
wind_m_s = { dist = "lognormal", median = 2.0, sigma_ln = 0.5 }
ground_minus_air_k = { dist = "uniform", low = -4.0, high = -1.0 }
clutter_k = { dist = "uniform", low = 0.1, high = 0.2 }

[[weather]]
name = "warm dusk"
hours_per_year = 1000  # check this
air_temperature_c = { dist = "normal", mean = 22.0, sd = 3.0 }  # check this
relative_humidity = { dist = "uniform", low = 0.40, high = 0.70 }
wind_m_s = { dist = "lognormal", median = 2.0, sigma_ln = 0.5 }
ground_minus_air_k = { dist = "triangular", low = 3.0, mode = 8.0, high = 13.0 }
clutter_k = { dist = "uniform", low = 0.2, high = 0.4 }

[[weather]]
name = "fog"
hours_per_year = 300  # check this
air_temperature_c = { dist = "normal", mean = 4.0, sd = 3.0 }  # check this
relative_humidity = 0.99
wind_m_s = { dist = "uniform", low = 0.0, high = 1.5 }
visibility_m = { dist = "lognormal", median = 110.0, sigma_ln = 0.5 }  # check this
fog = "radiation"
ground_minus_air_k = { dist = "uniform", low = -2.0, high = 0.0 }
wetness = 0.1

[[weather]]
name = "rain"
hours_per_year = 380  # check this
air_temperature_c = { dist = "normal", mean = 9.0, sd = 3.0 }  # check this
relative_humidity = { dist = "uniform", low = 0.90, high = 0.98 }
wind_m_s = { dist = "uniform", low = 2.0, high = 8.0 }
rain_mm_h = { dist = "lognormal", median = 4.0, sigma_ln = 0.6 }  # check this
ground_minus_air_k = { dist = "uniform", low = -0.5, high = 0.3 }
clutter_k = { dist = "uniform", low = 0.1, high = 0.3 }
sky = "overcast"
wetness = { dist = "uniform", low = 0.6, high = 1.0 }
front_window = { state = "drops", share = 0.20 }
"""
WEATHER_CHECKS = (
    ("weather classes", "hours_per_year", "none is on a map"),
    ("weather classes", "air_temperature_c", "and what varies"),
)


def parts_rows(sensors: list[str], lenses: list[str]) -> list[Row]:
    """Tables of the sensors and lenses that cameras name; the two lenses of the kit are there to choose from."""
    rows = [Row("sensors", name, dict(SENSOR), dict.fromkeys(SENSOR, "")) for name in sensors]
    for name in lenses:
        keys: dict[str, object] = dict(LENSES.get(name, LENSES[LENS_NAME]))
        rows.append(Row("lenses", name, keys, dict.fromkeys(keys, "")))
    return rows
