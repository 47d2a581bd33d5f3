"""What the pictures of a year draw: the carpet of a segment, fog by optical range, the record of a weather file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from fencecast.estimate.places import code_of
from fencecast.estimate.results import Results
from fencecast.findings.condition import condition_of
from fencecast.findings.yeartitles import (
    FogStart,
    Weak,
    carpet_subtitle,
    carpet_title,
    class_months,
    meets_from,
    optical_range_note,
    optical_range_title,
    sun_words,
    weak_year,
    weather_title,
)
from fencecast.hours.weakhours import state_variable
from fencecast.meteorology.sorting import FOG_M, RULES, as_reported
from fencecast.meteorology.year import LEAST_YEARS, Year
from fencecast.show.year.nights import Nights, arming_groups, nights_of, weekday_of, year_of_most


@dataclass(frozen=True, eq=False)
class YearCarpetData:
    """What `plot_year_carpet` draws. groups: nights by the weekday on which they begin (all, or two groups where arming goes by
    the week), each with its days in Monday-is-0 numbers; the hours of the record (hours,): `weak.pd`, known, armed, the sun's
    height [degrees] or None. chosen: a run on a condition. half_width: the largest of the states that hours have. `weak` is None
    when no segment is watched; then nothing else is drawn."""

    title: str
    subtitle: str
    weak: Weak | None
    nights: Nights
    groups: tuple[tuple[tuple[int, ...], Nights], ...]
    known: np.ndarray
    armed: np.ndarray
    sun_deg: np.ndarray | None
    chosen: bool
    half_width: float
    sun: str
    requirement: float
    attrs: Mapping[str, Any]


def year_carpet_data(results: Results | xr.Dataset) -> YearCarpetData:
    """The named segment hour by hour; ValueError for results of a site without hourly weather."""
    results = Results.of(results)
    if "pd_state" not in results:
        raise ValueError("these results have no hours; run a site with a [weather_file]")
    weak, chosen = weak_year(results), bool(condition_of(results.attrs))
    known, armed = results.array("hour_known", "hour"), results.array("hour_armed", "hour")
    sun_deg = results.array("hour_sun_elevation_deg", "hour").astype(float) if "hour_sun_elevation_deg" in results else None
    all_nights = nights_of(results.array("hour_time", "hour"))
    common: dict[str, Any] = {
        "known": known,
        "armed": armed,
        "sun_deg": sun_deg,
        "chosen": chosen,
        "requirement": results.requirement,
    }
    common |= {"attrs": results.attrs, "sun": sun_words(results)}
    if weak is None:
        title = "No segment is watched: there is no Pd by the hour"
        return YearCarpetData(title, "Year carpet", None, all_nights, (), half_width=0.0, **common)
    below = np.nan_to_num(weak.pd, nan=1.0) < results.requirement
    nights, which = year_of_most(all_nights, below.astype(float))
    # Chosen hours have no frame of arming by which weekdays could differ.
    groups = [tuple(range(7))] if chosen else arming_groups(nights, nights.grid(armed, False))
    parts = tuple((days, nights.part(np.isin(weekday_of(nights), days)) if len(groups) > 1 else nights) for days in groups)
    return YearCarpetData(
        carpet_title(results, weak), carpet_subtitle(results, weak, which), weak, nights, parts,
        half_width=_half_width(results, weak.segment), **common,
    )  # fmt: skip


def _half_width(results: Results, segment: int) -> float:
    """The largest half width of Pd over the states that hours have."""
    states = results["hour_state"].values
    states = np.unique(states[states >= 0])
    name = state_variable(results, segment)
    low, high = (results.at(f"{name}_{end}", segment=segment)[states] for end in ("low", "high"))
    return float(np.nanmax(0.5 * (high - low), initial=0.0))


@dataclass(frozen=True, eq=False)
class FogCurve:
    """One kind of fog: Pd by drop share and optical range (drops, ranges) with its interval, small drops first; from which range
    on the requirement is met, as numbers for the bar and in words."""

    kind: str
    pd: np.ndarray
    low: np.ndarray
    high: np.ndarray
    start: FogStart
    words: str


@dataclass(frozen=True, eq=False)
class OpticalRangeData:
    """What `plot_optical_range` draws: optical ranges (ranges,) [m]; for the mean fence and for the named segment a curve of each
    kind of fog; hours with fog at each range (ranges,), a year (`a_year`) or of the record."""

    title: str
    note: str
    range_m: np.ndarray
    panels: tuple[tuple[str, tuple[FogCurve, ...]], ...]
    hours: np.ndarray
    a_year: bool
    chosen: bool
    requirement: float
    units: str
    attrs: Mapping[str, Any]


def optical_range_data(results: Results | xr.Dataset) -> OpticalRangeData:
    """Pd against optical range; ValueError for results without fog by optical range."""
    results = Results.of(results)
    if "pd_fog" not in results:
        raise ValueError("these results have no fog by optical range; run a site with a [weather_file]")
    ranges, need = results.array("optical_range", "optical_range").astype(float), results.requirement
    segment = int(results.at("fog_segment"))
    code = code_of(results, results.sections, segment, segment)
    panels, places = [], []
    for name, head, subject in (
        ("pd_fog", "the whole fence, mean", "the fence's mean Pd"),
        ("pd_fog_segment", f"{code}, the named segment", code),
    ):
        dims = ("fog_kind", "drop_share", "optical_range")
        pd, low, high = (results.array(f"{name}{end}", *dims) for end in ("", "_low", "_high"))
        kinds = [str(kind) for kind in results["fog_kind"].values]
        curves = tuple(_fog_curve(results, ranges, kind, pd[i], low[i], high[i]) for i, kind in enumerate(kinds))
        panels.append((head, curves))
        places.append((subject, [curve.start for curve in curves]))
    hours, a_year = _fog_hours(results, ranges)
    return OpticalRangeData(
        title=optical_range_title(places, need, results.units), note=optical_range_note(results), range_m=ranges,
        panels=tuple(panels), hours=hours, a_year=a_year, chosen=bool(condition_of(results.attrs)), requirement=need,
        units=results.units, attrs=results.attrs,
    )  # fmt: skip


def _fog_curve(results: Results, ranges: np.ndarray, kind: str, pd: np.ndarray, low: np.ndarray, high: np.ndarray) -> FogCurve:
    small, large, reached = (meets_from(ranges, each, results.requirement) for each in (low[0], low[-1], pd[0]))
    start = FogStart(kind, small, large, reached)
    return FogCurve(kind, pd, low, high, start, start.words(results.units))


def _fog_hours(results: Results, ranges: np.ndarray) -> tuple[np.ndarray, bool]:
    edges = np.sqrt(ranges[1:] * ranges[:-1])
    counted = results.array("hour_armed", "hour") & results.array("hour_known", "hour")
    fog = np.where(counted, np.nan_to_num(results.array("hour_fog_share", "hour")), 0.0)
    years = counted.sum() / max(float(results.at("known_armed_hours")), 1e-9)
    a_year = years >= LEAST_YEARS
    visibility = np.nan_to_num(results.array("hour_visibility_m", "hour").astype(float), nan=1e6)
    hours = np.bincount(np.searchsorted(edges, visibility), weights=fog, minlength=len(ranges))
    return hours * (1.0 / max(years, 1e-9) if a_year else 1.0), a_year


@dataclass(frozen=True, eq=False)
class WeatherData:
    """What `plot_weather` draws: hours of each weather class by month (classes, 12), a year (`a_year`) or of the record; the
    nights of one year (of a longer record the foggiest, named in `which`), and the hours of the record (hours,): optical range
    [m], rain and snow [mm/h of water], contrast of clothing with the ground [K], known, armed, the sun's height [degrees]."""

    title: str
    classes: tuple[str, ...]
    months: np.ndarray
    a_year: bool
    nights: Nights
    which: str
    visibility_m: np.ndarray
    rain_mm_h: np.ndarray
    snow_mm_h: np.ndarray
    contrast_k: np.ndarray
    known: np.ndarray
    armed: np.ndarray
    sun_deg: np.ndarray
    source: str


def weather_data(year: Year) -> WeatherData:
    """Hours of each class by month and the record hour by hour."""
    middle = as_reported(year.middle)
    foggy = year.counted & (middle["visibility_m"] < FOG_M)
    nights, which = year_of_most(nights_of(year.records.time), foggy.astype(float))
    return WeatherData(
        title=weather_title(year), classes=tuple(rule.name for rule in RULES), months=class_months(year),
        a_year=year.period_years >= LEAST_YEARS, nights=nights, which=which, visibility_m=middle["visibility_m"],
        rain_mm_h=np.nan_to_num(middle["rain_mm_h"]), snow_mm_h=np.nan_to_num(middle["snow_mm_h"]),
        contrast_k=middle["contrast_k"], known=year.known, armed=year.armed, sun_deg=year.sun_elevation_deg,
        source=year.records.source,
    )  # fmt: skip
