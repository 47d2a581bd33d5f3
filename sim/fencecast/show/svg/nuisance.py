"""Nuisance alarms a night as a figure of a page: the bars, axis and key of `nuisance.png`, without heading and foot."""

from __future__ import annotations

from dataclasses import dataclass

import xarray as xr

from fencecast.estimate.results import Results
from fencecast.show.nuisance.data import nuisance_data
from fencecast.show.nuisance.nights import draw_nights
from fencecast.show.paper.svgpage import SvgPage
from fencecast.show.svg.figure import FigureSvg

TOP_MM, BELOW_MM = 0.6, 1.2


@dataclass(frozen=True, eq=False)
class NightsSvg(FigureSvg):
    """title: the finding; subtitle: what is drawn."""

    title: str = ""
    subtitle: str = ""


def nuisance_svg(
    results: Results | xr.Dataset, prefix: str = "nuisance", label: str | None = None, css_class: str = "fig-nuisance"
) -> NightsSvg:
    """A bar for each weather class and one for the year; UsageError for results that count no nuisance alarms."""
    data = nuisance_data(results)
    page = SvgPage(prefix=prefix)
    page.set_height(draw_nights(page, data, TOP_MM) + BELOW_MM)
    svg = page.svg(label or data.title, css_class=css_class)
    return NightsSvg(svg, page.width_mm, page.height_mm, title=data.title, subtitle=data.subtitle)
