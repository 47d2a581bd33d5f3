"""All pictures of a results file, written into a folder."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import xarray as xr

from fencecast.errors import UsageError
from fencecast.show.paper.page import save_picture

Row = tuple[Any, ...]
# File name, module, function: `run` and `plot` write these, in this order.
PICTURES = (
    (("plan.png",), "fence.plan", "plot_plan"),
    (("fence-strip.png",), "fence.strip", "plot_fence_strip"),
    (("cause-strip.png",), "fence.cause", "plot_cause_strip"),
    (("distance.png",), "look.distance", "plot_distance"),
    (("summary.png", "summary.pdf"), "fence.summary", "plot_summary"),
)

# Only when the results carry them: of a site with hourly weather, of `run --sensitivity`, of a site with stimuli or walks.
HOURS = (
    (("year-carpet.png",), "year.carpet", "plot_year_carpet"),
    (("optical-range.png",), "year.opticalrange", "plot_optical_range"),
)
SENSITIVITY = ((("sensitivity.png",), "fence.sensitivity", "plot_sensitivity"),)
STUDY = (
    (("study-differences.png",), "study.differences", "plot_study_differences"),
    (("study-ranks.png",), "study.ranks", "plot_study_ranks"),
    (("study-front.png",), "study.front", "plot_study_front"),
)
TRADEOFF = ((("tradeoff.png",), "tradeoff.picture", "plot_tradeoff"),)
NUISANCE = (
    (("nuisance.png",), "nuisance.nights", "plot_nuisance"),
    (("nuisance-plan.png",), "nuisance.plan", "plot_nuisance_plan"),
)
CALIBRATED = ((("fence-band.png",), "fence.walkband", "plot_fence_band"),)
LOSSES = ((("worst-loss.png",), "fence.loss", "plot_worst_loss"),)


def pictures(
    sensitivity: bool, hours: bool = False, losses: bool = False, nuisance: bool = False, calibrated: bool = False
) -> tuple[Row, ...]:
    """Rows of `PICTURES`, with or without those of hourly weather, of `run --sensitivity`, of `run --lose-each`, of a site with
    `[[stimulus]]` tables and of one with `[calibration]`."""
    asked = ((CALIBRATED, calibrated), (HOURS, hours), (SENSITIVITY, sensitivity), (LOSSES, losses), (NUISANCE, nuisance))
    return (*PICTURES, *(row for rows, wanted in asked if wanted for row in rows))


def comparison_pictures(compared: int) -> tuple[Row, ...]:
    """Rows for a comparison with so many variants beside the base; a row's fourth part says which of them.

    Curves are only drawn where they differ: `pictures_of` knows.
    """
    ends = [""] if compared == 1 else [f"-{k + 1}" for k in range(compared)]
    rows = []
    for k, end in enumerate(ends):
        rows.append(((f"comparison{end}.png",), "fence.comparison", "plot_comparison", k))
        rows.append(((f"comparison-distance{end}.png",), "look.distance", "plot_comparison_distance", k))
    return tuple(rows)


def pictures_of(results: xr.Dataset) -> tuple[Row, ...]:
    """The rows that a results Dataset has the numbers for."""
    if "study_toml" in results.attrs:
        return STUDY
    if "tradeoff_schema" in results.attrs:  # without stimuli there is no trade to draw
        return TRADEOFF if int(results.attrs["nuisance_asked"]) else ()
    if "pd_difference" in results:
        from fencecast.show.look.data import curves_differ

        rows = comparison_pictures(results.sizes["compared"])
        return tuple(row for row in rows if row[1] != "look.distance" or curves_differ(results, row[3]))
    asked = ("sensitivity_total", "pd_state", "pd_loss", "nuisance_year", "pd_place_low")
    rows = pictures(*(name in results for name in asked))
    # Fog by optical range is drawn at the named segment; where nothing is watched there is none.
    return tuple(row for row in rows if row[1] != "year.opticalrange" or "pd_fog" in results)


def write_pictures(results: xr.Dataset, folder: str | os.PathLike, before: xr.Dataset | None = None) -> list[str]:
    """Draw every picture of a results Dataset into an existing folder; returns the names of the files written.

    Nothing is computed but the drawing: all comes from the Dataset and the site file in it. before: a run of the file before the
    walks, for the fence-band picture of results that walks have calibrated; UsageError for others.
    """
    import importlib

    folder = Path(folder)
    if before is not None and CALIBRATED[0] not in pictures_of(results):
        raise UsageError("a run before the walks goes with results that walks have calibrated; these rest on no walks")
    written = []
    for names, module, function, *which in pictures_of(results):
        figure = getattr(importlib.import_module(f"fencecast.show.{module}"), function)(
            results, *which, **({"before": before} if before is not None and module == CALIBRATED[0][1] else {})
        )  # fmt: skip
        for name in names:
            save_picture(figure, folder / name)
            written.append(name)
    return written
