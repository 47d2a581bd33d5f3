"""What stands in a camera's picture, as lines on paper: hatched obstacles and walls, posts of fences, the horizon.

Nearer obstacles and walls cut off what is behind them. Coordinates of marks are pixels from the upper left corner of the frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from matplotlib.patheffects import withStroke

from fencecast.onelook.scenery import Shape
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm

SOLID = ("obstacle", "wall")
LEAST_AREA_PX = 1.0  # smaller is a speck, not a mark


@dataclass(frozen=True, eq=False)
class Person:
    """The box of a person in the picture, column from, to, row from, to [px], and the names of what stands before the person."""

    box: tuple[float, float, float, float]
    before: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Mark:
    """One named thing: its outline and hatch as segments (lines, 2, 2) [px], and the area of the picture that it fills."""

    name: str
    kind: str
    outline: np.ndarray
    hatch: np.ndarray
    area: shapely.Geometry


def marks_of(
    shapes: Sequence[Shape],
    box: Sequence[float],
    spacing_px: float,
    holes: Sequence[Sequence[float]] = (),
    person: Person | None = None,
) -> list[Mark]:
    """The visible parts of shapes inside a box of the picture (column from, to, row from, to) [px].

    spacing_px: of hatch lines; holes: boxes of the same form that nothing is drawn in; person: hides what stands behind the
    person.
    """
    frame = _box(box)
    if holes:
        frame = frame.difference(shapely.union_all([_box(hole) for hole in holes]))
    body = shapely.Polygon() if person is None else _box(person.box)
    faces = sorted(
        ((distance, shape, face) for shape in shapes for face, distance in zip(shape.faces, shape.distance_m)),
        key=lambda each: each[0],
    )
    solid = shapely.Polygon()
    seen: dict[str, list] = {}
    for _, shape, face in faces:
        behind = person is not None and shape.name not in person.before
        whole = shapely.LineString(face) if shape.kind == "line" else shapely.make_valid(shapely.Polygon(face))
        seen.setdefault(shape.name, []).append(whole.difference(solid.union(body) if behind else solid))
        if shape.kind in SOLID:
            # The faces of one obstacle are one thing: what its front hides is inside it.
            solid = solid.union(whole)
    marks = []
    for shape in shapes:
        parts = [part.intersection(frame) for part in seen[shape.name]]
        if shape.kind == "line":
            outline = _segments(parts)
            if len(outline):
                marks.append(Mark(shape.name, shape.kind, outline, np.zeros((0, 2, 2)), shapely.Polygon()))
            continue
        area = shapely.union_all(parts)
        if area.area < LEAST_AREA_PX:
            continue
        edges = _segments([part.boundary for part in parts if not part.is_empty])
        hatch = _hatch(area, spacing_px) if shape.kind in SOLID else np.zeros((0, 2, 2))
        marks.append(Mark(shape.name, shape.kind, edges, hatch, area))
    return marks


def _box(edges: Sequence[float]) -> shapely.Polygon:
    """Column from, to, row from, to as a polygon."""
    return shapely.box(edges[0], edges[2], edges[1], edges[3])


def _segments(lines: Sequence) -> np.ndarray:
    """Every straight piece of some lines, (pieces, 2, 2)."""
    found = []
    for line in lines:
        for part in getattr(line, "geoms", [line]):
            if part.geom_type in ("LineString", "LinearRing") and not part.is_empty:
                points = shapely.get_coordinates(part)
                found += [np.stack([points[:-1], points[1:]], axis=1)]
    return np.concatenate(found) if found else np.zeros((0, 2, 2))


def _hatch(area, spacing_px: float) -> np.ndarray:
    left, top, right, bottom = area.bounds
    reach = bottom - top
    step = spacing_px * np.sqrt(2.0)
    starts = np.arange(np.floor((left - reach) / step), np.ceil((right + reach) / step) + 1) * step
    lines = [shapely.LineString([(start, bottom), (start + reach, top)]) for start in starts]
    return _segments([part for line in lines if not (part := line.intersection(area)).is_empty])


def names_by_kind(marks: Sequence[Mark]) -> dict[str, list[str]]:
    """Names of what is drawn, by kind."""
    kinds: dict[str, list[str]] = {}
    for mark in marks:
        kinds.setdefault(mark.kind, []).append(mark.name)
    return kinds


def draw_marks(
    page: Page,
    marks: Sequence[Mark],
    horizon: Sequence[np.ndarray],
    corner: tuple[float, float],
    pixel_mm: float,
    on_grey: bool,
    taken: Sequence[tuple[float, float, float, float]] = (),
    named: bool = True,
) -> None:
    """Draw marks with the frame's upper left corner at `corner` [mm]. on_grey: white lines with dark casings, over camera pixels;
    else ink on paper. taken: boxes (left, right, top, bottom) [mm] that no name may touch."""
    line, casing = (style.PAPER, style.INK) if on_grey else (style.INK, style.PAPER)
    boxes = list(taken)
    for mark in marks:
        outline, hatch = (np.asarray(corner) + pixel_mm * each for each in (mark.outline, mark.hatch))
        page.segments(outline, casing, 1.1, 2.6)
        page.segments(hatch, line, 0.35, 2.7)
        page.segments(outline, line, 0.5 if mark.kind in SOLID else 0.35, 2.8)
    solid = shapely.union_all([mark.area for mark in marks if mark.kind in SOLID])
    for part in horizon:
        left = shapely.LineString(part).difference(solid)
        for piece in getattr(left, "geoms", [left]):
            places = np.asarray(corner) + pixel_mm * shapely.get_coordinates(piece)
            page.line(*places.T, colour=casing, points=1.2, zorder=2.6)
            page.line(*places.T, colour=line, points=0.6, zorder=2.8, dashes=(3, 2))
    for mark in marks if named else ():
        spot = _room_for(mark, text_width_mm(mark.name, style.SMALL) + 0.8, corner, pixel_mm, boxes)
        if spot is None:
            continue
        boxes.append(spot)
        text = page.text(0.5 * (spot[0] + spot[1]), spot[2] + 3.0, mark.name, size=style.SMALL, colour=line, ha="center")
        text.set_path_effects([withStroke(linewidth=1.6, foreground=casing)])


def _room_for(
    mark: Mark, width: float, corner: tuple[float, float], pixel_mm: float, taken: Sequence[Sequence[float]]
) -> tuple[float, float, float, float] | None:
    """A box (left, right, top, bottom) [mm] for a name inside what it names, clear of others; None without room."""
    if mark.area.is_empty:
        return None
    height = 3.6
    left, top, right, bottom = mark.area.bounds
    for y in np.linspace(top, max(bottom - height / pixel_mm, top), 12):
        for x in np.linspace(left, max(right - width / pixel_mm, left), 12):
            place = (x, x + width / pixel_mm, y, y + height / pixel_mm)
            if not mark.area.contains(_box(place)):
                continue
            box = tuple(corner[k // 2] + pixel_mm * edge for k, edge in enumerate(place))
            if not any(box[0] < b[1] and b[0] < box[1] and box[2] < b[3] and b[2] < box[3] for b in taken):
                return box
    return None
