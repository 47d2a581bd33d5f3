"""Pd along the fence as a line with its interval, in axes of one's own or on a page."""

from __future__ import annotations

from typing import overload

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fencecast.estimate.places import Section, runs_of
from fencecast.estimate.results import Results
from fencecast.findings.words import confidence_text, feet, first_upper, whole
from fencecast.show.fence.profiledata import WORST, ProfileData, profile_data
from fencecast.show.paper import fonts, onaxes, style
from fencecast.show.paper.labels import tick_step
from fencecast.show.paper.page import Page

PLOT_MM = 52.0
LEFT_MM, RIGHT_MM = 14.0, 3.0  # beside the axes of a page
KEY_ABOVE_MM = 5.0  # over the axes of a page: the sections' letters stand between
TICKS_MM = 9.0  # least between ticks


@overload
def plot_profile(results: Results | xr.Dataset, weather: str = WORST, ax: None = None) -> Figure: ...
@overload
def plot_profile(results: Results | xr.Dataset, weather: str = WORST, *, ax: Axes) -> Axes: ...


def plot_profile(results: Results | xr.Dataset, weather: str = WORST, ax: Axes | None = None) -> Figure | Axes:
    """Pd with its interval along the fence, section by section as you walk it, with the requirement and gaps without data.

    weather: "worst" (the worst class of each place), "year", or the name of a class. ax: matplotlib axes to draw into, which are
    returned; without them a page is made, 180 mm wide. UnknownNameError for a class that is not there.
    """
    data = profile_data(results, weather)
    if ax is not None:
        _draw(onaxes.check_axes(ax), data)
        ax.set_title(first_upper(data.weather), parse_math=False)
        onaxes.caution_below(ax, data.fence.attrs)
        return ax
    page = Page()
    subtitle = f"Pd in {data.weather}, each section as you walk it; grey: {confidence_text(data.fence.confidence)} interval"
    top = page.heading(data.title, subtitle, data.fence.attrs) + 10.0
    page.foot(top + PLOT_MM + (14.0 if data.fence.units == "us" else 11.0), data.fence.attrs)
    width = page.right - RIGHT_MM - page.left - LEFT_MM
    corner = ((page.left + LEFT_MM) / page.width_mm, 1.0 - (top + PLOT_MM) / page.height_mm)
    ax = page.figure.add_axes((*corner, width / page.width_mm, PLOT_MM / page.height_mm))
    _draw(ax, data)
    ax.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0 + KEY_ABOVE_MM / PLOT_MM), ncols=4, frameon=False, borderaxespad=0.0)
    for text in ax.findobj(lambda artist: hasattr(artist, "set_fontfamily")):
        text.set_fontsize(style.LABEL)
        text.set_fontfamily(fonts.families(text.get_text()))
    return page.figure


def _draw(ax: Axes, data: ProfileData) -> None:
    known = np.where(np.isnan(data.pd), "", "known")
    first = {"interval": f"{confidence_text(data.fence.confidence)} interval", "pd": "Pd"}
    gap = False
    for run in runs_of(known, data.fence.sections):
        part = slice(run.first, run.stop)
        if not run.verdict:
            patch = onaxes.no_data_patch()
            ax.axvspan(
                data.from_m[run.first], data.to_m[run.stop - 1], facecolor=patch.get_facecolor(),
                edgecolor=patch.get_edgecolor(), hatch=patch.get_hatch(), linewidth=0.4, zorder=2, label="" if gap else "no data",
            )  # fmt: skip
            gap = True
            continue
        # Both ends of every segment, so that the line is level within it.
        at = np.column_stack([data.from_m[part], data.to_m[part]]).ravel()
        pd, low, high = (np.repeat(values[part], 2) for values in (data.pd, data.low, data.high))
        ax.fill_between(at, low, high, color=style.BAND, linewidth=0, zorder=3, label=first.pop("interval", ""))
        ax.plot(at, pd, color=style.INK, linewidth=0.9, solid_joinstyle="miter", zorder=6, label=first.pop("pd", ""))
    onaxes.requirement_line(ax, data.fence.requirement)
    onaxes.pd_axis(ax)
    _along(ax, data)
    ax.legend(frameon=True, facecolor=style.PAPER, framealpha=0.85, edgecolor="none")


def _along(ax: Axes, data: ProfileData) -> None:
    """Ticks restart in every section, as place codes do; sections are named above and divided by lines."""
    sections, units = data.fence.sections, data.fence.units
    begins = [float(data.from_m[section.first]) for section in sections]
    ends = [float(data.to_m[section.stop - 1]) for section in sections]
    ax.set_xlim(begins[0], ends[-1])
    width_mm = ax.get_window_extent().width / ax.figure.dpi * style.MM_PER_INCH
    step = tick_step(width_mm / (ends[-1] - begins[0]), TICKS_MM)
    ticks, words = [], []
    for section, begin in zip(sections, begins):
        for at in _section_ticks(section, step):
            ticks.append(begin + at)
            words.append(f"{whole(at)}\n{whole(feet(at))}" if units == "us" else whole(at))
    ax.set_xticks(ticks, words)
    ax.set_xlabel("metres along each section, feet below" if units == "us" else "metres along each section")
    for begin in begins[1:]:
        ax.axvline(begin, color=style.LINE, linewidth=0.8, zorder=2.5)
    top = ax.secondary_xaxis("top")
    top.set_xticks([0.5 * (a + b) for a, b in zip(begins, ends)], [section.letter for section in sections])
    top.tick_params(length=0)


def _section_ticks(section: Section, step: float) -> np.ndarray:
    """From 0 on; none so near to the section's end that it would stand on the next one's 0."""
    return np.arange(0.0, max(section.length_m - 0.6 * step, step * 1e-6), step)
