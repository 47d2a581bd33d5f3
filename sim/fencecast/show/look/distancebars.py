"""Below the panels of Pd against distance: bars from where to where a lens reaches the requirement, and the table of steps."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fencecast.findings.lensdistances import BRIDGE_HEADING, BridgeRow
from fencecast.show.look.data import Curve, DistanceData, Lens
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm, wrap

PANEL_MM = (47.0, 33.0)
BAR_MM = 1.9
BRIDGE_FIRST_MM = 30.0


def colour_of(lens: Lens) -> str:
    return style.B_COLOUR if lens.dashed else style.A_COLOUR


class Panel:
    """One class's panel: its corner on the page and the scales of its axes."""

    def __init__(self, page: Page, left: float, top: float, farthest_m: float):
        self.page, self.left, self.top, self.farthest_m = page, left, top, farthest_m
        self.right, self.bottom = left + PANEL_MM[0], top + PANEL_MM[1]

    def x(self, distance_m: float | np.ndarray) -> np.ndarray:
        return self.left + np.asarray(distance_m) / self.farthest_m * PANEL_MM[0]

    def y(self, pd: float | np.ndarray) -> np.ndarray:
        return self.bottom - np.asarray(pd) * PANEL_MM[1]


def range_bar(panel: Panel, y: float, label: str, curve: Curve) -> None:
    """Where the curve reaches the requirement, outlined, and where the complete interval does, filled; its ends in words."""
    page, text = panel.page, curve.words
    page.line([panel.left, panel.right], [y, y], colour=style.GUIDE, points=0.5, zorder=1)
    page.text(panel.left - 1.2, y + 0.85, label, size=style.SMALL, ha="right")
    width = text_width_mm(text, style.SMALL)
    if not curve.reaches:
        page.text(panel.left + 1.0, y + 0.85, text, size=style.SMALL, plate=True, zorder=9)
        return
    ends = []
    for stretches, filled in ((curve.reaches, False), (curve.shown, True)):
        for start, end in stretches:
            a, b = float(panel.x(start)), float(panel.x(end))
            a, b = (a, b) if b - a > 0.6 else (0.5 * (a + b) - 0.3, 0.5 * (a + b) + 0.3)  # a single distance is still a mark
            ends.append((a, b))
            corners = [(a, y - BAR_MM / 2), (b, y - BAR_MM / 2), (b, y + BAR_MM / 2), (a, y + BAR_MM / 2)]
            if filled:
                page.polygon(corners, fill=colour_of(curve.lens), zorder=4)
            else:
                page.polygon(corners, fill=style.PAPER, edge=colour_of(curve.lens), points=0.6, zorder=3.9)
            if filled and curve.lens.dashed:
                page.hatch(corners, style.PAPER, zorder=4.1)
    first, last = min(a for a, _ in ends), max(b for _, b in ends)
    if last + 1.2 + width <= panel.right + 1.0:
        page.text(last + 1.2, y + 0.85, text, size=style.SMALL, plate=True, zorder=9)
    elif first - 1.2 - width >= panel.left + 0.6:
        page.text(first - 1.2 - width, y + 0.85, text, size=style.SMALL, plate=True, zorder=9)
    else:  # no room beside the bar: below it
        page.text(panel.left + 1.0, y + BAR_MM / 2 + 2.6, text, size=style.SMALL)


def no_room(data: DistanceData, curve: Curve) -> bool:
    """Whether a bar's words fit neither behind nor before it (they then stand below)."""
    if not curve.reaches:
        return False
    per_m, width = PANEL_MM[0] / float(data.distance_m[-1]), text_width_mm(curve.words, style.SMALL)
    before, after = curve.reaches[0][0] * per_m, PANEL_MM[0] - curve.reaches[-1][1] * per_m
    return after < width + 0.5 and before < width + 2.1


def bridge_table(page: Page, y: float, rows: Sequence[BridgeRow]) -> float:
    """The table from a data sheet's range to the simulated distances, a row for each lens; returns its lowest y."""
    page.text(page.left, y + 3.4, BRIDGE_HEADING, size=style.HEAD, weight="bold")
    y += 7.2
    columns = len(rows[0].cells)
    width = (page.right - page.left - BRIDGE_FIRST_MM) / columns
    heads = [wrap(head, width - 2.0, style.SMALL) for head, _ in rows[0].cells]
    deepest = max(len(lines) for lines in heads)
    for k, lines in enumerate(heads):
        x = page.left + BRIDGE_FIRST_MM + (k + 1) * width
        for i, line in enumerate(lines):
            page.text(x, y + 2.8 * (deepest - len(lines) + i), line, size=style.SMALL, colour=style.SECOND, ha="right")
    y += 2.8 * (deepest - 1) + 1.2
    page.line([page.left, page.right], [y, y], colour=style.LINE, points=0.5)
    for row in rows:
        y += 3.6
        cells = [cell.split(" (") for _, cell in row.cells]  # feet, where there are any, on a line of their own
        names = wrap(row.lens, BRIDGE_FIRST_MM + 8.0, style.SMALL, most=2)
        page.lines_of_text(page.left, y, names, 2.8, size=style.SMALL)
        for k, lines in enumerate(cells):
            for i, line in enumerate(lines):
                x, text = page.left + BRIDGE_FIRST_MM + (k + 1) * width, f"({line}" if i else line
                page.text(x, y + 2.8 * i, text, size=style.SMALL, colour=style.SECOND if i else style.INK, ha="right")
        y += 2.8 * (max(len(names), *map(len, cells)) - 1)
    return y
