"""A study's pictures: paired differences over yards, rank by weather, fronts of cost (`study-*.png`)."""

from __future__ import annotations

import importlib
import os
from pathlib import Path

import numpy as np

from fencecast.show import style
from fencecast.show.page import save_picture

STUDY_PICTURES = ["study-differences.png", "study-ranks.png", "study-front.png"]
_WHERE = dict(zip(STUDY_PICTURES, (("studydifferences", "plot_study_differences"), ("studyranks", "plot_study_ranks"),
                                   ("studyfront", "plot_study_front"))))  # fmt: skip
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


def write_study_pictures(results, folder: str | os.PathLike) -> list[str]:
    """Draw every picture of a study's Dataset into an existing folder; returns the names of the files written."""
    for name, (module, function) in _WHERE.items():
        figure = getattr(importlib.import_module(f"fencecast.show.{module}"), function)(results)
        save_picture(figure, Path(folder) / name)
    return list(_WHERE)


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
