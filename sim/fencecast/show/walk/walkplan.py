"""The map of a walk test: its places in their order, where walks start and finish, which cameras see them (`walk-plan.png`)."""

from __future__ import annotations

import math
from os import PathLike

import numpy as np
from matplotlib.figure import Figure

from fencecast.prove.walks.planfile import WalkPlan
from fencecast.show.aim.ground import Ground, draw_scale, scale_of
from fencecast.show.aim.plan import draw_chainage, draw_name, draw_section, every_mm
from fencecast.show.aim.room import Room
from fencecast.show.cards.lanes import arrow
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm, wrap
from fencecast.show.walk.plandata import SEES, PlannedPlace, WalkPlanData, camera_words, walk_plan_data

MAP_MM, LEAST_MAP_MM, PAD_MM = 110.0, 34.0, 10.0
RING_MM, STROKE_MM, BAR_MM = 3.6, 3.2, 16.0
ROW_MM = 3.4
COLUMNS = (0.0, 8.0, 46.0, 76.0, 94.0, 106.0, 138.0)  # number, place, for, gait, walks, Pd, cameras
ROLE_INK = {
    "claim of its own": (style.INK, 1.8, None),
    "pool": (style.INK, 1.0, None),
    "calibration": (style.SECOND, 0.9, (2.0, 1.4)),
}


def plot_walk_plan(plan: WalkPlan | str | PathLike[str]) -> Figure:
    """The ground with every place, its number in the order of the first round, and a table of what is walked there.

    plan: a plan or the path of a plan.json.
    """
    data = walk_plan_data(plan)
    page = Page()
    top = page.heading(data.title, data.subtitle) + 1.0
    y = _map(page, page.left, top, page.right - page.left, data) + 3.0
    y = _table(page, y + 3.0, data)
    for line in wrap(data.key, page.right - page.left, style.SMALL) if data.key else ():
        page.text(page.left, y + 1.0, line, size=style.SMALL, colour=style.SECOND)
        y += ROW_MM
    page.foot(y + 1.5, data.attrs, one_look=True)
    return page.figure


def _map(page: Page, x: float, y: float, width: float, data: WalkPlanData) -> float:
    """The map with its upper left corner at (x, y) [mm]; returns the y below its legend."""
    points = np.vstack([section.points for section in data.sections] + [np.array([[cx, cy]]) for _, cx, cy, _ in data.cameras])
    points = np.vstack([points, *(np.array([place.start_m, place.finish_m]) for place in data.places)])
    bounds = (*points.min(axis=0), *points.max(axis=0))
    scale = scale_of(width, MAP_MM, PAD_MM, bounds)
    height = min(max((bounds[3] - bounds[1]) * scale + 2 * PAD_MM, LEAST_MAP_MM), MAP_MM)
    ground = Ground(page, (x, y), (width, height), bounds, scale)
    at, line, window, room = ground.at, ground.line, ground.window, ground.room
    buildings = [(name, ground.building(corners)) for name, corners in data.buildings]
    stands = {mark: at([(cx, cy)])[0] for mark, cx, cy, _ in data.cameras}
    for place in data.places:
        here = at([_middle(place)])[0]
        for mark, pd in place.cameras:
            if pd >= SEES:
                page.line(*np.array([here, stands[mark]]).T, colour=style.BAND, points=0.4, zorder=1.9)
    for section in data.sections:
        draw_section(section, line)
        room.taken += [(px - 0.5, py - 0.5, px + 0.5, py + 0.5) for px, py in every_mm(at(section.points), window)]
    ways = []
    for place in data.places:
        a, b = at([place.start_m, place.finish_m])
        colour, points_wide, dashes = ROLE_INK[place.role]
        arrow(page, a, b, colour, points_wide, dashes, 1.5)
        ways.append((place, a, b))
        room.taken += [(px - 0.6, py - 0.6, px + 0.6, py + 0.6) for px, py in every_mm(np.array([a, b]), window)]
    _cameras(page, room, data, stands)
    for place, a, b in ways:
        _number(page, room, place.number, a, b)
    for mark, stand in stands.items():
        _mark(room, mark, stand)
    for section in data.sections:
        draw_chainage(page, room, section, at, scale, window)
    for name, parts in buildings:
        draw_name(room, name, parts)
    return _legend(page, x, y + height, width, scale, data)


def _middle(place: PlannedPlace) -> tuple[float, float]:
    return 0.5 * (place.start_m[0] + place.finish_m[0]), 0.5 * (place.start_m[1] + place.finish_m[1])


def _cameras(page: Page, room: Room, data: WalkPlanData, stands: dict[str, np.ndarray]) -> None:
    for mark, _, _, bearing in data.cameras:
        here = stands[mark]
        tip = here + STROKE_MM * np.array([math.sin(bearing), -math.cos(bearing)])
        page.line([here[0], tip[0]], [here[1], tip[1]], points=1.6, zorder=6)
        page.dot(*here, 1.6)
        ends = (min(here[0], tip[0]) - 1, min(here[1], tip[1]) - 1, max(here[0], tip[0]) + 1, max(here[1], tip[1]) + 1)
        room.taken.append(ends)


def _number(page: Page, room: Room, number: int, a: np.ndarray, b: np.ndarray) -> None:
    """The number in a ring: ahead of the finish, before the start, else beside the way."""
    along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    side = np.array([-along[1], along[0]])
    half = 0.5 * RING_MM
    middle = 0.5 * (a + b)
    for reach in (3.0, 4.4, 6.0, 8.5):
        for where in (b + reach * along, middle + reach * side, middle - reach * side, a - reach * along, b + reach * side):
            box = (where[0] - half, where[1] - half, where[0] + half, where[1] + half)
            if room.free(box):
                room.taken.append(box)
                page.dot(*where, RING_MM, colour=style.PAPER, edge=style.INK, zorder=6.6)
                page.text(*where, f"{number}", size=style.LABEL, weight="bold", ha="center", va="center_baseline")
                return


def _mark(room: Room, mark: str, here: np.ndarray) -> None:
    width = text_width_mm(mark, style.LABEL, "bold")
    spots = []
    for reach in (2.6, 4.0, 6.0, 8.0, 11.0):
        for dx in (-0.5, 0.0, -1.0):
            spots += [(here[0] + dx * width, here[1] - reach), (here[0] + dx * width, here[1] + reach)]
        spots += [(here[0] + reach, here[1]), (here[0] - reach - width, here[1])]
    room.write(mark, spots, style.LABEL, weight="bold", plate=True)


def _legend(page: Page, x: float, bottom: float, width: float, scale: float, data: WalkPlanData) -> float:
    """What lines mean, a scale bar and grid north."""
    y = bottom + 3.4
    at = x
    for role, (colour, points, dashes) in ROLE_INK.items():
        if any(place.role == role for place in data.places):
            page.line([at, at + 6.0], [y - 0.9] * 2, colour=colour, points=points, **({"dashes": dashes} if dashes else {}))
            page.text(at + 7.2, y, role, size=style.SMALL, colour=style.SECOND)
            at += 7.2 + text_width_mm(role, style.SMALL) + 4.0
    page.line([at, at + 6.0], [y - 0.9] * 2, colour=style.BAND, points=0.6)
    page.text(
        at + 7.2, y, f"to cameras that alarm by themselves in {SEES:g} of walks and more", size=style.SMALL, colour=style.SECOND
    )
    draw_scale(page, x + width, y, scale, BAR_MM)
    return y


def _table(page: Page, y: float, data: WalkPlanData) -> float:
    """A row for each place and gait, in the order of the numbers; returns the y below it."""
    left = page.left
    heads = ("", "place", "for", "gait", "walks", "Pd (over the prior)", "cameras by themselves")
    for column, head in zip(COLUMNS, heads):
        page.text(left + column, y, head, size=style.SMALL, colour=style.SECOND)
    page.line([left, page.right], [y + 1.2] * 2, colour=style.LINE, points=0.4)
    y += 1.2
    for place in data.places:
        for k, (gait, walks, pd) in enumerate(place.rows):
            y += ROW_MM
            if k == 0:
                page.text(left, y, f"{place.number}", size=style.SMALL, weight="bold")
                page.text(
                    left + COLUMNS[1], y, shorten(place.place, COLUMNS[2] - COLUMNS[1] - 1.0, style.SMALL), size=style.SMALL
                )
                page.text(left + COLUMNS[2], y, place.role, size=style.SMALL)
                words = shorten(camera_words(place.cameras), page.right - left - COLUMNS[6], style.SMALL)
                page.text(left + COLUMNS[6], y, words, size=style.SMALL)
            page.text(left + COLUMNS[3], y, gait, size=style.SMALL)
            page.text(left + COLUMNS[4] + 6.0, y, walks, size=style.SMALL, ha="right")
            page.text(left + COLUMNS[5], y, pd, size=style.SMALL)
        y += 0.8
    return y + 2.6
