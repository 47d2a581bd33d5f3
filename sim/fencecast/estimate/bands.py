"""The results of a site that walks have calibrated: intervals that hold what the walks left open, and verdicts by them."""

from __future__ import annotations

import json

import numpy as np
import xarray as xr

from fencecast.estimate.calibrated import CalibratedTally
from fencecast.estimate.dataset import worst_of
from fencecast.estimate.intervals import combined, joined, verdicts, year_half
from fencecast.estimate.posterior import ends
from fencecast.kernels.crossing import SUM_PD
from fencecast.site import Site

_BLOCK_SEGMENTS = 256
_BY_CELL = ("weather", "segment")


def add_bands(results: xr.Dataset, site: Site, tally: CalibratedTally) -> None:
    """Widens the intervals of a run to what the walks left open, anew with their verdicts, and adds what they are made of.

    pd_low, pd_high and the verdict of a segment are for a place that nobody walked. pd_fence: the mean over metres with data,
    where all places count as alike.
    """
    confidence, requirement = site.requirement.confidence, site.requirement.pd
    shape = (results.sizes["weather"], results.sizes["segment"])
    pd, hours = results["pd"].values, results["weather_hours"].values
    half = np.where(tally.points > 0, tally.half_width(confidence), np.nan).reshape(shape)
    alike, place = tally.parameter_ends(confidence)
    for name, pair in (("pd_parameter", alike), ("pd_place", place)):
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
    """Ends of Pd over the year: one N50 for all classes."""
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
        low[part], high[part] = ends(np.reshape(pd, (len(part), -1)), tally.posterior.fine_place.ravel(), confidence)
    for end, values in zip(("_low", "_high"), joined(year, low, high, half)):
        results[f"pd_year{end}"] = ("segment", values)


def _add_fence(results: xr.Dataset, tally: CalibratedTally, confidence: float) -> None:
    """Mean Pd over the metres with data in each class, with its ends, all places alike."""
    classes, segments = results.sizes["weather"], results.sizes["segment"]
    length = (results["segment_end_m"] - results["segment_start_m"]).values
    found = np.full((3, classes), np.nan)
    se, points = tally.se().reshape(classes, segments), tally.points.reshape(classes, segments)
    for row in range(classes):
        known = np.flatnonzero(points[row] > 0)
        if not len(known):
            continue
        part = row * segments + known
        pd = np.einsum("s,sik->ik", length[known] / length[known].sum(), tally.table(part)).ravel()
        mean, half = combined(
            results["pd"].values[row, known], se[row, known], tally.crossings[part], length[known], tally.replicates, confidence
        )
        found[:, row] = mean, *joined(mean, *ends(pd, tally.posterior.fine_weight.ravel(), confidence), half)
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
        "encounter_correlation": table.mean_correlation,
        "correlation_low": table.correlation_low,
        "correlation_high": table.correlation_high,
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
