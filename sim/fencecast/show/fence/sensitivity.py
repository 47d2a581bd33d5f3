"""What drives the weakest places: shares of the variance between crossings by drawn input (`sensitivity.png`)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import overload

import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fencecast.errors import UnknownNameError, UsageError
from fencecast.estimate.results import Results
from fencecast.findings.inputs import CANNOT_TELL
from fencecast.findings.words import confidence_text, pd_text, requirement_text
from fencecast.show.fence.sheetdata import SensitivityData, SensitivityPanel, sensitivity_data
from fencecast.show.paper import onaxes, style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, wrap

ACROSS = 2
GAP_MM = 8.0
LABEL_MM, NUMBER_MM = 33.0, 14.0
BAR_MM, STEP_MM = 2.6, 4.4


@overload
def plot_sensitivity(results: Results | xr.Dataset, place: None = None, ax: None = None) -> Figure: ...
@overload
def plot_sensitivity(results: Results | xr.Dataset, place: str | None = None, *, ax: Axes) -> Axes: ...


def plot_sensitivity(results: Results | xr.Dataset, place: str | None = None, ax: Axes | None = None) -> Figure | Axes:
    """A panel of bars for each named place; needs results of `run --sensitivity`; returns a Figure.

    Dark: the input alone; grey up to its end: together with others; the line: interval of that end. Where an interval holds 0
    there is no dark part, or only an outline and "cannot tell".
    ax: matplotlib axes to draw one place into instead, which are returned; place: its code, by default the place of lowest Pd.
    UsageError for a place without axes, UnknownNameError for a place without shares.
    """
    data = sensitivity_data(results)
    if ax is not None:
        return _draw_bars(onaxes.check_axes(ax), data, place)
    if place is not None:
        raise UsageError(f'place="{place}" goes with ax=...: the page has a panel for each place')
    page = Page()
    top = page.heading(
        data.title,
        "Share of the variance of Pd between crossings that each drawn input brings, at the weakest places, lowest Pd first",
        data.fence.attrs,
    )
    top = _key(page, top + 2.0, data.panels, data.fence.confidence)
    width = (page.right - page.left - GAP_MM * (ACROSS - 1)) / ACROSS
    for row in range(0, len(data.panels), ACROSS):
        bottoms = [
            _panel(page, page.left + k * (width + GAP_MM), top, width, panel, data.fence.requirement)
            for k, panel in enumerate(data.panels[row : row + ACROSS])
        ]
        top = max(bottoms) + 4.0
    page.foot(top, data.fence.attrs)
    return page.figure


def _key(page: Page, y: float, panels: Sequence[SensitivityPanel], confidence: float) -> float:
    """What the bars are, in two lines when something cannot be told; returns the y below it."""
    x = page.left
    page.rect(x, y, 6.0, BAR_MM, fill=style.A_COLOUR)
    page.text(x + 7.2, y + 2.2, "alone", size=style.SMALL)
    x += 20.0
    page.rect(x, y, 6.0, BAR_MM, fill=style.BAND)
    page.text(x + 7.2, y + 2.2, "together with other inputs; the number is both", size=style.SMALL)
    x += 68.0
    page.line([x, x + 6.0], [y + 0.5 * BAR_MM] * 2, points=0.9)
    page.text(x + 7.2, y + 2.2, f"{confidence_text(confidence)} interval of that number", size=style.SMALL)
    x += 58.0
    page.line([x, x], [y - 0.4, y + BAR_MM + 0.4], colour=style.LINE, points=0.5)
    page.text(x + 1.6, y + 2.2, "100 %", size=style.SMALL)
    shares = [share for panel in panels for share in panel.shares]
    notes = []
    if any(not share.known for share in shares):
        notes.append((style.PAPER, style.LINE, f"{CANNOT_TELL}: the interval holds 0"))
    if any(share.known and not share.alone_known for share in shares):
        notes.append((style.BAND, None, f"no dark part: {CANNOT_TELL} the share alone from 0"))
    x = page.left
    y += BAR_MM + 2.0 if notes else 0.0
    for fill, edge, text in notes:
        page.rect(x, y, 6.0, BAR_MM, fill=fill, edge=edge, points=0.5)
        page.text(x + 7.2, y + 2.2, text, size=style.SMALL)
        x += 68.0
    return y + BAR_MM + 4.5


def _panel(page: Page, left: float, top: float, width: float, panel: SensitivityPanel, requirement: float) -> float:
    """One place; returns the y below it."""
    head = shorten(f"{panel.place} · {panel.weather}", width, style.HEAD, "bold")
    page.text(left, top + 2.4, head, size=style.HEAD, weight="bold")
    words = f"Pd {pd_text(panel.pd)}, required {requirement_text(requirement)}; {panel.words}."
    y = page.lines_of_text(left, top + 6.0, wrap(words, width, style.SMALL, most=3), 2.9, size=style.SMALL, colour=style.SECOND)
    y = max(y, top + 11.8) - 0.8
    x0, length = left + LABEL_MM, width - LABEL_MM - NUMBER_MM
    for share in panel.shares:
        page.text(left, y + 2.2, share.words, size=style.SMALL)
        if share.known:
            page.rect(x0, y, share.total * length, BAR_MM, fill=style.BAND)
        else:  # an outline: its interval holds 0
            page.rect(x0, y, share.total * length, BAR_MM, fill=style.PAPER, edge=style.LINE, points=0.5)
        if share.known and share.alone_known:
            page.rect(x0, y, min(share.first, share.total) * length, BAR_MM, fill=style.A_COLOUR, zorder=3)
        page.line([x0 + share.low * length, x0 + share.high * length], [y + 0.5 * BAR_MM] * 2, points=0.9, zorder=5)
        number = f"{100 * share.total:.0f} %" if share.known else CANNOT_TELL
        page.text(left + width, y + 2.2, number, size=style.SMALL, ha="right")
        y += STEP_MM
    if panel.shares:
        ends = [y - STEP_MM * len(panel.shares) - 0.6, y - 0.8]
        page.line([x0 + length] * 2, ends, colour=style.LINE, points=0.5, zorder=1)
        page.line([x0, x0], ends, colour=style.LINE, points=0.6, zorder=6)
    return y


def _draw_bars(ax: Axes, data: SensitivityData, place: str | None) -> Axes:
    """The bars of one place in a user's axes, the largest share on top."""
    panel = next((each for each in data.panels if place in (None, each.place)), None)
    if panel is None:
        raise UnknownNameError("place", str(place), [each.place for each in data.panels], "the results")
    rows = range(len(panel.shares))
    for y, share in zip(rows, panel.shares):
        known = share.known
        edge = style.BAND if known else style.LINE
        ax.barh(y, share.total, 0.6, color=style.BAND if known else style.PAPER, edgecolor=edge, linewidth=0.5, zorder=2)
        if known and share.alone_known:
            ax.barh(y, min(share.first, share.total), 0.6, color=style.A_COLOUR, zorder=3)
        ax.plot([share.low, share.high], [y, y], color=style.INK, linewidth=0.9, zorder=5)
    words = [share.words if share.known else f"{share.words} ({CANNOT_TELL})" for share in panel.shares]
    ax.set_yticks(list(rows), words)
    ax.invert_yaxis()
    ax.set_xlim(0.0, 1.0)
    ax.set_xlabel("share of the variance of Pd: alone (dark), with others (grey)")
    ax.set_title(f"{panel.place}, {panel.weather}", parse_math=False)
    onaxes.caution_below(ax, data.fence.attrs)
    return ax
