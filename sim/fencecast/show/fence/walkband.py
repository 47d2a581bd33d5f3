"""What walks said of the fence: Pd along it with two bands, the file before, the walks and the requirement (`fence-band.png`)."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.places import runs_of
from fencecast.estimate.results import Results
from fencecast.findings.calibration import calibrated_line
from fencecast.findings.words import confidence_text, in_class, requirement_text
from fencecast.show.fence.unrolled import Unrolled
from fencecast.show.fence.walkbanddata import FenceBandData, WalkedPlace, fence_band_data
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm, wrap

LEFT, RIGHT = 20.0, 160.0
PLOT_MM = 58.0
OUTER, INNER = style.BUILDING, style.BAND
DASHES = (2.2, 1.6)  # of the file before the walks; the requirement is longer and stronger
_SWATCH_MM = 7.0


def plot_fence_band(
    results: Results | xr.Dataset,
    before: Results | xr.Dataset | None = None,
    walked: Sequence[WalkedPlace] = (),
    weather: str | None = None,
) -> Figure:
    """Pd along the fence in one class, each section as you walk it: the mean after the walks, the band of the mean over many such
    places and that of a single one. before, walked, weather: see `fence_band_data`."""
    data = fence_band_data(results, before, walked, weather)
    page = Page()
    fence = Unrolled(page, data.fence, LEFT, RIGHT)
    subtitle = f"Pd {in_class(data.weather)} along the fence, each section as you walk it with {fence.side()}"
    y = page.heading(data.title, subtitle, data.fence.attrs)
    for line in wrap(calibrated_line(data.facts), page.right - page.left, style.SMALL):
        page.text(page.left, y + 2.0, line, size=style.SMALL, colour=style.SECOND)
        y += 3.0
    top = fence.head(y + 2.0) + 1.2
    floor = _floor(data)
    _plot(fence, data, top, floor)
    y = fence.axis(top + PLOT_MM + 1.2)
    y = fence.key_lines(y + 1.0) + 2.6
    page.foot(_key(page, data, y) + 3.5, data.fence.attrs)
    return page.figure


def _floor(data: FenceBandData) -> float:
    """Pd at the bottom of the plot: a tenth below all that is drawn, 0.8 at most."""
    parts = [data.low, [data.fence.requirement], [place.low for place in data.walked]]
    parts += [] if data.before is None else [data.before]
    lowest = float(np.nanmin(np.concatenate([np.asarray(part, dtype=float) for part in parts])))
    return max(min(math.floor(10.0 * lowest - 0.2) / 10.0, 0.8), 0.0)


def _plot(fence: Unrolled, data: FenceBandData, top: float, floor: float) -> None:
    page, need = fence.page, data.fence.requirement

    def at(pd: float) -> float:
        return top + (1.0 - pd) / (1.0 - floor) * PLOT_MM

    step = 0.1 if floor >= 0.4 else 0.2
    levels = [1.0 - step * k for k in range(int((1.0 - floor) / step + 1.5)) if 1.0 - step * k >= floor - 1e-9]
    missing = np.where(np.isnan(data.pd), "no data", "known")
    for section in fence.sections:
        x0, x1 = fence.span(section.index, section.first, section.stop)
        for level in levels:
            page.line([x0, x1], [at(level)] * 2, colour=style.GUIDE, points=0.5, zorder=3.5)
        page.line([x0, x1], [at(need)] * 2, points=1.1, dashes=(5, 2), zorder=7)
        for run in runs_of(missing, [section]):
            a, b = fence.span(section.index, run.first, run.stop)
            if run.verdict == "no data":
                page.no_data([(a, top), (b, top), (b, top + PLOT_MM), (a, top + PLOT_MM)], zorder=3.8)
                continue
            part = range(run.first, run.stop)
            edges = [fence.span(section.index, i, i + 1) for i in part]
            for low, high, fill, z in ((data.low, data.high, OUTER, 2.4), (data.many_low, data.many_high, INNER, 3.0)):
                cells = [[(u, at(low[i])), (v, at(low[i])), (v, at(high[i])), (u, at(high[i]))] for i, (u, v) in zip(part, edges)]
                page.polygons(cells, [fill] * len(cells), zorder=z)
            xs = [x for edge in edges for x in edge]
            # The outer band is as light as a guide line: its edges are drawn.
            for values, points, colour in ((data.low, 0.4, style.LINE), (data.high, 0.4, style.LINE), (data.pd, 1.0, style.INK)):
                ys = [at(values[i]) for i in part for _ in (0, 1)]
                page.line(xs, ys, colour=colour, points=points, zorder=6, solid_joinstyle="miter")
            if data.before is not None:
                ys = [at(data.before[i]) for i in part for _ in (0, 1)]
                page.line(xs, ys, colour=style.A_COLOUR, points=1.0, dashes=DASHES, zorder=6.5)
    _levels(fence, levels, need, at)
    for place in data.walked:
        _walks(fence, data, place, at)


def _levels(fence: Unrolled, levels: Sequence[float], need: float, at) -> None:
    page, side = fence.page, RIGHT + 1.6
    word = requirement_text(need)
    page.text(side, at(need) + 0.9, word, weight="bold")
    page.text(side + text_width_mm(word, style.LABEL, "bold") + 1.0, at(need) + 0.9, "required", size=style.SMALL)
    for level in levels:
        if abs(at(level) - at(need)) > 2.6:
            page.text(LEFT - 1.6, at(level) + 0.9, f"{level:.1f}", size=style.SMALL, colour=style.SECOND, ha="right")
    page.text(LEFT - 6.5, at(levels[0]) + 0.9, "Pd", weight="bold", ha="right")


def _walks(fence: Unrolled, data: FenceBandData, place: WalkedPlace, at) -> None:
    """A bar from end to end of the exact interval, and the share that alarmed."""
    section = next((each for each in fence.sections if each.name == place.section), None)
    if section is None:
        return
    page, x = fence.page, fence.x(section.index, place.chainage_m)
    page.line([x, x], [at(place.low), at(place.high)], points=0.9, zorder=8)
    for end in (place.low, place.high):
        page.line([x - 0.8, x + 0.8], [at(end)] * 2, points=0.9, zorder=8)
    page.dot(x, at(place.alarms / place.walks), 1.5, edge=style.PAPER, zorder=9)
    page.text(x + 1.3, at(place.low) - 0.4, f"{place.alarms} of {place.walks}", size=style.SMALL)


def _key(page: Page, data: FenceBandData, y: float) -> float:
    """Swatches in two columns; returns the y of the lowest text."""
    sure = confidence_text(data.fence.confidence)
    rows = [
        ("pd", "Pd after the walks: the mean over what they left open"),
        ("inner", f"{sure} interval of the mean over many such places"),
        ("outer", f"{sure} interval of a single place, walked or not: verdicts go by it"),
    ]
    if data.before is not None:
        rows.append(("before", "Pd of the site file before the walks"))
    if data.walked:
        rows.append(("walks", "walks: share that alarmed, exact interval"))
    for i, (what, words) in enumerate(rows):
        x, middle = page.left + 82.0 * (i % 2), y + 4.4 * (i // 2) + 1.4
        if what in ("inner", "outer"):
            page.rect(x, middle - 1.4, _SWATCH_MM, 2.8, fill=INNER if what == "inner" else OUTER, edge=style.LINE, points=0.4)
        elif what == "walks":
            page.line([x + 3.5] * 2, [middle - 1.7, middle + 1.7], points=0.9)
            page.dot(x + 3.5, middle, 1.5, edge=style.PAPER)
        elif what == "before":
            page.line([x, x + _SWATCH_MM], [middle] * 2, colour=style.A_COLOUR, points=1.0, dashes=DASHES)
        else:
            page.line([x, x + _SWATCH_MM], [middle] * 2, points=1.0)
        page.text(x + _SWATCH_MM + 1.6, middle + 0.9, words, size=style.SMALL)
    return y + 4.4 * ((len(rows) - 1) // 2) + 3.2
