"""What the pictures of nuisance alarms draw: a bar of causes for each weather class and the year, and alarms along the fence."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from fencecast.errors import UsageError
from fencecast.estimate.places import code_of
from fencecast.estimate.results import Results
from fencecast.findings.nuisance import Nuisance, nuisance_of
from fencecast.findings.nuisancetitles import nights_subtitle, nights_title, plan_subtitle, plan_title
from fencecast.findings.nuisancewords import cause_name
from fencecast.findings.titles import year_name
from fencecast.findings.words import hours_text
from fencecast.show.fence.data import Fence, fence_of

MOST_CAUSES = 6  # with a fill of their own; with more, the last is all the others together
MOST_CLASSES = 16  # on a page
BANDS = 5  # of the plan, up to a round number
BEYOND = 2.0  # a ceiling further than this from all else is named and not drawn


@dataclass(frozen=True)
class NuisanceBar:
    """One class, or the year: alarms a night of each drawn cause, all with the interval, and the bad night,
    which has an interval for the year alone. hours: as printed."""

    name: str
    hours: str
    slices: tuple[float, ...]
    total: float
    low: float
    high: float
    bad_night: int
    bad_low: int
    bad_high: int
    year: bool


@dataclass(frozen=True, eq=False)
class NuisanceData:
    """What `plot_nuisance` draws: bars worst class first, of `classes` in all, and last the year when there are several classes;
    causes: names of the slices, most first; ceilings in alarms a night, NaN for none; top: where the axis ends."""

    title: str
    subtitle: str
    bars: tuple[NuisanceBar, ...]
    causes: tuple[str, ...]
    ceiling: float
    bad_night_ceiling: float
    top: float
    classes: int
    confidence: float
    attrs: Mapping[str, Any]


@dataclass(frozen=True)
class Busy:
    """A stretch with the most alarms: alarms a night on all of it, with the interval of the encounters simulated; its middle
    segment, its code."""

    per_night: float
    low: float
    high: float
    segment: int
    code: str


@dataclass(frozen=True, eq=False)
class NuisancePlanData:
    """What `plot_nuisance_plan` draws: alarms per 100 m and night of what passes (segments,), over the year by hours, NaN where
    nothing was simulated; edges: of the bands, from 0 up; busiest: the stretch with the most, and the next where it surely has
    fewer; none when nothing passes."""

    title: str
    subtitle: str
    fence: Fence
    per_100m: np.ndarray
    edges: tuple[float, ...]
    busiest: tuple[Busy, ...]


def nuisance_data(results: Results | xr.Dataset) -> NuisanceData:
    """The bars; UsageError for results whose site has no `[[stimulus]]`."""
    results = Results.of(results)
    found = _asked(results)
    kept = found.causes if len(found.causes) <= MOST_CAUSES else found.causes[: MOST_CAUSES - 1]
    names, rest = [cause_name(cause) for cause in kept], found.causes[len(kept) :]
    names += [f"other ({len(rest)} more)"] if rest else []
    rows = [_slices([c.by_class[each.index] for c in found.causes], len(kept)) for each in found.classes[:MOST_CLASSES]]
    years = results.years
    bars = [
        NuisanceBar(c.name, hours_text(c.hours, years), slices, c.per_night, c.low, c.high, *[c.bad_night] * 3, year=False)
        for c, slices in zip(found.classes, rows)
    ]
    if not math.isnan(found.per_night) and len(found.classes) > 1:
        slices = _slices([cause.per_night for cause in found.causes], len(kept))
        hours = hours_text(sum(c.hours for c in found.classes), years)
        ends, bad = (found.low, found.high), (found.bad_night, found.bad_low, found.bad_high)
        bars.append(NuisanceBar(year_name(results), hours, slices, found.per_night, *ends, *bad, year=True))
    ceilings = {each.of: each.value for each in found.ceilings}
    top = max([1e-3, *(value for bar in bars for value in (bar.total, bar.high, float(bar.bad_high)) if not math.isnan(value))])
    drawn = [value for value in ceilings.values() if value <= BEYOND * top]
    return NuisanceData(
        nights_title(found), nights_subtitle(len(found.classes), MOST_CLASSES), tuple(bars), tuple(names),
        ceilings.get("mean", math.nan), ceilings.get("bad night", math.nan), max([top, *drawn]), len(found.classes),
        results.confidence, results.attrs,
    )  # fmt: skip


def _slices(nights: Sequence[float], kept: int) -> tuple[float, ...]:
    rest = nights[kept:]
    return (*nights[:kept], *([sum(rest)] if rest else []))


def nuisance_plan_data(results: Results | xr.Dataset) -> NuisancePlanData:
    """Alarms along the fence; UsageError for results whose site has no `[[stimulus]]`."""
    results = Results.of(results)
    found = _asked(results)
    hours = np.asarray(results["weather_hours"].values, dtype=float)
    weights = hours / hours.sum() if hours.sum() > 0.0 else np.full(len(hours), 1.0 / len(hours))
    nights = weights @ results.array("nuisance_segment", "weather", "segment")
    per_100m = 100.0 * nights / results.lengths_m
    edges = band_edges(float(np.nanmax(per_100m, initial=0.0)))
    busiest = _busiest(results, weights, nights, per_100m, edges)
    title = plan_title(found, float(np.nansum(nights)), [(each.code, each.per_night) for each in busiest])
    subtitle = plan_subtitle(year_name(results), found)
    return NuisancePlanData(title, subtitle, fence_of(results), per_100m, edges, busiest)


def band_edges(most: float) -> tuple[float, ...]:
    """Edges of the bands from 0, each twice or so the one before, up to a round number: 0, 0.1, 0.2, 0.5, 1, 2."""
    steps = [round(part * 10.0**power, 6) for power in range(-3, 5) for part in (1.0, 2.0, 5.0)]
    last = next((k for k, step in enumerate(steps) if step >= most and k >= BANDS - 1), len(steps) - 1)
    return (0.0, *steps[last - BANDS + 1 : last + 1])


def band_of(per_100m: float, edges: Sequence[float]) -> int:
    """Index of the band of a number; one equal to an edge belongs to the band above it."""
    return int(np.clip(np.searchsorted(edges, per_100m, side="right") - 1, 0, len(edges) - 2))


def _busiest(
    results: Results, weights: np.ndarray, nights: np.ndarray, per_100m: np.ndarray, edges: Sequence[float]
) -> tuple[Busy, ...]:
    """The stretch of one section with the most alarms, of those whose band is the highest that is there, and the next one when
    their intervals do not overlap."""
    bands = np.array([-1 if math.isnan(value) else band_of(value, edges) for value in per_100m])
    if not np.any(np.nan_to_num(per_100m) > 0.0):
        return ()
    low, high = (_passing_ends(results, weights, end) for end in ("low", "high"))
    highest, found = bands.max(), []
    for section in results.sections:
        first = None
        for i in range(section.first, section.stop + 1):
            inside = i < section.stop and bands[i] == highest
            if inside and first is None:
                first = i
            elif not inside and first is not None:
                segment = (first + i - 1) // 2
                sums = (float(np.nansum(each[first:i])) for each in (nights, low, high))
                found.append(Busy(*sums, segment, code_of(results, results.sections, first, i - 1)))
                first = None
    top, *others = sorted(found, key=lambda each: -each.per_night)
    return (top, *(each for each in others[:1] if each.high < top.low))


def _passing_ends(results: Results, weights: np.ndarray, end: str) -> np.ndarray:
    """One end of alarms a night by segment, over the year: of the probabilities that were simulated, the rates as they are."""
    cell = ("stimulus", "weather", "segment")
    return weights @ np.nansum(results.array("encounters_night", *cell) * results.array(f"p_nuisance_{end}", *cell), axis=0)


def _asked(results: Results) -> Nuisance:
    found = nuisance_of(results)
    if found is None:
        raise UsageError("these results count no nuisance alarms; run a site file with [[stimulus]] tables")
    return found
