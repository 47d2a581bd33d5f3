"""A fixed set of looks of the demo, as plain arrays: what every rival of `against.py` is given, and the product's own loop."""

from __future__ import annotations

import math
from pathlib import Path
from typing import NamedTuple

import numpy as np

from fencecast import load_site
from fencecast.jit import borrow, compiled
from fencecast.kernels import look, state
from fencecast.kernels import pose as pose_room
from fencecast.kernels.look import BLUR_U, BLUR_V, CLUTTER
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.render import WINDOW_SDS, render_look
from fencecast.kernels.scratch import PARTS
from fencecast.kernels.types import Body, Motion
from fencecast.kernels.work import make_work
from fencecast.physics.body import body_size_m
from fencecast.sampling.variables import SITE_VARIABLES

DEMO = Path(__file__).parents[1] / "configs" / "estuary-yard.toml"
SPEED_M_S = (1.4, 3.0, 0.9, 0.5, 0.3)  # walk, run, crouch, hands and knees, belly: typical, for motion blur


class Looks(NamedTuple):
    """One row per look; the demo's cameras have one sensor, so frame, threshold and min_pixels are the same for all."""

    edges: np.ndarray  # (looks, PARTS + 1, 4) u from, u to, v from, v to [px]; row PARTS is the whole body
    contrast: np.ndarray  # (looks, PARTS) [W/(m²·sr)]
    blur: np.ndarray  # (looks, 2) sds [px]
    window: np.ndarray  # (looks, 4) first and last + 1 column, first and last + 1 row
    focal_px: np.ndarray  # (looks,)
    variance: np.ndarray  # (looks, 2) on axis with fixed pattern, and of clutter [(W/(m²·sr))²]
    frame: tuple  # columns, rows
    threshold: float
    min_pixels: int

    @property
    def pixels(self) -> np.ndarray:
        """Pixels of each look's window."""
        return (self.window[:, 1] - self.window[:, 0]) * (self.window[:, 3] - self.window[:, 2])


def demo_looks(count: int) -> Looks:
    """`count` bodies 5 to 60 m from the demo's cameras, in its weather, as the product's own look sees them."""
    plan = pack_plan(load_site(DEMO))
    cameras, decision = plan.cameras, plan.decision
    random = np.random.default_rng(2024)
    work = make_work(len(cameras.focal_px), len(plan.bands.low_um), decision.node_z.size, 4, len(SITE_VARIABLES), 8)
    rows = []
    while len(rows) < count:
        k = int(random.integers(len(cameras.focal_px)))
        half_field = math.atan(0.5 * cameras.columns[k] / cameras.focal_px[k])
        angle = cameras.bearing_rad[k] + random.uniform(-half_field, half_field)
        distance, heading = random.uniform(5.0, 60.0), random.uniform(0.0, 2.0 * math.pi)
        gait, speed = int(random.integers(5)), random.uniform(0.7, 1.3)
        x, y = cameras.position[k, 0] + distance * math.sin(angle), cameras.position[k, 1] + distance * math.cos(angle)
        hx, hy, speed = math.cos(heading), math.sin(heading), speed * SPEED_M_S[gait]
        air = state.draw_air(plan.weather, int(random.integers(len(plan.weather.window))), *random.uniform(0.01, 0.99, 10))
        clothing_k = air.air_temperature_k + random.uniform(0.5, 6.0)
        skin_k = air.air_temperature_k + random.uniform(8.0, 16.0)
        state.fill_radiances(work.radiance, plan.bands, air, plan.scene.ground_emissivity, clothing_k, skin_k, 0.9, 0.5)
        noise = float(cameras.netd_k[k] * plan.bands.slope_300k[cameras.band[k]] * random.lognormal(0.0, 0.1))
        pose = pose_room.pose_of(work.poses, k)
        pose_room.fill_pose(cameras, k, *random.normal(0.0, cameras.tolerance[k]), pose)
        motion = Motion(x, y, 0.0, hx, hy, speed * hx, speed * hy, 0.0, gait)
        body = Body(motion, *body_size_m(gait, random.uniform(1.6, 1.9), math.nan))
        if look.look_at_body(plan, pose_room.optics_of(cameras, k), pose, body, air, work.radiance, noise, work):
            n2 = noise**2 * (1.0 + cameras.fixed_pattern[k] ** 2)
            blur = work.look[[BLUR_U, BLUR_V]]
            focal = float(cameras.illumination_focal_px[k])
            rows.append((work.edges.copy(), work.contrast.copy(), blur, focal, (n2, work.look[CLUTTER] ** 2)))
    edges, contrast, blur, focal, variance = (np.array(column) for column in zip(*rows))
    frame = int(cameras.columns[0]), int(cameras.rows[0])
    low = np.floor(edges[:, PARTS, 0::2] - WINDOW_SDS * blur).astype(int)
    high = np.ceil(edges[:, PARTS, 1::2] + WINDOW_SDS * blur).astype(int)
    low, high = np.maximum(low, 0), np.minimum(high, frame)
    window = np.stack([low[:, 0], high[:, 0], low[:, 1], high[:, 1]], axis=1)
    return Looks(edges, contrast, blur, window, focal, variance, frame, float(decision.threshold), int(decision.min_pixels))


@compiled
def draw_all(scratch, looks, times, out):
    """The product's pixel work of every look, `times` times; out (looks, 4): passed, perfect, in view, P(enough pass)."""
    columns, rows = looks.frame
    looks = borrow(looks)
    for _ in range(times):
        for k in range(looks.focal_px.size):
            passed, perfect, in_view, p_look, _ = render_look(
                scratch,
                looks.edges[k],
                looks.contrast[k],
                looks.blur[k, 0],
                looks.blur[k, 1],
                (columns, rows, 0.5 * columns, 0.5 * rows),
                looks.focal_px[k],
                0,
                0,
                looks.variance[k, 0],
                looks.variance[k, 1],
                looks.threshold,
                looks.min_pixels,
            )
            out[k, 0], out[k, 1], out[k, 2], out[k, 3] = passed, perfect, in_view, p_look
