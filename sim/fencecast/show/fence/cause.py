"""The cause strip: why crossings are missed, and which camera is the best for each stretch (`cause-strip.png`)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.dataset import CAUSES
from fencecast.estimate.places import runs_of
from fencecast.estimate.results import Results
from fencecast.findings.sheetwords import CAUSE_MEANINGS
from fencecast.findings.words import share_text
from fencecast.show.fence.data import MOST_CLASSES, CauseRow, CauseStripData, NamedPlace, cause_strip_data
from fencecast.show.fence.strip import class_name
from fencecast.show.fence.unrolled import Unrolled
from fencecast.show.paper import style
from fencecast.show.paper.key import SWATCH_MM
from fencecast.show.paper.labels import Placed, in_levels, levels_by_rank
from fencecast.show.paper.page import Page
from fencecast.show.paper.surface import Fill, Surface
from fencecast.show.paper.text import text_width_mm

LEFT, RIGHT = 31.0, 157.0
ROW_MM, BETWEEN_MM = 13.5, 3.1
FEW_ROWS_MM = {1: 27.0, 2: 20.0, 3: 16.5}  # rows of few classes are higher, so that causes can be told apart
NUMBER_STEP_MM = 2.9


def plot_cause_strip(results: Results | xr.Dataset) -> Figure:
    """One row per weather class (the worst eight), 1 - Pd stacked by cause along the unrolled fence."""
    data = cause_strip_data(results)
    page = Page()
    fence = Unrolled(page, data.fence, LEFT, RIGHT)
    subtitle = "Why crossings are missed: height is the chance of a missed crossing (1 − Pd), stacked by cause; "
    subtitle += "what weather adds lies on top"
    if data.classes > MOST_CLASSES:
        subtitle += f". The worst {MOST_CLASSES} of {data.classes} classes"
    y, _, key = cause_rows(fence, data, page.heading(data.title, subtitle, data.fence.attrs))
    y = fence.key_lines(y + 0.6, key) + 3.0
    y = cause_key(page, y, data.causes)
    page.foot(y + 3.5, data.fence.attrs)
    return page.figure


def row_height(data: CauseStripData) -> float:
    """Height of a row of the cause strip [mm]."""
    return FEW_ROWS_MM.get(len(data.rows), ROW_MM)


def cause_rows(fence: Unrolled, data: CauseStripData, y: float) -> tuple[float, list[float], list[str]]:
    """Brackets with names and cameras, rows, weak places, best cameras and the axis, from y down.

    Returns the y of the lowest text, of each row's top, and lines for a key.
    """
    height, tops = row_height(data), []
    y = fence.head(y)
    fence.page.text(RIGHT + 1.6, y - 1.6, "1 − Pd", size=style.SMALL, colour=style.SECOND)
    y += 1.2
    for row in data.rows:
        tops.append(y)
        _row(fence, data, row, y, height)
        y += height + BETWEEN_MM
    y, key = _weak_places(fence, data, y + 0.6)
    y = _best_cameras(fence, data.best_camera, y + 0.6)
    return fence.axis(y + 1.0), tops, key


def _row(fence: Unrolled, data: CauseStripData, row: CauseRow, y: float, height: float) -> None:
    page, base = fence.page, y + height
    scale = height / data.top
    pd = row.fence.pd
    allowed = 1.0 - data.fence.requirement
    tops = base - scale * np.cumsum(np.nan_to_num(row.misses), axis=0)
    missing = np.where(np.isnan(pd), "no data", "known")
    columns, known = [], []
    for section in fence.sections:
        x0, x1 = fence.span(section.index, section.first, section.stop)
        page.rect(x0, y, x1 - x0, height, fill="#FCFCFC", edge=style.GUIDE, points=0.4, zorder=1)
        for run in runs_of(missing, [section]):
            a, b = fence.span(section.index, run.first, run.stop)
            if run.verdict == "no data":
                page.no_data([(a, y), (b, y), (b, base), (a, base)], zorder=7.5)
                continue
            edges = [fence.span(section.index, i, i + 1) for i in range(run.first, run.stop)]
            columns += edges
            known += range(run.first, run.stop)
        page.line([x0, x1], [base, base], points=0.8, zorder=6)
        page.line([x0, x1], [base - scale * allowed] * 2, colour=style.PAPER, points=2.0, zorder=6.5)
        page.line([x0, x1], [base - scale * allowed] * 2, points=1.0, dashes=(5, 2), zorder=7)
    page.stack(columns, tops[:, known], base, [Fill(*style.CAUSES[cause]) for cause in data.causes])
    for run in runs_of(row.fence.verdict, fence.sections):
        if run.verdict == "weak":
            a, b = fence.span(run.section, run.first, run.stop)
            fence.rails(a, b, [base + 0.5])
    _words_beside(page, row, (y, base), base - scale * allowed, allowed, data.top, first=row is data.rows[0])


def _words_beside(
    page: Surface, row: CauseRow, ends: tuple[float, float], at: float, allowed: float, top: float, first: bool
) -> None:
    """Left: class, hours, leading cause. Right: the top of the scale, and the allowed misses at their line, whose y is `at`.

    ends: y of the row's upper and lower edge.
    """
    y, base = ends
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


def _weak_places(fence: Unrolled, data: CauseStripData, y: float) -> tuple[float, list[str]]:
    """Brackets at the weak places with number, code and cause as far as they fit; returns the y below and lines for the key."""
    if not data.places:
        return y, []
    page = fence.page
    page.text(LEFT - 1.9, y + 2.6, "weak places", weight="bold", ha="right")
    labels: list[tuple[str, float]] = []
    short: list[str] = []
    for place in data.places:
        inside = np.isin(np.arange(fence.sections[-1].stop), place.segments)
        runs = [run for run in runs_of(np.where(inside, "in", ""), fence.sections) if run.verdict]
        parts = [fence.span(run.section, run.first, run.stop) for run in runs]
        _brackets(page, parts, y, 1.2)
        a, b = max(parts, key=lambda ends: ends[1] - ends[0])
        full = place_words(place)
        fits = text_width_mm(full, style.SMALL, "bold") + 0.6 <= b - a
        labels.append((full if fits else str(place.number), 0.5 * (a + b)))
        short += [] if fits else [full]
        for ends in parts:  # over a joint a place has two brackets and its number at both
            if ends != (a, b):
                labels.append((str(place.number), 0.5 * sum(ends)))
    placed = in_levels(labels, fence.left - 2.0, fence.right + 2.0, style.SMALL, "bold", gap=1.0, levels=3)
    bottom = _labels_under(page, placed, y, style.SMALL, "bold")
    left_out = data.weak_places - len(data.places)
    short += [f"{left_out} more weak places: see the tables"] if left_out else []
    return bottom + 1.0, ["Weak places: " + " · ".join(short)] if short else []


def place_words(place: NamedPlace) -> str:
    """`2  B 27–33 m: too small`."""
    return f"{place.number}  {place.code}: {place.cause or 'too few misses to name a cause'}"


def _labels_under(page: Surface, placed: Sequence[Placed], y: float, size: float, weight: str = "normal") -> float:
    """Labels under brackets at y, on thin leaders where they are not next to them; returns the y of the lowest text."""
    for p in placed:
        baseline = y + 3.5 + NUMBER_STEP_MM * p.level
        page.text(p.middle, baseline, p.text, ha="center", size=size, weight=weight)
        if p.level:
            page.line([p.anchor] * 2, [y + 1.2, baseline - 2.2], colour=style.LINE, points=0.4)
    return y + 3.5 + NUMBER_STEP_MM * max((p.level for p in placed), default=0)


def _brackets(page: Surface, parts: Sequence[tuple[float, float]], y: float, points: float) -> None:
    for a, b in parts:
        gap = min(0.35, 0.2 * (b - a))
        page.line([a + gap, a + gap, b - gap, b - gap], [y + 1.0, y, y, y + 1.0], points=points, solid_joinstyle="miter")


def _best_cameras(fence: Unrolled, best: np.ndarray, y: float) -> float:
    """Brackets with the mark of the best camera of each stretch; returns the y below them."""
    page = fence.page
    page.text(LEFT - 1.9, y + 2.6, "best camera", weight="bold", ha="right")
    runs = [run for run in runs_of(best, fence.sections) if run.verdict]
    spans = [fence.span(run.section, run.first, run.stop) for run in runs]
    widest = sorted(range(len(runs)), key=lambda k: spans[k][0] - spans[k][1])
    labels = [(fence.marks[runs[k].verdict], 0.5 * sum(spans[k])) for k in widest]
    placed = levels_by_rank(labels, fence.left - 2.0, fence.right + 2.0, style.LABEL, gap=0.8, levels=3)
    _brackets(page, [spans[k] for k, p in zip(widest, placed) if p is not None], y, 0.8)  # none without its mark
    return _labels_under(page, [p for p in placed if p is not None], y, style.LABEL) + 0.9


def cause_key(page: Surface, y: float, causes: Sequence[str] = CAUSES) -> float:
    """Every cause with its meaning, and the rail of weak metres, from y down; returns the y of the lowest mark."""
    for i, cause in enumerate(causes):
        top = y + 4.7 * i
        cause_swatch(page, page.left, top, cause)
        page.text(page.left + 8.8, top + 2.4, cause, weight="bold")
        page.text(page.left + 29.0, top + 2.4, CAUSE_MEANINGS[cause], colour=style.SECOND)
    last = y + 4.7 * (len(causes) - 1)
    x, middle = page.right - 25.0, last + 1.5
    page.rect(x, middle - 0.5 * style.RAIL_MM, 6.0, style.RAIL_MM, fill=style.INK)
    page.text(x + 7.6, middle + 0.9, "weak metres")
    return last + 2.9


def cause_swatch(page: Surface, x: float, y: float, cause: str, size_mm: tuple[float, float] = SWATCH_MM) -> None:
    """A rectangle filled as a cause is, its top left corner at (x, y)."""
    fill, direction, ink, spacing = style.CAUSES[cause]
    width, height = size_mm
    page.rect(x, y, width, height, fill=fill)
    if direction:
        page.hatch([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], ink, direction, spacing)
    page.rect(x, y, width, height, edge=style.INK, points=0.5, zorder=5)
