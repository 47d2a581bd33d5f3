"""The cause strip: why crossings are missed, and which camera is the best for each stretch (`cause-strip.png`)."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.places import runs_of
from fencecast.estimate.results import Results
from fencecast.findings.sheetwords import CAUSE_MEANINGS
from fencecast.findings.words import share_text
from fencecast.show.fence.data import MOST_CLASSES, CauseRow, CauseStripData, cause_strip_data
from fencecast.show.fence.strip import class_name
from fencecast.show.fence.unrolled import Unrolled
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm

LEFT, RIGHT = 31.0, 157.0
ROW_MM, BETWEEN_MM = 13.5, 3.1


def plot_cause_strip(results: Results | xr.Dataset) -> Figure:
    """One row per weather class (the worst eight), 1 - Pd stacked by cause along the unrolled fence."""
    data = cause_strip_data(results)
    page = Page()
    fence = Unrolled(page, data.fence, LEFT, RIGHT)
    subtitle = "Why crossings are missed: height is the chance of a missed crossing (1 − Pd), stacked by cause; "
    subtitle += "what weather adds lies on top"
    if data.classes > MOST_CLASSES:
        subtitle += f". The worst {MOST_CLASSES} of {data.classes} classes"
    y = page.heading(data.title, subtitle, data.fence.attrs)
    y = fence.head(y)
    page.text(RIGHT + 1.6, y - 1.6, "1 − Pd", size=style.SMALL, colour=style.SECOND)
    y += 1.2
    for row in data.rows:
        _row(fence, data, row, y)
        y += ROW_MM + BETWEEN_MM
    y = _best_cameras(fence, data.best_camera, y + 0.6)
    y = fence.axis(y + 1.0)
    y = fence.key_lines(y + 0.6) + 3.0
    y = _key(page, y)
    page.foot(y + 3.5, data.fence.attrs)
    return page.figure


def _row(fence: Unrolled, data: CauseStripData, row: CauseRow, y: float) -> None:
    page, base, causes = fence.page, y + ROW_MM, data.causes
    scale = ROW_MM / data.top
    pd = row.fence.pd
    allowed = 1.0 - data.fence.requirement
    stacked = np.vstack([np.zeros(len(pd)), np.cumsum(np.nan_to_num(row.misses), axis=0)])
    missing = np.where(np.isnan(pd), "no data", "known")
    cells, fills, outlines = [], [], []
    hatches: dict[str, list[np.ndarray]] = {cause: [] for cause in causes}
    for section in fence.sections:
        x0, x1 = fence.span(section.index, section.first, section.stop)
        page.rect(x0, y, x1 - x0, ROW_MM, fill="#FCFCFC", edge=style.GUIDE, points=0.4, zorder=1)
        for run in runs_of(missing, [section]):
            a, b = fence.span(section.index, run.first, run.stop)
            if run.verdict == "no data":
                page.no_data([(a, y), (b, y), (b, base), (a, base)], zorder=7.5)
                continue
            edges = [fence.span(section.index, i, i + 1) for i in range(run.first, run.stop)]
            for k, cause in enumerate(causes):
                fill, direction, _, spacing = style.CAUSES[cause]
                for i, (u, v) in zip(range(run.first, run.stop), edges):
                    low, high = base - scale * stacked[k, i], base - scale * stacked[k + 1, i]
                    if low - high < 0.02:
                        continue
                    corners = [(u, low), (v, low), (v, high), (u, high)]
                    cells.append(corners)
                    fills.append(fill)
                    if direction:
                        hatches[cause].append(style.hatch_segments(corners, spacing, direction))
                outlines.append(_steps(edges, base - scale * stacked[k + 1, run.first : run.stop]))
        page.line([x0, x1], [base, base], points=0.8, zorder=6)
        page.line([x0, x1], [base - scale * allowed] * 2, colour=style.PAPER, points=2.0, zorder=6.5)
        page.line([x0, x1], [base - scale * allowed] * 2, points=1.0, dashes=(5, 2), zorder=7)
    page.polygons(cells, fills)
    for cause, pieces in hatches.items():
        if pieces:
            page.segments(np.concatenate(pieces), style.CAUSES[cause][2])
    for xs, ys in outlines:
        page.line(xs, ys, points=0.5, zorder=5, solid_joinstyle="miter")
    for run in runs_of(row.fence.verdict, fence.sections):
        if run.verdict == "weak":
            a, b = fence.span(run.section, run.first, run.stop)
            fence.rails(a, b, [base + 0.5])
    _words_beside(page, row, y, base - scale * allowed, allowed, data.top, first=row is data.rows[0])


def _steps(edges: list[tuple[float, float]], levels: np.ndarray) -> tuple[list[float], list[float]]:
    """A step line over segments: xs, ys."""
    return [x for edge in edges for x in edge], [level for level in levels for _ in (0, 1)]


def _words_beside(page: Page, row: CauseRow, y: float, at: float, allowed: float, top: float, first: bool) -> None:
    """Left: class, hours, leading cause. Right: the top of the scale, and the allowed misses at their line, whose y is `at`."""
    base = y + ROW_MM
    class_name(page, row.fence.summary, LEFT - 1.9, y, 5.4)
    lines = [row.cause, share_text(row.cause_share)] if row.cause else ["misses too few", "to name a cause"]
    for i, line in enumerate(lines):
        page.text(LEFT - 1.9, base - 3.1 + 2.8 * i, line, size=style.SMALL, colour=style.SECOND, ha="right")
    page.text(RIGHT + 1.6, y + 1.6, f"{top:g}", size=style.SMALL, colour=style.SECOND)
    number = f"{allowed:.4f}".rstrip("0")
    level = min(at + 0.9, base + 0.6)
    page.text(RIGHT + 1.6, level, number, size=style.LABEL, weight="bold")
    if first:
        page.text(RIGHT + 1.6 + text_width_mm(number, style.LABEL, "bold") + 1.4, level, "allowed", size=style.SMALL)


def _best_cameras(fence: Unrolled, best: np.ndarray, y: float) -> float:
    """Brackets with the mark of the best camera of each stretch; returns the y below them."""
    page = fence.page
    page.text(LEFT - 1.9, y + 2.6, "best camera", weight="bold", ha="right")
    for run in runs_of(best, fence.sections):
        if not run.verdict:
            continue
        a, b = fence.span(run.section, run.first, run.stop)
        gap = min(0.35, 0.2 * (b - a))
        arms = [y + 1.0, y, y, y + 1.0]
        page.line([a + gap, a + gap, b - gap, b - gap], arms, points=0.8, solid_joinstyle="miter")
        mark = fence.marks[run.verdict]
        if text_width_mm(mark) + 0.6 <= b - a:
            page.text(0.5 * (a + b), y + 3.5, mark, ha="center")
    return y + 4.4


def _key(page: Page, y: float) -> float:
    for i, (cause, (fill, direction, ink, spacing)) in enumerate(style.CAUSES.items()):
        top = y + 4.7 * i
        page.rect(page.left, top, 7.0, 2.9, fill=fill)
        if direction:
            corners = [(page.left, top), (page.left + 7.0, top), (page.left + 7.0, top + 2.9), (page.left, top + 2.9)]
            page.hatch(corners, ink, direction, spacing)
        page.rect(page.left, top, 7.0, 2.9, edge=style.INK, points=0.5, zorder=5)
        page.text(page.left + 8.8, top + 2.4, cause, weight="bold")
        page.text(page.left + 29.0, top + 2.4, CAUSE_MEANINGS[cause], colour=style.SECOND)
    last = y + 4.7 * (len(style.CAUSES) - 1)
    x, middle = page.right - 25.0, last + 1.5
    page.rect(x, middle - 0.5 * style.RAIL_MM, 6.0, style.RAIL_MM, fill=style.INK)
    page.text(x + 7.6, middle + 0.9, "weak metres")
    return last + 2.9
