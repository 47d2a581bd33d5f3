"""The plan of an aim sheet: the ground round one camera, grid north up."""

from __future__ import annotations

import math

import numpy as np
import shapely

from fencecast.show.aim.frame import RULE_COLOUR
from fencecast.show.aim.ground import Ground, draw_scale, inside_parts, scale_of
from fencecast.show.aim.plandata import PlanData, PlanSection
from fencecast.show.aim.room import Room
from fencecast.show.paper import style
from fencecast.show.paper.labels import tick_step
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm, wrap

CLEAR = "#E4EBF0"
PAD_MM = 9.0  # round what must be seen, for labels
STROKE_MM = 3.2
CIRCLE_MM = 3.4
BAR_MM = 14.0


def draw_plan(page: Page, x: float, y: float, width: float, height: float, data: PlanData) -> float:
    """Draw the plan with its upper left corner at (x, y) [mm]; returns the y of its legend's baseline below it."""
    west, east, south, north = data.bounds
    bounds = (west, south, east, north)
    ground = Ground(page, (x, y), (width, height), bounds, scale_of(width, height, PAD_MM, bounds))
    at, line, area, scale, window, room = ground.at, ground.line, ground.area, ground.scale, ground.window, ground.room
    if data.clear is not None:
        area(data.clear, fill=CLEAR, zorder=1.2)
        line(np.vstack([data.clear, data.clear[:1]]), colour=style.LINE, points=0.5, zorder=1.4, dashes=(2, 1.5))
    buildings = [(name, ground.building(points)) for name, points in data.buildings]
    for section in data.sections:
        draw_section(section, line)
        for px, py in every_mm(at(section.points), window):
            room.taken.append((px - 0.5, py - 0.5, px + 0.5, py + 0.5))
    for rule in data.rules:
        line(rule, colour=RULE_COLOUR, points=1.2, zorder=3.5, dashes=(6, 1.6))
    here = at([(data.x_m, data.y_m)])[0]
    if data.axis is not None:
        line([(data.x_m, data.y_m), data.axis], colour=style.SECOND, points=0.6, zorder=3, dashes=(0.8, 1.2))
    tip = here + STROKE_MM * np.array([math.sin(data.bearing_rad), -math.cos(data.bearing_rad)])
    page.line([here[0], tip[0]], [here[1], tip[1]], points=1.6, zorder=6)
    page.dot(*here, 1.6)
    room.taken.append((min(here[0], tip[0]) - 1, min(here[1], tip[1]) - 1, max(here[0], tip[0]) + 1, max(here[1], tip[1]) + 1))
    crosses = [(number, at([(mx, my)])[0]) for number, mx, my in data.marks]
    for _, (cx, cy) in crosses:
        page.line([cx - 1.1, cx + 1.1], [cy, cy], points=1.0, zorder=6)
        page.line([cx, cx], [cy - 1.1, cy + 1.1], points=1.0, zorder=6)
        room.taken.append((cx - 1.3, cy - 1.3, cx + 1.3, cy + 1.3))
    for number, place in crosses:
        _circle(page, room, number, place, [other for n, other in crosses if n != number])
    _around(room, data.mark, here, style.LABEL, weight="bold", plate=True)
    for section in data.sections:
        draw_chainage(page, room, section, at, scale, window)
    for name, parts in buildings:
        draw_name(room, name, parts)
    return _legend(page, x, y + height, width, scale, data)


def every_mm(points: np.ndarray, window) -> np.ndarray:
    """Points of a polyline on the page, a millimetre apart, inside the window (n, 2)."""
    parts = inside_parts(shapely.LineString(points), window, "LineString")
    found = [shapely.get_coordinates(shapely.segmentize(shapely.LineString(part), 1.0)) for part in parts]
    return np.vstack(found) if found else np.zeros((0, 2))


def along_section(section: PlanSection, start_m: float, end_m: float) -> np.ndarray:
    """The part of a section between two chainages, its corners included."""
    chainage = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(section.points, axis=0).T))])
    inner = chainage[(chainage > start_m) & (chainage < end_m)]
    return np.column_stack([np.interp([start_m, *inner, end_m], chainage, section.points[:, i]) for i in (0, 1)])


def draw_section(section: PlanSection, line) -> None:
    """The fence line, dashed without a barrier; open in gates, between two posts."""
    how = {"points": 1.1} if section.barrier else {"points": 0.8, "dashes": (1.5, 1.5)}
    at = 0.0
    for start, end in sorted(section.gates):
        if start > at:
            line(along_section(section, at, start), zorder=3, **how)
        for post in (start, end):
            (px, py), (nx, ny) = along_section(section, post, post)[0], outward_normal(section, post)
            line([(px - 0.5 * nx, py - 0.5 * ny), (px + 0.5 * nx, py + 0.5 * ny)], points=1.1, zorder=3)
        at = end
    if at < section.length_m:
        line(along_section(section, at, section.length_m), zorder=3, **how)


def outward_normal(section: PlanSection, chainage_m: float) -> np.ndarray:
    """Unit vector outwards of the fence at a chainage."""
    step = 0.01
    a = along_section(section, max(0.0, chainage_m - step), min(section.length_m, chainage_m + step))
    dx, dy = a[-1] - a[0]
    return section.inside * np.array([dy, -dx]) / math.hypot(dx, dy)


def draw_chainage(page: Page, room: Room, section: PlanSection, at, scale: float, window) -> None:
    """Ticks outside the fence with their metres, the section's letter before the first; kept off what stands there."""
    step = tick_step(scale, 9.0)
    named = False
    for chainage in np.arange(0.0, section.length_m + 1e-9, step):
        place = at(along_section(section, chainage, chainage)[:1])[0]
        if not window.contains(shapely.Point(place)):
            continue
        out = outward_normal(section, chainage) * np.array([1.0, -1.0])
        page.line([place[0], place[0] + 1.4 * out[0]], [place[1], place[1] + 1.4 * out[1]], points=0.6, zorder=3)
        text = f"{chainage:g}" if named else f"{section.letter} {chainage:g}"
        width = text_width_mm(text, style.SMALL, "normal" if named else "bold")
        off = 2.0 + 0.5 * width * abs(out[0]) + 1.3 * abs(out[1])
        spots = [
            (place[0] + (off + more) * out[0] + (shift - 0.5) * width, place[1] + (off + more) * out[1])
            for more in (0.0, 1.0, 2.2)
            for shift in (0.0, 0.3, -0.3)
        ]
        if room.write(text, spots, colour=style.SECOND if named else style.INK, weight="normal" if named else "bold"):
            named = True


def _circle(page: Page, room: Room, number: int, place: np.ndarray, others: list[np.ndarray]) -> None:
    """The number of a mark in a ring, nearer to its own cross than to any other."""
    half = 0.5 * CIRCLE_MM
    for reach in (3.0, 4.2, 5.6):
        for angle in (0.8, -0.8, 2.4, -2.4, 0.0, 1.57, 3.14, -1.57):
            cx, cy = place + reach * np.array([math.sin(angle), -math.cos(angle)])
            box = (cx - half, cy - half, cx + half, cy + half)
            near = any(math.dist((cx, cy), other) < 1.1 * reach for other in others)
            if room.free(box) and not near:
                room.taken.append(box)
                page.dot(cx, cy, CIRCLE_MM, colour=style.PAPER, edge=style.INK, zorder=6.6)
                page.text(cx, cy, f"{number}", size=style.LABEL, weight="bold", ha="center", va="center_baseline")
                return


def _around(room: Room, text: str, place: np.ndarray, size: float, **how) -> None:
    width = text_width_mm(text, size, how.get("weight", "normal"))
    spots = []
    for reach in (2.6, 4.0, 6.0, 8.0, 11.0):
        for dx in (-0.5, 0.0, -1.0):
            spots += [(place[0] + dx * width, place[1] - reach), (place[0] + dx * width, place[1] + reach)]
        spots += [(place[0] + reach, place[1]), (place[0] - reach - width, place[1])]
    room.write(text, spots, size, **how)


def draw_name(room: Room, name: str, parts: list[np.ndarray]) -> None:
    """A building's name inside the part of it that is drawn, in up to three lines; left out where it does not fit."""
    for corners in sorted(parts, key=lambda part: -shapely.Polygon(part).area):
        shape = shapely.Polygon(corners)
        left, top, right, bottom = shape.bounds
        lines = wrap(name, right - left - 1.6, style.SMALL)
        step = 2.9
        if len(lines) > 3 or step * len(lines) > bottom - top - 0.8 or any(text.endswith("…") for text in lines):
            continue
        mx, my = 0.5 * (left + right), 0.5 * (top + bottom)
        for shift in (0.0, -0.25, 0.25):
            tops = [my + shift * (bottom - top) + step * (i - 0.5 * (len(lines) - 1)) for i in range(len(lines))]
            widths = [text_width_mm(text, style.SMALL) for text in lines]
            boxes = [(mx - 0.5 * w - 0.4, y - 1.45, mx + 0.5 * w + 0.4, y + 1.45) for w, y in zip(widths, tops)]
            if all(room.free(box) and shape.contains(shapely.box(*box)) for box in boxes):
                for text, w, y in zip(lines, widths, tops):
                    room.write(text, [(mx - 0.5 * w, y)], colour=style.SECOND)
                return


def _legend(page: Page, x: float, bottom: float, width: float, scale: float, data: PlanData) -> float:
    """What the plan's marks mean, a scale bar and grid north; returns the baseline."""
    y = bottom + 3.4
    words = (["grey: keep clear"] if data.clear is not None else []) + (["blue dashes: rule line"] if data.rules else [])
    words += ["dotted: axis"] if data.axis is not None else []
    page.text(x, y, " · ".join(words), size=style.SMALL, colour=style.SECOND)
    draw_scale(page, x + width, y, scale, BAR_MM)
    return y
