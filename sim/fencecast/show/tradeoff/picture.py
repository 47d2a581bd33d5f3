"""Metres at the requirement against alarms a night, a line for every key, and the weakest tenth below (`tradeoff.png`)."""

from __future__ import annotations

import math

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.results import AnyResults
from fencecast.findings.words import requirement_text, whole
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import fitting_title, text_width_mm
from fencecast.show.study.sheet import round_step
from fencecast.show.tradeoff.around import Box, Segment, around, leader_to, needs_leader
from fencecast.show.tradeoff.data import TradeoffData, TradePoint, tradeoff_data
from fencecast.show.tradeoff.marks import MARK_MM, draw_mark, family_line

AXIS_MM, PLOT_MM, LOWER_MM, BETWEEN_MM, KEY_MM = 12.0, 84.0, 26.0, 5.0, 5.5
LEAST_TICKS_MM = 8.0
_TEXT_COLOURS = {
    style.A_COLOUR: style.A_COLOUR,
    style.B_COLOUR: style.B_TEXT,
    style.SECOND: style.SECOND,
    style.LINE: style.SECOND,
}
_TICKS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0)
_FARTHEST = 8.0  # a ceiling farther away than this factor does not stretch the axis
_DEEPEST, _FEWER_MM = 1000.0, 12.0  # settings with less than so small a part of the most alarms stand at the left
_LEAST_SPAN = 2.5  # from the left to the right end
_ROOM = 1.12  # beside the outermost settings on the axis of alarms


def plot_tradeoff(results: xr.Dataset | AnyResults) -> Figure:
    """A panel of metres against alarms with a line for every key, and a small one of the Pd of the weakest tenth."""
    data = tradeoff_data(results)
    page = Page()
    top = page.heading(fitting_title(data.titles, page.right - page.left), data.subtitle)
    top = _key(page, top + 2.0, data) + 4.5
    scale = _Scale(page, data)
    _metres(page, top, data, scale)
    lower = top + PLOT_MM + BETWEEN_MM
    _tenth(page, lower, data, scale)
    bottom = lower + LOWER_MM
    scale.ticks(page, top, bottom)
    _ceiling(page, top, bottom, data, scale)
    page.foot(bottom + 9.5, data.attrs)
    return page.figure


class _Scale:
    """Alarms a night on a logarithmic axis across the page."""

    def __init__(self, page: Page, data: TradeoffData):
        alarms = [data.base.alarms, *(point.alarms for point, _ in _settings(data))]
        high = max(max(alarms), 1e-3)
        self.least = high / _DEEPEST
        low = min((each for each in alarms if each >= self.least), default=high)
        if data.ceiling > 0.0 and low / _FARTHEST <= data.ceiling <= high * _FARTHEST:
            low, high = min(low, data.ceiling), max(high, data.ceiling)
        room = max(_ROOM, math.sqrt(_LEAST_SPAN * low / high))
        self.low, self.high = math.log(low / room), math.log(high * room)
        self.frame, self.right = page.left + AXIS_MM, page.right - 2.0
        # Settings with next to no alarms have a place of their own: the axis would stretch over decades for them.
        self.left = self.frame + (_FEWER_MM if min(alarms) < self.least else 0.0)

    def x(self, alarms: float) -> float:
        if alarms < self.least:
            return self.frame + 0.4 * _FEWER_MM
        value = math.log(alarms)
        return self.left + (value - self.low) / (self.high - self.low) * (self.right - self.left)

    def inside(self, alarms: float) -> bool:
        return alarms >= self.least and self.left - 1e-6 <= self.x(alarms) <= self.right + 1e-6

    def clipped(self, alarms: float) -> float:
        return min(max(self.x(alarms), self.frame), self.right)

    def ticks(self, page: Page, top: float, bottom: float) -> None:
        """Plain numbers below, hair lines through both panels; round ones first, others where there is room."""
        first, last = (math.floor(end / math.log(10.0)) for end in (self.low, self.high))
        numbers = [digit * 10.0**power for power in range(first, last + 1) for digit in _TICKS]
        shown: list[float] = []
        for number in sorted(numbers, key=lambda n: (_rank(n), n)):
            apart = all(abs(self.x(number) - self.x(other)) >= LEAST_TICKS_MM for other in shown)
            if self.inside(number) and apart:
                shown.append(number)
        for number in shown:
            x = self.x(number)
            for y, height in ((top, PLOT_MM), (bottom - LOWER_MM, LOWER_MM)):
                page.line([x, x], [y, y + height], colour=style.GUIDE, points=0.4, zorder=1)
            page.line([x, x], [bottom, bottom + 1.0], colour=style.LINE, points=0.5)
            page.text(x, bottom + 3.8, f"{number:g}", ha="center", size=style.SMALL, colour=style.SECOND)
        if self.left > self.frame:
            page.text(self.x(0.0), bottom + 3.8, "fewer", ha="center", size=style.SMALL, colour=style.SECOND)
        page.text(
            self.right, bottom + 7.4, "nuisance alarms a night, mean over the year (logarithmic)", ha="right", size=style.SMALL,
            colour=style.SECOND,
        )  # fmt: skip


def _rank(number: float) -> int:
    digit = number / 10.0 ** math.floor(math.log10(number) + 1e-9)
    return next(
        rank for rank, group in enumerate(((1.0,), (2.0, 5.0), (3.0,), _TICKS)) if any(abs(digit - g) < 1e-6 for g in group)
    )


def _key(page: Page, top: float, data: TradeoffData) -> float:
    """Line and mark of every family, then what a ring and a hollow mark mean; returns the y below."""
    x, y = page.left, top + 1.6

    def word(text: str, before: float) -> None:
        nonlocal x, y
        width = before + text_width_mm(text, style.LABEL) + 5.0
        if x + width > page.right + 5.0:
            x, y = page.left, y + KEY_MM
        page.text(x + before, y + 0.9, text)

    for family in data.families:
        word(family.name, 11.0)
        colour, points, dashes = family_line(family.name)
        page.line([x, x + 9.5], [y, y], colour=colour, points=points, **({"dashes": dashes} if dashes else {}))
        draw_mark(page, x + 4.75, y, family.name, hollow=False)
        x += 14.0 + text_width_mm(family.name, style.LABEL)
    word("as it is", 5.0)
    _ring(page, x + 2.2, y)
    x += 8.0 + text_width_mm("as it is", style.LABEL)
    if any(point.dominated for point, _ in _settings(data)):
        word("hollow: dominated by another setting", 5.0)
        draw_mark(page, x + 2.0, y, data.families[0].name, hollow=True)
    return y + 0.5 * KEY_MM


def _ring(page: Page, x: float, y: float) -> None:
    page.dot(x, y, 4.0, colour=style.PAPER, edge=style.INK, zorder=6.5)
    page.dot(x, y, 1.9, colour=style.INK, zorder=8)


def _metres(page: Page, top: float, data: TradeoffData, scale: _Scale) -> None:
    lowest = min(point.meets_m for family in data.families for point in family.points)
    step = round_step(max(data.fence_m - (0.0 if lowest < 0.5 * data.fence_m else lowest), 1.0))
    floor = 0.0 if lowest < 0.5 * data.fence_m else max(math.floor(lowest / step - 0.3) * step, 0.0)
    span = max(data.fence_m - floor, 1.0)
    base_y = top + PLOT_MM

    def y(metres: float) -> float:
        return base_y - (min(max(metres, floor), data.fence_m) - floor) / span * (PLOT_MM - 2.0)

    left, right = scale.frame, scale.right
    taken: list[Box] = []
    if data.unreached_m >= 0.5:
        edge = y(data.fence_m - data.unreached_m)
        page.rect(left, top, right - left, edge - top, fill=style.BUILDING, zorder=0.5)
        words = f"{whole(data.unreached_m)} m of {whole(data.fence_m)} m: under none of these settings"
        page.text(right - 1.5, top + 3.2, words, ha="right", size=style.SMALL)
        taken.append((right - 2.0 - text_width_mm(words, style.SMALL), top, right, top + 4.4))
    page.rect(left, top, right - left, PLOT_MM, edge=style.LINE, points=0.5, zorder=5)
    marks = [floor + k * step for k in range(int(span / step + 1e-9) + 1)]
    marks = [tick for tick in marks if data.fence_m - tick > 0.35 * step]
    for tick in marks:
        page.line([left, right], [y(tick)] * 2, colour=style.GUIDE, points=0.4, zorder=1)
        page.text(left - 1.5, y(tick), whole(tick), ha="right", va="center", size=style.SMALL, colour=style.SECOND)
    page.text(left - 1.5, y(data.fence_m), whole(data.fence_m), ha="right", va="center", size=style.SMALL, weight="bold")
    need = requirement_text(data.requirement)
    page.text(page.left, top - 1.4, f"metres at {need} in every weather class", size=style.SMALL, colour=style.SECOND)
    _lines(page, data, scale, y, lambda point: point.meets_m)
    bars = _bars(data, scale, y)
    page.segments(np.array(bars), colour=style.LINE, points=0.5, zorder=3)
    _labels(page, data, scale, y, (left + 0.6, top + 0.6, right - 0.6, base_y - 0.6), taken, bars)


def _bars(data: TradeoffData, scale: _Scale, y) -> list[Segment]:
    """The paired intervals of every setting, across and upright."""
    found: list[Segment] = []
    for point, _ in _settings(data):
        x, level = scale.x(point.alarms), y(point.meets_m)
        found.append(((scale.clipped(point.alarms_low), level), (scale.clipped(point.alarms_high), level)))
        found.append(((x, y(point.low_m)), (x, y(point.high_m))))
    return found


def _settings(data: TradeoffData) -> list[tuple[TradePoint, str]]:
    """Every setting but the base, with its family."""
    return [(point, family.name) for family in data.families for point in family.points if not point.is_base]


def _lines(page: Page, data: TradeoffData, scale: _Scale, y, value) -> None:
    for family in data.families:
        colour, points, dashes = family_line(family.name)
        xs, ys = [scale.x(point.alarms) for point in family.points], [y(value(point)) for point in family.points]
        page.line(xs, ys, colour=colour, points=points, zorder=4, **({"dashes": dashes} if dashes else {}))
    for point, name in _settings(data):
        draw_mark(page, scale.x(point.alarms), y(value(point)), name, point.dominated)
    _ring(page, scale.x(data.base.alarms), y(value(data.base)))


def _labels(page: Page, data: TradeoffData, scale: _Scale, y, panel: Box, taken: list[Box], bars: list[Segment]) -> None:
    """Values beside their marks; the one of each family that is farthest from the base carries the family's name."""
    home = scale.x(data.base.alarms), y(data.base.meets_m)
    places, texts, colours = [], [], []
    for family in data.families:
        members = [point for point in family.points if not point.is_base]
        at = [(scale.x(point.alarms), y(point.meets_m)) for point in members]
        far = max(range(len(members)), key=lambda k: math.dist(at[k], home))
        for k, point in enumerate(members):
            places.append(at[k])
            colours.append(_TEXT_COLOURS.get(family_line(family.name)[0], style.INK))
            texts.append(f"{family.name} {point.label}" if k == far else point.label)
    half = 0.5 * MARK_MM
    marks = [(px - half, py - half, px + half, py + half) for px, py in places]
    marks.append((home[0] - 2.0, home[1] - 2.0, home[0] + 2.0, home[1] + 2.0))
    lines = list(bars)
    for family in data.families:
        ends = [(scale.x(point.alarms), y(point.meets_m)) for point in family.points]
        lines += list(zip(ends, ends[1:]))
    boxes = around(places, [text_width_mm(text, style.SMALL) for text in texts], [*taken, *marks], lines, panel)
    for place, text, colour, box in zip(places, texts, colours, boxes):
        if box is None:
            continue
        if needs_leader(place, box):
            end = leader_to(place, box)
            page.line([place[0], end[0]], [place[1], end[1]], colour=style.LINE, points=0.4, zorder=3.5)
        middle = 0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3])
        page.text(*middle, text, ha="center", va="center_baseline", size=style.SMALL, colour=colour, zorder=9)


def _tenth(page: Page, top: float, data: TradeoffData, scale: _Scale) -> None:
    """Pd of the weakest tenth of the metres under the same alarms."""
    left, right = scale.frame, scale.right

    def y(pd: float) -> float:
        return top + (1.0 - min(max(pd, 0.0), 1.0)) * LOWER_MM

    page.rect(left, top, right - left, LOWER_MM, edge=style.LINE, points=0.5, zorder=5)
    for tick in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0):
        if abs(tick - data.requirement) > 0.11:
            page.text(left - 1.5, y(tick), f"{tick:g}", ha="right", va="center", size=style.SMALL, colour=style.SECOND)
        page.line([left, right], [y(tick)] * 2, colour=style.GUIDE, points=0.4, zorder=1)
    page.line([left, right], [y(data.requirement)] * 2, points=0.9, dashes=(5, 2), zorder=3)
    need = requirement_text(data.requirement)
    page.text(left - 1.5, y(data.requirement), need, ha="right", va="center", size=style.SMALL, weight="bold")
    page.text(page.left, top - 1.2, "Pd of the weakest tenth of the metres", size=style.SMALL, colour=style.SECOND)
    page.text(right - 1.0, y(data.requirement) + 2.9, "required", ha="right", size=style.SMALL, weight="bold")
    _lines(page, data, scale, y, lambda point: point.weakest_tenth)


def _ceiling(page: Page, top: float, bottom: float, data: TradeoffData, scale: _Scale) -> None:
    if not (data.ceiling > 0.0 and scale.inside(data.ceiling)):
        return
    x = scale.x(data.ceiling)
    page.line([x, x], [top, bottom], points=0.9, dashes=(5, 2), zorder=3)
    words = f"ceiling {data.ceiling:g}"
    half = 0.5 * text_width_mm(words, style.SMALL, "bold")
    middle = min(max(x, scale.frame + half + 60.0), scale.right - half)  # the axis' own words stand at the left
    page.text(middle, top - 1.4, words, ha="center", size=style.SMALL, weight="bold")
