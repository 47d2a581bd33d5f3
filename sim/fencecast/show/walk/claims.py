"""Every claim with its exact interval, the requirement and what was predicted (`claims.png`)."""

from __future__ import annotations

import math

from matplotlib.figure import Figure

from fencecast.prove.score.score import WalkScore
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm
from fencecast.show.walk.rows import BOX_MM, MARK_MM, Axis
from fencecast.show.walk.scoredata import ClaimRow, ClaimsData, claims_data

_ROOM = 0.02  # under the lowest end on the axis


def plot_claims(score: WalkScore) -> Figure:
    """A row for every claim: observed share and exact interval over the predicted Pd and its range; the verdict in words."""
    data = claims_data(score)
    page = Page()
    top = page.heading(data.title, data.subtitle)
    if not data.rows:
        page.text(page.left, top + 6.0, "The plan has no claim.", size=style.LABEL)
        page.foot(top + 10.0, data.attrs, one_look=True)
        return page.figure
    top = _key(page, top + 2.4, data) + 6.0
    axis = Axis(page, top, _floor(data))
    for row, claim in enumerate(data.rows):
        _row(axis, row, claim)
    bottom = axis.frame(len(data.rows), "Pd", bold=data.requirement)
    page.foot(bottom + 1.6, data.attrs, one_look=True)
    return page.figure


def _floor(data: ClaimsData) -> float:
    """The axis begins at a tenth below everything drawn, at 0.8 or lower."""
    ends = [data.requirement, *(end for row in data.rows for end in (row.predicted_low, row.low))]
    return min(max(math.floor(10.0 * (min(ends) - _ROOM)) / 10.0, 0.0), 0.8)


def _row(axis: Axis, row: int, claim: ClaimRow) -> None:
    axis.band(row, claim.predicted_low, claim.predicted_high)
    axis.tick(row, claim.predicted)
    if not math.isnan(claim.observed):
        axis.bar(row, claim.low, claim.high)
        y = axis.y(row)
        x = axis.x(claim.low_one_sided)
        axis.page.polygon([(x, y), (x + 1.8, y - 1.1), (x + 1.8, y + 1.1)], fill=style.INK, zorder=6)
        axis.mark(row, claim.observed, hollow=claim.verdict != "shown")
    axis.words(row, claim.label, claim.below, claim.verdict, claim.count, "bold")


def _key(page: Page, y: float, data: ClaimsData) -> float:
    x = page.left

    def word(text: str, before: float) -> None:
        nonlocal x
        page.text(x + before, y + 0.9, text)
        x += before + text_width_mm(text, style.LABEL) + 5.0

    page.dot(x + 1.2, y, MARK_MM, colour=style.INK, edge=style.INK)
    word("shown", 3.4)
    page.dot(x + 1.2, y, MARK_MM, colour=style.PAPER, edge=style.INK)
    word("not yet, or not", 3.4)
    page.line([x, x + 6.0], [y, y], points=0.8)
    for end in (x, x + 6.0):
        page.line([end, end], [y - 0.9, y + 0.9], points=0.8)
    word(f"exact {data.confidence} interval", 7.5)
    page.polygon([(x, y), (x + 1.8, y - 1.1), (x + 1.8, y + 1.1)], fill=style.INK)
    word("at least (one-sided)", 3.2)
    page.rect(x, y - 0.4 * BOX_MM, 7.0, 0.8 * BOX_MM, fill=style.GUIDE)
    page.line([x + 4.0] * 2, [y - 0.4 * BOX_MM, y + 0.4 * BOX_MM], points=1.2)
    word("predicted, its range", 8.5)
    return y + 1.0
