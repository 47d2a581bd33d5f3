"""Pd against optical range with the band that drop size gives, for the mean fence and the named segment (`optical-range.png`)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.results import Results
from fencecast.findings.words import feet, requirement_text, whole
from fencecast.findings.yeartitles import OPTICAL_RANGE_SUBTITLE
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import wrap
from fencecast.show.year.data import FogCurve, OpticalRangeData, optical_range_data

PANEL_MM = (72.0, 50.0)
LEFT_MM, PITCH_MM = 12.0, 87.0
TICKS_M = (20, 50, 100, 200, 500, 1000, 2000, 5000)
BAR_MM, BAR_STEP_MM = 1.9, 7.0  # a line of words below each bar
HISTOGRAM_MM = 11.0
# Curves of each kind of fog: colour, colour of its text, whether its middle is dashed.
LOOKS = {"radiation": (style.A_COLOUR, style.A_COLOUR, False), "advection": (style.B_COLOUR, style.B_TEXT, True)}


@dataclass(frozen=True)
class _Panel:
    """A panel: its upper left corner on the page, and the logarithmic scale of optical ranges [m]."""

    page: Page
    left: float
    top: float
    ranges: np.ndarray

    @property
    def right(self) -> float:
        return self.left + PANEL_MM[0]

    @property
    def bottom(self) -> float:
        return self.top + PANEL_MM[1]

    def x(self, range_m: float | np.ndarray) -> np.ndarray:
        low, high = np.log(self.ranges[[0, -1]])
        return self.left + (np.log(np.clip(range_m, self.ranges[0], self.ranges[-1])) - low) / (high - low) * PANEL_MM[0]

    def y(self, pd: float | np.ndarray) -> np.ndarray:
        return self.bottom - np.asarray(pd) * PANEL_MM[1]


def plot_optical_range(results: Results | xr.Dataset) -> Figure:
    """Two panels, mean fence and named segment: Pd against optical range, a band for each kind of fog from small to large drops.

    results: a Dataset with `pd_fog` (a run of a site with hourly weather). Curves join the simulated ranges; nothing is smoothed.
    Returns a matplotlib Figure, 180 mm wide.
    """
    data = optical_range_data(results)
    page = Page()
    y = page.heading(data.title, OPTICAL_RANGE_SUBTITLE, data.attrs) + 6.0
    extra = 2.9 if data.units == "us" else 0.0
    bottoms = []
    for k, (head, curves) in enumerate(data.panels):
        panel = _Panel(page, page.left + LEFT_MM + k * PITCH_MM, y, data.range_m)
        page.text(panel.left, y - 2.0, head, size=style.HEAD, weight="bold")
        _axes(panel, data.requirement, data.units)
        bars = panel.bottom + 7.4 + extra
        for curve in sorted(curves, key=lambda curve: list(LOOKS).index(curve.kind)):
            colour, _, dashed = LOOKS[curve.kind]
            _band(panel, curve.pd, colour, dashed)
        for i, curve in enumerate(curves):
            _range_bar(panel, bars + i * BAR_STEP_MM, curve)
        bottoms.append(bars + (len(curves) - 1) * BAR_STEP_MM + 3.4)
    y = _histogram(_Panel(page, page.left + LEFT_MM, max(bottoms) + 7.0, data.range_m), data)
    _key(page, page.left + LEFT_MM + PITCH_MM, max(bottoms) + 6.0, data.requirement)
    y = max(y, max(bottoms) + 20.0)
    lines = wrap(data.note, page.right - page.left, style.SMALL)
    y = page.lines_of_text(page.left, y + 3.4, lines, 2.9, size=style.SMALL, colour=style.SECOND)
    page.foot(y - 0.6, data.attrs)
    return page.figure


def _axes(panel: _Panel, need: float, units: str) -> None:
    page = panel.page
    for level, label in ((0.0, "0"), (0.25, "0.25"), (0.5, "0.5"), (0.75, "0.75"), (1.0, "1")):
        colour = style.GUIDE if level else style.LINE
        page.line([panel.left, panel.right], [panel.y(level)] * 2, colour=colour, points=0.5, zorder=1)
        page.line([panel.left - 0.8, panel.left], [panel.y(level)] * 2, colour=style.LINE, points=0.5)
        if abs(level - need) * PANEL_MM[1] > 2.6:
            page.text(panel.left - 1.2, panel.y(level) + 0.9, label, size=style.SMALL, colour=style.SECOND, ha="right")
    page.line([panel.left] * 2, [panel.top, panel.bottom], colour=style.LINE, points=0.6, zorder=1)
    page.line([panel.left - 0.8, panel.right], [panel.y(need)] * 2, points=1.1, dashes=(5, 2), zorder=7)
    page.text(panel.left - 1.2, panel.y(need) + 0.9, requirement_text(need), size=style.SMALL, weight="bold", ha="right")
    for range_m in TICKS_M:
        if not panel.ranges[0] <= range_m <= panel.ranges[-1]:
            continue
        at = panel.x(range_m)
        page.line([at, at], [panel.bottom, panel.bottom + 0.8], colour=style.LINE, points=0.5)
        label = f"{range_m} m" if range_m < 1000 else f"{range_m // 1000} km"
        where = "right" if range_m == TICKS_M[-1] else "center"  # the last label stays inside the page
        page.text(at, panel.bottom + 3.4, label, size=style.SMALL, colour=style.SECOND, ha=where)
        if units == "us":
            page.text(at, panel.bottom + 6.2, whole(feet(range_m)), size=style.SMALL, colour=style.SECOND, ha=where)
    if units == "us":
        page.text(panel.left - 3.4, panel.bottom + 6.2, "ft", size=style.SMALL, colour=style.SECOND, ha="right")


def _band(panel: _Panel, pd: np.ndarray, colour: str, dashed: bool) -> None:
    """pd (drop shares, ranges): the band between the first and the last share, the middle share as a line."""
    page, xs = panel.page, panel.x(panel.ranges)
    band = np.concatenate([np.column_stack([xs, panel.y(pd[0])]), np.column_stack([xs, panel.y(pd[-1])])[::-1]])
    page.polygon(band, fill=colour, zorder=3, alpha=0.28)
    for edge in (pd[0], pd[-1]) if dashed else ():
        page.line(xs, panel.y(edge), colour=colour, points=0.35, zorder=3.1)
    page.line(xs, panel.y(pd[len(pd) // 2]), colour=colour, points=1.4, zorder=6, **({"dashes": (4, 1.8)} if dashed else {}))


def _range_bar(panel: _Panel, y: float, curve: FogCurve) -> None:
    """From which optical range on the requirement is met: hatched with small drops only, solid with any; words below the bar."""
    page = panel.page
    colour, text_colour, _ = LOOKS[curve.kind]
    page.line([panel.left, panel.right], [y, y], colour=style.GUIDE, points=0.5, zorder=1)
    page.text(panel.left - 1.2, y + 0.85, curve.kind[:3], size=style.SMALL, ha="right", colour=text_colour, weight="bold")
    page.text(panel.left, y + BAR_MM / 2 + 2.7, curve.words, size=style.SMALL)
    small, large = (panel.right if each is None else float(panel.x(each)) for each in (curve.start.small_m, curve.start.large_m))
    last = panel.right - 0.6  # the last range is still a mark
    a = min(small, last) if curve.start.small_m is not None else panel.right
    b = min(large, last) if curve.start.large_m is not None else panel.right
    if b > a:
        corners = [(a, y - BAR_MM / 2), (b, y - BAR_MM / 2), (b, y + BAR_MM / 2), (a, y + BAR_MM / 2)]
        page.polygon(corners, fill=style.PAPER, edge=colour, points=0.5, zorder=4)
        page.hatch(corners, colour, zorder=4.1)
    if curve.start.large_m is not None:
        page.rect(b, y - BAR_MM / 2, panel.right - b, BAR_MM, fill=colour, zorder=4)


def _histogram(panel: _Panel, data: OpticalRangeData) -> float:
    """Armed hours a year (of a short record: its own) with fog at each optical range; returns the y of the lowest mark.

    `panel.top` is its upper edge.
    """
    page, top, ranges, hours = panel.page, panel.top, data.range_m, data.hours
    which, span = "These" if data.chosen else "Armed", "a year" if data.a_year else "of the record"
    page.text(panel.left, top, f"{which} hours {span} with fog, by optical range", size=style.SMALL, colour=style.SECOND)
    edges = np.sqrt(ranges[1:] * ranges[:-1])
    base = top + 3.6 + HISTOGRAM_MM
    bounds = np.concatenate([[ranges[0]], edges, [ranges[-1]]])
    scale = (HISTOGRAM_MM - 2.4) / max(hours.max(), 1e-9)
    for k, count in enumerate(hours):
        a, b = panel.x(bounds[k]), panel.x(bounds[k + 1])
        if count > 0.0:
            page.rect(a + 0.25, base - count * scale, b - a - 0.5, count * scale, fill=style.LINE)
        if b - a > 3.0 and count >= 0.5:
            page.text(0.5 * (a + b), base - count * scale - 0.7, whole(count), size=style.SMALL, ha="center")
    page.line([panel.left, panel.right], [base, base], colour=style.LINE, points=0.6)
    if hours.sum() < 0.5:
        page.text(0.5 * (panel.left + panel.right), base - 3.0, "no fog in any armed hour of this record", ha="center")
    return base


def _key(page: Page, x: float, y: float, need: float) -> None:
    for kind, (colour, _, dashed) in LOOKS.items():
        page.rect(x, y - 1.4, 9.0, 2.8, fill=colour, alpha=0.28)
        if dashed:
            page.rect(x, y - 1.4, 9.0, 2.8, edge=colour, points=0.35)
        page.line([x, x + 9.0], [y, y], colour=colour, points=1.4, **({"dashes": (4, 1.8)} if dashed else {}))
        page.text(x + 10.8, y + 0.9, f"{kind} fog, median, small to large drops")
        y += 5.0
    page.line([x, x + 9.0], [y, y], points=1.1, dashes=(5, 2))
    page.text(x + 10.8, y + 0.9, f"required {requirement_text(need)}")
