"""Where each default of the site file comes from, by table and key: a mark (see `references.MARKS`, or one of the two below) and
who or why. Keys without a default of their own are not here; a test compares the keys with the schema.

choice: says what the user wants or how results are cut, and claims nothing about the world; off: nothing is added until the user
says so.
"""

from __future__ import annotations

OTHER_MARKS = {
    "choice": "what the user asks for, or how results are cut: no claim about the world",
    "off": "nothing is added unless the file says so",
}

SOURCES: dict[str, dict[str, str]] = {
    "requirement": {"pd": "choice", "confidence": "choice"},
    "site": {"segment_length_m": "choice"},
    "perimeter": {
        "closed": "choice",
        "barrier": "off",
        "barrier_height_m": "judgement",
        "barrier_open_share": "judgement",
    },
    "obstacle": {"moveable": "off", "most_height_m": "off"},
    "sensors": {
        "netd_f_number": "off",
        "netd_spread": "judgement",
        "fixed_pattern": "judgement",
        "time_constant_ms": "judgement",
        "frame_rate_hz": "judgement",
        "band_um": "definition: the thermal window that uncooled sensors use",
    },
    "lenses": {
        "projection": "definition",
        "transmission": "off",
        "aberration_px": "judgement",
        "relative_illumination": "published: cosine-fourth law for rectilinear lenses; flat for equidistant ones is judgement",
    },
    "camera": {"roll_deg": "off"},
    "rule": {
        "offset_m": "choice",
        "direction": "choice",
        "time_window_s": "judgement",
        "dwell_s": "off",
        "cameras": "choice",
    },
    "decision": {
        "threshold_sigma": "judgement",
        "min_pixels": "judgement",
        "cycles_50": "judgement: it puts 4 cycles, at which the trade rates analytics, at 0.945; walk tests calibrate it",
        "encounter_correlation": "judgement: walk tests calibrate it",
        "clutter_factor": "off",
        "looks_per_s": "judgement",
        "confirm": "judgement",
        "size_gate": "off",
        "size_spread": "judgement",
        "shape_cycles": "judgement: recognition takes about twice the cycles of `cycles_50`; real alarms calibrate it",
        "foot_point_px": "judgement",
    },
    "tolerance": {"bearing_deg": "off", "depression_deg": "off", "height_m": "off"},
    "intruder": {
        "gaits": "judgement",
        "speed_m_s": "published: walking Bohannon & Williams Andrews 2011, crawling Cao et al. 2018; running, crouching and flat "
        "crawling are judgement",
        "depth_ratio": "judgement",
        "stature_m": "published: ANSUR II 2012, men 1.756 (sd 0.069) m and women 1.628 (sd 0.064) m as one distribution",
        "clo": "judgement: what people wear by weather",
        "clothing_emissivity": "published: NIJ measurements of nylon, cotton, polyester and acrylic",
        "bare_head_share": "judgement",
        "approach_angle_deg": "judgement",
        "turn_deg": "off",
        "pause_s": "off",
        "climb_s": "judgement: lognormal, median 6 s over 2.4 m, in proportion to the height, sigma of the logarithm 0.4",
        "path_m": "judgement",
    },
    "weather": {
        "wind_m_s": "judgement",
        "visibility_m": "judgement: clear air",
        "rain_mm_h": "off",
        "snow_mm_h": "off",
        "clutter_k": "judgement: what a calm night leaves",
        "wetness": "off",
        "drop_radius_um": "judgement: lognormal, median 5 um in radiation and 9 um in advection fog, sigma of the logarithm 0.35",
        "visibility_convention": "published: WMO, stations report meteorological optical range",
        "fog": "off",
        "sky": "judgement",
        "front_window": "off",
    },
    "weather front_window": {"state": "off"},
    "stimulus": {
        "size_sigma_ln": "judgement",
        "speed_m_s": "judgement: see the page on nuisance alarms",
        "coat_m2k_w": "judgement: see the page on nuisance alarms",
        "shape_cycles": "judgement: see the page on nuisance alarms",
    },
    "nuisance": {"uncertainty": "judgement", "other_alarms_per_h": "off", "service_s": "judgement"},
}
