"""Pd against distance of one weather class, in a user's own axes."""

from __future__ import annotations

from matplotlib.axes import Axes

from fencecast.errors import UnknownNameError
from fencecast.findings.words import feet, hours_text
from fencecast.show.look.data import DistanceData, DistancePanel
from fencecast.show.look.distancebars import colour_of
from fencecast.show.paper import onaxes, style
from fencecast.units import METRES_PER_FOOT


def draw_distance(ax: Axes, data: DistanceData, weather: str | None) -> Axes:
    """The curves of one class with their intervals and the requirement; weather: its name, the worst class when None.

    UnknownNameError for a class that is not in the data.
    """
    panel = panel_of(data, weather)
    far = float(data.distance_m[-1])
    for curve in panel.curves:
        colour, dashes = colour_of(curve.lens), {"dashes": (4, 1.8)} if curve.lens.dashed else {}
        ax.fill_between(data.distance_m, curve.low, curve.high, color=colour, alpha=0.28, linewidth=0, zorder=3)
        label = f"{curve.lens.spoken}: {curve.words}"
        ax.plot(data.distance_m, curve.pd, color=colour, linewidth=1.4, zorder=6, label=label, **dashes)
    onaxes.requirement_line(ax, data.requirement)
    onaxes.pd_axis(ax)
    ax.set_xlim(0.0, far)
    ax.set_xlabel("ground distance, m")
    if data.units == "us":
        top = ax.secondary_xaxis("top", functions=(feet, lambda value: value * METRES_PER_FOOT))
        top.set_xlabel("ft")
    summary = panel.summary
    ax.set_title(f"{summary.name}, {hours_text(summary.hours, summary.years)}", parse_math=False)
    legend = ax.legend(frameon=True, facecolor=style.PAPER, framealpha=0.85, edgecolor="none")
    for text in legend.get_texts():
        text.set_parse_math(False)
    onaxes.caution_below(ax, data.attrs)
    return ax


def panel_of(data: DistanceData, weather: str | None) -> DistancePanel:
    """The panel of a class, of the first block of lenses; the worst class when None."""
    panels = data.panels[0]
    if weather is None:
        return panels[0]
    for panel in panels:
        if panel.summary.name == weather:
            return panel
    raise UnknownNameError("weather", weather, [panel.summary.name for panel in panels], "the picture")
