"""Is the picture good enough? Resolution, gaits, sky, sun, cut heads, edges of the frame, noise, stated fields.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

import math

import numpy as np

from fencecast.physics.optics import RECTILINEAR
from fencecast.review.asked import Asked
from fencecast.review.cycles import GAITS
from fencecast.review.finding import NOTE, STOP, WARN, Finding, NotAsked, over
from fencecast.review.noise import noise_alarms_a_day
from fencecast.review.optics import Eye
from fencecast.review.sun import hours_in_frame

HEAD_M = 1.8


def picture(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    found = _resolution(asked) + _gaits(asked) + _sky(asked) + _sun(asked) + _over_horizon(asked)
    return found + _heads(asked) + _edges(asked) + _noise(asked) + _stated(asked)


def _resolution(asked: Asked) -> list[Finding]:
    cover, pd = asked.cover, float(asked.site.requirement.pd)
    seen = cover.any_rule(cover.seen("waist"))
    ceiling = cover.per_place(cover.ceiling)
    best = cover.per_place(cover.best_post_ceiling)

    def found(bad: np.ndarray, value: np.ndarray, severity: str) -> list[Finding]:
        def facts(part: np.ndarray) -> dict[str, object]:
            k = part[int(np.argmin(value[part]))]
            return {"least": float(value[k]), "at": float(cover.places.middle_m[k])}

        rows = asked.by_section("resolution", severity, bad, facts=facts)
        return [
            Finding(f.id, f.severity, f.kind, f.name, f.facts["least"], "", pd, f.spans, -1, {**f.facts, "metres": f.value})
            for f in rows
        ]

    stops = found(seen & (ceiling < pd), ceiling, STOP)
    stopped = {f.name for f in stops}
    notes = found(seen & (ceiling >= pd) & (best < pd), best, NOTE)
    return stops + [f for f in notes if f.name not in stopped]


def _reported(asked: Asked) -> np.ndarray:
    """(n,): places inside stretches that earlier checks reported."""
    places, found = asked.cover.places, np.zeros(len(asked.cover.places), dtype=bool)
    for span, _ in asked.reported:
        found |= (places.section == span.section) & (places.middle_m >= span.start_m) & (places.middle_m <= span.end_m)
    return found


def _gaits(asked: Asked) -> list[Finding]:
    """Metres that one gait alone loses, beyond those of the walk (or, without one, of the commonest gait)."""
    cover, pd = asked.cover, float(asked.site.requirement.pd)
    seen, known = cover.any_rule(cover.seen("waist")), _reported(asked)
    limit, found = asked.limit("gait-far-m"), []
    below = cover.per_place(cover.gait_ceiling[:, cover.reference]) < pd
    reference = GAITS[cover.walkers[cover.reference][0].gait].replace("_", " ")
    for g, (walker, share) in enumerate(cover.walkers):
        ceiling = cover.per_place(cover.gait_ceiling[:, g])
        severity = WARN if share >= 0.20 - 1e-9 else NOTE
        more = (ceiling < pd) & (~below if g != cover.reference else True)
        stretches = asked.stretches(seen & more & ~known, severity)
        metres = sum(asked.metres(part) for _, part in stretches)
        if not over(metres, limit):
            continue
        part = np.concatenate([p for _, p in stretches])
        k = part[int(np.argmin(ceiling[part]))]
        facts = {
            "share": share,
            "least": float(ceiling[k]),
            "section": int(cover.places.section[k]),
            "at": float(cover.places.middle_m[k]),
            "than": reference if g != cover.reference else "",
        }
        name = GAITS[walker.gait].replace("_", " ")
        found.append(Finding("gait-far", severity, "gait", name, metres, "m", limit, tuple(s for s, _ in stretches), facts=facts))
    return asked.report(found)


def sky_share(eye: Eye) -> float:
    """Share of the picture's rows above the horizon, on the axis; 0 to 1."""
    t = eye.depression_rad
    if eye.projection == RECTILINEAR:
        off = eye.focal_px * math.tan(t) if abs(t) < 0.5 * math.pi - 1e-6 else math.copysign(math.inf, t)
    else:
        off = eye.focal_px * t
    return min(max((0.5 * eye.rows - off) / eye.rows, 0.0), 1.0)


def _sky(asked: Asked) -> list[Finding]:
    limit = asked.limit("sky-share")
    rows = [(eye, sky_share(eye)) for eye in asked.cover.eyes]
    return [
        Finding("sky", WARN, "camera", eye.mark, share, "", limit, facts={"upper": -math.degrees(eye.upper_edge_rad)})
        for eye, share in rows
        if share > limit
    ]


def _sun(asked: Asked) -> list[Finding]:
    """Hours a year with the sun's disc in the frame; a note where nothing says when the site is armed."""
    site, limit = asked.site, asked.limit("sun-hours")
    open_to_sky = [eye for eye in asked.cover.eyes if eye.upper_edge_rad < 0.0]
    if not open_to_sky:
        return []
    if site.site.latitude is None or site.site.longitude is None:
        asked.not_asked.append(NotAsked("sun", "[site] latitude and longitude"))
        return []
    if not asked.weather:
        asked.not_asked.append(NotAsked("sun", "run it without --no-weather"))
        return []
    hours, armed = hours_in_frame(site, open_to_sky)
    return [
        Finding("sun", WARN if armed else NOTE, "camera", eye.mark, value, "hours a year", limit, facts={"armed": armed})
        for eye, value in zip(open_to_sky, hours)
        if value > limit
    ]


def _over_horizon(asked: Asked) -> list[Finding]:
    return [
        Finding("over-horizon", STOP, "camera", eye.mark, math.degrees(-eye.lower_edge_rad), "degrees", 0.0)
        for eye in asked.cover.eyes
        if eye.lower_edge_rad <= 0.0
    ]


def _heads(asked: Asked) -> list[Finding]:
    """Metres that a camera has in view from the waist down only, where nobody has a head in view."""
    cover, found = asked.cover, []
    heads = cover.any_rule(cover.seen("head"))
    for c, eye in enumerate(cover.eyes):
        upper = eye.upper_edge_rad
        if upper <= 0.0 or eye.height_m <= HEAD_M:
            continue
        leaves = (eye.height_m - HEAD_M) / math.tan(upper)
        beyond = np.hypot(cover.samples.point[:, 0] - eye.x_m, cover.samples.point[:, 1] - eye.y_m) > leaves
        mine = cover.heard[:, c] & cover.views["waist"][:, c] & beyond
        stretches = asked.stretches(cover.any_rule(mine) & ~heads, WARN)
        if stretches:
            metres = sum(asked.metres(part) for _, part in stretches)
            spans = tuple(span for span, _ in stretches)
            found.append(Finding("head-cut", WARN, "camera", eye.mark, metres, "m", 0.0, spans, facts={"leaves": leaves}))
    return asked.report(found)


def _edges(asked: Asked) -> list[Finding]:
    """Metres where every camera that has the waist in view cuts the walker, or has him in the outer part of the width."""
    cover, edge = asked.cover, asked.limit("edge-share")
    good = np.zeros(len(cover.samples), dtype=bool)
    point = cover.samples.point
    for c, eye in enumerate(cover.eyes):
        u, _, mapped = eye.image_of(point[:, 0], point[:, 1], 1.0)
        in_middle = mapped & (np.abs(u) <= (0.5 - edge) * eye.columns)
        whole = cover.frames["feet"][:, c] & cover.frames["head"][:, c] & cover.views["waist"][:, c]
        good |= cover.heard[:, c] & in_middle & (whole | cover.resolves[:, c])
    seen = cover.any_rule(cover.seen("waist"))
    return asked.by_section("edge-of-frame", WARN, seen & ~cover.any_rule(good))


def _noise(asked: Asked) -> list[Finding]:
    """Alarms from sensor noise alone, for each kind of sensor."""
    limit, found = asked.limit("noise-alarms"), []
    for name in dict.fromkeys(camera.sensor for camera in asked.site.camera):
        mine = [camera for camera in asked.site.camera if camera.sensor == name]
        sensor, d = asked.site.sensors[name], asked.site.decision
        rate = noise_alarms_a_day(
            sensor.columns * sensor.rows, d.looks_per_s, d.min_pixels, d.threshold_sigma.middle(), d.confirm[0], d.confirm[1]
        )
        if rate > limit:
            facts = {"sensor": name}
            marks = ", ".join(camera.mark for camera in mine)
            found.append(
                Finding("noise-alarms", STOP if rate > 1.0 else WARN, "camera", marks, rate, "a day", limit, facts=facts)
            )
    return found


def _stated(asked: Asked) -> list[Finding]:
    """Horizontal field by focal length and sensor against the one that the data sheet states."""
    limit, found = asked.limit("stated-field-deg"), []
    seen = set()
    for camera, eye in zip(asked.site.camera, asked.cover.eyes):
        stated = asked.site.lenses[camera.lens].stated_field_deg
        if stated is None or (camera.lens, camera.sensor) in seen:
            continue
        seen.add((camera.lens, camera.sensor))
        computed = math.degrees(eye.horizontal_field_rad)
        if abs(computed - stated) > limit:
            other = "equidistant" if eye.projection == RECTILINEAR else "rectilinear"
            half = 0.5 * eye.columns / eye.focal_px
            fits = math.degrees(2.0 * half if other == "equidistant" else 2.0 * math.atan(half))
            facts = {"computed": computed, "stated": stated, "other": other if abs(fits - stated) <= limit else ""}
            name = f"{camera.lens} on {camera.sensor}"
            found.append(Finding("stated-field", STOP, "lens", name, abs(computed - stated), "degrees", limit, facts=facts))
    return found
