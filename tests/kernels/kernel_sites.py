"""Small invented sites for the kernel tests: tables in, a loaded site out, so that loading and packing are tested on the way."""

from __future__ import annotations

import numpy as np

from fencecast.site import parse_site

FENCE = {"name": "fence", "points_m": [[0.0, 0.0], [40.0, 0.0]], "inside": "left"}
CAMERA = {"mark": "C1", "position_m": [0.0, 2.0], "height_m": 4.0, "aim_m": [16.0, 2.0], "sensor": "core", "lens": "wide"}
LINE = {"kind": "line", "perimeter": "fence"}
NIGHT = {
    "name": "night",
    "hours_per_year": 3000,
    "air_temperature_c": 5.0,
    "relative_humidity": 0.75,
    "ground_minus_air_k": -2.0,
}
CORE = {"columns": 160, "rows": 120, "pitch_um": 17.0, "netd_mk": 50.0}
WIDE = {"focal_length_mm": 3.0, "f_number": 1.0}
# One person, nothing drawn: what is left varies only by position and look phase.
ONE_PERSON = {
    "gaits": {"walk": 1.0},
    "speed_m_s": {"walk": 1.3},
    "stature_m": 1.7,
    "clo": 1.5,
    "clothing_emissivity": 0.87,
    "bare_head_share": 0.25,
    "approach_angle_deg": 0.0,
}


def _value(value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(v)}" for key, v in value.items()) + " }"
    if isinstance(value, (list, tuple, np.ndarray)):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, str):
        return f'"{value}"'
    return repr(int(value) if isinstance(value, (int, np.integer)) else float(value))


def _table(header: str, table: dict) -> str:
    return header + "\n" + "\n".join(f"{key} = {_value(value)}" for key, value in table.items()) + "\n"


def site_text(
    perimeter=(FENCE,), obstacle=(), camera=(CAMERA,), rule=(LINE,), weather=(NIGHT,), sensor=CORE, lens=WIDE, ground="grass",
    segment_length_m=40.0, decision=None, intruder=None, tolerance=None,
) -> str:  # fmt: skip
    """The text of a site file; each argument replaces the table or tables of its name."""
    parts = ["schema = 2", 'title = "Test site"', "seed = 7"]
    parts.append(_table("[site]", {"ground": ground, "segment_length_m": segment_length_m}))
    for name, tables in (
        ("perimeter", perimeter),
        ("obstacle", obstacle),
        ("camera", camera),
        ("rule", rule),
        ("weather", weather),
    ):
        parts += [_table(f"[[{name}]]", table) for table in tables]
    parts.append(_table("[sensors.core]", sensor))
    parts.append(_table("[lenses.wide]", lens))
    for name, table in (("decision", decision), ("intruder", intruder), ("tolerance", tolerance)):
        if table:
            parts.append(_table(f"[{name}]", table))
    return "\n".join(parts)


def make_site(**tables):
    """A loaded site; arguments as `site_text`."""
    return parse_site(site_text(**tables))
