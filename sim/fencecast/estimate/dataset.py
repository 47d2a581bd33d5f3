"""From sums to the results that users get: an xarray Dataset with units, intervals and verdicts."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import xarray as xr

from fencecast.cautions import CAUTION, not_modelled
from fencecast.estimate.bandmeanings import BAND_MEANINGS
from fencecast.estimate.distance import DISTANCES_M
from fencecast.estimate.hourmeanings import HOUR_MEANINGS
from fencecast.estimate.intervals import interval, verdicts, year_mean
from fencecast.estimate.nuisancemeanings import NUISANCE_MEANINGS
from fencecast.estimate.places import section_letters, segment_codes
from fencecast.estimate.results import RESULTS_SCHEMA
from fencecast.kernels.crossing import (
    SUM_ANY_VIEW,
    SUM_ARMED,
    SUM_CAMERA,
    SUM_CONFIRMED,
    SUM_DELAY,
    SUM_DEPTH,
    SUM_IN_VIEW,
    SUM_PD,
    SUM_RESOLVED,
    SUM_UNGATED,
)
from fencecast.site.geometry import cut_segments

# In the order of the ladder; together they are 1 - Pd.
CAUSES = ("no rule there", "not in view", "too small", "too brief", "washed out")
LADDER = (SUM_ARMED, SUM_ANY_VIEW, SUM_IN_VIEW, SUM_RESOLVED, SUM_CONFIRMED, SUM_UNGATED, SUM_PD)
NOT_ACCEPTED = "not accepted"  # the last rung, of a site whose analytics have a size gate


# Variable: (unit, long name).
MEANINGS = {
    "pd": ("1", "probability that one crossing raises an alarm"),
    "pd_low": ("1", "lower end of its interval at the file's confidence"),
    "pd_high": ("1", "upper end of its interval at the file's confidence"),
    "pd_camera": ("1", "probability that one crossing raises an alarm, this camera alone"),
    "miss_share": ("1", "share of all crossings missed for this cause; the causes add up to 1 - pd"),
    "alarm_depth_m": ("m", "mean distance behind the line at alarm time, given an alarm"),
    "alarm_delay_s": ("s", "mean time since the line was crossed at alarm time, given an alarm"),
    "crossings": ("1", "crossings simulated"),
    "verdict": ("1", "meets, undecided or weak: whole interval above, across or below the requirement; or no data"),
    "pd_year": ("1", "pd over the year, weather classes weighted by hours"),
    "pd_year_low": ("1", "lower end of its interval"),
    "pd_year_high": ("1", "upper end of its interval"),
    "pd_worst": ("1", "pd in the worst weather class with hours"),
    "pd_worst_low": ("1", "lower end of its interval"),
    "pd_worst_high": ("1", "upper end of its interval"),
    "worst_weather": ("1", "name of that weather class"),
    "pd_distance": ("1", "pd of one camera with this lens for crossings at this distance on its axis"),
    "pd_distance_low": ("1", "lower end of its interval"),
    "pd_distance_high": ("1", "upper end of its interval"),
    "dpd_dln_n50": ("1", "change of the mean pd with the logarithm of cycles_50"),
    "dpd_dln_n50_low": ("1", "lower end of its interval"),
    "dpd_dln_n50_high": ("1", "upper end of its interval"),
    "dpd_dln_netd": ("1", "change of the mean pd with the logarithm of NETD"),
    "dpd_dln_netd_low": ("1", "lower end of its interval"),
    "dpd_dln_netd_high": ("1", "upper end of its interval"),
    "dpd_dln_threshold": ("1", "change of the mean pd with the logarithm of threshold_sigma"),
    "dpd_dln_threshold_low": ("1", "lower end of its interval"),
    "dpd_dln_threshold_high": ("1", "upper end of its interval"),
    "dpd_dln_clutter": ("1", "change of the mean pd with the logarithm of every clutter_k of the class"),
    "dpd_dln_clutter_low": ("1", "lower end of its interval"),
    "dpd_dln_clutter_high": ("1", "upper end of its interval"),
    "pd_fresh": ("1", "pd of cells that were run again on fresh crossings because they were picked as the lowest"),
    "pd_fresh_low": ("1", "lower end of its interval"),
    "pd_fresh_high": ("1", "upper end of its interval"),
    "installation": ("1", "a yard as built: mounting errors, noise of units and spreads of the decision drawn once"),
    "pd_installation": ("1", "pd of one installation"),
    "pd_installation_mean": ("1", "mean of pd_installation over these installations"),
    "pd_installation_mean_low": ("1", "lower end of its interval, from the scramblings of the crossings that all share"),
    "pd_installation_mean_high": ("1", "upper end of its interval"),
    "pd_installation_10": ("1", "a tenth of the installations has a lower pd (linear interpolation)"),
    "pd_installation_90": ("1", "a tenth of the installations has a higher pd (linear interpolation)"),
    "installation_meets_share": ("1", "share of the installations whose pd, as estimated, is at or above the requirement"),
    "installation_meets_share_low": ("1", "lower end of its interval (Wilson)"),
    "installation_meets_share_high": ("1", "upper end of its interval (Wilson)"),
    "installation_lowest_pd": ("1", "lowest pd of an installation over all segments and the classes with hours"),
    "sensitivity_first": ("1", "share of the variance of a crossing's pd that this input brings alone"),
    "sensitivity_first_low": ("1", "lower end of its interval"),
    "sensitivity_first_high": ("1", "upper end of its interval"),
    "sensitivity_total": ("1", "share of the variance of a crossing's pd that this input brings alone and together with others"),
    "sensitivity_total_low": ("1", "lower end of its interval"),
    "sensitivity_total_high": ("1", "upper end of its interval"),
    "sensitivity_sd": ("1", "standard deviation of a crossing's pd, given its draws"),
    "sensitivity_weather": ("1", "weather class that the place is described in"),
    "sensitivity_segment": ("1", "index of the segment that the place is described by"),
    "lift_pd": ("1", "pd of a named place with one thing lifted, on the same crossings"),
    "lift_gain": ("1", "share of crossings that are then no longer missed for the place's cause"),
    "diagnosed_weather": ("1", "the mildest weather class in which the place is weak"),
    "diagnosed_segment": ("1", "index of the segment that the place is described by"),
    "picture": ("1", "aerial picture of the ground, grey 0 to 255; affine: pixel (column, row, 1) to metres x, y"),
    "noise_alarms_per_day": ("1/day", "alarms of a camera in a day from sensor noise only: no animals, no weather"),
    "weather_hours": ("h", "hours of the weather class in a year; of an hourly record, its hours divided by period_years"),
    "segment": ("1", "code of the segment: letter of its section, metres along it"),
    "section": ("1", "perimeter section of the segment"),
    "chainage_m": ("m", "distance along the section to the segment's middle"),
    "segment_start_m": ("m", "distance along the section to the segment's start"),
    "segment_end_m": ("m", "distance along the section to the segment's end"),
    "x_m": ("m", "east of the segment's middle"),
    "y_m": ("m", "north of the segment's middle"),
    "weather": ("1", "weather class"),
    "camera": ("1", "mark of the camera"),
    "cause": ("1", "why a crossing is missed"),
    "lens": ("1", "lens"),
    "place": ("1", "code of a weakest place"),
    "diagnosed": ("1", "code of a weakest place whose cause was asked for"),
    "lift": ("1", "what was lifted: fog, a gait by its name, an obstacle, ..."),
    "variable": ("1", "drawn input of a crossing; cameras: noise and mounting of all; decision: N50, threshold, correlation"),
    "distance": ("m", "ground distance of the line from the camera"),
    **BAND_MEANINGS,
    **HOUR_MEANINGS,
    **NUISANCE_MEANINGS,
}


def causes_of(site) -> tuple[str, ...]:
    """Why a crossing of this site may be missed, in the order of the ladder."""
    return (*CAUSES, NOT_ACCEPTED) if any(site.decision.size_gate) else CAUSES


def _grid(tally, values: np.ndarray, classes: int) -> np.ndarray:
    """Cell values as (weather, segment), NaN where nothing was simulated."""
    return np.where(tally.points > 0, values, np.nan).reshape(classes, -1)


def segment_coordinates(site) -> dict:
    """Where every segment is: the coordinates along the dimension `segment` of a results Dataset."""
    parts = [(section.name, cut_segments(section, site.site.segment_length_m)) for section in site.perimeter]
    cuts = [cut for _, cut in parts]
    return {
        "segment": segment_codes(section_letters(site), [cut.start_m for cut in cuts], [cut.end_m for cut in cuts]),
        "section": ("segment", np.concatenate([[name] * len(cut) for name, cut in parts]).astype(str)),
        "chainage_m": ("segment", np.concatenate([cut.middle_m for _, cut in parts])),
        "segment_start_m": ("segment", np.concatenate([cut.start_m for _, cut in parts])),
        "segment_end_m": ("segment", np.concatenate([cut.end_m for _, cut in parts])),
        "x_m": ("segment", np.concatenate([cut.point_m[:, 0] for _, cut in parts])),
        "y_m": ("segment", np.concatenate([cut.point_m[:, 1] for _, cut in parts])),
    }


def worst_of(pd, low, high, hours, names):
    """The lowest class with hours per segment: pd, low, high and its name ('' without data)."""
    counted = np.flatnonzero(hours > 0)
    segments = np.arange(pd.shape[1])
    if len(counted) == 0 or np.isnan(pd[counted]).all():
        nothing = np.full(pd.shape[1], np.nan)
        return nothing, nothing, nothing, np.full(pd.shape[1], "", dtype=object).astype(str)
    row = counted[np.argmin(np.where(np.isnan(pd[counted]), np.inf, pd[counted]), axis=0)]
    known = ~np.isnan(pd[row, segments])
    return pd[row, segments], low[row, segments], high[row, segments], np.where(known, names[row], "")


def build_results(site, weather, tally, attributes: dict) -> xr.Dataset:
    """The Dataset of a run: everything per cell and per segment. `attributes` adds to what is known from the site."""
    classes = len(weather)
    names = np.array([w.name for w in weather])
    hours = np.array([w.hours_per_year for w in weather], dtype=float)
    requirement, confidence = site.requirement.pd, site.requirement.confidence
    pd_cells = tally.mean(SUM_PD)
    pd = _grid(tally, pd_cells, classes)
    se = _grid(tally, tally.se(), classes)
    low, high = (_grid(tally, end, classes) for end in interval(pd_cells, tally.half_width(confidence)))
    ladder = [tally.mean(column) for column in LADDER]
    armed, any_view, in_view, resolved, confirmed, ungated, alarm = ladder
    # A camera that sees but that no armed rule hears counts as no rule there: the remedy is a rule, not a camera.
    no_rule = (1.0 - armed) + (any_view - in_view)
    shares = [no_rule, armed - any_view, in_view - resolved, resolved - confirmed, confirmed - ungated]
    causes = causes_of(site)
    if NOT_ACCEPTED in causes:
        shares.append(ungated - alarm)
    crossings = tally.crossings.reshape(classes, -1)
    with np.errstate(invalid="ignore", divide="ignore"):
        depth = _grid(tally, np.where(pd_cells > 0, tally.mean(SUM_DEPTH) / pd_cells, np.nan), classes)
        delay = _grid(tally, np.where(pd_cells > 0, tally.mean(SUM_DELAY) / pd_cells, np.nan), classes)
        year, year_low, year_high = year_mean(pd, se, np.maximum(crossings, 1), hours, tally.replicates, confidence)
    worst, worst_low, worst_high, worst_weather = worst_of(pd, low, high, hours, names)
    by_cell, by_segment = ("weather", "segment"), "segment"
    variables = {
        "pd": (by_cell, pd),
        "pd_low": (by_cell, low),
        "pd_high": (by_cell, high),
        "pd_camera": (
            ("camera", *by_cell),
            np.array([_grid(tally, tally.mean(SUM_CAMERA + k), classes) for k in range(len(site.camera))]),
        ),
        "miss_share": (("cause", *by_cell), np.array([_grid(tally, np.maximum(s, 0.0), classes) for s in shares])),
        "alarm_depth_m": (by_cell, depth),
        "alarm_delay_s": (by_cell, delay),
        "crossings": (by_cell, crossings),
        "verdict": (by_cell, verdicts(low, high, requirement)),
        "pd_year": (by_segment, year),
        "pd_year_low": (by_segment, year_low),
        "pd_year_high": (by_segment, year_high),
        "pd_worst": (by_segment, worst),
        "pd_worst_low": (by_segment, worst_low),
        "pd_worst_high": (by_segment, worst_high),
        "worst_weather": (by_segment, worst_weather),
    }
    coordinates = {
        "weather": names,
        "weather_hours": ("weather", hours),
        "camera": np.array([camera.mark for camera in site.camera]),
        "cause": np.array(causes),
        **segment_coordinates(site),
    }
    results = xr.Dataset(variables, coordinates)
    results.attrs = {
        "title": site.title,
        "schema": RESULTS_SCHEMA,
        "site_sha256": site.sha256,
        "site_toml": site.text,
        "created": datetime.now(UTC).isoformat(timespec="seconds"),
        "confidence": confidence,
        "requirement_pd": requirement,
        "encounter_correlation": site.decision.encounter_correlation.middle(),
        "units": site.units,
        "caution": CAUTION,
        "not_modelled": "\n".join(not_modelled(False, site.calibration is not None)),
        "crossings_total": int(tally.crossings.sum()),
        **attributes,
    }
    return results


def add_fresh(results: xr.Dataset, cells: np.ndarray, tally) -> None:
    """Store what fresh crossings gave for the cells that were run again (indices into the flattened weather x segment)."""
    shape = results["pd"].shape
    mean = tally.mean(SUM_PD)
    low, high = interval(mean, tally.half_width(float(results.attrs["confidence"])))
    for name, values in (("pd_fresh", mean), ("pd_fresh_low", low), ("pd_fresh_high", high)):
        flat = np.full(shape[0] * shape[1], np.nan)
        flat[cells] = values[cells]
        results[name] = (("weather", "segment"), flat.reshape(shape))


def add_distance(results: xr.Dataset, lenses: list[str], tallies: list) -> None:
    """Pd against distance for each lens."""
    classes = results.sizes["weather"]
    confidence = float(results.attrs["confidence"])
    shape = (len(lenses), classes, len(DISTANCES_M))
    mean = np.array([tally.mean(SUM_PD) for tally in tallies]).reshape(shape)
    low, high = (np.reshape(end, shape) for end in zip(*(tally.ends_alike(confidence) for tally in tallies)))
    results.coords["lens"] = np.array(lenses).astype(str)
    results.coords["distance"] = DISTANCES_M
    for name, values in (("pd_distance", mean), ("pd_distance_low", low), ("pd_distance_high", high)):
        results[name] = (("weather", "lens", "distance"), np.swapaxes(values, 0, 1))


def describe(results: xr.Dataset) -> xr.Dataset:
    """Units and long names on every variable and coordinate; what is left out when nuisance alarms are in."""
    asked, calibrated = bool(results.attrs.get("nuisance_asked")), "calibration" in results.attrs
    if asked or calibrated:
        results.attrs["not_modelled"] = "\n".join(not_modelled(asked, calibrated))
    for name in [*results.data_vars, *results.coords]:
        unit, meaning = MEANINGS[str(name)]
        # The unit of a time is written by the file's own encoding.
        of_time = np.issubdtype(results[name].dtype, np.datetime64)
        results[name].attrs.update({"long_name": meaning} if of_time else {"units": unit, "long_name": meaning})
    return results
