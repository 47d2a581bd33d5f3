"""The summary sheet, A4 upright: is the requirement met, and what are the five weakest places (`summary.png`, `.pdf`)?"""

from __future__ import annotations

import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.results import Results
from fencecast.findings.calibration import rests_on_rehearsal
from fencecast.findings.rehearsal import NOBODY
from fencecast.findings.sheetwords import PD_MEANS
from fencecast.findings.words import hours_text
from fencecast.show.fence.numberedplan import numbered_plan
from fencecast.show.fence.sheet import bars, boxes, boxes_height, notes, table, table_height
from fencecast.show.fence.sheetdata import SummaryData, summary_data
from fencecast.show.fence.strip import BY_HOURS
from fencecast.show.fence.unrolled import Unrolled
from fencecast.show.paper import style
from fencecast.show.paper.key import SWATCH_MM, ramp_key, verdict_swatch
from fencecast.show.paper.page import Page
from fencecast.show.paper.surface import condition_lines, only_line
from fencecast.show.paper.text import shorten, text_width_mm, wrap

A4_MM = (210.0, 297.0)
MARGIN_MM = 12.0
FOOT_MM = 283.0
PLAN_MM, LOWER_PLAN_MM = (118.0, 63.0), (118.0, 52.0)  # the lower where changes and losses need room
RIGHT_COLUMN = 138.0
LARGEST_PITCH_MM, LEAST_PITCH_MM = 14.0, 4.6
MOST_AIR_MM = 7.0
NOTE_STEP_MM = 3.0


def plot_summary(results: Results | xr.Dataset) -> Figure:
    """Verdict, plan of the worst class, metres by class, the fence unrolled, the five weakest places, what is not modelled."""
    data = summary_data(results)
    attrs, ramp = data.fence.attrs, style.fence7(data.fence.requirement)
    page = Page(A4_MM[0], MARGIN_MM)
    y = _head(page, data)
    worst = data.rows[0].summary
    where = f"Where: {worst.name}, {hours_text(worst.hours, worst.years)}"
    page.text(page.left, y, where, size=style.HEAD, weight="bold")
    key_lines, bottom = _plan(page, data, ramp, y + 2.2)
    page.text(RIGHT_COLUMN, y, "When: metres by weather class", size=style.HEAD, weight="bold")
    right = bars(page, data, RIGHT_COLUMN, y + 2.6)
    right = ramp_key(page, RIGHT_COLUMN, right + 1.8, page.right - RIGHT_COLUMN, ramp)
    right = _verdicts(page, RIGHT_COLUMN, right + 2.2, ramp)
    y = max(bottom, right) + 6.0
    width = page.right - page.left
    lines = [*condition_lines(attrs, width), *wrap(data.sun, width, style.SMALL), *notes(page, data)]
    first_note = FOOT_MM - 3.0 - NOTE_STEP_MM * (len(lines) - 1)
    room = first_note - 4.6  # the table ends here at the latest
    below = boxes_height(page, data)
    height = table_height(data) + (below + 4.0 if below else 0.0)
    y = _strip(page, data, ramp, y, room - height - 6.0, key_lines)
    spare = max(0.0, room - height - 6.0 - y)
    air = min(MOST_AIR_MM, spare / max(1, len(data.places)))
    gap = 6.0 + min(4.0, 0.3 * (spare - air * len(data.places)))
    boxes(page, data, table(page, data, y + gap, air) + 2.6)
    page.lines_of_text(page.left, first_note, lines, NOTE_STEP_MM, size=style.SMALL, colour=style.SECOND)
    page.foot(FOOT_MM, attrs, condition=False)
    page.set_height(A4_MM[1])
    return page.figure


def _head(page: Page, data: SummaryData) -> float:
    attrs = data.fence.attrs
    right = f"{PD_MEANS} · {data.created.day} {data.created:%B %Y}"
    room = page.right - page.left - text_width_mm(right, style.SMALL) - 4.0
    page.text(page.left, 14.0, shorten(str(attrs["title"]), room, style.HEAD, "bold"), size=style.HEAD, weight="bold")
    page.text(page.right, 14.0, right, size=style.SMALL, colour=style.SECOND, ha="right")
    page.line([page.left, page.right], [15.8, 15.8], points=0.8)
    width = page.right - page.left
    size = next((s for s in style.VERDICT if text_width_mm(data.verdict, s, "bold") <= width), style.VERDICT[-1])
    lines = wrap(data.verdict, width, size, "bold", most=2)
    y = page.lines_of_text(page.left, 23.0, lines, 5.0, size=size, weight="bold") + 1.0
    only = only_line(attrs, width)[0]
    if only:
        page.text(page.left, y, only, size=style.HEAD, weight="bold")
        y += 4.4
    if rests_on_rehearsal(attrs):
        page.text(page.left, y, NOBODY, size=style.HEAD, weight="bold")
        y += 4.4
    for text in [*data.reasons, *_hours(data, width)]:
        y = page.lines_of_text(page.left, y, wrap(text, width, style.SUBTITLE), 4.2, size=style.SUBTITLE)
    return y + 3.2


def _hours(data: SummaryData, width: float) -> list[str]:
    """The finding by the hour in one line where it fits, else its shorter form."""
    fitting = [text for text in data.hours if len(wrap(text, width, style.SUBTITLE)) == 1]
    return [*fitting, *data.hours[-1:]][:1]


def _plan(page: Page, data: SummaryData, ramp: style.Ramp, y: float) -> tuple[list[str], float]:
    space = LOWER_PLAN_MM if data.boxes else PLAN_MM
    plan = numbered_plan(
        page, data.fence, data.places, page.left, y, space, lambda view: view.band_of(data.rows[0], ramp), leaders=False
    )
    return plan.key, plan.bottom


def _verdicts(page: Page, x: float, y: float, ramp: style.Ramp) -> float:
    for i, word in enumerate(("weak", "undecided", "meets", "no data")):
        left, top = x + 30.0 * (i % 2), y + 5.0 * (i // 2)
        verdict_swatch(page, left, top, word, ramp)
        page.text(left + SWATCH_MM[0] + 1.6, top + 2.3, word)
    return y + 5.0 + SWATCH_MM[1]


def _row_name(page: Page, name: str, right: float, top: float, height: float) -> None:
    lines = wrap(name, right - page.left, style.LABEL, most=2 if height > 4.4 else 1)
    for i, line in enumerate(lines):
        page.text(right, top + 0.5 * height + 0.9 + 2.8 * (i - 0.5 * (len(lines) - 1)), line, ha="right")


def _strip(page: Page, data: SummaryData, ramp: style.Ramp, y: float, bottom: float, key_lines: list[str]) -> float:
    """The fence unrolled between y and at most bottom, as high as the rows may grow; returns the y of its lowest text."""
    names, last_row = [row.summary.name for row in data.rows], f"{data.year_name}, {BY_HOURS}"
    room = min(27.0, max(text_width_mm(text) for text in [*names, "chainage, m"]) + 2.5)
    left = page.left + max(room, text_width_mm(last_row) + 2.5)  # names may take two lines
    fence = Unrolled(page, data.fence, left, page.right)
    side = fence.side().replace("your ", "the ")
    heading = f"Where and when: the fence unrolled, {side.removeprefix('the ')}"
    top = fence.head(y + 2.4) + 0.9 + style.RAIL_MM
    extra = fence.count_key_lines(key_lines, page.right - page.left)
    axis = (6.8 if data.fence.units == "us" else 4.0) + 1.4 + 3.0 * extra
    year = data.year is not None
    room = bottom - axis - top - 1.2 * year + 2.4
    shown = data.rows[: max(1, int(room / LEAST_PITCH_MM) - year)]
    pitch = min(LARGEST_PITCH_MM, room / (len(shown) + year))
    height = min(pitch - (2.9 if pitch > 7.0 else 2.4), 10.0)
    if len(shown) < data.classes:
        heading += f"; the worst {len(shown)} of {data.classes} classes"
    page.text(page.left, y, heading, size=style.HEAD, weight="bold")
    for row in shown:
        fence.row(top, height, row, ramp)
        _row_name(page, row.summary.name, left - 1.9, top, height)
        top += pitch
    if data.year is not None:
        page.line([page.left, page.right], [top - 0.6] * 2, colour=style.GUIDE, points=0.6)
        top += 1.2
        fence.row(top, height, data.year, ramp)
        page.text(left - 1.9, top + 0.5 * height + 0.9, last_row, ha="right")
        top += pitch
    y = fence.axis(top - pitch + height + 1.4, gates=False)
    return fence.key_lines(y, more=key_lines)
