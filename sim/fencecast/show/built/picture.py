"""`built.png`: the plan with every camera's view before and after, and each picture with expected and read marks."""

from __future__ import annotations

import math

import numpy as np
import shapely
from matplotlib.figure import Figure

from fencecast.prove.built.built import AsBuilt
from fencecast.show.aim.room import Room
from fencecast.show.built.data import ELLIPSE_95, BuiltData, BuiltFrame, BuiltMark, built_data
from fencecast.show.fence.plan import scale_and_north
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm, wrap

PLAN_MM, GAP_MM, KEY_MM = 66.0, 5.0, 4.2
PAD_MM = 7.0  # round the plan, for marks of cameras
FRAME_MOST_MM = 66.0
HEAD_MM, WORDS_MM = 3.6, 3.1
READ_MM, CROSS_MM = 1.5, 1.3
SOLID, LIGHT = style.A_COLOUR, "#DAD8EE"


def plot_built(found: AsBuilt) -> Figure:
    """Plan above, a picture for each camera that was read below."""
    data = built_data(found)
    page = Page()
    y = page.heading(data.title, data.subtitle) + 1.0
    y = _key(page, y + 1.5, data) + 3.5
    y = _plan(page, data, y) + 4.0
    y = _frames(page, data, y)
    page.foot(y + 1.0, data.attrs, one_look=True)
    return page.figure


def _key(page: Page, y: float, data: BuiltData) -> float:
    """What marks and lines mean, as many to a row as fit; the y of the last row."""
    x = page.left
    kept = page.right
    rows: list[tuple[str, str]] = [("before", "as designed"), ("after", "as built"), ("expected", "mark as designed"),
                                   ("read", "mark as read"), ("ellipse", "95 of 100 good readings of the pose")]  # fmt: skip
    if any(mark.named for frame in data.frames for mark in frame.marks):
        rows.append(("named", "mark that does not fit"))
    for kind, text in rows:
        wide = 8.0 + text_width_mm(text, style.SMALL)
        if x + wide > kept:
            x, y = page.left, y + KEY_MM
        _sample(page, x + 3.0, y, kind)
        page.text(x + 7.0, y + 0.85, text, size=style.SMALL)
        x += wide + 4.0
    return y


def _sample(page: Page, x: float, y: float, kind: str) -> None:
    if kind == "before":
        page.line([x - 3.0, x + 3.0], [y, y], colour=style.SECOND, points=0.8, dashes=(3, 2))
    elif kind == "after":
        page.rect(x - 3.0, y - 1.1, 6.0, 2.2, fill=LIGHT, edge=SOLID, points=0.9)
    elif kind == "expected":
        _cross(page, x, y)
    elif kind == "read":
        page.dot(x, y, READ_MM)
    elif kind == "named":
        _named(page, x, y)
    else:
        _outline(page, (x, y), np.diag([1.0, 0.35]))


def _cross(page: Page, x: float, y: float) -> None:
    page.line([x - CROSS_MM, x + CROSS_MM], [y, y], colour=style.SECOND, points=0.9, zorder=5)
    page.line([x, x], [y - CROSS_MM, y + CROSS_MM], colour=style.SECOND, points=0.9, zorder=5)


def _named(page: Page, x: float, y: float) -> None:
    page.dot(x, y, READ_MM)
    page.rect(x - 1.7, y - 1.7, 3.4, 3.4, edge=style.INK, points=1.0, zorder=6)


def _outline(page: Page, middle, spread: np.ndarray) -> np.ndarray:
    """An ellipse with semi-axes from a matrix [mm^2] about a place; its points."""
    turn = np.linspace(0.0, 2.0 * math.pi, 49)
    value, vector = np.linalg.eigh(spread)
    ring = np.array(middle) + (vector @ (np.sqrt(value)[:, None] * np.array([np.cos(turn), np.sin(turn)]))).T
    page.line(ring[:, 0], ring[:, 1], colour=SOLID, points=0.9, zorder=5.5)
    return ring


# --- the plan ------------------------------------------------------------------------------------------------------


def _plan(page: Page, data: BuiltData, top: float) -> float:
    """The plan, as large as fits; the y below its scale bar."""
    corners = [*data.fences, *(points for _, points in data.buildings), *(wedge.before for wedge in data.wedges)]
    corners += [wedge.after for wedge in data.wedges if wedge.after is not None]
    every = np.vstack(corners)
    (west, south), (east, north) = every.min(axis=0), every.max(axis=0)
    width = page.right - page.left
    scale = min((width - 2 * PAD_MM) / max(east - west, 3.0), (PLAN_MM - 2 * PAD_MM) / max(north - south, 3.0))
    height = scale * (north - south) + 2 * PAD_MM
    middle = np.array([0.5 * (west + east), 0.5 * (south + north)])
    centre = np.array([0.5 * (page.left + page.right), top + 0.5 * height])

    def at(points) -> np.ndarray:
        return centre + (np.atleast_2d(np.asarray(points, dtype=float)) - middle) * np.array([scale, -scale])

    room = Room(page, (page.left, top, page.right, top + height))
    for _, points in data.buildings:
        page.polygon(at(points), fill=style.BUILDING, edge=style.LINE, points=0.5, zorder=1.5)
    for wedge in data.wedges:
        if wedge.after is not None:
            page.polygon(at(wedge.after), fill=LIGHT, zorder=1.2, alpha=0.6)
    for wedge in data.wedges:
        if wedge.after is not None:
            page.polygon(at(wedge.after), edge=SOLID, points=0.9, zorder=2.2)
        ring = at(np.vstack([wedge.before, wedge.before[:1]]))
        page.line(*ring.T, colour=style.SECOND, points=0.8, dashes=(3, 2), zorder=2.4)
    for fence in data.fences:
        page.line(*at(fence).T, points=1.1, zorder=3)
        for px, py in _every_mm(at(fence)):
            room.taken.append((px - 0.4, py - 0.4, px + 0.4, py + 0.4))
    places = [at(wedge.at)[0] for wedge in data.wedges]
    for spot in places:
        page.dot(*spot, 1.6)
        room.taken.append((spot[0] - 0.9, spot[1] - 0.9, spot[0] + 0.9, spot[1] + 0.9))
    for wedge, spot in zip(data.wedges, places):
        _beside(room, wedge.mark, spot)
    return scale_and_north(page, scale, page.left, top + height - 2.0, data.units)


def _every_mm(points: np.ndarray) -> np.ndarray:
    return shapely.get_coordinates(shapely.segmentize(shapely.LineString(points), 1.0))


def _beside(room: Room, text: str, place: np.ndarray) -> None:
    """The mark of a camera in the first free spot round it."""
    width = text_width_mm(text, style.LABEL, "bold")
    spots = []
    for reach in (2.4, 3.6, 5.0, 7.0, 9.0):
        for angle in np.arange(0.0, 2.0 * math.pi, math.pi / 4.0):
            dx, dy = math.sin(angle), -math.cos(angle)
            spots.append((place[0] + reach * dx + 0.5 * width * (dx - 1.0), place[1] + reach * dy))
    room.write(text, spots, style.LABEL, weight="bold", plate=True)


# --- pictures ------------------------------------------------------------------------------------------------------


def _frames(page: Page, data: BuiltData, top: float) -> float:
    """The pictures in two columns, in three from five cameras on; the y below them."""
    many = len(data.frames)
    across = 2 if many <= 4 else 3
    width = (page.right - page.left - (across - 1) * GAP_MM) / across
    y = top
    for first in range(0, many, across):
        row = data.frames[first : first + across]
        texts = [wrap(frame.words, width, style.SMALL, most=2) for frame in row]
        body = y + HEAD_MM + WORDS_MM * max(len(lines) for lines in texts) + 0.6
        bottom = body
        for k, (frame, lines) in enumerate(zip(row, texts)):
            x = page.left + k * (width + GAP_MM)
            page.text(x, y + 2.6, shorten(frame.mark, width, style.HEAD, "bold"), size=style.HEAD, weight="bold")
            for i, line in enumerate(lines):
                how = {"colour": style.SECOND} if frame.fits else {"weight": "bold"}
                page.text(x, y + HEAD_MM + 2.2 + WORDS_MM * i, line, size=style.SMALL, **how)
            bottom = max(bottom, _frame(page, x, body, width, frame))
        y = bottom + GAP_MM
    return y


def _frame(page: Page, x: float, y: float, width: float, frame: BuiltFrame) -> float:
    scale = min(width / frame.columns, FRAME_MOST_MM / frame.rows)
    wide, high = scale * frame.columns, scale * frame.rows
    page.rect(x, y, wide, high, fill="#F0F0F0", edge=style.INK, points=0.8, zorder=0.8)
    room = Room(page, (x + 0.4, y + 0.4, x + wide - 0.4, y + high - 0.4))
    window = shapely.box(x, y, x + wide, y + high)

    def at(place) -> np.ndarray:
        return np.array([x, y]) + scale * np.asarray(place, dtype=float)

    for mark in frame.marks:
        _mark(page, room, window, at, scale, mark)
    for mark in frame.marks:
        px, py = at(mark.read)
        width_mm = text_width_mm(mark.name, style.LABEL, "bold")
        spots = [
            (px + dx * reach + 0.5 * width_mm * (dx - 1.0), py + dy * reach)
            for reach in (2.4, 3.4, 4.6, 6.0, 8.0)
            for dx, dy in ((1, -0.7), (-1, -0.7), (1, 0.7), (-1, 0.7), (0, -1), (0, 1), (1, 0), (-1, 0))
        ]
        room.write(mark.name, spots, style.LABEL, weight="bold")
    page.text(
        x + wide, y + high + 2.6, f"{frame.columns} × {frame.rows} pixels", size=style.SMALL, colour=style.SECOND, ha="right"
    )
    return y + high + 3.0


def _mark(page: Page, room: Room, window, at, scale: float, mark: BuiltMark) -> None:
    read = at(mark.read)
    if mark.expected is not None:
        wanted = at(mark.expected)
        if window.contains(shapely.Point(wanted)):
            _cross(page, *wanted)
            room.taken.append((*(wanted - 1.3), *(wanted + 1.3)))
        way = shapely.LineString([wanted, read]).intersection(window)
        if way.geom_type == "LineString" and not way.is_empty:
            line = shapely.get_coordinates(way)
            page.line(*line.T, colour=style.SECOND, points=0.6, zorder=4.5)
            for px, py in _every_mm(line):
                room.taken.append((px - 0.3, py - 0.3, px + 0.3, py + 0.3))
    if mark.fitted is not None and mark.covariance is not None and window.contains(shapely.Point(at(mark.fitted))):
        ring = _outline(page, at(mark.fitted), mark.covariance * (ELLIPSE_95 * scale) ** 2)
        for px, py in ring:
            room.taken.append((px - 0.2, py - 0.2, px + 0.2, py + 0.2))
    (_named if mark.named else lambda page, px, py: page.dot(px, py, READ_MM))(page, *read)
    room.taken.append((*(read - 0.9), *(read + 0.9)))
