"""Why nobody is in view of a place, or nobody is heard: by geometry alone, as data and in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fencecast.camera import CameraGeometry
from fencecast.estimate.results import Results
from fencecast.estimate.sight import WAIST_M, hidden_by, hiders_of, near_edge_m
from fencecast.estimate.weakest import Place
from fencecast.findings.words import metres_text
from fencecast.site import Site


@dataclass(frozen=True)
class Away:
    """A camera, its distance from the place along the ground [m] and its lens."""

    mark: str
    distance_m: float
    lens: str = ""


@dataclass(frozen=True)
class Unseen:
    """Why nobody is in view. why: "hidden" behind the obstacle from this camera; "framed": the camera has the place in its
    picture; "below": within edge_m of the camera, below its picture; "above": the camera looks this way, and its picture ends
    before the place; "elsewhere": the nearest camera looks elsewhere, turned_rad beside its picture; "unheard": no rule listens
    to the camera; "unarmed": no rule is armed.

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
        return f"The {unseen.obstacle} hides it from {camera}"
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
    if unseen.why == "unarmed":
        return "No rule is armed where crossings pass here: its line ends short, or paths end before they reach it; move the line"
    if unseen.why == "below":
        return f"No camera assigned here sees the ground below {unseen.camera.mark}, within {metres_text(unseen.edge_m, units)}"
    if unseen.why == "above":
        return f"No camera assigned here sees so far: {camera}, looks this way, but its picture ends before"
    turned = "" if math.isnan(unseen.turned_rad) else f", {math.degrees(unseen.turned_rad):.0f} degrees beside it"
    return f"No camera assigned here looks this way; the nearest is {camera}, and looks elsewhere{turned}"


def misses_the_line(results: Results, place: Place) -> bool:
    """Whether the place is so near to a corner that slanting paths end at the next fence before a rule's offset line.

    A path slants by up to 30 degrees by default, so over an offset it drifts by at most 0.6 of it (tan 30 degrees).
    """
    site = results.site
    offsets = [abs(r.offset_m) for r in site.rule if r.kind == "line" and r.perimeter in (None, place.section)]
    ends = results["segment_end_m"].values[results["section"].values == place.section]
    chainage = float(results.at("chainage_m", segment=place.segment))
    from_end = max(min(chainage, float(ends.max()) - chainage) - 0.5 * float(results.lengths_m[place.segment]), 0.0)
    return bool(offsets) and len(site.perimeter) > 1 and from_end < 0.6 * max(offsets)


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
    if reach is not None and reach >= camera.distance_m:
        return Unseen("below", camera, edge_m=math.ceil(reach))
    ahead = [view for view in views if view.off_axis_rad(x, y) <= 0.5 * view.horizontal_field_rad]
    for view in sorted(ahead, key=lambda view: view.distance_m(x, y)):
        where = view.position_px(x, y, WAIST_M)
        if where is not None and where[1] < -0.5 * view.rows:
            return Unseen("above", away(view, x, y))
    beside = nearest.off_axis_rad(x, y) - 0.5 * nearest.horizontal_field_rad
    return Unseen("elsewhere", camera, turned_rad=beside if beside > 0.0 else math.nan)


def unheard_of(site: Site, others: Sequence[CameraGeometry], nearest: CameraGeometry, x: float, y: float) -> Unseen:
    """The nearest camera that sees the place and that no rule here listens to; without one, that no rule is armed."""
    hiders = hiders_of(site)
    for view in sorted(others, key=lambda view: view.distance_m(x, y)):
        if view.in_frame(x, y, WAIST_M) and not hidden_by(view, hiders, x, y, WAIST_M):
            return Unseen("unheard", away(view, x, y))
    return Unseen("unarmed", away(nearest, x, y))


def _shortest_edge(view: CameraGeometry) -> float | None:
    """Where the ground enters the picture straight ahead [m from the camera], None when it never does."""
    ahead = (view.x_m + 60.0 * math.sin(view.bearing_rad), view.y_m + 60.0 * math.cos(view.bearing_rad))
    return near_edge_m(view, *ahead)
