"""Why a place is weak, by the geometry and the leading cause: as data, and as one plain sentence made from it.

A reading names the camera that does best there (the highest Pd alone in the place's worst class), how far away it is, and what
stands in the way. It describes; it promises no remedy.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.camera import CameraGeometry
from fencecast.estimate.results import Results
from fencecast.estimate.sight import WAIST_M, hidden_by, hiders_of, near_edge_m, views_of
from fencecast.estimate.weakest import Place
from fencecast.findings.words import metres_text
from fencecast.site import Site

BEST_AT_LEAST = 0.05  # a camera whose Pd alone is lower is of no use there


@dataclass(frozen=True)
class Away:
    """A camera and its distance from the place along the ground [m]."""

    mark: str
    distance_m: float


@dataclass(frozen=True)
class Unseen:
    """Why nobody is in view. why: "hidden" behind the obstacle from this camera; "framed": the camera has the place in its
    picture; "below": within edge_m of the camera, below its picture; "elsewhere": the nearest camera looks elsewhere.

    most: more than half of all crossings miss for it; fence_first: slanting paths meet the next fence before the rule's line.
    """

    why: str
    camera: Away
    obstacle: str = ""
    edge_m: float = math.nan
    most: bool = False
    fence_first: bool = False


@dataclass(frozen=True)
class Reading:
    """What is known of one place. best: None where no camera alone reaches `BEST_AT_LEAST`; unseen: for the cause "not in view".

    weak: in any class; often: more than half of the crossings raise an alarm all the same; widespread: its worst class is weak
    over most of the fence.
    """

    weather: str
    cause: str | None
    best: Away | None
    nearest: Away
    weak: bool
    often: bool
    widespread: bool
    unseen: Unseen | None = None


def reading(results: Results, place: Place) -> str:
    """The sentence for one place of `weakest.lowest_places`; one more when its worst class is weak over most of the fence."""
    return reading_sentence(reading_of(results, place), results.units)


def reading_of(results: Results, place: Place) -> Reading:
    """What geometry and causes say of one place."""
    site, segment, row = results.site, place.segment, place.weather_index
    views = {view.mark: view for view in views_of(site)}
    x, y = (float(results.at(name, segment=segment)) for name in ("x_m", "y_m"))
    assigned = watchers(site, place.section)
    watching = [view for mark, view in views.items() if mark in assigned] or list(views.values())
    nearest = _nearest(watching, x, y)
    alone = results.at("pd_camera", weather=row, segment=segment)
    best = None
    if np.isfinite(alone).any() and np.nanmax(alone) >= BEST_AT_LEAST:
        best = _away(views[results.marks[int(np.nanargmax(alone))]], x, y)
    unseen = None
    if place.cause == "not in view":
        missed = float(results.at("miss_share", cause=0, weather=row, segment=segment))
        unseen = _unseen(site, watching, nearest, x, y, missed > 0.5, _misses_the_line(results, place))
    weak, often = bool(place.weak_in), place.pd >= 0.5
    return Reading(place.weather, place.cause, best, _away(nearest, x, y), weak, often, place.widespread, unseen)


def reading_sentence(r: Reading, units: str = "si") -> str:
    """`Best camera here: C7, 30 m away; in heavy rain often too little contrast is left.`"""
    text = _sentence(r, units) + "."
    return f"{text} Most of the fence is also weak in {r.weather}." if r.widespread else text


def _sentence(r: Reading, units: str) -> str:
    best = "" if r.best is None else f"Best camera here: {_camera_text(r.best, units)}"
    if best and not r.cause:
        return f"{best}; misses are too few to name a cause"
    if best and not r.weak:
        return f"{best}; of its few misses most are {r.cause}"
    if r.unseen is not None:
        text = _unseen_words(r.unseen, units)
        named = r.unseen.why != "below" and r.best == r.unseen.camera
        return f"{text}. {best}" if best and not named else text
    often = "often " if r.often else ""
    if not best:
        why = {
            "too small": ": a person is too small even at full contrast",
            "too brief": ": crossings are large enough for too few looks",
            "washed out": f": in {r.weather} too little contrast is left",
        }.get(r.cause or "", "")
        return f"No camera is of use here{why}; the nearest is {_camera_text(r.nearest, units)}"
    if r.cause == "too small":
        return f"{best}; {often}too small there even at full contrast"
    if r.cause == "too brief":
        return f"{best}; large enough there, but {often}for too few looks"
    return f"{best}; in {r.weather} {often}too little contrast is left"


def _camera_text(camera: Away, units: str) -> str:
    return f"{camera.mark}, {metres_text(camera.distance_m, units)} away"


def _unseen_words(unseen: Unseen, units: str) -> str:
    camera = _camera_text(unseen.camera, units)
    if unseen.why == "hidden":
        return f"The {unseen.obstacle} hides it from {camera}"
    if unseen.why == "framed":
        many = "most" if unseen.most else "many"
        misses = (
            f"{many} crossings meet the next fence before they reach the rule's line"
            if unseen.fence_first
            else f"{many} crossings are out of view, or no rule is armed, where they pass"
        )
        return f"{camera}, has the place in its picture, yet {misses}"
    if unseen.why == "below":
        return f"No camera assigned here sees the ground below {unseen.camera.mark}, within {metres_text(unseen.edge_m, units)}"
    return f"No camera assigned here looks this way; the nearest is {camera}, and looks elsewhere"


def _misses_the_line(results: Results, place: Place) -> bool:
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


def _away(view: CameraGeometry, x: float, y: float) -> Away:
    return Away(view.mark, view.distance_m(x, y))


def _nearest(views: Sequence[CameraGeometry], x: float, y: float) -> CameraGeometry:
    """The nearest camera; of several on one post the one that looks this way."""
    distance = min(view.distance_m(x, y) for view in views)
    there = [view for view in views if view.distance_m(x, y) < distance + 0.5]
    return min(there, key=lambda view: view.off_axis_rad(x, y))


def _unseen(
    site: Site, views: Sequence[CameraGeometry], nearest: CameraGeometry, x: float, y: float, most: bool, fence_first: bool
) -> Unseen:
    framing = sorted((view for view in views if view.in_frame(x, y, WAIST_M)), key=lambda view: view.distance_m(x, y))
    if framing:
        hiders = hiders_of(site)
        for view in framing:
            obstacle = hidden_by(view, hiders, x, y, WAIST_M)
            if obstacle:
                return Unseen("hidden", _away(view, x, y), obstacle)
        return Unseen("framed", _away(framing[0], x, y), most=most, fence_first=fence_first)
    camera = _away(nearest, x, y)
    edge = near_edge_m(nearest, x, y)
    reach = edge if edge is not None and edge > camera.distance_m else _shortest_edge(nearest)
    if reach is not None and reach >= camera.distance_m:
        return Unseen("below", camera, edge_m=math.ceil(reach))
    return Unseen("elsewhere", camera)


def _shortest_edge(view: CameraGeometry) -> float | None:
    """Where the ground enters the picture straight ahead [m from the camera], None when it never does."""
    ahead = (view.x_m + 60.0 * math.sin(view.bearing_rad), view.y_m + 60.0 * math.cos(view.bearing_rad))
    return near_edge_m(view, *ahead)
