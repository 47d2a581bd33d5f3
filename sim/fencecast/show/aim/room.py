"""Room for labels: boxes that are taken, and the first of some spots where a text lies on none of them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm

Box = tuple[float, float, float, float]  # left, top, right, bottom [mm]
AIR_MM = 0.5


def meet(a: Box, b: Box) -> bool:
    """Whether two boxes share ground."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


class Room:
    """The inside of a box in which labels are placed."""

    def __init__(self, page: Page, bounds: Box):
        self.page, self.bounds = page, bounds
        self.taken: list[Box] = []

    def free(self, box: Box) -> bool:
        """Whether a box lies inside the bounds and on no other."""
        left, top, right, bottom = self.bounds
        if box[0] < left or box[1] < top or box[2] > right or box[3] > bottom:
            return False
        return not any(meet(box, other) for other in self.taken)

    def write(self, text: str, spots: Iterable[tuple[float, float]], size: float = style.SMALL, **how: Any) -> Box | None:
        """A line of text, vertically centred at the first spot (left, middle) that has room; its box, or None without one."""
        width = text_width_mm(text, size, how.get("weight", "normal"))
        half = 0.5 * 1.1 * size * style.MM_PER_POINT
        for x, y in spots:
            box = (x - AIR_MM, y - half - 0.2, x + width + AIR_MM, y + half + 0.2)
            if self.free(box):
                self.page.text(x, y, text, size=size, va="center", **how)
                self.taken.append(box)
                return box
        return None
