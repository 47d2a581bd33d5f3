"""Why nobody is in view of a place, or nobody is heard: by geometry alone, as data and in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, Point, Polygon

from fencecast.camera import CameraGeometry
from fencecast.estimate.places import touching
from fencecast.estimate.results import Results
from fencecast.estimate.sight import WAIST_M, hidden_by, hiders_of, near_edge_m
from fencecast.estimate.weakest import Place
from fencecast.findings.words import metres_text
from fencecast.site import Site
from fencecast.site.geometry import area_polygon, inward_sign, rule_line, vertices

LOOK_IN_M = 15.0  # how far straight in a rule's line is looked for
DRIFT = 0.6  # of an offset that a path slanted by up to 30 degrees, the default, drifts along the fence (tan 30 degrees)


@dataclass(frozen=True)
class Away:
    """A camera, its distance from the place along the ground [m] and its lens."""

    mark: str
    distance_m: float
    lens: str = ""


@dataclass(frozen=True)
class Unseen:
    """Why nobody is in view, or nobody is heard.

    why: "hidden" behind the obstacle from this camera; "framed": the camera has the place in its picture; "below": within edge_m
    of the camera, below its picture; "behind": as near to it, and it looks elsewhere; "above": it looks this way, and its picture
    ends before the place; "elsewhere": the nearest camera looks elsewhere, turned_rad beside its picture. "unheard": no rule
    listens to the camera; "blocked": the obstacle stands on the rule's line; "end": fence and rule end here; "ends short": the
    rule's line does; "too deep": paths end before they reach it; "corner": within a section, paths beside a corner miss it.
    most: more than half of all crossings miss for it; fence_first: slanting paths meet the next fence before the rule's line.
    """

    why: str
    camera: Away
    obstacle: str = ""
    edge_m: float = math.nan
    turned_rad: float = math.nan
    most: bool = False
    fence_first: bool = False


def camera_text(camera: Away, units: str) -> str:
    return f"{camera.mark}, {metres_text(camera.distance_m, units)} away"


def unseen_words(unseen: Unseen, units: str) -> str:
    camera = camera_text(unseen.camera, units)
    if unseen.why == "hidden":
        return f"Hidden by {the(unseen.obstacle)} from {camera}"
    if unseen.why == "framed":
        many = "most" if unseen.most else "many"
        misses = (
            f"{many} crossings meet the next fence before they reach the rule's line"
            if unseen.fence_first
            else f"{many} crossings are out of view where they pass"
        )
        return f"{camera}, has the place in its picture, yet {misses}"
    if unseen.why == "unheard":
        return f"{camera}, has the place in its picture, but no rule here listens to it: name it in the rule"
    if unseen.why == "ends short":
        return f"{_unarmed(unseen)}: the rule's line ends short of this place"
    if unseen.why == "too deep":
        return f"{_unarmed(unseen)}: paths end before they reach the rule's line; move it nearer to the fence"
    if unseen.why == "corner":
        return f"{_unarmed(unseen)}: beside the corner they pass between fence and rule's line; move it nearer to the fence"
    if unseen.why == "blocked":
        blocked = f"The rule's line is blocked by {the(unseen.obstacle)}"
        return f"{blocked}: nobody gets across it here" if unseen.most else f"{blocked} for some crossings"
    if unseen.why == "end":
        return "The fence and its rule end here: whoever slants past the end meets no line"
    if unseen.why == "below":
        within = metres_text(unseen.edge_m, units)
        return f"No camera assigned here sees the blind ground below {unseen.camera.mark}, within {within}"
    if unseen.why == "behind":
        return f"No camera assigned here sees the blind ground at the foot of {camera}, which looks the other way"
    if unseen.why == "above":
        return f"No camera assigned here sees so far: {camera}, looks this way, but too steeply down: its picture ends before"
    turned = "" if math.isnan(unseen.turned_rad) else f"; the place lies {_degrees(unseen.turned_rad)} beside its picture"
    elsewhere = ", and looks elsewhere" if math.isnan(unseen.turned_rad) else ""
    return f"No camera assigned here looks this way; the nearest is {camera}{elsewhere}{turned}"


def _unarmed(unseen: Unseen) -> str:
    return "No rule is armed here" if unseen.most else "Some crossings meet no rule"


def _degrees(angle_rad: float) -> str:
    degrees = math.degrees(angle_rad)
    return "less than a degree" if degrees < 1.0 else "1 degree" if degrees < 1.5 else f"{degrees:.0f} degrees"


def aside_words(unseen: Unseen, units: str) -> str:
    """`C1, only 5 m away, has it below its picture`: one nearer than the best that does not see the place; '' otherwise."""
    why = {
        "hidden": f"does not see it behind {the(unseen.obstacle)}",
        "below": "has it below its picture",
        "behind": "looks the other way",
        "above": "has it above its picture",
        "elsewhere": "looks elsewhere",
    }.get(unseen.why)
    return f"{unseen.camera.mark}, only {metres_text(unseen.camera.distance_m, units)} away, {why}" if why else ""


def the(name: str) -> str:
    """The name of an obstacle in a sentence: `the Store`."""
    return name if name.lower().startswith(("the ", "a ", "an ")) else f"the {name}"


def misses_the_line(results: Results, place: Place) -> bool:
    """Whether the place is so near to a corner that slanting paths end at the next fence before a rule's offset line.

    A path slants by up to 30 degrees by default, so over an offset it drifts by at most 0.6 of it (tan 30 degrees).
    """
    site = results.site
    offsets = [abs(r.offset_m) for r in site.rule if r.kind == "line" and r.perimeter in (None, place.section)]
    ends = results["segment_end_m"].values[results["section"].values == place.section]
    chainage = float(results.at("chainage_m", segment=place.segment))
    from_end = max(min(chainage, float(ends.max()) - chainage) - 0.5 * float(results.lengths_m[place.segment]), 0.0)
    return bool(offsets) and len(site.perimeter) > 1 and from_end < DRIFT * max(offsets)


def watchers(site: Site, section: str) -> set[str]:
    """Marks of the cameras of all rules that watch a section; a rule on points of its own watches every section."""
    return {mark for rule in site.rule if rule.perimeter in (None, section) for mark in rule.cameras}


def away(view: CameraGeometry, x: float, y: float) -> Away:
    return Away(view.mark, view.distance_m(x, y))


def nearest_of(views: Sequence[CameraGeometry], x: float, y: float) -> CameraGeometry:
    """The nearest camera; of several on one post the one that looks this way."""
    distance = min(view.distance_m(x, y) for view in views)
    there = [view for view in views if view.distance_m(x, y) < distance + 0.5]
    return min(there, key=lambda view: view.off_axis_rad(x, y))


def unseen_of(
    site: Site, views: Sequence[CameraGeometry], nearest: CameraGeometry, x: float, y: float, most: bool, fence_first: bool
) -> Unseen:
    framing = sorted((view for view in views if view.in_frame(x, y, WAIST_M)), key=lambda view: view.distance_m(x, y))
    if framing:
        hiders = hiders_of(site)
        for view in framing:
            obstacle = hidden_by(view, hiders, x, y, WAIST_M)
            if obstacle:
                return Unseen("hidden", away(view, x, y), obstacle)
        return Unseen("framed", away(framing[0], x, y), most=most, fence_first=fence_first)
    camera = away(nearest, x, y)
    edge = near_edge_m(nearest, x, y)
    reach = edge if edge is not None and edge > camera.distance_m else _shortest_edge(nearest)
    beside = nearest.off_axis_rad(x, y) - 0.5 * nearest.horizontal_field_rad
    if reach is not None and reach >= camera.distance_m:
        why = "behind" if nearest.off_axis_rad(x, y) > 0.5 * math.pi else "below"
        return Unseen(why, camera, edge_m=math.ceil(reach))
    ahead = [view for view in views if view.off_axis_rad(x, y) <= 0.5 * view.horizontal_field_rad]
    for view in sorted(ahead, key=lambda view: view.distance_m(x, y)):
        where = view.position_px(x, y, WAIST_M)
        if where is not None and where[1] < -0.5 * view.rows:
            return Unseen("above", away(view, x, y))
    return Unseen("elsewhere", camera, turned_rad=beside if beside > 0.0 else math.nan)


def unheard_of(
    site: Site,
    section: str,
    others: Sequence[CameraGeometry],
    nearest: CameraGeometry,
    x: float,
    y: float,
    from_end_m: float,
    most: bool = True,
    half_m: float = 0.0,
) -> Unseen:
    """The nearest camera that sees the place and that no rule here listens to; without one, why no rule is armed.

    from_end_m: how far from an open end of its section the place begins, infinite without such ends; most: more than half of all
    crossings meet no rule; half_m: half the length of its segment.
    """
    hiders = hiders_of(site)
    for view in sorted(others, key=lambda view: view.distance_m(x, y)):
        if view.in_frame(x, y, WAIST_M) and not hidden_by(view, hiders, x, y, WAIST_M):
            return Unseen("unheard", away(view, x, y))
    rules = [rule for rule in site.rule if rule.kind == "line" and rule.perimeter == section]
    for obstacle in site.obstacle:
        apart = Polygon(obstacle.footprint_m).distance(Point(x, y))
        if rules and apart <= max(abs(rule.offset_m) for rule in rules):
            return Unseen("blocked", away(nearest, x, y), obstacle.name, most=most)
    if rules and from_end_m < DRIFT * max(abs(rule.offset_m) for rule in rules):
        return Unseen("end", away(nearest, x, y))
    deepest = max((rule.offset_m for rule in rules), default=0.0)
    if not most and deepest > 0.0 and _corner_m(site, section, x, y) <= half_m + deepest:
        return Unseen("corner", away(nearest, x, y))
    return Unseen("too deep" if _line_lies_ahead(site, section, x, y) else "ends short", away(nearest, x, y), most=most)


def _corner_m(site: Site, section: str, x: float, y: float) -> float:
    """How far the nearest corner inside a section is that turns towards the inside [m], infinite without one.

    There a line with an offset inwards is mitred, shorter than the fence: a path along the other edge never crosses it.
    """
    fence = next(each for each in site.perimeter if each.name == section)
    corners = vertices(fence)
    closed = bool(np.allclose(corners[0], corners[-1]))
    ways = np.diff(corners, axis=0)
    pairs = zip(ways, np.roll(ways, -1, axis=0)) if closed else zip(ways[:-1], ways[1:])
    turns = [(a[0] * b[1] - a[1] * b[0]) * inward_sign(fence) / (np.hypot(*a) * np.hypot(*b)) for a, b in pairs]
    return min((math.dist(at, (x, y)) for at, turn in zip(corners[1:], turns) if turn > 0.1), default=math.inf)


def _line_lies_ahead(site: Site, section: str, x: float, y: float) -> bool:
    """Whether the way straight in from a point of a section crosses the line or area of a rule that watches it."""
    fence = next(each for each in site.perimeter if each.name == section)
    corners = vertices(fence)
    edges = np.hstack([corners[:-1], corners[1:]])
    nearest = min(edges, key=lambda edge: LineString([edge[:2], edge[2:]]).distance(Point(x, y)))
    along = (nearest[2:] - nearest[:2]) / np.hypot(*(nearest[2:] - nearest[:2]))
    inwards = np.array([-along[1], along[0]]) * inward_sign(fence)
    way = LineString([np.array([x, y]) - 0.1 * inwards, np.array([x, y]) + LOOK_IN_M * inwards])
    shapes = [
        LineString(rule_line(rule, site.perimeter)) if rule.kind == "line" else Polygon(area_polygon(rule, site.perimeter))
        for rule in site.rule
        if rule.perimeter in (None, section)
    ]
    return any(way.intersects(shape) for shape in shapes)


def open_end_m(results: Results, place: Place) -> float:
    """How far from an open end of its section a place's segment begins [m]; infinite where both ends join another section."""
    section = next(s for s in results.sections if s.first <= place.segment < s.stop)
    after, before = touching(results.sections)
    start, end = (float(results.at(f"segment_{name}_m", segment=place.segment)) for name in ("start", "end"))
    ends = [start] if before[section.first] < 0 else []
    ends += [section.length_m - end] if after[section.stop - 1] < 0 else []
    return min(ends, default=math.inf)


def _shortest_edge(view: CameraGeometry) -> float | None:
    """Where the ground enters the picture straight ahead [m from the camera], None when it never does."""
    ahead = (view.x_m + 60.0 * math.sin(view.bearing_rad), view.y_m + 60.0 * math.cos(view.bearing_rad))
    return near_edge_m(view, *ahead)
