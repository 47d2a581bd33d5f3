"""Steps of walks by a rule of thumb instead of pictures: resolved cycles fall with the distance to the camera. For fast tests."""

from __future__ import annotations

import math

import numpy as np

from fencecast.prove.walks.kinds import Steps, WalkLine
from fencecast.site.geometry import inward_normal_at, point_at

CYCLES_M = 62.0  # cycles times metres of a walker
GAIT = {"walk": 1.0, "run": 0.9, "crouch": 0.62, "crawl": 0.45, "flat_crawl": 0.3}
SPEED = {"walk": 1.3, "run": 4.5, "crouch": 0.8, "crawl": 0.8, "flat_crawl": 0.3}
BLIND_M = 5.0
WEATHER = {"thick fog": 0.4, "wet dusk": 0.8}


def invented_steps(site, walks, weather, *, crossings=128, seed=1, from_fence=True, conditions=None, threads=None, progress=None):
    """`simulate_walks` as the rule has it: one step each, spread by 15 %; nearer than 5 m no camera sees anybody,
    and against the direction of every rule none alarms."""
    weathers = [weather] * len(walks) if isinstance(weather, str) else list(weather)
    cameras = [np.array(camera.position_m) for camera in site.camera]
    cycles = np.zeros((len(walks), crossings, len(cameras), 16))
    gain = np.zeros_like(cycles)
    spread = np.exp(0.15 * np.sqrt(2.0) * np.array([_inverse_erf(2.0 * (k + 0.5) / crossings - 1.0) for k in range(crossings)]))
    for row, (walk, name) in enumerate(zip(walks, weathers)):
        section = next(each for each in site.perimeter if each.name == walk.section)
        place = np.asarray(point_at(section, walk.chainage_m))
        for column, camera in enumerate(cameras):
            distance = float(np.hypot(*(place - camera)))
            if distance < BLIND_M:
                continue
            order = spread[:: 1 if column % 2 == 0 else -1]
            cycles[row, :, column, 0] = CYCLES_M / distance * GAIT[walk.gait] * WEATHER.get(name, 1.0) * order
            gain[row, :, column, 0] = 1.0
    ways = {{"inward": "in", "outward": "out"}.get(rule.direction if rule.kind == "line" else "both") for rule in site.rule}
    gain[[not ways & {walk.direction, None} for walk in walks]] = 0.0
    length = (1.0 if from_fence else 2.0) * site.intruder.path_m
    delay = np.zeros((len(walks), 31))
    delay[:, :2] = 0.9, 0.1
    if progress:
        progress(len(walks) * crossings, len(walks) * crossings)
    worst = cycles.max(axis=(2, 3))
    return Steps(
        cycles=cycles, gain=gain, post=np.arange(len(cameras)), marks=tuple(camera.mark for camera in site.camera), delay=delay,
        delay_s=0.5 * np.arange(31), in_view=(gain[..., 0] > 0.0).mean(axis=1),
        path_s=np.array([length / SPEED[walk.gait] for walk in walks]), path_m=np.full(len(walks), length),
        pd=np.array([np.mean([_half(n / 2.0) for n in row]) for row in worst]),
    )  # fmt: skip


def invented_lines(site, walks, *, from_fence=True):
    """`walk_lines`, straight in and out."""
    lines = []
    for walk in walks:
        section = next(each for each in site.perimeter if each.name == walk.section)
        point, normal = np.asarray(point_at(section, walk.chainage_m)), np.asarray(inward_normal_at(section, walk.chainage_m))
        path = site.intruder.path_m
        ends = [point + normal * (0.3 if from_fence else -path), point + normal * path]
        ends = ends if walk.direction == "in" else ends[::-1]
        start, finish = (tuple(float(v) for v in end) for end in ends)
        lines.append(WalkLine(start, tuple(float(v) for v in point), finish, math.dist(start, finish), path / 1.3))
    return lines


def _half(x: float) -> float:
    return float(x**2.7 / (1.0 + x**2.7))


def _inverse_erf(y: float) -> float:
    from scipy.special import erfinv

    return float(erfinv(y))
