"""Where nuisance alarms come from along the fence (`nuisance-plan.png`)."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.places import runs_of
from fencecast.estimate.results import Results
from fencecast.findings.nuisancewords import rate_words
from fencecast.show.fence.plan import scale_and_north
from fencecast.show.fence.planlabels import gate_names, letters, number
from fencecast.show.fence.planmarks import building_names, camera_labels
from fencecast.show.fence.planview import PlanView
from fencecast.show.nuisance.data import NuisancePlanData, band_of, nuisance_plan_data
from fencecast.show.paper import style
from fencecast.show.paper.key import SWATCH_MM
from fencecast.show.paper.page import Page
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import wrap

MOST_HEIGHT_MM = 150.0
LEAST_LEADER_MM = 5.0  # of a number: a shorter one is taken for a dash
ASIDE_MM = 14.0  # on both sides, for numbers
# Few alarms to many: lightness alone orders them. Ink is trouble here too, and the hue is not that of Pd.
BAND_FILLS = ("#F5F8F9", "#C6D1D8", "#90A3AF", "#586C79", "#22303A")


def plot_nuisance_plan(results: Results | xr.Dataset) -> Figure:
    """The plan with alarms per 100 m and night of what passes the fence, over the year, in five bands; the busiest stretches have
    their numbers.

    results: of a site with `[[stimulus]]` tables. Returns a matplotlib Figure, 180 mm wide.
    """
    data = nuisance_plan_data(results)
    page = Page()
    y = page.heading(data.title, data.subtitle, data.fence.attrs) + 1.0
    view = PlanView(page, data.fence, page.left + ASIDE_MM, y, page.right - page.left - 2.0 * ASIDE_MM, MOST_HEIGHT_MM)
    view.slack = (ASIDE_MM, 0.6, 1.0)
    view.base()
    draw_band(view, data)
    letters(view, size=style.HEAD, weight="bold")
    left_over = []
    for busy in data.busiest:
        section = data.fence.section_of(busy.segment).index
        text, at_m = f"{rate_words(busy.per_night)} a night", float(data.fence.chainage_m[busy.segment])
        if not number(view, text, busy.code, section, at_m, LEAST_LEADER_MM):
            left_over.append(f"{text} at {busy.code}")
    keys = [camera_labels(view), gate_names(view), building_names(view)]
    names = " · ".join(f"{s.letter} = {s.name}" for s in data.fence.sections if s.name != s.letter)
    most = f"Most: {' · '.join(left_over)}" if left_over else ""
    y = view.y + view.height + 1.0
    lines = [line for text in (most, names, *keys) if text for line in wrap(text, page.right - page.left, style.SMALL)]
    y = page.lines_of_text(page.left, y + 3.0, lines, 3.0, size=style.SMALL, colour=style.SECOND) - 1.0
    low = band_key(page, data, page.left, y + 1.0)
    scaled = scale_and_north(page, view.scale, 130.0, y + 2.6, data.fence.units)
    page.foot(max(low, scaled) + 3.0, data.fence.attrs)
    return page.figure


def draw_band(view: PlanView, data: NuisancePlanData) -> None:
    """The band along the fence in the colours of its numbers; dots where there are none."""
    page, fence = view.page, data.fence
    words = ["no data" if math.isnan(value) else str(band_of(value, data.edges)) for value in data.per_100m]
    cells, fills = [], []
    for k, section in enumerate(view.sections):
        view.frame(k, section)
    for run in runs_of(words, view.sections):
        quads = view.band.quads(run.section, fence.start_m[run.first], fence.end_m[run.stop - 1])
        if run.verdict == "no data":
            for quad in quads:
                page.no_data(quad, zorder=3.5)
            continue
        cells += quads
        fills += [BAND_FILLS[int(run.verdict)]] * len(quads)
    page.polygons(cells, fills)
    view.joints()


def band_key(page: Surface, data: NuisancePlanData, x: float, y: float, width: float = 106.0) -> float:
    """The bands side by side with the numbers between them, and 'no data' apart; returns the y of the lowest text."""
    page.text(x, y + 2.4, "Nuisance alarms per 100 m of fence and night")
    top, height, step = y + 3.6, 3.0, (width - 26.0) / len(BAND_FILLS)
    for k, fill in enumerate(BAND_FILLS):
        page.rect(x + k * step, top, step, height, fill=fill)
    page.rect(x, top, step * len(BAND_FILLS), height, edge=style.LINE, points=0.5, zorder=5)
    for k, edge in enumerate(data.edges):
        where = "left" if k == 0 else "center"
        page.text(x + k * step, top + height + 3.0, f"{edge:g}", ha=where, size=style.SMALL, colour=style.SECOND)
    if np.isnan(data.per_100m).any():
        left = x + step * len(BAND_FILLS) + 6.0
        page.no_data(_corners(left, top, SWATCH_MM[0], height))
        page.text(left + SWATCH_MM[0] + 1.8, top + 2.3, "no data")
    return top + height + 3.6


def _corners(x: float, y: float, width: float, height: float) -> Sequence[tuple[float, float]]:
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
