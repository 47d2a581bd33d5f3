"""Fences as they were drawn, in metres: mended, closed, joined at their ends, with an inside."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from fencecast.maps.features import AREA, Feature
from fencecast.site.geometry import first_crossing, section_length_m, signed_area_m2

NEAR_POINT_M = 0.01
JOIN_M = 0.30
GAP_M = 3.0
GAP_SHARE = 0.05
LEAST_FENCE_M = 2.0
LEAST_AREA_M2 = 0.5
RING_M = 0.5
VOTERS_M = 60.0
SAME_M = 0.001


@dataclass
class Fence:
    """One fence, ready for `site.geometry`: points (n, 2) [m], closed, inside. sure: inside was given or follows from a ring.

    feature: None for a fence of an older file that was not drawn again.
    """

    name: str
    points_m: np.ndarray
    closed: bool = False
    inside: str = "left"
    sure: bool = False
    why: str = ""
    feature: Feature | None = None
    values: dict = field(default_factory=dict)
    gates: list = field(default_factory=list)

    @property
    def ring(self) -> np.ndarray:
        return np.vstack([self.points_m, self.points_m[:1]]) if self.closed else self.points_m

    @property
    def line(self) -> shapely.LineString:
        return shapely.LineString(self.ring)


def without_near_points(points: np.ndarray, closed: bool) -> tuple[np.ndarray, int]:
    """Points at least 1 cm from the one before them, and how many were left out."""
    kept = [points[0]]
    for point in points[1:]:
        if np.hypot(*(point - kept[-1])) >= NEAR_POINT_M:
            kept.append(point)
        elif point is points[-1] and len(kept) > 1:
            kept[-1] = point
    if closed and len(kept) > 1 and np.hypot(*(kept[-1] - kept[0])) < NEAR_POINT_M:
        kept.pop()
    return np.array(kept), len(points) - len(kept)


def crossing_words(points: np.ndarray, closed: bool, degrees: Callable[[np.ndarray], str]) -> str:
    """What is said of a line or outline that meets itself, or ""; degrees: words for a point [m] on the map."""
    found = first_crossing(points, closed)
    if found is None:
        return ""
    one, two, (x, y) = found
    return (
        f"edges {one} and {two} (edge 1 runs from point 1 to point 2) cross or touch at [{x:.2f}, {y:.2f}] m"
        f"{degrees(np.array([x, y]))}; move a corner there"
    )


def make_fence(feature: Feature, name: str, values: dict, degrees: Callable, wrong: Callable, note: Callable) -> Fence | None:
    """The fence of a line or area [m], or None when it has no usable shape; what is wrong and what was mended is reported."""
    points, closed = feature.points, feature.shape == AREA
    if not closed and len(points) > 3 and np.hypot(*(points[0] - points[-1])) < SAME_M:
        points, closed = points[:-1], True
    points, left = without_near_points(points, closed)
    if left:
        note(f"{feature.label}: {left} point{'s' * (left > 1)} nearer than 1 cm to another left out")
    if len(points) < (3 if closed else 2):
        wrong(feature, "a fence needs two points in different places, a ring three")
        return None
    fence = Fence(name, points, closed, feature=feature, values=values)
    length_m = section_length_m(fence)
    if length_m < LEAST_FENCE_M:
        wrong(feature, f"a fence of {length_m:.2g} m: at least {LEAST_FENCE_M:g} m are expected; are its numbers not degrees?")
        return None
    words = crossing_words(points, closed, degrees)
    if words:
        wrong(feature, words)
        return None
    if len(feature.rings) > 1:
        note(f"{feature.label}: the hole in this area is not taken; draw an inner fence as a line of its own")
    return fence


class _Ends:
    """Ends of open fences by cells of the ground, so that many fences do not each ask all others."""

    def __init__(self, fences: Iterable[Fence]):
        self.cells: dict[tuple[int, int], list[tuple[Fence, int]]] = {}
        for fence in fences:
            for which in () if fence.closed else (0, -1):
                self.cells.setdefault(self._cell(fence.points_m[which]), []).append((fence, which))

    @staticmethod
    def _cell(place: np.ndarray) -> tuple[int, int]:
        return int(place[0] // GAP_M), int(place[1] // GAP_M)

    def near(self, place: np.ndarray, reach_m: float) -> list[tuple[float, Fence, int]]:
        """(distance, fence, which end) within `reach_m`, at most GAP_M."""
        x, y = self._cell(place)
        found = []
        for cell in ((x + dx, y + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)):
            for fence, which in self.cells.get(cell, ()):
                distance = math.dist(fence.points_m[which], place)
                if distance <= reach_m:
                    found.append((distance, fence, which))
        return found

    def take(self, fence: Fence) -> None:
        """Forget a fence."""
        for which in (0, -1):
            cell = self.cells.get(self._cell(fence.points_m[which]), [])
            cell[:] = [end for end in cell if end[0] is not fence]


def join_ends(fences: Sequence[Fence], opened: Iterable[str], wrong: Callable, note: Callable) -> None:
    """Closes rings and joins ends that all but meet; tells gaps. opened: names of fences that are meant to be open."""
    _close(fences, set(opened), wrong, note)
    ends = _Ends(fences)
    order = {id(fence): k for k, fence in enumerate(fences)}
    pairs: list[tuple[float, int, int, Fence, int, Fence, int]] = []
    for one in fences:
        for a in () if one.closed else (0, -1):
            for gap, two, b in ends.near(one.points_m[a], GAP_M):
                if order[id(one)] < order[id(two)]:
                    pairs.append((gap, order[id(one)], order[id(two)], one, a, two, b))
    used: set[tuple[int, int]] = set()
    for gap, _, _, one, a, two, b in sorted(pairs, key=lambda pair: pair[:3]):
        if (id(one), a) in used or (id(two), b) in used:
            continue
        used |= {(id(one), a), (id(two), b)}
        if gap > JOIN_M:
            note(f'the ends of "{one.name}" and "{two.name}" lie {gap:.2f} m apart: nothing crosses in that gap in the model')
        elif gap > SAME_M and not (one.feature is None and two.feature is None):
            middle = 0.5 * (one.points_m[a] + two.points_m[b])
            meet = one.points_m[a] if one.feature is None else two.points_m[b] if two.feature is None else middle
            for fence, which in ((one, a), (two, b)):
                fence.points_m = fence.points_m.copy()
                fence.points_m[which] = meet
            note(f'the ends of "{one.name}" and "{two.name}" lay {gap:.2f} m apart and were joined')


def _close(fences: Sequence[Fence], opened: set[str], wrong: Callable, note: Callable) -> None:
    ends = _Ends(fences)
    for fence in fences:
        if fence.closed or len(fence.points_m) < 4 or fence.feature is None or fence.name in opened:
            continue
        gap = math.dist(fence.points_m[0], fence.points_m[-1])
        if all(any(other is not fence for _, other, _ in ends.near(fence.points_m[which], GAP_M)) for which in (0, -1)):
            continue
        if gap <= JOIN_M:
            fence.points_m, fence.closed = fence.points_m[:-1], True
            note(f'the ends of "{fence.name}" lay {gap:.2f} m apart: closed')
        elif gap < max(GAP_M, GAP_SHARE * section_length_m(fence)):
            wrong(fence.feature, f'its two ends lie {gap:.2f} m apart: close it, or type --open "{fence.name}"')


def find_insides(fences: Sequence[Fence], voters: Sequence[np.ndarray]) -> None:
    """Which side of each drawn fence is inside; voters: places of cameras and buildings (2,) [m]."""
    rings = _rings(fences)
    for fence in fences:
        if fence.feature is None:
            continue
        given = fence.values.get("inside")
        if fence.closed:
            fence.inside, fence.sure = ("left" if signed_area_m2(fence.points_m) > 0.0 else "right"), True
        elif given:
            fence.inside, fence.sure = str(given), True
        elif id(fence) in rings:
            fence.inside, fence.sure = rings[id(fence)], True
        else:
            _vote(fence, voters)


def _rings(fences: Sequence[Fence]) -> dict[int, str]:
    """Inside by fence (id) of those that close a ring together, ends within 0.5 m."""
    inside: dict[int, str] = {}
    ends, done = _Ends(fences), set()
    for first in fences:
        if first.closed or id(first) in done:
            continue
        chain, end = [(first, True)], first.points_m[-1]
        done.add(id(first))
        ends.take(first)
        while near := min(ends.near(end, RING_M), key=lambda found: found[0], default=None):
            _, fence, which = near
            done.add(id(fence))
            ends.take(fence)
            chain.append((fence, which == 0))
            end = fence.points_m[-1 if which == 0 else 0]
        if len(chain) > 1 and np.hypot(*(end - chain[0][0].points_m[0])) <= RING_M:
            outline = np.vstack([f.points_m if forward else f.points_m[::-1] for f, forward in chain])
            left = signed_area_m2(outline) > 0.0
            inside |= {id(f): "left" if left == forward else "right" for f, forward in chain}
    return inside


def _vote(fence: Fence, voters: Sequence[np.ndarray]) -> None:
    sides = [side for place in voters if abs(side := side_of(fence.points_m, place)) > 0.05 and abs(side) <= VOTERS_M]
    left = sum(side > 0.0 for side in sides)
    if sides and 2 * left != len(sides):
        fence.inside = "left" if 2 * left > len(sides) else "right"
        most = max(left, len(sides) - left)
        fence.why = f"{most} of {len(sides)} cameras and buildings stand there"
    else:
        fence.inside, fence.why = "left", "nothing tells which side; left of the way it was drawn"


def side_of(points: np.ndarray, place: np.ndarray) -> float:
    """Signed distance [m] of a place from a line, positive on the left of its direction."""
    start, along = points[:-1], np.diff(points, axis=0)
    lengths = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)
    to = place - start
    share = np.clip(np.einsum("ij,ij->i", to, along) / lengths**2, 0.0, 1.0)
    off = to - share[:, None] * along
    distance = np.hypot(off[:, 0], off[:, 1])
    edge = int(distance.argmin())
    # At a corner two edges are equally near: the one that the place is most square to says which side it is.
    cross = (along[:, 0] * to[:, 1] - along[:, 1] * to[:, 0]) / lengths
    near = np.flatnonzero(distance <= distance[edge] + 1e-9)
    edge = int(near[np.abs(cross[near]).argmax()])
    return float(np.copysign(distance[edge], cross[edge]))


def nearest_fence(fences: Sequence[Fence], place: np.ndarray) -> tuple[Fence | None, float, float]:
    """The fence nearest to a place, the chainage there and the distance [m]; (None, 0, inf) when there is none."""
    point = shapely.Point(place)
    found = min(((fence.line.distance(point), k) for k, fence in enumerate(fences)), default=None)
    if found is None:
        return None, 0.0, np.inf
    fence = fences[found[1]]
    return fence, float(fence.line.project(point)), float(found[0])
