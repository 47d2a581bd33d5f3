"""The chance that a planned test passes, by the true Pd (`chance.png`)."""

from __future__ import annotations

from os import PathLike

import numpy as np
from matplotlib.figure import Figure

from fencecast.findings.words import pd_text, requirement_text
from fencecast.prove.walks.planfile import WalkPlan
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import wrap
from fencecast.show.study.sheet import LINES, round_step, spread_out
from fencecast.show.walk.plandata import WalkChanceData, walk_chance_data

PLOT_MM, AXIS_MM, WORDS_MM, LINE_MM = 84.0, 11.0, 58.0, 3.6
DOT_MM = 2.4


def plot_walk_chance(plan: WalkPlan | str | PathLike[str]) -> Figure:
    """A line for every plan of walks; the requirement and each claim as predicted are marked.

    plan: a plan or the path of a plan.json.
    """
    data = walk_chance_data(plan)
    page = Page()
    top = page.heading(data.title, data.subtitle) + 5.0
    left, right = page.left + AXIS_MM, page.right - WORDS_MM
    low = float(data.pd[0])

    def x(pd):
        return left + (np.asarray(pd) - low) / (1.0 - low) * (right - left)

    def y(chance):
        return top + (1.0 - np.asarray(chance)) * PLOT_MM

    _frame(page, data, top, left, right, x, y)
    for line, (colour, points, dashes) in zip(data.lines, _styles(data)):
        how = {"dashes": dashes} if dashes else {}
        page.line(x(data.pd), y(line.chances), colour=colour, points=points, zorder=5, **how)
    _words(page, data, right, top, y)
    for point in data.points:
        page.line([x(point.pd)] * 2, [y(0.0), y(point.chance)], colour=style.SECOND, points=0.6, dashes=(1.5, 1.5), zorder=4.5)
        page.dot(float(x(point.pd)), float(y(point.chance)), DOT_MM, colour=style.PAPER, edge=style.INK, zorder=7)
    _claims(page, data, top, left, right)
    page.foot(top + PLOT_MM + 12.0 + 3.6 * (1 + len(data.points)), data.attrs, one_look=True)
    return page.figure


def _styles(data: WalkChanceData):
    """The hues of two designs for claims, greys for what is there to compare."""
    own = sum(not line.reference for line in data.lines)
    return [LINES[k if k < own else min(max(own, 2) + k - own, len(LINES) - 1)] for k in range(len(data.lines))]


def _frame(page: Page, data: WalkChanceData, top: float, left: float, right: float, x, y) -> None:
    bottom = top + PLOT_MM
    for tick in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0):
        page.line([left, right], [y(tick)] * 2, colour=style.GUIDE, points=0.4, zorder=1)
        page.text(
            left - 1.2, float(y(tick)), f"{tick:.1f}", size=style.SMALL, colour=style.SECOND, ha="right", va="center_baseline"
        )
    step = round_step(1.0 - float(data.pd[0]))
    first = float(np.ceil(data.pd[0] / step - 1e-9))
    required = float(x(data.requirement))
    for k in range(int(first), int(np.floor(1.0 / step + 1e-9)) + 1):
        at = float(x(k * step))
        page.line([at, at], [bottom, bottom + 1.0], colour=style.LINE, points=0.5)
        if abs(at - required) > 9.0:
            page.text(at, bottom + 4.0, f"{k * step:.3g}", size=style.SMALL, colour=style.SECOND, ha="center")
    page.rect(left, top, right - left, PLOT_MM, edge=style.LINE, points=0.5, zorder=6)
    page.line([required, required], [top, bottom], points=0.9, dashes=(5, 2), zorder=4)
    page.text(required, top - 1.2, "required", size=style.SMALL, weight="bold", ha="center")
    page.text(required, bottom + 4.0, requirement_text(data.requirement), size=style.SMALL, weight="bold", ha="center")
    page.text(right, bottom + 7.4, "true Pd of the walks", size=style.SMALL, colour=style.SECOND, ha="right")
    page.text(left - 9.0, top - 2.6, "chance of passing", size=style.SMALL, colour=style.SECOND)


def _words(page: Page, data: WalkChanceData, right: float, top: float, y) -> None:
    """What each line is, at its height four fifths of the way to the right; joined to it by a short leader."""
    at = int(0.82 * (len(data.pd) - 1))
    wanted = [float(y(line.chances[at])) for line in data.lines]
    placed = spread_out(wanted, 2.4 * LINE_MM, top + 2.0, top + PLOT_MM - 4.0)
    for line, (colour, points, dashes), to in zip(data.lines, _styles(data), placed):
        page.line(
            [right + 1.0, right + 6.0], [to, to], colour=colour, points=points, zorder=5, **({"dashes": dashes} if dashes else {})
        )
        page.lines_of_text(
            right + 7.5, to + 0.9, wrap(line.label, WORDS_MM - 9.0, style.SMALL, most=2), LINE_MM, size=style.SMALL
        )


def _claims(page: Page, data: WalkChanceData, top: float, left: float, right: float) -> None:
    """Each claim in words under the axis."""
    y = top + PLOT_MM + 11.0
    if not data.points:
        return
    page.dot(left + 1.2, y - 0.9, DOT_MM, colour=style.PAPER, edge=style.INK)
    page.text(left + 3.6, y, "a claim as predicted: walks of unlike places, so it need not lie on its line", size=style.SMALL)
    for k, point in enumerate(data.points, start=1):
        as_predicted, low_end, over = (pd_text(each) for each in (point.chance, point.low_end, point.over_prior))
        words = f"{point.claim}: chance {as_predicted} as predicted, {low_end} at the low end of the prior, {over} over the prior"
        page.text(left + 3.6, y + 3.6 * k, words, size=style.SMALL)
