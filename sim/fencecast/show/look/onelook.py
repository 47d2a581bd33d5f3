"""One look, step by step: which factor eats the contrast, and can a reviewer check it by hand?"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from matplotlib.figure import Figure

from fencecast.findings.looktext import kelvin_text, one_look_attrs
from fencecast.findings.words import pd_text
from fencecast.show.look.data import ContrastStep, OneLookData, ShareStep, one_look_data
from fencecast.show.look.sketch import draw_sketch
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm, wrap
from fencecast.site import Site

NAME_MM = 51.0  # width of the first column
PLOT_MM = (57.0, 122.0)
FACTOR_MM = 125.0
CHECK_MM = 140.0
ROW_MM = 7.0
BAR_MM = 2.8
NOISE_SHADE = "#ECECEC"
GREY_BAR = "#999999"
MOST_DECADES = 4.0  # of the contrast axis; what is smaller is drawn as leaving the axis


@dataclass(frozen=True)
class _Row:
    """One step with its texts broken into lines, and the height that they need [mm]."""

    bold: bool
    name: list[str]
    detail: list[str]
    check: list[str]
    height: float


def _row(step: ContrastStep | ShareStep, bold: bool, right: float) -> _Row:
    name = wrap(step.name, NAME_MM, style.LABEL, "bold" if bold else "normal", most=2)
    detail = wrap(step.detail, NAME_MM, style.SMALL, most=2)
    check = wrap(step.check, right - CHECK_MM, style.SMALL, most=3)
    height = max(ROW_MM, 3.0 * len(name) + 2.8 * len(detail) + 1.4, 2.8 * len(check) + 1.4)
    return _Row(bold, name, detail, check, height)


def _draw_words(page: Page, row: _Row, top: float) -> None:
    block = 3.0 * len(row.name) + 2.8 * len(row.detail)
    y = top + 0.5 * (row.height - block) + 2.3
    y = page.lines_of_text(page.left, y, row.name, 3.0, weight="bold" if row.bold else "normal")
    page.lines_of_text(page.left, y - 0.1, row.detail, 2.8, size=style.SMALL, colour=style.SECOND)
    y = top + 0.5 * (row.height - 2.8 * len(row.check)) + 2.1
    page.lines_of_text(CHECK_MM, y, row.check, 2.8, size=style.SMALL)


class _ContrastAxis:
    """Kelvin to millimetres on a log axis, wide enough for noise, threshold and every step, at most four decades."""

    def __init__(self, values_k: Iterable[float], noise_k: float, threshold_k: float):
        sizes = [abs(value) for value in values_k if math.isfinite(value) and value != 0]
        marks = [mark for mark in (noise_k, threshold_k) if math.isfinite(mark) and mark > 0]
        high = 1.35 * max([*sizes, *marks], default=1.0)
        low = 0.6 * min([*sizes, *marks], default=0.1)
        floor = high * 10.0**-MOST_DECADES
        self.low = max(low, min([floor, *(0.6 * mark for mark in marks)]))
        self.low = min(self.low, high / 10.0)  # never less than one decade: a step of 2 % must not fill the page
        self.high = high
        self._per_decade = (PLOT_MM[1] - PLOT_MM[0]) / math.log10(self.high / self.low)

    def shows(self, value_k: float) -> bool:
        return math.isfinite(value_k) and abs(value_k) >= self.low

    def x(self, value_k: float) -> float:
        """Place of a contrast's size; what is off the axis goes to its left end."""
        return PLOT_MM[0] + self._per_decade * math.log10(abs(value_k) / self.low) if self.shows(value_k) else PLOT_MM[0]

    def ticks(self) -> list[tuple[float, str]]:
        steps = (1, 2, 5) if self._per_decade > 27.0 else (1,)
        first, last = math.floor(math.log10(self.low)), math.ceil(math.log10(self.high))
        values = [step * 10.0**power for power in range(first, last + 1) for step in steps]
        return [(value, f"{value:g}") for value in values if self.low <= value <= self.high]


def _factor_text(factor: float | None) -> str:
    if factor is None or math.isnan(factor):  # NaN: from nothing to nothing
        return ""
    if math.isinf(factor):
        return "from 0"
    if factor == 0:
        return "× 0"
    if abs(factor) < 0.0005:
        return "× <0.001"
    return "× " + (f"{factor:.3f}" if abs(factor) < 9.995 else f"{factor:.1f}").replace("-", "−")


def _value_label(
    page: Page, axis: _ContrastAxis, step: ContrastStep, y: float, lines: Sequence[float], units: str, bold: bool
) -> None:
    """The contrast after a step, beside its dot: on the free side, off the two lines when there is room, else on a plate."""
    after = step.after_k
    before = step.before_k if step.before_k is not None else after
    text, weight = kelvin_text(after, units), "bold" if bold else "normal"
    width = text_width_mm(text, style.LABEL, weight)
    low, high = sorted((axis.x(before), axis.x(after)))
    left_side, right_side = low - 1.6 - width, high + 1.6
    if not axis.shows(after):
        right_side += 1.6
    places = [left_side, right_side] if axis.x(after) <= axis.x(before) else [right_side, left_side]
    fits = [x for x in places if PLOT_MM[0] + 0.5 <= x and x + width <= PLOT_MM[1] + 1.5]
    clear = [x for x in fits if not any(x - 0.6 < line < x + width + 0.6 for line in lines)]
    if clear or fits:
        page.text((clear or fits)[0], y + 0.9, text, weight=weight, plate=not clear)
    else:
        page.text(0.5 * (low + high), y + 0.9, text, weight=weight, ha="center", plate=True)


def _bar(page: Page, axis: _ContrastAxis, step: ContrastStep, y: float, worst: bool) -> None:
    """From the contrast before a step to the contrast after it, with a dot at the new value."""
    before, after = step.before_k, step.after_k
    x_after = axis.x(after)
    if step.factor is not None:
        x_before = axis.x(before)
        low, width = min(x_before, x_after), abs(x_after - x_before)
        turns = before * after < 0
        fill = style.LARGEST_LOSS if worst else style.PAPER if turns or abs(after) > abs(before) else GREY_BAR
        if width > 0:
            page.rect(low, y - BAR_MM / 2, width, BAR_MM, fill=fill, edge=style.INK, points=0.6, zorder=5,
                      linestyle=(0, (2, 1.5)) if turns else "solid")  # fmt: skip
    if axis.shows(after):
        page.dot(x_after, y, 1.5, edge=style.PAPER, zorder=7)
    else:
        tip = PLOT_MM[0] - 0.9
        page.polygon(
            [(tip, y), (tip + 2.0, y - 1.2), (tip + 2.0, y + 1.2)], fill=style.INK, edge=style.PAPER, points=0.5, zorder=7
        )


def _line_labels(page: Page, top: float, xs: tuple[float, float], values_k: tuple[float, float], units: str) -> float:
    """Names of the noise and threshold lines above the plot; returns the y where the plot begins.

    Each is centred on its line. Where they meet they move apart as far as each still touches its line; when that is
    not enough, the noise goes one line up.
    """
    (noise_x, threshold_x), (noise_k, threshold_k) = xs, values_k
    noise = f"noise {kelvin_text(noise_k, units, figures=2)}"
    threshold = f"threshold {kelvin_text(threshold_k, units, figures=2)}"
    noise_width, threshold_width = text_width_mm(noise), text_width_mm(threshold, style.LABEL, "bold")
    noise_left = max(PLOT_MM[0] - 1.0, noise_x - noise_width / 2)
    furthest = min(threshold_x - 1.0, FACTOR_MM - 2.5 - threshold_width)
    threshold_left = min(furthest, threshold_x - threshold_width / 2)
    if noise_left + noise_width + 2.5 > threshold_left:
        noise_left = max(PLOT_MM[0] - 1.0, noise_x - noise_width + 1.0)
        threshold_left = min(furthest, max(threshold_left, noise_left + noise_width + 2.5))
    stacked = noise_left + noise_width + 2.4 > threshold_left
    body = top + (8.2 if stacked else 5.6)
    if stacked:
        threshold_left = min(furthest, max(threshold_left, noise_x + 1.0))
        if threshold_left > noise_x + 0.5:
            page.line([noise_x] * 2, [body - 4.0, body], colour=style.SECOND, points=1.0)
    page.text(noise_left, body - (4.8 if stacked else 1.6), noise, colour=style.SECOND)
    page.text(threshold_left, body - 1.6, threshold, weight="bold")
    return body


def _contrast_part(page: Page, top: float, data: OneLookData, units: str) -> tuple[float, bool]:
    """Part 1 from `top` down; returns the y of its lowest text and whether a contrast was too small for the axis."""
    steps = data.contrast
    rows = [_row(step, step.largest_loss, page.right) for step in steps]
    noise_k, threshold_k = data.noise_k, data.threshold_k
    axis = _ContrastAxis([step.after_k for step in steps], noise_k, threshold_k)
    page.text(page.left, top + 3.2, "1  What is left of the contrast", size=style.HEAD, weight="bold")
    page.text(FACTOR_MM, top + 3.2, "factor", colour=style.SECOND)
    page.text(CHECK_MM, top + 3.2, "check by hand", colour=style.SECOND)

    noise_x, threshold_x = axis.x(noise_k), axis.x(threshold_k)
    body = _line_labels(page, top, (noise_x, threshold_x), (noise_k, threshold_k), units)
    bottom = body + sum(row.height for row in rows)
    page.rect(PLOT_MM[0], body, noise_x - PLOT_MM[0], bottom - body, fill=NOISE_SHADE, zorder=1)
    if axis.shows(noise_k):
        page.line([noise_x] * 2, [body - 0.9, bottom], colour=style.SECOND, points=1.0)
    page.line([threshold_x] * 2, [body - 0.9, bottom], points=1.2, linestyle=(0, (4, 2)), zorder=4.5)
    for value, label in axis.ticks():
        page.line([axis.x(value)] * 2, [body, bottom], colour=style.GUIDE, points=0.5, zorder=1.5)
        page.text(axis.x(value), bottom + 2.9, label, size=style.SMALL, colour=style.SECOND, ha="center")
    y, lines, previous = body, (noise_x, threshold_x), None
    for i, (step, row) in enumerate(zip(steps, rows)):
        middle = y + row.height / 2
        if i:
            page.line([page.left, page.right], [y, y], colour=style.GUIDE, points=0.5, zorder=1.4)
        x_after = axis.x(step.after_k)
        if previous is not None:
            page.line([previous[0]] * 2, [previous[1], middle], points=0.7, zorder=4.2)
        previous = (x_after, middle)
        _draw_words(page, row, y)
        _bar(page, axis, step, middle, row.bold)
        _value_label(page, axis, step, middle, lines, units, bold=i == 0)
        page.text(FACTOR_MM, middle + 0.9, _factor_text(step.factor), weight="bold" if row.bold else "normal")
        y += row.height
    centre = 0.5 * sum(PLOT_MM)
    below = bottom + 6.1
    if units == "us":
        page.text(PLOT_MM[0] - 1.5, below, "°F", size=style.SMALL, colour=style.SECOND, ha="right")
        page.text(PLOT_MM[0] - 1.5, bottom + 2.9, "K", size=style.SMALL, colour=style.SECOND, ha="right")
        for value, _ in axis.ticks():
            page.text(axis.x(value), below, f"{1.8 * value:.3g}", size=style.SMALL, colour=style.SECOND, ha="center")
        below += 3.2
    page.text(centre, below, "apparent contrast (log scale: equal lengths are equal factors)" if units == "us" else
              "apparent contrast, K (log scale: equal lengths are equal factors)",
              size=style.SMALL, colour=style.SECOND, ha="center")  # fmt: skip
    return below, not all(axis.shows(step.after_k) for step in steps)


def _share_part(page: Page, top: float, steps: Sequence[ShareStep]) -> float:
    rows = [_row(step, step is steps[-1], page.right) for step in steps]
    page.text(page.left, top + 3.2, "2  From contrast to a look that counts", size=style.HEAD, weight="bold")
    body = top + 6.0
    bottom = body + sum(row.height for row in rows)
    for share, label in ((0.0, "0"), (0.5, "0.5"), (1.0, "1")):
        x = PLOT_MM[0] + share * (PLOT_MM[1] - PLOT_MM[0])
        page.line([x, x], [body, bottom], colour=style.GUIDE, points=0.5, zorder=1.5)
        page.text(x, bottom + 2.9, label, size=style.SMALL, colour=style.SECOND, ha="center")
    page.text(FACTOR_MM, bottom + 2.9, "share or probability", size=style.SMALL, colour=style.SECOND)
    y = body
    for i, (step, row) in enumerate(zip(steps, rows)):
        middle, value = y + row.height / 2, step.value
        if i:
            last = step is steps[-1]
            page.line([page.left, page.right], [y, y], colour=style.INK if last else style.GUIDE, points=1.0 if last else 0.5,
                      zorder=2)  # fmt: skip
        _draw_words(page, row, y)
        if math.isfinite(value):
            end = PLOT_MM[0] + min(max(value, 0.0), 1.0) * (PLOT_MM[1] - PLOT_MM[0])
            page.line([end, PLOT_MM[1]], [middle, middle], colour=style.LINE, points=0.7)
            page.rect(PLOT_MM[0], middle - 0.9, end - PLOT_MM[0], 1.8, fill=style.INK if row.bold else GREY_BAR)
            page.dot(end, middle, 1.5, edge=style.PAPER)
        page.text(FACTOR_MM, middle + 0.9, pd_text(value), weight="bold")
        y += row.height
    return bottom + 2.9


def plot_one_look(explanation: Mapping[str, Any], site: Site) -> Figure:
    """The budget of one look as a ladder down the page. Computes no physics: everything drawn is in `explanation`.

    explanation: mapping with `camera`, `weather`, `gait`, `lens` (a lens name of the site, or words), `distance_m` [m],
        `noise_k` (temporal noise at mid body) and `threshold_k` (threshold times the full sigma) [K of contrast],
        optionally `fog_text` (what the weather name does not say, as 'optical range 70 m'), and
        `rungs`: a list of mappings with `part`, `name`, `detail`, `check`;
        part 1 also has `before_k`, `after_k` [K, signed; zero is allowed] and `factor` (None in the first);
        part 2 also has `value` [fraction]; the last of them is the chance that the look counts.
    site: the site (title, units and sha256 for the foot, lenses for the lens's focal length).
    Returns a matplotlib Figure, 180 mm wide.
    """
    data = one_look_data(explanation, site)
    page = Page()
    y = page.heading(data.title, data.subtitle)
    y, off_axis = _contrast_part(page, y + 2.0, data, site.units)
    y = _share_part(page, y + 4.0, data.shares)
    if data.picture is not None:
        y = draw_sketch(page, y + 4.0, data.picture)
    lines = wrap(data.key_off_axis if off_axis else data.key, page.right - page.left, style.SMALL)
    if data.warmth:
        lines = [*wrap(data.warmth, page.right - page.left, style.SMALL), *lines]
    y = page.lines_of_text(page.left, y + 6.0, lines, 2.9, size=style.SMALL, colour=style.SECOND)
    page.foot(y, one_look_attrs(site), one_look=True)
    return page.figure
