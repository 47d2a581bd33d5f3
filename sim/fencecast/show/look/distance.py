"""Pd against distance: from where to where does each lens meet the requirement (`distance.png`, `comparison-distance.png`)?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import overload

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fencecast.errors import UsageError
from fencecast.estimate.places import ClassSummary
from fencecast.estimate.results import Results
from fencecast.findings.words import feet, hours_text, requirement_text, whole
from fencecast.show.look.data import ACROSS, Curve, DistanceData, Lens, comparison_distance_data, distance_data
from fencecast.show.look.distanceaxes import draw_distance
from fencecast.show.look.distancebars import PANEL_MM, Panel, bridge_table, colour_of, no_room, range_bar
from fencecast.show.paper import onaxes, style
from fencecast.show.paper.labels import tick_step
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm, wrap

LONGEST_LABEL_MM = 9.0
BAR_STEP_MM = 4.2


def _label(lens: Lens, block: Sequence[Lens]) -> str:
    """Short, for the picture: '3 mm', its name, or a letter."""
    if lens.by_focal:
        return lens.focal
    short = all(text_width_mm(each.name, style.SMALL) <= LONGEST_LABEL_MM for each in block)
    return lens.name if short else "AB"[lens.dashed]


def _in_key(lens: Lens, block: Sequence[Lens]) -> str:
    """A lens for the key: '3 mm lens', or, where focal lengths are alike, 'wide: 3 mm, f/1.0'."""
    if lens.by_focal:
        return f"{lens.focal} lens"
    label = _label(lens, block)
    return f"{'' if label == lens.name else f'{label} = '}{lens.name}: {lens.description}"


def _axes(panel: Panel, need: float, units: str) -> None:
    page = panel.page
    for level, label in ((0.0, "0"), (0.5, "0.5"), (1.0, "1")):
        page.line(
            [panel.left, panel.right], [panel.y(level)] * 2, colour=style.GUIDE if level else style.LINE, points=0.5, zorder=1
        )
        if abs(level - need) * PANEL_MM[1] > 2.4:
            page.text(panel.left - 1.2, panel.y(level) + 0.9, label, size=style.SMALL, colour=style.SECOND, ha="right")
        page.line([panel.left - 0.8, panel.left], [panel.y(level)] * 2, colour=style.LINE, points=0.5)
    page.line([panel.left] * 2, [panel.top, panel.bottom], colour=style.LINE, points=0.6, zorder=1)
    page.line([panel.left - 0.8, panel.right], [panel.y(need)] * 2, points=1.1, dashes=(5, 2), zorder=7)
    page.text(panel.left - 1.2, panel.y(need) + 0.9, requirement_text(need), size=style.SMALL, weight="bold", ha="right")
    step = tick_step(PANEL_MM[0] / panel.farthest_m, 8.0)
    for distance in np.arange(0.0, panel.farthest_m + 1e-9, step):
        at = panel.x(distance)
        page.line([at, at], [panel.bottom, panel.bottom + 0.8], colour=style.LINE, points=0.5)
        page.text(at, panel.bottom + 3.4, f"{distance:g}", size=style.SMALL, colour=style.SECOND, ha="center")
        if units == "us":
            page.text(at, panel.bottom + 6.2, whole(feet(distance)), size=style.SMALL, colour=style.SECOND, ha="center")
    if units == "us":
        page.text(panel.left - 2.2, panel.bottom + 3.4, "m", size=style.SMALL, colour=style.SECOND, ha="right")
        page.text(panel.left - 2.2, panel.bottom + 6.2, "ft", size=style.SMALL, colour=style.SECOND, ha="right")


def _stretches(known: np.ndarray) -> list[slice]:
    """Runs of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]]).astype(int)))
    return [slice(a, b) for a, b in zip(edges[::2], edges[1::2])]


def _draw_curve(panel: Panel, distances: np.ndarray, curve: Curve) -> None:
    """The curve with its interval band; gaps where there is no data."""
    page, lens, colour = panel.page, curve.lens, colour_of(curve.lens)
    for part in _stretches(~np.isnan(curve.pd)):
        xs = panel.x(distances[part])
        upper, lower = (np.column_stack([xs, panel.y(level[part])]) for level in (curve.high, curve.low))
        page.polygon(np.concatenate([lower, upper[::-1]]), fill=colour, zorder=3, alpha=0.28)
        if lens.dashed:
            for edge in (curve.low, curve.high):
                page.line(xs, panel.y(edge[part]), colour=colour, points=0.35, zorder=3.1)
        dashes = {"dashes": (4, 1.8)} if lens.dashed else {}
        page.line(xs, panel.y(curve.pd[part]), colour=colour, points=1.4, zorder=8 if lens.dashed else 6, **dashes)


def _no_data(panel: Panel, distances: np.ndarray, missing: np.ndarray) -> None:
    """Dots where no lens has data; a word as well when that is everywhere."""
    edges = np.concatenate([[distances[0]], 0.5 * (distances[1:] + distances[:-1]), [distances[-1]]])
    for part in _stretches(missing):
        a, b = panel.x(edges[part.start]), panel.x(edges[part.stop])
        panel.page.no_data([(a, panel.top), (b, panel.top), (b, panel.bottom), (a, panel.bottom)])
    if missing.all():
        panel.page.text(0.5 * (panel.left + panel.right), 0.5 * (panel.top + panel.bottom), "no data", ha="center", plate=True)


def _curves(data: DistanceData) -> list[Curve]:
    return [curve for panels in data.panels for panel in panels for curve in panel.curves]


def _direct_labels(panel: Panel, distances: np.ndarray, curves: Sequence[Curve], need: float) -> None:
    """Each lens's name beside its curve, clear of curves, bands and requirement; when one has no room, the key names all."""
    taken: list[tuple[float, float, float, float]] = []
    height, block = 3.6, [curve.lens for curve in curves]
    for lens in block:
        width = text_width_mm(_label(lens, block), style.HEAD, "bold") + 1.2
        spot = _free_spot(panel, distances, curves, lens, (width, height), need, taken)
        if spot is None:
            return
        taken.append((*spot, width, height))
    for lens, (left, top, width, _) in zip(block, taken):
        panel.page.text(
            left + width / 2, top + height - 0.9, _label(lens, block), size=style.HEAD, weight="bold",
            colour=style.B_TEXT if lens.dashed else style.A_COLOUR, ha="center", zorder=9,
        )  # fmt: skip


def _free_spot(
    panel: Panel,
    distances: np.ndarray,
    curves: Sequence[Curve],
    own: Lens,
    size: tuple[float, float],
    need: float,
    taken: Iterable[tuple[float, float, float, float]],
) -> tuple[float, float] | None:
    """Upper left corner of the free box nearest to its own curve and clearly nearer to it than to any other, or None."""
    width, height = size
    fine = np.linspace(distances[0], distances[-1], 200)
    xs = panel.x(fine)
    lines = {c.lens.name: [np.interp(fine, distances, level) for level in (c.pd, c.low, c.high)] for c in curves}
    own_pd = lines[own.name][0]
    best, best_cost = None, 9.0  # mm: farther away a label belongs to nobody
    for left in np.arange(panel.left + 1.0, panel.right - width, 1.0):
        under = (xs >= left - 0.8) & (xs <= left + width + 0.8)
        if not under.any() or np.isnan(own_pd[under]).any():
            continue
        for top in np.arange(panel.top + 0.6, panel.bottom - height, 0.8):
            clear = all(
                np.nanmin(panel.y(high[under]), initial=1e9) > top + height + 0.6
                or np.nanmax(panel.y(low[under]), initial=-1e9) < top - 0.6
                for _, low, high in lines.values()
            )
            clear &= not top - 0.6 < panel.y(need) < top + height + 0.6
            clear &= all(
                left > x + w + 1 or left + width < x - 1 or top > y + h + 0.5 or top + height < y - 0.5 for x, y, w, h in taken
            )
            if not clear:
                continue
            # By the mean over the label's width: the nearest point of a steep curve would speak for all of it.
            away = {name: np.abs(panel.y(pd[under]) - (top + height / 2)).mean() for name, (pd, _, _) in lines.items()}
            cost = away.pop(own.name)
            if any(other < 1.25 * cost for other in away.values()):
                continue
            if cost < best_cost:
                best, best_cost = (left, top), cost
    return best


def _key(page: Page, y: float, blocks: Sequence[Sequence[Lens]], need: float, gaps: bool) -> float:
    """Lenses, requirement and, where it is drawn, 'no data'; returns the y of its lowest text."""
    lenses = max(blocks, key=len)
    names = [_in_key(lens, lenses) for lens in lenses] if len(blocks) == 1 else ["the lens named first", "the lens named second"]
    x, text_of = page.left, {lens.name: f"{name}, Pd and interval" for lens, name in zip(lenses, names)}
    entries = [*lenses, "requirement"] + (["no data"] if gaps else [])
    for entry in entries:
        text = text_of[entry.name] if isinstance(entry, Lens) else f"requirement {requirement_text(need)}"
        text = "no data: not simulated" if entry == "no data" else text
        width = 10.8 + text_width_mm(text)
        if x > page.left and x + width > page.right:
            x, y = page.left, y + 5.0
        if isinstance(entry, Lens):
            page.rect(x, y - 1.4, 9.0, 2.8, fill=colour_of(entry), alpha=0.28)
            if entry.dashed:
                page.rect(x, y - 1.4, 9.0, 2.8, edge=colour_of(entry), points=0.35)
            page.line([x, x + 9.0], [y, y], colour=colour_of(entry), points=1.4, **({"dashes": (4, 1.8)} if entry.dashed else {}))
        elif entry == "requirement":
            page.line([x, x + 9.0], [y, y], points=1.1, dashes=(5, 2))
        else:
            page.no_data([(x, y - 1.4), (x + 9.0, y - 1.4), (x + 9.0, y + 1.4), (x, y + 1.4)])
        page.text(x + 10.8, y + 0.9, text)
        x += width + 9.0
    return y + 1.0


def _head(page: Page, c: ClassSummary, x: float, y: float, width: float) -> None:
    """Class name and hours above a panel, the name in two lines when it is long; y is the last baseline."""
    hours = hours_text(c.hours, c.years)
    room = width - text_width_mm(hours) - 2.0
    lines = wrap(c.name, room, style.HEAD, "bold", most=2)
    page.lines_of_text(x, y - 3.2 * (len(lines) - 1), lines, 3.2, size=style.HEAD, weight="bold")
    page.text(x + text_width_mm(lines[-1], style.HEAD, "bold") + 2.0, y, hours, colour=style.SECOND)


def _two_lines(c: ClassSummary, width: float) -> bool:
    return text_width_mm(c.name, style.HEAD, "bold") > width - text_width_mm(hours_text(c.hours, c.years)) - 2.0


@overload
def plot_distance(
    results: Results | xr.Dataset, pairs: Sequence[Sequence[str]] | None = None, weather: None = None, ax: None = None
) -> Figure: ...
@overload
def plot_distance(
    results: Results | xr.Dataset, pairs: Sequence[Sequence[str]] | None = None, weather: str | None = None, *, ax: Axes
) -> Axes: ...


def plot_distance(
    results: Results | xr.Dataset,
    pairs: Sequence[Sequence[str]] | None = None,
    weather: str | None = None,
    ax: Axes | None = None,
) -> Figure | Axes:
    """One panel per weather class, worst first: Pd against ground distance for one lens or two, with range bars below.

    results: the results Dataset (uses pd_distance and its interval, the classes and its site).
    pairs: lens names to draw together, a list of (A,) or (A, B), one block of panels each; by default the two lenses that
        most cameras of the site have, the shorter focal length as A. No physics and no smoothing: curves join the
        simulated distances, bars begin and end where these straight pieces reach the requirement.
    ax: matplotlib axes to draw one class into, with the first block of lenses; weather: its name, by default the worst class.
    Returns a matplotlib Figure, 180 mm wide, or the axes. UsageError for a weather without axes: the page has all classes.
    """
    if ax is not None:
        return draw_distance(onaxes.check_axes(ax), distance_data(results, pairs), weather)
    if weather is not None:
        raise UsageError(f'weather="{weather}" goes with ax=...: the page has a panel for each class')
    return _draw(distance_data(results, pairs))


def plot_comparison_distance(results: Results | xr.Dataset, compared: int = 0) -> Figure:
    """The curve of the base's lens as A and of the variant's as B, both on the same crossings; of a Dataset of `compare`."""
    return _draw(comparison_distance_data(results, compared))


def _draw(data: DistanceData) -> Figure:
    page = Page()
    distances, need = data.distance_m, data.requirement
    y = page.heading(data.title, data.subtitle, data.attrs)
    labels = [_label(lens, block) for block in data.blocks for lens in block]
    offset = max(6.2, *(text_width_mm(label, style.SMALL) + 1.6 for label in labels))
    pitch = (page.right - 1.0 - page.left - offset - PANEL_MM[0]) / (ACROSS - 1)
    feet_mm = 2.9 if data.units == "us" else 0.0
    gaps = False
    step = BAR_STEP_MM + (2.6 if any(no_room(data, curve) for curve in _curves(data)) else 0.0)
    for block, panels in zip(data.blocks, data.panels):
        if len(data.blocks) > 1:
            head = " and ".join(_in_key(lens, block) for lens in block)
            page.text(page.left, y + 4.4, head, size=style.HEAD, weight="bold")
            y += 4.4
        for start in range(0, len(panels), ACROSS):
            row = panels[start : start + ACROSS]
            y += 5.6 + (3.2 if any(_two_lines(each.summary, pitch - 2.0) for each in row) else 0.0)
            for k, each in enumerate(row):
                left = page.left + offset + k * pitch
                _head(page, each.summary, max(left - offset + 0.4, left - 8.0), y, pitch - 2.0)
                panel = Panel(page, left, y + 2.4, float(distances[-1]))
                _axes(panel, need, data.units)
                missing = np.all([np.isnan(curve.pd) for curve in each.curves], axis=0)
                gaps |= bool(missing.any())
                _no_data(panel, distances, missing)
                bars = panel.bottom + 6.4 + feet_mm
                for i, curve in enumerate(each.curves):
                    _draw_curve(panel, distances, curve)
                    range_bar(panel, bars + i * step, _label(curve.lens, block), curve)
                if start == 0 and k == 0:
                    _direct_labels(panel, distances, each.curves, need)
            y += 2.4 + PANEL_MM[1] + 6.4 + feet_mm + (len(block) - 1) * step + 2.6 + (step - BAR_STEP_MM)
    if data.bridge:
        y = bridge_table(page, y + 1.0, data.bridge)
    lines = wrap(data.note, page.right - page.left, style.SMALL)
    y = page.lines_of_text(page.left, y + 4.0, lines, 2.9, size=style.SMALL, colour=style.SECOND)
    y = _key(page, y + 1.2, data.blocks, need, gaps)
    page.foot(y + 2.6, data.attrs)
    return page.figure
