"""Labels around points: each beside its own point, none on another label, on a point or outside the panel."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

Box = tuple[float, float, float, float]  # left, top, right, bottom [mm]
Segment = tuple[tuple[float, float], tuple[float, float]]
RADII_MM = (1.9, 2.8, 4.0, 5.5, 7.5, 10.0, 13.0, 17.0, 22.0)
DIRECTIONS = 16
TEXT_MM = 2.6
APART_MM = 0.7
_ON_A_LINE = 2.5  # a label that a line runs through is as bad as one so many mm farther away
_LEADER = 4.0


def around(
    points: Sequence[tuple[float, float]], widths: Sequence[float], taken: Sequence[Box], lines: Sequence[Segment], panel: Box
) -> list[Box | None]:
    """A box for every label of a width [mm], beside its point (x, y) and inside the panel; None where no room is left.

    taken: boxes that no label may touch (markers, texts); lines: that labels rather keep off. The most crowded points choose
    first; of equally good places the first clockwise from the right.
    """
    near = [sum(math.dist(point, other) < 10.0 for other in points) for point in points]
    placed: list[Box] = []
    leaders: list[Segment] = []
    found: list[Box | None] = [None] * len(points)
    for k in sorted(range(len(points)), key=lambda k: (-near[k], k)):
        best = None
        for radius, box in _places(points[k], widths[k]):
            if not _inside(box, panel) or any(_touch(box, other, APART_MM) for other in (*taken, *placed)):
                continue
            leader = (points[k], _nearest(box, points[k]))
            crossed = sum(_crosses(line, box) for line in lines)
            hidden = sum(_crosses(leader, other) for other in placed) + sum(_crosses(other, box) for other in leaders)
            cost = radius + _ON_A_LINE * crossed + _LEADER * hidden
            if best is None or cost < best[0]:
                best = cost, box, leader
        if best is not None:
            placed.append(best[1])
            leaders.append(best[2])
            found[k] = best[1]
    return found


def needs_leader(point: tuple[float, float], box: Box) -> bool:
    """Whether a label lies so far away that a thin line must join it to its point."""
    return math.dist(point, _nearest(box, point)) > RADII_MM[0] + 0.2


def leader_to(point: tuple[float, float], box: Box) -> tuple[float, float]:
    """Where the leader from a point ends: the nearest point of the label."""
    return _nearest(box, point)


def _places(point: tuple[float, float], width: float) -> Iterator[tuple[float, Box]]:
    for radius in RADII_MM:
        for k in range(DIRECTIONS):
            angle = 2.0 * math.pi * k / DIRECTIONS
            across, down = math.cos(angle), math.sin(angle)
            x = point[0] + across * (radius + 0.5 * width * abs(across)) + 0.0
            y = point[1] + down * (radius + 0.5 * TEXT_MM * abs(down))
            yield radius, (x - 0.5 * width, y - 0.5 * TEXT_MM, x + 0.5 * width, y + 0.5 * TEXT_MM)


def _inside(box: Box, panel: Box) -> bool:
    return box[0] >= panel[0] and box[1] >= panel[1] and box[2] <= panel[2] and box[3] <= panel[3]


def _touch(a: Box, b: Box, apart: float) -> bool:
    return min(a[2], b[2]) - max(a[0], b[0]) > -apart and min(a[3], b[3]) - max(a[1], b[1]) > -apart


def _nearest(box: Box, point: tuple[float, float]) -> tuple[float, float]:
    return min(max(point[0], box[0]), box[2]), min(max(point[1], box[1]), box[3])


def _crosses(segment: Segment, box: Box) -> bool:
    """Whether a straight line runs through a box (Liang and Barsky 1984, clipping, from memory)."""
    (x, y), (x1, y1) = segment
    first, last = 0.0, 1.0
    for step, low, high in ((x1 - x, box[0] - x, box[2] - x), (y1 - y, box[1] - y, box[3] - y)):
        if abs(step) < 1e-12:
            if low > 0.0 or high < 0.0:
                return False
            continue
        a, b = sorted((low / step, high / step))
        first, last = max(first, a), min(last, b)
    return first < last
