"""Reads a site file with tomllib and fills in the contract's defaults. No checking: other tests refuse bad files."""

import tomllib
from dataclasses import dataclass, field

import numpy as np

from fencecast.evidence.independent.body import DEPTH_RATIO, GAIT_SHARE, GAIT_SPEED, GAITS
from fencecast.evidence.independent.corners import LEAST_DEPTH_M, PAST_RULE_M, Corners, joined_sections
from fencecast.evidence.independent.lines import edge_frames, offset_line
from fencecast.evidence.independent.quantities import Varying, lognormal, plain_number
from fencecast.evidence.independent.surfaces import GROUND_EMISSIVITY

OPEN_SHARE = {"none": 1.0, "mesh": 0.85, "palisade": 0.60, "wall": 0.0}
DROP_RADIUS = {"none": (5.0, 0.0), "radiation": (5.0, 0.35), "advection": (9.0, 0.35)}
DECISION = {"cycles_50": 2.0, "encounter_correlation": 0.5, "threshold_sigma": 5.0, "clutter_factor": 1.0}
VARYING_WEATHER = {
    "air_temperature_c": None,
    "relative_humidity": None,
    "ground_minus_air_k": None,
    "wind_m_s": 1.0,
    "visibility_m": 20000.0,
    "rain_mm_h": 0.0,
    "snow_mm_h": 0.0,
    "clutter_k": 0.1,
    "wetness": 0.0,
}


POST_M = 2.0 + 1e-9


def _points(written):
    return np.array([[plain_number(x), plain_number(y)] for x, y in written])


@dataclass
class Section:
    """One perimeter section: its edges, inward normals [m] and barrier."""

    name: str
    points: np.ndarray
    closed: bool
    inside: float  # +1 left, -1 right of the direction of travel
    barrier: str
    height_m: float
    open_share: float
    gates: list

    def __post_init__(self):
        self.unit, self.normal, self.length = edge_frames(self.points, self.inside)
        self.start_m = np.concatenate([[0.0], np.cumsum(self.length)])

    def place(self, chainage_m):
        """(point (2,), its edge, inward normal (2,), whether in a gate)."""
        edge = int(np.clip(np.searchsorted(self.start_m, chainage_m, side="right") - 1, 0, len(self.length) - 1))
        point = self.points[edge] + (chainage_m - self.start_m[edge]) * self.unit[edge]
        return point, edge, self.normal[edge], any(low <= chainage_m <= high for low, high in self.gates)


@dataclass
class Camera:
    """One camera with its sensor and lens in SI, bearing and depression in radians."""

    mark: str
    position: np.ndarray
    height_m: float
    bearing: float
    depression: float
    sensor: dict
    lens: dict
    roll: float = 0.0
    own_errors: dict = field(default_factory=dict)
    columns: int = field(init=False)
    rows: int = field(init=False)

    def __post_init__(self):
        sensor, lens = self.sensor, self.lens
        self.columns, self.rows = int(sensor["columns"]), int(sensor["rows"])
        pitch_um = float(sensor["pitch_um"])
        self.focal_px = float(lens["focal_length_mm"]) * 1e3 / pitch_um
        self.projection = lens.get("projection", "rectilinear")
        self.illumination = lens.get("relative_illumination", "cos4" if self.projection == "rectilinear" else "flat")
        f_number = float(lens["f_number"])
        self.still_blur2 = (0.45 * 10.0 * f_number / pitch_um) ** 2 + float(lens.get("aberration_px", 0.3)) ** 2
        self.time_constant_s = float(sensor.get("time_constant_ms", 10.0)) * 1e-3
        self.fixed_pattern = float(sensor.get("fixed_pattern", 0.5))
        self.band_um = tuple(sensor.get("band_um", (8.0, 14.0)))
        self.netd_k = float(sensor["netd_mk"]) * 1e-3
        reference = sensor.get("netd_f_number")
        if reference is not None:
            self.netd_k *= (4.0 * f_number**2 + 1.0) / (4.0 * reference**2 + 1.0) / float(lens.get("transmission", 1.0))
        self.netd_spread = float(sensor.get("netd_spread", 0.10))


@dataclass
class Rule:
    """A rule line or area, already at its offset: points (k, 2), armed side to the left of travel when inside = +1."""

    kind: str
    watches: set
    offset_m: float
    points: np.ndarray
    inside: float
    direction: str
    time_window_s: float
    dwell_s: float
    cameras: list


def _section(table):
    points = _points(table["points_m"])
    closed = bool(table.get("closed", False))
    if closed and not np.allclose(points[0], points[-1]):
        points = np.vstack([points, points[:1]])
    barrier = table.get("barrier", "none")
    gates = [(plain_number(g["from_m"]), plain_number(g["to_m"])) for g in table.get("gates", [])]
    return Section(
        table["name"],
        points,
        closed,
        1.0 if table["inside"] == "left" else -1.0,
        barrier,
        plain_number(table.get("barrier_height_m", 2.4)),
        float(table.get("barrier_open_share", OPEN_SHARE[barrier])),
        gates,
    )


def _camera(table, data):
    position = np.array([plain_number(item) for item in table["position_m"]])
    height = plain_number(table["height_m"])
    if "aim_m" in table:
        aim = np.array([plain_number(item) for item in table["aim_m"]]) - position
        bearing, depression = np.arctan2(aim[0], aim[1]), np.arctan2(height, np.hypot(*aim))
    else:
        bearing, depression = np.deg2rad(table["bearing_deg"]), np.deg2rad(table["depression_deg"])
    sensor, lens = data["sensors"][table["sensor"]], data["lenses"][table["lens"]]
    own = {
        name: scale * table[key]
        for name, key, scale in (
            ("bearing", "bearing_sd_deg", np.pi / 180.0),
            ("depression", "depression_sd_deg", np.pi / 180.0),
            ("height_m", "height_sd_m", 1.0),
        )
        if key in table
    }
    roll = np.deg2rad(table.get("roll_deg", 0.0))
    return Camera(table["mark"], position, height, bearing, depression, sensor, lens, roll, own)


def _rule(table, sections, marks):
    if "perimeter" in table:
        section = next(item for item in sections if item.name == table["perimeter"])
        points, inside, watches = section.points, section.inside, {section.name}
        ring = section.closed
    else:
        points, inside, watches = _points(table["points_m"]), 1.0, {item.name for item in sections}
        ring = np.allclose(points[0], points[-1])
    offset_m = plain_number(table.get("offset_m", 0.0))
    points = offset_line(points, inside * offset_m, ring)
    return Rule(
        table["kind"],
        watches,
        offset_m,
        points,
        inside,
        table.get("direction", "inward"),
        float(table.get("time_window_s", 1.0)),
        float(table.get("dwell_s", 0.0)),
        list(table.get("cameras", marks)),
    )


def _weather(table):
    draws = {key: Varying(table.get(key, default)) for key, default in VARYING_WEATHER.items()}
    fog = table.get("fog", "none")
    draws["drop_radius_um"] = Varying(table["drop_radius_um"]) if "drop_radius_um" in table else lognormal(*DROP_RADIUS[fog])
    plain = {
        "visibility_given": "visibility_m" in table,
        "visibility_convention": table.get("visibility_convention", "optical_range"),
        "fog": fog,
        "sky": table.get("sky", "clear"),
        "window": table.get("front_window", {"state": "dry"}),
    }
    return {"draws": draws, "plain": plain}


def _intruder(table):
    shares = table.get("gaits", GAIT_SHARE)
    speeds = {}
    for gait in GAITS:
        mean, sd, low = GAIT_SPEED[gait]
        speeds[gait] = Varying(table.get("speed_m_s", {}).get(gait, {"dist": "normal", "mean": mean, "sd": sd, "low": low}))
    stature = {"dist": "normal", "mean": 1.69, "sd": 0.10, "low": 1.45, "high": 2.00}
    given = {key: Varying(table[key]) for key in ("clo", "climb_s") if key in table}
    defaults = {
        "stature_m": stature,
        "clothing_emissivity": {"dist": "uniform", "low": 0.82, "high": 0.92},
        "bare_head_share": {"dist": "uniform", "low": 0.0, "high": 0.5},
        "approach_angle_deg": {"dist": "uniform", "low": -30.0, "high": 30.0},
        "turn_deg": 0.0,
        "pause_s": 0.0,
    }
    depth = dict(DEPTH_RATIO)
    depth.update(table.get("depth_ratio", {}))
    return {
        "gait_names": [gait for gait in GAITS if shares.get(gait, 0.0) > 0.0],
        "gait_shares": [shares[gait] for gait in GAITS if shares.get(gait, 0.0) > 0.0],
        "speed": speeds,
        "depth_ratio": depth,
        "path_m": plain_number(table.get("path_m", 12.0)),
        "clo": given.get("clo"),
        "climb_s": given.get("climb_s"),
        "draws": {key: Varying(table.get(key, default)) for key, default in defaults.items()},
    }


class SiteNumbers:
    """The whole site as plain numbers and arrays."""

    def __init__(self, data):
        self.sections = [_section(table) for table in data["perimeter"]]
        self.footprints = [(_points(o["footprint_m"]), plain_number(o["height_m"])) for o in data.get("obstacle", [])]
        self.cameras = [_camera(table, data) for table in data["camera"]]
        marks = [camera.mark for camera in self.cameras]
        self.rules = [_rule(table, self.sections, marks) for table in data["rule"]]
        self.weather = {table["name"]: _weather(table) for table in data["weather"]}
        self.intruder = _intruder(data.get("intruder", {}))
        self.ground_emissivity = GROUND_EMISSIVITY[data["site"]["ground"]]
        decision = data.get("decision", {})
        # What belongs to an installation: drawn once for it, or once a crossing when only the mean is asked.
        self.decision = {key: Varying(decision.get(key, default)) for key, default in DECISION.items()}
        self.min_pixels = int(decision.get("min_pixels", 3))
        self.cycles_50 = self.decision["cycles_50"].middle()
        self.looks_per_s = float(decision.get("looks_per_s", 5.0))
        self.confirm = tuple(decision.get("confirm", (3, 5)))
        tolerance = data.get("tolerance", {})
        self.tolerance = {
            "bearing": np.deg2rad(tolerance.get("bearing_deg", 0.0)),
            "depression": np.deg2rad(tolerance.get("depression_deg", 0.0)),
            "height_m": plain_number(tolerance.get("height_m", 0.0)),
        }
        self.posts = posts_of(self.cameras)
        self.corners = self._corners()
        self.segments = []  # (section, from_m, to_m)
        wanted = plain_number(data["site"].get("segment_length_m", 2.0))
        for section in self.sections:
            total = section.start_m[-1]
            count = max(1, int(np.floor(total / wanted + 0.5)))
            self.segments += [(section, total * i / count, total * (i + 1) / count) for i in range(count)]

    def _corners(self):
        """{(section's name, edge): Corners}; sections that no rule watches have none, nobody asks for their crossings."""
        found = {}
        for section, joined in zip(self.sections, joined_sections(self.sections)):
            offsets = [rule.offset_m for rule in self.rules if section.name in rule.watches]
            depth_m = max(LEAST_DEPTH_M, max(offsets, default=0.0) + PAST_RULE_M)
            for edge in range(len(section.length)):
                found[section.name, edge] = Corners(section, edge, joined, depth_m)
        return found

    def decide(self, share):
        """Drawn decision values {key: value}; share as in `estimate.one_crossing`, asked only for what varies."""
        drawn = {key: quantity.at(share(key) if quantity.varies else 0.5) for key, quantity in self.decision.items()}
        drawn["encounter_correlation"] = float(np.clip(drawn["encounter_correlation"], 0.0, 0.9))
        return drawn

    def reversed_share(self):
        """Share of the paths that run from inside to outside. An area counts as inward."""
        directions = {rule.direction if rule.kind == "line" else "inward" for rule in self.rules}
        if directions == {"outward"}:
            return 1.0
        return 0.0 if directions == {"inward"} else 0.5


def posts_of(cameras):
    """Lists of marks: cameras whose nominal lens centres are at most POST_M apart in plan, by single linkage."""
    posts = []
    for camera in cameras:
        near = [post for post in posts if any(np.hypot(*(camera.position - one.position)) <= POST_M for one in post)]
        posts = [post for post in posts if post not in near] + [[camera] + [one for post in near for one in post]]
    return [[camera.mark for camera in post] for post in posts]


def read_site(source):
    """SiteNumbers from a path, or from a dict such as tomllib returns; a SiteNumbers is handed back."""
    if isinstance(source, SiteNumbers):
        return source
    if not isinstance(source, dict):
        with open(source, "rb") as handle:
            source = tomllib.load(handle)
    return SiteNumbers(source)
