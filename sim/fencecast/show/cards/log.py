"""The log: a row a walk with a box for every camera; and the ladder as a strip to tick, the last page."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.walkrules import ranges
from fencecast.show.cards.data import CardsData, LogData
from fencecast.show.cards.director import tick
from fencecast.show.cards.sheets import FOOT_AIR_MM, FOOT_MM, TOP_MM, Flow, Sheets
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm, wrap

UPRIGHT_CAMERAS, ACROSS_CAMERAS = 8, 20  # boxes in a row, upright and with the long side below
UPRIGHT_MM, ACROSS_MM = 8.2, 5.3  # height of a row
LEAST_BLANK = 4  # rows for walks that are walked again
TYPE = 12.0
NOTE_MM = 2.9  # between lines of what the columns mean
PDF_WIDER = 0.97  # in a PDF letters are a hair wider
NOTED = "air °C · humidity % · wind m/s · visibility m · rain mm/h · ground °C · sky · camera windows dry or wet"
HEADS = ("date", "clocks at start: caller, recorder", "clocks at end: caller, recorder", "who reads the alarms, and knew when?")
PEOPLE = ("walker A: name, height, clothing", "walker B: name, height, clothing", "caller", "director")


@dataclass(frozen=True)
class Columns:
    """Left edges of a log's columns [mm]; boxes: of the cameras in one line; lines: of boxes a row."""

    trial: float
    walker: float
    crossed: float
    boxes: tuple[float, ...]
    void: float
    note: float
    lines: int


def draw_log(sheets: Sheets, data: CardsData) -> None:
    """Every card a row, later packs below a line of their own, then blank rows to the end of the page."""
    log = data.log
    across = len(log.marks) > UPRIGHT_CAMERAS
    rows: list[tuple[str, str] | str] = []
    for name, cards in log.rows:
        rows += ([f"{name}: only when the director asks for it"] if name else []) + list(cards)
    rows += [("", "")] * LEAST_BLANK
    while rows:
        page = sheets.new(log.bar, "Log of the walks", across=across)
        y = _head(page, log, across)
        columns = _columns(page, len(log.marks), across)
        y = _headings(page, log, columns, y)
        height = ACROSS_MM * columns.lines if across else UPRIGHT_MM
        notes = [line for text in log.notes for line in wrap(text, PDF_WIDER * (page.right - page.left), style.SMALL)]
        room = int((page.height_mm - FOOT_MM - FOOT_AIR_MM - 4.6 - NOTE_MM * len(notes) - y) / height)
        taken, rows = rows[:room], rows[room:]
        taken += [("", "")] * (room - len(taken))
        first = y
        for row in taken:
            _row(page, columns, row, y, height)
            y += height
        _boxes(
            page, columns, len(log.marks), [first + height * k for k, row in enumerate(taken) if not isinstance(row, str)], height
        )
        counted = "walks counted ______   misses ______   void ______   alarms between walks, each camera and hour: in the note"
        page.text(page.left, y + 4.2, counted, size=style.LABEL)
        page.lines_of_text(page.left, y + 4.2 + NOTE_MM + 0.4, notes, NOTE_MM, size=style.SMALL, colour=style.SECOND)


def _head(page: Page, log: LogData, across: bool) -> float:
    """Boxes for clocks, people and weather; returns where the table may begin."""
    y, gap, width = TOP_MM - 2.4, 1.4, page.right - page.left
    for names in ((*HEADS, *PEOPLE),) if across else (HEADS, PEOPLE):
        each = (width - gap * (len(names) - 1)) / len(names)
        for k, name in enumerate(names):
            x = page.left + k * (each + gap)
            page.rect(x, y, each, 9.5, edge=style.LINE, points=0.7)
            for line, text in enumerate(wrap(name, each - 1.6, style.SMALL)):
                page.text(x + 0.9, y + 2.8 + 2.6 * line, text, size=style.SMALL, colour=style.SECOND)
        y += 11.0
    page.text(page.left, y + 2.2, "weather every half hour", size=style.LABEL, weight="bold")
    at = page.left + text_width_mm("weather every half hour", style.LABEL, "bold") + 4.0
    page.text(at, y + 2.2, shorten(NOTED, page.right - at, style.SMALL), size=style.SMALL, colour=style.SECOND)
    y += 3.8
    count = 6 if across else 3
    for _ in range(1 if across else 2):
        each = (width - gap * (count - 1)) / count
        for k in range(count):
            x = page.left + k * (each + gap)
            page.rect(x, y, each, 7.6, edge=style.LINE, points=0.7)
            page.text(x + 0.9, y + 2.8, "time", size=style.SMALL, colour=style.SECOND)
        y += 9.0
    return y + 2.4


def _columns(page: Page, cameras: int, across: bool) -> Columns:
    most = ACROSS_CAMERAS if across else UPRIGHT_CAMERAS
    lines = -(-cameras // most)
    in_line = -(-cameras // lines)
    left = page.left
    boxes = left + 43.0
    room = page.right - boxes - (36.0 if across else 44.0)
    each = min(room / in_line, 16.0)
    void = boxes + in_line * each
    return Columns(
        left, left + 10.0, left + 20.0, tuple(boxes + k * each for k in range(in_line + 1)), void + 1.0,
        void + (15.0 if across else 19.0), lines,
    )  # fmt: skip


def _headings(page: Page, log: LogData, columns: Columns, y: float) -> float:
    """The key of shortened marks and the heads of the columns; returns the top of the first row."""
    for line in wrap(log.key, page.right - page.left, style.SMALL) if log.key else ():
        page.text(page.left, y, line, size=style.SMALL, colour=style.SECOND)
        y += 2.9
    words = "cameras: no, yes or the time of the first alarm; off"
    page.text(
        columns.boxes[0],
        y + 1.0,
        shorten(words, page.right - columns.boxes[0], style.SMALL),
        size=style.SMALL,
        colour=style.SECOND,
    )
    y += 3.2 + 2.9 * columns.lines
    heads = ((columns.trial, "trial"), (columns.walker, "walker"), (columns.crossed, "crossed"))
    for x, text in (*heads, (columns.void, "void: why"), (columns.note, "note")):
        page.text(x + 0.6, y, text, size=style.SMALL, colour=style.SECOND)
    in_line = len(columns.boxes) - 1
    for k, mark in enumerate(log.marks):
        line, column = divmod(k, in_line)
        middle = 0.5 * (columns.boxes[column] + columns.boxes[column + 1])
        up = y - 2.9 * (columns.lines - 1 - line)
        width = columns.boxes[column + 1] - columns.boxes[column] - 0.4
        page.text(middle, up, shorten(mark, width, style.SMALL, "bold"), size=style.SMALL, weight="bold", ha="center")
    page.line([page.left, page.right], [y + 1.2, y + 1.2], points=1.0)
    return y + 1.2


def _row(page: Page, columns: Columns, row: tuple[str, str] | str, y: float, height: float) -> None:
    page.line([page.left, page.right], [y + height, y + height], colour=style.LINE, points=0.5)
    middle = y + 0.5 * height + 1.3
    if isinstance(row, str):
        page.text(columns.trial + 0.6, middle, row, size=style.HEAD, weight="bold")
        return
    number, walker = row
    page.text(columns.trial + 0.6, middle, number, size=style.HEAD, weight="bold")
    page.text(columns.walker + 0.6, middle, walker, size=style.HEAD)


def _boxes(page: Page, columns: Columns, cameras: int, tops: list[float], height: float) -> None:
    """The boxes and dividing lines of all rows at once: drawn one by one they would take most of the time."""
    each, in_line = height / columns.lines, len(columns.boxes) - 1
    edges = []
    for y in tops:
        for k in range(cameras):
            line, column = divmod(k, in_line)
            left, right = columns.boxes[column] + 0.4, columns.boxes[column + 1] - 0.4
            top, bottom = y + line * each + 0.5, y + (line + 1) * each - 0.5
            corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
            edges += [[a, b] for a, b in zip(corners, corners[1:] + corners[:1])]
    page.segments(edges, style.LINE, 0.6, capstyle="projecting")
    dividing = (columns.walker, columns.crossed, columns.void, columns.note)
    page.segments([[(x, y), (x, y + height)] for y in tops for x in dividing], style.GUIDE, 0.5)


def draw_ladders(sheets: Sheets, data: CardsData) -> None:
    """The last page: for every claim its misses and its rungs to tick, in 12 points; no page of a plan without claims."""
    if not data.director.ladders:
        return
    flow = Flow(sheets, "LADDER · the director keeps it; no predictions on this page", "The ladder, to tick")
    for ladder in data.director.ladders:
        width = flow.page.right - flow.page.left
        cards = wrap(f"cards {ranges(ladder.trials)}", width, TYPE)
        rungs = [[(seen, done) for seen, done in rung.outcomes] for rung in ladder.rungs]
        most = ladder.most_misses
        per_line = int((width - 24.0 - 50.0) / 9.0)  # beside them stands what ends the test
        lines = -(-most // per_line)
        height = 9.0 + 9.0 * lines + sum(6.4 * len(each) + 8.4 for each in rungs) + 0.8
        flow.y += 2.0
        flow.need(height + 5.0 * min(len(cards), 6))
        page, left = flow.page, flow.page.left
        page.text(left, flow.y + 2.0, f"Claim {ladder.claim}", size=14.0, weight="bold")
        flow.y += 9.0
        page.text(left, flow.y, "misses", size=TYPE, colour=style.SECOND)
        for k in range(most):
            line, column = divmod(k, per_line)
            tick(page, left + 22.0 + 9.0 * column, flow.y + 9.0 * line + 1.2, 6.4)
        used = most - per_line * (lines - 1)
        page.text(left + 24.0 + 9.0 * used, flow.y + 9.0 * (lines - 1), ladder.end, size=TYPE)
        flow.y += 9.0 * lines
        for rung, outcomes in zip(ladder.rungs, rungs):
            page.text(left, flow.y, rung.heading, size=TYPE, weight="bold")
            flow.y += 6.8
            for seen, done in outcomes:
                tick(page, left + 4.0, flow.y, 4.2)
                page.text(left + 11.0, flow.y, f"{seen}: {done}", size=TYPE)
                flow.y += 6.4
            flow.y += 1.6
        flow.y += 0.8
        for text in cards:
            flow.need(5.0)
            flow.page.text(left, flow.y, text, size=TYPE, colour=style.SECOND)
            flow.y += 5.0
        flow.y += 4.0
