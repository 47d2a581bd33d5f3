"""Walkers' cards, eight on a page; whatever is read in the field stands in 12 points and more."""

from __future__ import annotations

from fencecast.findings.cardwords import CardWords
from fencecast.show.cards.data import CardsData, PackData
from fencecast.show.cards.lanes import TYPE, draw_lane
from fencecast.show.cards.sheets import A4_MM, FOOT_MM, MARGIN_MM, Sheets, middle_cut
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm

COLUMNS, ROWS = 2, 4
TOP_MM, BOTTOM_MM = 18.2, A4_MM[1] - FOOT_MM - 4.4
PAD_MM = 3.2
LANE_TOP_MM, LANE_MM = 4.4, (26.0, 33.0)
PLACE_MM = 16.4
STEPS_MM = (5.4, 5.1, 4.85, 4.3)  # between lines: the first with which all have room
DESCENT_MM = 0.9
BOX_MM = 7.0
NUMBER, WALKER = 24.0, 14.0


def draw_cards(sheets: Sheets, data: CardsData, pack: PackData) -> None:
    """The pages of one pack; they are cut along the dashes."""
    each = COLUMNS * ROWS
    width, height = (A4_MM[0] - 2 * MARGIN_MM) / COLUMNS, (BOTTOM_MM - TOP_MM) / ROWS
    small = f"{data.title} · issue {data.issue}"
    for first in range(0, len(pack.cards), each):
        cards = pack.cards[first : first + each]
        name = f"{pack.name[:1].upper()}{pack.name[1:]}, cards" if pack.name else "Cards"
        page = sheets.new(pack.bar, f"{name} {cards[0].number} to {cards[-1].number}")
        for k, card in enumerate(cards):
            row, column = divmod(k, COLUMNS)
            _card(page, page.left + column * width, TOP_MM + row * height, width, height, card, small, pack.name)
        rows = -(-len(cards) // COLUMNS)
        for row in range(rows + 1):
            y = TOP_MM + row * height
            page.line([page.left, page.right], [y, y], colour=style.LINE, points=0.6, dashes=(5, 4))
        for column in range(COLUMNS + 1):
            x = page.left + column * width
            page.line([x, x], [TOP_MM, TOP_MM + rows * height], colour=style.LINE, points=0.6, dashes=(5, 4))


def _card(page: Page, x: float, y: float, width: float, height: float, card: CardWords, small: str, pack: str) -> None:
    left, right, lane_left = x + PAD_MM, x + width - PAD_MM, x + width - PAD_MM - LANE_MM[0]
    draw_lane(page, lane_left, y + LANE_TOP_MM, *LANE_MM, card)
    page.text(left, y + 11.2, card.number, size=NUMBER, weight="bold")
    page.text(lane_left - 2.5, y + 11.2, card.walker, size=WALKER, weight="bold", ha="right")
    narrow, top = lane_left - 2.5 - left, y + height - 2.0 - BOX_MM
    page.text(left, y + PLACE_MM, middle_cut(card.place, narrow, TYPE, "bold"), size=TYPE, weight="bold")
    for at, line, weight in laid_out(card, narrow, right - left, height - 2.0 - BOX_MM):
        page.text(left, y + at, line, size=TYPE, weight=weight)
    box_left = left + text_width_mm(card.over, TYPE) + 2.0
    page.text(left, top + 5.0, card.over, size=TYPE, colour=style.SECOND)
    void = box_left + 22.0 + 1.5
    page.rect(box_left, top, 22.0, BOX_MM, edge=style.LINE, points=0.8)
    page.text(void, top + 5.0, "void", size=TYPE, colour=style.SECOND)
    void += text_width_mm("void", TYPE) + 1.2
    page.rect(void, top, right - void, BOX_MM, edge=style.LINE, points=0.8)
    words = f"{small} · {pack}" if pack else small
    page.text(left, y + 3.0, shorten(words, right - left, style.SMALL), size=style.SMALL, colour=style.SECOND)


def laid_out(card: CardWords, narrow: float, wide: float, end: float) -> list[tuple[float, str, str]]:
    """(baseline, text, weight) of every line below the place, from the top of the card [mm]: narrow beside the lane, wide below
    it; as airy as the room above `end` allows."""
    below = LANE_TOP_MM + LANE_MM[1] + 3.9  # the first baseline that may run below the lane
    for step in STEPS_MM:
        at, found = PLACE_MM, []
        for text, bold in card.lines:
            weight = "bold" if bold else "normal"
            widths = [narrow if at + step * k < below else wide for k in range(1, 6)]
            for line in broken(text, widths, weight):
                at += step
                found.append((at, line, weight))
        if at + DESCENT_MM <= end:
            break
    return found


def broken(text: str, widths: list[float], weight: str = "normal") -> list[str]:
    """A text broken at spaces into lines of these widths, of which the last holds for all lines that follow."""
    lines: list[str] = []
    for word in text.split(" "):
        width = widths[min(max(len(lines) - 1, 0), len(widths) - 1)]
        if lines and text_width_mm(f"{lines[-1]} {word}", TYPE, weight) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
