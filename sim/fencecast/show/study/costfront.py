"""What more cameras buy: the weakest metre against cost, from the site as it is to the proposal (`front.png`)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from matplotlib.figure import Figure

from fencecast.decide.place.proposal import Step
from fencecast.findings.designtitles import cost_text, cost_words
from fencecast.findings.words import confidence_text, interval_text, plural, requirement_text
from fencecast.show.paper import style
from fencecast.show.paper.labels import in_levels
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten
from fencecast.show.study.data import cost_front_data
from fencecast.show.study.sheet import round_step

__all__ = ["cost_text", "cost_words", "plot_cost_front"]

PLOT_MM, AXIS_MM = 62.0, 12.0
ROW_MM, BAR_MM = 4.6, 2.6
MOST_ROWS = 16


def plot_cost_front(steps: Sequence[Step], attrs: Mapping[str, Any], unit: str) -> Figure:
    """A panel of Pd of the weakest metre against cost, and a table of the sets on the way with metres by verdict as bars.

    steps: rows of a proposal, cheapest first; attrs: attributes of the results of the proposal; unit: "price" or "cameras", what
    cost counts. Filled dots with bars: fresh crossings and their interval; rings: crossings of the search. The last step may
    hold the numbers of the proposal's own run.
    """
    data = cost_front_data(steps, attrs, unit)
    page = Page()
    top = page.heading(
        data.title,
        f"Pd of the weakest metre in any weather class against cost ({cost_words(unit)}); dots with bars: fresh crossings "
        f"that nothing was chosen by, {confidence_text(data.confidence)} intervals; rings: crossings of the search",
    )
    bottom = _panel(page, top + 6.0, data.steps, data.requirement, unit)
    bottom = _table(page, bottom + 6.0, data.steps, unit)
    page.foot(bottom + 3.0, attrs)
    return page.figure


def _panel(page: Page, top: float, steps: Sequence[Step], need: float, unit: str) -> float:
    left, right = page.left + AXIS_MM, page.right - 6.0
    low, high = min(s.cost for s in steps), max(s.cost for s in steps)
    span = max(high - low, 1.0 if unit == "cameras" else max(high, 1.0))
    low, span = low - 0.06 * span, 1.12 * span

    def x(cost: float) -> float:
        return left + (cost - low) / span * (right - left)

    def y(pd: float) -> float:
        return top + (1.0 - pd) * PLOT_MM

    page.rect(left, top, right - left, PLOT_MM, edge=style.LINE, points=0.5)
    for tick in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0):
        if abs(tick - need) > 0.03:
            page.text(left - 1.5, y(tick), f"{tick:g}", ha="right", va="center", size=style.SMALL, colour=style.SECOND)
            page.line([left, right], [y(tick)] * 2, colour=style.GUIDE, points=0.4, zorder=1)
    page.line([left, right], [y(need)] * 2, points=0.9, dashes=(5, 2), zorder=3)
    page.text(left - 1.5, y(need), requirement_text(need), ha="right", va="center", size=style.SMALL, weight="bold")
    side = y(need) - 1.0 if need < 0.9 else y(need) + 2.9
    page.text(left + 1.0, side, "required", size=style.SMALL, weight="bold", plate=True)
    step = round_step(span)
    tick = math.ceil(low / step) * step
    while tick <= low + span:
        if tick >= -1e-9:
            page.line([x(tick)] * 2, [top + PLOT_MM, top + PLOT_MM + 1.0], colour=style.LINE, points=0.5)
            page.text(x(tick), top + PLOT_MM + 3.8, cost_text(tick, unit), ha="center", size=style.SMALL, colour=style.SECOND)
        tick += step
    page.text(right, top + PLOT_MM + 7.4, f"cost, {cost_words(unit)}", ha="right", size=style.SMALL, colour=style.SECOND)
    xs, ys = [], []
    for k, s in enumerate(steps):  # what money buys goes up in steps
        if k:
            xs.append(x(s.cost))
            ys.append(y(steps[k - 1].fresh))
        xs.append(x(s.cost))
        ys.append(y(s.fresh))
    page.line(xs, ys, colour=style.A_COLOUR, points=0.9, zorder=4)
    for s in steps:
        page.line([x(s.cost)] * 2, [y(s.low), y(s.high)], colour=style.A_COLOUR, points=1.2, zorder=5)
        page.dot(x(s.cost), y(s.weakest), 1.9, colour=style.PAPER, edge=style.LINE, zorder=5)
        page.dot(x(s.cost), y(s.fresh), 1.5, colour=style.A_COLOUR, zorder=6)
    labels = [
        (plural(s.cameras, "camera") if k in (0, len(steps) - 1) else str(s.cameras), x(s.cost)) for k, s in enumerate(steps)
    ]
    for placed in in_levels(labels, left, right, style.SMALL, levels=3):
        page.text(placed.middle, top - 1.2 - 2.9 * placed.level, placed.text, ha="center", size=style.SMALL)
    return top + PLOT_MM + 8.0


def _table(page: Page, top: float, steps: Sequence[Step], unit: str) -> float:
    """The sets on the way, one row each, metres by verdict as a bar: black weak, hatched undecided, white meets."""
    shown = list(steps) if len(steps) <= MOST_ROWS else [*steps[: MOST_ROWS - 1], steps[-1]]
    columns = [page.left, page.left + 16.0, page.left + 31.0, page.left + 52.0, page.left + 88.0]
    for x, word in zip(columns, ("cost", "cameras", "new, changed", "weakest metre", "where, in which weather")):
        page.text(x, top + 2.4, word, size=style.SMALL, colour=style.SECOND)
    bar_left = page.right - 40.0
    page.text(bar_left, top + 2.4, "metres: weak, undecided, meets", size=style.SMALL, colour=style.SECOND)
    y = top + 4.2
    for s in shown:
        texts = (cost_text(s.cost, unit), str(s.cameras), f"{s.new}, {s.changed}", interval_text(s.fresh, s.low, s.high))
        for x, text in zip(columns, texts):
            page.text(x, y + 2.3, text, size=style.SMALL)
        where = shorten(f"{s.place}, {s.weather}", bar_left - columns[4] - 2.0, style.SMALL)
        page.text(columns[4], y + 2.3, where, size=style.SMALL)
        total = max(s.weak_m + s.undecided_m + s.meets_m, 1e-9)
        width = page.right - bar_left
        weak, unsure = s.weak_m / total * width, s.undecided_m / total * width
        if weak:
            page.rect(bar_left, y, weak, BAR_MM, fill=style.INK, zorder=3)
        if unsure > 0.3:
            box = [(bar_left + weak + dx, y + dy) for dx, dy in ((0, 0), (unsure, 0), (unsure, BAR_MM), (0, BAR_MM))]
            page.hatch(box)
        page.rect(bar_left, y, width, BAR_MM, edge=style.LINE, points=0.5, zorder=4)
        y += ROW_MM
    if len(shown) < len(steps):
        page.text(page.left, y + 2.3, f"{len(steps) - len(shown)} sets in between are left out here.", size=style.SMALL)
        y += ROW_MM
    return y
