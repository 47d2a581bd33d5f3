"""The rank of every design in every weather class, with the ranks that paired differences leave open (`study-ranks.png`)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.findings.words import confidence_text, first_upper, hours_text
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, wrap
from fencecast.show.study.data import StudyRanksData, study_ranks_data
from fencecast.show.study.sheet import LINES

RANK_MM, LABEL_MM = 11.0, 36.0
SAMPLE_MM = 6.0  # of a line beside its name: the key
# With a colour each design has a mark of its own: several greys are alike on a short bar.
MARKS = ("o", "s", "^", "D", "o", "s", "^", "D")
FIRST_OPEN = 4  # from here on marks are white inside
SHIFT_MM = 1.5  # side by side, so that the ranges of two designs do not lie on each other


def plot_study_ranks(results: xr.Dataset) -> Figure:
    """One column a weather class, the year last; 1 on top. Lines join a design's ranks, bars are their ranges."""
    data = study_ranks_data(results)
    page = Page()
    top = page.heading(
        data.title,
        f"Rank by mean Pd over yards, 1 is the highest, at {data.allowance}; bars: ranks that paired "
        f"differences leave open (Student's t over yards, {confidence_text(data.confidence)}, Holm over all pairs and classes)",
    )
    left, right = page.left + LABEL_MM, page.right - LABEL_MM
    xs = np.linspace(left + 10.0, right - 10.0, len(data.columns))
    room = min(float(xs[1] - xs[0]) - 2.0, 34.0)
    y0 = top + 16.0
    lowest = max(len(data.designs), int(np.max(data.high, initial=1.0)))

    def y(rank: float | np.ndarray) -> np.ndarray:
        return y0 + (np.asarray(rank) - 1.0) * RANK_MM

    for x, weather, sure in zip(xs, data.columns, data.first_sure):
        lines = wrap(first_upper(weather.name), room, style.SMALL, "bold", most=3)
        page.lines_of_text(x, top + 3.2, lines, 2.8, ha="center", weight="bold", size=style.SMALL)
        if weather.hours is not None:
            at = top + 3.2 + 2.8 * len(lines)
            page.text(x, at, hours_text(weather.hours), ha="center", size=style.SMALL, colour=style.SECOND)
        page.line([x, x], [y(1) - 2.0, y(lowest) + 2.0], colour=style.GUIDE, points=0.5, zorder=1)
        if data.designs:
            page.text(x, y(lowest) + 6.6, "yes" if sure else "no", ha="center", size=style.SMALL)
    if not data.designs:
        page.text(left, y0 + 4.0, "No yard has a layout of every design, so that there are no ranks.", size=style.LABEL)
    else:
        page.text(left - 2.0, y(lowest) + 6.6, "first above next", ha="right", size=style.SMALL, colour=style.SECOND)
    for n in range(len(data.designs)):
        colour, points, dashes = LINES[n]
        shift = SHIFT_MM * (n - 0.5 * (len(data.designs) - 1))
        ranks = y(data.rank[n])
        page.line(xs + shift, ranks, colour=colour, points=points, zorder=4, **({"dashes": dashes} if dashes else {}))
        for x, rank, low, high in zip(xs, ranks, y(data.low[n]), y(data.high[n])):
            page.line([x + shift] * 2, [low - 0.9, high + 0.9], colour=colour, points=1.8, zorder=5)
            _mark(page, n, x + shift, rank)
    _names(page, data, y, left, right)
    bottom = float(y(lowest)) + 9.0
    if data.left_out:
        page.text(page.left, bottom + 2.0, data.left_out, size=style.SMALL, colour=style.SECOND)
        bottom += 4.0
    page.foot(bottom + 1.0, data.attrs)
    return page.figure


def _names(page: Page, data: StudyRanksData, y: Callable[[float], np.ndarray], left: float, right: float) -> None:
    """Names at both ends of the lines; designs that share a rank stand below each other."""
    for column, x, side in ((0, left, "right"), (-1, right, "left")):
        taken: dict[float, int] = {}
        for n, (design, ranks) in enumerate(zip(data.designs, data.rank)):
            rank = float(ranks[column])
            offset = taken.get(rank, 0)
            taken[rank] = offset + 1
            name = shorten(design, LABEL_MM - 5.0 - SAMPLE_MM)
            text = f"{rank:.0f}  {name}" if side == "left" else f"{name}  {rank:.0f}"
            middle, outward = float(y(rank)) + 3.0 * offset, 1.0 if side == "left" else -1.0
            start = x + outward * (SAMPLE_MM + 1.2)
            page.text(start, middle + 0.9, text, ha=side, size=style.LABEL)
            colour, points, dashes = LINES[n]
            ends = [x, x + outward * SAMPLE_MM]
            page.line(ends, [middle] * 2, colour=colour, points=points, zorder=4, **({"dashes": dashes} if dashes else {}))
            _mark(page, n, float(np.mean(ends)), middle)


def _mark(page: Page, n: int, x: float, y: float) -> None:
    """The mark of the n-th design, centred at (x, y)."""
    colour = LINES[n][0]
    fill = style.PAPER if n >= FIRST_OPEN else colour
    page.line(
        [x], [y], colour=colour, linestyle="none", marker=MARKS[n], markersize=5.6, markerfacecolor=fill,
        markeredgecolor=colour, markeredgewidth=0.9, zorder=6,
    )  # fmt: skip
