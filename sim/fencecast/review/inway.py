"""What stands in the way, or helps: roofs and crates at the fence, free ground beside it, walls before a lens, what is moved.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from fencecast.review.asked import Asked
from fencecast.review.cover import view_at
from fencecast.review.finding import NOTE, STOP, WARN, Finding, NotAsked, Span
from fencecast.review.optics import Eye, hiders_of
from fencecast.site.geometry import vertices

_RAYS = 41
_NEAR_M = 3.0
_INTO_M = 0.01


def in_the_way(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    return _at_the_fence(asked) + _clear_zone(asked) + _own_wall(asked) + _moveable(asked)


def _nearest(asked: Asked, obstacle, barriers: bool) -> tuple[float, int, float]:
    """Distance of an obstacle to the fence, with section and chainage there; barriers: only to sections that have one."""
    shape = shapely.Polygon(obstacle.footprint_m)
    found = (math.inf, 0, 0.0)
    for k, section in enumerate(asked.site.perimeter):
        if barriers and section.barrier == "none":
            continue
        line = shapely.LineString(vertices(section))
        distance = float(line.distance(shape))
        if distance < found[0]:
            at = shapely.get_coordinates(shapely.shortest_line(line, shape))[0]
            found = (distance, k, float(line.project(shapely.Point(at))))
    return found


def _at_the_fence(asked: Asked) -> list[Finding]:
    """What somebody could climb on to get over a barrier: at the fence, or a jump from it."""
    roof, aid, found = asked.limit("roof-route-m"), asked.limit("climbing-aid-m"), []
    for obstacle in asked.site.obstacle:
        distance, k, at = _nearest(asked, obstacle, barriers=True)
        if not math.isfinite(distance):
            continue
        section = asked.site.perimeter[k]
        if obstacle.height_m <= 0.5 * section.barrier_height_m:
            continue
        facts = {"height": obstacle.height_m, "section": section.name, "at": at, "barrier": section.barrier_height_m}
        spans = (Span(k, at, at),)
        for id, severity, limit in (("roof-route", STOP, roof), ("climbing-aid", WARN, aid)):
            if distance <= limit:
                found.append(Finding(id, severity, "obstacle", obstacle.name, distance, "m", limit, spans, worse=-1, facts=facts))
                break
    return sorted(found, key=lambda f: f.id != "roof-route")


def _clear_zone(asked: Asked) -> list[Finding]:
    limit = asked.limit("clear-zone-m")
    near = [(*_nearest(asked, obstacle, barriers=False), obstacle) for obstacle in asked.site.obstacle]
    near = sorted((row for row in near if row[0] < limit), key=lambda row: row[0])
    if not near:
        return []
    distance, _, _, nearest = near[0]
    facts = {"nearest": nearest.name, "count": len(near)}
    return [Finding("clear-zone", NOTE, "site", "", distance, "m", limit, worse=-1, facts=facts)]


def blocked_share(eye: Eye, shapes: list[tuple[str, shapely.Geometry, float]]) -> tuple[float, str]:
    """Share of 41 rays over the width that meet something taller than the lens within 3 m, and what most of them meet."""
    half = 0.5 * eye.horizontal_field_rad
    angles = eye.bearing_rad + np.linspace(-half, half, _RAYS)
    here = np.array([eye.x_m, eye.y_m])
    ends = here + _NEAR_M * np.stack([np.sin(angles), np.cos(angles)], axis=1)
    rays = shapely.linestrings(np.stack([np.broadcast_to(here, ends.shape), ends], axis=1))
    met, by_name = np.zeros(_RAYS, dtype=bool), {}
    for name, shape, height in shapes:
        if height > eye.height_m:
            hit = shapely.intersects(rays, shape)
            by_name[name] = int(hit.sum())
            met |= hit
    worst = max(by_name, key=lambda name: by_name[name]) if by_name else ""
    return float(met.mean()), worst


def _own_wall(asked: Asked) -> list[Finding]:
    """A lens that looks along or into the wall that it hangs on."""
    limit = asked.limit("own-wall-share")
    shapes = [(o.name, shapely.Polygon(o.footprint_m).buffer(-_INTO_M), o.height_m) for o in asked.site.obstacle]
    shapes = [row for row in shapes if not row[1].is_empty]
    found = []
    for eye in asked.cover.eyes if shapes else ():
        share, name = blocked_share(eye, shapes)
        if share > limit:
            found.append(Finding("own-wall", WARN, "camera", eye.mark, share, "", limit, facts={"obstacle": name}))
    return found


def _moveable(asked: Asked) -> list[Finding]:
    """Metres that nobody has in view any more when everything moveable is as high as it becomes."""
    site, cover = asked.site, asked.cover
    moved = {o.name: float(o.most_height_m or o.height_m) for o in site.obstacle if o.moveable}
    if not moved:
        if site.obstacle:
            asked.not_asked.append(NotAsked("moveable", "moveable = true on what comes and goes, with most_height_m"))
        return []
    hiders = hiders_of(site, moved)
    seen = np.zeros(len(cover.samples), dtype=bool)
    for c, eye in enumerate(cover.eyes):
        seen |= cover.heard[:, c] & view_at(eye, hiders, cover.samples.point, 1.0)[1]
    lost = cover.any_rule(cover.seen("waist")) & ~cover.any_rule(seen)
    stretches = asked.stretches(lost)
    metres = sum(asked.metres(part) for _, part in stretches)
    if metres <= 1.0:
        return []
    spans, facts = tuple(span for span, _ in stretches), {"highest": max(moved.values())}
    return asked.report([Finding("moveable", WARN, "obstacle", ", ".join(moved), metres, "m", 1.0, spans, facts=facts)])
