"""A piece of ground on a page, grid north up: its metres in millimetres, lines and areas cut at the frame, its scale."""

from __future__ import annotations

import numpy as np
import shapely

from fencecast.show.aim.room import Room
from fencecast.show.paper import style
from fencecast.show.paper.page import Page


class Ground:
    """A frame with its upper left corner at (x, y) [mm], with `bounds` (west, south, east, north) [m] in the middle of it.

    scale: millimetres of a metre. room: where labels may stand.
    """

    def __init__(self, page: Page, corner: tuple[float, float], size: tuple[float, float], bounds, scale: float):
        (x, y), (width, height), (west, south, east, north) = corner, size, bounds
        self.page, self.scale = page, scale
        self.middle = np.array([0.5 * (west + east), 0.5 * (south + north)])
        self.centre = np.array([x + 0.5 * width, y + 0.5 * height])
        self.window = shapely.box(x, y, x + width, y + height)
        self.room = Room(page, (x + 0.4, y + 0.4, x + width - 0.4, y + height - 0.4))
        page.rect(x, y, width, height, edge=style.GUIDE, points=0.6, zorder=1)

    def at(self, points) -> np.ndarray:
        """Points of the ground [m] on the page [mm], (n, 2)."""
        return self.centre + (np.atleast_2d(np.asarray(points, dtype=float)) - self.middle) * np.array([self.scale, -self.scale])

    def line(self, way, **how) -> None:
        """A line on the ground, cut at the frame."""
        for part in inside_parts(shapely.LineString(self.at(way)), self.window, "LineString"):
            self.page.line(*part.T, **how)

    def area(self, corners, **how) -> list[np.ndarray]:
        """An area on the ground, cut at the frame; its parts on the page."""
        parts = inside_parts(shapely.make_valid(shapely.Polygon(self.at(corners))), self.window, "Polygon")
        for part in parts:
            self.page.polygon(part, **how)
        return parts

    def building(self, corners) -> list[np.ndarray]:
        """A building, as every plan has them; its parts on the page."""
        return self.area(corners, fill=style.BUILDING, edge=style.LINE, points=0.5, zorder=1.8)


def scale_of(width: float, height: float, pad: float, bounds) -> float:
    """Millimetres of a metre, so that `bounds` fit into a frame with `pad` [mm] round them; ground of 6 m at least."""
    west, south, east, north = bounds
    return min((width - 2 * pad) / max(east - west, 6.0), (height - 2 * pad) / max(north - south, 6.0))


def draw_scale(page: Page, right: float, y: float, scale: float, longest_mm: float) -> None:
    """A bar of round metres and the arrow to grid north, which end at `right` [mm] on the baseline y."""
    length = next((s for s in (1, 2, 5, 10, 20, 50, 100, 200) if s * scale >= 0.5 * longest_mm), 500)
    end = right - 7.0
    start = end - length * scale
    page.line([start, start, end, end], [y - 1.6, y - 0.6, y - 0.6, y - 1.6], points=0.8)
    page.text(start - 1.0, y, f"{length} m", size=style.SMALL, colour=style.SECOND, ha="right")
    at = right - 4.6
    page.line([at, at], [y + 0.2, y - 2.4], points=0.9)
    page.line([at - 0.9, at, at + 0.9], [y - 1.4, y - 2.5, y - 1.4], points=0.9)
    page.text(at + 1.3, y, "N", size=style.SMALL, colour=style.SECOND)


def inside_parts(shape, window, kind: str) -> list[np.ndarray]:
    """The parts of a shape inside the window, their points (n, 2)."""
    left = shape.intersection(window)
    parts = [part for part in getattr(left, "geoms", [left]) if part.geom_type == kind and not part.is_empty]
    return [shapely.get_coordinates(part.exterior if kind == "Polygon" else part) for part in parts]
