"""Rows of shares on one axis: labels at the left, counts at the right, nothing on anything else."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.show.paper import style
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import shorten

ROW_MM, BOX_MM, MARK_MM = 9.0, 4.6, 2.3
LABEL_MM, COUNT_MM = 44.0, 38.0


@dataclass(frozen=True)
class Axis:
    """Shares from `low` to `high` across a page, and the y of rows."""

    page: Surface
    top: float
    low: float
    high: float = 1.0

    @property
    def left(self) -> float:
        return self.page.left + LABEL_MM

    @property
    def right(self) -> float:
        return self.page.right - COUNT_MM

    def x(self, share: float) -> float:
        """The place of a share, cut off at the axis' ends."""
        share = min(max(share, self.low), self.high)
        return self.left + (share - self.low) / (self.high - self.low) * (self.right - self.left)

    def y(self, row: float) -> float:
        """The middle of a row."""
        return self.top + (row + 0.5) * ROW_MM

    def frame(self, rows: float, unit: str, bold: float | None = None) -> float:
        """Frame, ticks and the axis' words below; returns the y under them."""
        bottom = self.top + rows * ROW_MM
        steps = round((self.high - self.low) * 10.0)
        for k in range(steps + 1):
            tick = self.low + k * (self.high - self.low) / steps
            if bold is not None and abs(tick - bold) < 0.25 * (self.high - self.low) / steps:
                continue
            self.page.line([self.x(tick)] * 2, [self.top, bottom], colour=style.GUIDE, points=0.4, zorder=1)
            self._tick(tick, bottom, f"{tick:.1f}", "normal", style.SECOND)
        if bold is not None:
            self.page.line([self.x(bold)] * 2, [self.top, bottom], points=0.9, dashes=(5, 2), zorder=3)
            if all(abs(self.x(bold) - self.x(self.low + k * 0.1)) > 5.0 for k in range(steps + 1)) or _is_tenth(bold):
                self._tick(bold, bottom, f"{bold:g}", "bold", style.INK)
            self.page.text(self.x(bold), self.top - 1.2, f"required {bold:g}", ha="center", size=style.SMALL, weight="bold")
        self.page.rect(self.left, self.top, self.right - self.left, rows * ROW_MM, edge=style.LINE, points=0.5, zorder=5)
        self.page.text(self.right, bottom + 7.2, unit, ha="right", size=style.SMALL, colour=style.SECOND)
        return bottom + 8.4

    def _tick(self, share: float, bottom: float, text: str, weight: str, colour: str) -> None:
        self.page.line([self.x(share)] * 2, [bottom, bottom + 1.0], colour=style.LINE, points=0.5)
        self.page.text(self.x(share), bottom + 3.8, text, ha="center", size=style.SMALL, weight=weight, colour=colour)

    def words(self, row: float, label: str, below: str, count: str, under: str = "", weight: str = "normal") -> None:
        """What stands at the left and at the right of a row, in two lines."""
        y = self.y(row)
        room = LABEL_MM - 2.5
        self.page.text(self.left - 2.0, y - 0.4, shorten(label, room, style.LABEL), ha="right")
        self.page.text(
            self.left - 2.0, y + 2.7, shorten(below, room, style.SMALL), ha="right", size=style.SMALL, colour=style.SECOND
        )
        self.page.text(self.right + 3.2, y - 0.4 if under else y + 0.9, count, weight=weight)
        if under:
            self.page.text(self.right + 3.2, y + 2.7, under, size=style.SMALL, colour=style.SECOND)

    def band(self, row: float, low: float, high: float) -> None:
        """A grey box between two shares, never thinner than a line."""
        left, right = self.x(low), self.x(high)
        if right - left < 0.8:
            left, right = 0.5 * (left + right) - 0.4, 0.5 * (left + right) + 0.4
        self.page.rect(left, self.y(row) - 0.5 * BOX_MM, right - left, BOX_MM, fill=style.GUIDE, zorder=2)

    def tick(self, row: float, share: float) -> None:
        """The predicted share: an upright stroke as high as the box."""
        self.page.line([self.x(share)] * 2, [self.y(row) - 0.5 * BOX_MM, self.y(row) + 0.5 * BOX_MM], points=1.2, zorder=4)

    def mark(self, row: float, share: float, hollow: bool) -> None:
        """The observed share: filled, or open."""
        fill = style.PAPER if hollow else style.INK
        self.page.dot(self.x(share), self.y(row), MARK_MM, colour=fill, edge=style.INK, zorder=7)

    def bar(self, row: float, low: float, high: float) -> None:
        """An exact interval as a line with ends."""
        y = self.y(row)
        self.page.line([self.x(low), self.x(high)], [y, y], points=0.8, zorder=5)
        for end in (low, high):
            self.page.line([self.x(end)] * 2, [y - 0.9, y + 0.9], points=0.8, zorder=5)


def _is_tenth(share: float) -> bool:
    return abs(10.0 * share - round(10.0 * share)) < 1e-9
