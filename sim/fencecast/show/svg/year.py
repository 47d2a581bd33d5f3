"""The year carpet: Pd of one segment in every armed hour of a year, with the months below it and its key."""

from __future__ import annotations

from dataclasses import dataclass

import xarray as xr

from fencecast.estimate.results import Results
from fencecast.show.paper.svgpage import SvgPage
from fencecast.show.svg.figure import FigureSvg
from fencecast.show.year.carpet import carpets
from fencecast.show.year.data import year_carpet_data

TOP_MM = 4.0  # words above a carpet
BELOW_MM = 1.2


@dataclass(frozen=True, eq=False)
class CarpetSvg(FigureSvg):
    """title: the finding; subtitle: what is drawn."""

    title: str = ""
    subtitle: str = ""


def carpet_svg(
    results: Results | xr.Dataset, prefix: str = "carpet", label: str | None = None, css_class: str = "fig-carpet"
) -> CarpetSvg | None:
    """The carpet of the named segment, one path a step of Pd; None without hourly weather and where no segment is watched."""
    results = Results.of(results)
    if "pd_state" not in results:
        return None
    data = year_carpet_data(results)
    if data.weak is None:
        return None
    page = SvgPage(prefix=prefix)
    page.set_height(carpets(page, data, data.weak, TOP_MM) + BELOW_MM)
    return CarpetSvg(
        page.svg(label or f"Year carpet: {data.title}", css_class=css_class), page.width_mm, page.height_mm, title=data.title,
        subtitle=data.subtitle,
    )  # fmt: skip
