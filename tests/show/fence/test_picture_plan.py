"""The plan names the right metre, loses no name, and is drawn as large as its page allows.

The invented sites are in `show/invented_results.py`; places and codes are worked out here from their segments.
"""

import re

import numpy as np
import pytest
from matplotlib.lines import Line2D

from fencecast.estimate.results import Results
from fencecast.findings.words import pd_text
from fencecast.show.fence.data import fence_of, plan_data
from fencecast.show.fence.plan import plot_plan
from fencecast.show.fence.planframe import PAGE_MM, WHOLE_PAGE_MM, extent, plan_layout, scale_of, turned
from fencecast.show.fence.planlabels import number
from fencecast.show.fence.planview import PlanView
from fencecast.show.fence.summary import plot_summary
from fencecast.show.paper import style
from fencecast.show.paper.labels import short_marks
from fencecast.show.paper.page import Page
from show import invented_results
from show.overlap import text_boxes, texts

ALL = invented_results.ALL


def segment_code(results, segment):
    """`B 31–32 m` from the segment's own ends."""
    code = str(Results.of(results).sections[0].letter) and None
    for section in Results.of(results).sections:
        if section.first <= segment < section.stop:
            code = section.letter
    start, end = (float(results[name].values[segment]) for name in ("segment_start_m", "segment_end_m"))
    return f"{code} {int(start + 0.5):,}–{int(end + 0.5):,} m"


@pytest.mark.parametrize("size", ["yard", "short_sections", "closed_ring"])
def test_a_leader_ends_at_the_place_that_its_number_names(size):
    """Catches: a number at 'B 32 m' whose line points at another metre of the same weak run, or over a joint."""
    fence = fence_of(Results.of(ALL[size]()))
    named = 0
    for segment in range(0, len(fence.chainage_m), 3):
        page = Page()
        view = PlanView(page, fence, 20.0, 20.0, 120.0, 90.0)
        view.slack = (20.0, 10.0, 10.0)
        view.base()
        before = len(page.axes.lines)
        k, chainage = fence.section_of(segment).index, float(fence.chainage_m[segment])
        if not number(view, "0.53", "X 1–2 m", k, chainage):
            continue
        named += 1
        (leader,) = page.axes.lines[before:]
        start = np.array([leader.get_xdata()[0], leader.get_ydata()[0]])
        off = start - view.band.point(k, chainage, 0.0)
        normal = view.band.normal(k, chainage)
        assert abs(off[0] * normal[1] - off[1] * normal[0]) < 0.15 or _at_a_corner(view, k, chainage)
        assert np.hypot(*off) < 5.0
        assert np.hypot(*(np.diff([leader.get_xdata(), leader.get_ydata()], axis=1).ravel())) <= 10.0 + 1e-6
    assert named >= 0.9 * len(range(0, len(fence.chainage_m), 3))


def _at_a_corner(view, k, chainage):
    """Whether the band is mitred there, so that its outer side is no longer square to the fence."""
    bounds = view.band.chainages[k]
    return min(abs(chainage - b) for b in bounds) * view.scale < 4.0


@pytest.mark.parametrize("size", ["yard", "large", "short_sections", "twelve_classes", "long_fence", "one_class"])
def test_the_two_lowest_places_of_every_class_are_named(size):
    """Catches: the lowest number dropped because there was no room for it."""
    results = ALL[size]()
    said = texts(plot_plan(results))
    for row, numbers in zip(plan_data(results).rows, plan_data(results).numbers):
        weak = np.asarray(row.verdict) == "weak"
        if weak.any():
            lowest = int(np.argmin(np.where(weak, row.pd, 2.0)))
            assert numbers[0].segment == lowest
        for found in numbers:
            assert found.code == segment_code(results, found.segment)
            pd = pd_text(float(row.pd[found.segment]))
            one_line = f"{pd}  at {found.code}"
            assert any(one_line in text for text in said) or {pd, found.code} <= set(said), (row.summary.name, one_line)


@pytest.mark.parametrize("size", ["long_fence", "tall_fence", "large", "yard"])
@pytest.mark.parametrize("draw", [plot_plan, plot_summary])
def test_every_camera_is_named_and_no_two_marks_read_as_one(size, draw):
    """Catches: marks without room that vanish, and `P1, P3 C9`: two labels a blank apart on one line."""
    results = ALL[size]()
    site = Results.of(results).site
    marks, _ = short_marks([c.mark for c in site.camera])
    figure = draw(results)
    said = texts(figure)
    named = {part for text in said for part in text.split(", ")} | {
        m for text in said for m in re.findall(r"(\S+) by \S+ \d", text)
    }
    assert set(marks.values()) <= named
    labels = [box for box in text_boxes(figure) if set(box[0].split(", ")) <= set(marks.values())]
    width_of_a_blank = 0.8  # mm, of the label's type
    for i, (a, left, bottom, right, top) in enumerate(labels):
        for b, *other in labels[i + 1 :]:
            same_line = min(top, other[3]) - max(bottom, other[1]) > 0.5 * min(top - bottom, other[3] - other[1])
            gap = max(other[0] - right, left - other[2])
            assert not same_line or gap > 2.0 * width_of_a_blank or draw is plot_summary and gap > width_of_a_blank, (a, b)


@pytest.mark.parametrize("size", ["large", "long_fence", "yard"])
def test_an_obstacle_has_one_number_in_all_pictures(size):
    """Catches: `ob1`, the store in one picture and a boat in the next; a number whose key has gone, a name that has."""
    results = ALL[size]()
    obstacles = [o.name for o in Results.of(results).site.obstacle]
    for draw in (plot_plan, plot_summary):
        said = texts(draw(results))
        page = " ".join(said)
        for number_text in re.findall(r"\bob(\d+)\b", page):
            assert f"ob{number_text} = {obstacles[int(number_text) - 1].split()[0]}" in page
        for name in obstacles:
            assert all(word in page for word in name.split()), name


@pytest.mark.parametrize("size", ["long_fence", "tall_fence", "one_class"])
def test_the_fence_fills_the_page(size):
    """Catches: half a page of white beside a long fence, a long way north as a hair line, one class in half a page."""
    results = ALL[size]()
    site, rows = Results.of(results).site, plan_data(results).rows
    layout = plan_layout(site, len(rows), "si")
    drawn = extent(site, layout.turn_deg)[0] * scale_of(site, layout.turn_deg, layout.width_mm, layout.most_mm)
    assert layout.columns == 1 and drawn > 0.8 * PAGE_MM
    assert abs(layout.turn_deg) == (90.0 if size == "tall_fence" else 0.0)
    figure = plot_plan(results)
    assert figure.get_size_inches()[1] * style.MM_PER_INCH <= WHOLE_PAGE_MM + 6.0


def test_a_turned_plan_turns_everything():
    """Catches: cameras that look across the turned fence, a north arrow that still points up."""
    assert turned([(0.0, 1.0)], 90.0)[0] == pytest.approx([1.0, 0.0])
    results = ALL["tall_fence"]()
    fence = fence_of(Results.of(results))
    page = Page()
    view = PlanView(page, fence, 4.0, 10.0, 172.0, 60.0, 90.0)
    view.base()
    assert view.to_ground(*view.to_page(3.0, 70.0)) == pytest.approx([3.0, 70.0])
    strokes = [line for line in page.axes.lines if line.get_linewidth() == 1.0]
    assert len(strokes) == 20
    for stroke in strokes:  # all look north along the fence, which lies along the page
        assert np.ptp(stroke.get_ydata()) < 1e-6 and stroke.get_xdata()[1] > stroke.get_xdata()[0]
    figure = plot_plan(results)
    words = {text: (x0, x1) for text, x0, _, x1, _ in text_boxes(figure)}
    x0, x1 = words["grid N"]
    arrows = [
        line for line in figure.findobj(Line2D) if line.get_linewidth() == 0.9 and len(line.get_xdata()) == 2
        and x0 - 3 < np.mean(line.get_xdata()) < x1 + 3 and np.hypot(np.ptp(line.get_xdata()), np.ptp(line.get_ydata())) < 4.6
    ]  # fmt: skip
    assert any(np.ptp(line.get_ydata()) < 1e-6 for line in arrows)
