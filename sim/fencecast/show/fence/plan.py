"""The plan by weather: where on the site, in each weather class (`plan.png`)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr
from matplotlib.figure import Figure
from shapely import LineString, Point

from fencecast.estimate.results import Results
from fencecast.estimate.sight import blind_outline, views_of
from fencecast.findings.words import feet, hours_text, pd_text, whole
from fencecast.show.fence.data import Fence, FenceRow, PlanNumber, plan_data
from fencecast.show.fence.ground import draw_ground
from fencecast.show.fence.grounddata import DrawnPicture
from fencecast.show.fence.planframe import CLASS_INSIDE_MM, COLUMN_GAP_MM, PlanLayout, drawn_width, plan_layout, turned, with_room
from fencecast.show.fence.planlabels import gate_names, letters, number
from fencecast.show.fence.planmarks import building_names, camera_labels
from fencecast.show.fence.planview import PlanView
from fencecast.show.fence.unseen import unseen_ground
from fencecast.show.paper import style
from fencecast.show.paper.key import SWATCH_MM, ramp_key, verdict_key
from fencecast.show.paper.page import Page
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import text_width_mm, wrap

SECOND_COLUMN = 92.0
MOST_ASIDE_MM = 14.0  # room for a number on both sides of a plan
MOST_LETTERS = 4  # in the words beside the key plan


def plot_plan(results: Results | xr.Dataset) -> Figure:
    """A key plan, then one plan per weather class (the worst eight), worst first."""
    data = plan_data(results)
    fence, ramp = data.fence, style.fence7(data.fence.requirement)
    page = Page()
    layout = plan_layout(fence.site, len(data.rows), fence.units)
    each = "one drawing per weather class, worst first" if len(data.rows) > 1 else "the one weather class"
    subtitle = f"Plan, {each}. Colour is Pd along the fence; black rail = weak, hatching = undecided"
    if data.classes > len(data.rows):
        subtitle += f". The worst {len(data.rows)} of {data.classes} classes"
    y = page.heading(data.title, subtitle, fence.attrs) + 1.0
    y = _key_plan(page, fence, ramp, y, layout, data.ground)
    drawn = list(zip(data.rows, data.numbers))
    layout = with_room(layout, len(drawn), fence.units, y)
    for i in range(0, len(drawn), layout.columns):
        bottoms = [
            _class_plan(page, fence, row, numbers, ramp, page.left + k * (layout.width_mm + COLUMN_GAP_MM), y, layout)
            for k, (row, numbers) in enumerate(drawn[i : i + layout.columns])
        ]
        y = max(bottoms) + 1.5
    page.foot(y + 1.5, fence.attrs)
    return page.figure


def _key_plan(page: Surface, fence: Fence, ramp: style.Ramp, y: float, layout: PlanLayout, ground: DrawnPicture | None) -> float:
    site, sections = fence.site, fence.sections
    page.text(page.left, y + 3.0, "Key plan", size=style.HEAD, weight="bold")
    view = PlanView(page, fence, page.left, y + 4.5, layout.key_width_mm, layout.key_most_mm, layout.turn_deg)
    if ground is not None:
        draw_ground(view, ground)
    view.base()
    step = view.empty_band()
    beside = page.left + text_width_mm("Key plan", style.HEAD, "bold") + 2.0
    names = sections_words([section.letter for section in sections])
    words = f"{names}, a tick every {_metres_and_feet(step, site.units)} of chainage"
    page.text(beside, y + 3.0, words, size=style.SMALL, colour=style.SECOND)
    blind = _blind_ground(view)
    letters(view, size=style.HEAD, weight="bold")
    camera_key = camera_labels(view, over_fence=True)
    gate_key = gate_names(view)
    building_key = building_names(view)
    unseen = _unseen(view)
    named = " · ".join(f"{s.letter} = {s.name}" for s in sections if s.name != s.letter)
    texts = [text for text in (named, gate_key, camera_key, building_key) if text]
    under, top = view.y + view.height, y + 0.8
    if layout.key_below:
        under = _key_texts(page, texts, under, page.right - page.left) + 2.5
        left = ramp_key(page, page.left, under, 80.0, ramp) + 2.3
        left = _marks_key(page, page.left, left, blind, unseen)
        right = verdict_key(page, SECOND_COLUMN, under + 0.8, ramp, columns=1, stacked=False)
        scaled = scale_and_north(page, view.scale, SECOND_COLUMN, right + 4.2, site.units, layout.turn_deg)
        bottom = max(left, scaled)
    else:
        right = ramp_key(page, SECOND_COLUMN, top, 80.0, ramp) + 2.5
        right = verdict_key(page, SECOND_COLUMN, right, ramp, columns=1, stacked=False) + 2.3
        right = _marks_key(page, SECOND_COLUMN, right, blind, unseen)
        scaled = scale_and_north(page, view.scale, SECOND_COLUMN, right + 4.2, site.units, layout.turn_deg)
        lines = [line for text in texts for line in wrap(text, layout.key_width_mm, style.SMALL)]
        beside = under + 3.0 * len(lines) <= scaled + 3.0
        start, width = (under, layout.key_width_mm) if beside else (max(under, scaled), page.right - page.left)
        bottom = max(_key_texts(page, texts, start, width), scaled)
    page.text(SECOND_COLUMN + 42.0, scaled - 0.6, "scale of the key plan", size=style.SMALL, colour=style.SECOND)
    return bottom + 4.0


def _key_texts(page: Surface, texts: Sequence[str], y: float, width: float) -> float:
    """Lines of a key in small type from y down; returns the y of the last baseline."""
    lines = [line for text in texts for line in wrap(text, width, style.SMALL)]
    return page.lines_of_text(page.left, y + 3.0, lines, 3.0, size=style.SMALL, colour=style.SECOND) - 3.0


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


def _marks_key(page: Surface, x: float, y: float, blind: bool, unseen: bool) -> float:
    words = x + SWATCH_MM[0] + 1.8
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


def scale_and_north(page: Surface, scale: float, x: float, y: float, units: str = "si", turn_deg: float = 0.0) -> float:
    """Scale bar and grid north at (x, y); returns the y of their lowest text. turn_deg: of the plan, clockwise."""
    length = scale_length_m(scale)
    width = length * scale
    page.line([x, x, x + width, x + width], [y + 1.4, y + 2.4, y + 2.4, y + 1.4], points=0.8, solid_joinstyle="miter")
    page.line([x + 0.5 * width] * 2, [y + 1.7, y + 2.4], points=0.8)
    page.text(x, y + 5.4, "0", size=style.SMALL, colour=style.SECOND, ha="center" if x > page.left + 1 else "left")
    page.text(x + width, y + 5.4, f"{length} m", size=style.SMALL, colour=style.SECOND, ha="center")
    if units == "us":
        page.text(x + width, y + 8.2, f"{whole(feet(length))} ft", size=style.SMALL, colour=style.SECOND, ha="center")
    middle = np.array([x + width + 14.0, y + 0.4])
    for arrow in ([(0.0, -2.2), (0.0, 2.2)], [(-0.8, 0.8), (0.0, 2.2), (0.8, 0.8)]):
        ends = middle + turned(arrow, turn_deg) * (1.0, -1.0)
        page.line(ends[:, 0], ends[:, 1], points=0.9, solid_joinstyle="miter")
    page.text(middle[0], y + 5.4, "grid N", size=style.SMALL, colour=style.SECOND, ha="center")
    return y + (8.8 if units == "us" else 6.0)


def _class_plan(
    page: Surface, fence: Fence, row: FenceRow, numbers: tuple[PlanNumber, ...], ramp: style.Ramp, x: float, y: float,
    layout: PlanLayout,
) -> float:  # fmt: skip
    c = row.summary
    hours = hours_text(c.hours, c.years)
    gap = text_width_mm(hours, style.SMALL) + 2.0
    names = wrap(c.name, layout.width_mm - gap, style.HEAD, "bold", most=2)
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
    drawn = drawn_width(fence.site, layout.turn_deg, layout.width_mm, layout.most_mm)
    aside = min(MOST_ASIDE_MM, 0.5 * (layout.width_mm - drawn))
    width = layout.width_mm - 2.0 * aside
    view = PlanView(page, fence, x + aside, y + 0.8, width, layout.most_mm, layout.turn_deg, CLASS_INSIDE_MM)
    view.slack = (aside + 1.0, 0.6, 1.0)
    view.base()
    view.band_of(row, ramp)
    letters(view, size=style.SMALL, colour=style.SECOND)
    left_over = []
    for found in numbers:
        text = f"{pd_text(found.pd)}  at {found.code}"
        if not number(
            view, pd_text(found.pd), found.code, fence.section_of(found.segment).index, float(fence.chainage_m[found.segment])
        ):
            left_over.append(text)
    bottom = view.y + view.height
    if left_over:
        bottom += 2.6
        page.text(x, bottom, "also weak: " + " · ".join(left_over), size=style.SMALL, weight="bold")
    return bottom
