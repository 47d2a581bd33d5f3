"""The fence strip with its profile, and the cause strip: the bodies of the pictures, without heading, key and foot.

Two marks for a script lie hidden on top: `<g class="here">`, to be moved to the x of a segment, has an arrow above the rows, one
below them, and ticks between rows, nothing inside a row; `<path class="row">`, to be moved to the middle of a row, points at it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import xarray as xr

from fencecast.estimate.results import Results
from fencecast.show.fence import cause, strip
from fencecast.show.fence.data import MOST_CLASSES, cause_strip_data, fence_strip_data
from fencecast.show.fence.unrolled import Unrolled
from fencecast.show.paper import style
from fencecast.show.paper.svgpage import SvgPage, element, stroke
from fencecast.show.paper.svgpath import number
from fencecast.show.svg.figure import FigureSvg

TOP_MM = 0.6
BELOW_MM = 1.2  # the lowest text has descenders
ARROW_MM = (1.3, 2.2)  # half width, height
TICK_MM = 0.8


@dataclass(frozen=True, eq=False)
class StripSvg(FigureSvg):
    """rows: names, classes worst first, in the strip last the year if it is drawn. tops: y of each row's upper edge [mm], and
    `row_mm` the height of all rows. x: middle of each segment [mm]. classes: how many weather classes the results have."""

    rows: tuple[str, ...] = ()
    tops: tuple[float, ...] = ()
    row_mm: float = 0.0
    x: tuple[float, ...] = ()
    classes: int = 0


def strip_svg(
    results: Results | xr.Dataset, prefix: str = "strip", label: str | None = None, css_class: str = "fig-strip",
    profile: bool = True, marker: bool = True,
) -> StripSvg:  # fmt: skip
    """Every weather class along the unrolled fence, worst on top, and the year; under them the profile: Pd in the worst class of
    each place with its interval and the three lowest places."""
    data = fence_strip_data(results)
    page = SvgPage(prefix=prefix)
    fence = Unrolled(page, data.fence, strip.LEFT, strip.RIGHT)
    y, tops = strip.strip_rows(fence, data, TOP_MM)
    height = strip.row_height(data)
    if profile:
        y = strip.profile(fence, data, y + 4.5)
    drawn = [*data.rows, data.year][: len(tops)]
    marks = _here(tops, height, style.RAIL_MM) + _row(height) if marker else ""
    label = label or "Fence strip: the fence unrolled, one row for each weather class, worst on top"
    rows = tuple(row.summary.name for row in drawn if row is not None)
    return _finished(page, fence, y, label, css_class, marks, rows, tops, height, (), len(data.rows))


def cause_svg(
    results: Results | xr.Dataset, prefix: str = "causes", label: str | None = None, css_class: str = "fig-causes",
    marker: bool = True,
) -> StripSvg:  # fmt: skip
    """Why crossings are missed along the fence: 1 - Pd stacked by cause, in the worst eight classes."""
    data = cause_strip_data(results)
    page = SvgPage(prefix=prefix)
    fence = Unrolled(page, data.fence, cause.LEFT, cause.RIGHT)
    y, tops, key = cause.cause_rows(fence, data, TOP_MM)
    height = cause.row_height(data)
    few = f", the worst {MOST_CLASSES} of {data.classes} weather classes" if data.classes > MOST_CLASSES else ""
    label = label or f"Cause strip: why crossings are missed, along the fence and by weather class{few}"
    marks = _here(tops, height, 0.5 + style.RAIL_MM) if marker else ""
    rows = tuple(row.fence.summary.name for row in data.rows)
    return _finished(page, fence, y, label, css_class, marks, rows, tops, height, key, data.classes)


def _finished(
    page: SvgPage, fence: Unrolled, y: float, label: str, css_class: str, marks: str, rows: tuple[str, ...],
    tops: Sequence[float], height: float, key: Sequence[str], classes: int,
) -> StripSvg:  # fmt: skip
    page.set_height(y + BELOW_MM)
    x = [0.5 * sum(fence.span(s.index, i, i + 1)) for s in fence.sections for i in range(s.first, s.stop)]
    return StripSvg(
        svg=page.svg(label, css_class=css_class, more=marks), width_mm=page.width_mm, height_mm=page.height_mm,
        key=fence.key_texts(key), rows=rows, tops=tuple(round(top, 2) for top in tops), row_mm=height,
        x=tuple(round(each, 2) for each in x), classes=classes,
    )  # fmt: skip


def _here(tops: Sequence[float], height: float, below: float) -> str:
    """Arrows and ticks at x = 0. below: what lies under a row [mm], above which no tick begins."""
    half, high = (number(each) for each in ARROW_MM)
    first, last = number(tops[0] - style.RAIL_MM - 0.1), number(tops[-1] + height + below + 0.1)
    arrows = element("path", {
        "d": f"M0 {first}l-{half}-{high}h{number(2 * ARROW_MM[0])}zM0 {last}l-{half} {high}h{number(2 * ARROW_MM[0])}z",
        "fill": style.INK, **stroke(style.PAPER, 1.0),
    })  # fmt: skip
    middles = [0.5 * (top + height + below + following - style.RAIL_MM) for top, following in zip(tops, tops[1:])]
    d = "".join(f"M0 {number(middle - 0.5 * TICK_MM)}v{number(TICK_MM)}" for middle in middles)
    ticks = element("path", {"d": d, "fill": "none", **stroke(style.INK, 1.4)}) if d else ""
    return element("g", {"class": "here", "visibility": "hidden"}, arrows + ticks)


def _row(height: float) -> str:
    """A triangle that points at a row whose middle is y = 0."""
    at, size = number(strip.LEFT - 1.3), number(min(1.1, 0.3 * height))
    d = f"M{at}-{size}l{size} {size}l-{size} {size}z"
    return element("path", {"class": "row", "visibility": "hidden", "d": d, "fill": style.INK})
