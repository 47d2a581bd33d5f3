"""A carpet on paper: nights side by side in whole device pixels, with what is armed, the sun, gaps and axes.

box = Box(page, nights, x, y, row_px=10)         # where `nights` lies on paper
box.cells(step, colours)                         # (24, nights) steps of a scale, drawn as one image
box.no_data(mask); box.outline(armed); box.sun(elevation_deg); box.axes()
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from fencecast.findings.weakhours import MONTHS as LONG_MONTHS
from fencecast.show.paper import style
from fencecast.show.paper.pixels import PIXEL_MM, whole_pixels
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import text_width_mm
from fencecast.show.year.nights import HOURS, Nights

MONTHS = tuple(name[:3] for name in LONG_MONTHS)
WIDEST_PX, WIDEST_COLUMN_PX = 1098, 24  # 366 nights of three device pixels
SUNRISE_DEG = -0.833  # upper rim of the sun at the horizon, with refraction (common almanac value)
# Where an outline turns at more columns than this, it is drawn thin: at full strength it would hide the nights between.
MANY_TURNS = 60


class Box:
    """The rectangle of a carpet on the page, its corner at (x, y) [mm], cells in whole device pixels."""

    def __init__(self, page: Surface, nights: Nights, x: float, y: float, row_px: int = 20):
        self.page, self.nights = page, nights
        self.column_px = min(max(WIDEST_PX // nights.count, 1), WIDEST_COLUMN_PX)
        self.row_px = row_px
        self.x, self.y = whole_pixels(x), whole_pixels(y)
        self.width = nights.count * self.column_px * PIXEL_MM
        self.height = HOURS * row_px * PIXEL_MM

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height

    def at(self, column: float | np.ndarray, row: float | np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Page coordinates [mm] of a corner: `column` nights from the left, `row` hours from noon."""
        return self.x + np.asarray(column) * self.column_px * PIXEL_MM, self.y + np.asarray(row) * self.row_px * PIXEL_MM

    def cells(self, step: np.ndarray, colours: Iterable[str], blank: str = style.PAPER) -> None:
        """Cells (24, nights) as steps of a scale: index into `colours`, -1 for the colour `blank`."""
        pixels = (self.column_px, self.row_px)
        self.page.cells(self.x, self.y, step, (*colours, blank), pixels)

    def no_data(self, mask: np.ndarray, words: str = "no weather data") -> None:
        """The mark of 'no data' over cells (24, nights), and words above the widest gap."""
        if not mask.any():
            return
        page = self.page
        for row, first, stop in _runs(mask):
            (x0, y0), (x1, y1) = self.at(first, row), self.at(stop, row + 1)
            page.rect(x0, y0, x1 - x0, y1 - y0, fill=style.PAPER, zorder=2.5)
        corners = [(self.x, self.y), (self.right, self.y), (self.right, self.bottom), (self.x, self.bottom)]
        dots = style.dot_points(corners)
        column = ((dots[:, 0] - self.x) / (self.column_px * PIXEL_MM)).astype(int).clip(0, self.nights.count - 1)
        row = ((dots[:, 1] - self.y) / (self.row_px * PIXEL_MM)).astype(int).clip(0, HOURS - 1)
        dots = dots[mask[row, column]]
        page.dots(dots)
        page.segments(self._edges(mask), style.LINE, 0.4, zorder=2.7)
        gaps = [run for run in _runs(mask.all(axis=0)[None, :]) if run[2] - run[1] >= 1]
        if gaps and words:
            _, first, stop = max(gaps, key=lambda run: run[2] - run[1])
            half = 0.5 * text_width_mm(words, style.SMALL)
            middle = float(self.at(0.5 * (first + stop), 0)[0])
            middle = min(max(middle, self.x + half), max(self.right - half, self.x + half))
            page.text(middle, self.y - 1.2, words, size=style.SMALL, colour=style.SECOND, ha="center")

    def outline(self, mask: np.ndarray) -> None:
        """A black line in a white casing round cells (24, nights); thin where the mask changes every few nights."""
        edges = self._edges(mask)
        upright = np.count_nonzero(edges[:, 0, 0] == edges[:, 1, 0])
        if upright > MANY_TURNS:
            self.page.segments(edges, style.INK, 0.6, zorder=6)
            return
        for colour, points, zorder in ((style.PAPER, 3.0, 5.5), (style.INK, 1.4, 6)):
            self.page.segments(edges, colour, points, zorder, capstyle="projecting")

    def _edges(self, mask: np.ndarray) -> np.ndarray:
        """Borders of a mask (24, nights), its outer ones too, joined to long lines: (lines, 2, 2) [mm]."""
        padded = np.pad(mask, 1)
        lines = []
        for row, first, stop in _runs(padded[1:, 1:-1] != padded[:-1, 1:-1]):
            lines.append([self.at(first, row), self.at(stop, row)])
        for column, first, stop in _runs((padded[1:-1, 1:] != padded[1:-1, :-1]).T):
            lines.append([self.at(column, first), self.at(column, stop)])
        return np.array(lines, dtype=float).reshape(-1, 2, 2)

    def sun(self, elevation_deg: np.ndarray, words: bool = True, casing: bool = True) -> None:
        """Sunset and sunrise as dotted lines, from the sun's height in the middle of each cell's hour (24, nights) [degrees].

        casing: with a white line under the dots, which hides a part of the cells.
        """
        for falls, name in ((True, "sunset"), (False, "sunrise")):
            row = crossing_rows(elevation_deg, falls)
            x, y = self.at(np.arange(self.nights.count) + 0.5, row)
            if not np.isfinite(row).any():
                continue
            if casing:
                self.page.line(x, y, colour=style.PAPER, points=1.6, zorder=5.4)
            self.page.line(x, y, points=0.9, zorder=7, dashes=(1.0, 1.2))
            if words:
                last = np.flatnonzero(np.isfinite(row))[-1]
                self.page.text(self.right + 1.8, float(y[last]) + 0.8, name, size=style.SMALL, colour=style.SECOND)

    def axes(self, clock: Sequence[int] = (0, 6, 12, 18, 24), months: bool = True) -> float:
        """Frame, clock times at the left, months below; returns the y of the lowest text."""
        page = self.page
        page.rect(self.x, self.y, self.width, self.height, edge=style.LINE, points=0.5, zorder=5)
        for row in clock:
            y = float(self.at(0, row)[1])
            page.line([self.x - 0.9, self.x], [y, y], colour=style.LINE, points=0.5)
            page.text(
                self.x - 1.5, y, f"{(12 + row) % 24:02d}:00", size=style.SMALL, colour=style.SECOND, ha="right", va="center"
            )
        month = self.nights.dates.astype("datetime64[M]").astype(int)
        bounds = [0, *(np.flatnonzero(np.diff(month)) + 1).tolist(), self.nights.count]
        for first, stop in zip(bounds[:-1], bounds[1:]):
            x0, x1 = (float(self.at(column, 0)[0]) for column in (first, stop))
            # Ticks outside alone: a line through the cells would hide a night.
            page.line([x0, x0], [self.bottom, self.bottom + 1.0], colour=style.LINE, points=0.5)
            if first:
                page.line([x0, x0], [self.y - 0.8, self.y], colour=style.LINE, points=0.5)
            name = MONTHS[month[first] % 12]
            if months and text_width_mm(name, style.SMALL) + 0.6 <= x1 - x0:
                page.text(0.5 * (x0 + x1), self.bottom + 3.2, name, size=style.SMALL, ha="center")
        return self.bottom + (3.6 if months else 1.0)


def crossing_rows(elevation_deg: np.ndarray, falls: bool) -> np.ndarray:
    """Hours from noon at which the sun crosses the horizon in each night (nights,), NaN where it does not.

    elevation_deg (24, nights): height in the middle of each hour. Between two hours the height is taken as straight, which is
    right to a few minutes, less than a device pixel.
    """
    height = elevation_deg - SUNRISE_DEG
    before, after = height[:-1], height[1:]
    crosses = (before >= 0) & (after < 0) if falls else (before < 0) & (after >= 0)
    first = np.argmax(crosses, axis=0)
    columns = np.arange(height.shape[1])
    a, b = before[first, columns], after[first, columns]
    with np.errstate(divide="ignore", invalid="ignore"):
        row = first + 0.5 + a / (a - b)
    return np.where(crosses.any(axis=0), row, np.nan)


def _runs(mask: np.ndarray) -> list[tuple[int, int, int]]:
    """Runs of True along each row of a mask: (row, first, stop)."""
    padded = np.pad(mask, ((0, 0), (1, 1))).astype(np.int8)
    change = np.diff(padded, axis=1)
    starts, stops = np.argwhere(change == 1), np.argwhere(change == -1)
    return [(int(row), int(first), int(stop)) for (row, first), (_, stop) in zip(starts, stops)]
