"""Two designs on the same crossings: where, in which weather, and by how much one is better (`comparison.png`)."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.places import runs_of
from fencecast.estimate.results import Results
from fencecast.findings.designtitles import NOT_DISTINGUISHABLE, comparison_subtitle, comparison_title
from fencecast.findings.words import whole
from fencecast.show.fence.comparisondata import ComparisonData, DifferenceRow, comparison_data
from fencecast.show.fence.strip import BY_HOURS, class_name
from fencecast.show.fence.unrolled import Unrolled, open_rail
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm, wrap

LEFT, RIGHT = 31.0, 124.0  # the fence between the class names and the metres
ROW_MM, BETWEEN_MM = 12.6, 4.6
RIBBON_MM, RIBBON_SPACING_MM = (
    0.9,
    0.6,
)  # half height of the hatched ribbon where the two are not distinguishable, and of its lines
COLUMNS = {"better": 139.5, "worse": 148.5, "equivalent": 162.0, NOT_DISTINGUISHABLE: 176.0}
LONGEST_LABEL_MM = 8.6
LONGEST_TITLE_NAME_MM = 60.0
INTERVAL_ALPHA = 0.38
COLOURS = {"better": style.B_COLOUR, "worse": style.A_COLOUR, "equivalent": style.BAND}


def plot_comparison(results: Results | xr.Dataset, compared: int = 0) -> Figure:
    """One variant against the base: a row per weather class, bars about a zero line, up where the variant is better.

    results: a Dataset of `fencecast.compare`; compared: which of its variants, counted without the base. The difference is drawn
    as a bar because no colour map with two ends keeps its sign in grey print. Returns a matplotlib Figure, 180 mm wide.
    """
    data = comparison_data(results, compared)
    labels = short_names(data.base, data.variant)
    page = Page()
    fence = Unrolled(page, data.fence, LEFT, RIGHT)
    title = comparison_title(data.found, _in_title(data.base, "A"), _in_title(data.variant, "B"), data.fence.units)
    y = page.heading(title, comparison_subtitle(*labels, len(data.rows), len(data.found)))
    top = fence.head(y)
    _column_heads(page, top, labels)
    y = top + 0.9 + 2.0 * style.RAIL_MM
    for row, c in zip(data.rows, data.found):
        _row(fence, y, row, data.scale)
        class_name(page, c, LEFT - 1.9, y, ROW_MM)
        _metres(page, y, row.metres)
        y += ROW_MM + BETWEEN_MM
    y = _year(fence, data, y)
    y = fence.axis(y + 1.6)
    named = [f"{label} = {each}" for label, each in zip(labels, (data.base, data.variant)) if label != each]
    y = fence.key_lines(y + 1.0, [" · ".join(named)] if named else ()) + 3.0
    page.foot(_key(page, y, labels, data.margin, 100 * data.fence.confidence), data.fence.attrs)
    return page.figure


def short_names(base: str, name: str) -> tuple[str, str]:
    """The names where both are short enough for a column, else A and B."""
    fit = all(text_width_mm(each, style.LABEL, "bold") <= LONGEST_LABEL_MM for each in (base, name))
    return (base, name) if fit else ("A", "B")


def _in_title(name: str, letter: str) -> str:
    return name if text_width_mm(name, style.TITLE, "bold") <= LONGEST_TITLE_NAME_MM else letter


def _column_heads(page: Page, top: float, labels: tuple[str, str]) -> None:
    page.text(COLUMNS["worse"], top - 5.4, "metres better with", size=style.SMALL, colour=style.SECOND, ha="right")
    for word, label in (("better", labels[1]), ("worse", labels[0])):
        page.text(COLUMNS[word], top - 2.4, label, weight="bold", ha="right")
    for word, text, up in (("equivalent", "equivalent", 2.4), (NOT_DISTINGUISHABLE, NOT_DISTINGUISHABLE, 5.4)):
        page.text(COLUMNS[word], top - up, text, size=style.SMALL, colour=style.SECOND, ha="right")


def _metres(page: Page, y: float, metres: dict[str, float]) -> None:
    for word, x in COLUMNS.items():
        first = word in ("better", "worse")
        how = {"size": style.HEAD, "weight": "bold"} if first else {"colour": style.SECOND}
        page.text(x, y + 0.5 * ROW_MM + 1.0, whole(metres[word]), ha="right", **how)


def _row(fence: Unrolled, y: float, row: DifferenceRow, scale: float) -> None:
    """One class: interval in grey, bars by verdict, a step line, hatched ribbons; rails where the requirement is met by one."""
    page = fence.page
    zero = y + 0.5 * ROW_MM

    def at(difference: np.ndarray) -> np.ndarray:
        return zero - np.clip(difference, -scale, scale) / scale * 0.5 * ROW_MM

    bands, bars, fills = [], [], []
    for section in fence.sections:
        x0, x1 = fence.span(section.index, section.first, section.stop)
        page.rect(x0, y, x1 - x0, ROW_MM, edge=style.GUIDE, points=0.5, zorder=1)
        page.line([x0, x1], [zero, zero], points=0.6, zorder=4)
    for run in runs_of(row.verdict, fence.sections):
        a, b = fence.span(run.section, run.first, run.stop)
        if run.verdict == "no data":
            page.no_data([(a, y), (b, y), (b, y + ROW_MM), (a, y + ROW_MM)], zorder=4.2)
            continue
        edges = [fence.span(run.section, i, i + 1) for i in range(run.first, run.stop)]
        mean, low, high = (at(part[run.first : run.stop]) for part in (row.difference, row.low, row.high))
        for (u, v), middle, lower, upper in zip(edges, mean, low, high):
            bands.append([(u, lower), (v, lower), (v, upper), (u, upper)])
            if run.verdict in COLOURS:
                bars.append([(u, zero), (v, zero), (v, middle), (u, middle)])
                fills.append(COLOURS[run.verdict])
        page.line(np.ravel(edges), np.repeat(mean, 2), points=0.6, zorder=6, solid_joinstyle="miter")
        if run.verdict == NOT_DISTINGUISHABLE:
            ribbon = [(a, zero - RIBBON_MM), (b, zero - RIBBON_MM), (b, zero + RIBBON_MM), (a, zero + RIBBON_MM)]
            page.hatch(ribbon, style.INK, spacing_mm=RIBBON_SPACING_MM, zorder=5)
    page.polygons(bands, [style.LINE] * len(bands), zorder=2, alpha=INTERVAL_ALPHA)
    page.polygons(bars, fills, zorder=3)
    for level, text in ((scale, f"+{scale:g}"), (0.0, "0"), (-scale, f"−{scale:g}")):
        baseline = {scale: y + 2.0, 0.0: zero + 0.8, -scale: y + ROW_MM - 0.2}[level]
        page.text(fence.right + 1.4, baseline, text, size=style.SMALL, colour=style.SECOND)
    if row.base is not None and row.variant is not None:
        _rails(fence, y, row.base, row.variant)


def _rails(fence: Unrolled, y: float, before: np.ndarray, after: np.ndarray) -> None:
    """A black rail above where the base is weak and the variant meets; an open one below where it is the other way round."""
    gained, lost = (before == "weak") & (after == "meets"), (before == "meets") & (after == "weak")
    turned = np.where(gained, "up", np.where(lost, "down", ""))
    for run in runs_of(turned, fence.sections):
        a, b = fence.span(run.section, run.first, run.stop)
        if run.verdict == "up":
            fence.rails(a, b, [y - 0.5 - style.RAIL_MM])
        elif run.verdict == "down":
            open_rail(fence.page, a, b, y + ROW_MM + 0.6)


def _year(fence: Unrolled, data: ComparisonData, y: float) -> float:
    """A last row over the year, ruled off; returns the y of its lower edge."""
    if data.year is None:
        return y - BETWEEN_MM
    page = fence.page
    page.line([page.left, page.right], [y - 1.4] * 2, colour=style.GUIDE, points=0.6)
    y += 0.9
    _row(fence, y, data.year, data.scale)
    page.text(LEFT - 1.9, y + 0.5 * ROW_MM - 0.5, data.year_name, weight="bold", ha="right")
    page.text(LEFT - 1.9, y + 0.5 * ROW_MM + 2.4, BY_HOURS, size=style.SMALL, colour=style.SECOND, ha="right")
    _metres(page, y, data.year.metres)
    return y + ROW_MM


def _key(page: Page, y: float, labels: tuple[str, str], margin: float, confidence: float) -> float:
    """Bars, verdicts and rails with their meanings; returns the y below it."""
    base, name = labels
    entries = (
        ("better", f"{name} better", "full paired interval above 0"),
        ("worse", f"{base} better", "full paired interval below 0"),
        ("undecided", NOT_DISTINGUISHABLE, "paired interval across 0"),
        ("equivalent", "equivalent", f"full interval within ±{margin:g}"),
    )
    step = (page.right - page.left) / len(entries)
    for i, (word, head, meaning) in enumerate(entries):
        x = page.left + i * step
        if word in COLOURS:
            page.rect(x, y, 7.0, 2.9, fill=COLOURS[word])
        else:
            page.line([x, x + 7.0], [y + 1.45] * 2, points=0.6)
            page.hatch(
                [(x, y + 0.5), (x + 7.0, y + 0.5), (x + 7.0, y + 2.4), (x, y + 2.4)], style.INK, spacing_mm=RIBBON_SPACING_MM
            )
        page.text(x + 8.4, y + 2.3, head, weight="bold")
        for j, line in enumerate(wrap(meaning, step - 9.0, style.SMALL, most=2)):
            page.text(x + 8.4, y + 5.2 + 2.7 * j, line, size=style.SMALL, colour=style.SECOND)
    y += 12.4
    x = page.left
    for mark, text in (
        ("up", f"above a row: weak with {base}, meets with {name}"),
        ("down", f"below a row: meets with {base}, weak with {name}"),
        ("interval", f"{confidence:g} % interval"),
    ):
        width = 8.4 + text_width_mm(text, style.SMALL)
        if x > page.left and x + width > page.right:
            x, y = page.left, y + 4.4
        if mark == "up":
            page.rect(x, y - 1.3, 7.0, style.RAIL_MM, fill=style.INK)
        elif mark == "down":
            open_rail(page, x, x + 7.0, y - 1.3)
        else:
            page.rect(x, y - 2.2, 7.0, 2.9, fill=style.LINE, alpha=INTERVAL_ALPHA)
            page.line([x, x + 7.0], [y - 0.75] * 2, points=0.6)
        page.text(x + 8.4, y, text, size=style.SMALL)
        x += width + 5.0
    return y + 3.6
