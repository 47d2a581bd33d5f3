"""Small invented sites on which the second model differs from the first, as dicts; see test_second_model.py.

Each is a function of the one thing that its test varies. No site depends on another file, so that changes of the worked
examples move nothing here.
"""

from __future__ import annotations

CLEAR = {
    "name": "clear night",
    "hours_per_year": 1000,
    "air_temperature_c": 4.0,
    "relative_humidity": 0.8,
    "ground_minus_air_k": -2.0,
}
CORE = {"columns": 160, "rows": 120, "pitch_um": 17.0, "netd_mk": 50.0}
# What is varied on these sites.
OPEN_SHARES = (0.0, 0.01, 0.05, 0.2, 0.6, 0.85, 1.0)
STEEP_BEARINGS = (180.0, 0.0)  # towards the fence, away from it
EYES = ((1.9, 0.0), (1.9, 0.9), (2.1, 0.0), (2.1, 0.5), (2.1, 0.9))  # metres apart, encounter correlation
LENSES = {"wide": {"focal_length_mm": 3.0, "f_number": 1.0}, "long": {"focal_length_mm": 6.0, "f_number": 1.0}}


def camera(mark: str, position: list, height: float, bearing: float, depression: float, lens: str = "wide") -> dict:
    return {
        "mark": mark,
        "position_m": position,
        "height_m": height,
        "bearing_deg": bearing,
        "depression_deg": depression,
        "sensor": "core",
        "lens": lens,
    }


def site(perimeter: list[dict], cameras: list[dict], rules: list[dict], segment_m: float = 4.0, **tables) -> dict:
    """A site file's tables; `tables` adds or replaces whole ones."""
    return {
        "schema": 2,
        "title": "Second model",
        "seed": 4,
        "site": {"ground": "gravel", "segment_length_m": segment_m},
        "perimeter": perimeter,
        "sensors": {"core": CORE},
        "lenses": LENSES,
        "camera": cameras,
        "rule": rules,
        "weather": [CLEAR],
    } | tables


def behind_a_fence(barrier: str, open_share: float, height: float = 1.5) -> dict:
    """40 m of open line, watched across a fence 3 m inside it that hides legs and those who creep."""
    line = {"name": "line", "points_m": [[0.0, 0.0], [40.0, 0.0]], "inside": "left"}
    fence = {"name": "fence", "points_m": [[-9.0, 3.2], [49.0, 3.2]], "inside": "left", "barrier": barrier}
    fence |= {"barrier_height_m": height, "barrier_open_share": open_share}
    cameras = [camera("N", [10.0, 16.0], 4.0, 180.0, 12.0), camera("M", [30.0, 16.0], 4.0, 180.0, 12.0)]
    return site([line, fence], cameras, [{"kind": "line", "perimeter": "line", "offset_m": 1.0}], segment_m=5.0)


def steep(bearing: float) -> dict:
    """One camera 9 m up and 2 m inside the fence that looks down by 85 degrees: its own foot lies within the frame."""
    line = {"name": "line", "points_m": [[-1.0, 0.0], [1.0, 0.0]], "inside": "left"}
    cameras = [camera("D", [0.0, 2.0], 9.0, bearing, 85.0)]
    intruder = {"approach_angle_deg": {"dist": "uniform", "low": -5.0, "high": 5.0}}
    return site([line], cameras, [{"kind": "line", "perimeter": "line"}], segment_m=2.0, intruder=intruder)


def two_eyes(apart_m: float, correlation: float = 0.5) -> dict:
    """Two equal cameras beside each other, `apart_m` in plan, that look at the same stretch from 26 m."""
    line = {"name": "line", "points_m": [[0.0, 0.0], [8.0, 0.0]], "inside": "left"}
    cameras = [camera("L", [30.0, 1.0], 4.0, 268.0, 9.0), camera("R", [30.0, 1.0 + apart_m], 4.0, 266.0, 9.0)]
    decision = {"encounter_correlation": correlation}
    return site([line], cameras, [{"kind": "line", "perimeter": "line", "offset_m": 0.5}], decision=decision)


def short_rule() -> dict:
    """All five causes in fog: a rule line that ends 7 m before the end of the fence, another that does not hear the only camera
    that sees, pallets that hide a stretch, and a far camera that looks over none of the first 4 m."""
    line = {"name": "line", "points_m": [[0.0, 0.0], [32.0, 0.0]], "inside": "left"}
    pallets = {"name": "pallets", "footprint_m": [[8.0, 2.5], [12.0, 2.5], [12.0, 4.0], [8.0, 4.0]], "height_m": 1.4}
    cameras = [camera("N", [10.0, 14.0], 4.0, 180.0, 12.0), camera("E", [44.0, 1.0], 4.0, 270.0, 16.5, "long")]
    cameras += [camera("A", [-2.0, 2.0], 3.0, 45.0, 12.0)]  # looks away
    rules = [
        {"kind": "line", "points_m": [[0.0, 1.0], [8.0, 1.0]], "cameras": ["E"]},
        {"kind": "line", "points_m": [[8.0, 1.0], [12.0, 1.0]], "cameras": ["N"]},
        {"kind": "line", "points_m": [[12.0, 1.0], [17.0, 1.0]], "cameras": ["A"]},
        {"kind": "line", "points_m": [[17.0, 1.0], [25.0, 1.0]], "cameras": ["E", "A"]},
    ]
    fog = CLEAR | {"relative_humidity": 0.99, "visibility_m": 120.0, "fog": "advection", "ground_minus_air_k": -0.5}
    return site([line], cameras, rules, obstacle=[pallets], weather=[fog])


def installed(**tables) -> dict:
    """8 m of line at the edge of what one camera resolves, and near the upper edge of its frame; `tables` gives the spreads."""
    line = {"name": "line", "points_m": [[0.0, 0.0], [8.0, 0.0]], "inside": "left"}
    cameras = [camera("C", [36.0, 1.0], 4.0, 268.3, 21.5)]
    return site([line], cameras, [{"kind": "line", "perimeter": "line", "offset_m": 0.5}], segment_m=8.0, **tables)


SPREADS = {
    "depression 2 deg": {"tolerance": {"depression_deg": 2.0}},
    "cycles_50": {"decision": {"cycles_50": {"dist": "lognormal", "median": 2.0, "sigma_ln": 0.15}}},
    "all of the decision": {
        "decision": {
            "cycles_50": {"dist": "lognormal", "median": 2.0, "sigma_ln": 0.15},
            "encounter_correlation": {"dist": "normal", "mean": 0.5, "sd": 0.3},
            "threshold_sigma": {"dist": "uniform", "low": 4.0, "high": 6.0},
            "clutter_factor": {"dist": "lognormal", "median": 1.0, "sigma_ln": 0.5},
        }
    },
}

# The bound of the second model for an opaque palisade against a wall of its height, mean over 40 m.
PALISADE_AS_WALL = 0.005
