"""The picture of `efficiency.py`: error against crossings with its slope, and where the gain is large or small."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.figure import Figure

from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm

HEIGHT_MM = 66.0
LEFT_MM, RIGHT_MM = (15.0, 82.0), (112.0, 172.0)  # the two panels, from and to
SLOPE_FROM = 64


def slope(crossings: np.ndarray, error: np.ndarray) -> float:
    """Exponent a of error ~ crossings^a, least squares of the logarithms from 64 crossings on."""
    used = crossings >= SLOPE_FROM
    return float(np.polyfit(np.log(crossings[used]), np.log(error[used]), 1)[0])


def draw_convergence(found, attrs: dict) -> Figure:
    """`found`: Variances of `efficiency.measure`; attrs: title, version, seed, scramblings, site_sha256."""
    counts, crossings = found.counts, found.crossings.astype(float)
    at = int(np.argmin(np.abs(crossings - 256)))
    factor = found.factor(found.ours)
    page = Page()
    top = page.heading(
        f"One crossing is worth {np.median(factor[at]):.1f} coin-tossed ones in the median cell at {crossings[at]:.0f} crossings,"
        f" {np.median(factor[-1]):.1f} at {crossings[-1]:,.0f}",
        f"{counts.sum()} cells of the demo with 0.01 < Pd < 0.99 ({len(counts) - counts.sum()} others are nearer to 0 or 1 and "
        "left out). Left: standard error, root mean square over the cells. Right: the gain cell by cell",
    )
    bottom = top + 6.0 + HEIGHT_MM
    _errors(page, top + 6.0, bottom, found, crossings)
    _gains(page, top + 6.0, bottom, found.pd[counts], factor[at], crossings[at])
    _foot(page, bottom + 9.0, attrs, found)
    return page.figure


def _errors(page: Page, top: float, bottom: float, found, crossings) -> None:
    """Root mean square error against crossings, both axes logarithmic, slopes beside the lines."""
    counts = found.counts
    wide = np.broadcast_to(found.coin, found.ours.shape), np.broadcast_to(found.independent, found.ours.shape), found.ours
    curves = [np.sqrt(v[:, counts].mean(axis=1) / crossings) for v in wide]
    low = 10.0 ** math.floor(math.log10(min(c.min() for c in curves)))
    high = 10.0 ** math.ceil(math.log10(max(c.max() for c in curves)))

    def x(n):
        return LEFT_MM[0] + np.log(np.asarray(n) / crossings[0]) / np.log(crossings[-1] / crossings[0]) * (
            LEFT_MM[1] - LEFT_MM[0]
        )

    def y(error):
        return bottom - np.log(np.asarray(error) / low) / np.log(high / low) * (bottom - top)

    page.text(LEFT_MM[0] - 11.0, top - 2.2, "standard error of Pd", size=style.HEAD, weight="bold")
    for level in _decades(low, high):
        page.line(LEFT_MM, [y(level)] * 2, colour=style.GUIDE, points=0.5, zorder=1)
        page.text(LEFT_MM[0] - 1.4, y(level) + 0.9, f"{level:g}", size=style.SMALL, colour=style.SECOND, ha="right")
    for n in crossings:
        page.line([x(n)] * 2, [bottom, bottom + 0.8], colour=style.LINE, points=0.5)
        page.text(x(n), bottom + 3.4, f"{n:,.0f}", size=style.SMALL, colour=style.SECOND, ha="center")
    page.text(0.5 * sum(LEFT_MM), bottom + 6.8, "crossings of a cell", size=style.SMALL, colour=style.SECOND, ha="center")
    page.line([LEFT_MM[0]] * 2, [top, bottom], colour=style.LINE, points=0.6)
    page.line(LEFT_MM, [bottom] * 2, colour=style.LINE, points=0.6)
    looks = (
        ("coin tossing", style.B_COLOUR, {"dashes": (4, 1.8)}),
        ("probability kept, independent draws", style.LINE, {}),
        ("ours", style.A_COLOUR, {}),
    )
    for k, (curve, (name, colour, how)) in enumerate(zip(curves, looks)):
        page.line(x(crossings), y(curve), colour=colour, points=1.4, zorder=6, **how)
        # The key stands in the free corner under the falling lines, in their order.
        at = bottom - 8.6 + 3.3 * k
        words = f"{name}, slope {slope(crossings, curve):.2f}".replace("-", "−")
        page.line([LEFT_MM[0] + 2.0, LEFT_MM[0] + 9.0], [at - 0.9] * 2, colour=colour, points=1.4, **how)
        page.text(LEFT_MM[0] + 10.5, at, words, size=style.SMALL)


def _gains(page: Page, top: float, bottom: float, pd, factor, crossings: float) -> None:
    """Gain of every cell against its Pd; the median as a line."""
    low, high = 0.5, 10.0 ** math.ceil(math.log10(max(float(factor.max()), 10.0)))

    def y(value):
        return bottom - np.log(np.clip(value, low, high) / low) / np.log(high / low) * (bottom - top)

    least = min(math.floor(10.0 * float(pd.min())) / 10.0, 0.9)

    def x(value):
        return RIGHT_MM[0] + (np.asarray(value) - least) / (1.0 - least) * (RIGHT_MM[1] - RIGHT_MM[0])

    page.text(RIGHT_MM[0] - 11.0, top - 2.2, f"coin-tossed crossings for one, at {crossings:.0f}", size=style.HEAD, weight="bold")
    for level in _decades(1.0, high):
        page.line(RIGHT_MM, [y(level)] * 2, colour=style.GUIDE, points=0.5, zorder=1)
        page.text(RIGHT_MM[0] - 1.4, y(level) + 0.9, f"{level:g}", size=style.SMALL, colour=style.SECOND, ha="right")
    for level in (least, 0.5 * (least + 1.0), 1.0):
        page.line([x(level)] * 2, [bottom, bottom + 0.8], colour=style.LINE, points=0.5)
        page.text(x(level), bottom + 3.4, f"{level:.3g}", size=style.SMALL, colour=style.SECOND, ha="center")
    page.text(0.5 * sum(RIGHT_MM), bottom + 6.8, "long-run Pd of the cell", size=style.SMALL, colour=style.SECOND, ha="center")
    page.line([RIGHT_MM[0]] * 2, [top, bottom], colour=style.LINE, points=0.6)
    page.line(RIGHT_MM, [bottom] * 2, colour=style.LINE, points=0.6)
    for a, b in zip(pd, factor):
        page.dot(float(x(a)), float(y(b)), diameter_mm=0.9, colour=style.A_COLOUR, zorder=5)
    middle = float(np.median(factor))
    page.line(RIGHT_MM, [y(middle)] * 2, points=1.1, dashes=(5, 2), zorder=7)
    page.text(RIGHT_MM[0] + 1.5, y(middle) - 1.2, f"median {middle:.1f}", size=style.SMALL, weight="bold", plate=True)


def _decades(low: float, high: float) -> list[float]:
    return [10.0**k for k in range(round(math.log10(low)), round(math.log10(high)) + 1)]


def _foot(page: Page, y: float, attrs: dict, found) -> None:
    """As under every picture, without the words on intervals: none are drawn here."""
    tail = (
        f" · fencecast {attrs['version']} · seed {attrs['seed']} · {attrs['scramblings']} independent scramblings a cell"
        f" · site file {attrs['site_sha256'][:8]}"
    )
    width = page.right - page.left
    page.line([page.left, page.right], [y, y], colour=style.LINE, points=0.5)
    title = shorten(attrs["title"], width - text_width_mm(tail, style.SMALL), style.SMALL)
    page.text(page.left, y + 3.2, title + tail, size=style.SMALL, colour=style.SECOND)
    page.text(page.left, y + 6.3, style.CAUTION, size=style.SMALL)
    page.set_height(y + 6.3 + 1.0 + page.margin_mm * 0.5)
