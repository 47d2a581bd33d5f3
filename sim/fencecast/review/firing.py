"""Does the rule fire in time? Looks at a runner, areas too thin, dwells too long, sides reversed, lines at wrong depths.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from fencecast.review.asked import Asked
from fencecast.review.cover import paths_of
from fencecast.review.cycles import GAITS, Walker, cycles_of_looks, look_times, near_enough
from fencecast.review.finding import NOTE, STOP, WARN, Finding
from fencecast.review.ground import own_ground
from fencecast.site.geometry import area_polygon, edge_lengths_m, inward_normal_at, section_length_m

_FAST = 0.95  # of the runners are slower
_HALF = 0.5
_BESIDE_M = (0.2, 15.0)


def in_time(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    return _dwell(asked) + _areas(asked) + _reversed(asked) + _offsets(asked)


def runner_of(asked: Asked) -> Walker:
    """The fastest gait that occurs, at the speed that 95 % of its people stay below."""
    who = asked.site.intruder
    names = [name for name in GAITS if who.gaits.get(name, 0.0) > 0.0]
    fastest = max(names, key=lambda name: who.speed_m_s[name].quantile(_FAST))
    walker = next(w for w, _ in asked.cover.walkers if GAITS[w.gait] == fastest)
    return replace(walker, speed_m_s=who.speed_m_s[fastest].quantile(_FAST))


def _dwell(asked: Asked) -> list[Finding]:
    """Looks with half a runner in the frame, of the camera that has most, where a waist is in view at all.

    Of lines alone: an area that is left too soon is another check's.
    """
    cover, site = asked.cover, asked.site
    m, n = site.decision.confirm
    runner = runner_of(asked)
    paths = paths_of(site, cover.places, cover.samples)
    most, lines = np.zeros(len(cover.samples)), ~paths.area
    for c, eye in enumerate(cover.eyes):
        ask = np.flatnonzero(lines & cover.heard[:, c] & near_enough(eye, 1.8, cover.samples.point, cover.cycles_50, 15.0))
        if len(ask):
            mine = paths.take(ask)
            times = look_times(mine, runner, float(site.decision.looks_per_s), n)
            share = cycles_of_looks(eye, cover.hiders, mine, runner, times)[1]
            most[ask] = np.maximum(most[ask], (share >= _HALF).sum(axis=1))
    seen = cover.any_rule(cover.seen("waist") & lines) & ~cover.any_rule(~lines)
    looks = cover.per_place(most)

    def facts(part: np.ndarray) -> dict[str, object]:
        return {"looks": float(looks[part].min()), "speed": runner.speed_m_s}

    found: list[Finding] = []
    for severity, bad in ((STOP, looks < m), (WARN, (looks >= m) & (looks < m + 1))):
        for f in asked.by_section("dwell", severity, seen & bad, facts=facts):
            more = {**f.facts, "metres": f.value, "m": m}
            if all(f.name != other.name for other in found):
                found.append(Finding("dwell", severity, f.kind, f.name, f.facts["looks"], "looks", m + 1.0, f.spans, -1, more))
    return found


def _areas(asked: Asked) -> list[Finding]:
    """Areas that a runner leaves before m looks, or before the dwell is over."""
    site, found = asked.site, []
    runner, m = runner_of(asked), site.decision.confirm[0]
    for number, rule in enumerate(site.rule):
        if rule.kind != "area":
            continue
        polygon = shapely.Polygon(area_polygon(rule, site.perimeter))
        width = 2.0 * float(shapely.maximum_inscribed_circle(polygon).length)
        stays = width / runner.speed_m_s
        mine = asked.cover.samples.place[asked.cover.samples.rule == number]
        others = asked.cover.samples.place[asked.cover.samples.rule != number]
        severity = NOTE if len(mine) and np.isin(mine, others).all() else STOP
        name, facts = str(number + 1), {"width": width, "speed": runner.speed_m_s, "stays": stays}
        least = m / float(site.decision.looks_per_s)
        if stays < least:
            found.append(Finding("area-thin", severity, "rule", name, stays, "s", least, worse=-1, facts=facts))
        if rule.dwell_s > stays:
            found.append(Finding("dwell-too-long", severity, "rule", name, rule.dwell_s, "s", stays, facts=facts))
    return found


def _reversed(asked: Asked) -> list[Finding]:
    """Sections whose inside looks out of the yard; without a yard, whose cameras beside them stand outside."""
    site, yard, found = asked.site, asked.yard, []
    for k, section in enumerate(site.perimeter):
        lengths = edge_lengths_m(section)
        longest = int(np.argmax(lengths))
        middle = float(lengths[:longest].sum() + 0.5 * lengths[longest])
        normal = inward_normal_at(section, np.array([middle]))[0]
        at = asked.cover.places
        nearest = np.flatnonzero(at.section == k)
        point = at.point[nearest[int(np.argmin(np.abs(at.middle_m[nearest] - middle)))]]
        if yard is not None and yard.boundary.distance(shapely.Point(point)) < 0.05:
            if not yard.covers(shapely.Point(point + 0.2 * normal)):
                facts = {"inside": section.inside, "x": float(point[0]), "y": float(point[1])}
                found.append(Finding("inside-reversed", STOP, "section", section.name, 1.0, "", 0.0, facts=facts))
            continue
        if yard is not None and yard.covers(shapely.Point(point)):
            continue  # a fence or wall within the yard may face either way
        inside, beside = _vote(asked, k)
        if beside and inside / beside <= 0.2:
            facts = {"inside": section.inside, "outside": beside - inside, "beside": beside}
            share = inside / beside
            found.append(Finding("inside-reversed", WARN, "section", section.name, share, "", 0.2, worse=-1, facts=facts))
    return found


def _vote(asked: Asked, k: int) -> tuple[int, int]:
    """Cameras beside a section (0.2 to 15 m), and how many of them stand on its inner side."""
    places, inside, beside = asked.cover.places, 0, 0
    mine = np.flatnonzero(places.section == k)
    length = section_length_m(asked.site.perimeter[k])
    for eye in asked.cover.eyes:
        dx, dy = eye.x_m - places.point[mine, 0], eye.y_m - places.point[mine, 1]
        nearest = int(np.argmin(dx * dx + dy * dy))
        off = dx[nearest] * places.normal[mine[nearest], 0] + dy[nearest] * places.normal[mine[nearest], 1]
        along = np.hypot(dx[nearest], dy[nearest])
        # Past an end a camera is beside nothing, unless it is nearly in line.
        past = places.middle_m[mine[nearest]] < 0.3 or places.middle_m[mine[nearest]] > length - 0.3
        if _BESIDE_M[0] <= abs(off) <= _BESIDE_M[1] and (not past or along - abs(off) <= 6.0):
            beside += 1
            inside += off > 0.0
    return int(inside), beside


def _offsets(asked: Asked) -> list[Finding]:
    site, found = asked.site, []
    speed = site.intruder.speed_m_s["walk"].middle()
    own = own_ground(site, asked.yard)
    for number, rule in enumerate(site.rule):
        name = str(number + 1)
        if rule.kind == "line" and rule.perimeter is not None:
            if rule.offset_m < 0.0:
                found.append(Finding("rule-outside", WARN, "rule", name, rule.offset_m, "m", 0.0, worse=-1))
            deep = asked.limit("rule-deep-m")
            if rule.offset_m > deep:
                facts = {"seconds": rule.offset_m / speed}
                found.append(Finding("rule-deep", WARN, "rule", name, rule.offset_m, "m", deep, facts=facts))
        if rule.kind == "area" and own is not None:
            outside = shapely.Polygon(area_polygon(rule, site.perimeter)).difference(own).area
            if outside > 1.0:
                found.append(Finding("area-outside", STOP, "rule", name, float(outside), "m2", 1.0))
    return found
