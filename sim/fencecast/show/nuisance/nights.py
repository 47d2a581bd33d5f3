"""Nuisance alarms a night: a bar for each weather class and one for the year, stacked by cause (`nuisance.png`)."""

from __future__ import annotations

import math

import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.results import Results
from fencecast.findings.nuisancewords import interval_words
from fencecast.findings.words import confidence_text
from fencecast.show.nuisance.data import NuisanceBar, NuisanceData, nuisance_data
from fencecast.show.paper import style
from fencecast.show.paper.key import SWATCH_MM
from fencecast.show.paper.page import Page
from fencecast.show.paper.surface import Fill, Surface
from fencecast.show.paper.text import text_width_mm, wrap

LEFT, RIGHT = 36.0, 126.0  # of the axis
MEAN_MM = 23.5  # from the right: where the numbers of the mean end
BAR_MM, STEP_MM, WHISKER_MM = 4.6, 10.4, 1.7
HEAD_MM, AXIS_MM, RULE_MM = 7.0, 7.6, 1.6
LEAST_MM = 0.05  # a narrower slice is a hair
# In the order of the causes, which differ in lightness or in hatch, so that grey print keeps them apart.
FILLS = (
    Fill("#2B3A46", None, None, None),
    Fill("#A8BBC6", None, None, None),
    Fill("#FFFFFF", "rising", "#2B3A46", 1.0),
    Fill("#6C8493", "falling", "#FFFFFF", 1.0),
    Fill("#FFFFFF", "upright", "#2B3A46", 0.7),
    Fill("#E3E9EC", None, None, None),
)


def plot_nuisance(results: Results | xr.Dataset) -> Figure:
    """A bar for each weather class, worst first, and one for the year: causes stacked, the interval of the mean as a whisker, the
    bad night as a dot, ceilings dashed.

    results: of a site with `[[stimulus]]` tables. Returns a matplotlib Figure, 180 mm wide.
    """
    data = nuisance_data(results)
    page = Page()
    y = page.heading(data.title, data.subtitle, data.attrs)
    page.foot(draw_nights(page, data, y) + 3.5, data.attrs)
    return page.figure


def draw_nights(page: Surface, data: NuisanceData, y: float) -> float:
    """Heads, bars, axis and key from y down; returns the y of the lowest text."""
    scale = (RIGHT - LEFT) / data.top
    page.text(LEFT, y + 3.0, "Alarms a night", size=style.SMALL, colour=style.SECOND)
    page.text(page.right - MEAN_MM, y + 3.0, "mean", size=style.SMALL, colour=style.SECOND, ha="right")
    page.text(page.right, y + 3.0, "19 in 20 at most", size=style.SMALL, colour=style.SECOND, ha="right")
    top, ruled = y + HEAD_MM, len(data.bars) > 1 and data.bars[-1].year
    bottom = top + STEP_MM * len(data.bars) + (RULE_MM if ruled else 0.0)
    _grid(page, data.top, scale, top - 1.6, bottom)
    _ceilings(page, data, scale, top - 1.6, bottom)
    y = top
    for bar in data.bars:
        if bar.year and ruled:
            page.line([page.left, page.right], [y - 0.6] * 2, colour=style.LINE, points=0.5)
            y += RULE_MM
        _bar(page, bar, y, scale)
        y += STEP_MM
    return _key(page, data, bottom + AXIS_MM)


def _bar(page: Surface, bar: NuisanceBar, y: float, scale: float) -> None:
    """One bar with its name and hours, its whisker below it, and the numbers of both at the right."""
    low = y + BAR_MM
    names = wrap(bar.name, LEFT - page.left - 3.0, style.LABEL, "bold", most=2)
    baseline = page.lines_of_text(LEFT - 2.0, y + (3.2 if len(names) == 1 else 1.6), names, 2.8, weight="bold", ha="right")
    page.text(LEFT - 2.0, baseline, bar.hours, size=style.SMALL, colour=style.SECOND, ha="right")
    if math.isnan(bar.total):
        page.no_data([(LEFT, y), (RIGHT, y), (RIGHT, low), (LEFT, low)])
        return
    x = LEFT
    for fill, nights in zip(FILLS, bar.slices):
        width = scale * nights
        if width >= LEAST_MM:
            _filled(page, fill, x, y, width, BAR_MM)
        x += width
    _whisker(page, LEFT + scale * bar.low, LEFT + scale * bar.high, LEFT + scale * bar.total, low + WHISKER_MM)
    if bar.bad_low < bar.bad_high:
        ends = [LEFT + scale * each for each in (bar.bad_low, bar.bad_high)]
        page.line(ends, [y + 0.5 * BAR_MM] * 2, colour=style.PAPER, points=1.8, zorder=5.4)
        page.line(ends, [y + 0.5 * BAR_MM] * 2, points=0.6, zorder=5.5)
        for x in ends:
            page.line([x, x], [y + 0.5 * BAR_MM - 0.6, y + 0.5 * BAR_MM + 0.6], points=0.6, zorder=5.5)
    _bad(page, LEFT + scale * bar.bad_night, y + 0.5 * BAR_MM)
    weight, mean = "bold" if bar.year else "normal", interval_words(bar.total, bar.low, bar.high)
    page.text(page.right - MEAN_MM, y + 3.2, mean, weight=weight, ha="right")
    page.text(page.right, y + 3.2, f"{bar.bad_night:,}", weight=weight, ha="right")


def _filled(page: Surface, fill: Fill, x: float, y: float, width: float, height: float) -> None:
    corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    page.polygon(corners, fill=fill.colour)
    if fill.direction and fill.hatch and fill.spacing_mm:
        page.hatch(corners, fill.hatch, fill.direction, fill.spacing_mm)
    page.polygon(corners, edge=style.INK, points=0.4, zorder=3.5)


def _whisker(page: Surface, low: float, high: float, middle: float, y: float) -> None:
    page.line([low, high], [y, y], points=0.9, zorder=5)
    for x, half in ((low, 0.8), (high, 0.8), (middle, 1.1)):
        page.line([x, x], [y - half, y + half], points=0.9, zorder=5)


def _bad(page: Surface, x: float, y: float) -> None:
    page.dot(x, y, 2.6, colour=style.PAPER, zorder=5.8)
    page.dot(x, y, 1.9, colour=style.INK, zorder=6)


def _grid(page: Surface, top_value: float, scale: float, top: float, bottom: float) -> None:
    step = _round_step(top_value)
    for k in range(math.floor(top_value / step + 1e-9) + 1):
        x = LEFT + scale * k * step
        page.line([x, x], [top, bottom], colour=style.LINE if k == 0 else style.GUIDE, points=0.6 if k == 0 else 0.4, zorder=1)
        page.text(x, bottom + 3.2, f"{k * step:g}", size=style.SMALL, colour=style.SECOND, ha="center")


def _round_step(span: float) -> float:
    """1, 2 or 5 times a power of ten, about six ticks."""
    power = 10.0 ** math.floor(math.log10(span / 6.0))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= span / 6.0 - 1e-12)


def _ceilings(page: Surface, data: NuisanceData, scale: float, top: float, bottom: float) -> None:
    """Dashed rules, of the mean in long dashes, of the bad night in short ones; their words stand in the key."""
    for value, dashes in ((data.ceiling, (5, 2)), (data.bad_night_ceiling, (1.5, 1.5))):
        if not math.isnan(value) and value <= data.top:
            x = LEFT + scale * value
            page.line([x, x], [top - 0.8, bottom], colour=style.PAPER, points=2.2, zorder=3.8)
            page.line([x, x], [top - 0.8, bottom], points=1.1, dashes=dashes, zorder=4)


def _key(page: Surface, data: NuisanceData, y: float) -> float:
    """Swatches of the causes, then what whisker, dot and rules mean; returns the y of the lowest text."""
    x = page.left
    for fill, name in zip(FILLS, data.causes):
        width = SWATCH_MM[0] + 1.6 + text_width_mm(name) + 5.0
        if x > page.left and x + width > page.right:
            x, y = page.left, y + 4.8
        _filled(page, fill, x, y, *SWATCH_MM)
        page.text(x + SWATCH_MM[0] + 1.6, y + 2.3, name)
        x += width
    y += 5.6
    ends = "; of the year with its interval" if any(bar.bad_low < bar.bad_high for bar in data.bars) else ""
    marks = [
        ("whisker", f"{confidence_text(data.confidence)} interval of the mean"),
        ("dot", f"19 nights in 20 have this many or fewer{ends}"),
    ]
    asked = ((data.ceiling, "ceiling", "a night on average"), (data.bad_night_ceiling, "bad", "a night on 19 nights in 20"))
    for value, which, of in asked:
        if not math.isnan(value):
            beyond = " (beyond the axis)" if value > data.top else ""
            marks.append((which, f"ceiling, year: {value:g} {of}{beyond}"))
    x = page.left
    for which, words in marks:
        width = SWATCH_MM[0] + 1.6 + text_width_mm(words) + 5.0
        if x > page.left and x + width > page.right:
            x, y = page.left, y + 4.4
        _mark(page, which, x, y)
        page.text(x + SWATCH_MM[0] + 1.6, y + 2.3, words)
        x += width
    return y + 2.8


def _mark(page: Surface, which: str, x: float, y: float) -> None:
    end, middle = x + SWATCH_MM[0], y + 1.45
    if which == "whisker":
        _whisker(page, x, end, x + 0.4 * SWATCH_MM[0], middle)
    elif which == "dot":
        _bad(page, x + 0.5 * SWATCH_MM[0], middle)
    else:
        page.line([x, end], [middle, middle], points=1.1, dashes=(5, 2) if which == "ceiling" else (1.5, 1.5), zorder=4)
