"""Predicted and observed alarms of a walk test as a figure of a page: rows, axis and key of `predicted-observed.png`."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.walkscorewords import prediction_title
from fencecast.prove.score.predictive import PredictionScore
from fencecast.show.paper.svgpage import SvgPage
from fencecast.show.svg.figure import FigureSvg
from fencecast.show.walk.predictedobserved import draw_predicted_observed
from fencecast.show.walk.scoredata import group_rows

TOP_MM, BELOW_MM = 0.6, 0.6


@dataclass(frozen=True, eq=False)
class WalksSvg(FigureSvg):
    """title: the finding."""

    title: str = ""


def predicted_observed_svg(found: PredictionScore, label: str | None = None, css_class: str = "fig-walks") -> WalksSvg:
    """A row for every group of walks and cameras by predicted Pd: the band, the predicted share and the observed one."""
    page, title = SvgPage(prefix=None), prediction_title(found)
    page.set_height(draw_predicted_observed(page, group_rows(found), None, TOP_MM) + BELOW_MM)
    svg = page.svg(f"{title}." if label is None else label, css_class=css_class)
    return WalksSvg(svg, page.width_mm, page.height_mm, title=title)
