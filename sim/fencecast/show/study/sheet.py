"""What a study's pictures share (`study-*.png`): which designs and classes are drawn, in which lines, and what is left out."""

from __future__ import annotations

import numpy as np

from fencecast.show.paper import style

# Designs and classes drawn; more would not be told apart on a page. The report and the file have all.
MOST_DESIGNS, MOST_CLASSES = 8, 6
# The winner and the next in the hues of two designs, the others in greys; dashes tell lines apart in grey print.
LINES = (
    (style.A_COLOUR, 1.6, None),
    (style.B_COLOUR, 1.4, (4, 1.8)),
    (style.INK, 0.9, None),
    (style.SECOND, 0.9, (6, 1.5)),
    (style.SECOND, 0.9, (1.5, 1.2)),
    (style.LINE, 0.9, None),
    (style.LINE, 0.9, (6, 1.5)),
    (style.LINE, 0.9, (1.5, 1.2)),
)


def shown_designs(results, weather: int = -1) -> list[int]:
    """Designs in the order of their rank over the year (those without one by their mean at the end), at most `MOST_DESIGNS`."""
    at = results.isel(allowance=0, weather=weather)
    rank = at["rank"].values.reshape(-1)
    pd = at["mean_pd"].transpose("yard", "strategy", "lens").values.reshape(results.sizes["yard"], -1)
    known = (~np.isnan(pd)).sum(axis=0)
    mean = np.where(known > 0, np.nansum(pd, axis=0) / np.maximum(known, 1), -1.0)
    keys = [(0, rank[k]) if not np.isnan(rank[k]) else (1, -mean[k]) for k in range(len(rank))]
    return sorted(range(len(rank)), key=lambda k: (*keys[k], k))[:MOST_DESIGNS]


def shown_classes(results) -> list[int]:
    """Weather classes by their hours, most first, at most `MOST_CLASSES`."""
    hours = results["weather_hours"].values[:-1]
    return sorted(range(len(hours)), key=lambda k: (-hours[k], k))[:MOST_CLASSES]


def left_out(results) -> str:
    """What the page does not show, as a sentence; empty when it shows all."""
    parts = []
    for count, most, what in (
        (results.sizes["design"], MOST_DESIGNS, "designs"),
        (results.sizes["weather"] - 1, MOST_CLASSES, "weather classes"),
    ):
        if count > most:
            parts.append(f"{count - most} more {what}")
    return f"Not drawn: {' and '.join(parts)}; the file has them." if parts else ""


def spread_out(wanted, step: float, low: float, high: float) -> list[float]:
    """Places [mm] as near as can be to the wanted ones, `step` apart, in the same order, within low and high if there is room."""
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    placed = [0.0] * len(wanted)
    last = low - step
    for k in order:
        last = placed[k] = max(wanted[k], last + step)
    ceiling = max(high, low + step * (len(wanted) - 1))
    for k in reversed(order):
        placed[k] = min(placed[k], ceiling)
        ceiling = placed[k] - step
    return placed
