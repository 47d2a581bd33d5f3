"""N50 and the correlation before and after the walks, and the walks on the law of resolution (`calibration.png`).

A band of Pd holds two cameras of one walk, which are not independent: its box is where 95 % of repeated logs lie, simulated by
whole walks, and no binomial bar is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from matplotlib.figure import Figure
from scipy.interpolate import PchipInterpolator

from fencecast.prove.fit.walkfit import WalkFit
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm
from fencecast.show.walk.fitdata import CalibrationData, Density, calibration_data

PANEL_MM, BETWEEN_MM, CURVE_MM, LEFT_MM = 36.0, 10.0, 62.0, 9.0
_CYCLES = (0.1, 0.2, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 15.0, 20.0, 30.0, 50.0)
_N50 = (0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.0, 10.0, 15.0, 20.0)
_SMOOTH = 241  # points of a curve
_GAP_MM = 7.0  # between the labels of two ticks


def plot_calibration(fit: WalkFit) -> Figure:
    """Two panels with what is known of N50 and of the correlation; below, shares of alarms against N."""
    data = calibration_data(fit)
    page = Page()
    top = page.heading(data.title, data.subtitle) + 6.0
    middle = 0.5 * (page.left + page.right)
    low, high = _span(data.n50)
    _density(
        page, (page.left + 2.0, middle - 0.5 * BETWEEN_MM), top, data.n50, (low, high), "N50, cycles",
        [(math.log(tick), f"{tick:g}") for tick in _N50], math.log,
    )  # fmt: skip
    _density(
        page, (middle + 0.5 * BETWEEN_MM, page.right - 2.0), top, data.correlation, (0.0, 0.9), "encounter correlation",
        [(0.1 * k, f"{0.1 * k:.1f}") for k in range(10)], float,
    )  # fmt: skip
    bottom = _curve(page, top + PANEL_MM + 19.0, data)
    page.foot(bottom + 2.0, data.attrs, one_look=True)
    return page.figure


def _span(n50: Density) -> tuple[float, float]:
    """From where either curve has a thousandth of its mass below to where it has a thousandth above, in ln N50."""
    ends = [np.interp((0.005, 0.995), np.cumsum(each), n50.x) for each in (n50.before, n50.after)]
    return float(min(each[0] for each in ends)), float(max(each[1] for each in ends))


def _density(
    page: Page, sides: tuple[float, float], top: float, data: Density, span: tuple[float, float], name: str,
    ticks: Sequence[tuple[float, str]], scale: Callable[[float], float],
) -> None:  # fmt: skip
    left, right = sides
    bottom = top + PANEL_MM
    at_x = np.linspace(span[0], span[1], _SMOOTH)
    xs = left + (at_x - span[0]) / (span[1] - span[0]) * (right - left)
    curves = [np.maximum(PchipInterpolator(data.x, each)(at_x), 0.0) for each in (data.before, data.after)]
    most = max(float(each.max()) for each in curves)

    def y(density: np.ndarray) -> np.ndarray:
        return bottom - density / most * (PANEL_MM - 7.0)

    def x(value: float) -> float:
        return left + (min(max(scale(value), span[0]), span[1]) - span[0]) / (span[1] - span[0]) * (right - left)

    before, after = y(curves[0]), y(curves[1])
    kept = (xs >= x(data.low) - 1e-9) & (xs <= x(data.high) + 1e-9)
    edge_x = np.concatenate([[x(data.low)], xs[kept], [x(data.high)]])
    edge_y = np.interp(edge_x, xs, after)
    page.polygon(
        [(edge_x[0], bottom), *zip(edge_x, edge_y), (edge_x[-1], bottom)], fill=style.BAND, zorder=2
    )  # fmt: skip
    page.line(xs, after, points=1.2, zorder=5)
    page.line(xs, before, colour=style.SECOND, points=0.6, zorder=4, dashes=(5, 2))
    at = x(data.middle)
    page.line([at, at], [top + 4.5, bottom], points=0.9, zorder=6)
    width = text_width_mm(data.label, style.LABEL)
    page.text(min(max(at, left + 0.5 * width), right - 0.5 * width), top + 3.0, data.label, ha="center", weight="bold")
    page.line([left, right], [bottom, bottom], colour=style.LINE, points=0.6)
    _ticks(
        page, [(left + (v - span[0]) / (span[1] - span[0]) * (right - left), text) for v, text in ticks], (left, right), bottom
    )
    page.text(left, top - 1.0, name, size=style.HEAD, weight="bold")


def _ticks(page: Page, ticks: Sequence[tuple[float, str]], sides: tuple[float, float], bottom: float) -> None:
    last = -math.inf
    for at, text in ticks:
        if not sides[0] - 1e-6 <= at <= sides[1] + 1e-6:
            continue
        page.line([at, at], [bottom, bottom + 1.0], colour=style.LINE, points=0.5)
        if at - last >= _GAP_MM:
            page.text(at, bottom + 3.8, text, ha="center", size=style.SMALL, colour=style.SECOND)
            last = at


def _curve(page: Page, top: float, data: CalibrationData) -> float:
    left, right, bottom = page.left + LEFT_MM, page.right - 2.0, top + CURVE_MM
    ends = math.log(data.cycles[0]), math.log(data.cycles[-1])

    def x(cycles: float) -> float:
        return left + (math.log(cycles) - ends[0]) / (ends[1] - ends[0]) * (right - left)

    def y(share: float) -> float:
        return bottom - share * CURVE_MM

    xs = np.array([x(each) for each in data.cycles])
    page.polygon(
        [*zip(xs, bottom - data.pd_low * CURVE_MM), *zip(xs[::-1], bottom - data.pd_high[::-1] * CURVE_MM)], fill=style.GUIDE
    )
    page.line(xs, bottom - data.pd * CURVE_MM, points=1.2)
    for share in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0):
        page.line([left, right], [y(share)] * 2, colour=style.GUIDE, points=0.4, zorder=1)
        page.text(left - 1.5, y(share) + 0.9, f"{share:.1f}", ha="right", size=style.SMALL, colour=style.SECOND)
    _ticks(page, [(x(each), f"{each:g}") for each in _CYCLES], (left, right), bottom)
    page.rect(left, top, right - left, CURVE_MM, edge=style.LINE)
    page.text(
        page.left,
        top - 6.4,
        "Share of alarms of one camera, by the cycles N that its Pd stands for",
        size=style.HEAD,
        weight="bold",
    )
    page.text(right, bottom + 7.2, "N, cycles across a person", ha="right", size=style.SMALL, colour=style.SECOND)
    for band in data.bands:
        at, half = x(band.cycles), 2.2
        high, low = y(band.band_high / band.cells), y(band.band_low / band.cells)
        page.rect(at - half, high, 2.0 * half, max(low - high, 0.6), fill=style.BAND, edge=style.LINE, points=0.4, zorder=4.5)
        outside = not band.band_low <= band.alarms <= band.band_high
        share = y(band.alarms / band.cells)
        page.dot(at, share, 2.3, colour=style.PAPER if outside else style.INK, edge=style.INK, zorder=7)
        words = f"{band.alarms} of {band.cells}"
        room = text_width_mm(words, style.SMALL) + 0.8
        below = max(low, share + 1.2) + 3.4
        if below + 0.6 < bottom:
            middle, down = min(max(at, left + 0.5 * room), right - 0.5 * room), below
        else:  # beside the box, on the side that has room
            side = 1.0 if at + half + room + 1.0 < right else -1.0
            middle, down = at + side * (half + 0.8 + 0.5 * room), min(max(share + 0.9, top + 3.4), bottom - 0.9)
        page.text(middle, down, words, size=style.SMALL, ha="center", zorder=8)
    _key(page, top - 2.4)
    return bottom + 8.4


def _key(page: Page, y: float) -> None:
    x = page.left + LEFT_MM

    def word(text: str, before: float) -> None:
        nonlocal x
        page.text(x + before, y + 0.9, text)
        x += before + text_width_mm(text, style.LABEL) + 5.0

    page.line([x, x + 6.0], [y, y], points=1.2)
    word("law at the median of N50", 7.5)
    page.rect(x, y - 1.2, 6.0, 2.4, fill=style.GUIDE)
    word("95 % of N50", 7.5)
    page.rect(x, y - 1.2, 3.4, 2.4, fill=style.BAND, edge=style.LINE, points=0.4)
    word("95 % of repeated logs", 5.0)
    page.dot(x + 1.2, y, 2.3)
    word("observed", 3.6)
    page.dot(x + 1.2, y, 2.3, colour=style.PAPER, edge=style.INK)
    word("outside", 3.6)
