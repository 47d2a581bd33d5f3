"""Names of cameras and obstacles on a plan: beside what they name, on a thin leader where that is full, else in a key.

An obstacle without room for its name has the number of its place in the site file, the same in every picture: `ob2`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry as Shape
from shapely.ops import unary_union

from fencecast.findings.words import whole
from fencecast.show.fence.planlabels import APART_MM, text_box, write
from fencecast.show.fence.planview import PlanView
from fencecast.show.fence.unrolled import camera_spots
from fencecast.show.paper import style
from fencecast.show.paper.labels import joined_near, short_marks
from fencecast.show.paper.text import text_width_mm, wrap

LEADERS_MM = (3.0, 4.5, 6.0, 8.0, 10.0, 12.0)
DIRECTIONS = 16


def camera_labels(view: PlanView, size: float = style.LABEL, over_fence: bool = False) -> str:
    """Camera marks beside their dots, near ones joined; returns the key line for short forms and for marks without room.

    over_fence: a leader may cross the band of the fence when nothing else is left (where it has no colours).
    """
    marks, key = short_marks([c.mark for c in view.site.camera])
    looking = {c.mark: math.radians(c.bearing_deg + view.turn_deg) for c in view.site.camera}
    groups = joined_near([(c.mark, *spot) for spot, c in zip(view.cameras, view.site.camera)])
    left_over: list[str] = []
    for names, x, y in groups:
        text = ", ".join(marks[name] for name in names)
        w, h = 0.5 * text_width_mm(text, size) + 1.4, 2.7
        around = [(0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1), (1, 0), (-1, 0)]
        if abs(math.cos(looking[names[0]])) > 0.7:  # beside a stroke that runs up or down
            around = around[-2:] + around[:-2]
        spots = [(x + sx * reach * w, y + sy * reach * h) for reach in (1.0, 1.3) for sx, sy in around]
        found = None
        for inside, avoid in ((True, view.thin), (True, ()), (None, ())):
            found = found or write(view, text, spots, inside=inside, avoid=avoid, size=size, air=APART_MM)
        if found is None and not _on_leader(view, [text], Point(x, y), size, style.INK, over_fence):
            left_over += names
    if left_over:
        spots_of = camera_spots(view.site, view.sections)
        places = [f"{marks[m]} by {view.sections[spots_of[m][0]].letter} {whole(spots_of[m][1])} m" for m in left_over]
        key = " · ".join(filter(None, (key, f"Cameras without room for their mark: {', '.join(places)}")))
    return key


def _on_leader(view: PlanView, lines: Sequence[str], target: Shape, size: float, colour: str, over_fence: bool = False) -> bool:
    """Lines of text on the shortest free leader to the target (a dot or an outline); False when there is none."""
    own = [t for t in view.taken if t.intersects(target)]
    half = 0.5 * max(text_width_mm(line, size) for line in lines)
    high = 0.6 * size * style.MM_PER_POINT * len(lines)
    for inside, across in ((True, False), (None, False)) + (((None, True),) if over_fence else ()):
        for length in LEADERS_MM:
            for k in range(DIRECTIONS):
                angle = 2.0 * math.pi * k / DIRECTIONS
                ray = np.array([math.sin(angle), math.cos(angle)])
                start = _edge_towards(target, ray)
                end = start + length * ray
                centre = end + np.array([ray[0] * (half + 0.5), ray[1] * high])
                leader = LineString([start + 0.7 * ray, end])
                blocked = [t for t in view.taken if not any(t is o for o in own)]
                if (leader.intersects(view.band_area) and not across) or any(leader.intersects(t) for t in blocked):
                    continue
                if write(view, lines, [centre], inside=inside, size=size, air=APART_MM, colour=colour) is None:
                    continue
                view.page.line(*leader.xy, colour=style.LINE, points=0.4, zorder=7)
                view.taken.append(leader.buffer(0.3))
                return True
    return False


def _edge_towards(target: Shape, ray: np.ndarray) -> np.ndarray:
    """Where a ray from the middle of a shape leaves it."""
    middle = np.array([target.centroid.x, target.centroid.y])
    if target.geom_type == "Point":
        return middle
    cut = LineString([middle, middle + 500.0 * ray]).intersection(target)
    return np.array(cut.coords[-1]) if cut.geom_type == "LineString" and not cut.is_empty else middle


def building_names(view: PlanView, size: float = style.LABEL) -> str:
    """Names of obstacles inside their outlines, in up to three lines, else beside, else on a leader; returns a key line for those
    that have their number in the site file instead."""
    numbered, unmarked = [], []
    for n, (name, shape) in enumerate(view.buildings, start=1):
        if _named(view, name, shape, size):
            continue
        if _named(view, f"ob{n}", shape, size):  # a bare number would read as a place
            numbered.append(f"ob{n} = {name}")
        else:
            unmarked.append(name)
    texts = [f"Obstacles: {' · '.join(numbered)}"] if numbered else []
    texts += [f"Obstacles without room for their name: {', '.join(unmarked)}"] if unmarked else []
    return " · ".join(texts)


def _named(view: PlanView, name: str, shape: Shape, size: float) -> bool:
    if _name_inside(view, name, shape, size) or _name_outside(view, name, shape, size):
        return True
    return any(
        _on_leader(view, lines, shape, size, style.SECOND)
        for width in (200.0, 24.0)
        if "…" not in "".join(lines := wrap(name, width, size))
    )


def _name_inside(view: PlanView, name: str, shape: Shape, size: float) -> bool:
    west, north, east, south = shape.bounds
    x, y = 0.5 * (west + east), 0.5 * (north + south)
    others = [t for t in view.taken if not t.contains(shape)]
    for count in (1, 2, 3):
        lines = wrap(name, east - west - 1.4, size)
        if len(lines) > count or any("…" in line for line in lines):
            continue
        step = 1.2 * size * style.MM_PER_POINT
        tops = [y + step * (i - 0.5 * (len(lines) - 1)) for i in range(len(lines))]
        area = unary_union([text_box(line, x, top, size) for line, top in zip(lines, tops)]).envelope
        if shape.contains(area) and not any(area.intersects(t) for t in others):
            for line, top in zip(lines, tops):
                view.page.text(x, top, line, size=size, colour=style.SECOND, ha="center", va="center")
            view.taken.append(area)
            return True
    return False


def _name_outside(view: PlanView, name: str, shape: Shape, size: float) -> bool:
    west, north, east, south = shape.bounds
    half_line = 0.6 * size * style.MM_PER_POINT
    for width in (200.0, 30.0, 20.0):
        lines = wrap(name, width, size)
        if any("…" in line for line in lines):
            continue
        w = 0.5 * max(text_width_mm(line, size) for line in lines)
        off = half_line * len(lines) + 0.8
        middles = (0.5 * (west + east), west + w, east - w)
        for inside in (True, None):
            spots = [(x, y) for y in (south + off, north - off) for x in middles]
            if write(view, lines, spots, inside=inside, size=size, air=APART_MM, colour=style.SECOND) is not None:
                return True
    return False
