"""The plan on the director's page, and the small lane on a card."""

from __future__ import annotations

import math

import numpy as np

from fencecast.findings.cardwords import CardWords
from fencecast.show.aim.ground import Ground, scale_of
from fencecast.show.aim.plan import draw_chainage, draw_name, draw_section, every_mm
from fencecast.show.cards.data import LanesData
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import wrap

PAD_MM = 8.0  # round the ground, for labels
HEAD_MM = 1.3
LEGEND_MM = 7.0
LANES = {  # by role: ink, width, dashes
    "full": (style.INK, 1.6, None),
    "pool": (style.LINE, 1.1, None),
    "calibrate": (style.INK, 0.8, (2.0, 1.6)),
}
LANE_WORDS = {"full": "black: a claim of its own", "pool": "grey: pooled", "calibrate": "dashes: to learn N50"}
TYPE = 12.0
ALARM_DASHES, ALARM_ORDER = (5.0, 3.0), 3.5
LEAST_APART_MM = 1.5  # alarm line and fence, so that both are seen


def draw_lanes(page: Page, x: float, y: float, width: float, height: float, data: LanesData) -> None:
    """The whole site with an arrow for every place, its upper left corner at (x, y) [mm]; the legend is its last line."""
    height -= LEGEND_MM
    points = np.vstack([np.vstack([section.points for section in data.sections]), np.array(data.cameras).reshape(-1, 2)])
    points = np.vstack([points, *(np.array([start, finish]) for start, finish, _ in data.lanes)])
    bounds = (*points.min(axis=0), *points.max(axis=0))
    ground = Ground(page, (x, y), (width, height), bounds, scale_of(width, height, PAD_MM, bounds))
    at, line, scale, window, room = ground.at, ground.line, ground.scale, ground.window, ground.room
    buildings = [(name, ground.building(corners)) for name, corners in data.buildings]
    for section in data.sections:
        draw_section(section, line)
        room.taken += [(px - 0.5, py - 0.5, px + 0.5, py + 0.5) for px, py in every_mm(at(section.points), window)]
    for start, finish, role in sorted(data.lanes, key=lambda lane: list(LANES).index(lane[2]), reverse=True):
        colour, points_wide, dashes = LANES[role]
        a, b = at([start, finish])
        arrow(page, a, b, colour, points_wide, dashes)
        room.taken += [(px - 0.6, py - 0.6, px + 0.6, py + 0.6) for px, py in every_mm(np.array([a, b]), window)]
    for place in data.cameras:
        cx, cy = at([place])[0]
        page.dot(cx, cy, 1.6, colour=style.PAPER, edge=style.INK, zorder=6)
        room.taken.append((cx - 1.0, cy - 1.0, cx + 1.0, cy + 1.0))
    for section in data.sections:
        draw_chainage(page, room, section, at, scale, window)
    for name, parts in buildings:
        draw_name(room, name, parts)
    roles = [role for role in LANES if any(lane[2] == role for lane in data.lanes)]
    words = " · ".join([*(LANE_WORDS[role] for role in roles), "arrow: from start to finish", "ring: camera", "north is up"])
    lines = wrap(words, width, style.SMALL)
    page.lines_of_text(x, y + height + 3.4, lines, 2.9, size=style.SMALL, colour=style.SECOND)


def arrow(page: Page, a: np.ndarray, b: np.ndarray, colour: str, points: float, dashes=None, head_mm: float = HEAD_MM) -> None:
    """A line from a to b with a dot at its start and an open head at its end."""
    how = {"dashes": dashes} if dashes else {}
    page.line([a[0], b[0]], [a[1], b[1]], colour=colour, points=points, zorder=5, **how)
    page.dot(*a, head_mm, colour=colour, zorder=5.5)
    length = float(np.hypot(*(b - a)))
    if length < 1e-6:
        return
    back = (a - b) / length * head_mm
    side = 0.6 * np.array([-back[1], back[0]])
    page.line(*np.array([b + back + side, b, b + back - side]).T, colour=colour, points=points, zorder=5, solid_joinstyle="miter")


def draw_lane(page: Page, x: float, y: float, width: float, height: float, card: CardWords) -> None:
    """The lane of a card as the walker sees it, ahead up: the fence with its metres below (inwards) or above (outwards),
    the alarm line in long dashes."""
    page.rect(x, y, width, height, edge=style.GUIDE, points=0.6, zorder=1)
    lane = card.lane
    ahead = lane.finish[1] + lane.start[1] > 0.0
    top, bottom = (y + 6.4, y + height - 7.4) if ahead else (y + 7.4, y + height - 7.4)
    ends = np.array([lane.start, lane.finish])
    along = [*ends[:, 1], 0.0, *([] if card.alarm is None else [card.alarm])]
    low, high = min(along), max(along)
    wide = max(abs(ends[:, 0]).max(), 0.1)
    scale = min((bottom - top) / max(high - low, 1.0), (0.5 * width - 3.0) / wide)
    fence_y = bottom - scale * (0.0 - low) if ahead else top + scale * high

    def at(right: float, forward: float) -> np.ndarray:
        return np.array([x + 0.5 * width + scale * right, fence_y - scale * forward])

    how = {"points": 1.6} if card.barrier else {"points": 1.1, "dashes": (2.0, 1.5)}
    page.line([x + 1.0, x + width - 1.0], [fence_y, fence_y], zorder=3, **how)
    if card.alarm is not None:
        alarm_y = at(0.0, card.alarm)[1]
        if 0.0 < abs(alarm_y - fence_y) < LEAST_APART_MM:
            alarm_y = fence_y + math.copysign(LEAST_APART_MM, alarm_y - fence_y)
        page.line([x + 1.0, x + width - 1.0], [alarm_y, alarm_y], points=1.1, dashes=ALARM_DASHES, zorder=ALARM_ORDER)
    arrow(page, at(*lane.start), at(*lane.finish), style.INK, 1.4, head_mm=2.2)
    label, end = (y + height - 1.8, y + 4.9) if ahead else (y + 4.9, y + height - 1.8)
    page.text(x + 0.5 * width, label, card.label, size=TYPE, ha="center")
    page.text(x + 0.5 * width, end, card.end, size=TYPE, ha="center")
