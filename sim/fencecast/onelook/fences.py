"""Which fences stand between the camera and the person of one look, by the names of their sections, and what they leave."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from fencecast.kernels.render import PARTS
from fencecast.kernels.sight import fence_between, fill_barrier_factors
from fencecast.onelook.drawing import strips_of
from fencecast.onelook.scene import Look


class FenceBetween(NamedTuple):
    """A see-through fence on the line of sight: what it passes of the contrast below `top_m`, a height over the ground there."""

    section: str
    passes: float
    top_m: float


def fences_between(look: Look) -> list[FenceBetween]:
    """Fences that hide the person or a part, in the order of the site file."""
    scene, eye, motion = look.plan.scene, look.pose.position, look.body.motion
    distance = math.hypot(motion.x - eye[0], motion.y - eye[1])
    found = []
    for k in range(scene.edge_barrier.size):
        s = float(fence_between(scene, k, eye[0], eye[1], motion.x, motion.y, distance))
        top = eye[2] + (scene.edge_height_m[k] - eye[2]) / s if s > 0.0 else -math.inf
        if top <= motion.base:
            continue
        alone = scene._replace(**{name: getattr(scene, name)[k : k + 1] for name in _OF_EDGES})
        passes = np.ones(1)
        fill_barrier_factors(alone, eye[0], eye[1], eye[2], motion.x, motion.y, np.array([motion.base]), passes)
        section = int(np.searchsorted(scene.section_edge, k, side="right")) - 1
        found.append(FenceBetween(look.site.perimeter[section].name, float(passes[0]), float(top)))
    return found


_OF_EDGES = ("edge", "edge_normal", "edge_barrier", "edge_height_m", "edge_open")


def left_of_contrast(look: Look) -> float:
    """Share of the visible body's contrast that arrives through fences, each part by its area; 1 without a fence."""
    arrives = shown = 0.0
    for part in range(PARTS):
        u0, u1, v0, v1 = look.work.edges[part]
        strength = abs(float(look.work.contrast[part])) * max(u1 - u0, 0.0)
        for low, high, passed in strips_of(look):
            tall = max(min(v1, high) - max(v0, low), 0.0)
            arrives, shown = arrives + strength * passed * tall, shown + strength * tall
    return arrives / shown if shown > 0.0 else 1.0
