"""The one look of every picture: colours, type sizes, the Pd ramp, hatches and dots in millimetres.

All lengths are millimetres on paper, all type and line sizes are points. Nothing here knows of results or sites.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fencecast.cautions import CAUTION as CAUTION

FONT = "DejaVu Sans"  # comes with matplotlib, so that pictures are alike on every machine
DPI = 200
MM_PER_INCH = 25.4
MM_PER_POINT = MM_PER_INCH / 72.0
PIXEL_MM = MM_PER_INCH / DPI  # one device pixel on paper

# Inks, from the strongest to the weakest.
INK = "#1A1A1A"
SECOND = "#555555"
LINE = "#8A8A8A"
GUIDE = "#D9D9D9"
BUILDING = "#E2E2E2"
YARD = "#FAFAFA"
BAND = "#BDBDBD"  # confidence bands
PAPER = "#FFFFFF"

# The Pd ramp, low to high: warm below the requirement, cool from it upwards.
RAMP_WARM = ("#3A1809", "#6C2C0E", "#9F4415", "#C96A1E", "#E9972F")
RAMP_COOL = ("#CDE2F1", "#F2F7FB")
# On these a black hatch would drown (contrast under 3), so theirs is white.
WHITE_HATCH_ON = RAMP_WARM[:3]

# Why crossings are missed: (fill, hatch direction or None, hatch colour, hatch spacing in mm), in the ladder's order.
CAUSES = {
    "no rule there": ("#DD6655", "rising", "#FFFFFF", 1.0),
    "not in view": ("#262626", None, None, None),
    "too small": ("#0072B2", None, None, None),
    "too brief": ("#F7F1B5", "upright", "#6B5D00", 0.7),
    "washed out": ("#C9A0DC", "falling", "#4B2E63", 1.0),
    "not accepted": ("#005A00", "upright", "#FFFFFF", 1.4),
}

# Two lenses or two layouts: A solid, B dashed.
A_COLOUR = "#3F3A8C"
B_COLOUR = "#1B9E8A"
B_TEXT = "#0B5F54"
EYE_OUTLINE = "#A63A00"
LARGEST_LOSS = "#9F4415"

# Type, in points. Nothing is smaller than SMALL.
TITLE = 10.5
HEAD = 8.0
SUBTITLE = 7.5
LABEL = 7.0
SMALL = 6.5
VERDICT = (13.0, 11.5, 10.0)  # the summary sheet's verdict line: the first size at which it fits

# Page and marks.
PAGE_WIDTH_MM = 180.0
MARGIN_MM = 4.0
RAIL_MM = 0.85
PLAN_RAIL_MM = 0.75
HATCH_SPACING_MM = 1.0
HATCH_POINTS = 0.5
DOT_MM = 0.3
DOT_SPACING_MM = 1.15


@dataclass(frozen=True)
class Ramp:
    """The stepped colour ramp of one requirement: `colours[i]` fills Pd from `edges[i]` to `edges[i + 1]`."""

    edges: tuple[float, ...]
    colours: tuple[str, ...]
    requirement: float

    def step(self, pd: float) -> int:
        """Index of the step that holds `pd` [fraction]; a Pd equal to an edge belongs to the step above it."""
        return int(np.clip(np.searchsorted(self.edges, pd, side="right") - 1, 0, len(self.colours) - 1))

    def colour(self, pd: float) -> str:
        """Hex colour of `pd` [fraction, not NaN]."""
        return self.colours[self.step(pd)]


def fence7(requirement: float) -> Ramp:
    """Pd ramp whose one large jump of lightness lies at the requirement [fraction, 0 < requirement < 1].

    Fixed edges 0, 0.2, 0.4, 0.6, 0.8 below the requirement (those within 0.05 of it are dropped, so that no step is a
    sliver), then the requirement, halfway to 1, and 1. With fewer than five warm steps the five colours are spread,
    the darkest and the lightest kept.
    """
    if not 0.0 < requirement < 1.0:
        raise ValueError(f"a requirement lies between 0 and 1, not {requirement!r}")
    # 1e-9: 0.85 - 0.80 must count as 'within 0.05' whatever its last bit.
    below = [0.0] + [edge for edge in (0.2, 0.4, 0.6, 0.8) if edge < requirement - 0.05 - 1e-9]
    if len(below) == 1:
        warm = [RAMP_WARM[2]]
    else:
        warm = [RAMP_WARM[i] for i in np.round(np.linspace(0, 4, len(below))).astype(int)]
    edges = (*below, requirement, 0.5 * (1.0 + requirement), 1.0)
    return Ramp(edges=edges, colours=(*warm, *RAMP_COOL), requirement=requirement)


def hatch_colour(fill: str) -> str:
    """Black on the light steps of the ramp, white on the three darkest."""
    return PAPER if fill in WHITE_HATCH_ON else INK


_DIRECTIONS = {  # unit normals of the hatch lines on a page whose y runs downwards
    "rising": (np.sqrt(0.5), np.sqrt(0.5)),
    "falling": (np.sqrt(0.5), -np.sqrt(0.5)),
    "upright": (1.0, 0.0),
}


def hatch_segments(polygon_mm: ArrayLike, spacing_mm: float = HATCH_SPACING_MM, direction: str = "rising") -> np.ndarray:
    """Hatch lines clipped to a convex polygon, all pictures' hatches in one phase, so that touching runs join up.

    polygon_mm: (n, 2) corners, in order [mm on the page, y downwards]. direction: 'rising', 'falling' or 'upright'.
    Returns an array (lines, 2, 2) of end points [mm].
    """
    corners = np.asarray(polygon_mm, dtype=float)
    normal = np.array(_DIRECTIONS[direction])
    along = np.array([-normal[1], normal[0]])
    distance = corners @ normal
    lines = []
    for k in range(int(np.ceil(distance.min() / spacing_mm)), int(np.floor(distance.max() / spacing_mm)) + 1):
        level = k * spacing_mm
        cuts = []
        for i in range(len(corners)):
            j = (i + 1) % len(corners)
            if (distance[i] <= level) != (distance[j] <= level):
                share = (level - distance[i]) / (distance[j] - distance[i])
                cuts.append(corners[i] + share * (corners[j] - corners[i]))
        if len(cuts) == 2:
            ends = sorted(cuts, key=lambda point: float(point @ along))
            if np.linalg.norm(ends[1] - ends[0]) > 0.05:  # shorter is a speck of ink, not a line
                lines.append(ends)
    return np.array(lines, dtype=float).reshape(-1, 2, 2)


def dot_points(polygon_mm: ArrayLike, spacing_mm: float = DOT_SPACING_MM) -> np.ndarray:
    """Centres of the 'no data' dots inside a convex polygon (corners (n, 2) [mm]), on one page-wide staggered grid.

    Dots nearer than half their width to the edge are left out. Returns an array (dots, 2) [mm].
    """
    corners = np.asarray(polygon_mm, dtype=float)
    (x_low, y_low), (x_high, y_high) = corners.min(axis=0), corners.max(axis=0)
    points = []
    for row in range(int(np.floor(y_low / spacing_mm)), int(np.ceil(y_high / spacing_mm)) + 1):
        shift = 0.5 * (row % 2)
        for column in range(int(np.floor(x_low / spacing_mm)) - 1, int(np.ceil(x_high / spacing_mm)) + 1):
            points.append(((column + shift) * spacing_mm, row * spacing_mm))
    points = np.array(points, dtype=float).reshape(-1, 2)
    edge = np.roll(corners, -1, axis=0) - corners
    length = np.hypot(edge[:, 0], edge[:, 1])
    edge, start, length = edge[length > 0], corners[length > 0], length[length > 0]
    offset = points[:, None, :] - start[None, :, :]
    side = (edge[None, :, 0] * offset[..., 1] - edge[None, :, 1] * offset[..., 0]) / length
    inner = 0.5 * DOT_MM
    return points[np.all(side >= inner, axis=1) | np.all(side <= -inner, axis=1)]
