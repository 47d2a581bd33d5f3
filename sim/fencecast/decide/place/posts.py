"""Cameras close together are one post: the best of them counts, a second is worth what it adds."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

POST_M = 2.0  # plan distance of neighbours on one post (judgement)


def near(xy_m: np.ndarray, camera: int, others: Sequence[int], link_m: float = POST_M) -> list[int]:
    """Those of `others` whose places are at most link_m from that of `camera`; xy_m (cameras, 2) in plan."""
    return [k for k in others if np.hypot(*(xy_m[k] - xy_m[camera])) <= link_m + 1e-9]


def posts_of(xy_m: np.ndarray, subset: Sequence[int], link_m: float = POST_M) -> list[tuple[int, ...]]:
    """A subset of cameras by post: chains of neighbours at most link_m apart (single linkage), in the subset's order."""
    posts: list[list[int]] = []
    for camera in subset:
        touched = [post for post in posts if near(xy_m, camera, post, link_m)]
        merged = [member for post in touched for member in post] + [camera]
        posts = [post for post in posts if post not in touched] + [merged]
    return [tuple(post) for post in posts]
