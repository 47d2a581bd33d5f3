"""The plan by weather: where on the site, in each weather class (`plan.png`)."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure
from shapely import LineString, Point

from fencecast.estimate.results import Results
from fencecast.estimate.sight import blind_outline, views_of
from fencecast.findings.words import feet, hours_text, pd_text, whole
from fencecast.show.fence.data import Fence, FenceRow, PlanNumber, plan_data
from fencecast.show.fence.ground import draw_ground
from fencecast.show.fence.grounddata import Ground
from fencecast.show.fence.planlabels import building_names, camera_labels, gate_names, letters, number
from fencecast.show.fence.planview import PlanView
from fencecast.show.fence.unseen import unseen_ground
from fencecast.show.paper import style
from fencecast.show.paper.key import SWATCH_MM, ramp_key, verdict_key
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm, wrap

COLUMN_MM = 84.0
SECOND_COLUMN = 92.0
MOST_HEIGHT_MM = 56.0
KEY_HEIGHT_MM = 47.0  # the key plan has the names, so it shrinks less, and the key beside it is as high
MOST_LETTERS = 4  # in the words beside the key plan
WHOLE_PAGE_MM = 262.0  # plans shrink so that the picture fits an A4 page with a caption


def plot_plan(results: Results | xr.Dataset) -> Figure:
    """A key plan, then one plan per weather class (the worst eight), worst first."""
    data = plan_data(results)
    fence, ramp = data.fence, style.fence7(data.fence.requirement)
    page = Page()
    subtitle = (
        "Plan, one drawing per weather class, worst first. Colour is Pd along the fence; black rail = weak, hatching = undecided"
    )
    if data.classes > len(data.rows):
        subtitle += f". The worst {len(data.rows)} of {data.classes} classes"
    y = page.heading(data.title, subtitle, fence.attrs) + 1.0
    most = most_height(len(data.rows), fence.units)
    y = _key_plan(page, fence, ramp, y, most, data.ground)
    drawn = list(zip(data.rows, data.numbers))
    for i in range(0, len(drawn), 2):
        bottoms = [
            _class_plan(page, fence, row, numbers, ramp, x, y, most)
            for (row, numbers), x in zip(drawn[i : i + 2], (page.left, SECOND_COLUMN))
        ]
        y = max(bottoms) + 1.5
    page.foot(y + 1.5, fence.attrs)
    return page.figure


def most_height(classes: int, units: str) -> float:
    """Greatest height of one plan [mm]: 56, or less when many rows would not fit a page."""
    rows = (classes + 1) // 2
    heads = 34.0 + rows * (13.0 if units == "us" else 10.0)
    return min(MOST_HEIGHT_MM, (WHOLE_PAGE_MM - heads) / (rows + 1))


def _key_plan(page: Page, fence: Fence, ramp: style.Ramp, y: float, most: float, ground: Ground | None) -> float:
    site, sections = fence.site, fence.sections
    page.text(page.left, y + 3.0, "Key plan", size=style.HEAD, weight="bold")
    view = PlanView(page, fence, page.left, y + 4.5, COLUMN_MM, max(most, KEY_HEIGHT_MM))
    if ground is not None:
        draw_ground(view, ground)
    view.base()
    step = view.empty_band()
    beside = page.left + text_width_mm("Key plan", style.HEAD, "bold") + 2.0
    names = sections_words([section.letter for section in sections])
    page.text(
        beside,
        y + 3.0,
        f"{names}, a tick every {_metres_and_feet(step, site.units)} of chainage",
        size=style.SMALL,
        colour=style.SECOND,
    )
    blind = _blind_ground(view)
    letters(view, size=style.HEAD, weight="bold")
    camera_key = camera_labels(view)
    gate_key = gate_names(view)
    building_key = building_names(view)
    unseen = _unseen(view)
    # The right-hand column: ramp, verdicts, marks, scale, north.
    right = ramp_key(page, SECOND_COLUMN, y + 0.8, 80.0, ramp) + 2.5
    right = verdict_key(page, SECOND_COLUMN, right, ramp, columns=1, stacked=False) + 2.3
    right = _marks_key(page, right, blind, unseen)
    if most < KEY_HEIGHT_MM:
        page.text(SECOND_COLUMN + 42.0, right + 9.6, "scale of the key plan", size=style.SMALL, colour=style.SECOND)
    right = scale_and_north(page, view.scale, SECOND_COLUMN, right + 4.2, site.units)
    bottom = max(view.y + view.height, right)
    lines = [f"{s.letter} = {s.name}" for s in sections if s.name != s.letter]
    for text in (" · ".join(lines), gate_key, camera_key, building_key):
        if text:
            for line in wrap(text, page.right - page.left, style.SMALL):
                bottom += 3.0
                page.text(page.left, bottom, line, size=style.SMALL, colour=style.SECOND)
    return bottom + 4.0


def sections_words(letters: list[str]) -> str:
    """`section A`, `sections A, B and D`: some letters are left out; of many the first and the last."""
    if len(letters) == 1:
        return f"section {letters[0]}"
    if len(letters) > MOST_LETTERS:
        return f"sections {letters[0]} to {letters[-1]}"
    return f"sections {', '.join(letters[:-1])} and {letters[-1]}"


def _metres_and_feet(metres: float, units: str) -> str:
    return f"{whole(metres)} m ({whole(feet(metres))} ft)" if units == "us" else f"{whole(metres)} m"


def _blind_ground(view: PlanView) -> bool:
    """Outline, dotted, of the ground under each camera whose feet are below the frame; whether there is any."""
    found = False
    for camera in views_of(view.site):
        outline = blind_outline(camera)
        if outline is None:
            continue
        line = np.array([view.to_page(*point) for point in [*outline, outline[0]]])
        view.page.line(line[:, 0], line[:, 1], colour=style.SECOND, points=0.6, dashes=(1, 1.6), zorder=3)
        view.thin.append(LineString(line).buffer(0.2))
        found = True
    return found


def _unseen(view: PlanView) -> bool:
    """Small crosses on the ground that no camera sees at waist height and that touches the fence; whether there is any."""
    crosses = [(x, y) for x, y in unseen_ground(view) if not any(area.intersects(Point(x, y).buffer(0.6)) for area in view.taken)]
    arms = [[(x - 0.35, y - 0.35), (x + 0.35, y + 0.35)] for x, y in crosses]
    arms += [[(x - 0.35, y + 0.35), (x + 0.35, y - 0.35)] for x, y in crosses]
    view.page.segments(np.array(arms).reshape(-1, 2, 2), colour=style.LINE, points=0.5, zorder=2)
    return bool(len(crosses))


def _marks_key(page: Page, y: float, blind: bool, unseen: bool) -> float:
    x, words = SECOND_COLUMN, SECOND_COLUMN + SWATCH_MM[0] + 1.8
    page.dot(x + 1.0, y + 1.5)
    page.line([x + 1.0, x + 1.0 + 4.2], [y + 1.5] * 2, points=1.0)
    page.text(words, y + 2.4, "camera and the way it looks")
    if blind:
        y += 4.6
        page.line([x, x + SWATCH_MM[0]], [y + 1.5] * 2, colour=style.SECOND, points=0.6, dashes=(1, 1.6))
        page.text(words, y + 2.4, "ground in front of a camera too near for feet to be in view")
    if unseen:
        y += 4.6
        for i in range(4):
            cx = x + 0.8 + 1.8 * i
            page.line([cx - 0.35, cx + 0.35], [y + 1.15, y + 1.85], colour=style.LINE, points=0.5)
            page.line([cx - 0.35, cx + 0.35], [y + 1.85, y + 1.15], colour=style.LINE, points=0.5)
        page.text(words, y + 2.4, "ground by the fence that no camera sees at waist height")
    return y + 3.0


def scale_length_m(scale: float) -> int:
    """Round length of the scale bar [m] for a scale [mm per m]."""
    return next((m for m in (2, 5, 10, 20, 50, 100, 200, 500) if m * scale >= 7.0), 1000)


def scale_and_north(page: Page, scale: float, x: float, y: float, units: str = "si") -> float:
    """Scale bar and grid north at (x, y); returns the y of their lowest text."""
    length = scale_length_m(scale)
    width = length * scale
    page.line([x, x, x + width, x + width], [y + 1.4, y + 2.4, y + 2.4, y + 1.4], points=0.8, solid_joinstyle="miter")
    page.line([x + 0.5 * width] * 2, [y + 1.7, y + 2.4], points=0.8)
    page.text(x, y + 5.4, "0", size=style.SMALL, colour=style.SECOND, ha="center" if x > page.left + 1 else "left")
    page.text(x + width, y + 5.4, f"{length} m", size=style.SMALL, colour=style.SECOND, ha="center")
    if units == "us":
        page.text(x + width, y + 8.2, f"{whole(feet(length))} ft", size=style.SMALL, colour=style.SECOND, ha="center")
    north = x + width + 14.0
    page.line([north, north], [y - 1.6, y + 2.6], points=0.9)
    page.line([north - 0.8, north, north + 0.8], [y - 0.4, y - 1.8, y - 0.4], points=0.9, solid_joinstyle="miter")
    page.text(north, y + 5.4, "grid N", size=style.SMALL, colour=style.SECOND, ha="center")
    return y + (8.8 if units == "us" else 6.0)


def _class_plan(
    page: Page, fence: Fence, row: FenceRow, numbers: tuple[PlanNumber, ...], ramp: style.Ramp, x: float, y: float, most: float
) -> float:
    c = row.summary
    hours = hours_text(c.hours, c.years)
    gap = text_width_mm(hours, style.SMALL) + 2.0
    names = wrap(c.name, COLUMN_MM - gap, style.HEAD, "bold", most=2)
    for name in names:
        y += 3.2
        page.text(x, y, name, size=style.HEAD, weight="bold")
    page.text(x + text_width_mm(names[-1], style.HEAD, "bold") + 2.0, y, hours, size=style.SMALL, colour=style.SECOND)
    y += 3.0
    parts = [("weak", c.weak_m), ("undecided", c.undecided_m), ("meets", c.meets_m)] + (
        [("no data", c.no_data_m)] if c.no_data_m else []
    )
    first = f"weak {whole(c.weak_m)} m"
    page.text(x, y, first, size=style.SMALL, weight="bold")
    rest = " · " + " · ".join(f"{word} {whole(metres)} m" for word, metres in parts[1:])
    page.text(x + text_width_mm(first, style.SMALL, "bold"), y, rest, size=style.SMALL, colour=style.SECOND)
    if fence.units == "us":
        y += 2.8
        page.text(x, y, " · ".join(f"{whole(feet(metres))} ft" for _, metres in parts), size=style.SMALL, colour=style.SECOND)
    view = PlanView(page, fence, x, y + 0.2, COLUMN_MM, most)
    view.base()
    view.band_of(row, ramp)
    letters(view, size=style.SMALL, colour=style.SECOND)
    for found in numbers:
        text = f"{pd_text(found.pd)}  at {fence.section_of(found.segment).letter} {whole(fence.chainage_m[found.segment])} m"
        number(view, text, [(fence.section_of(i).index, float(fence.chainage_m[i])) for i in found.run])
    return view.y + view.height
