"""The cause strip: why crossings are missed, and which camera carries each stretch (`cause-strip.png`)."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from fencecast.estimate.places import runs_of, worst_first
from fencecast.estimate.results import Results
from fencecast.findings.titles import cause_title, class_cause
from fencecast.findings.words import share_text
from fencecast.show.fence.strip import class_name
from fencecast.show.fence.unrolled import Unrolled
from fencecast.show.paper import style
from fencecast.show.paper.page import Page, text_width_mm

LEFT, RIGHT = 31.0, 157.0
ROW_MM, BETWEEN_MM = 13.5, 3.1
MOST_CLASSES = 8

MEANINGS = {
    "not in view": "outside the field, blind ground or hidden: move or add a camera",
    "too small": "too few pixels even at full contrast: longer lens or nearer camera",
    "too brief": "enough pixels, but for too few looks even at full contrast: wider view or more looks",
    "washed out": "would alarm at full contrast: nearer camera, or other measures on such nights",
}


def plot_cause_strip(results) -> Figure:
    """One row per weather class (the worst eight), 1 - Pd stacked by cause along the unrolled fence."""
    results = Results.of(results)
    sections = results.sections
    classes = worst_first(results)
    page = Page()
    fence = Unrolled(page, results, sections, LEFT, RIGHT)
    subtitle = "Why crossings are missed: height is the chance of a missed crossing (1 − Pd), stacked by cause; "
    subtitle += "what weather adds lies on top"
    if len(classes) > MOST_CLASSES:
        subtitle += f". The worst {MOST_CLASSES} of {len(classes)} classes"
    y = page.heading(cause_title(results), subtitle, results.attrs)
    y = fence.head(y)
    page.text(RIGHT + 1.6, y - 1.6, "1 − Pd", size=style.SMALL, colour=style.SECOND)
    y += 1.2
    top = axis_top(results, [c.index for c in classes[:MOST_CLASSES]])
    for c in classes[:MOST_CLASSES]:
        _row(fence, results, c, y, top, first=c is classes[0])
        y += ROW_MM + BETWEEN_MM
    y = _carried_by(fence, results, y + 0.6)
    y = fence.axis(y + 1.0)
    y = fence.key_lines(y + 0.6) + 3.0
    y = _key(page, y)
    page.foot(y + 3.5, results.attrs)
    return page.figure


def axis_top(results, indexes) -> float:
    """Top of the one linear scale for all rows: the smallest of 0.5, 0.8 and 1 that holds every miss, and the allowed ones."""
    most = np.nanmax(1.0 - results["pd"].values[indexes], initial=0.0)
    most = max(most, 1.0 - float(results.attrs["requirement_pd"]) + 0.02)
    return next((top for top in (0.5, 0.8) if most <= top), 1.0)


def _row(fence: Unrolled, results, c, y: float, top: float, first: bool) -> None:
    page, base = fence.page, y + ROW_MM
    scale = ROW_MM / top
    shares, pd = results["miss_share"].values[:, c.index, :], results["pd"].values[c.index]
    allowed = 1.0 - float(results.attrs["requirement_pd"])
    stacked = np.vstack([np.zeros(len(pd)), np.cumsum(np.nan_to_num(shares), axis=0)])
    causes = [str(cause) for cause in results["cause"].values]
    missing = np.where(np.isnan(pd), "no data", "known")
    cells, fills, outlines = [], [], []
    hatches = {cause: [] for cause in causes}
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
    for run in runs_of(results["verdict"].values[c.index], fence.sections):
        if run.verdict == "weak":
            a, b = fence.span(run.section, run.first, run.stop)
            fence.rails(a, b, [base + 0.5])
    _words_beside(page, results, c, y, base, scale, allowed, top, first)


def _steps(edges, levels):
    """A step line over segments: xs, ys."""
    return [x for edge in edges for x in edge], [level for level in levels for _ in (0, 1)]


def _words_beside(page, results, c, y, base, scale, allowed, top, first) -> None:
    class_name(page, c, LEFT - 1.9, y, 5.4)
    cause, share = class_cause(results, c.index)
    lines = [cause, share_text(share)] if cause else ["misses too few", "to name a cause"]
    for i, line in enumerate(lines):
        page.text(LEFT - 1.9, base - 3.1 + 2.8 * i, line, size=style.SMALL, colour=style.SECOND, ha="right")
    page.text(RIGHT + 1.6, y + 1.6, f"{top:g}", size=style.SMALL, colour=style.SECOND)
    number = f"{allowed:.4f}".rstrip("0")
    level = min(base - scale * allowed + 0.9, base + 0.6)
    page.text(RIGHT + 1.6, level, number, size=style.LABEL, weight="bold")
    if first:
        page.text(RIGHT + 1.6 + text_width_mm(number, style.LABEL, "bold") + 1.4, level, "allowed", size=style.SMALL)


def _carried_by(fence: Unrolled, results, y: float) -> float:
    """Brackets with the camera whose Pd alone, weighted by hours, is the highest; returns the y below them."""
    page = fence.page
    carrier = carriers(results)
    page.text(LEFT - 1.9, y + 2.6, "carried by", weight="bold", ha="right")
    for run in runs_of(carrier, fence.sections):
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


def carriers(results) -> np.ndarray:
    """Per segment the mark of the camera with the highest hours-weighted Pd alone; '' where none reaches 0.01."""
    hours = results["weather_hours"].values
    weights = hours / hours.sum() if hours.sum() > 0 else np.full(len(hours), 1.0 / len(hours))
    alone = np.einsum("w,cws->cs", weights, np.nan_to_num(results["pd_camera"].values))
    marks = np.array([str(mark) for mark in results["camera"].values], dtype=object)
    return np.where(alone.max(axis=0) >= 0.01, marks[np.argmax(alone, axis=0)], "")


def _key(page: Page, y: float) -> float:
    for i, (cause, (fill, direction, ink, spacing)) in enumerate(style.CAUSES.items()):
        top = y + 4.7 * i
        page.rect(page.left, top, 7.0, 2.9, fill=fill)
        if direction:
            corners = [(page.left, top), (page.left + 7.0, top), (page.left + 7.0, top + 2.9), (page.left, top + 2.9)]
            page.hatch(corners, ink, direction, spacing)
        page.rect(page.left, top, 7.0, 2.9, edge=style.INK, points=0.5, zorder=5)
        page.text(page.left + 8.8, top + 2.4, cause, weight="bold")
        page.text(page.left + 29.0, top + 2.4, MEANINGS[cause], colour=style.SECOND)
    x, middle = page.right - 25.0, y + 4.7 * 3 + 1.5
    page.rect(x, middle - 0.5 * style.RAIL_MM, 6.0, style.RAIL_MM, fill=style.INK)
    page.text(x + 7.6, middle + 0.9, "weak metres")
    return y + 4.7 * 3 + 2.9
