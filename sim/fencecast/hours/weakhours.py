"""Weak hours: in how many armed hours of a year is a segment's Pd below the requirement, how sure is that, and when?

Pd of an hour is the weighted mean over its joint states, each estimated from the representative states by kriging
(`weather.representatives`). An hour's interval has two parts, joined as the root of the sum of their squares:

- crossings, by the scramblings that all states share;
- representatives: the standard deviation that kriging gives the error at the hour's states, for a Pd that varies as much as that
  of the segment does: by how far each representative is from what the others tell of it. Student's t of that at the confidence.

The low end of a count has the hours whose whole interval lies below the requirement, the high end those whose interval does not
lie above it: errors of hours go the same way as far as that, and no count profits from errors that may not cancel.

Measured on two sites against every state simulated by itself on the same crossings, 64 representatives, ten seeds
of the choice, 95 %: this second part alone held 94 to 97 % of the hours with Pd within 0.05 of the requirement and 99 to 100 % of
the counts, and made these 14 to 20 % of a count wide (`benchmarks/hours.py`). By how much Pd changes when the nearest
representative is left out is one draw and no half width: it held half of those hours, 90 and 97 % of the counts, 5 % wide.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from scipy.sparse import csr_matrix
from scipy.special import stdtrit

from fencecast.estimate.intervals import half_width, interval, standard_error
from fencecast.estimate.options import RunOptions
from fencecast.hours.representatives import DEFAULT_STATES, Representatives
from fencecast.hours.states import DEFAULT_MOST_CROSSINGS, EveryHour, StatePd, simulate_states, simulate_year
from fencecast.kernels.pack import pack_cells, watched_sections
from fencecast.meteorology.stress import clock_of
from fencecast.meteorology.year import MIDDLE_FIELDS, STATE_FIELDS, Year

# The segments that are named are simulated again on fresh crossings, this many times as many.
_FRESH_TIMES = 4
# Segments at a time, fewer where there are many hours: hours times segments, 10 MB an array of eight scramblings.
_BLOCK_SEGMENTS, _BLOCK_CELLS = 32, 150_000
_BLOCK_HOURS = 8192


@dataclass(frozen=True)
class HourCounts:
    """Hours a year below the requirement, each (segments,), NaN where nothing watches; `anywhere` for at least one of them.

    middle, low, high: the estimate and the ends of its interval. month (segments, 12) and clock (segments, 24): the estimate by
    month and by clock hour. anywhere: middle, low, high.
    """

    middle: np.ndarray
    low: np.ndarray
    high: np.ndarray
    month: np.ndarray
    clock: np.ndarray
    anywhere: tuple[float, float, float]


def hour_weights(year: Year, chosen: Representatives, share: np.ndarray) -> np.ndarray:
    """How much each representative counts in each hour, (hours, K): rows of counted hours add up to 1, those of others are 0.

    share: what a distinct state has of each, (m, K).
    """
    at = (year.states.hour[chosen.rows], chosen.member)
    return csr_matrix((year.states.weight[chosen.rows], at), shape=(len(year.armed), len(share))) @ share


def pd_by_hour(weights: np.ndarray, pd: StatePd, segments: slice | np.ndarray):
    """Pd, its standard error and crossings of every counted hour in some segments, each (counted hours, segments).

    weights (counted hours, K): they may be negative, so Pd is cut to 0 .. 1.
    """
    means = pd.means[:, segments].astype(float)
    states, count, replicates = means.shape
    each = (weights @ means.reshape(states, -1)).reshape(-1, count, replicates)
    # What crossings cannot see is taken to be no more in an hour than in its states: 1 / crossings is their mean by the size of
    # their weights, though sizes add up to 2 in the median and to 7 at most. States that are weighed against each other are
    # alike and share their draws, so what they miss cancels as the weights do. Measured on two sites by setting one half of 64
    # crossings against the other: so their difference is 0.9 to 1.1 times (rms) that of the hour's own states where
    # Pd is 0.3 to 0.99, also where sizes add up to more than 3. Nearer to 1 it is larger than their own, but at most 0.08 where
    # the floor for 32 crossings is 0.10.
    size = np.abs(weights)
    with np.errstate(divide="ignore", invalid="ignore"):
        crossings = size.sum(axis=1, keepdims=True) / (size @ (1.0 / pd.crossings[:, segments]))
    return np.clip(each.mean(axis=2), 0.0, 1.0), standard_error(each), crossings


def variation(chosen: Representatives, pd: StatePd) -> np.ndarray:
    """By how much Pd of each segment varies over the year as kriging sees it, (segments,): from each representative by the
    others, so crossings that differ from state to state are in it too."""
    return np.sqrt(((chosen.left_out @ pd.means.mean(axis=2, dtype=float)) ** 2).mean(axis=0))


def count_hours(year: Year, chosen: Representatives, pd: StatePd, need: float, confidence: float) -> HourCounts:
    """Counts of the hours below the requirement, per year."""
    counted = np.flatnonzero(year.counted)
    near = hour_weights(year, chosen, chosen.share)[counted]
    # Errors of the states of one hour are taken to go the same way.
    unsure = hour_weights(year, chosen, chosen.unsure[:, None])[counted]
    varies, freedom = variation(chosen, pd), max(len(chosen) - 1, 1)
    month, clock = clock_of(year.records.time[counted])
    in_month = (month[None, :] == np.arange(1, 13)[:, None]).astype(float)
    in_clock = (clock[None, :] == np.arange(24)[:, None]).astype(float)
    segments = pd.means.shape[1]
    watched = np.flatnonzero(~np.isnan(pd.means[0, :, 0]))
    rows = {name: np.full(segments, np.nan) for name in ("middle", "low", "high")}
    by_month, by_clock = np.full((segments, 12), np.nan), np.full((segments, 24), np.nan)
    somewhere = np.zeros((3, len(counted)), dtype=bool)
    block = int(np.clip(_BLOCK_CELLS // max(len(counted), 1), 1, _BLOCK_SEGMENTS))
    for start in range(0, len(watched), block):
        part = watched[start : start + block]
        mean, se, crossings = pd_by_hour(near, pd, part)
        sd = unsure * varies[part]

        def half(error_rate, mean=mean, se=se, crossings=crossings, sd=sd):
            of_choice = stdtrit(freedom, 1.0 - 0.5 * error_rate) * sd
            return np.hypot(half_width(se, crossings, pd.replicates, 1.0 - error_rate, mean), of_choice)

        whole = half(1.0 - confidence)
        weak = {"middle": mean < need, "low": mean + whole < need, "high": mean - whole < need}
        for name, holds in weak.items():
            rows[name][part] = holds.sum(axis=0)
        by_month[part], by_clock[part] = (in_month @ weak["middle"]).T, (in_clock @ weak["middle"]).T
        # The lowest of many segments is low by chance: that one is below for sure asks for an interval kept by all at once
        # (Bonferroni).
        surely = mean + half((1.0 - confidence) / len(watched)) < need
        for row, holds in enumerate((weak["middle"], surely, weak["high"])):
            somewhere[row] |= holds.any(axis=1)
    years = year.period_years
    return HourCounts(
        *(rows[name] / years for name in ("middle", "low", "high")),
        by_month / years,
        by_clock / years,
        tuple(float(hours) / years for hours in somewhere.sum(axis=1)),
    )


def add_weak_hours(
    site,
    year: Year,
    results: xr.Dataset,
    plan,
    options: RunOptions,
    count: int = DEFAULT_STATES,
    most_crossings: int = DEFAULT_MOST_CROSSINGS,
) -> int:
    """Simulate the year's hours and store what they give: see "hours" in MEANINGS. Returns looks rendered.

    plan: the packed site; its weather is not used. count: how many representative states stand for the hours. The segments that
    are named (`weakest_segment`, `carpet_segment`) are simulated again on fresh crossings, because the weakest of many
    estimates is too weak by selection.
    """
    need, confidence = site.requirement.pd, site.requirement.confidence
    active = watched_sections(site)[pack_cells(site, options.seed, (EveryHour,)).section]
    chosen, classes, pd = simulate_year(site, year, plan, active, options, most_crossings, count)
    counts = count_hours(year, chosen, pd, need, confidence)
    results.coords["state"] = np.array([f"state {k + 1}" for k in range(len(chosen))])
    _add_pd(results, "pd_state", pd, confidence)
    _add_states(results, chosen, year)
    _add_hours(results, year, chosen)
    _add_counts(results, counts, year)
    named = sorted({s for s in (weakest_segment(results), carpet_segment(results)) if s is not None})
    again = np.zeros(len(active), dtype=bool)
    again[named] = True
    again &= active
    fresh = simulate_states(
        site,
        plan,
        classes,
        options.seed,
        again,
        options.precision / 2.0,
        _FRESH_TIMES * most_crossings,
        options.threads,
        purpose="hours fresh",
    )
    recount = count_hours(year, chosen, fresh, need, confidence)
    for name, values in zip(
        ("weak_hours_fresh", "weak_hours_fresh_low", "weak_hours_fresh_high"),
        (recount.middle, recount.low, recount.high),
    ):
        results[name] = ("segment", values)
    # What is shown of the named segments, hour by hour, is what is said of them.
    _add_pd(results, "pd_state_fresh", fresh, confidence)
    for name, values in (("weak_hours_month", recount.month), ("weak_hours_clock", recount.clock)):
        results[name].values[again] = values[again]
    return pd.looks + fresh.looks


def _add_pd(results, variable: str, pd: StatePd, confidence: float) -> None:
    mean = pd.means.mean(axis=2, dtype=float)
    se = pd.means.std(axis=2, ddof=1, dtype=float) / np.sqrt(pd.replicates)
    low, high = interval(mean, half_width(se, pd.crossings, pd.replicates, confidence, mean))
    for end, values in (("", mean), ("_low", low), ("_high", high)):
        results[f"{variable}{end}"] = (("state", "segment"), values.astype(np.float32))


def _add_states(results, chosen: Representatives, year: Year) -> None:
    results["state_hours"] = ("state", chosen.states.weight / year.period_years)
    results["state_fog"] = ("state", chosen.states.fog.astype(np.int8))
    for name in STATE_FIELDS:
        results[f"state_{name}"] = ("state", getattr(chosen.states, name).astype(np.float32))


def _add_hours(results, year: Year, chosen: Representatives) -> None:
    weights = hour_weights(year, chosen, chosen.share)
    width = max(int((weights != 0.0).sum(axis=1).max(initial=1)), 1)
    state = np.full((len(weights), width), -1, dtype=np.int16)
    share = np.zeros((len(weights), width), dtype=np.float32)
    for start in range(0, len(weights), _BLOCK_HOURS):
        some = csr_matrix(weights[start : start + _BLOCK_HOURS])
        options = np.diff(some.indptr)
        place = np.arange(some.nnz) - np.repeat(some.indptr[:-1], options)
        row = start + np.repeat(np.arange(len(options)), options)
        state[row, place], share[row, place] = some.indices, some.data
    results["hour_state"] = (("hour", "option"), state)
    results["hour_state_weight"] = (("hour", "option"), share)
    results["hour_time"] = ("hour", year.records.time.astype("datetime64[ns]"))
    results["hour_armed"], results["hour_known"] = ("hour", year.armed), ("hour", year.known)
    results["hour_sun_elevation_deg"] = ("hour", np.asarray(year.sun_elevation_deg, dtype=np.float32))
    for name in MIDDLE_FIELDS:
        results[f"hour_{name}"] = ("hour", np.asarray(year.middle[name], dtype=np.float32))


def _add_counts(results, counts: HourCounts, year: Year) -> None:
    for name, values in (("", counts.middle), ("_low", counts.low), ("_high", counts.high)):
        results[f"weak_hours{name}"] = ("segment", values)
    for name, value in zip(("", "_low", "_high"), counts.anywhere):
        results[f"weak_hours_any{name}"] = ((), value)
    results.coords["month"] = np.arange(1, 13)
    results.coords["clock_hour"] = np.arange(24)
    results["weak_hours_month"] = (("segment", "month"), counts.month)
    results["weak_hours_clock"] = (("segment", "clock_hour"), counts.clock)
    results["armed_hours"] = ((), float(year.armed.sum() / year.period_years))
    results["known_armed_hours"] = ((), float(year.counted.sum() / year.period_years))


def weakest_segment(results) -> int | None:
    """The segment with most weak hours, of equals the one with the lowest mean Pd over the states by their hours.

    None without data.
    """
    return _most_hours(results, np.ones(results.sizes["segment"], dtype=bool))


def carpet_segment(results) -> int | None:
    """The weakest segment that meets the requirement in its best state: one that is always weak makes a flat, useless carpet.

    None when no segment meets the requirement in any state.
    """
    return _most_hours(results, meets_at_best(results))


def named_segment(results) -> int | None:
    """The segment that words and pictures speak of: that of the carpet, else the weakest; None without data."""
    segment = carpet_segment(results)
    return weakest_segment(results) if segment is None else segment


def meets_at_best(results) -> np.ndarray:
    """Whether each segment's whole interval lies above the requirement in at least one state, (segments,)."""
    return (results["pd_state_low"].values > float(results.attrs["requirement_pd"])).any(axis=0)


def _most_hours(results, among: np.ndarray) -> int | None:
    hours = results["weak_hours"].values
    among = np.flatnonzero(among & ~np.isnan(hours))
    if not len(among):
        return None
    mean = results["state_hours"].values @ results["pd_state"].values[:, among]
    return int(among[np.lexsort((mean, -hours[among]))[0]])


def pd_of_hours(results, segment: int) -> np.ndarray:
    """Pd of every hour in one segment from a results Dataset, (hours,); NaN where the hour does not count.

    On fresh crossings for a segment that was run again because it is named.
    """
    state, weight = results["hour_state"].values, results["hour_state_weight"].values.astype(float)
    pd = results[state_variable(results, segment)].values[:, segment].astype(float)
    return np.where(state[:, 0] >= 0, np.clip((pd[state] * weight).sum(axis=1), 0.0, 1.0), np.nan)


def state_variable(results, segment: int) -> str:
    """The variable that holds the Pd of a segment's states: fresh crossings where there are any."""
    fresh = "pd_state_fresh" in results and not np.isnan(results["pd_state_fresh"].values[:, segment]).all()
    return "pd_state_fresh" if fresh else "pd_state"
