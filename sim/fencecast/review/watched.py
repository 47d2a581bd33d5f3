"""Is every metre watched? Places without a rule or without a line to cross; rules, sections and cameras that miss each other.

Tests: tests/review/test_checks.py, test_watched.py.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from fencecast.review.asked import Asked
from fencecast.review.finding import STOP, WARN, Finding
from fencecast.review.ground import JOINT_M, ends_of
from fencecast.review.inview import in_view
from fencecast.review.places import directions, free_of, meetings, path_meets
from fencecast.site.geometry import vertices

_ANGLES = 11


def watched(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    return _no_rule(asked) + _idle(asked) + _lines(asked) + _apart(asked) + _no_fence(asked) + in_view(asked)


def _rules_of(site, k: int) -> list:
    return [rule for rule in site.rule if rule.perimeter in (None, site.perimeter[k].name)]


def _no_rule(asked: Asked) -> list[Finding]:
    bare = np.array([not _rules_of(asked.site, k) for k in range(len(asked.site.perimeter))])
    return asked.by_section("no-rule", STOP, bare[asked.cover.places.section])


def _idle(asked: Asked) -> list[Finding]:
    used = {mark for rule in asked.site.rule for mark in rule.cameras}
    return [
        Finding("idle-camera", WARN, "camera", camera.mark, 0.0, "rules", 1.0, worse=-1)
        for camera in asked.site.camera
        if camera.mark not in used
    ]


def _lines(asked: Asked) -> list[Finding]:
    """Places whose paths meet no rule's line, or pass beside its end: 11 approach angles, of those that stay inside."""
    site, places = asked.site, asked.cover.places
    quantiles = (np.arange(_ANGLES) + 0.5) / _ANGLES
    angles = [math.radians(site.intruder.approach_angle_deg.quantile(float(p))) for p in quantiles]
    counted, missed = np.zeros(len(places)), np.zeros(len(places))
    ruled = np.array([bool(_rules_of(site, k)) for k in range(len(site.perimeter))])[places.section]
    where = np.flatnonzero(ruled)
    for angle in angles:
        ways = directions(places, where, angle)
        free = free_of(site, places.point[where], ways)
        possible = _stays_inside(asked, where, ways, free[:, 1])
        meets = _meets_any(asked, where, ways, free)
        counted[where] += possible
        missed[where] += possible & ~meets
    straight = ~_meets_any(asked, where, places.normal[where], places.free_m[where])
    share = np.zeros(len(places))
    share[where] = np.where(counted[where] > 0, missed[where] / np.maximum(counted[where], 1), straight)
    none = share > 0.5
    none[where] |= straight & (share[where] >= 0.5 - 1e-9)
    found = asked.by_section("misses-rule", STOP, none)
    # A ring of a line has no end that one could pass beside.
    open_line = np.array([any(_is_open(rule, site) for rule in _rules_of(site, k)) for k in range(len(site.perimeter))])
    beside = (share > asked.limit("line-end-share")) & ~none & open_line[places.section]
    by_metres = asked.by_section("line-end", WARN, beside, facts=lambda part: {"share": float(share[part].max())})
    limit = asked.limit("line-end-share")
    return found + [
        Finding(f.id, f.severity, f.kind, f.name, f.facts["share"], "", limit, f.spans, facts={"metres": f.value})
        for f in by_metres
    ]


def _is_open(rule, site) -> bool:
    if rule.kind != "line":
        return False
    if rule.perimeter is not None:
        return not next(s for s in site.perimeter if s.name == rule.perimeter).closed
    return tuple(rule.points_m[0]) != tuple(rule.points_m[-1])


def _meets_any(asked: Asked, where: np.ndarray, ways: np.ndarray, free_m: np.ndarray) -> np.ndarray:
    """Which straight paths from some places meet the line or area of a rule that watches there; free_m: how far they run."""
    site, places = asked.site, asked.cover.places
    met = np.zeros(len(where), dtype=bool)
    for rule in site.rule:
        mine = np.array([rule.perimeter in (None, section.name) for section in site.perimeter])[places.section[where]]
        if mine.any():
            met[mine] |= ~np.isnan(path_meets(site, rule, places, where[mine], ways[mine], free_m[mine])[0])
    return met


def _stays_inside(asked: Asked, where: np.ndarray, ways: np.ndarray, free_m: np.ndarray) -> np.ndarray:
    """Whether the inner leg comes so deep that it is an intrusion before an obstacle ends it (after free_m) or it leaves over
    another edge of the fence."""
    site, places = asked.site, asked.cover.places
    deepest = max([3.0, *(rule.offset_m + 1.0 for rule in site.rule)])
    edges = np.vstack([np.hstack([v[:-1], v[1:]]) for v in map(vertices, site.perimeter)])
    along, _ = meetings(places.point[where], ways, edges)
    cosine = np.einsum("ij,ij->i", ways, places.normal[where])
    slant = deepest / np.maximum(cosine, 1e-3)
    return (free_m >= np.minimum(slant, site.intruder.path_m) - 1e-6) & ~((along > 1e-4) & (along < slant[:, None])).any(axis=1)


def _apart(asked: Asked) -> list[Finding]:
    """An end of a section that meets nothing, with another end a few metres away."""
    site = asked.site
    if len(site.perimeter) < 2:
        return []
    lines = [shapely.LineString(vertices(section)) for section in site.perimeter]
    loose = []
    for k, side, point in ends_of(site):
        others = [j for j in range(len(lines)) if j != k]
        if all(lines[j].distance(shapely.Point(point)) > JOINT_M for j in others):
            loose.append((k, side, point))
    pairs = sorted(
        (float(np.hypot(*(a[2] - b[2]))), i, j)
        for i, a in enumerate(loose)
        for j, b in enumerate(loose)
        if i < j and a[0] != b[0]
    )
    used: set[int] = set()
    found = []
    for gap, i, j in pairs:
        if gap <= asked.limit("section-gap-m") and not used & {i, j}:
            used |= {i, j}
            names = [site.perimeter[loose[n][0]].name for n in (i, j)]
            x, y = 0.5 * (loose[i][2] + loose[j][2])
            facts = {"first": names[0], "second": names[1], "x": float(x), "y": float(y)}
            found.append(Finding("sections-apart", WARN, "gap", f"{names[0]} to {names[1]}", gap, "m", JOINT_M, facts=facts))
    return found


def _no_fence(asked: Asked) -> list[Finding]:
    """A camera that rules hear, and that has no waist in view where they watch; in areas also nobody further in."""
    cover, site = asked.cover, asked.site
    used = {mark for rule in site.rule for mark in rule.cameras}
    areas = np.array([site.rule[k].kind == "area" for k in cover.samples.rule], dtype=bool)
    found = []
    for c, eye in enumerate(cover.eyes):
        within = areas & (cover.cycles[:, c].max(axis=1, initial=0.0) >= 0.5 * cover.cycles_50)
        useful = cover.views["waist"][:, c] | within
        if eye.mark in used and len(cover.samples) and not useful.any():
            facts = {"bearing": math.degrees(eye.bearing_rad) % 360.0, "depression": math.degrees(eye.depression_rad)}
            found.append(Finding("sees-no-fence", STOP, "camera", eye.mark, 0.0, "m", 1.0, worse=-1, facts=facts))
    return found
