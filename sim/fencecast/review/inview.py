"""Which metres no camera has in view, why, and which only one has; and cameras that a rule does not take although they help.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

import math

import numpy as np

from fencecast.review.asked import Asked
from fencecast.review.finding import NOTE, STOP, WARN, Finding, Span, over
from fencecast.review.optics import prism_shadow_m, sheet_shadow_m
from fencecast.site.geometry import section_length_m, vertices

WAIST_M = 1.0
_CORNER_M = 5.0
_BEND_DEG = 30.0
# What lies so little beside the field counts as under the mast: whoever tilts a camera also turns it so far (judgement).
_WIDER_DEG = 10.0
# Ground so near to a mast is its foot on all sides; before a camera it is so wide: who looks along a fence has it at his foot.
_FOOT_M, _STRIP_M = 1.5, 2.5


def in_view(asked: Asked) -> list[Finding]:
    """All checks of views, in their order."""
    found = _unseen(asked) + _feet(asked) + _no_partner(asked) + _not_heard(asked)
    return found + _gates(asked) + _one_camera(asked)


def _near_mast(asked: Asked) -> np.ndarray:
    """(s, c): whether a sample lies within 1.5 of the blind distance at the waist, and half a metre, of a camera, all round."""
    cover = asked.cover
    reach = np.array([1.5 * eye.blind_m(1.0) + 0.5 for eye in cover.eyes])
    x = np.array([eye.x_m for eye in cover.eyes])
    y = np.array([eye.y_m for eye in cover.eyes])
    point = cover.samples.point
    return np.hypot(point[:, :1] - x, point[:, 1:] - y) <= reach


def _under_mast_of(asked: Asked) -> np.ndarray:
    """(s, c): near a camera and before it below its frame, or at its foot. What else is behind or beside it is under no mast."""
    x, y = asked.cover.samples.point.T
    foot = []
    for eye in asked.cover.eyes:
        along, right = eye.along_right(x, y)
        foot.append((np.hypot(along, right) <= _FOOT_M) | ((along >= 0.0) & (np.abs(right) <= _STRIP_M)))
    return _near_mast(asked) & (_beneath(asked) | np.stack(foot, axis=1))


def _beneath(asked: Asked) -> np.ndarray:
    """(s, c): whether tilting a camera down would bring in a sample's waist."""
    x, y = asked.cover.samples.point.T
    return np.stack([eye.beneath(x, y, WAIST_M, math.radians(_WIDER_DEG)) for eye in asked.cover.eyes], axis=1)


def _unseen(asked: Asked) -> list[Finding]:
    """Metres with no waist in view, told apart by why: under a mast, hidden, in the wedge of a corner, outside every frame."""
    cover = asked.cover
    unseen = cover.met & ~cover.any_rule(cover.seen("waist"))
    framed = cover.any_rule((cover.frames["waist"] & cover.heard).any(axis=1))
    near = _under_mast_of(asked) & cover.heard
    mast = unseen & ~framed & cover.any_rule(near.any(axis=1))
    found = _under_mast(asked, mast, near)
    found += _hidden(asked, unseen & framed)
    rest = asked.stretches(unseen & ~framed & ~mast, STOP)
    wedge = [each for each in rest if _at_corner(asked, each[0])]
    found += asked.of_stretches("corner-wedge", STOP, wedge)
    return found + _not_in_view(asked, [each for each in rest if each not in wedge])


def _not_in_view(asked: Asked, stretches: list) -> list[Finding]:
    """Metres in no frame; how many of them lie behind or beside a camera that stands near, where tilting it would not help."""
    cover = asked.cover
    near = _near_mast(asked) & ~_under_mast_of(asked) & cover.heard

    def facts(part: np.ndarray) -> dict[str, object]:
        rows = np.isin(cover.samples.place, part)
        cameras = np.flatnonzero(near[rows].any(axis=0))
        metres = asked.metres(part[cover.any_rule(near.any(axis=1))[part]])
        return {"behind": metres, "cameras": asked.marks(cameras)}

    return asked.of_stretches("not-in-view", STOP, stretches, facts=facts)


def _under_mast(asked: Asked, bad: np.ndarray, near: np.ndarray) -> list[Finding]:
    cover = asked.cover
    low = cover.per_place(cover.ceiling) < asked.site.requirement.pd
    groups: dict[str, list] = {}
    for span, part in asked.stretches(bad, STOP):
        mine = np.isin(cover.samples.place, part)
        groups.setdefault(asked.marks(np.flatnonzero(near[mine].any(axis=0))), []).append((span, part))
    found = []
    for marks, stretches in groups.items():
        part = np.concatenate([p for _, p in stretches])
        wide = np.zeros(len(cover.places), dtype=bool)
        for span, _ in stretches:
            wide |= (
                (cover.places.section == span.section)
                & (cover.places.start_m < span.end_m + 5.0)
                & (cover.places.end_m > span.start_m - 5.0)
            )
        mine = np.isin(cover.samples.place, part)
        helps = np.flatnonzero((cover.resolves & ~cover.heard)[mine].any(axis=0))
        tilts = cover.any_rule((_beneath(asked) & near).any(axis=1))
        facts = {
            "tilts": asked.metres(part[tilts[part]]),
            "below": float(cover.places.length_m[wide & low].sum()),
            "helps": asked.marks(helps),
        }
        spans = tuple(span for span, _ in stretches)
        found.append(Finding("under-mast", STOP, "camera", marks, asked.metres(part), "m", 0.0, spans, facts=facts))
    return asked.report(found)


def _hidden(asked: Asked, bad: np.ndarray) -> list[Finding]:
    """Metres that every camera which has them in its frame has behind something, by what hides most of them."""
    cover = asked.cover
    by_name: dict[tuple[str, str], list] = {}
    for span, part in asked.stretches(bad, STOP):
        mine = np.flatnonzero(np.isin(cover.samples.place, part))
        by_name.setdefault(_hider(asked, mine), []).append((span, part))
    found = []
    for (kind, name), many in by_name.items():
        part = np.concatenate([p for _, p in many])
        rows = np.isin(cover.samples.place, part)
        cameras = asked.marks(np.flatnonzero((cover.frames["waist"] & cover.heard)[rows].any(axis=0)))
        spans = tuple(span for span, _ in many)
        found.append(Finding("hidden", STOP, kind, name, asked.metres(part), "m", 0.0, spans, facts={"cameras": cameras}))
    return asked.report(found)


def _hider(asked: Asked, samples: np.ndarray) -> tuple[str, str]:
    """Kind and name of what hides the waist at most of some samples."""
    cover, counts = asked.cover, {}
    x, y = cover.samples.point[samples].T
    for c, eye in enumerate(cover.eyes):
        framed = (cover.frames["waist"] & cover.heard)[samples, c]
        for prism in cover.hiders.prisms:
            key = ("obstacle", prism.name)
            counts[key] = counts.get(key, 0) + int((framed & (prism_shadow_m(eye, prism, x, y) > WAIST_M)).sum())
        for sheet in cover.hiders.sheets:
            key = ("barrier", sheet.name)
            counts[key] = counts.get(key, 0) + int((framed & (sheet_shadow_m(eye, sheet, x, y) > WAIST_M)).sum())
    return max(counts, key=lambda key: counts[key])


def _at_corner(asked: Asked, span) -> bool:
    """Whether all of a stretch lies within 5 m of an end of its section, or of a bend of more than 30 degrees."""
    section = asked.site.perimeter[span.section]
    corners = vertices(section)
    edges = np.diff(corners, axis=0)
    chain = np.concatenate([[0.0], np.cumsum(np.hypot(*edges.T))])
    bearing = np.degrees(np.arctan2(edges[:, 0], edges[:, 1]))
    turn = np.abs((np.diff(bearing) + 180.0) % 360.0 - 180.0)
    at = [0.0, section_length_m(section), *chain[1:-1][turn > _BEND_DEG]]
    return any(abs(span.start_m - a) <= _CORNER_M + 1e-6 and abs(span.end_m - a) <= _CORNER_M + 1e-6 for a in at)


def _feet(asked: Asked) -> list[Finding]:
    cover = asked.cover
    waist = cover.any_rule(cover.seen("waist"))
    bad = waist & ~cover.any_rule(cover.seen("feet"))
    lying = waist & ~cover.any_rule(cover.seen("lying"))
    return asked.by_section("feet-unseen", WARN, bad, facts=lambda part: {"lying": asked.metres(part[lying[part]])})


def _no_partner(asked: Asked) -> list[Finding]:
    """Metres under a mast that cameras elsewhere have in view, and none of them resolves well enough."""
    cover = asked.cover
    near, waist = _under_mast_of(asked) & cover.heard, cover.views["waist"]
    seen = cover.any_rule(cover.seen("waist"))
    found = []
    for post in np.unique(cover.post):
        mine = cover.post == post
        blind = cover.any_rule(near[:, mine].any(axis=1) & ~(waist & cover.heard)[:, mine].any(axis=1))
        helped = cover.any_rule((cover.resolves & cover.heard)[:, ~mine].any(axis=1))
        own = cover.any_rule((cover.resolves & cover.heard)[:, mine].any(axis=1))
        stretches = asked.stretches(blind & seen & ~helped & ~own, WARN)
        if stretches:
            part = np.concatenate([p for _, p in stretches])
            rows = np.isin(cover.samples.place, part)
            cameras = np.flatnonzero(mine & near[rows].any(axis=0))
            spans = tuple(span for span, _ in stretches)
            name = asked.marks(cameras)
            found += asked.report([Finding("no-partner", WARN, "camera", name, asked.metres(part), "m", 0.0, spans)])
    return found


def _not_heard(asked: Asked) -> list[Finding]:
    """Metres that only a camera resolves whose alarms the rule there does not take."""
    cover, site = asked.cover, asked.site
    used = {mark for rule in site.rule for mark in rule.cameras}
    held = cover.any_rule((cover.resolves & cover.heard).any(axis=1))
    unseen = cover.met & ~cover.any_rule(cover.seen("waist"))
    low = cover.per_place(cover.ceiling) < site.requirement.pd
    found = []
    for c, eye in enumerate(cover.eyes):
        for number in range(len(site.rule)):
            mine = (cover.samples.rule == number) & cover.resolves[:, c] & ~cover.heard[:, c]
            bad = cover.any_rule(mine) & ~held
            stretches = asked.stretches(bad)
            metres = sum(asked.metres(part) for _, part in stretches)
            if not over(metres, asked.limit("not-heard-m")) or eye.mark not in used:
                continue
            closes = any((unseen | low)[part].any() for _, part in stretches)
            spans = tuple(span for span, _ in stretches)
            name, facts = f"{eye.mark} in rule {number + 1}", {"rule": number + 1, "camera": eye.mark}
            limit = asked.limit("not-heard-m")
            found.append(Finding("not-heard", WARN if closes else NOTE, "camera", name, metres, "m", limit, spans, facts=facts))
    return found


def _gates(asked: Asked) -> list[Finding]:
    """The least number of cameras that resolve somebody in a gate, where all of it is in view."""
    cover, found = asked.cover, []
    count = cover.per_place((cover.resolves & cover.heard).sum(axis=1))
    seen, limit = cover.any_rule(cover.seen("waist")), asked.limit("gate-cameras")
    for k, section in enumerate(asked.site.perimeter):
        for gate in section.gates:
            mine = (cover.places.section == k) & (cover.places.middle_m >= gate.from_m) & (cover.places.middle_m <= gate.to_m)
            if mine.any() and seen[mine].all() and count[mine].min() < limit:
                least = float(count[mine].min())
                severity = WARN if least < 1 else NOTE
                span = (Span(k, gate.from_m, gate.to_m),)
                found.append(Finding("gate", severity, "gate", gate.name, least, "cameras", limit, span, worse=-1))
    return asked.report(found)


def _one_camera(asked: Asked) -> list[Finding]:
    cover = asked.cover
    count = cover.per_place((cover.resolves & cover.heard).sum(axis=1))
    lone = float(cover.places.length_m[count == 1].sum())
    held = float(cover.places.length_m[count >= 1].sum())
    if lone < asked.limit("least-stretch-m"):
        return []
    return [Finding("one-camera", NOTE, "site", "", lone, "m", 0.0, facts={"held": held})]
