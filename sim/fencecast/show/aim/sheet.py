"""The aim sheet of one camera, A4 upright (`aim-MARK.pdf`, `.png`): how it is mounted and what its live picture must show."""

from __future__ import annotations

from matplotlib.figure import Figure

from fencecast.prove.aim import Aim
from fencecast.show.aim.data import AS_BUILT, AimData, aim_data
from fencecast.show.aim.frame import draw_frame
from fencecast.show.aim.plan import draw_plan
from fencecast.show.aim.table import draw_marks_table, marks_table_height
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm, wrap

A4_MM = (210.0, 297.0)
MARGIN_MM = 12.0
BAR_MM = 7.0
TITLE_SIZE = 15.0
STEP_MM = 3.1  # between lines of one paragraph
LABEL_MM = 21.0  # labels of part 1
PLAN_LEFT, PLAN_TOP, PLAN_MM = 110.0, 23.0, (88.0, 57.5)
FRAME_LEFT, FRAME_MM = 18.6, (115.0, 86.3)
LEAST_FRAME_MM = 55.0
HOW_LEFT = 138.5
FOOT_MM = 286.0
LEAST_FREE_MM, MOST_FREE_MM = 9.0, 40.0
BUILT_MM = 9.5


def plot_aim(aim: Aim, mark: str = "") -> Figure:
    """One sheet; aim: of `fencecast.aim`; mark: of the camera, the first when it is left out. A4, nothing on it is scaled."""
    data = aim_data(aim, mark)
    page = Page(A4_MM[0], MARGIN_MM)
    page.set_height(A4_MM[1])
    _head(page, data)
    mount = _mount(page, data)
    page.text(PLAN_LEFT, PLAN_TOP - 1.8, "Plan", size=style.HEAD, weight="bold")
    legend = draw_plan(page, PLAN_LEFT, PLAN_TOP, *PLAN_MM, data.plan)
    y = max(mount, legend) + 4.8
    below = (
        7.0
        + marks_table_height(page, data)
        + 6.5
        + BUILT_MM
        + 4.5
        + STEP_MM * len(_clear_lines(page, data))
        + LEAST_FREE_MM
        + 4.0
    )
    room = FOOT_MM - below - y - 3.0 - 8.0
    page.text(page.left, y, "2  What the live picture must show", size=style.HEAD, weight="bold")
    picture = draw_frame(page, FRAME_LEFT, y + 3.0, FRAME_MM[0], max(LEAST_FRAME_MM, min(FRAME_MM[1], room)), data.frame)
    words = wrap(data.frame_words, HOW_LEFT - 4.0 - FRAME_LEFT, style.SMALL)
    picture = page.lines_of_text(FRAME_LEFT, picture + 6.8, words, 2.9, size=style.SMALL, colour=style.SECOND)
    how = _how(page, data, y)
    y = max(picture, how) + 3.6
    y = draw_marks_table(page, data, y)
    _built(page, data, y + 5.6)
    _foot(page, data)
    return page.figure


def _head(page: Page, data: AimData) -> None:
    page.rect(0.0, 0.0, page.width_mm, BAR_MM, fill=style.INK)
    bar = shorten(data.bar, page.right - page.left, style.LABEL, "bold")
    page.text(page.left, 4.5, bar, weight="bold", colour=style.PAPER)
    right = page.text(page.right, 13.8, data.issue, colour=style.SECOND, ha="right")
    title = shorten(data.title, 100.0, TITLE_SIZE, "bold")
    page.text(page.left, 14.0, title, size=TITLE_SIZE, weight="bold")
    at = page.left + text_width_mm(title, TITLE_SIZE, "bold") + 7.0
    room = page.right - text_width_mm(right.get_text()) - 4.0 - at
    if room > 12.0:
        page.text(at, 14.0, shorten(data.site_title, room, style.HEAD, "bold"), size=style.HEAD, weight="bold")
    page.line([page.left, page.right], [16.3, 16.3], points=1.0)


def _mount(page: Page, data: AimData) -> float:
    page.text(page.left, PLAN_TOP - 1.8, "1  Mount", size=style.HEAD, weight="bold")
    y, x = PLAN_TOP + 2.4, page.left + LABEL_MM
    for row in data.mount:
        weight = "bold" if row.bold else "normal"
        page.text(page.left, y, row.label, size=style.SMALL, colour=style.SECOND)
        lines = wrap(row.text, PLAN_LEFT - 4.0 - x, style.LABEL, weight)
        y = page.lines_of_text(x, y, lines, STEP_MM, weight=weight) + 1.3
    return y - STEP_MM - 1.3


def _how(page: Page, data: AimData, y: float) -> float:
    """Numbered sentences, and what an error of aim costs; returns the lowest baseline."""
    width = page.right - HOW_LEFT
    page.text(HOW_LEFT, y, "How", size=style.HEAD, weight="bold")
    y += 4.6
    for number, text in enumerate(data.how, start=1):
        page.text(HOW_LEFT, y, f"{number}", size=style.SMALL, weight="bold")
        y = page.lines_of_text(HOW_LEFT + 4.0, y, wrap(text, width - 4.0, style.SMALL), 2.9, size=style.SMALL) + 1.2
    y += 1.6
    page.text(HOW_LEFT, y, "What an error of aim costs", size=style.HEAD, weight="bold")
    y += 4.2
    cost = data.cost
    columns = [HOW_LEFT, HOW_LEFT + 16.5, HOW_LEFT + 37.5]
    if cost.rows:
        for x, heading in zip(columns, cost.headings):
            page.text(x, y, heading, size=style.SMALL, colour=style.SECOND)
        page.line([HOW_LEFT, page.right], [y + 1.3, y + 1.3], points=0.7)
        y += 4.6
    for way, cells in cost.rows:
        page.text(columns[0], y, way, size=style.SMALL)
        for x, (text, bold) in zip(columns[1:], cells):
            page.text(x, y, text, size=style.SMALL, weight="bold" if bold else "normal")
        y += 3.3
    y += 0.6 if cost.rows else 0.0
    return page.lines_of_text(HOW_LEFT, y, wrap(cost.note, width, style.SMALL), 2.9, size=style.SMALL, colour=style.SECOND) - 2.9


def _clear_lines(page: Page, data: AimData) -> list[str]:
    return [line for text in data.keep_clear for line in wrap(text, page.right - page.left, style.LABEL)]


def _built(page: Page, data: AimData, y: float) -> None:
    """Boxes to write in, what is kept clear, and room for what differs."""
    page.text(page.left, y, "4  As built", size=style.HEAD, weight="bold")
    top, gap = y + 2.2, 1.3
    widths = [23.0, 23.0, 37.0, 42.0, 30.0]
    widths.append(page.right - page.left - sum(widths) - gap * len(widths))
    x = page.left
    for width, name in zip(widths, AS_BUILT):
        page.rect(x, top, width, BUILT_MM, edge=style.LINE, points=0.8)
        page.text(x + 1.0, top + 3.0, name, size=style.SMALL, colour=style.SECOND)
        x += width + gap
    y = page.lines_of_text(page.left, top + BUILT_MM + 4.0, _clear_lines(page, data), STEP_MM) - STEP_MM + 2.2
    height = min(MOST_FREE_MM, FOOT_MM - 3.4 - y)
    page.rect(page.left, y, page.right - page.left, height, edge=style.LINE, points=0.8)
    page.text(page.left + 1.0, y + 3.0, "what differs from this sheet, and why", size=style.SMALL, colour=style.SECOND)


def _foot(page: Page, data: AimData) -> None:
    width = page.right - page.left
    page.line([page.left, page.right], [FOOT_MM - 1.4, FOOT_MM - 1.4], colour=style.LINE, points=0.6)
    title, rest = data.provenance
    room = width - text_width_mm(rest, style.SMALL)
    words = wrap(data.caution, width, style.SMALL)
    page.text(page.left, FOOT_MM + 1.8, shorten(title, room, style.SMALL) + rest, size=style.SMALL, colour=style.SECOND)
    page.lines_of_text(page.left, FOOT_MM + 5.0, words, 2.9, size=style.SMALL)
