"""From what the user wrote (validated, frozen) to what the kernels run (packed arrays): the only place that knows both."""

from __future__ import annotations

import math

import numpy as np

from fencecast.kernels.types import (
    CHOICE,
    DISTRIBUTION_WIDTH,
    FIELD_RULE,
    FIXED,
    FOLLOWS,
    LINE_RULE,
    LOGNORMAL,
    NO_BARRIER,
    NORMAL,
    SEE_THROUGH,
    TRIANGULAR,
    UNIFORM,
    WALL,
    Bands,
    Cameras,
    Cells,
    Decision,
    Intruder,
    Plan,
    Scene,
    Weather,
)
from fencecast.physics.body import GAITS
from fencecast.physics.detector import normal_cdf, temporal_noise_radiance
from fencecast.physics.droplets import window_film_transmission
from fencecast.physics.optics import PROJECTIONS, static_blur_variance_px2
from fencecast.physics.radiance import band_radiance_slope
from fencecast.physics.surfaces import GROUND_EMISSIVITY
from fencecast.sampling.variables import camera_keys, stratum_key
from fencecast.site.geometry import cut_segments, field_polygon, inward_sign, rule_line, vertices
from fencecast.site.quantity import Quantity

ZERO_CELSIUS_K = 273.15
DIRECTIONS = {"inward": 1, "outward": -1, "both": 0}
FOG_KINDS = {"none": 0, "radiation": 1, "advection": 2}
CONVENTIONS = {"optical_range": 0, "visual_range": 1}
# Default effective radii of drops: median [um] and sigma_ln (judgement, no source).
FOG_DROPS = {"radiation": (5.0, 0.35), "advection": (9.0, 0.35)}
_NO_DROPS = Quantity.fixed(10.0)


class _Choices:
    """Collects the values and cumulative weights of `choice` distributions into one table."""

    def __init__(self):
        self.rows: list[tuple[float, float]] = []

    def table(self) -> np.ndarray:
        return np.array(self.rows or [(0.0, 1.0)], dtype=float)


def pack_quantity(quantity: Quantity | None, choices: _Choices, scale: float = 1.0, shift: float = 0.0) -> np.ndarray:
    """A distribution as one row (DISTRIBUTION_WIDTH,), its values times `scale` plus `shift`; None becomes FOLLOWS."""
    row = np.zeros(DISTRIBUTION_WIDTH)
    if quantity is None:
        row[0] = FOLLOWS
        return row

    def si(value):
        return value * scale + shift

    if quantity.dist == "fixed":
        row[:2] = FIXED, si(quantity.value)
    elif quantity.dist == "uniform":
        row[:3] = UNIFORM, si(quantity.low), si(quantity.high)
    elif quantity.dist == "normal":
        if quantity.sd <= 0.0:
            row[:2] = FIXED, si(quantity.mean)
        else:
            low = 0.0 if quantity.low is None else normal_cdf((quantity.low - quantity.mean) / quantity.sd)
            high = 1.0 if quantity.high is None else normal_cdf((quantity.high - quantity.mean) / quantity.sd)
            row[:5] = NORMAL, si(quantity.mean), quantity.sd * scale, low, high
    elif quantity.dist == "lognormal":
        row[:3] = LOGNORMAL, si(quantity.median), quantity.sigma_ln
        if shift != 0.0:
            raise ValueError("a lognormal temperature has no meaning in Celsius")
    elif quantity.dist == "triangular":
        row[:4] = TRIANGULAR, si(quantity.low), si(quantity.mode), si(quantity.high)
    else:
        values = np.asarray(quantity.values, dtype=float)
        weights = np.ones(len(values)) if quantity.weights is None else np.asarray(quantity.weights, dtype=float)
        row[:3] = CHOICE, len(choices.rows), len(values)
        choices.rows += zip(si(values), np.cumsum(weights) / weights.sum())
    return row


def _edges(points: np.ndarray, ring: bool = False) -> np.ndarray:
    points = np.vstack([points, points[:1]]) if ring else np.asarray(points, dtype=float)
    return np.hstack([points[:-1], points[1:]])


def _stack(parts: list[np.ndarray], width: int) -> tuple[np.ndarray, np.ndarray]:
    """Concatenated rows and the first row of each part (one longer)."""
    first = np.cumsum([0] + [len(p) for p in parts]).astype(np.int64)
    return (np.vstack(parts) if parts else np.zeros((0, width))).astype(float), first


def _travel(rules) -> int:
    """+1 every path inward, -1 outward, 0 half of them each way; a field counts as something to walk into."""
    wanted = {DIRECTIONS[rule.direction] if rule.kind == "line" else 1 for rule in rules}
    if wanted == {-1}:
        return -1
    return 1 if wanted <= {1} else 0


def pack_scene(site) -> Scene:
    """Fences, obstacles and rules of a site."""
    edges, section_edge = _stack([_edges(vertices(section)) for section in site.perimeter], 4)
    length = np.hypot(edges[:, 2] - edges[:, 0], edges[:, 3] - edges[:, 1])
    section_of = np.repeat(np.arange(len(site.perimeter)), np.diff(section_edge))
    sign = np.array([inward_sign(site.perimeter[s]) for s in section_of])
    normal = np.stack([-(edges[:, 3] - edges[:, 1]), edges[:, 2] - edges[:, 0]], axis=1) * (sign / length)[:, None]
    start = np.concatenate([np.cumsum([0.0, *length[a:b]])[:-1] for a, b in zip(section_edge[:-1], section_edge[1:])])
    kinds = {"none": NO_BARRIER, "mesh": SEE_THROUGH, "palisade": SEE_THROUGH, "wall": WALL}
    barrier = np.array([kinds[site.perimeter[s].barrier] for s in section_of], dtype=np.int64)
    height = np.array([site.perimeter[s].barrier_height_m if site.perimeter[s].barrier != "none" else 0.0 for s in section_of])
    open_share = np.array([site.perimeter[s].barrier_open_share for s in section_of], dtype=float)
    gates = [(s, g.from_m, g.to_m) for s, section in enumerate(site.perimeter) for g in section.gates]

    obstacle_edge, obstacle_first = _stack([_edges(np.array(o.footprint_m), ring=True) for o in site.obstacle], 4)
    circles = np.zeros((len(site.obstacle), 3))
    for k, obstacle in enumerate(site.obstacle):
        points = np.array(obstacle.footprint_m, dtype=float)
        centre = 0.5 * (points.min(axis=0) + points.max(axis=0))
        circles[k] = *centre, np.hypot(*(points - centre).T).max() + 1e-6

    lines = []
    for rule in site.rule:
        if rule.kind == "line":
            lines.append(_edges(rule_line(rule, site.perimeter)))
        else:
            lines.append(_edges(field_polygon(rule, site.perimeter), ring=True))
    rule_edge, rule_first = _stack(lines, 4)
    marks = [camera.mark for camera in site.camera]
    return Scene(
        edge=edges,
        edge_normal=normal,
        edge_start_m=start,
        edge_barrier=barrier,
        edge_height_m=height.astype(float),
        edge_open=open_share,
        section_edge=section_edge,
        gate=np.array(gates, dtype=float).reshape(-1, 3),
        obstacle_edge=obstacle_edge,
        obstacle_first=obstacle_first,
        obstacle_height_m=np.array([o.height_m for o in site.obstacle], dtype=float),
        obstacle_circle=circles,
        rule_kind=np.array([LINE_RULE if rule.kind == "line" else FIELD_RULE for rule in site.rule], dtype=np.int64),
        rule_edge=rule_edge,
        rule_first=rule_first,
        rule_direction=np.array([DIRECTIONS[rule.direction] for rule in site.rule], dtype=np.int64),
        rule_window_s=np.array([rule.window_s for rule in site.rule], dtype=float),
        rule_dwell_s=np.array([rule.dwell_s for rule in site.rule], dtype=float),
        rule_camera=np.array([[mark in rule.cameras for mark in marks] for rule in site.rule], dtype=np.uint8).reshape(
            len(site.rule), len(marks)
        ),
        travel=_travel(site.rule),
        ground_emissivity=float(GROUND_EMISSIVITY[site.site.ground]),
    )


def pack_cameras(site, cameras) -> tuple[Cameras, Bands]:
    """One row per camera of `cameras` (site.camera, or stand-ins with the same attributes)."""
    bands = sorted({tuple(site.sensors[camera.sensor].band_um) for camera in cameras})
    low = np.array([b[0] for b in bands], dtype=float)
    high = np.array([b[1] for b in bands], dtype=float)
    packed_bands = Bands(low, high, np.array([band_radiance_slope(300.0, *b) for b in bands]))
    rows = []
    for camera in cameras:
        sensor, lens = site.sensors[camera.sensor], site.lenses[camera.lens]
        focal_px = lens.focal_length_mm * 1e-3 / (sensor.pitch_um * 1e-6)
        equidistant = lens.projection == "equidistant"
        cos4 = lens.relative_illumination == "cos4"
        # NETD for this lens, as a temperature: temporal noise over the slope that it was multiplied with.
        netd = temporal_noise_radiance(sensor.netd_mk * 1e-3, 1.0, lens.f_number, sensor.netd_f_number or 0.0, lens.transmission)
        rows.append(
            (
                math.radians(camera.bearing_deg),
                math.radians(camera.depression_deg),
                focal_px,
                PROJECTIONS[lens.projection],
                1 if equidistant and cos4 else 0,
                focal_px if cos4 else 0.0,
                sensor.columns,
                sensor.rows,
                static_blur_variance_px2(lens.f_number, sensor.pitch_um * 1e-6, lens.aberration_px),
                sensor.time_constant_ms * 1e-3,
                netd,
                sensor.netd_spread,
                sensor.fixed_pattern,
                bands.index(tuple(sensor.band_um)),
            )
        )
    columns = list(zip(*rows)) if rows else [()] * 14
    whole = {3, 4, 6, 7, 13}
    arrays = [np.array(column, dtype=np.int64 if k in whole else float) for k, column in enumerate(columns)]
    position = np.array([(*camera.position_m, camera.height_m) for camera in cameras], dtype=float).reshape(-1, 3)
    return Cameras(position, *arrays, camera_keys(tuple(camera.mark for camera in cameras))), packed_bands


def pack_weather(site, weather=None) -> Weather:
    """One row per class of `weather` (default: all of the site's)."""
    classes = site.weather if weather is None else weather
    choices = _Choices()
    rows = []
    for w in classes:
        drops = w.drop_radius_um
        if drops is None:
            drops = Quantity.lognormal(*FOG_DROPS[w.fog]) if w.fog in FOG_DROPS else _NO_DROPS
        rows.append(
            [
                pack_quantity(w.air_temperature_c, choices, shift=ZERO_CELSIUS_K),
                pack_quantity(w.relative_humidity, choices),
                pack_quantity(w.wind_m_s, choices),
                pack_quantity(w.visibility_m, choices),
                pack_quantity(w.rain_mm_h, choices),
                pack_quantity(w.snow_mm_h, choices),
                pack_quantity(w.ground_minus_air_k, choices),
                pack_quantity(w.clutter_k, choices),
                pack_quantity(w.wetness, choices),
                pack_quantity(drops, choices),
            ]
        )
    return Weather(
        quantity=np.array(rows, dtype=float),
        choice=choices.table(),
        fog_kind=np.array([FOG_KINDS[w.fog] for w in classes], dtype=np.int64),
        convention=np.array([CONVENTIONS[w.visibility_convention] for w in classes], dtype=np.int64),
        visibility_given=np.array([w.visibility_given for w in classes], dtype=np.int64),
        overcast=np.array([w.sky == "overcast" for w in classes], dtype=np.int64),
        window=np.array([window_factor(w.window) for w in classes], dtype=float),
    )


def window_factor(window) -> float:
    """Share of contrast that the state of the window passes: dry 1, drops 1 - share, film by its absorption."""
    if window.state == "drops":
        return 1.0 - window.share
    if window.state == "film":
        return float(window_film_transmission(window.film_um))
    return 1.0


def pack_intruder(site) -> Intruder:
    """Who crosses: quantities, gaits, speeds."""
    who = site.intruder
    choices = _Choices()
    radians = math.pi / 180.0
    quantity = [
        pack_quantity(who.stature_m, choices),
        pack_quantity(who.clo, choices),
        pack_quantity(who.clothing_emissivity, choices),
        pack_quantity(who.bare_head_share, choices),
        pack_quantity(who.approach_angle_deg, choices, radians),
        pack_quantity(who.turn_deg, choices, radians),
        pack_quantity(who.pause_s, choices),
        pack_quantity(who.climb_s, choices),
    ]
    names = [name.replace(" ", "_") for name in GAITS]
    shares = np.array([who.gaits.get(name, 0.0) for name in names], dtype=float)
    speed = [pack_quantity(who.speed_m_s[name], choices) for name in names]
    depth = [pack_quantity(Quantity.fixed(who.depth_ratio[name]), choices) for name in names[:3]]
    return Intruder(
        quantity=np.array(quantity),
        choice=choices.table(),
        gait_cumulative=np.cumsum(shares) / shares.sum(),
        speed=np.array(speed),
        depth_share=np.array(depth),
        path_m=float(who.path_m),
    )


def z_quadrature(correlation: float) -> tuple[np.ndarray, np.ndarray]:
    """Nodes and weights in z: one node without correlation, 16-point Gauss-Hermite up to 0.7 (within 1e-4), 64 midpoints in
    Phi(z) above."""
    if correlation <= 0.0:
        return np.zeros(1), np.ones(1)
    if correlation <= 0.7:
        z, w = np.polynomial.hermite_e.hermegauss(16)
        return z, w / w.sum()
    from scipy.special import ndtri

    return ndtri((np.arange(64) + 0.5) / 64), np.full(64, 1.0 / 64)


def pack_decision(site) -> Decision:
    """When a look counts and an alarm is raised; the mounting tolerance rides along."""
    d = site.decision
    z, weight = z_quadrature(d.encounter_correlation)
    t = site.tolerance
    return Decision(
        threshold=float(d.threshold_sigma),
        min_pixels=int(d.min_pixels),
        cycles_50=float(d.cycles_50),
        correlation=float(d.encounter_correlation),
        looks_per_s=float(d.looks_per_s),
        confirm_m=int(d.confirm[0]),
        confirm_n=int(d.confirm[1]),
        node_z=z,
        node_weight=weight,
        tolerance=np.array([math.radians(t.bearing_deg), math.radians(t.depression_deg), t.height_m], dtype=float),
    )


def pack_plan(site, weather=None) -> Plan:
    """Everything the kernel needs of a site; `weather` restricts the classes."""
    cameras, bands = pack_cameras(site, site.camera)
    return Plan(pack_scene(site), cameras, bands, pack_weather(site, weather), pack_intruder(site), pack_decision(site))


def watched_sections(site) -> np.ndarray:
    """Which sections some rule watches, shape (sections,), bool: its own perimeter, or all for a rule with points of its own."""
    return np.array([any(rule.perimeter in (None, s.name) for rule in site.rule) for s in site.perimeter], dtype=bool)


def pack_cells(site, seed: int, weather=None, purpose: str = "main") -> Cells:
    """One row per cell, weather class by weather class, segments in perimeter order; strata are keyed by names."""
    classes = site.weather if weather is None else weather
    section, start, end, key = [], [], [], []
    cuts = [cut_segments(s, site.site.segment_length_m) for s in site.perimeter]
    for w in classes:
        for s, (perimeter, cut) in enumerate(zip(site.perimeter, cuts)):
            for k in range(len(cut)):
                section.append(s)
                start.append(cut.start_m[k])
                end.append(cut.end_m[k])
                key.append(stratum_key(seed, perimeter.name, k, w.name, purpose))
    per_class = len(section) // max(len(classes), 1)
    return Cells(
        weather=np.repeat(np.arange(len(classes), dtype=np.int64), per_class),
        section=np.array(section, dtype=np.int64),
        start_m=np.array(start, dtype=float),
        end_m=np.array(end, dtype=float),
        key=np.array(key, dtype=np.uint64),
    )
