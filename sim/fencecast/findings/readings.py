"""One plain sentence for each weak place: what the geometry and the leading cause say, and nothing more.

The sentence names the camera that carries the place (the highest Pd alone in its worst class), how far away it stands,
and what stands in the way. It describes; it promises no remedy.
"""

from __future__ import annotations

import math

import numpy as np

from fencecast.estimate.places import whole
from fencecast.estimate.sight import WAIST_M, hidden_by, hiders_of, near_edge_m, views_of
from fencecast.units import METRES_PER_FOOT

CARRIES_AT_LEAST = 0.05  # a camera whose Pd alone is lower carries nothing


def reading(results, place) -> str:
    """The sentence for one place of `weakest.lowest_places`; one more when its worst class is weak over most of the fence."""
    text = _sentence(results, place)
    return f"{text} Most of the fence is also weak in {place.weather}." if place.widespread else text


def _sentence(results, place) -> str:
    views = {view.mark: view for view in views_of(results.site)}
    watching = watchers(results.site, place.section)
    hiders = hiders_of(results.site)
    x, y = float(results["x_m"].values[place.segment]), float(results["y_m"].values[place.segment])
    alone = results["pd_camera"].values[:, place.weather_index, place.segment]
    marks = [str(mark) for mark in results["camera"].values]
    best = int(np.nanargmax(alone)) if np.isfinite(alone).any() else 0
    carrier = views[marks[best]]
    carries = bool(np.isfinite(alone[best]) and alone[best] >= CARRIES_AT_LEAST)
    watching = [views[mark] for mark in views if mark in watching] or list(views.values())
    nearest = _nearest(watching, x, y)
    units = results.site.units

    name = carrier.mark if carrier.mark[0].isupper() or len(carrier.mark) < 4 else f"Camera {carrier.mark}"
    start = f"{name} carries it from {_away(carrier.distance_m(x, y), units)}"
    if carries and not place.cause:
        return f"{start}; misses are too few to name a cause."
    if carries and not place.weak_in:
        return f"{start}; of its few misses most are {place.cause}."
    if place.cause == "not in view":
        missed = float(results["miss_share"].values[0, place.weather_index, place.segment])
        how_many = "most" if missed > 0.5 else "many"
        if _misses_the_line(results, place):
            misses = f"{how_many} crossings meet the next fence before they reach the rule's line"
        else:
            misses = f"{how_many} crossings are out of view, or no rule is armed, where they pass"
        text = _why_not_in_view(watching, hiders, nearest, x, y, misses, units)
        if carries and f"{carrier.mark}, " not in text:
            text += f"; {carrier.mark}, {_away(carrier.distance_m(x, y), units)} away, carries what is left"
        return text + "."
    if not carries:
        why = {
            "too small": ": a person is too small even at full contrast",
            "too brief": ": crossings are large enough for too few looks",
            "washed out": f": in {place.weather} too little contrast is left",
        }.get(place.cause, "")
        return f"No camera carries it{why}; the nearest, {nearest.mark}, is {_away(nearest.distance_m(x, y), units)} away."
    often = "often " if place.pd >= 0.5 else ""
    if place.cause == "too small":
        return f"{start}: {often}too small there even at full contrast."
    if place.cause == "too brief":
        return f"{start}: large enough there, but {often}for too few looks."
    return f"{start}: in {place.weather} {often}too little contrast is left."


def _misses_the_line(results, place) -> bool:
    """Whether the place is so near to a corner that slanting paths end at the next fence before a rule's offset line.

    A path slants by up to 30 degrees by default, so over an offset it drifts by at most 0.6 of it (tan 30 degrees).
    """
    offsets = [abs(r.offset_m) for r in results.site.rule if r.kind == "line" and r.perimeter in (None, place.section)]
    ends = results["segment_end_m"].values[results["section"].values == place.section]
    chainage = float(results["chainage_m"].values[place.segment])
    half = 0.5 * float(results["segment_end_m"].values[place.segment] - results["segment_start_m"].values[place.segment])
    from_end = max(min(chainage, float(ends.max()) - chainage) - half, 0.0)
    return bool(offsets) and len(results.site.perimeter) > 1 and from_end < 0.6 * max(offsets)


def watchers(site, section: str) -> set[str]:
    """Marks of the cameras of all rules that watch a section; a rule on points of its own watches every section."""
    return {mark for rule in site.rule if rule.perimeter in (None, section) for mark in rule.cameras}


def _nearest(views, x: float, y: float):
    """The nearest camera; of several on one mast the one that looks this way."""
    distance = min(view.distance_m(x, y) for view in views)
    on_mast = [view for view in views if view.distance_m(x, y) < distance + 0.5]
    return min(on_mast, key=lambda view: view.off_axis_rad(x, y))


def _why_not_in_view(views, hiders, nearest, x: float, y: float, misses: str, units: str) -> str:
    framing = [view for view in views if view.in_frame(x, y, WAIST_M)]
    if framing:
        behind = [(view, hidden_by(view, hiders, x, y, WAIST_M)) for view in sorted(framing, key=lambda v: v.distance_m(x, y))]
        hidden = [(view, name) for view, name in behind if name]
        if hidden:
            view, name = hidden[0]
            return f"The {name} hides it from {view.mark}, {_away(view.distance_m(x, y), units)} away"
        view = behind[0][0]
        away = _away(view.distance_m(x, y), units)
        return f"{view.mark}, {away} away, has the place in its picture, yet {misses}"
    distance = nearest.distance_m(x, y)
    edge = near_edge_m(nearest, x, y)
    ahead = _shortest_edge(nearest)
    reach = edge if edge is not None and edge > distance else ahead
    if reach is not None and reach >= distance:
        return f"No camera on watch sees the ground here, within {_away(math.ceil(reach), units)} of mast {nearest.mark}"
    return f"No camera on watch looks here; the nearest, {nearest.mark}, stands {_away(distance, units)} away and looks elsewhere"


def _shortest_edge(view) -> float | None:
    ahead = (view.x_m + 60.0 * math.sin(view.bearing_rad), view.y_m + 60.0 * math.cos(view.bearing_rad))
    return near_edge_m(view, *ahead)


def _away(metres: float, units: str) -> str:
    return f"{whole(metres)} m ({whole(metres / METRES_PER_FOOT)} ft)" if units == "us" else f"{whole(metres)} m"
