"""Small bars for the rows of a table: metres by verdict, one Pd on 0 to 1, misses by cause. They show no place.

The number stands beside each as text on the page, so by default a bar is decoration; with `label` it is told by itself.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fencecast.show.fence.cause import cause_swatch
from fencecast.show.fence.sheet import DOTS_MM, share_bar
from fencecast.show.paper import style
from fencecast.show.paper.surface import LEAST_SLICE_MM
from fencecast.show.paper.svgpage import SvgPage, stroke
from fencecast.show.paper.svgpath import number, path_data, subpaths
from fencecast.show.svg.figure import FigureSvg

BAR_MM = (35.0, 4.0)
EDGE_MM = 0.2
DOT_MM, DOT_HEIGHT_MM = 1.5, 4.0


def share_bar_svg(
    weak_m: float, undecided_m: float, meets_m: float, no_data_m: float = 0.0, label: str = "", css_class: str = "bar"
) -> FigureSvg:
    """Weak (black), undecided (hatched), met (white) and unknown (dots) metres as shares of a bar; ValueError when all are 0."""
    metres = np.array([weak_m, undecided_m, meets_m, no_data_m], dtype=float)
    if not (np.all(metres >= 0.0) and metres.sum() > 0.0):
        raise ValueError(f"metres of a bar are not negative, and one is more than 0: not {metres.tolist()}")
    width, height = BAR_MM
    page = SvgPage(width + 2 * EDGE_MM, EDGE_MM, prefix=None)
    ends = EDGE_MM + np.concatenate([[0.0], np.cumsum(metres)]) / metres.sum() * width
    share_bar(page, ends, EDGE_MM, EDGE_MM, width, height)
    page.set_height(height + 2 * EDGE_MM)
    return FigureSvg(page.svg(label, css_class=css_class), page.width_mm, page.height_mm)


@dataclass(frozen=True, eq=False)
class DotSvg(FigureSvg):
    """x0, x1: x of Pd 0 and of Pd 1 [mm]; y: of the dot. The interval is `<path class="ci">`, the dot `<circle class="pt">`, so
    that a script can move them; both are hidden when there is no Pd."""

    x0: float = 0.0
    x1: float = 0.0
    y: float = 0.0


def pd_dot_svg(pd: float, low: float, high: float, requirement: float, label: str = "", css_class: str = "dot") -> DotSvg:
    """A Pd (fraction, NaN for none) as a dot with its interval on a line from 0 to 1; dashed, across it, the requirement."""
    page = SvgPage(DOTS_MM + 2 * DOT_MM, DOT_MM, prefix=None)
    x0, y = page.left, 0.5 * DOT_HEIGHT_MM
    known = not math.isnan(pd)
    hidden = {"visibility": None if known else "hidden"}
    ends = [x0 + DOTS_MM * (value if known else 0.0) for value in (low, high)]
    page.line([x0, page.right], [y, y], colour=style.GUIDE, points=0.5, zorder=1)
    d = path_data(subpaths([(ends[0], y), (ends[1], y)], False))
    page.raw("path", {"class": "ci", "d": d, "fill": "none", **stroke(style.LINE, 2.4), **hidden}, 3.0)
    at = x0 + DOTS_MM * (pd if known else 0.0)
    dot = {"cx": number(at), "cy": number(y), "r": number(0.5 * DOT_MM), "fill": style.INK}
    page.raw("circle", {"class": "pt", **dot, **hidden}, 6.0)
    page.line([x0 + requirement * DOTS_MM] * 2, [0.0, DOT_HEIGHT_MM], points=1.0, dashes=(3, 1.4), zorder=5)
    page.set_height(DOT_HEIGHT_MM)
    return DotSvg(page.svg(label, css_class=css_class), page.width_mm, DOT_HEIGHT_MM, x0=x0, x1=page.right, y=y)


def cause_bar_svg(shares: Mapping[str, float], width_mm: float = 60.0, label: str = "", css_class: str = "miss") -> FigureSvg:
    """Misses by cause as shares of one bar (fractions of all misses, in the order given); ValueError for a negative one or a sum
    above 1, KeyError for a word that is no cause."""
    if min(shares.values(), default=0.0) < 0.0 or sum(shares.values()) > 1.0 + 1e-6:
        raise ValueError(f"shares of causes are not negative and add up to 1 at most, not {dict(shares)}")
    page = SvgPage(width_mm + 2 * EDGE_MM, EDGE_MM, prefix=None)
    x = EDGE_MM
    for cause, share in shares.items():
        if share * width_mm >= LEAST_SLICE_MM:
            cause_swatch(page, x, EDGE_MM, cause, (share * width_mm, BAR_MM[1]))
        x += share * width_mm
    page.set_height(BAR_MM[1] + 2 * EDGE_MM)
    return FigureSvg(page.svg(label, css_class=css_class), page.width_mm, page.height_mm)
