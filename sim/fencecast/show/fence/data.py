"""What the pictures of a fence draw: the fence, a row for each weather class and for the year, and what each picture adds.

Every `*_data` function returns what its `plot_*` draws, computed from the results and from nothing else; no drawing is needed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from fencecast.estimate.places import (
    ClassSummary,
    Section,
    code_of,
    record_years,
    touching,
    verdict_metres,
    worst_first,
    year_verdicts,
)
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import Place, lowest_places, printed_numbers, touching_sets, weak_places
from fencecast.findings.titles import cause_title, class_cause, plan_title, strip_title, year_name
from fencecast.show.fence.grounddata import DrawnPicture, drawn_picture
from fencecast.site import Site

MOST_CLASSES = 8  # of weather, on a page; the strip and the tables have all
MOST_PLACES = 12  # named in a cause strip; the tables have all
ALIKE = 0.02  # Pd alone of two cameras that are as good as each other
NAMED_RUNS = 2  # numbers on leaders in a plan of one class


@dataclass(frozen=True, eq=False)
class Fence:
    """The fence of a picture: the site, its sections, and every segment's ends and middle along its section (segments,) [m].

    requirement and confidence are fractions; `attrs` are the results' own attributes, for the foot of a picture.
    """

    site: Site
    sections: tuple[Section, ...]
    start_m: np.ndarray
    end_m: np.ndarray
    chainage_m: np.ndarray
    requirement: float
    confidence: float
    units: str
    attrs: Mapping[str, Any]

    @property
    def total_m(self) -> float:
        return float(np.sum(self.end_m - self.start_m))

    def section_of(self, segment: int) -> Section:
        """The section that a segment lies in."""
        return next(section for section in self.sections if section.first <= segment < section.stop)


@dataclass(frozen=True, eq=False)
class FenceRow:
    """One weather class, or the year, along the fence: Pd with its interval and the verdict (segments,), NaN and 'no data' where
    nothing was simulated; `summary`: name, hours and metres by verdict (of the year `index` is -1)."""

    summary: ClassSummary
    pd: np.ndarray
    low: np.ndarray
    high: np.ndarray
    verdict: np.ndarray


@dataclass(frozen=True)
class PlanNumber:
    """A number on a leader: the Pd that is printed, the lowest segment of a weak run, and its code: `0.53`, 47, `B 31–32 m`."""

    pd: float
    segment: int
    code: str


@dataclass(frozen=True, eq=False)
class PlanData:
    """What `plot_plan` draws: the drawn classes worst first, of `classes` in all, with the numbers in each."""

    title: str
    fence: Fence
    rows: tuple[FenceRow, ...]
    numbers: tuple[tuple[PlanNumber, ...], ...]
    classes: int
    ground: DrawnPicture | None = None


@dataclass(frozen=True, eq=False)
class FenceStripData:
    """What `plot_fence_strip` draws: every class worst first, the year (None without hours), and below them Pd in the worst class
    of each segment with its interval (segments,) and the three lowest places. fresh: some numbers are of fresh crossings."""

    title: str
    fence: Fence
    rows: tuple[FenceRow, ...]
    year: FenceRow | None
    worst: np.ndarray
    worst_low: np.ndarray
    worst_high: np.ndarray
    lowest: tuple[Bottom, ...]
    fresh: bool


@dataclass(frozen=True)
class Bottom:
    """The lowest Pd of a weak place in any class, with its interval, as printed."""

    code: str
    segment: int
    weather: str
    pd: float
    low: float
    high: float
    fresh: bool


def _bottom(results: Results, place: Place) -> Bottom:
    row, segment = place.weather_index, place.segment
    if place.worse is not None:
        row, segment = place.worse.weather_index, place.worse.segment
    return Bottom(place.code, segment, results.classes[row], *printed_numbers(results, row, segment))


@dataclass(frozen=True, eq=False)
class CauseRow:
    """One class of the cause strip: its fence row, the misses by cause (causes, segments) that add up to 1 - Pd, and the leading
    cause of the class with its share of all misses, None when misses are too few to name one."""

    fence: FenceRow
    misses: np.ndarray
    cause: str | None
    cause_share: float


@dataclass(frozen=True)
class NamedPlace:
    """A weak place with its number in the tables, its code, its cause (None when misses are too few) and its segments."""

    number: int
    code: str
    cause: str | None
    segments: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class CauseStripData:
    """What `plot_cause_strip` draws: the worst classes of `classes` in all; causes in the order of `misses`; per segment the mark
    of the best camera, the one with the highest Pd alone over the year, '' where none reaches 0.01, and one camera as long as it
    is within 0.02 of the best; the weakest places of `weak_places` in all; the top of the one scale."""

    title: str
    fence: Fence
    rows: tuple[CauseRow, ...]
    causes: tuple[str, ...]
    best_camera: np.ndarray
    places: tuple[NamedPlace, ...]
    weak_places: int
    top: float
    classes: int


def fence_of(results: Results) -> Fence:
    """The fence of some results."""
    start, end, chainage = (results.array(name, "segment") for name in ("segment_start_m", "segment_end_m", "chainage_m"))
    return Fence(
        results.site, tuple(results.sections), start, end, chainage, results.requirement, results.confidence, results.units,
        results.attrs,
    )  # fmt: skip


def class_rows(results: Results, most: int | None = None) -> tuple[FenceRow, ...]:
    """The weather classes, worst first, at most so many."""
    rows = []
    for summary in worst_first(results)[:most]:
        pd, low, high, verdict = (results.at(name, weather=summary.index) for name in ("pd", "pd_low", "pd_high", "verdict"))
        rows.append(FenceRow(summary, pd, low, high, verdict))
    return tuple(rows)


def year_row(results: Results) -> FenceRow | None:
    """The year, weather classes weighted by hours; None when no class has any."""
    pd, low, high = (results.array(f"pd_year{end}", "segment") for end in ("", "_low", "_high"))
    if np.isnan(pd).all():
        return None
    verdict, known = year_verdicts(results), ~np.isnan(pd)
    metres = verdict_metres(verdict, results.lengths_m)
    hours, mean = float(np.sum(results.array("weather_hours", "weather"))), float("nan")
    if known.any():
        mean = float(np.average(pd[known], weights=results.lengths_m[known]))
    summary = ClassSummary(
        index=-1, name=year_name(results), hours=hours, mean_pd=mean, meets_m=metres["meets"],
        undecided_m=metres["undecided"], weak_m=metres["weak"], no_data_m=metres["no data"], years=record_years(results),
    )  # fmt: skip
    return FenceRow(summary, pd, low, high, verdict)


def plan_data(results: Results | xr.Dataset) -> PlanData:
    """The worst eight classes, each with the Pd of its two lowest weak runs."""
    results = Results.of(results)
    fence, rows = fence_of(results), class_rows(results, MOST_CLASSES)
    numbers = tuple(_plan_numbers(results, row) for row in rows)
    return PlanData(plan_title(results), fence, rows, numbers, results.sizes["weather"], drawn_picture(results))


def _plan_numbers(results: Results, row: FenceRow) -> tuple[PlanNumber, ...]:
    found = []
    runs = touching_sets(row.verdict == "weak", *touching(results.sections))
    for run in sorted(runs, key=lambda run: np.min(row.pd[run]))[:NAMED_RUNS]:
        segment = min(run, key=lambda i: row.pd[i])
        code = code_of(results, results.sections, segment, segment)
        found.append(PlanNumber(printed_numbers(results, row.summary.index, segment)[0], segment, code))
    return tuple(found)


def fence_strip_data(results: Results | xr.Dataset) -> FenceStripData:
    """Every class and the year along the fence, and Pd in the worst class of each segment."""
    results = Results.of(results)
    worst, low, high = (results.array(f"pd_worst{end}", "segment") for end in ("", "_low", "_high"))
    return FenceStripData(
        title=strip_title(results),
        fence=fence_of(results),
        rows=class_rows(results),
        year=year_row(results),
        worst=worst,
        worst_low=low,
        worst_high=high,
        lowest=tuple(_bottom(results, place) for place in lowest_places(results, 3)),  # the same places as in the tables
        fresh="pd_fresh" in results and not np.isnan(results["pd_fresh"].values).all(),
    )


def cause_strip_data(results: Results | xr.Dataset) -> CauseStripData:
    """Misses by cause in the worst eight classes, and the best camera of every segment."""
    results = Results.of(results)
    rows = []
    for row in class_rows(results, MOST_CLASSES):
        misses = results.array("miss_share", "cause", "weather", "segment")[:, row.summary.index]
        cause, share = class_cause(results, row.summary.index)
        rows.append(CauseRow(row, misses, cause, share))
    causes = tuple(str(cause) for cause in results["cause"].values)
    weak = weak_places(results)
    named = tuple(NamedPlace(n, p.code, p.cause, p.segments) for n, p in enumerate(weak[:MOST_PLACES], start=1))
    return CauseStripData(
        title=cause_title(results), fence=fence_of(results), rows=tuple(rows), causes=causes, best_camera=_best_camera(results),
        places=named, weak_places=len(weak), top=_axis_top(rows, results.requirement), classes=results.sizes["weather"],
    )  # fmt: skip


def _best_camera(results: Results) -> np.ndarray:
    hours = results.array("weather_hours", "weather")
    weights = hours / hours.sum() if hours.sum() > 0 else np.full(len(hours), 1.0 / len(hours))
    alone = np.einsum("w,cws->cs", weights, np.nan_to_num(results.array("pd_camera", "camera", "weather", "segment")))
    best = np.argmax(alone, axis=0)
    for section in results.sections:  # two cameras alike would else take turns from metre to metre
        for i in range(section.first + 1, section.stop):
            if alone[best[i - 1], i] >= alone[best[i], i] - ALIKE:
                best[i] = best[i - 1]
    marks = np.array(results.marks, dtype=object)
    return np.where(alone.max(axis=0) >= 0.01, marks[best], "")


def _axis_top(rows: list[CauseRow], requirement: float) -> float:
    """The smallest of 0.5, 0.8 and 1 that is above every miss and above the allowed ones."""
    most = np.nanmax(1.0 - np.array([row.fence.pd for row in rows]), initial=0.0)
    most = max(most, 1.0 - requirement + 0.02)
    return next((top for top in (0.5, 0.8) if most <= top), 1.0)
