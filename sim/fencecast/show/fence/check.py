"""The design review on a plan: black stretches are stops, hatched ones warnings, lines beside notes; numbers lead to the list."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure
from shapely import Point, box
from shapely.ops import unary_union

from fencecast.findings.check import more_words
from fencecast.review.review import Review
from fencecast.show.fence.band import GAP_MM, WIDTH_MM
from fencecast.show.fence.checkdata import CheckData, ListedFinding, Marked, check_data
from fencecast.show.fence.plan import scale_and_north
from fencecast.show.fence.planlabels import gate_names, letters
from fencecast.show.fence.planmarks import building_names, camera_labels
from fencecast.show.fence.planview import OUTER_MM, PlanView
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import shorten, text_width_mm, wrap

PLAN_MM = (98.0, 92.0)
ASIDE_MM = 6.0  # beside the plan, for numbers
LIST_LEFT = 116.0
LIST_BOTTOM_MM = 236.0
STEP_MM = 2.8
NOTE_MM = 0.6  # outside the band: the line of a note
JOINED_MM = 4.0  # numbers nearer than this share a mark


def plot_check(found: Review) -> Figure:
    """The plan with marked stretches on the left, what was found on the right."""
    data = check_data(found)
    page = Page()
    y = page.heading(data.title, data.subtitle) + 2.0
    listed, count = _findings(page, data, y)
    bottom = _plan(page, data, data.findings[:count], y)  # a number that no line of the list explains leads nowhere
    page.foot(max(bottom, listed) + 3.0, data.fence.attrs, one_look=True)
    return page.figure


def _plan(page: Page, data: CheckData, listed: Sequence[ListedFinding], y: float) -> float:
    view = PlanView(page, data.fence, page.left + ASIDE_MM, y, *PLAN_MM)
    view.slack = (ASIDE_MM, 2.0, 2.0)
    view.base()
    view.empty_band()
    _marks(view, data)
    numbers(view, listed)
    letters(view, size=style.HEAD, weight="bold")
    camera_key = camera_labels(view)
    keys = [text for text in (camera_key, gate_names(view), building_names(view)) if text]
    names = " · ".join(f"{s.letter} = {s.name}" for s in data.fence.sections if s.name != s.letter)
    bottom = scale_and_north(page, view.scale, page.left, view.y + view.height + 4.5, data.fence.units) + 1.0
    for text in (names, data.coverage, *keys):
        for line in wrap(text, PLAN_MM[0] + ASIDE_MM, style.SMALL):
            bottom += 3.0
            page.text(page.left, bottom, line, size=style.SMALL, colour=style.SECOND)
    return bottom


def _marks(view: PlanView, data: CheckData) -> None:
    """Stops over warnings, which are hatched in white where both are; notes as lines beside the band. A stretch without a length
    is a point of the fence and only gets a number."""
    page = view.page
    for severity in ("note", "warn", "stop"):
        for mark in data.marks:
            if mark.severity != severity or mark.end_m <= mark.start_m:
                continue
            if severity == "note":
                line = view.band.path(mark.section, mark.start_m, mark.end_m, GAP_MM + WIDTH_MM + NOTE_MM)
                page.line(line[:, 0], line[:, 1], points=0.8, zorder=4.2)
                continue
            for quad in view.band.quads(mark.section, mark.start_m, mark.end_m):
                if severity == "stop":
                    page.polygon(quad, fill=style.INK, zorder=5.2)
                else:
                    page.polygon(quad, fill=style.PAPER, zorder=4.4)
                    page.hatch(quad, zorder=4.6)
            if mark.accepted and severity == "stop":  # it stays black, with a ring
                x, y = view.band.point(mark.section, 0.5 * (mark.start_m + mark.end_m), GAP_MM + 0.5 * WIDTH_MM)
                page.dot(x, y, 1.5, colour=style.INK, edge=style.PAPER, zorder=5.6)
                page.dot(x, y, 0.7, colour=style.PAPER, zorder=5.7)
    for section, start, end in warned_stops(data.marks):
        for quad in view.band.quads(section, start, end):
            page.hatch(quad, colour=style.PAPER, zorder=5.4)


def warned_stops(marks: Sequence[Marked]) -> list[tuple[int, float, float]]:
    """Stretches (section, start, end [m]) that are a stop and a warning too, none twice."""
    found = []
    for section in sorted({mark.section for mark in marks}):
        black, hatched = (
            unary_union([box(m.start_m, 0.0, m.end_m, 1.0) for m in marks if (m.section, m.severity) == (section, severity)])
            for severity in ("stop", "warn")
        )
        both = black.intersection(hatched)
        parts = [part.bounds for part in getattr(both, "geoms", [both]) if part.area > 0.0]
        found += [(section, float(start), float(end)) for start, _, end, _ in parts]
    return found


def _anchors(view: PlanView, findings: Sequence[ListedFinding]) -> list[tuple[int, np.ndarray, np.ndarray]]:
    """Where numbers belong: number, point on the page, direction away from the fence (or from the camera)."""
    found = []
    marks = [camera.mark for camera in view.site.camera]
    for finding in findings:
        for span in finding.spans:
            k, at = span.section, 0.5 * (span.start_m + span.end_m)
            found.append((finding.number, view.band.point(k, at, OUTER_MM), view.band.normal(k, at)))
        if finding.camera in marks:
            spot = view.cameras[marks.index(finding.camera)]
            found.append((finding.number, spot, np.array([0.0, 1.0])))
    return found


def joined(anchors: Sequence[tuple[int, np.ndarray, np.ndarray]]) -> list[tuple[str, np.ndarray, np.ndarray]]:
    """Numbers whose places lie within 4 mm share one mark: `4, 5`."""
    groups: list[tuple[list[int], np.ndarray, np.ndarray]] = []
    for number, point, away in anchors:
        near = next((g for g in groups if np.hypot(*(g[1] - point)) < JOINED_MM), None)
        if near is None:
            groups.append(([number], point, away))
        elif number not in near[0]:
            near[0].append(number)
    return [(", ".join(str(n) for n in sorted(group)), point, away) for group, point, away in groups]


def numbers(view: PlanView, findings: Sequence[ListedFinding]) -> None:
    """Each number in a round mark as near to its place as there is room; several stacked beside an upright fence."""
    for text, point, away in joined(_anchors(view, findings)):
        upright = abs(away[0]) > abs(away[1])
        lines = text.split(", ") if upright else [text]
        half = max(1.6, 0.5 * max(text_width_mm(line, style.SMALL, "bold") for line in lines) + (0.4 if upright else 1.0))
        tall = 1.6 + 1.4 * (len(lines) - 1)
        along = np.array([-away[1], away[0]])
        reach = (half if upright else tall) + 0.8
        spots = [
            point + side * (reach + off) * away + shift * along
            for side in (1.0, -1.0)
            for off in (0.0, 1.0, 2.2, 3.6, 5.6)
            for shift in (0.0, 2.5, -2.5, 5.0, -5.0)
        ]
        for x, y in spots:
            area = box(x - half - 0.3, y - tall - 0.3, x + half + 0.3, y + tall + 0.3)
            if view.free(area):
                _round(view.page, float(x), float(y), half, tall, lines)
                view.taken.append(area)
                break


def _round(page: Page, x: float, y: float, half: float, tall: float, lines: Sequence[str]) -> None:
    """Numbers in a circle or a stadium, centred at (x, y); half and tall: half its width and half its height."""
    round_mm = min(half, tall)
    across, down = half - round_mm, tall - round_mm
    ends = [Point(x + side * across, y + side * down).buffer(round_mm) for side in (-1.0, 1.0)]
    outline = ends[0].union(ends[1]).convex_hull
    page.polygon(np.array(outline.exterior.coords), fill=style.PAPER, edge=style.INK, points=0.6, zorder=8)
    for k, line in enumerate(lines):
        middle = y + 0.05 + 2.8 * (k - 0.5 * (len(lines) - 1))
        page.text(x, middle, line, size=style.SMALL, weight="bold", ha="center", va="center_baseline")


def _findings(page: Page, data: CheckData, y: float) -> tuple[float, int]:
    """The list: where it ends [mm], and how many it shows. All that it does not show is counted in its last line."""
    findings, shown = data.findings, 0
    width = page.right - LIST_LEFT - 5.0
    for finding in findings:
        measured = wrap(finding.measured, width, style.SMALL, most=4)
        fix = wrap(f"→ {finding.fix}", width, style.SMALL, most=3)
        if y + 4.0 + STEP_MM * (len(measured) + len(fix)) > LIST_BOTTOM_MM:
            break
        shown += 1
        weight = "bold" if finding.severity == "stop" else "normal"
        page.text(LIST_LEFT, y + 2.8, str(finding.number), weight="bold")
        head = shorten(f"{finding.severity}  {finding.id}", width, style.LABEL, weight)
        page.text(LIST_LEFT + 5.0, y + 2.8, head, weight=weight)
        y = page.lines_of_text(LIST_LEFT + 5.0, y + 5.8, measured, STEP_MM, size=style.SMALL, colour=style.SECOND)
        y = page.lines_of_text(LIST_LEFT + 5.0, y, fix, STEP_MM, size=style.SMALL) - 0.6
    if not findings:
        page.text(LIST_LEFT, y + 2.8, "Nothing that stops or warns.")
        y += 3.0
    more = more_words([*(f.severity for f in findings[shown:]), *["note"] * data.notes])
    if more:
        page.text(LIST_LEFT, y + 2.8, more, size=style.SMALL, colour=style.SECOND)
        y += 3.0
    return y, shown
