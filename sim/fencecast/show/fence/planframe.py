"""How plans lie on their page: turned or with grid north up, in how many columns, so that the fence is drawn as large as fits."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from shapely import MultiPoint

from fencecast.site import Site

AROUND_MM = 7.0  # room for band, rail and letter on every side
LEAST_INSIDE_MM = 10.0  # room for names beside a fence that encloses nothing
CLASS_INSIDE_MM = 3.5  # and in plans without names
PAGE_MM = 172.0  # between the margins
COLUMN_GAP_MM = 4.0
KEY_HEIGHT_MM = 47.0  # of the key beside the key plan
KEY_BELOW_MM = 38.0  # of the key below a key plan as wide as the page
WHOLE_PAGE_MM = 262.0  # plans shrink so that the picture fits an A4 page with a caption
MOST_HEIGHT_MM = 56.0  # of one of several plans
ONE_PLAN_MM = 110.0  # of the one plan of a site with one weather class
WIDE_KEY_MM = 80.0
HEADS_MM = 34.0  # title, subtitle, foot
FOOT_MM = 12.0
LEAST_PLAN_MM = 26.0
TOLERANCE_MM = 6.0  # that a page may be longer than planned
TURN_GAIN = 1.3  # a plan is turned only where the fence is drawn larger by this factor
WIDE_GAIN = 1.25  # and its key plan takes the width of the page only where that gains this much


@dataclass(frozen=True)
class PlanLayout:
    """Columns of plans, the width of one and its greatest height [mm]; the same for the key plan, which is beside its key or,
    `key_below`, above it; turn_deg: how far all plans are turned, clockwise."""

    columns: int
    width_mm: float
    most_mm: float
    key_width_mm: float
    key_most_mm: float
    key_below: bool
    turn_deg: float


def turned(points: ArrayLike, turn_deg: float) -> np.ndarray:
    """Points (n, 2) turned clockwise about the origin."""
    points, turn = np.atleast_2d(np.asarray(points, dtype=float)), math.radians(turn_deg)
    x, y = points[:, 0], points[:, 1]
    return np.stack([x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn)], axis=1)


def drawn_points(site: Site) -> np.ndarray:
    """Everything that a plan must show (n, 2) [m]: corners of fences and obstacles, cameras."""
    corners = [p for perimeter in site.perimeter for p in perimeter.points_m]
    corners += [p for obstacle in site.obstacle for p in obstacle.footprint_m]
    return np.array([*corners, *(c.position_m for c in site.camera)], dtype=float)


def lying_turn(site: Site) -> float:
    """Turn [degrees, clockwise, -90 to 90] at which the site's least enclosing rectangle lies along the page."""
    shape = MultiPoint(drawn_points(site)).minimum_rotated_rectangle
    corners = np.array(shape.exterior.coords if shape.geom_type == "Polygon" else shape.coords)
    edges = np.diff(corners, axis=0)
    if not len(edges):
        return 0.0
    dx, dy = edges[int(np.argmax(np.hypot(edges[:, 0], edges[:, 1])))]
    angle = math.degrees(math.atan2(dy, dx))
    return (angle + 90.0) % 180.0 - 90.0 or 0.0


def extent(site: Site, turn_deg: float) -> tuple[float, float]:
    """Width and height of what a turned plan shows [m]."""
    points = turned(drawn_points(site), turn_deg)
    width, height = np.ptp(points, axis=0)
    return float(width), float(height)


def scale_of(site: Site, turn_deg: float, width_mm: float, most_mm: float) -> float:
    """Largest scale [mm per m] at which a plan fits; below 0 where not even its margins do."""
    wide, high = extent(site, turn_deg)
    return min((width_mm - 2 * AROUND_MM) / max(wide, 1e-9), (most_mm - 2 * AROUND_MM) / max(high, 1e-9))


def drawn_height(site: Site, turn_deg: float, width_mm: float, most_mm: float, inside_mm: float = LEAST_INSIDE_MM) -> float:
    """Height of a plan on paper [mm]."""
    drawn = extent(site, turn_deg)[1] * max(0.0, scale_of(site, turn_deg, width_mm, most_mm))
    return max(drawn, inside_mm) + 2 * AROUND_MM


def drawn_width(site: Site, turn_deg: float, width_mm: float, most_mm: float) -> float:
    """Width of a plan on paper [mm]."""
    return extent(site, turn_deg)[0] * scale_of(site, turn_deg, width_mm, most_mm) + 2 * AROUND_MM


def plan_turn(site: Site, width_mm: float, most_mm: float) -> float:
    """Turn of one plan in a given space: 0 unless lying along it draws the fence much larger."""
    turn = lying_turn(site)
    gain = scale_of(site, turn, width_mm, most_mm) / scale_of(site, 0.0, width_mm, most_mm)
    return turn if gain >= TURN_GAIN else 0.0


def plan_layout(site: Site, classes: int, units: str) -> PlanLayout:
    """The layout of a page with so many class plans that draws the fence largest; of equal ones the one nearest to two columns
    with grid north up."""
    best: tuple[float, PlanLayout] | None = None
    for turn in (0.0, lying_turn(site)):
        key_width, key_most = _column(2), KEY_HEIGHT_MM
        gain = scale_of(site, turn, PAGE_MM, WIDE_KEY_MM) / scale_of(site, turn, key_width, MOST_HEIGHT_MM)
        below = gain >= WIDE_GAIN and extent(site, turn)[0] > 2.0 * extent(site, turn)[1]
        if below:
            key_width, key_most = PAGE_MM, WIDE_KEY_MM
            key_height = drawn_height(site, turn, key_width, key_most) + KEY_BELOW_MM
        else:
            key_height = key_most
        for columns in (2, 1, 3):
            rows = -(-classes // columns)
            room = WHOLE_PAGE_MM - HEADS_MM - rows * _class_head(units)
            key = key_height if below else min(max(key_height, room / (rows + 1)), MOST_HEIGHT_MM)
            most = min(ONE_PLAN_MM if classes == 1 else MOST_HEIGHT_MM, (room - key) / rows)
            layout = PlanLayout(columns, _column(columns), most, key_width, key_most if below else key, below, turn)
            score = scale_of(site, turn, layout.width_mm, most)
            score *= (1.0 / TURN_GAIN if turn else 1.0) * (1.0 if columns == 2 else 0.95)
            each = drawn_height(site, turn, layout.width_mm, most, CLASS_INSIDE_MM) + _class_head(units)
            if HEADS_MM + key + rows * each > WHOLE_PAGE_MM + TOLERANCE_MM:
                score *= 0.1
            if columns <= max(classes, 2) and (best is None or score > best[0] * (1.0 + 1e-9)):
                best = (score, layout)
    return best[1]


def with_room(layout: PlanLayout, classes: int, units: str, y: float) -> PlanLayout:
    """The layout with plans low enough for a page whose class plans begin at y [mm], however long the key became."""
    rows = -(-classes // layout.columns)
    most = (WHOLE_PAGE_MM - FOOT_MM - y) / rows - _class_head(units)
    return replace(layout, most_mm=min(layout.most_mm, max(most, LEAST_PLAN_MM)))


def _class_head(units: str) -> float:
    return 13.0 if units == "us" else 10.0


def _column(columns: int) -> float:
    return (PAGE_MM - COLUMN_GAP_MM * (columns - 1)) / columns


class Ground:
    """From the ground to the page and back: `to_page(x_m, y_m)` and `to_ground(x_mm, y_mm)`, each (2,).

    x, y: upper left corner of the plan [mm]; `width` and `most_height` bound it; `height` is what it takes;
    inside_mm: least room beside a fence that encloses nothing.
    """

    def __init__(self, site: Site, x: float, y: float, width: float, most_height: float, turn_deg: float, inside_mm: float):
        points = turned(drawn_points(site), turn_deg)
        (west, south), (_, north) = points.min(axis=0), points.max(axis=0)
        self.turn_deg, self.scale = turn_deg, scale_of(site, turn_deg, width, most_height)
        drawn = float(north - south) * self.scale
        pad = max(0.0, inside_mm - drawn)
        below = pad if _inside_is_below(site, turn_deg) else 0.0
        self.height = drawn + pad + 2 * AROUND_MM
        self._left, self._top = x + AROUND_MM - west * self.scale, y + AROUND_MM + (pad - below) + north * self.scale
        self.to_page: Callable[[float, float], np.ndarray] = self._to_page

    def _to_page(self, x_m: float, y_m: float) -> np.ndarray:
        (px, py) = turned([(x_m, y_m)], self.turn_deg)[0]
        return np.array([self._left + px * self.scale, self._top - py * self.scale])

    def to_ground(self, x_mm: float, y_mm: float) -> np.ndarray:
        return turned([((x_mm - self._left) / self.scale, (self._top - y_mm) / self.scale)], -self.turn_deg)[0]


def _inside_is_below(site: Site, turn_deg: float) -> bool:
    perimeter = site.perimeter[0]
    ends = turned([perimeter.points_m[0], perimeter.points_m[-1]], turn_deg)
    return bool(ends[1, 0] >= ends[0, 0]) == (perimeter.inside == "right")
