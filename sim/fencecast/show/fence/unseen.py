"""The ground beside the fence that no camera has in its picture at waist height, sampled for the key plan."""

from __future__ import annotations

import numpy as np
from shapely import LineString, MultiPoint, Point

from fencecast.estimate.sight import WAIST_M, hidden_by, hiders_of, views_of
from fencecast.show.fence.planview import PlanView

SPACING_MM = 1.8  # on paper: between sampled points, and between the crosses that are drawn
BESIDE_MM = 1.8  # a patch touches the fence when one of its points is this near
DEPTH_M = 12.0  # this far inside the fence, about as far as crossings run


def unseen_ground(view: PlanView) -> list[tuple[float, float]]:
    """Page points [mm] of unseen ground where it reaches the fence, on a square grid of 1.8 mm."""
    from scipy.ndimage import label

    fence = [LineString(line) for line in view.band.lines]
    cameras, hiders = views_of(view.site), hiders_of(view.site)
    xs = np.arange(view.x, view.x + view.width, SPACING_MM)
    ys = np.arange(view.y, view.y + view.height, SPACING_MM)
    unseen = np.zeros((len(ys), len(xs)), dtype=bool)
    beside = np.zeros_like(unseen)
    for j, y in enumerate(ys):
        for i, x in enumerate(xs):
            point = Point(x, y)
            if not _is_yard(view, fence, point) or any(shape.contains(point) for _, shape in view.buildings):
                continue
            distance = min(line.distance(point) for line in fence)
            east, north = view.to_ground(x, y)
            framing = [c for c in cameras if c.in_frame(east, north, WAIST_M)]
            unseen[j, i] = all(hidden_by(c, hiders, east, north, WAIST_M) for c in framing)
            beside[j, i] = distance <= BESIDE_MM
    patches, count = label(unseen, structure=np.ones((3, 3)))
    touching = {int(n) for n in np.unique(patches[beside & unseen])} - {0} if count else set()
    keep = np.isin(patches, list(touching))
    near = MultiPoint([(xs[i], ys[j]) for j, i in zip(*np.nonzero(beside & keep))])
    found = [(float(xs[i]), float(ys[j])) for j, i in zip(*np.nonzero(keep))]
    return [spot for spot in found if near.distance(_foot(fence, Point(spot))) <= BESIDE_MM + SPACING_MM]


def _foot(fence: list[LineString], point: Point) -> Point:
    """The point of the fence that is nearest."""
    line = min(fence, key=lambda each: each.distance(point))
    return line.interpolate(line.project(point))


def _is_yard(view: PlanView, fence: list[LineString], point: Point) -> bool:
    if view.yard is not None:
        return view.yard.contains(point) and 0.6 <= min(line.distance(point) for line in fence) <= DEPTH_M * view.scale
    for k, line in enumerate(fence):
        along = line.project(point)
        nearest = line.interpolate(along)
        inward = -view.band.normal(k, along / view.scale)
        off = (point.x - nearest.x) * inward[0] + (point.y - nearest.y) * inward[1]
        if 0.6 <= off <= DEPTH_M * view.scale and abs(nearest.distance(point) - off) < 1e-6:
            return True
    return False
