"""The tables of the summary sheet: metres by class, the weakest places, the notes under them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fencecast.findings.words import confidence_text, hours_text, pd_text, range_text, requirement_text, whole
from fencecast.show.fence.planlabels import circled
from fencecast.show.fence.sheetdata import SummaryData
from fencecast.show.paper import style
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import shorten, text_width_mm, wrap

BAR_MM = 35.0
# Columns of the table, from the page's left margin [mm].
PLACE, CLASS, NUMBERS, DOTS, CAUSE, WEAK_IN = 6.0, 52.0, 79.0, 109.0, 139.0, 164.0
DOTS_MM = 26.0
MOST_LIMIT_LINES = 6
BOX_GAP_MM, BOX_HEAD_MM = 5.0, 5.0
BOX_SHARES = {1: (1.0,), 2: (0.57, 0.43), 3: (0.42, 0.31, 0.27)}  # of the width: changes, losses, design review
MOST_READING_LINES = 3


def bars(page: Surface, data: SummaryData, x: float, y: float) -> float:
    """Weak, undecided and met metres of each class as one bar; returns the y of the lowest text."""
    total = data.fence.total_m
    right = page.right
    step = 6.2
    for row in data.rows:
        c = row.summary
        middle = y + 0.5 * step
        room = right - BAR_MM - x - 1.5
        lines = [c.name, hours_text(c.hours, c.years)]
        if text_width_mm(c.name, style.SMALL) > room:
            lines = wrap(f"{c.name}, {hours_text(c.hours, c.years)}", room, style.SMALL, most=2)
            if lines[-1].endswith("…"):
                lines = wrap(c.name, room, style.SMALL, most=2)
        for i, line in enumerate(lines):
            page.text(x, middle - 0.4 + 2.7 * i, line, size=style.SMALL, colour=style.SECOND if i else style.INK)
        left = right - BAR_MM
        ends = np.cumsum([0.0, c.weak_m, c.undecided_m, c.meets_m, c.no_data_m]) / total * BAR_MM + left
        share_bar(page, ends, left, middle - 2.0, BAR_MM, 4.0)
        _bar_number(page, whole(c.weak_m), ends, middle, left)
        y += step
    text = "black weak · hatched undecided · white meets"
    page.text(x, y + 2.6, text, size=style.SMALL, colour=style.SECOND)
    if data.classes > len(data.rows):
        y += 2.8
        page.text(x, y + 2.6, f"the worst {len(data.rows)} of {data.classes} classes", size=style.SMALL, colour=style.SECOND)
    return y + 3.0


def share_bar(page: Surface, ends: np.ndarray, left: float, top: float, width: float, height: float) -> None:
    """A bar of weak, undecided, met and unknown metres, in this order; ends: x of their five ends [mm]."""
    page.rect(left, top, width, height, fill=style.PAPER, edge=style.LINE, points=0.5, zorder=1)
    page.rect(ends[0], top, ends[1] - ends[0], height, fill=style.INK)
    if ends[2] - ends[1] > 0.1:
        page.hatch([(ends[1], top), (ends[2], top), (ends[2], top + height), (ends[1], top + height)])
    if ends[4] - ends[3] > 0.1:
        page.no_data([(ends[3], top), (ends[4], top), (ends[4], top + height), (ends[3], top + height)])


def _bar_number(page: Surface, text: str, ends: np.ndarray, middle: float, left: float) -> None:
    width = text_width_mm(text, style.SMALL, "bold") + 1.6
    how = {"size": style.SMALL, "weight": "bold", "va": "center_baseline"}
    if ends[1] - ends[0] >= width:
        page.text(ends[1] - 0.8, middle, text, ha="right", colour=style.PAPER, **how)
    elif ends[2] + width <= left + BAR_MM and ends[4] - ends[3] < 0.1:
        page.text(ends[2] + 0.8, middle, text, **how)
    else:
        page.text(left + 0.5 * BAR_MM, middle, text, ha="center", plate=True, **how)


def table_height(data: SummaryData) -> float:
    """Height of the table with its heading [mm]."""
    return 8.4 + sum(_row_height(_lines(data, text)) for text in data.readings) + 4.0


def _lines(data: SummaryData, reading: str) -> list[str]:
    """A reading under its row: up to the dashed line of the requirement, which crosses the table."""
    width = DOTS + data.fence.requirement * DOTS_MM - PLACE - 3.0
    return wrap(reading, width, style.SMALL, most=MOST_READING_LINES)


def _row_height(lines: Sequence[str]) -> float:
    return 4.6 + 2.8 * max(len(lines), 1)


def table(page: Surface, data: SummaryData, y: float, air: float = 0.0) -> float:
    """The weakest places with dot and interval against the requirement; returns the y of the lowest text.

    air: height added to every row [mm].
    """
    left, right, need = page.left, page.right, data.fence.requirement
    weak = bool(data.places and data.places[0].weak_in)
    page.text(left, y + 2.8, data.heading, size=style.HEAD, weight="bold")
    y += 7.2
    confidence = confidence_text(data.fence.confidence)
    heads = (
        (PLACE, "place, and how to read it"),
        (CLASS, "mildest weak class" if weak else "worst class"),
        (NUMBERS, f"Pd ({confidence} interval)"),
    )
    for x, text in (*heads, (CAUSE, "main cause"), (WEAK_IN, "weak in")):
        page.text(left + x, y, text, size=style.SMALL, colour=style.SECOND)
    for value, text in ((0.0, "0"), (0.5, "0.5"), (1.0, "1")):
        page.text(left + DOTS + value * DOTS_MM, y, text, size=style.SMALL, colour=style.SECOND, ha="center")
    page.line([left, right], [y + 1.2] * 2, points=0.8)
    top = y = y + 1.2
    for i, (place, text) in enumerate(zip(data.places, data.readings)):
        lines = _lines(data, text)
        height = _row_height(lines) + air
        baseline = y + 3.6 + 0.5 * air
        if weak:
            circled(page, left + 2.0, baseline - 0.9, str(i + 1))
        page.text(left + PLACE, baseline, place.code, weight="bold")
        page.text(left + CLASS, baseline, shorten(place.weather, NUMBERS - CLASS - 1.5), colour=style.INK)
        page.text(left + NUMBERS, baseline, pd_text(place.pd), weight="bold")
        gap = text_width_mm(pd_text(place.pd), style.LABEL, "bold") + 1.4
        page.text(left + NUMBERS + gap, baseline, range_text(place.low, place.high), size=style.SMALL, colour=style.SECOND)
        page.lines_of_text(left + PLACE, baseline + 3.0, lines, 2.8, size=style.SMALL, colour=style.SECOND)
        pd_dot(page, left + DOTS, baseline - 0.9, place.pd, place.low, place.high)
        page.text(left + CAUSE, baseline, place.cause or "too few misses", size=style.LABEL)
        if place.cause:
            share = "nearly all misses" if place.cause_share >= 0.995 else f"{100 * place.cause_share:.0f} % of its misses"
            page.text(left + CAUSE, baseline + 3.0, share, size=style.SMALL, colour=style.SECOND)
        if place.weak_in:
            hours = hours_text(place.weak_hours, data.rows[0].summary.years)
            page.text(left + WEAK_IN, baseline, f"{len(place.weak_in)} of {data.counted} classes")
            page.text(left + WEAK_IN, baseline + 3.0, hours, size=style.SMALL, colour=style.SECOND)
        else:
            page.text(left + WEAK_IN, baseline, "none")
        y += height
        page.line([left, right], [y] * 2, colour=style.GUIDE, points=0.5)
    x = left + DOTS + need * DOTS_MM
    page.line([x, x], [top, y + 0.6], points=1.0, dashes=(5, 2), zorder=5)
    page.text(x, y + 3.4, f"required {requirement_text(need)}", size=style.SMALL, weight="bold", ha="center")
    return y + 3.6


def boxes_height(page: Surface, data: SummaryData) -> float:
    """Height of the block of changes and losses [mm], 0 without any."""
    return max((BOX_HEAD_MM + 2.8 * len(lines) for *_, lines in _boxes(page, data)), default=0.0)


def _boxes(page: Surface, data: SummaryData) -> list[tuple[float, float, str, list[str]]]:
    """(x, width, heading, lines) of every block: side by side, the first of several wider."""
    if not data.boxes:
        return []
    free = page.right - page.left - BOX_GAP_MM * (len(data.boxes) - 1)
    widths = [share * free for share in BOX_SHARES[len(data.boxes)]]
    x, found = page.left, []
    for (head, texts), width in zip(data.boxes, widths):
        found.append((x, width, head, [line for text in texts for line in wrap(text, width, style.SMALL)]))
        x += width + BOX_GAP_MM
    return found


def boxes(page: Surface, data: SummaryData, y: float) -> None:
    """What to change, what losses cost, what the design review stops at."""
    for x, width, words, lines in _boxes(page, data):
        head, _, more = words.partition(": ")
        page.text(x, y + 2.8, head, size=style.HEAD, weight="bold")
        after = x + text_width_mm(head, style.HEAD, "bold") + 2.0
        if text_width_mm(more, style.SMALL) > x + width - after:
            more = more.partition(",")[0]
        page.text(after, y + 2.8, shorten(more, x + width - after, style.SMALL), size=style.SMALL, colour=style.SECOND)
        page.lines_of_text(x, y + BOX_HEAD_MM + 1.4, lines, 2.8, size=style.SMALL)


def pd_dot(page: Surface, x: float, y: float, pd: float, low: float, high: float) -> None:
    """A Pd as a dot with its interval on a line from 0, at x, to 1."""
    page.line([x, x + DOTS_MM], [y, y], colour=style.GUIDE, points=0.5, zorder=1)
    page.line([x + low * DOTS_MM, x + high * DOTS_MM], [y, y], colour=style.LINE, points=2.4, zorder=3)
    page.dot(x + pd * DOTS_MM, y, 1.5, zorder=6)


def notes(page: Surface, data: SummaryData) -> list[str]:
    """The lines under the table; what is not modelled comes last and may take more of them."""
    width = page.right - page.left
    *texts, limits = data.notes
    lines = [line for text in texts for line in wrap(text, width, style.SMALL, most=3)]
    return lines + wrap(limits, width, style.SMALL, most=MOST_LIMIT_LINES)
