"""From what the user wrote (validated, frozen) to what the kernels run (packed arrays): the only place that knows both.

This module packs what stands still, and the whole; `pack_inputs` packs what varies.
"""

from __future__ import annotations

import numpy as np

from fencecast.kernels.pack_inputs import pack_cameras, pack_decision, pack_intruder
from fencecast.kernels.pack_inside import pack_blocks, section_depths_m
from fencecast.kernels.pack_weather import pack_weather
from fencecast.kernels.types import AREA_RULE, LINE_RULE, NO_BARRIER, SEE_THROUGH, WALL, Cells, Plan, Scene
from fencecast.meteorology.load import classes_of
from fencecast.physics.surfaces import GROUND_EMISSIVITY
from fencecast.sampling.variables import stratum_key
from fencecast.site.geometry import area_polygon, cut_segments, inward_sign, rule_line, vertices

DIRECTIONS = {"inward": 1, "outward": -1, "both": 0}


def _edges(points: np.ndarray, ring: bool = False) -> np.ndarray:
    points = np.vstack([points, points[:1]]) if ring else np.asarray(points, dtype=float)
    return np.hstack([points[:-1], points[1:]])


def _stack(parts: list[np.ndarray], width: int) -> tuple[np.ndarray, np.ndarray]:
    """Concatenated rows and the first row of each part (one longer)."""
    first = np.cumsum([0] + [len(p) for p in parts]).astype(np.int64)
    return (np.vstack(parts) if parts else np.zeros((0, width))).astype(float), first


def _travel(rules) -> int:
    """+1 every path inward, -1 outward, 0 half of them each way; an area counts as something to walk into."""
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

    block_edge, block_first = pack_blocks(site.perimeter, edges, section_edge)
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
            lines.append(_edges(area_polygon(rule, site.perimeter), ring=True))
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
        section_depth_m=section_depths_m(site),
        block_edge=block_edge,
        block_first=block_first,
        gate=np.array(gates, dtype=float).reshape(-1, 3),
        obstacle_edge=obstacle_edge,
        obstacle_first=obstacle_first,
        obstacle_height_m=np.array([o.height_m for o in site.obstacle], dtype=float),
        obstacle_circle=circles,
        rule_kind=np.array([LINE_RULE if rule.kind == "line" else AREA_RULE for rule in site.rule], dtype=np.int64),
        rule_edge=rule_edge,
        rule_first=rule_first,
        rule_direction=np.array([DIRECTIONS[rule.direction] for rule in site.rule], dtype=np.int64),
        rule_time_window_s=np.array([rule.time_window_s for rule in site.rule], dtype=float),
        rule_dwell_s=np.array([rule.dwell_s for rule in site.rule], dtype=float),
        rule_camera=np.array([[mark in rule.cameras for mark in marks] for rule in site.rule], dtype=np.uint8).reshape(
            len(site.rule), len(marks)
        ),
        travel=_travel(site.rule),
        ground_emissivity=float(GROUND_EMISSIVITY[site.site.ground]),
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
    classes = classes_of(site) if weather is None else weather
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
