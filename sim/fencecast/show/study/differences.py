"""Each design against the base, one dot per yard, and the mean with its interval over yards (`study-differences.png`)."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.findings.words import confidence_text, first_upper, hours_text
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm
from fencecast.show.study.data import DifferenceOfDesign, study_differences_data
from fencecast.show.study.sheet import round_step

ROW_MM, HEAD_MM = 5.4, 6.4
LABEL_MM, WORDS_MM = 40.0, 50.0
# Where the largest mean difference is more than so many times the smallest, small ones would vanish on an even scale.
_MOST_LINEAR = 8.0
_BENT_TICKS = (0.01, 0.05, 0.1, 0.2, 0.5, 1.0)
Scale = Callable[[float | np.ndarray], np.ndarray]


def plot_study_differences(results: xr.Dataset) -> Figure:
    """Rows of designs for the year and every weather class; x: mean Pd of a yard's fence minus that of the base there."""
    data = study_differences_data(results)
    page = Page()
    top = page.heading(
        data.title,
        f"Mean Pd of the fence minus that of {data.base} on the same yard and the same crossings, at {data.allowance}; "
        f"ticks: yards; dot and bar: mean over yards and its {confidence_text(data.confidence)} interval (Student's t)",
    )
    if not data.rows:
        page.text(page.left, top + 6.0, "One design: nothing to compare.", size=style.LABEL)
        page.foot(top + 12.0, data.attrs)
        return page.figure
    found = [design for _, designs in data.rows for design in designs]
    drawn = np.concatenate([design.by_yard for design in found])
    low, high = float(np.min(drawn, initial=0.0)), float(np.max(drawn, initial=0.0))
    means = np.abs([design.mean for design in found])
    means = means[np.isfinite(means) & (means > 0.0)]
    bent = len(means) > 1 and means.max() > _MOST_LINEAR * means.min()
    left, right = page.left + LABEL_MM, page.right - WORDS_MM

    def scaled(value: float | np.ndarray) -> np.ndarray:
        return np.sign(value) * np.sqrt(np.abs(value)) if bent else np.asarray(value, dtype=float)

    room = 0.04 * max(float(scaled(high) - scaled(low)), 0.01)
    ends = (float(scaled(low)) - room, float(scaled(high)) + room)

    def x(value: float | np.ndarray) -> np.ndarray:
        return left + (scaled(value) - ends[0]) / (ends[1] - ends[0]) * (right - left)

    page.text(page.right, top + 4.6, "mean and interval · better on", ha="right", size=style.SMALL, colour=style.SECOND)
    y = top + 3.0
    first_y = y + 3.4
    for weather, designs in data.rows:
        name = shorten(first_upper(weather.name), 70.0, style.HEAD, "bold")
        page.text(page.left, y + 4.2, name, size=style.HEAD, weight="bold", plate=True)
        if weather.hours is not None:
            after = page.left + text_width_mm(name, style.HEAD, "bold") + 2.5
            page.text(after, y + 4.2, hours_text(weather.hours), size=style.SMALL, colour=style.SECOND, plate=True)
        y += HEAD_MM
        for design in designs:
            _row(page, y + 0.5 * ROW_MM, design, x, (left, right))
            y += ROW_MM
    page.line([float(x(0.0))] * 2, [first_y, y], points=0.9, zorder=3)
    _axis(page, y, x, (left, right), (low, high), data.base, bent)
    y += 9.4
    if data.left_out:
        page.text(page.left, y + 2.0, data.left_out, size=style.SMALL, colour=style.SECOND)
        y += 4.0
    page.foot(y + 1.0, data.attrs)
    return page.figure


def _row(page: Page, y: float, design: DifferenceOfDesign, x: Scale, sides: tuple[float, float]) -> None:
    page.text(page.left + 2.0, y + 0.9, shorten(design.design, LABEL_MM - 4.0), size=style.LABEL)
    if np.isnan(design.mean):
        page.text(page.right, y + 0.9, "no yard with both", ha="right", size=style.SMALL, colour=style.SECOND)
        return
    page.segments([[(v, y - 1.0), (v, y + 1.0)] for v in x(design.by_yard)], colour=style.LINE, points=0.4, zorder=2)
    if not np.isnan(design.low):
        low, high = (float(v) for v in x(np.array([design.low, design.high])))
        page.line(np.clip([low, high], *sides), [y, y], colour=style.A_COLOUR, points=2.2, zorder=5)
        for beyond, at, tip in ((low < sides[0], sides[0], -1.8), (high > sides[1], sides[1], 1.8)):
            if beyond:  # the interval goes on: a point instead of a blunt end
                page.polygon([(at, y - 1.2), (at + tip, y), (at, y + 1.2)], fill=style.A_COLOUR, zorder=5)
    page.dot(float(x(design.mean)), y, 1.9, colour=style.A_COLOUR, edge=style.PAPER, zorder=6)
    words = f"{design.mean:+.3f}" + ("" if np.isnan(design.low) else f" ({design.low:+.3f} to {design.high:+.3f})")
    words = f"{words} · {design.better} of {design.compared}".replace("-", "−")
    page.text(page.right, y + 0.9, words, ha="right", size=style.SMALL)


def _axis(page: Page, y: float, x: Scale, sides: tuple[float, float], limits: Sequence[float], base: str, bent: bool) -> None:
    page.line(sides, [y, y], colour=style.LINE, points=0.5)
    step = round_step(limits[1] - limits[0])
    ticks = [k * step for k in range(int(np.ceil(limits[0] / step - 1e-9)), int(np.floor(limits[1] / step + 1e-9)) + 1)]
    if bent:
        ticks = [sign * tick for tick in _BENT_TICKS for sign in (-1.0, 1.0)]
    taken: list[tuple[float, float]] = []
    for tick in [0.0, *sorted((t for t in ticks if t and limits[0] <= t <= limits[1]), key=abs, reverse=True)]:
        at = float(x(tick))
        page.line([at, at], [y, y + 1.0], colour=style.LINE, points=0.5)
        label = f"{tick:+.4g}".replace("-", "−") if tick else "0"
        half = 0.5 * text_width_mm(label, style.SMALL) + 0.7
        if all(abs(at - other) > half + width for other, width in taken):
            page.text(at, y + 3.8, label, ha="center", size=style.SMALL, colour=style.SECOND)
            taken.append((at, half))
    words = f"difference of mean Pd{', square-root scale' if bent else ''}; left of 0: {base} is better"
    page.text(sides[0], y + 7.4, shorten(words, sides[1] - sides[0], style.SMALL), size=style.SMALL, colour=style.SECOND)
