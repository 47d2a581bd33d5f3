"""Is the file what you meant? Marks left to be checked, feet typed for metres, things outside the yard, times of another place.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

import re

import numpy as np
import shapely

from fencecast.review.asked import Asked
from fencecast.review.finding import NOTE, WARN, Finding
from fencecast.review.ground import JOINT_M, ends_of
from fencecast.units import METRES_PER_FOOT

_MARK = re.compile(r"#.*check this", re.IGNORECASE)
# A height is taken for feet when metres would make it so many times the median of the others (feet make 3.28).
_RATIO = (2.6, 4.2)
_TALLEST_BARRIER_M = 5.0
_ZONE_OFF_H = 3.0


def as_meant(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    return _check_this(asked) + _feet(asked) + _outside(asked) + _place(asked)


def _check_this(asked: Asked) -> list[Finding]:
    lines = [line for line in asked.site.text.splitlines() if not line.lstrip().startswith("#")]
    count = sum(bool(_MARK.search(line)) for line in lines)
    return [Finding("check-this", WARN, "site", "", float(count), "values", 0.0)] if count else []


def _feet(asked: Asked) -> list[Finding]:
    """Lengths that contradict the others by the factor of feet: sections whose ends would meet, heights."""
    site, found = asked.site, []
    for k, section in enumerate(site.perimeter):
        others = [p for j, _, p in ends_of(site) if j != k]
        loose = [p for j, _, p in ends_of(site) if j == k and all(np.hypot(*(p - q)) > JOINT_M for q in others)]
        # An end at the origin is the same in feet and metres, and a fence may end openly: one that would meet is enough.
        meets = [p for p in loose if any(np.hypot(*(p * METRES_PER_FOOT - q)) <= JOINT_M for q in others)]
        if meets:
            facts = {"what": "section", "instead": METRES_PER_FOOT}
            ratio = 1.0 / METRES_PER_FOOT
            found.append(Finding("feet-for-metres", WARN, "section", section.name, ratio, "times", 1.0, facts=facts))
    heights = [(f"camera {c.mark}", float(c.height_m)) for c in site.camera]
    found += _tall(heights, "camera")
    for section in site.perimeter:
        if section.barrier != "none" and section.barrier_height_m > _TALLEST_BARRIER_M:
            facts = {"what": "barrier", "instead": section.barrier_height_m * METRES_PER_FOOT}
            height = float(section.barrier_height_m)
            found.append(Finding("feet-for-metres", WARN, "section", section.name, height, "m", _TALLEST_BARRIER_M, facts=facts))
    return found


def _tall(heights: list[tuple[str, float]], what: str) -> list[Finding]:
    found = []
    for name, height in heights:
        others = [h for other, h in heights if other != name]
        if len(others) >= 2:
            middle = float(np.median(others))
            if _RATIO[0] <= height / middle <= _RATIO[1]:
                facts = {"what": what, "instead": height * METRES_PER_FOOT, "median": middle}
                kind, mark = name.split(" ", 1)
                limit = _RATIO[0] * middle
                found.append(Finding("feet-for-metres", WARN, kind, mark, height, "m", limit, facts=facts))
    return found


def _outside(asked: Asked) -> list[Finding]:
    """Mountings outside the yard; obstacles that lie so far out that they hide nothing from anybody."""
    site, yard = asked.site, asked.yard
    if yard is None:
        return []
    found = []
    for mounting in site.mounting:
        distance = float(max(shapely.distance(shapely.points(np.asarray(mounting.points_m)), yard)))
        if distance > JOINT_M:
            found.append(Finding("outside-yard", WARN, "mounting", mounting.name, distance, "m", JOINT_M))
    x0, y0, x1, y1 = yard.bounds
    size = float(np.hypot(x1 - x0, y1 - y0))
    for obstacle in site.obstacle:
        distance = float(yard.distance(shapely.Polygon(obstacle.footprint_m)))
        if distance > JOINT_M:
            severity = WARN if distance > size else NOTE
            found.append(Finding("outside-yard", severity, "obstacle", obstacle.name, distance, "m", JOINT_M))
    return found


def _place(asked: Asked) -> list[Finding]:
    """A time zone whose clock is hours off the sun at the site's longitude: a sign, or numbers swapped."""
    import datetime
    from zoneinfo import ZoneInfo

    site = asked.site
    longitude, zone = site.site.longitude, site.armed.time_zone if site.armed else None
    if longitude is None or zone is None:
        return []
    at = datetime.datetime(2023, 1, 15, 12, tzinfo=ZoneInfo(zone))
    hours = abs(at.utcoffset().total_seconds() / 3600.0 - longitude / 15.0)
    hours = min(hours, 24.0 - hours)
    if hours <= _ZONE_OFF_H:
        return []
    facts = {"zone": zone, "longitude": longitude}
    return [Finding("place-contradicts", WARN, "site", "", hours, "h", _ZONE_OFF_H, facts=facts)]
