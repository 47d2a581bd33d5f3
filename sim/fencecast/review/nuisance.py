"""What raises alarms and is no intruder: passers at the line, a size gate that costs crawlers, stimuli that no camera can have.

Tests: tests/review/test_check_nuisance.py, tests/review/test_checks.py.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from fencecast.physics.acceptance import PERSON_M
from fencecast.review.asked import Asked
from fencecast.review.cover import view_at
from fencecast.review.cycles import GAITS, Walker
from fencecast.review.finding import WARN, Finding, NotAsked
from fencecast.review.optics import Eye
from fencecast.site.stimuli import BodyStimulus, BurstStimulus, resolved

_STEP_M = 0.01
_WAIST_M = 1.0
_NEAREST = 0.95  # one passer in twenty comes nearer
_LOWEST = 0.05


def nuisance(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    if not asked.site.stimulus:
        key = "[[stimulus]]: nuisance alarms are not asked for, noise alarms are those of sensor noise alone"
        asked.not_asked += [NotAsked(id, key) for id in ("passers-near-line", "never-on-ground", "source-unseen")]
        return _size_gate(asked)
    stimuli = resolved(asked.site)
    bodies = [each for each in stimuli if isinstance(each, BodyStimulus)]
    bursts = [each for each in stimuli if isinstance(each, BurstStimulus)]
    return _passers(asked, bodies) + _size_gate(asked) + _never_on_ground(asked, bodies) + _unseen(asked, bursts)


def foot_error_m(eye: Eye, point: np.ndarray, normal: np.ndarray, pixels: float) -> np.ndarray:
    """One standard deviation, along `normal` (n, 2), of where feet at ground points (n, 2) seem to stand [m].

    pixels: sd of the foot point in each axis of the picture. The picture is inverted point by point: mostly it is metres a pixel
    along the sight line times how square that meets the line. Infinite where no ground can be seen, as at the horizon.
    """
    x, y = point.T
    u, v, mapped = eye.image_of(x, y, 0.0)
    (du_x, dv_x), (du_y, dv_y) = (
        tuple((moved - at) / _STEP_M for moved, at in zip(eye.image_of(x + dx, y + dy, 0.0)[:2], (u, v)))
        for dx, dy in ((_STEP_M, 0.0), (0.0, _STEP_M))
    )
    determinant = du_x * dv_y - du_y * dv_x
    with np.errstate(divide="ignore", invalid="ignore"):
        by_u = (normal[:, 0] * dv_y - normal[:, 1] * dv_x) / determinant
        by_v = (normal[:, 1] * du_x - normal[:, 0] * du_y) / determinant
    error = pixels * np.hypot(by_u, by_v)
    return np.where(mapped & np.isfinite(error), error, np.inf)


def _passers(asked: Asked, bodies: list[BodyStimulus]) -> list[Finding]:
    """Metres of fence where passers come nearer to the line than the error of their foot point there, section by section."""
    cover, samples, places = asked.cover, asked.cover.samples, asked.cover.places
    passers = [each for each in bodies if each.way == "along" and each.silhouette == "person"]
    pixels = float(asked.site.decision.foot_point_px)
    count = len(places)
    near, error, who, by = np.full(count, np.inf), np.zeros(count), np.full(count, -1), np.full(count, -1)
    for number, passer in enumerate(passers):
        point, distance, ask = _nearest(asked, passer)
        for c, eye in enumerate(cover.eyes):
            rows = np.flatnonzero(ask & cover.heard[:, c])
            rows = rows[view_at(eye, cover.hiders, point[rows], _WAIST_M)[1]]
            wrong = foot_error_m(eye, point[rows], places.normal[samples.place[rows]], pixels)
            # Of the places' samples and cameras the one whose error is largest beside the distance.
            for row, off in zip(rows[np.isfinite(wrong)], wrong[np.isfinite(wrong)]):
                k = samples.place[row]
                if distance[row] - off < near[k] - error[k]:
                    near[k], error[k], who[k], by[k] = distance[row], off, number, c

    def facts(part: np.ndarray) -> dict[str, object]:
        k = part[int(np.argmin(near[part] - error[part]))]
        names = {"distance": float(near[k]), "error": float(error[k])}
        return {**names, "who": passers[who[k]].name, "camera": cover.eyes[by[k]].mark}

    return asked.by_section("passers-near-line", WARN, near < error, facts=facts)


def _nearest(asked: Asked, passer: BodyStimulus) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Where the nearest of the passers is at every sample (s, 2), how far that is from the rule's line or area (s,) [m], and
    which samples' sections they pass (s,)."""
    samples, places = asked.cover.samples, asked.cover.places
    names = [section.name for section in asked.site.perimeter]
    asked_of = np.array([not passer.perimeters or name in passer.perimeters for name in names])
    mine = asked_of[places.section[samples.place]]
    if passer.at is None:
        offset = passer.offset_m.quantile(_NEAREST)
        point = places.point[samples.place] + offset * places.normal[samples.place]
        return point, np.abs(samples.depth_m - offset), mine
    road = shapely.LineString(passer.at.points_m)
    at = shapely.points(samples.point)
    point = shapely.get_coordinates(shapely.line_interpolate_point(road, shapely.line_locate_point(road, at)))
    return point, shapely.distance(road, at), mine


def end_on_ratios(walkers: list[tuple[Walker, float]]) -> dict[str, tuple[float, float]]:
    """For every gait that occurs (with its share of the intruders): the side of somebody of median stature seen end on, in shares
    of an upright person's, and the share; largest first."""
    height, breadth, _ = PERSON_M
    found = {}
    for walker, share in walkers:
        tall, broad, _ = walker.size_m(False)
        found[GAITS[walker.gait]] = (math.sqrt(tall * broad / (height * breadth)), share)
    return dict(sorted(found.items(), key=lambda row: -row[1][0]))


def _size_gate(asked: Asked) -> list[Finding]:
    low = float(asked.site.decision.size_gate[0])
    lost = {gait: row for gait, row in end_on_ratios(asked.cover.walkers).items() if row[0] < low}
    if not lost:
        return []
    facts = {
        "ratios": tuple((gait, ratio) for gait, (ratio, _) in lost.items()),
        "share": sum(share for _, share in lost.values()),
    }
    least = min(ratio for ratio, _ in lost.values())
    return [Finding("size-gate-low", WARN, "site", "", low, "", least, facts=facts)]


def _never_on_ground(asked: Asked, bodies: list[BodyStimulus]) -> list[Finding]:
    highest = max(eye.height_m for eye in asked.cover.eyes)
    found = []
    for body in bodies:
        if body.way != "over":
            continue
        base = body.base_m.quantile(_LOWEST)
        if body.base_of_barrier:
            sections = [each for each in asked.site.perimeter if not body.perimeters or each.name in body.perimeters]
            base *= min(0.0 if each.barrier == "none" else float(each.barrier_height_m) for each in sections)
        if base >= highest:
            found.append(Finding("never-on-ground", WARN, "stimulus", body.name, base, "m", highest))
    return found


def _unseen(asked: Asked, bursts: list[BurstStimulus]) -> list[Finding]:
    """Things that stand somewhere, such as a branch or a vent, and that no camera has in its picture."""
    found = []
    for burst in bursts:
        if burst.at is None:
            continue
        point = np.array(burst.at.points_m, dtype=float)
        eyes = [eye for eye in asked.cover.eyes if not burst.cameras or eye.mark in burst.cameras]
        seeing = sum(bool(view_at(eye, asked.cover.hiders, point, burst.at.height_m)[1].any()) for eye in eyes)
        if not seeing:
            found.append(Finding("source-unseen", WARN, "stimulus", burst.name, 0.0, "cameras", 1.0, worse=-1))
    return found
