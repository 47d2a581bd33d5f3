"""The year carpet: Pd of one segment in every armed hour of a year, night by night (`year-carpet.png`)."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.results import Results
from fencecast.findings.words import requirement_text, whole
from fencecast.findings.yeartitles import Weak
from fencecast.show.paper import style
from fencecast.show.paper.key import SWATCH_MM, ramp_key
from fencecast.show.paper.page import Page
from fencecast.show.paper.pixels import PIXEL_MM
from fencecast.show.paper.style import Ramp, fence7
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import text_width_mm, wrap
from fencecast.show.year.box import MONTHS, Box
from fencecast.show.year.data import YearCarpetData, year_carpet_data
from fencecast.show.year.nights import Nights, days_words

X_MM = 18.0
# Device pixels an hour: 2.54 mm with one carpet, 1.4 mm when working and rest days have one each.
ONE_ROW_PX, TWO_ROWS_PX = 20, 11
BARS_MM = 19.0
# Under the hours of a run on a condition: neutral, and by lightness apart from the pale steps of Pd and from the orange one.
OTHER_HOURS = "#C5C5C5"


def plot_year_carpet(results: Results | xr.Dataset) -> Figure:
    """One column a night, noon to noon, Pd in steps; below, the share of armed hours under the requirement by month."""
    data = year_carpet_data(results)
    page = Page()
    y = page.heading(data.title, data.subtitle, data.attrs)
    if data.weak is None:
        page.foot(y + 4.0, data.attrs)
        return page.figure
    page.foot(carpets(page, data, data.weak, y + 6.0) + 3.0, data.attrs)
    return page.figure


def carpets(page: Surface, data: YearCarpetData, weak: Weak, y: float) -> float:
    """One or two carpets, the months below, and the key, from y down; returns the y of the lowest text."""
    ramp = fence7(data.requirement)
    for k, (days, nights) in enumerate(data.groups):
        if len(data.groups) > 1:
            page.text(X_MM, y - 1.2, days_words(days), weight="bold")
        y = _carpet(page, data, weak, nights, ramp, y) + (7.0 if k < len(data.groups) - 1 else 0.0)
    y = _bars(page, weak, ramp, data.nights, y + 4.0, "these" if data.chosen else "armed")
    y = _key(page, data, ramp, y + 3.0)
    lines = wrap(data.sun, page.right - page.left, style.SMALL)
    return page.lines_of_text(page.left, y + 3.4, lines, 2.9, size=style.SMALL, colour=style.SECOND) - 3.4


def _carpet(page: Surface, data: YearCarpetData, weak: Weak, nights: Nights, ramp: Ramp, y: float) -> float:
    alone = len(data.groups) == 1
    box = Box(page, nights, X_MM, y, ONE_ROW_PX if alone else TWO_ROWS_PX)
    step = np.array([ramp.step(pd) if not np.isnan(pd) else -1 for pd in weak.pd])
    box.cells(nights.grid(step, -1), ramp.colours, OTHER_HOURS if data.chosen else style.PAPER)
    box.no_data(nights.grid(~data.known, False), "no weather data" if alone else "")
    if not data.chosen:  # round single hours an outline would leave nothing of their colour
        box.outline(nights.grid(data.armed, False))
    if data.sun_deg is not None:
        box.sun(nights.grid(data.sun_deg, np.nan), casing=not data.chosen)
    if not data.chosen:
        middle = 0.5 * (box.y + box.bottom)
        page.text(box.right + 1.8, middle - 0.4, "armed hours", size=style.SMALL, weight="bold")
        page.text(box.right + 1.8, middle + 2.5, "outlined", size=style.SMALL, colour=style.SECOND)
    return box.axes()


def _bars(page: Surface, year: Weak, ramp: Ramp, nights: Nights, y: float, which: str) -> float:
    """Share of each month's armed hours below the requirement, hours on the bars; returns the y below. which: armed or these."""
    width = 365 * 3 * PIXEL_MM
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(year.counted > 0, year.weak / year.counted, np.nan)
    largest = np.nanmax(share, initial=0.0)
    top = next(top for top in (0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0) if largest <= top)
    words = f"share of {which} hours below {requirement_text(ramp.requirement)}, %"
    page.text(X_MM, y + 2.4, words)
    after = X_MM + text_width_mm(words) + 2.5
    page.text(after, y + 2.4, "black: the month with most of them", size=style.SMALL, colour=style.SECOND)
    base = y + 6.6 + BARS_MM
    for level in (0.0, 0.5 * top, top):
        height = base - BARS_MM * level / top
        page.line([X_MM, X_MM + width], [height, height], colour=style.GUIDE if level else style.INK, points=0.5, zorder=1)
        page.text(X_MM - 1.5, height, f"{100 * level:g}", size=style.SMALL, colour=style.SECOND, ha="right", va="center")
    step = width / 12
    first = int(nights.dates[min(15, nights.count - 1)].astype("datetime64[M]").astype(int)) % 12
    for k in range(12):
        m = (first + k) % 12
        middle = X_MM + (k + 0.5) * step
        page.text(middle, base + 3.2, MONTHS[m], size=style.SMALL, ha="center")
        if np.isnan(share[m]):  # no hour known: neither 0 % nor 100 %
            left, wide, top_of = middle - 0.36 * step, 0.72 * step, base - 3.2
            page.no_data([(left, top_of), (left + wide, top_of), (left + wide, base), (left, base)])
            page.text(middle, top_of - 0.9, "no data", size=style.SMALL, ha="center", plate=True, colour=style.SECOND)
            continue
        most = year.weak[m] == year.weak.max() > 0
        height = BARS_MM * share[m] / top
        page.rect(middle - 0.36 * step, base - height, 0.72 * step, height, fill=style.INK if most else style.LINE, zorder=3)
        page.text(
            middle, base - height - 0.9, f"{whole(year.weak[m])} h", size=style.SMALL, ha="center", plate=True,
            weight="bold" if most else "normal",
        )  # fmt: skip
    return base + 3.6


def _key(page: Surface, data: YearCarpetData, ramp: Ramp, y: float) -> float:
    bottom = ramp_key(page, page.left, y, 84.0, ramp)
    x, top = page.left + 100.0, y + 3.6
    width, height = SWATCH_MM
    x2 = x
    if not data.known.all():
        page.no_data([(x, top), (x + width, top), (x + width, top + height), (x, top + height)])
        page.text(x + width + 1.8, top + 2.3, "no weather data")
        x2 += 38.0
    page.line([x2, x2 + 9.0], [top + 1.5] * 2, points=0.9, dashes=(1.0, 1.2))
    page.text(x2 + 10.8, top + 2.3, "sunset, sunrise")
    words = [f"each cell: one hour, point estimate; states' half width up to {data.half_width:.2f}"]
    if data.chosen:
        words.append("grey: all other hours; which of them are armed is not drawn")
    elif (data.nights.used & data.known & ~data.armed).any():
        words.append("outside the black outline: hours that are not armed, left white")
    lines = [line for text in words for line in wrap(text, page.right - x, style.SMALL)]
    y = page.lines_of_text(x, top + 6.6, lines, 2.9, size=style.SMALL, colour=style.SECOND)
    return max(bottom, y - 2.4)
