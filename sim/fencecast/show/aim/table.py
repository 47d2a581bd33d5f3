"""Part 3 of an aim sheet: the marks, where they lie, how two tapes check them, where they must appear, and boxes to write in."""

from __future__ import annotations

from fencecast.findings.aimwords import MarkRow
from fencecast.show.aim.data import AimData
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm, wrap

COLUMNS = {"mark": 0.0, "place": 11.0, "tapes": 62.0, "column": 118.5, "row": 130.0, "share": 141.0, "read": 158.4}
BOX_MM = (13.4, 6.2)
STEP_MM = 2.9
HEAD_MM = 7.5
ROW_AIR_MM = 2.9
LEAST_ROW_MM = 7.6
CIRCLE_MM = 4.0


def _lines(row: MarkRow) -> tuple[list[str], list[str], list[str]]:
    """Bold lines of the place, small ones below them, and lines of the tapes, each no wider than its column."""
    wide = COLUMNS["tapes"] - COLUMNS["place"] - 2.0
    tapes = COLUMNS["column"] - COLUMNS["tapes"] - 2.0
    bold = wrap(row.place, wide, style.LABEL, "bold")
    small = [line for text in row.below for line in wrap(text, wide, style.SMALL)]
    return bold, small, [line for text in row.tapes for line in wrap(text, tapes, style.SMALL)]


def _row_height(row: MarkRow) -> float:
    bold, small, tapes = _lines(row)
    return max(LEAST_ROW_MM, STEP_MM * max(len(bold) + len(small), len(tapes)) + ROW_AIR_MM)


def marks_table_height(page: Page, data: AimData) -> float:
    """From the baseline of its heading to its lower end [mm]."""
    rows = sum(_row_height(row) for row in data.marks) if data.marks else 4.0
    return HEAD_MM + rows + STEP_MM * len(_told(page, data))


def _told(page: Page, data: AimData) -> list[str]:
    return wrap(data.told, page.right - page.left, style.SMALL) if data.told else []


def draw_marks_table(page: Page, data: AimData, y: float) -> float:
    """Draw the table with the baseline of its heading at y; returns the y of its lower end."""
    heading = "3  Marks on the ground"
    page.text(page.left, y, heading, size=style.HEAD, weight="bold")
    if not data.marks:
        return page.lines_of_text(page.left, y + 4.6, wrap(data.no_marks, page.right - page.left), 3.1) - 1.0
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
        height = _row_height(row)
        _row(page, x, boxes, row, y, height)
        y += height
        page.line([page.left, page.right], [y, y], colour=style.GUIDE, points=0.6)
    return page.lines_of_text(page.left, y + 3.4, _told(page, data), STEP_MM, size=style.SMALL, colour=style.SECOND) - STEP_MM


def _row(page: Page, x: dict[str, float], boxes: list[float], row: MarkRow, top: float, height: float) -> None:
    middle = top + 0.5 * height
    page.dot(x["mark"] + 0.5 * CIRCLE_MM, middle, CIRCLE_MM, colour=style.PAPER, edge=style.INK)
    page.text(
        x["mark"] + 0.5 * CIRCLE_MM, middle, f"{row.number}", size=style.HEAD, weight="bold", ha="center", va="center_baseline"
    )
    bold, small, tapes = _lines(row)
    y = middle - 0.5 * STEP_MM * (len(bold) + len(small)) + 2.3
    y = page.lines_of_text(x["place"], y, bold, STEP_MM, weight="bold")
    page.lines_of_text(x["place"], y, small, STEP_MM, size=style.SMALL, colour=style.SECOND)
    y = middle - 0.5 * STEP_MM * len(tapes) + 2.3
    page.lines_of_text(x["tapes"], y, tapes, STEP_MM, size=style.SMALL)
    page.text(x["column"], middle + 0.9, row.column, weight="bold")
    page.text(x["row"], middle + 0.9, row.row, weight="bold")
    page.text(x["share"], middle + 0.9, row.share)
    high = min(BOX_MM[1], height - 1.2)
    for left in boxes:
        page.rect(left, middle - 0.5 * high, BOX_MM[0], high, edge=style.LINE, points=0.8)
