"""Groups of walks by predicted Pd against where their alarms should fall (`predicted-observed.png`).

Two cameras of one walk are not independent, so the groups' bands are simulated by whole walks and carry no binomial bar; the row
of all walks has one, because there a walk counts once.
"""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure

from fencecast.prove.score.score import WalkScore
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import text_width_mm
from fencecast.show.walk.rows import BOX_MM, MARK_MM, Axis
from fencecast.show.walk.scoredata import ObservedRow, predicted_observed_data

APART_ROWS = 0.5  # between the groups and the row of all walks


def plot_predicted_observed(score: WalkScore) -> Figure:
    """A row for every group of predicted Pd: the band of 95 % of tests, the predicted share, the observed one (open: outside)."""
    data = predicted_observed_data(score)
    page = Page()
    bottom = draw_predicted_observed(page, data.groups, data.total, page.heading(data.title, data.subtitle))
    page.foot(bottom + 1.6, data.attrs, one_look=True)
    return page.figure


def draw_predicted_observed(page: Surface, groups: Sequence[ObservedRow], total: ObservedRow | None, y: float) -> float:
    """Key, rows of the groups, the row of all walks when it is known, and the axis, from y down; returns the y under them."""
    top = _key(page, y + 2.4, total is not None) + 5.5
    axis = Axis(page, top, 0.0)
    page.text(axis.left - 2.0, top - 1.4, "predicted Pd of one camera", ha="right", size=style.SMALL, colour=style.SECOND)
    page.text(axis.right + 3.2, top - 1.4, "alarms observed", size=style.SMALL, colour=style.SECOND)
    for row, group in enumerate(groups):
        _row(axis, row, group)
    if total is None:
        return axis.frame(len(groups), "share of alarms")
    last = len(groups) + APART_ROWS
    between = axis.top + (last - 0.5 * APART_ROWS) * (axis.y(1) - axis.y(0))
    page.line([page.left, page.right], [between, between], colour=style.LINE, points=0.4, zorder=3)
    _row(axis, last, total)
    return axis.frame(last + 1, "share of alarms")


def _row(axis: Axis, row: float, group: ObservedRow) -> None:
    axis.band(row, *group.band)
    if group.bar:
        axis.bar(row, *group.bar)
    axis.tick(row, group.predicted)
    axis.mark(row, group.observed, hollow=bool(group.outside))
    side = {-1: "fewer than the band", 1: "more than the band"}.get(group.outside, "")
    axis.words(row, group.label, group.below, group.count, side, "bold" if group.outside else "normal")


def _key(page: Surface, y: float, bars: bool) -> float:
    x = page.left

    def word(text: str, before: float) -> None:
        nonlocal x
        page.text(x + before, y + 0.9, text)
        x += before + text_width_mm(text, style.LABEL) + 4.8

    page.rect(x, y - 0.4 * BOX_MM, 7.0, 0.8 * BOX_MM, fill=style.GUIDE)
    word("95 % of tests, if the prediction is right", 8.5)
    page.line([x + 0.6] * 2, [y - 0.4 * BOX_MM, y + 0.4 * BOX_MM], points=1.2)
    word("predicted", 2.2)
    page.dot(x + 1.2, y, MARK_MM, colour=style.INK, edge=style.INK)
    word("observed", 3.6)
    page.dot(x + 1.2, y, MARK_MM, colour=style.PAPER, edge=style.INK)
    word("outside the grey band", 3.6)
    if not bars:
        return y + 1.0
    page.line([x, x + 6.0], [y, y], points=0.8)
    for end in (x, x + 6.0):
        page.line([end, end], [y - 0.9, y + 0.9], points=0.8)
    word("95 % interval of the share", 7.5)
    return y + 1.0
