"""What the live picture of an aim sheet draws: lines and boxes in pixels, columns to the right and rows down from the upper left
corner, everything cut at the frame. All of it is projected by the camera's own geometry; what is hidden is left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from fencecast.camera import CameraGeometry, camera_geometry
from fencecast.onelook.scenery import Shape, lines_in_picture, scenery
from fencecast.prove.aim import CameraAim
from fencecast.prove.marks import PERSON_M
from fencecast.review.optics import Eye, Hiders, eyes_of, hiders_of, shadow_m
from fencecast.site import Site
from fencecast.site.geometry import area_polygon, rule_line, vertices

RINGS_M = (2.0, 3.0, 4.0, 5.0, 7.0, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 100.0, 150.0, 200.0)
RING_ROWS = 0.07  # of the frame's height between two rings in the middle, at least
PERSON_HALF_WIDTH_M = 0.25
_STEP_M = 0.5  # of fence and rule lines: each piece is seen or hidden
_NEAR_STEPS = 4  # pieces of each such step, so that lines bend where a lens bends them


@dataclass(frozen=True, eq=False)
class Ring:
    """Ground at one distance from under the lens."""

    distance_m: float
    lines: tuple[np.ndarray, ...]


@dataclass(frozen=True, eq=False)
class FenceLines:
    """A section: its foot and, when it has a barrier, its top; barrier: whether there is one."""

    name: str
    barrier: bool
    foot: tuple[np.ndarray, ...]
    top: tuple[np.ndarray, ...]


@dataclass(frozen=True)
class PictureMark:
    """A mark in the picture: where its foot must appear, how far off it may be, and the box of a person on it
    (column from, to, row from, to)."""

    number: int
    column: float
    row: float
    tolerance_px: tuple[int, int]
    person: tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class FrameData:
    """The picture of one camera; shapes: obstacles as `onelook.scenery` has them."""

    columns: int
    rows: int
    horizon: tuple[np.ndarray, ...]
    rings: tuple[Ring, ...]
    fences: tuple[FenceLines, ...]
    shapes: tuple[Shape, ...]
    rules: tuple[np.ndarray, ...]
    marks: tuple[PictureMark, ...]


def frame_data(site: Site, aim: CameraAim) -> FrameData:
    """The live picture of one camera as it must look."""
    camera = next(each for each in site.camera if each.mark == aim.mount.mark)
    geometry = camera_geometry(site, camera)
    eye = next(each for each in eyes_of(site) if each.mark == camera.mark)
    hiders = _solid(hiders_of(site))
    view = _View(geometry, eye, hiders)
    fences = []
    for section in site.perimeter:
        line = vertices(section)
        barrier = section.barrier != "none"
        top = view.line(line, float(section.barrier_height_m)) if barrier else ()
        fences.append(FenceLines(section.name, barrier, view.line(line, 0.0), top))
    rules = [line for rule in site.rule if camera.mark in rule.cameras for line in view.line(watched_line(site, rule), 0.0)]
    return FrameData(
        geometry.columns,
        geometry.rows,
        view.horizon(),
        _rings(view),
        tuple(fence for fence in fences if fence.foot or fence.top),
        tuple(shape for shape in scenery(site, camera) if shape.kind == "obstacle"),
        tuple(rules),
        tuple(_mark(geometry, mark, aim.mount.tolerance_px) for mark in aim.choice.marks),
    )


def _solid(hiders: Hiders) -> Hiders:
    """Obstacles and walls: a mesh fence is drawn, and so is what stands behind it."""
    return Hiders(hiders.prisms, tuple(sheet for sheet in hiders.sheets if sheet.open_share == 0.0))


def watched_line(site: Site, rule) -> np.ndarray:
    """The line of a rule, of an area its outline, (n, 2) [m]."""
    if rule.kind == "line":
        return rule_line(rule, site.perimeter)
    ring = area_polygon(rule, site.perimeter)
    return np.vstack([ring, ring[:1]])


class _View:
    """One camera's picture of lines on the site."""

    def __init__(self, geometry: CameraGeometry, eye: Eye, hiders: Hiders):
        self.geometry, self.eye, self.hiders = geometry, eye, hiders
        self.frame = shapely.box(0.0, 0.0, geometry.columns, geometry.rows)

    def line(self, points_m: np.ndarray, height_m: float) -> tuple[np.ndarray, ...]:
        """A line along the ground (n, 2) [m] at a height, without the pieces that are hidden."""
        pieces = []
        for a, b in zip(points_m[:-1], points_m[1:]):
            count = max(1, math.ceil(math.dist(a, b) / _STEP_M))
            pieces.append(a + np.linspace(0.0, 1.0, count + 1)[:, None] * (b - a))
        fine = np.vstack([pieces[0], *(piece[1:] for piece in pieces[1:])])
        return self.seen(fine, height_m)

    def seen(self, fine: np.ndarray, height_m: float) -> tuple[np.ndarray, ...]:
        """The polyline (n, 2) at a height, of which each piece is drawn or hidden by its middle."""
        middle = 0.5 * (fine[:-1] + fine[1:])
        open_view = shadow_m(self.eye, self.hiders, *middle.T) <= height_m + 1e-9
        edges = np.flatnonzero(np.diff(np.concatenate([[False], open_view, [False]]).astype(int)))
        found: list[np.ndarray] = []
        for a, b in zip(edges[::2], edges[1::2]):
            points = np.column_stack([fine[a : b + 1], np.full(b - a + 1, height_m)])
            found += self.cut(lines_in_picture(self.geometry, points, _NEAR_STEPS))
        return tuple(found)

    def cut(self, lines: list[np.ndarray]) -> list[np.ndarray]:
        """Lines in the picture, cut at the frame."""
        found = []
        for line in lines:
            left = shapely.LineString(line).intersection(self.frame)
            parts = getattr(left, "geoms", [left])
            found += [shapely.get_coordinates(p) for p in parts if p.geom_type == "LineString" and not p.is_empty]
        return found

    def horizon(self) -> tuple[np.ndarray, ...]:
        """Level with the lens, far away; behind obstacles it is drawn through (they are drawn over it)."""
        bearings = self.geometry.bearing_rad + np.radians(np.linspace(-89.0, 89.0, 357))
        far = 1.0e6
        east, north = self.geometry.x_m + far * np.sin(bearings), self.geometry.y_m + far * np.cos(bearings)
        points = np.column_stack([east, north, np.full(len(bearings), self.geometry.height_m)])
        return tuple(self.cut(lines_in_picture(self.geometry, points, 1)))


def _rings(view: _View) -> tuple[Ring, ...]:
    """Distances whose rings lie well apart in the middle of the picture, the nearest in the frame first."""
    geometry = view.geometry
    rings: list[Ring] = []
    last = math.inf
    for distance in RINGS_M:
        ahead = geometry.position_px(
            geometry.x_m + distance * math.sin(geometry.bearing_rad),
            geometry.y_m + distance * math.cos(geometry.bearing_rad),
            0.0,
        )
        if ahead is None or abs(ahead[1]) > 0.5 * geometry.rows or last - ahead[1] < RING_ROWS * geometry.rows:
            continue
        bearings = geometry.bearing_rad + np.radians(np.arange(-100.0, 100.5, 0.5))
        fine = np.column_stack([geometry.x_m + distance * np.sin(bearings), geometry.y_m + distance * np.cos(bearings)])
        lines = view.seen(fine, 0.0)
        if lines:
            rings.append(Ring(distance, lines))
            last = ahead[1]
    return tuple(rings)


def _mark(geometry: CameraGeometry, mark, tolerance_px: tuple[int, int]) -> PictureMark:
    """The person's box: the corners of an upright rectangle across the line of sight."""
    east, north = mark.x_m - geometry.x_m, mark.y_m - geometry.y_m
    far = math.hypot(east, north)
    across = (north / far * PERSON_HALF_WIDTH_M, -east / far * PERSON_HALF_WIDTH_M)
    corners = [
        geometry.position_px(mark.x_m + side * across[0], mark.y_m + side * across[1], z)
        for side in (-1.0, 1.0)
        for z in (0.0, PERSON_M)
    ]
    inside = [corner for corner in corners if corner is not None]
    columns = np.clip([0.5 * geometry.columns + u for u, _ in inside], 0.0, geometry.columns)
    rows = np.clip([0.5 * geometry.rows + v for _, v in inside], 0.0, geometry.rows)
    box = (float(columns.min()), float(columns.max()), float(rows.min()), float(rows.max()))
    return PictureMark(mark.number, mark.column, mark.row, tolerance_px, box)
