"""The place of every design in every weather class, with its range over resampled yards (`study-ranks.png`)."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from fencecast.findings.standings import allowance_words, distinguishable, reference, standings
from fencecast.findings.words import first_upper, hours_text
from fencecast.show.paper import style
from fencecast.show.paper.page import Page, shorten, wrap
from fencecast.show.study.sheet import LINES, left_out, shown_classes, shown_designs

PLACE_MM, LABEL_MM = 11.0, 36.0
SHIFT_MM = 1.5  # side by side, so that the ranges of two designs do not lie on each other


def plot_study_ranks(results) -> Figure:
    """One column a weather class, the year last; 1 on top. Lines join a design's places, bars are their ranges."""
    page = Page()
    confidence = f"{100 * float(results.attrs['confidence']):g} %"
    top = page.heading(
        ranks_title(results),
        f"Place by mean Pd over yards, 1 is the highest, at {allowance_words(results)}; bars: the middle {confidence} of places "
        "over resampled sets of yards; number: share of those sets in which the first comes first",
    )
    designs = [str(name) for name in results["design"].values]
    columns = [*shown_classes(results), results.sizes["weather"] - 1]
    at = {name: results[name].values[0].reshape(len(designs), -1) for name in ("rank", "rank_low", "rank_high", "first_share")}
    shown = [k for k in shown_designs(results, columns[0]) if not np.isnan(at["rank"][k]).any()]
    left, right = page.left + LABEL_MM, page.right - LABEL_MM
    xs = np.linspace(left + 10.0, right - 10.0, len(columns))
    room = min(float(xs[1] - xs[0]) - 2.0, 34.0)
    y0 = top + 16.0
    lowest = max(len(shown), int(np.max(at["rank_high"][shown][:, columns], initial=1.0)))

    def y(rank):
        return y0 + (np.asarray(rank) - 1.0) * PLACE_MM

    for x, k in zip(xs, columns):
        name = first_upper(str(results["weather"].values[k]))
        lines = wrap(name, room, style.SMALL, "bold", most=3)
        page.lines_of_text(x, top + 3.2, lines, 2.8, ha="center", weight="bold", size=style.SMALL)
        if k < results.sizes["weather"] - 1:
            hours = hours_text(float(results["weather_hours"].values[k]))
            page.text(x, top + 3.2 + 2.8 * len(lines), hours, ha="center", size=style.SMALL, colour=style.SECOND)
        page.line([x, x], [y(1) - 2.0, y(lowest) + 2.0], colour=style.GUIDE, points=0.5, zorder=1)
        if shown:
            share = float(np.max(at["first_share"][:, k]))
            page.text(x, y(lowest) + 6.6, f"{100 * share:.0f} %" if share < 0.995 else ">99 %", ha="center", size=style.SMALL)
    if not shown:
        page.text(left, y0 + 4.0, "No yard has a layout of every design, so that there are no places.", size=style.LABEL)
    else:
        page.text(left - 2.0, y(lowest) + 6.6, "first comes first in", ha="right", size=style.SMALL, colour=style.SECOND)
    for n, k in enumerate(shown):
        colour, points, dashes = LINES[n]
        shift = SHIFT_MM * (n - 0.5 * (len(shown) - 1))
        places = y(at["rank"][k, columns])
        page.line(xs + shift, places, colour=colour, points=points, zorder=4, **({"dashes": dashes} if dashes else {}))
        for x, place, low, high in zip(xs, places, y(at["rank_low"][k, columns]), y(at["rank_high"][k, columns])):
            page.line([x + shift] * 2, [low - 0.9, high + 0.9], colour=colour, points=1.8, zorder=5)
            page.dot(x + shift, place, 2.2, colour=colour, edge=style.PAPER, zorder=6)
    _names(page, shown, designs, at["rank"], columns, y, left, right)
    bottom = float(y(lowest)) + 9.0
    if left_out(results):
        page.text(page.left, bottom + 2.0, left_out(results), size=style.SMALL, colour=style.SECOND)
        bottom += 4.0
    page.foot(bottom + 1.0, results.attrs)
    return page.figure


def _names(page: Page, shown, designs, rank, columns, y, left: float, right: float) -> None:
    """Names at both ends of the lines; designs that share a place stand below each other."""
    for column, x, side in ((columns[0], left, "right"), (columns[-1], right, "left")):
        taken: dict[float, int] = {}
        for k in shown:
            place = float(rank[k, column])
            offset = taken.get(place, 0)
            taken[place] = offset + 1
            name = shorten(designs[k], LABEL_MM - 5.0)
            text = f"{place:.0f}  {name}" if side == "left" else f"{name}  {place:.0f}"
            page.text(x, float(y(place)) + 0.9 + 3.0 * offset, text, ha=side, size=style.LABEL)


def ranks_title(results) -> str:
    """Whether the ranking of the class with the most hours holds in the others; the first class in which it does not is told."""
    base = reference(results)
    name, usual = str(results["weather"].values[base]), standings(results, base)
    if len(usual) < 2:
        return "No ranking: too few designs with a layout"
    others = [k for k in shown_classes(results) if k != base]
    if not others:
        return f"{first_upper(name)}: {usual[0].design} comes first"
    changed = [(str(results["weather"].values[k]), standings(results, k)) for k in others]
    for other, rows in changed:
        if rows[0].design != usual[0].design:
            sure = distinguishable(rows[0], float(results.attrs["confidence"]))
            words = f"{rows[0].design} leads instead of {usual[0].design}"
            return f"{first_upper(other)}: {words}" + ("" if sure else f", but cannot be told from {rows[1].design}")
    order = [row.design for row in usual]
    for other, rows in changed:
        if [row.design for row in rows] != order:
            return f"{first_upper(other)}: {usual[0].design} stays first, the order behind it changes"
    where = "the other weather" if len(others) > 1 else changed[0][0]
    return f"{first_upper(where)}: the ranking of {name} holds, {usual[0].design} stays first"
