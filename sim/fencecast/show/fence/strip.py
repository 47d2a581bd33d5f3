"""The fence strip: which metre, in which weather, and how sure (`fence-strip.png`)."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.places import ClassSummary, runs_of
from fencecast.estimate.results import Results
from fencecast.findings.comparison import ClassFinding
from fencecast.findings.words import confidence_text, hours_text, interval_text, requirement_text, whole
from fencecast.show.fence.data import FenceStripData, fence_strip_data
from fencecast.show.fence.unrolled import Unrolled, open_rail
from fencecast.show.paper import style
from fencecast.show.paper.key import ramp_key, verdict_key
from fencecast.show.paper.labels import below_valleys
from fencecast.show.paper.page import Page
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import text_width_mm, wrap

LEFT, RIGHT = 31.0, 157.0  # the strip between the class names and the metres
ROW_MM, BETWEEN_MM = 6.6, 2.9
FEW_ROWS_MM = {1: 12.0, 2: 9.0}  # rows of few classes are higher
NEWLY_MM = 1.7  # more between rows where newly weak metres have a rail of their own
Newly = Mapping[int, np.ndarray]  # by class: which segments are newly weak
PROFILE_MM = 26.0
BY_HOURS = "by hours"  # how the last row weighs the weather classes


def plot_fence_strip(results: Results | xr.Dataset) -> Figure:
    """One row per weather class, worst first, the fence unrolled along x; below, Pd in the worst class of each place."""
    data = fence_strip_data(results)
    page = Page()
    fence = Unrolled(page, data.fence, LEFT, RIGHT)
    subtitle = f"Fence strip: each section unrolled as you walk it with {fence.side()}, worst weather class on top"
    draw_strip(fence, data, subtitle)
    return page.figure


def draw_strip(fence: Unrolled, data: FenceStripData, subtitle: str, newly: Newly | None = None, newly_words: str = "") -> None:
    """The whole page of a strip, from heading to foot.

    newly: after a loss, the segments of each class that are newly weak; newly_words: what that means, for the key.
    """
    page, ramp = fence.page, style.fence7(data.fence.requirement)
    y, _ = strip_rows(fence, data, page.heading(data.title, subtitle, data.fence.attrs), newly)
    y = profile(fence, data, y + 4.5)
    y = fence.key_lines(y + 1.0) + 3.0
    a = ramp_key(page, page.left, y, 70.0, ramp)
    b = verdict_key(page, 82.0, y, ramp, columns=2, step_x=47.0)
    bottom = max(a, b)
    if newly is not None:
        open_rail(page, page.left, page.left + 7.0, bottom + 2.6)
        page.text(page.left + 8.8, bottom + 3.9, "newly weak", weight="bold")
        gap = text_width_mm("newly weak", style.LABEL, "bold") + 2.0
        page.text(page.left + 8.8 + gap, bottom + 3.9, newly_words, size=style.SMALL, colour=style.SECOND)
        bottom += 4.6
    page.foot(bottom + 3.5, data.fence.attrs)


def row_height(data: FenceStripData) -> float:
    """Height of a row of the strip [mm]."""
    return FEW_ROWS_MM.get(len(data.rows), ROW_MM)


def strip_rows(fence: Unrolled, data: FenceStripData, y: float, newly: Newly | None = None) -> tuple[float, list[float]]:
    """Brackets with names and cameras, rows and the axis, from y down; returns the y of the lowest text and of each row's top."""
    page, ramp = fence.page, style.fence7(data.fence.requirement)
    top = fence.head(y)
    page.text(page.right, top - 7.6, "weak /", weight="bold", ha="right")
    page.text(page.right, top - 4.6, "undecided, m", colour=style.SECOND, ha="right")
    tops = _rows(fence, data, top + 0.9 + style.RAIL_MM, ramp, newly)
    return fence.axis(tops[-1] + row_height(data) + 1.6), tops


def _rows(fence: Unrolled, data: FenceStripData, y: float, ramp: style.Ramp, newly: Newly | None) -> list[float]:
    """A row per class and one for the year; returns the y of each row's upper edge."""
    page, height, tops = fence.page, row_height(data), []
    between = BETWEEN_MM + (0.0 if newly is None else NEWLY_MM)
    for row in data.rows:
        tops.append(y)
        fence.row(y, height, row, ramp)
        class_name(page, row.summary, LEFT - 1.9, y, height)
        added = None
        if newly is not None:
            added = newly[row.summary.index]
            for run in runs_of(np.where(added, "new", ""), fence.sections):
                if run.verdict:
                    open_rail(page, *fence.span(run.section, run.first, run.stop), y + height + style.RAIL_MM + 0.5)
        _metres(fence, y, height, row.summary, added)
        y += height + between
    if data.year is None or len(data.rows) == 1:
        return tops  # no hours at all: there is no year to weigh; of one class the year is that class
    page.line([page.left, page.right], [y - 0.6] * 2, colour=style.GUIDE, points=0.6)
    y += 1.5
    fence.row(y, height, data.year, ramp)
    middle = y + 0.5 * height
    page.text(LEFT - 1.9, middle - 0.4, data.year.summary.name, weight="bold", ha="right")
    page.text(LEFT - 1.9, middle + 2.5, BY_HOURS, size=style.SMALL, colour=style.SECOND, ha="right")
    _metres(fence, y, height, data.year.summary)
    return [*tops, y]


def class_name(page: Surface, c: ClassSummary | ClassFinding, right: float, y: float, height: float) -> None:
    """Name (one or two lines) and hours of a weather class, right-aligned beside a row of that height."""
    lines = wrap(c.name, right - page.left, style.LABEL, "bold", most=2)
    step = 2.8
    baseline = y + 0.5 * height - 0.5 * step * len(lines) + 0.9
    for line in lines:
        page.text(right, baseline, line, weight="bold", ha="right")
        baseline += step
    page.text(right, baseline, hours_text(c.hours, c.years), size=style.SMALL, colour=style.SECOND, ha="right")


def _metres(fence: Unrolled, y: float, height: float, summary: ClassSummary, added: np.ndarray | None = None) -> None:
    """Weak and undecided metres at the right of a row; below them how many are newly weak."""
    page, middle = fence.page, y + 0.5 * height + 0.9
    if added is not None:
        metres = float(np.sum((fence.fence.end_m - fence.fence.start_m)[added]))
        if metres >= 0.5:
            page.text(page.right, middle + 3.1, f"{whole(metres)} newly", size=style.SMALL, ha="right")
        middle -= 0.6
    rest = f" / {whole(summary.undecided_m)}"
    page.text(page.right, middle, rest, colour=style.SECOND, ha="right")
    page.text(page.right - text_width_mm(rest), middle, whole(summary.weak_m), size=style.HEAD, weight="bold", ha="right")


def profile(fence: Unrolled, data: FenceStripData, y: float) -> float:
    """Pd in the worst class of each place with its interval, and the three lowest places; returns the y of the lowest mark."""
    page, need = fence.page, data.fence.requirement

    def at(pd: float) -> float:
        return y + (1.0 - pd) * PROFILE_MM

    pd, low, high = data.worst, data.worst_low, data.worst_high
    missing = np.where(np.isnan(pd), "no data", "known")
    bands, fills = [], []
    for section in fence.sections:
        x0, x1 = fence.span(section.index, section.first, section.stop)
        for level in (0.0, 0.5, 1.0):
            page.line([x0, x1], [at(level)] * 2, colour=style.GUIDE, points=0.5, zorder=1)
        page.line([x0, x1], [at(need)] * 2, points=1.1, dashes=(5, 2), zorder=7)
        for run in runs_of(missing, [section]):
            a, b = fence.span(section.index, run.first, run.stop)
            if run.verdict == "no data":
                page.no_data([(a, y), (b, y), (b, y + PROFILE_MM), (a, y + PROFILE_MM)], zorder=7.2)
                continue
            edges = [fence.span(section.index, i, i + 1) for i in range(run.first, run.stop)]
            for i, (u, v) in zip(range(run.first, run.stop), edges):
                bands.append([(u, at(low[i])), (v, at(low[i])), (v, at(high[i])), (u, at(high[i]))])
                fills.append(style.BAND)
            xs = [x for edge in edges for x in edge]
            ys = [at(pd[i]) for i in range(run.first, run.stop) for _ in (0, 1)]
            page.line(xs, ys, points=0.9, zorder=6, solid_joinstyle="miter")
    page.polygons(bands, fills, zorder=3)
    side = RIGHT + 1.6
    page.text(side, at(need) + 0.9, requirement_text(need), weight="bold")
    page.text(
        side + text_width_mm(requirement_text(need), style.LABEL, "bold") + 1.2, at(need) + 0.9, "required", size=style.SMALL
    )
    for level, text in ((0.0, "0"), (0.5, "0.5"), (1.0, "1")):
        if abs(at(level) - at(need)) > 2.5:
            page.text(side, at(level) + 0.9, text, size=style.SMALL, colour=style.SECOND)
    baseline = y + 4.0
    for i, line in enumerate(("Pd in the", "worst class", "of each place")):
        page.text(LEFT - 1.9, baseline + 2.9 * i, line, weight="bold", ha="right")
    words = [f"{confidence_text(data.fence.confidence)} interval", "in grey"]
    if any(place.fresh for place in data.lowest):
        words += ["numbers below: on", "fresh crossings"] if all_fresh(data) else ["re-run: on fresh", "crossings"]
    for i, line in enumerate(words):
        page.text(LEFT - 1.9, baseline + 9.4 + 2.8 * i, line, size=style.SMALL, colour=style.SECOND, ha="right")
    return max(y + PROFILE_MM, _valleys(fence, data, at))


def _valleys(fence: Unrolled, data: FenceStripData, at: Callable[[float], float]) -> float:
    """Name the three lowest places under the profile, on lines from their valleys; returns the y of the lowest text.

    Nothing is written inside the profile: a plate of white would hide its axis and its guide lines.
    """
    page, low = fence.page, data.worst_low
    middles, floors = [], []
    for section in fence.sections:
        for i in range(section.first, section.stop):
            middles.append(0.5 * sum(fence.span(section.index, i, i + 1)))
            floors.append(at(low[i]) if not np.isnan(low[i]) else at(0.0))
    middles, floors = np.array(middles), np.array(floors)
    labels = []
    for place in data.lowest:
        numbers = interval_text(place.pd, place.low, place.high) + (" re-run" if place.fresh and not all_fresh(data) else "")
        lines = [numbers, f"{place.code}, {place.weather}"]
        width = max(text_width_mm(lines[0], style.LABEL), text_width_mm(lines[1], style.SMALL))
        labels.append((middles[place.segment], at(0.0), width, lines, floors[place.segment]))
    bottom = at(0.0)
    placed = below_valleys(labels, lambda left, right: at(0.0), LEFT, RIGHT)
    for (x, _, _, lines, floor), (left, top) in zip(labels, placed):
        page.line([x, x], [floor + 0.2, top + 0.2], points=0.5, zorder=2.5, colour=style.LINE)
        page.text(left, top + 2.6, lines[0])
        page.text(left, top + 5.3, lines[1], size=style.SMALL, colour=style.SECOND)
        bottom = max(bottom, top + 6.0)
    return bottom


def all_fresh(data: FenceStripData) -> bool:
    """Whether the numbers of all named places are from fresh crossings: then one line says so, not every number."""
    return all(place.fresh for place in data.lowest)
