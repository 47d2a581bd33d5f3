"""The results of a site that walks have calibrated: intervals that hold what the walks left open, and verdicts by them."""

from __future__ import annotations

import json

import numpy as np
import xarray as xr

from fencecast.estimate.calibrated import CalibratedTally
from fencecast.estimate.dataset import worst_of
from fencecast.estimate.intervals import combined, joined, verdicts, year_half
from fencecast.kernels.crossing import SUM_PD
from fencecast.site import Site

_BLOCK_SEGMENTS = 256
_BY_CELL = ("weather", "segment")


def add_bands(results: xr.Dataset, site: Site, tally: CalibratedTally) -> None:
    """Widens the intervals of a run to what the walks left open, anew with their verdicts, and adds what they are made of.

    pd, pd_low, pd_high and the verdict of a segment are of a place that nobody walked. pd_fence: the mean over metres with data,
    each segment a place with a shift of its own.
    """
    confidence, requirement = site.requirement.confidence, site.requirement.pd
    shape = (results.sizes["weather"], results.sizes["segment"])
    pd, hours = results["pd"].values, results["weather_hours"].values
    half = np.where(tally.points > 0, tally.half_width(confidence), np.nan).reshape(shape)
    mean, place = tally.parameter_ends(confidence)
    for name, pair in (("pd_parameter", mean), ("pd_place", place)):
        for end, values in zip(("low", "high"), pair):
            results[f"{name}_{end}"] = (_BY_CELL, values.reshape(shape))
    results["pd_sampling_half"] = (_BY_CELL, half)
    low, high = joined(pd, place[0].reshape(shape), place[1].reshape(shape), half)
    results["pd_low"], results["pd_high"] = (_BY_CELL, low), (_BY_CELL, high)
    results["verdict"] = (_BY_CELL, verdicts(low, high, requirement))
    names = np.array([str(name) for name in results["weather"].values])
    for name, values in zip(("pd_worst", "pd_worst_low", "pd_worst_high"), worst_of(pd, low, high, hours, names)):
        results[name] = ("segment", values)
    _add_year(results, tally, hours, confidence)
    _add_fence(results, tally, confidence)
    results.attrs["calibration"] = json.dumps(calibration_facts(site))


def _add_year(results: xr.Dataset, tally: CalibratedTally, hours: np.ndarray, confidence: float) -> None:
    """Ends of Pd over the year: one N50, and one shift of a segment, for all classes."""
    segments = results.sizes["segment"]
    if hours.sum() <= 0:
        return
    used = np.flatnonzero(hours > 0)
    share = hours[used] / hours.sum()
    se = tally.se().reshape(-1, segments)
    crossings = np.maximum(results["crossings"].values, 1)
    year, half = year_half(results["pd"].values, se, crossings, hours, tally.replicates, confidence)
    low, high = np.full(segments, np.nan), np.full(segments, np.nan)
    known = np.flatnonzero((tally.points.reshape(-1, segments)[used] > 0).all(axis=0))
    for first in range(0, len(known), _BLOCK_SEGMENTS):
        part = known[first : first + _BLOCK_SEGMENTS]
        pd = sum(weight * tally.table(row * segments + part) for weight, row in zip(share, used))
        low[part], high[part] = tally.posterior.place_ends(np.asarray(pd), confidence)
    for end, values in zip(("_low", "_high"), joined(year, low, high, half)):
        results[f"pd_year{end}"] = ("segment", values)


def _add_fence(results: xr.Dataset, tally: CalibratedTally, confidence: float) -> None:
    """Mean Pd over the metres with data in each class, with its ends: N50 is one for all, each segment has a shift of its own."""
    classes, segments = results.sizes["weather"], results.sizes["segment"]
    length = (results["segment_end_m"] - results["segment_start_m"]).values
    found = np.full((3, classes), np.nan)
    se, points = tally.se().reshape(classes, segments), tally.points.reshape(classes, segments)
    for row in range(classes):
        known = np.flatnonzero(points[row] > 0)
        if not len(known):
            continue
        part = row * segments + known
        part_ends = tally.posterior.fence_ends(tally.table(part), length[known] / length[known].sum(), confidence)
        mean, half = combined(
            results["pd"].values[row, known], se[row, known], tally.crossings[part], length[known], tally.replicates, confidence
        )
        found[:, row] = mean, *joined(mean, *part_ends, half)
    for end, values in zip(("", "_low", "_high"), found):
        results[f"pd_fence{end}"] = ("weather", values)


def add_fresh_bands(results: xr.Dataset, cells: np.ndarray, tally: CalibratedTally) -> None:
    """Widens the intervals of cells that were run again on fresh crossings (indices into the flattened weather x segment)."""
    confidence = float(results.attrs["confidence"])
    pd, half = tally.mean(SUM_PD), tally.half_width(confidence)
    _, place = tally.parameter_ends(confidence)
    for name, values in zip(("pd_fresh_low", "pd_fresh_high"), joined(pd, *place, half)):
        flat = results[name].values.ravel().copy()
        flat[cells] = values[cells]
        results[name] = (_BY_CELL, flat.reshape(results["pd"].shape))


def calibration_facts(site: Site) -> dict:
    """What a calibrated run rests on, for the results' attributes."""
    table = site.calibration
    assert table is not None
    return {
        "cycles_50": table.median_cycles_50,
        "cycles_50_low": table.cycles_50_low,
        "cycles_50_high": table.cycles_50_high,
        "only_from_above": table.only_from_above,
        "only_from_below": table.only_from_below,
        "encounter_correlation": table.mean_correlation,
        "correlation_low": table.correlation_low,
        "correlation_high": table.correlation_high,
        "correlation_hardly_known": table.correlation_hardly_known,
        "place_spread_ln": table.place_spread_ln,
        "walks": table.walks,
        "places": table.places,
        "walkers": table.walkers,
        "dates": list(table.dates),
        "weather": list(table.weather),
        "log_sha256": list(table.log_sha256),
        "prior": table.prior,
        **({"rehearsal": True} if table.rehearsal else {}),
    }
