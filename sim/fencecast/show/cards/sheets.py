"""Sheets of A4 with one head and one foot, and a flow of blocks down them."""

from __future__ import annotations

from matplotlib.figure import Figure

from fencecast.show.cards.data import CardsData
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm, wrap

A4_MM = (210.0, 297.0)
MARGIN_MM = 12.0
BAR_MM = 7.0
TOP_MM = 21.0  # first baseline below the head
FOOT_MM = 11.0  # from the first line of the foot to the lower edge
FOOT_AIR_MM = 5.0


def middle_cut(text: str, width_mm: float, size: float, weight: str = "normal") -> str:
    """The text, or as much of its two ends as fits round a '…': of names the end tells most apart."""
    if text_width_mm(text, size, weight) <= width_mm:
        return text
    for kept in range(len(text) - 1, 1, -1):
        end = kept // 2
        cut = f"{text[: kept - end].rstrip()}…{text[len(text) - end :].lstrip()}"
        if text_width_mm(cut, size, weight) <= width_mm:
            return cut
    return shorten(text, width_mm, size, weight)


class Sheets:
    """The pages in their order; the feet are drawn last, when their number is known."""

    def __init__(self, data: CardsData):
        self.data = data
        self.pages: list[tuple[Page, str]] = []

    def new(self, bar: str, heading: str, note: str = "", across: bool = False) -> Page:
        """A new page with its head. note: stands in the foot beside the caution; across: the long side lies below."""
        width, height = A4_MM[::-1] if across else A4_MM
        page = Page(width, MARGIN_MM)
        page.set_height(height)
        page.rect(0.0, 0.0, width, BAR_MM, fill=style.INK)
        room = page.right - page.left
        page.text(page.left, 4.6, shorten(bar, room, style.LABEL, "bold"), weight="bold", colour=style.PAPER)
        title = shorten(heading, 0.6 * room, 13.0, "bold")
        page.text(page.left, 14.0, title, size=13.0, weight="bold")
        at = page.left + text_width_mm(title, 13.0, "bold") + 6.0
        name = shorten(self.data.title, 0.96 * (page.right - at), style.HEAD)  # in a PDF letters are a hair wider
        page.text(page.right, 14.0, name, size=style.HEAD, colour=style.SECOND, ha="right")
        page.line([page.left, page.right], [16.3, 16.3], points=1.0)
        self.pages.append((page, note))
        return page

    def figures(self) -> list[Figure]:
        """Every page, its foot drawn."""
        for number, (page, note) in enumerate(self.pages, start=1):
            self._foot(page, note, f"page {number} of {len(self.pages)}")
        return [page.figure for page, _ in self.pages]

    def _foot(self, page: Page, note: str, number: str) -> None:
        y, width = page.height_mm - FOOT_MM, page.right - page.left
        page.line([page.left, page.right], [y - 3.2, y - 3.2], colour=style.LINE, points=0.6)
        page.text(page.right, y, number, size=style.SMALL, ha="right")
        rest = f" · {self.data.foot}"
        room = width - text_width_mm(rest, style.SMALL) - text_width_mm(number, style.SMALL) - 4.0
        page.text(
            page.left, y, shorten(self.data.title, max(room, 8.0), style.SMALL) + rest, size=style.SMALL, colour=style.SECOND
        )
        words = wrap(f"{self.data.caution} {note}".strip(), width, style.SMALL)
        page.lines_of_text(page.left, y + 3.1, words, 2.9, size=style.SMALL)


class Flow:
    """Blocks one below the other; one that does not fit begins a new page. y: where the next baseline may be."""

    def __init__(self, sheets: Sheets, bar: str, heading: str, note: str = ""):
        self.sheets, self.how = sheets, (bar, heading, note)
        self.page = sheets.new(*self.how)
        self.y = TOP_MM

    @property
    def left_mm(self) -> float:
        """Height that is free."""
        return self.page.height_mm - FOOT_MM - FOOT_AIR_MM - self.y

    @property
    def fresh(self) -> bool:
        """Whether nothing stands on the page."""
        return self.y == TOP_MM

    def need(self, height_mm: float) -> None:
        """Begin a new page unless so much is free here; on an empty page nothing is gained by another."""
        if height_mm > self.left_mm and not self.fresh:
            bar, heading, note = self.how
            self.page = self.sheets.new(bar, heading, note)
            self.y = TOP_MM

    def heading(self, text: str, below_mm: float) -> None:
        """A heading, on one page with the first `below_mm` of what follows."""
        self.need(4.6 + below_mm)
        self.page.text(self.page.left, self.y, text, size=style.HEAD, weight="bold")
        self.y += 4.6
