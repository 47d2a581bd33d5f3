"""Marks of families that differ in shape, line and colour, so that they stay apart in grey."""

from __future__ import annotations

import math

from fencecast.show.paper import style
from fencecast.show.paper.surface import Surface
from fencecast.show.study.sheet import LINES, Line

# Corners of each shape on a circle: how many, and the angle of the first from the top.
_CORNERS = {"square": (4, 45.0), "up": (3, 0.0), "diamond": (4, 0.0), "down": (3, 180.0)}
SHAPES = ("round", "square", "up", "diamond", "down", "plus")
ORDER = ("threshold", "N50", "confirm", "least size", "dwell", "offset")
MARK_MM = 2.3


def family_line(name: str) -> Line:
    """Colour, width and dashes of a family's line."""
    return LINES[ORDER.index(name)]


def family_shape(name: str) -> str:
    """The shape of a family's marks."""
    return SHAPES[ORDER.index(name)]


def draw_mark(page: Surface, x: float, y: float, name: str, hollow: bool, size: float = MARK_MM) -> None:
    """One mark: filled, or hollow for a dominated setting."""
    colour = family_line(name)[0]
    fill = style.PAPER if hollow else colour
    shape, half = family_shape(name), 0.5 * size
    if shape == "round":
        page.dot(x, y, size * 0.92, colour=fill, edge=colour, zorder=7)
        return
    if shape == "plus":
        arm, thick = half * 1.15, half * 0.42
        corners = [(-thick, -arm), (thick, -arm), (thick, -thick), (arm, -thick), (arm, thick), (thick, thick)]
        corners += [(thick, arm), (-thick, arm), (-thick, thick), (-arm, thick), (-arm, -thick), (-thick, -thick)]
    else:
        count, turn = _CORNERS[shape]
        reach = half * {"square": 1.2, "diamond": 1.25}.get(shape, 1.3)
        angles = [math.radians(turn + 360.0 * k / count) for k in range(count)]
        corners = [(reach * math.sin(angle), -reach * math.cos(angle)) for angle in angles]
    page.polygon([(x + dx, y + dy) for dx, dy in corners], fill=fill, edge=colour, points=0.7, zorder=7)
