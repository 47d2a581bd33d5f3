"""The plan of one weather class in a user's own axes, in metres of the site: fence by Pd, weak stretches, buildings, cameras."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from shapely import LineString
from shapely.ops import substring

from fencecast.errors import UnknownNameError
from fencecast.estimate.places import runs_of
from fencecast.findings.words import hours_text
from fencecast.show.fence.data import Fence, FenceRow, PlanData
from fencecast.show.paper import onaxes, style

BAND_POINTS, CASING_POINTS, WEAK_POINTS = 4.0, 5.2, 8.5
DOTTED = (0.0, (1.0, 2.0))
STROKE_INCHES = 3.2 / style.MM_PER_INCH  # of a camera along its bearing, as in the other plans


def draw_plan(ax: Axes, data: PlanData, weather: str | None) -> Axes:
    """One class; weather: its name, the worst class when None. UnknownNameError for a class that is not in the data."""
    row = _row(data, weather)
    fence, ramp = data.fence, style.fence7(data.fence.requirement)
    for obstacle in fence.site.obstacle:
        corners = np.array(obstacle.footprint_m, dtype=float)
        ax.add_patch(Polygon(corners, facecolor=style.BUILDING, edgecolor=style.LINE, linewidth=0.5, zorder=1.5))
    colours = np.array(["" if np.isnan(pd) else ramp.colour(float(pd)) for pd in row.pd], dtype=object)
    weak = [line for line, word in stretches(fence, row.verdict) if word == "weak"]
    bands = stretches(fence, colours)
    how = {"capstyle": "butt", "joinstyle": "miter"}
    ax.add_collection(LineCollection(weak, colors=style.INK, linewidths=WEAK_POINTS, zorder=2, **how))
    casing = [line for line, _ in stretches(fence, np.full(len(row.pd), "fence"))]
    ax.add_collection(LineCollection(casing, colors=style.INK, linewidths=CASING_POINTS, zorder=2.1, **how))
    fills = [colour or style.PAPER for _, colour in bands]
    ax.add_collection(LineCollection([line for line, _ in bands], colors=fills, linewidths=BAND_POINTS, zorder=2.2, **how))
    blank = [line for line, colour in bands if not colour]  # dotted: the highest step of Pd is nearly white too
    ax.add_collection(LineCollection(blank, colors=style.SECOND, linewidths=BAND_POINTS / 3, linestyles=[DOTTED], zorder=2.3))
    _cameras(ax, fence)
    ax.set_aspect("equal", adjustable="datalim")
    ax.autoscale_view()
    ax.margins(0.06)
    ax.set_xlabel("east, m")
    ax.set_ylabel("north, m")
    ax.set_title(f"{row.summary.name}, {hours_text(row.summary.hours, row.summary.years)}", parse_math=False)
    ax.legend(handles=_handles(ramp, bool(weak), bool(blank)), loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False)
    onaxes.caution_below(ax, fence.attrs)
    return ax


def stretches(fence: Fence, words: np.ndarray) -> list[tuple[np.ndarray, str]]:
    """Lines of touching segments with the same word, (points, 2) [m] each, and their word: one line, so that no joint shows."""
    perimeters = {each.name: each for each in fence.site.perimeter}
    found = []
    for run in runs_of(words, fence.sections):
        perimeter = perimeters[fence.sections[run.section].name]
        points = [*perimeter.points_m, perimeter.points_m[0]] if perimeter.closed else perimeter.points_m
        part = substring(LineString(points), float(fence.start_m[run.first]), float(fence.end_m[run.stop - 1]))
        found.append((np.array(part.coords), run.verdict))
    return found


def _row(data: PlanData, weather: str | None) -> FenceRow:
    if weather is None:
        return data.rows[0]
    for row in data.rows:
        if row.summary.name == weather:
            return row
    raise UnknownNameError("weather", weather, [row.summary.name for row in data.rows], "the picture")


def _cameras(ax: Axes, fence: Fence) -> None:
    cameras = fence.site.camera
    at = np.array([camera.position_m for camera in cameras], dtype=float).reshape(-1, 2)
    bearing = np.array([math.radians(camera.bearing_deg) for camera in cameras])
    ax.quiver(
        at[:, 0], at[:, 1], np.sin(bearing), np.cos(bearing), angles="uv", units="inches", scale_units="inches",
        scale=1.0 / STROKE_INCHES, width=0.014, headlength=0, headaxislength=0, headwidth=0, color=style.INK, zorder=6,
    )  # fmt: skip
    ax.plot(at[:, 0], at[:, 1], linestyle="none", marker="o", markersize=3.0, color=style.INK, zorder=6)
    for camera, (x, y) in zip(cameras, at):
        ax.annotate(
            camera.mark, (x, y), xytext=(4.0, -4.0), textcoords="offset points", va="top", fontsize=style.LABEL, zorder=7,
            parse_math=False, bbox={"facecolor": style.PAPER, "edgecolor": "none", "alpha": 0.7, "pad": 0.5},
        )  # fmt: skip


def _handles(ramp: style.Ramp, weak: bool, blank: bool) -> list[Line2D]:
    """The legend: the steps of Pd, what black edges mean, and gaps where there are any."""
    steps = [
        Line2D([], [], color=colour, linewidth=BAND_POINTS, label=f"Pd {low:g} to {high:g}")
        for colour, low, high in zip(ramp.colours, ramp.edges, ramp.edges[1:])
    ]
    more = [Line2D([], [], color=style.INK, linewidth=WEAK_POINTS, label="weak (black edges)")] if weak else []
    dots = {"linestyle": DOTTED, "linewidth": BAND_POINTS / 3}
    more += [Line2D([], [], color=style.SECOND, label="no data (dotted)", **dots)] if blank else []
    return [*reversed(steps), *more]
