"""What the picture of two designs draws: their difference along the fence by weather class, and metres by verdict."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from fencecast.decide.compare.designs import as_run
from fencecast.estimate.results import Results
from fencecast.findings.comparison import ClassFinding, class_findings, year_metres
from fencecast.findings.titles import year_name
from fencecast.show.fence.data import MOST_CLASSES, Fence, fence_of


@dataclass(frozen=True, eq=False)
class DifferenceRow:
    """One weather class, or the year: Pd of the variant minus Pd of the base on the same crossings, with its paired interval, and
    the verdict between the two (segments,); metres of each verdict. base, variant: their verdicts against the requirement, None
    for the year. found: the class's finding, None for the year."""

    difference: np.ndarray
    low: np.ndarray
    high: np.ndarray
    verdict: np.ndarray
    metres: dict[str, float]
    base: np.ndarray | None = None
    variant: np.ndarray | None = None


@dataclass(frozen=True, eq=False)
class ComparisonData:
    """What `plot_comparison` draws: names of both designs, the fence (of the base), the worst classes, the year or None without
    hours, the end of the one scale for all rows. found: the findings of all classes, worst first."""

    base: str
    variant: str
    fence: Fence
    rows: tuple[DifferenceRow, ...]
    year: DifferenceRow | None
    year_name: str
    found: tuple[ClassFinding, ...]
    scale: float
    margin: float


def comparison_data(results: Results | xr.Dataset, compared: int = 0) -> ComparisonData:
    """One variant against the base. compared: which of the variants, counted without the base."""
    results = Results.of(results)
    run = Results.of(as_run(results, 0))
    base, variant = (str(results.at("variant", variant=k)) for k in (0, compared + 1))
    found = tuple(class_findings(results, compared))
    rows = []
    for c in found[:MOST_CLASSES]:
        at = {"compared": compared, "weather": c.index}
        difference, low, high = (results.at(f"pd_difference{end}", **at) for end in ("", "_low", "_high"))
        standing = [results.at("standing", variant=k, weather=c.index) for k in (0, compared + 1)]
        rows.append(DifferenceRow(difference, low, high, results.at("verdict", **at), c.metres, *standing))
    difference, low, high = (results.at(f"pd_difference_year{end}", compared=compared) for end in ("", "_low", "_high"))
    year = None
    if not np.isnan(difference).all():  # without any hours there is no year to weigh
        year = DifferenceRow(difference, low, high, results.at("verdict_year", compared=compared), year_metres(results, compared))
    return ComparisonData(
        base, variant, fence_of(run), tuple(rows), year, year_name(results), found, _largest_scale(rows),
        float(results.attrs["margin"]),
    )  # fmt: skip


def _largest_scale(rows: list[DifferenceRow]) -> float:
    """The smallest of a few round differences that holds every interval drawn: one scale for all rows, the same up and down."""
    ends = np.array([end for row in rows for end in (row.low, row.high)])
    most = np.nanmax(np.abs(ends)) if not np.isnan(ends).all() else 0.0
    return next((top for top in (0.1, 0.2, 0.3, 0.5, 0.7) if most <= top), 1.0)
