"""The aim sheet of one camera, A4 upright (`aim-MARK.pdf`, `.png`): how it is mounted and what its live picture must show."""

from __future__ import annotations

from dataclasses import dataclass

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
TITLE_SIZES, TITLE_MM = (15.0, 12.0, 10.0, 8.5), 120.0  # the first at which the whole mark fits
MARK_MM = 30.0  # in the foot
STEP_MM = 3.1  # between lines of one paragraph
LABEL_MM = 21.0  # labels of part 1
PLAN_LEFT, PLAN_TOP, PLAN_MM = 110.0, 23.0, (88.0, 57.5)
FRAME_LEFT, FRAME_MM = 18.6, (115.0, 86.3)
LOWER_FRAMES_MM = (80.0, 74.0, 68.0, 62.0, 56.0, 50.0)  # tried in turn where the table needs the room
HOW_GAP_MM = 5.0
FOOT_MM = 286.0
MOST_FREE_MM, LEAST_FREE_MM = 40.0, (12.0, 5.0)  # of the free box: wanted, and where marks and names are many
BUILT_MM = 9.5


@dataclass(frozen=True)
class Layout:
    """What stands where in the lower part: height of the picture's room, left edge of the column beside it, y of the table's
    heading and of part 4; compact: tapes have a line each."""

    frame_mm: float
    how_left: float
    table_y: float
    built_y: float
    compact: bool


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
    layout = _layout(page, data, y)
    page.text(page.left, y, "2  What the live picture must show", size=style.HEAD, weight="bold")
    draw_frame(page, FRAME_LEFT, y + 3.0, FRAME_MM[0], layout.frame_mm, data.frame)
    bottom = y + 3.0 + _frame_size(data, layout.frame_mm)[1]
    words = wrap(data.frame_words, layout.how_left - 2.5 - FRAME_LEFT, style.SMALL)
    page.lines_of_text(FRAME_LEFT, bottom + 6.8, words, 2.9, size=style.SMALL, colour=style.SECOND)
    _how(page, data, layout.how_left, y)
    draw_marks_table(page, data, layout.table_y, layout.compact)
    _built(page, data, layout.built_y)
    _foot(page, data)
    return page.figure


def _layout(page: Page, data: AimData, y: float) -> Layout:
    """The largest picture with which all below it has room: first with roomy tapes, then compact, then with a lower free box."""
    for free in LEAST_FREE_MM:
        for compact in (False, True):
            for frame in (FRAME_MM[1], *LOWER_FRAMES_MM):
                wide, high = _frame_size(data, frame)
                left = max(FRAME_LEFT + wide + HOW_GAP_MM, page.left + 85.0)
                words = wrap(data.frame_words, left - 2.5 - FRAME_LEFT, style.SMALL)
                picture = y + 3.0 + high + 6.8 + 2.9 * len(words)
                table = max(picture, y + _how_height(page, data, left) + 1.6) + 3.8
                built = table + marks_table_height(page, data, compact) + 5.6
                layout = Layout(frame, left, table, built, compact)
                if built + _built_height(page, data) + free <= FOOT_MM - 3.4:
                    return layout
    return layout


def _frame_size(data: AimData, most_mm: float) -> tuple[float, float]:
    """Width and height of the picture [mm]."""
    scale = min(FRAME_MM[0] / data.frame.columns, most_mm / data.frame.rows)
    return scale * data.frame.columns, scale * data.frame.rows


def _head(page: Page, data: AimData) -> None:
    page.rect(0.0, 0.0, page.width_mm, BAR_MM, fill=style.INK)
    bar = shorten(data.bar, page.right - page.left, style.LABEL, "bold")
    page.text(page.left, 4.5, bar, weight="bold", colour=style.PAPER)
    right = page.text(page.right, 13.8, data.issue, colour=style.SECOND, ha="right")
    fits = [size for size in TITLE_SIZES if text_width_mm(data.title, size, "bold") <= TITLE_MM]
    size = fits[0] if fits else TITLE_SIZES[-1]
    title = shorten(data.title, TITLE_MM, size, "bold")
    page.text(page.left, 14.0, title, size=size, weight="bold")
    at = page.left + text_width_mm(title, size, "bold") + 7.0
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


def _how_height(page: Page, data: AimData, left: float) -> float:
    """From the baseline of its heading to its lowest baseline [mm]."""
    width, cost = page.right - left, data.cost
    steps = sum(2.9 * len(wrap(text, width - 4.0, style.SMALL)) + 1.2 for text in data.how)
    table = 5.2 + 3.3 * len(cost.rows) if cost.rows else 0.0
    return 4.6 + steps + 1.6 + 4.2 + table + 2.9 * (len(wrap(cost.note, width, style.SMALL)) - 1)


def _how(page: Page, data: AimData, left: float, y: float) -> None:
    """Numbered sentences, and what an error of aim costs."""
    width, cost = page.right - left, data.cost
    page.text(left, y, "How", size=style.HEAD, weight="bold")
    y += 4.6
    for number, text in enumerate(data.how, start=1):
        page.text(left, y, f"{number}", size=style.SMALL, weight="bold")
        y = page.lines_of_text(left + 4.0, y, wrap(text, width - 4.0, style.SMALL), 2.9, size=style.SMALL) + 1.2
    y += 1.6
    page.text(left, y, "What an error of aim costs", size=style.HEAD, weight="bold")
    y += 4.2
    if cost.rows:
        spread = min(1.4, width / 59.0)  # beside a smaller picture there is more room
        columns = [left, left + 16.5 * spread, left + 38.0 * spread]
        for x, heading in zip(columns, cost.headings):
            page.text(x, y, heading, size=style.SMALL, colour=style.SECOND)
        page.line([left, page.right], [y + 1.3, y + 1.3], points=0.7)
        y += 4.6
        for way, cells in cost.rows:
            page.text(left, y, way, size=style.SMALL)
            for x, (text, bold) in zip(columns[1:], cells):
                page.text(x, y, text, size=style.SMALL, weight="bold" if bold else "normal")
            y += 3.3
        y += 0.6
    page.lines_of_text(left, y, wrap(cost.note, width, style.SMALL), 2.9, size=style.SMALL, colour=style.SECOND)


def _clear_lines(page: Page, data: AimData) -> list[str]:
    return [line for text in data.keep_clear for line in wrap(text, page.right - page.left, style.LABEL)]


def _built_height(page: Page, data: AimData) -> float:
    """From the baseline of its heading to the top of the free box [mm]."""
    return 2.2 + BUILT_MM + 4.0 + STEP_MM * (len(_clear_lines(page, data)) - 1) + 2.2


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
    page.lines_of_text(page.left, top + BUILT_MM + 4.0, _clear_lines(page, data), STEP_MM)
    y += _built_height(page, data)
    height = min(MOST_FREE_MM, FOOT_MM - 3.4 - y)
    page.rect(page.left, y, page.right - page.left, height, edge=style.LINE, points=0.8)
    page.text(page.left + 1.0, y + 3.0, "what differs from this sheet, and why", size=style.SMALL, colour=style.SECOND)


def _foot(page: Page, data: AimData) -> None:
    width = page.right - page.left
    page.line([page.left, page.right], [FOOT_MM - 1.4, FOOT_MM - 1.4], colour=style.LINE, points=0.6)
    title, rest = data.provenance
    rest = f" · aim sheet {shorten(data.mark, MARK_MM, style.SMALL)} · {rest}"
    room = width - text_width_mm(rest, style.SMALL)
    words = wrap(data.caution, width, style.SMALL)
    page.text(page.left, FOOT_MM + 1.8, shorten(title, room, style.SMALL) + rest, size=style.SMALL, colour=style.SECOND)
    page.lines_of_text(page.left, FOOT_MM + 5.0, words, 2.9, size=style.SMALL)
