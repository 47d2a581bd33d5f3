"""What more cameras buy: mean Pd over yards against cost, a line per design, a panel per weather class (`study-front.png`)."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.findings.designtitles import cost_text
from fencecast.findings.words import confidence_text, first_upper, requirement_text
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten
from fencecast.show.study.data import study_front_data
from fencecast.show.study.sheet import LINES, Line, round_step, spread_out

PANEL_MM, LABEL_MM, AXIS_MM, GAP_MM = 50.0, 34.0, 9.0, 15.0
ACROSS = 2
# Levels of Pd that are named; between the good designs and the bad ones lie factors in what is missed.
_LEVELS = (1.0, 0.99, 0.95, 0.9, 0.8, 0.6, 0.4, 0.2, 0.0)


def plot_study_front(results: xr.Dataset) -> Figure:
    """Panels of two across; x: mean cost of the layouts (cameras when there are no prices); y: mean Pd over yards."""
    data = study_front_data(results)
    page = Page()
    top = page.heading(
        data.title,
        f"Mean Pd of the fence against {'mean cost of a layout' if data.unit == 'price' else 'mean number of cameras'}, over the "
        f"yards on which the design has a layout; bars: {confidence_text(data.confidence)} intervals over yards; "
        "scale: square root of what is missed",
    )
    known = data.mean - np.nan_to_num(data.half)
    floor = max(level for level in _LEVELS[3:] if level <= max(float(np.nanmin(known)), 0.0))
    spans = (float(np.nanmin(data.cost)), float(np.nanmax(data.cost)))
    across = min(ACROSS, len(data.classes))  # one class takes the whole width
    width = (page.right - page.left - across * (AXIS_MM + LABEL_MM)) / across
    for n, weather in enumerate(data.classes):
        left = page.left + AXIS_MM + (n % across) * (AXIS_MM + LABEL_MM + width)
        upper = top + 7.0 + (n // across) * (PANEL_MM + GAP_MM)
        panel = _Panel(page, left, upper, width, spans, floor)
        panel.axes(first_upper(weather.name), data.requirement, data.unit)
        ends = [panel.line(data.cost[:, i], data.mean[:, i, n], data.half[:, i, n], LINES[i]) for i in range(len(data.designs))]
        panel.names(data.designs, ends)
    bottom = top + 7.0 + math.ceil(len(data.classes) / across) * (PANEL_MM + GAP_MM) - 4.0
    if data.left_out:
        page.text(page.left, bottom + 2.0, data.left_out, size=style.SMALL, colour=style.SECOND)
        bottom += 4.0
    page.foot(bottom + 1.0, data.attrs)
    return page.figure


class _Panel:
    """One weather class: its frame on the page, its scales."""

    def __init__(self, page: Page, left: float, top: float, width: float, span: tuple[float, float], floor: float):
        self.page, self.left, self.top, self.width, self.floor = page, left, top, width, floor
        room = 0.08 * max(span[1] - span[0], 0.05 * span[1], 1e-9)
        self.low, self.high = span[0] - room, span[1] + room

    def x(self, cost: float | np.ndarray) -> np.ndarray:
        return self.left + (np.asarray(cost) - self.low) / (self.high - self.low) * self.width

    def y(self, pd: float | np.ndarray) -> np.ndarray:
        return self.top + np.sqrt((1.0 - np.clip(pd, self.floor, 1.0)) / (1.0 - self.floor)) * PANEL_MM

    def axes(self, name: str, need: float, unit: str) -> None:
        page, right, bottom = self.page, self.left + self.width, self.top + PANEL_MM
        page.text(self.left, self.top - 2.0, shorten(name, self.width, style.HEAD, "bold"), size=style.HEAD, weight="bold")
        page.rect(self.left, self.top, self.width, PANEL_MM, edge=style.LINE, points=0.5)
        for level in (level for level in _LEVELS if level >= self.floor):
            if abs(self.y(level) - self.y(need)) > 2.6:
                page.text(self.left - 1.2, self.y(level) + 0.9, f"{level:g}", ha="right", size=style.SMALL, colour=style.SECOND)
            page.line([self.left, right], [self.y(level)] * 2, colour=style.GUIDE, points=0.4, zorder=1)
        if need > self.floor:
            page.line([self.left, right], [self.y(need)] * 2, points=0.9, dashes=(5, 2), zorder=3)
            page.text(self.left - 1.2, self.y(need) + 0.9, requirement_text(need), ha="right", size=style.SMALL, weight="bold")
        step = round_step(self.high - self.low)
        for k in range(math.ceil(self.low / step), math.floor(self.high / step) + 1):
            at = float(self.x(k * step))
            page.line([at, at], [bottom, bottom + 1.0], colour=style.LINE, points=0.5)
            page.text(at, bottom + 3.8, cost_text(k * step, unit), ha="center", size=style.SMALL, colour=style.SECOND)
        words = "cost, in the prices of the study file" if unit == "price" else "cameras of a yard"
        page.text(right, bottom + 7.2, shorten(words, self.width), ha="right", size=style.SMALL, colour=style.SECOND)

    def line(self, cost: np.ndarray, pd: np.ndarray, half: np.ndarray, how: Line) -> tuple[float, float] | None:
        """A design's front, cheapest first; returns its last point on the page, None where it has no layout at all."""
        colour, points, dashes = how
        order = [k for k in np.argsort(cost, kind="stable") if not np.isnan(pd[k])]
        if not order:
            return None
        xs, ys = self.x(np.asarray(cost)[order]), self.y(np.asarray(pd)[order])
        self.page.line(xs, ys, colour=colour, points=points, zorder=4, **({"dashes": dashes} if dashes else {}))
        for k, x, y in zip(order, xs, ys):
            if not np.isnan(half[k]):
                ends = np.clip([self.y(pd[k] + half[k]), self.y(pd[k] - half[k])], self.top, self.top + PANEL_MM)
                self.page.line([x, x], ends, colour=colour, points=0.7, zorder=4.5)
            self.page.dot(x, y, 1.7, colour=colour, edge=style.PAPER, zorder=6)
        return float(xs[-1]), float(ys[-1])

    def names(self, names: Sequence[str], ends: Sequence[tuple[float, float] | None]) -> None:
        """Names at the right of the panel, joined to the ends of their lines by thin leaders."""
        right = self.left + self.width
        there = [k for k, end in enumerate(ends) if end is not None]
        places = spread_out([ends[k][1] for k in there], 3.3, self.top + 1.0, self.top + PANEL_MM - 1.0)
        for k, y in zip(there, places):
            x_end, y_end = ends[k]
            self.page.line([x_end + 1.0, right + 2.0], [y_end, y], colour=style.LINE, points=0.4, zorder=2)
            self.page.text(right + 2.6, y + 0.9, shorten(names[k], LABEL_MM - 4.0, style.SMALL), size=style.SMALL)
