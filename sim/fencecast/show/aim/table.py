"""Part 3 of an aim sheet: the marks, where they lie, how two tapes check them, where they must appear, and boxes to write in."""

from __future__ import annotations

from fencecast.findings.aimwords import MarkRow
from fencecast.show.aim.data import AimData
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm, wrap

COLUMNS = {"mark": 0.0, "place": 11.0, "tapes": 62.0, "column": 118.5, "row": 130.0, "share": 139.5, "read": 155.6}
BOX_MM = (14.2, 6.2)
STEP_MM = 2.9
HEAD_MM = 7.5
ROW_AIR_MM, COMPACT_AIR_MM = 2.9, 1.4
LEAST_ROW_MM = 7.4
CIRCLE_MM = 4.0
Lines = tuple[list[str], list[str], list[str]]


def _lines(row: MarkRow, compact: bool) -> Lines:
    """Bold lines of the place, small ones below them, and lines of the tapes, each no wider than its column; compact: one line a
    tape, the name of where it starts shortened."""
    wide = COLUMNS["tapes"] - COLUMNS["place"] - 2.0
    room = COLUMNS["column"] - COLUMNS["tapes"] - 2.0
    bold = wrap(row.place, wide, style.LABEL, "bold")
    small = [line for text in row.below for line in wrap(text, wide, style.SMALL)]
    tapes = []
    for name, which, length in row.tapes:
        whole = f"{name}{which}: {length}"
        if compact or len(wrap(whole, room, style.SMALL)) > 2:
            end = f"{which}: {length}"
            tapes.append(shorten(name, room - text_width_mm(end, style.SMALL), style.SMALL) + end)
        else:
            tapes += wrap(whole, room, style.SMALL)
    return bold, small, tapes


def _row_height(row: MarkRow, compact: bool) -> float:
    bold, small, tapes = _lines(row, compact)
    air = COMPACT_AIR_MM if compact else ROW_AIR_MM
    return max(LEAST_ROW_MM, STEP_MM * max(len(bold) + len(small), len(tapes)) + air)


def marks_table_height(page: Page, data: AimData, compact: bool) -> float:
    """From the baseline of its heading to its lower end [mm]."""
    if not data.marks:
        return 4.6 + 3.1 * (len(wrap(data.no_marks, page.right - page.left)) - 1)
    return HEAD_MM - 1.2 + sum(_row_height(row, compact) for row in data.marks) + STEP_MM * len(_told(page, data)) + 0.5


def _told(page: Page, data: AimData) -> list[str]:
    return wrap(data.told, page.right - page.left, style.SMALL) if data.told else []


def draw_marks_table(page: Page, data: AimData, y: float, compact: bool) -> None:
    """Draw the table with the baseline of its heading at y."""
    heading = "3  Marks on the ground"
    page.text(page.left, y, heading, size=style.HEAD, weight="bold")
    if not data.marks:
        page.lines_of_text(page.left, y + 4.6, wrap(data.no_marks, page.right - page.left), 3.1)
        return
    at = page.left + text_width_mm(heading, style.HEAD, "bold") + 6.0
    page.text(at, y, data.marks_words, size=style.SMALL, colour=style.SECOND)
    y += 4.8
    x = {name: page.left + offset for name, offset in COLUMNS.items()}
    boxes = [x["read"], page.right - BOX_MM[0]]
    heads = {"mark": "mark", "place": "along the fence, square off inwards", "tapes": "check by tape from", "column": "column",
             "row": "row", "share": "left, top, %"}  # fmt: skip
    for name, text in heads.items():
        page.text(x[name], y, text, size=style.SMALL, colour=style.SECOND)
    for left, text in zip(boxes, ("read column", "read row")):
        page.text(left, y, text, size=style.SMALL, colour=style.SECOND)
    y += HEAD_MM - 6.0
    page.line([page.left, page.right], [y, y], points=0.8)
    for row in data.marks:
        height = _row_height(row, compact)
        _row(page, x, boxes, row.number, _lines(row, compact), (row.column, row.row, row.share), y, height)
        y += height
        page.line([page.left, page.right], [y, y], colour=style.GUIDE, points=0.6)
    page.lines_of_text(page.left, y + 3.4, _told(page, data), STEP_MM, size=style.SMALL, colour=style.SECOND)


def _row(
    page: Page,
    x: dict[str, float],
    boxes: list[float],
    number: int,
    lines: Lines,
    numbers: tuple[str, str, str],
    top: float,
    height: float,
) -> None:
    middle, centre = top + 0.5 * height, x["mark"] + 0.5 * CIRCLE_MM
    page.dot(centre, middle, CIRCLE_MM, colour=style.PAPER, edge=style.INK)
    page.text(centre, middle, f"{number}", size=style.HEAD, weight="bold", ha="center", va="center_baseline")
    bold, small, tapes = lines
    y = middle - 0.5 * STEP_MM * (len(bold) + len(small)) + 2.3
    y = page.lines_of_text(x["place"], y, bold, STEP_MM, weight="bold")
    page.lines_of_text(x["place"], y, small, STEP_MM, size=style.SMALL, colour=style.SECOND)
    y = middle - 0.5 * STEP_MM * len(tapes) + 2.3
    page.lines_of_text(x["tapes"], y, tapes, STEP_MM, size=style.SMALL)
    for name, text in zip(("column", "row", "share"), numbers):
        page.text(x[name], middle + 0.9, text, weight="normal" if name == "share" else "bold")
    high = min(BOX_MM[1], height - 1.2)
    for left in boxes:
        page.rect(left, middle - 0.5 * high, BOX_MM[0], high, edge=style.LINE, points=0.8)
