"""Pd against distance: one camera with each lens, crossings of an unfenced line on its axis."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from fencecast.kernels.pack_inputs import pack_cameras, pack_decision, pack_intruder
from fencecast.kernels.pack_weather import pack_weather
from fencecast.kernels.types import LINE_RULE, NO_BARRIER, Cells, Plan, Scene
from fencecast.physics.surfaces import GROUND_EMISSIVITY
from fencecast.sampling.variables import stratum_key

DISTANCES_M = np.concatenate([np.arange(2.0, 30.0, 2.0), np.arange(30.0, 60.0, 3.0), np.arange(60.0, 121.0, 5.0)])
# The line goes on beyond the last distance, so that nobody passes round its end.
_BEYOND_M = 60.0


def lens_cameras(site) -> list[SimpleNamespace]:
    """For each lens that a camera of the site uses, in the site's order of lenses, one camera at the origin looking north.

    Its height and depression are the medians over the cameras with that lens, its sensor the one most of them have.
    """
    cameras = []
    for lens in site.lenses:
        with_lens = [camera for camera in site.camera if camera.lens == lens]
        if not with_lens:
            continue
        sensors = [camera.sensor for camera in with_lens]
        cameras.append(
            SimpleNamespace(
                mark=f"one camera with {lens}",
                position_m=(0.0, 0.0),
                height_m=float(np.median([camera.height_m for camera in with_lens])),
                bearing_deg=0.0,
                depression_deg=float(np.median([camera.depression_deg for camera in with_lens])),
                roll_deg=0.0,
                bearing_sd_deg=None,
                depression_sd_deg=None,
                height_sd_m=None,
                sensor=max(dict.fromkeys(sensors), key=sensors.count),
                lens=lens,
            )
        )
    return cameras


def _line_scene(site, time_window_s: float) -> Scene:
    """A straight unfenced line along the y axis, its inside to the west, armed inwards."""
    end = float(DISTANCES_M[-1]) + _BEYOND_M
    edge = np.array([[0.0, -_BEYOND_M, 0.0, end]])
    no_edges = np.zeros((0, 4))
    return Scene(
        edge=edge,
        edge_normal=np.array([[-1.0, 0.0]]),
        edge_start_m=np.array([-_BEYOND_M]),
        edge_barrier=np.array([NO_BARRIER], dtype=np.int64),
        edge_height_m=np.zeros(1),
        edge_open=np.ones(1),
        section_edge=np.array([0, 1], dtype=np.int64),
        section_depth_m=np.zeros(1),
        block_edge=np.zeros((0, 5)),
        block_first=np.zeros(2, dtype=np.int64),
        gate=np.zeros((0, 3)),
        obstacle_edge=no_edges,
        obstacle_first=np.zeros(1, dtype=np.int64),
        obstacle_height_m=np.zeros(0),
        obstacle_circle=np.zeros((0, 3)),
        rule_kind=np.array([LINE_RULE], dtype=np.int64),
        rule_edge=edge,
        rule_first=np.array([0, 1], dtype=np.int64),
        rule_direction=np.array([1], dtype=np.int64),
        rule_time_window_s=np.array([time_window_s]),
        rule_dwell_s=np.zeros(1),
        rule_camera=np.ones((1, 1), dtype=np.uint8),
        travel=1,
        ground_emissivity=float(GROUND_EMISSIVITY[site.site.ground]),
    )


def distance_plans(site, weather, seed: int):
    """For each lens: (lens name, Plan, Cells), cells class by class and distance by distance.

    The window is that of the site's first line rule (1 s without one). Crossings happen at exactly the distance.
    """
    time_window_s = next((rule.time_window_s for rule in site.rule if rule.kind == "line"), 1.0)
    scene = _line_scene(site, time_window_s)
    count = len(DISTANCES_M)
    for camera in lens_cameras(site):
        cameras, bands = pack_cameras(site, [camera])
        plan = Plan(scene, cameras, bands, pack_weather(site, weather), pack_intruder(site), pack_decision(site))
        keys = [stratum_key(seed, camera.lens, k, w.name, "distance") for w in weather for k in range(count)]
        yield (
            camera.lens,
            plan,
            Cells(
                weather=np.repeat(np.arange(len(weather), dtype=np.int64), count),
                section=np.zeros(len(keys), dtype=np.int64),
                start_m=np.tile(DISTANCES_M, len(weather)),
                end_m=np.tile(DISTANCES_M, len(weather)),
                key=np.array(keys, dtype=np.uint64),
            ),
        )
