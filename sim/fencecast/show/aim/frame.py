"""The live picture of an aim sheet: what must be seen where, in whole camera pixels of one size."""

from __future__ import annotations

import numpy as np

from fencecast.show.aim.framedata import FrameData, PictureMark
from fencecast.show.aim.room import Room
from fencecast.show.look.scene import draw_marks, marks_of
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm

GROUND = "#F0F0F0"
RULE_COLOUR = "#0072B2"
HATCH_MM = 1.6
CIRCLE_MM = 3.4
CROSS_MM = 1.1
TICKS_PX = (1, 2, 5, 10, 20, 40, 50, 80, 100, 200, 400, 500, 1000, 2000)
TICK_MM = 12.0  # least between ticks with numbers


def draw_frame(page: Page, x: float, y: float, width: float, height: float, data: FrameData) -> float:
    """Draw the picture with its upper left corner at (x, y) [mm], no larger than width by height; its lower edge."""
    scale = min(width / data.columns, height / data.rows)
    wide, high = scale * data.columns, scale * data.rows
    page.rect(x, y, wide, high, fill=GROUND, zorder=0.5)
    _ticks(page, x, y, scale, data)
    room = Room(page, (x + 0.3, y + 0.3, x + wide - 0.3, y + high - 0.3))

    def at(points: np.ndarray) -> np.ndarray:
        return np.array([x, y]) + scale * np.asarray(points, dtype=float)

    def lines(many, **how) -> None:
        for line in many:
            page.line(*at(line).T, solid_joinstyle="round", **how)

    for ring in data.rings:
        lines(ring.lines, colour=style.BAND, points=0.6, zorder=1.5)
    lines(data.horizon, colour=style.SECOND, points=0.7, zorder=1.6, dashes=(6, 2, 1, 2))
    for fence in data.fences:
        lines(fence.foot, points=1.1, zorder=4, **({} if fence.barrier else {"dashes": (1.5, 1.5)}))
        lines(fence.top, points=0.6, zorder=4)
    lines(data.rules, colour=RULE_COLOUR, points=1.4, zorder=4.2, dashes=(6, 1.6))
    spots = [_mark(page, at, scale, mark) for mark in data.marks]
    for left, top, right, bottom in spots:
        room.taken.append((left - 0.2, top - 0.2, right + 0.2, bottom + 0.2))
    for mark, box in zip(data.marks, spots):
        _mark_label(page, room, mark, box)
    shapes = marks_of(data.shapes, (0.0, float(data.columns), 0.0, float(data.rows)), HATCH_MM / scale)
    boxes = [(left, right, top, bottom) for left, top, right, bottom in room.taken]
    draw_marks(page, shapes, (), (x, y), scale, False, boxes, named=False)
    for shape in shapes:
        _building_name(room, at, shape)
    for ring in data.rings:
        _ring_label(room, at, ring)
    if data.horizon:
        _horizon_label(room, at, data.horizon)
    page.rect(x, y, wide, high, edge=style.INK, points=1.0, zorder=8)
    return y + high


def _ticks(page: Page, x: float, y: float, scale: float, data: FrameData) -> None:
    step = next((s for s in TICKS_PX if s * scale >= TICK_MM), TICKS_PX[-1])
    bottom = y + scale * data.rows
    for column in range(0, data.columns + 1, step):
        at = x + scale * column
        page.line([at, at], [bottom, bottom + 0.9], colour=style.LINE, points=0.6)
        page.text(at, bottom + 3.6, f"{column}", size=style.SMALL, colour=style.SECOND, ha="center")
    for row in range(0, data.rows + 1, step):
        at = y + scale * row
        page.line([x - 0.9, x], [at, at], colour=style.LINE, points=0.6)
        page.text(x - 1.4, at + 0.85, f"{row}", size=style.SMALL, colour=style.SECOND, ha="right")


def _mark(page: Page, at, scale: float, mark: PictureMark) -> tuple[float, float, float, float]:
    """Cross, tolerance square and person; returns the box of cross and square [mm]."""
    (left, top), (right, bottom) = at(np.array([[mark.person[0], mark.person[2]], [mark.person[1], mark.person[3]]]))
    page.rect(left, top, right - left, bottom - top, edge=style.LINE, points=0.6, zorder=3.5)
    (cx, cy) = at(np.array([[mark.column, mark.row]]))[0]
    wide, high = (tolerance * scale for tolerance in mark.tolerance_px)
    page.rect(cx - wide, cy - high, 2 * wide, 2 * high, edge=style.INK, points=0.9, zorder=6)
    for dx, dy in ((CROSS_MM, 0.0), (0.0, CROSS_MM)):
        page.line([cx - dx, cx + dx], [cy - dy, cy + dy], points=0.9, zorder=6)
    wide, high = max(wide, CROSS_MM), max(high, CROSS_MM)
    return cx - wide, cy - high, cx + wide, cy + high


def _mark_label(page: Page, room: Room, mark: PictureMark, box: tuple[float, float, float, float]) -> None:
    """Its number in a ring and where its foot appears, beside the square where there is room."""
    text = f"{mark.column:.0f}, {mark.row:.0f}"
    wide = CIRCLE_MM + 0.9 + text_width_mm(text) + 0.6
    left, top, right, bottom = box
    middle, half = 0.5 * (top + bottom), 0.5 * CIRCLE_MM + 0.1
    columns = (right + 0.8, left - 0.8 - wide)
    levels = (middle, top - half - 0.4, bottom + half + 0.4)
    spots = [(x, y) for y in levels for x in columns]
    spots += [(0.5 * (left + right) - 0.5 * wide, y) for y in (bottom + half + 0.8, top - half - 0.8)]
    spots += [(x + dx, middle + dy) for dy in (-6.0, 6.0, -9.0, 9.0, -12.0, 12.0) for x in columns for dx in (-4.0, 0.0, 4.0)]
    for x, y in spots:
        area = (x, y - half, x + wide, y + half)
        if room.free(area):
            room.taken.append(area)
            page.rect(x, y - half, wide, 2 * half, fill=style.PAPER, zorder=6.4, alpha=0.85)
            page.dot(x + 0.5 * CIRCLE_MM, y, CIRCLE_MM, colour=style.PAPER, edge=style.INK, zorder=6.6)
            page.text(
                x + 0.5 * CIRCLE_MM, y, f"{mark.number}", size=style.LABEL, weight="bold", ha="center", va="center_baseline"
            )
            page.text(x + CIRCLE_MM + 0.9, y, text, va="center_baseline")
            return


def _ring_label(room: Room, at, ring) -> None:
    """The distance on the ring, as far right as it lies in the picture and is free."""
    text = f"{ring.distance_m:g} m"
    width = text_width_mm(text, style.SMALL)
    points = np.vstack([at(line) for line in ring.lines])
    points = points[np.argsort(-points[:, 0])]
    spots = [(px - width - 1.0, py - 1.4) for px, py in points[:: max(1, len(points) // 60)]]
    room.write(text, spots, colour=style.SECOND)


def _horizon_label(room: Room, at, horizon) -> None:
    points = np.vstack([at(line) for line in horizon])
    left, top = points[np.argmin(points[:, 0])]
    spots = [(left + dx, top + dy) for dy in (-1.5, 1.7) for dx in (1.0, 8.0, 16.0, 30.0, 45.0, 60.0)]
    room.write("horizon", spots, colour=style.SECOND)


def _building_name(room: Room, at, shape) -> None:
    """The name of a building inside its outline, where it fits."""
    if shape.area.is_empty:
        return
    left, top, right, bottom = shape.area.bounds
    (x0, y0), (x1, y1) = at(np.array([[left, top], [right, bottom]]))
    name = shorten(shape.name, x1 - x0 - 1.6, style.SMALL)
    if not name.rstrip("…") or y1 - y0 < 3.6:
        return
    width = text_width_mm(name, style.SMALL)
    ys = np.linspace(y0 + 1.8, y1 - 1.8, 6)
    spots = [(x, y) for y in ys for x in np.linspace(x0 + 0.8, max(x0 + 0.8, x1 - width - 0.8), 5)]
    room.write(name, spots, colour=style.INK, plate=True)
