"""What the pictures of a study and of a proposal draw: differences from the base, ranks by weather, Pd against cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from fencecast.decide.place.proposal import Step
from fencecast.decide.study.results import by_design, common, t_interval
from fencecast.findings.designtitles import cost_title
from fencecast.findings.standings import allowance_words, common_yards, distinguishable, reference, standings
from fencecast.findings.studytitles import differences_title, front_title, ranks_title

# Designs and classes drawn; more would not be distinguishable on a page. The report and the file have all.
MOST_DESIGNS, MOST_CLASSES = 8, 6


@dataclass(frozen=True)
class Weather:
    """A weather class of a study, or its year (hours None)."""

    name: str
    hours: float | None


@dataclass(frozen=True, eq=False)
class DifferenceOfDesign:
    """One design against the base in one weather class: differences of the mean Pd by yard (yards with both,), their mean with
    its interval over yards (NaN where there is none), and on how many of the compared yards the design is better."""

    design: str
    by_yard: np.ndarray
    mean: float
    low: float
    high: float
    better: int
    compared: int


@dataclass(frozen=True, eq=False)
class StudyDifferencesData:
    """What `plot_study_differences` draws: the year first, then the classes with most hours, each with its designs by rank."""

    title: str
    base: str
    allowance: str
    confidence: float
    rows: tuple[tuple[Weather, tuple[DifferenceOfDesign, ...]], ...]
    left_out: str
    attrs: Mapping[str, Any]


@dataclass(frozen=True, eq=False)
class StudyRanksData:
    """What `plot_study_ranks` draws: the weather columns, the year last; designs with their rank and the
    ranks that paired differences leave open (designs, columns); whether the first is distinguishable from the next (columns,)."""

    title: str
    allowance: str
    confidence: float
    columns: tuple[Weather, ...]
    designs: tuple[str, ...]
    rank: np.ndarray
    low: np.ndarray
    high: np.ndarray
    first_sure: tuple[bool, ...]
    left_out: str
    attrs: Mapping[str, Any]


@dataclass(frozen=True, eq=False)
class StudyFrontData:
    """What `plot_study_front` draws: for the designs shown, by allowance: mean cost in `unit` ("price" or "cameras") (allowances,
    designs), mean Pd over yards and the half width of its interval (allowances, designs, classes), NaN without a layout."""

    title: str
    confidence: float
    requirement: float
    unit: str
    designs: tuple[str, ...]
    classes: tuple[Weather, ...]
    cost: np.ndarray
    mean: np.ndarray
    half: np.ndarray
    left_out: str
    attrs: Mapping[str, Any]


@dataclass(frozen=True, eq=False)
class CostFrontData:
    """What `plot_cost_front` draws: the sets on the way, cheapest first; unit: "price" or "cameras", what cost counts."""

    title: str
    steps: tuple[Step, ...]
    unit: str
    requirement: float
    confidence: float
    attrs: Mapping[str, Any]


def cost_front_data(steps: Sequence[Step], attrs: Mapping[str, Any], unit: str) -> CostFrontData:
    """The cost-performance front of a proposal. attrs: attributes of the results of the proposal."""
    need = float(attrs["requirement_pd"])
    return CostFrontData(cost_title(steps, need), tuple(steps), unit, need, float(attrs["confidence"]), attrs)


def study_differences_data(results: xr.Dataset) -> StudyDifferencesData:
    """Each design against the base at the first allowance."""
    base, year = str(results.attrs["base"]), results.sizes["weather"] - 1
    designs = _designs(results)
    shown = [k for k in shown_designs(results) if designs[k] != base]
    pd = by_design(results)[0]
    differences = pd - pd[:, [designs.index(base)], :]
    numbers = {
        name: results[name].isel(allowance=0).transpose("strategy", "lens", "weather").values.reshape(len(designs), -1)
        for name in ("pd_difference", "pd_difference_low", "pd_difference_high", "yards_better", "yards_compared")
    }
    rows = []
    for weather in (year, *shown_classes(results)) if shown else ():
        found = []
        for k in shown:
            mean, low, high, better, compared = (float(values[k, weather]) for values in numbers.values())
            by_yard = differences[:, k, weather]
            counted = int(np.nan_to_num(compared))
            won = round(float(np.nan_to_num(better)) * counted)
            found.append(DifferenceOfDesign(designs[k], by_yard[~np.isnan(by_yard)], mean, low, high, won, counted))
        rows.append((_weather(results, weather), tuple(found)))
    confidence = float(results.attrs["confidence"])
    title = differences_title(standings(results, year), common_yards(results), confidence)
    return StudyDifferencesData(title, base, allowance_words(results), confidence, tuple(rows), left_out(results), results.attrs)


def study_ranks_data(results: xr.Dataset) -> StudyRanksData:
    """Ranks at the first allowance, by weather class and over the year."""
    base, classes, designs = reference(results), shown_classes(results), _designs(results)
    columns = [*classes, results.sizes["weather"] - 1]
    names = ["rank", "rank_low", "rank_high"]
    first_allowance = results[names].isel(allowance=0).transpose("strategy", "lens", "weather", ...)
    rank, low, high = (first_allowance[name].values.reshape(len(designs), -1) for name in names)
    shown = [k for k in shown_designs(results, columns[0]) if not np.isnan(rank[k]).any()]
    confidence = float(results.attrs["confidence"])
    usual, *others = [
        (str(results["weather"].values[k]), standings(results, k)) for k in (base, *(c for c in classes if c != base))
    ]
    return StudyRanksData(
        title=ranks_title(usual, others, confidence),
        allowance=allowance_words(results),
        confidence=confidence,
        columns=tuple(_weather(results, k) for k in columns),
        designs=tuple(designs[k] for k in shown),
        rank=rank[shown][:, columns],
        low=low[shown][:, columns],
        high=high[shown][:, columns],
        first_sure=tuple(
            bool(rows) and distinguishable(rows[0], confidence) for rows in (standings(results, k) for k in columns)
        ),
        left_out=left_out(results),
        attrs=results.attrs,
    )


def study_front_data(results: xr.Dataset) -> StudyFrontData:
    """Mean Pd over yards against mean cost of a layout, by allowance."""
    cost, unit = front_costs(results)
    pd, confidence = _shared(by_design(results), results), float(results.attrs["confidence"])
    shown, classes, designs = shown_designs(results), shown_classes(results), _designs(results)
    mean, half = (np.full((pd.shape[0], *pd.shape[2:]), np.nan) for _ in range(2))
    for a in range(len(pd)):
        mean[a], half[a], _, _ = t_interval(pd[a], confidence)
    need = float(results.attrs["requirement_pd"])
    words = [allowance_words(results, a) for a in range(len(pd))]
    return StudyFrontData(
        title=front_title(mean[..., -1], mean[..., -1] - half[..., -1], designs, results["allowance"].values, words, need),
        confidence=confidence,
        requirement=need,
        unit=unit,
        designs=tuple(designs[k] for k in shown),
        classes=tuple(_weather(results, k) for k in classes),
        cost=cost[:, shown],
        mean=mean[:, shown][..., classes],
        half=half[:, shown][..., classes],
        left_out=left_out(results),
        attrs=results.attrs,
    )


def _shared(values: np.ndarray, results: xr.Dataset) -> np.ndarray:
    """Values (allowance, yard, design, ...), NaN on yards that not all ranked designs share, for these: so that the
    points of one picture are means over the same yards."""
    kept = values.copy()
    for each, pd in zip(kept, by_design(results)):
        ranked, yards = common(pd)
        each[np.ix_(~yards, ranked)] = np.nan
    return kept


def front_costs(results: xr.Dataset) -> tuple[np.ndarray, str]:
    """Mean cost of a layout (allowance, design), NaN where there is none, and its unit: price, or cameras without prices."""
    unit = "price" if np.isfinite(results["cost"].values).any() else "cameras"
    values = results["cost" if unit == "price" else "cameras"].transpose("allowance", "yard", "strategy", "lens").values
    values = _shared(values.reshape(*values.shape[:2], -1), results)
    known = (~np.isnan(values)).sum(axis=1)
    return np.where(known > 0, np.nansum(values, axis=1) / np.maximum(known, 1), np.nan), unit


def _designs(results: xr.Dataset) -> list[str]:
    return [str(name) for name in results["design"].values]


def _weather(results: xr.Dataset, index: int) -> Weather:
    last = index == results.sizes["weather"] - 1
    return Weather(str(results["weather"].values[index]), None if last else float(results["weather_hours"].values[index]))


def shown_designs(results: xr.Dataset, weather: int = -1) -> list[int]:
    """Designs in the order of their rank over the year (those without one by their mean at the end), at most `MOST_DESIGNS`."""
    at = results.isel(allowance=0, weather=weather)
    rank = at["rank"].transpose("strategy", "lens").values.reshape(-1)
    pd = at["mean_pd"].transpose("yard", "strategy", "lens").values.reshape(results.sizes["yard"], -1)
    known = (~np.isnan(pd)).sum(axis=0)
    mean = np.where(known > 0, np.nansum(pd, axis=0) / np.maximum(known, 1), -1.0)
    keys = [(0, rank[k]) if not np.isnan(rank[k]) else (1, -mean[k]) for k in range(len(rank))]
    return sorted(range(len(rank)), key=lambda k: (*keys[k], k))[:MOST_DESIGNS]


def shown_classes(results: xr.Dataset) -> list[int]:
    """Weather classes by their hours, most first, at most `MOST_CLASSES`."""
    hours = results["weather_hours"].values[:-1]
    return sorted(range(len(hours)), key=lambda k: (-hours[k], k))[:MOST_CLASSES]


def left_out(results: xr.Dataset) -> str:
    """What the page does not show, as a sentence; empty when it shows all."""
    parts = []
    for count, most, what in (
        (results.sizes["design"], MOST_DESIGNS, "designs"),
        (results.sizes["weather"] - 1, MOST_CLASSES, "weather classes"),
    ):
        if count > most:
            parts.append(f"{count - most} more {what}")
    return f"Not drawn: {' and '.join(parts)}; the file has them." if parts else ""
