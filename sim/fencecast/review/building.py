"""Will it be built as drawn? Errors of aim, heights, sway.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

import math

import numpy as np

from fencecast.review.asked import Asked
from fencecast.review.cover import camera_cycles, gait_ceilings, paths_of
from fencecast.review.finding import NOTE, WARN, Finding, NotAsked, over
from fencecast.site.tolerances import has_mounting_errors, mounting_errors

_FARTHEST_M = 1000.0  # a flatter line of sight than a degree has no far end
_STATED_DEG = 1.0  # of one sd, where the file gives none: what a careful installer achieves (judgement)


def building(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    return _tolerance(asked) + _aims(asked) + _metres_per_degree(asked) + _low(asked) + _sway(asked)


def _tolerance(asked: Asked) -> list[Finding]:
    if not has_mounting_errors(asked.site):
        return [Finding("tolerance-zero", WARN, "site", "", 0.0, "degrees", 0.5, worse=-1)]
    return []


def _errors_of_aim(site, camera) -> dict[str, tuple[float, float]]:
    """Two sd of bearing and depression of a camera [degrees], each way, by the word for it."""
    bearing, depression, _ = mounting_errors(site, camera)
    turn, tilt = 2.0 * bearing or _STATED_DEG, 2.0 * depression or _STATED_DEG
    return {"lower": (0.0, tilt), "higher": (0.0, -tilt), "to the right": (turn, 0.0), "to the left": (-turn, 0.0)}


def _aims(asked: Asked) -> list[Finding]:
    """Metres that a walker's ceiling falls below the requirement when one camera is two sd off in its worst direction."""
    cover, site = asked.cover, asked.site
    reference, pd = cover.reference, float(site.requirement.pd)
    walker = cover.walkers[reference][0]
    paths = paths_of(site, cover.places, cover.samples)
    m, n = site.decision.confirm
    own = cover.cycles[:, :, reference : reference + 1]
    before = cover.per_place(gait_ceilings(own, cover.heard, cover.post, cover.cycles_50)[:, 0]) >= pd
    limit, found = asked.limit("aim-gap-m"), []
    for c, eye in enumerate(cover.eyes):
        sizes = _errors_of_aim(site, site.camera[c])
        mine = np.flatnonzero(cover.heard[:, c] & (own[:, c, 0] > 0.0))
        needed = mine[before[cover.samples.place[mine]]]
        if not len(needed):
            continue
        worst: Finding | None = None
        for word, (bearing, depression) in sizes.items():
            moved = eye.turned(math.radians(bearing), math.radians(depression))
            cycles = own.copy()
            part = paths.take(needed)
            cycles[needed, c, 0] = camera_cycles(
                site, moved, cover.hiders, part, walker, cover.samples.point[needed], int(m), int(n)
            )
            after = cover.per_place(gait_ceilings(cycles, cover.heard, cover.post, cover.cycles_50)[:, 0]) >= pd
            stretches = asked.stretches(before & ~after)
            metres = sum(asked.metres(p) for _, p in stretches)
            if over(metres, limit) and (worst is None or metres > worst.value + 1e-9):
                facts = {"degrees": abs(bearing + depression), "way": word}
                spans = tuple(span for span, _ in stretches)
                worst = Finding("aim-opens-gap", WARN, "camera", eye.mark, metres, "m", limit, spans, facts=facts)
        if worst:
            found.append(worst)
    return found


def _metres_per_degree(asked: Asked) -> list[Finding]:
    """How far the ground under the axis moves when a camera is tilted by a degree, at the far end that it resolves."""
    cover, limit, rows = asked.cover, asked.limit("metres-per-degree"), []
    good = cover.resolves & cover.heard
    for c, eye in enumerate(cover.eyes):
        if not good[:, c].any():
            continue
        point = cover.samples.point[good[:, c]]
        far = float(np.hypot(point[:, 0] - eye.x_m, point[:, 1] - eye.y_m).max())
        down = math.atan2(eye.height_m, far)
        one = math.radians(1.0)
        more = min(eye.height_m / math.tan(down - one) - far, _FARTHEST_M) if down > one else _FARTHEST_M
        if more > limit:
            rows.append((more, far - eye.height_m / math.tan(down + one), far, eye.mark))
    if not rows:
        return []
    more, less, far, mark = max(rows)
    facts = {"less": less, "far": far, "mark": mark, "count": len(rows)}
    return [Finding("metres-per-degree", NOTE, "site", "", more, "m", limit, facts=facts)]


def _low(asked: Asked) -> list[Finding]:
    limit = asked.limit("low-mount-m")
    return [
        Finding("low-mount", WARN, "camera", eye.mark, eye.height_m, "m", limit, worse=-1)
        for eye in asked.cover.eyes
        if eye.height_m < limit
    ]


def _sway(asked: Asked) -> list[Finding]:
    limit, found = asked.limit("sway-px"), []
    stated = [camera for camera in asked.site.camera if camera.sway_deg is not None]
    if not stated:
        asked.not_asked.append(NotAsked("sway", "sway_deg of cameras on masts that sway"))
    for camera, eye in zip(asked.site.camera, asked.cover.eyes):
        if camera.sway_deg is not None:
            pixels = math.tan(math.radians(camera.sway_deg)) * eye.focal_px
            if pixels > limit:
                facts = {"degrees": camera.sway_deg}
                found.append(Finding("sway", WARN, "camera", eye.mark, pixels, "pixels", limit, facts=facts))
    return found
