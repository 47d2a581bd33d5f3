"""A run in numbers: the object of `run --json`, and what tables, pictures and proposals ask of the results as well."""

from __future__ import annotations

from typing import TypedDict

import numpy as np

from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.lift import due_to
from fencecast.estimate.places import class_summaries, code_of
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import NAMED_PLACES, Place, leading_cause, lowest_places, printed_numbers
from fencecast.findings.calibration import calibration_of
from fencecast.findings.dependence import dependences
from fencecast.findings.installations import installations_object
from fencecast.findings.lensdistances import distance_object
from fencecast.findings.limits import limits_object
from fencecast.findings.nuisance import nuisance_object
from fencecast.findings.readings import reading


class Weakest(TypedDict):
    """The lowest segment of all classes with hours; pd, pd_low, pd_high from fresh crossings where there are any."""

    segment: int
    section: str
    place: str
    chainage_m: float
    weather: str
    pd: float
    pd_low: float
    pd_high: float
    cause: str | None


def run_object(results: Results, files: list[str]) -> dict:
    """The object of `fencecast run --json`: what was run, whether the requirement is met, the weakest place, the classes."""
    attrs = results.attrs
    return {
        "title": attrs["title"],
        "version": attrs["version"],
        "seed": attrs["seed"],
        "crossings": attrs["crossings_total"],
        "looks": attrs["looks_total"],
        "seconds": attrs["seconds"],
        "requirement": attrs["requirement_pd"],
        "confidence": attrs["confidence"],
        "met": requirement_met(results),
        "weakest": weakest(results),
        "places": [place_object(results, place) for place in lowest_places(results, NAMED_PLACES)],
        "classes": [
            {
                "name": c.name,
                "hours": c.hours,
                "mean_pd": c.mean_pd,
                "meets_m": c.meets_m,
                "undecided_m": c.undecided_m,
                "weak_m": c.weak_m,
                "no_data_m": c.no_data_m,
            }
            for c in class_summaries(results)
        ],
        **distance_object(results),
        "dpd_dln": {each.weather: each.slopes for each in dependences(results)},
        "calibration": calibration_of(attrs),
        **installations_object(results),
        "nuisance": nuisance_object(results),
        "files": files,
        **limits_object(attrs),
    }


def place_object(results: Results, place: Place) -> dict:
    """One named place: where, in which class, why, what its misses are due to, what worse weather makes of it, and in words."""
    due, worse = due_to(results, place), place.worse
    return {
        "place": place.code,
        "segment": str(results["segment"].values[place.segment]),
        "weather": place.weather,
        "pd": place.pd,
        "pd_low": place.low,
        "pd_high": place.high,
        "cause": place.cause,
        "cause_share": place.cause_share,
        "due_to": None if due is None else due.what,
        "pd_without": None if due is None else due.pd,
        "weak_in": list(place.weak_in),
        "worse": None if worse is None else {"weather": worse.weather, "pd": worse.pd, "cause": worse.cause},
        "reading": reading(results, place),
    }


def requirement_met(results: Results) -> bool:
    """Whether every segment meets the requirement in every class. One without data does not: nobody watches that ground."""
    return bool(np.all(results["verdict"].values == "meets"))


def lowest_segment(results: Results, row: int) -> int | None:
    """Segment of the lowest Pd of a weather class (row); None when nothing was simulated."""
    pd = results.at("pd", weather=row)
    return None if np.isnan(pd).all() else int(np.nanargmin(pd))


def segment_code(results: Results, segment: int) -> str:
    """Place code of one segment."""
    return code_of(results, results.sections, segment, segment)


def weakest(results: Results) -> Weakest | None:
    """The lowest segment of all classes with hours, with the numbers of its fresh crossings; None when nothing was simulated.

    Its place is the weak place of the tables that it belongs to, or else (in a class that is weak nearly everywhere) its segment.
    """
    places = lowest_places(results, NAMED_PLACES)
    lowest = [(place.weather_index, place.segment) for place in places]  # first, so that equal Pd means the tables' own place
    lowest += [(row, segment) for row in counted_classes(results) if (segment := lowest_segment(results, row)) is not None]
    if not lowest:
        return None
    row, segment = min(lowest, key=lambda at: printed_numbers(results, *at)[0])
    pd, low, high, _ = printed_numbers(results, row, segment)
    place = next((p for p in places if segment in p.segments), None)
    cause, _ = leading_cause(results, row, segment)
    return {
        "segment": segment,
        "section": str(results.at("section", segment=segment)),
        "place": place.code if place else segment_code(results, segment),
        "chainage_m": float(results.at("chainage_m", segment=segment)),
        "weather": results.classes[row],
        "pd": pd,
        "pd_low": low,
        "pd_high": high,
        "cause": cause,
    }


def short_of_precision(results: Results) -> tuple[int, int, float, tuple[int, int] | None]:
    """Segments simulated, counted in every class; those whose half width is above the asked precision; the widest half width and
    its (row, segment)."""
    if "pd_sampling_half" in results:  # the intervals hold what walks left open too, which no crossing makes less
        half = results.array("pd_sampling_half", "weather", "segment")
    else:
        pd, low, high = (results.array(name, "weather", "segment") for name in ("pd", "pd_low", "pd_high"))
        half = np.fmax(pd - low, high - pd)  # intervals are cut at 0 and 1, never on both sides of a Pd in between
    simulated = int(np.sum(~np.isnan(half)))
    wide = half > float(results.attrs["precision"]) * (1.0 + 1e-9)
    if not wide.any():
        return simulated, 0, float("nan"), None
    row, segment = np.unravel_index(int(np.nanargmax(half)), half.shape)
    return simulated, int(wide.sum()), float(half[row, segment]), (int(row), int(segment))
