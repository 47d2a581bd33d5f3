"""What if one thing fails? Things that many cameras depend on, and cameras that stand on other people's ground.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

import numpy as np
import shapely

from fencecast.review.asked import Asked
from fencecast.review.finding import STOP, WARN, Finding, NotAsked, over
from fencecast.review.ground import own_ground

_ON_LINE_M = 0.05


def failing(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    return _dependences(asked) + _outside(asked)


def _dependences(asked: Asked) -> list[Finding]:
    cover, site = asked.cover, asked.site
    if len(site.camera) < 2:
        return []
    names = [camera.depends_on for camera in site.camera]
    without = [camera.mark for camera in site.camera if camera.depends_on is None]
    if without:
        key = f"depends_on of {len(without)} of {len(names)} cameras"
        asked.not_asked.append(NotAsked("dependence-loss", key))
        asked.not_asked.append(NotAsked("same-dependence", key))
    good = cover.resolves & cover.heard
    held = cover.any_rule(good.any(axis=1))
    length = cover.places.length_m
    limit, found = asked.limit("loss-share"), []
    for name in dict.fromkeys(n for n in names if n is not None):
        mine = np.array([n == name for n in names])
        if not held.any():
            break
        lost = held & ~cover.any_rule(good[:, ~mine].any(axis=1))
        share = float(length[lost].sum() / length[held].sum())
        if share > limit:
            cameras = asked.marks(np.flatnonzero(mine))
            facts = {"metres": float(length[lost].sum()), "held": float(length[held].sum()), "cameras": cameras}
            found.append(
                Finding("dependence-loss", STOP if share > 0.99 else WARN, "dependence", name, share, "", limit, facts=facts)
            )
    if not without and len(set(names)) > 1:
        found += _same(asked, good, names)
    return found


def _same(asked: Asked, good: np.ndarray, names: list) -> list[Finding]:
    """Metres that two or more cameras resolve, all of which depend on one thing."""
    cover, limit, found = asked.cover, asked.limit("same-dependence-m"), []
    many = cover.any_rule(good.sum(axis=1) >= 2)
    for name in dict.fromkeys(names):
        others = np.array([n != name for n in names])
        alone = many & ~cover.any_rule(good[:, others].any(axis=1))
        stretches = asked.stretches(alone)
        metres = sum(asked.metres(part) for _, part in stretches)
        if over(metres, limit):
            rows = np.isin(cover.samples.place, np.concatenate([p for _, p in stretches]))
            cameras = asked.marks(np.flatnonzero(good[rows].any(axis=0)))
            spans = tuple(span for span, _ in stretches)
            facts = {"cameras": cameras}
            found.append(Finding("same-dependence", WARN, "dependence", name, metres, "m", limit, spans, facts=facts))
    return found


def _outside(asked: Asked) -> list[Finding]:
    own = own_ground(asked.site, asked.yard)
    if own is None:
        asked.not_asked.append(NotAsked("camera-outside", 'a fence that closes a ring, or [[land]] with ground = "own"'))
        return []
    found = []
    for eye in asked.cover.eyes:
        distance = float(own.distance(shapely.Point(eye.x_m, eye.y_m)))
        if distance > _ON_LINE_M:
            found.append(Finding("camera-outside", WARN, "camera", eye.mark, distance, "m", _ON_LINE_M))
    return found
