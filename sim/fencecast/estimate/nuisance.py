"""Nuisance alarms a night, as part of the results: with intervals, bad nights, counts on site, ceilings, and the operator.

Tests: tests/estimate/test_nuisance.py.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import xarray as xr

from fencecast.estimate.alarmcounts import AlarmCounts, alarm_counts
from fencecast.estimate.exposure import Exposure
from fencecast.estimate.nights import (
    RATE_DRAWS,
    bad_night,
    counted_interval,
    gamma_prior,
    gamma_quantile,
    mean_interval,
    night_distribution,
    posterior,
    queue_wait_s,
    true_share,
)
from fencecast.site.quantity import Quantity

if TYPE_CHECKING:
    from fencecast.estimate.encounters import Encounters

MET, NOT_MET, UNDECIDED = "met", "not met", "undecided"


@dataclass(frozen=True)
class NightCounts:
    """Alarms a night with how sure they are; `counts` with what was counted on site in it.

    factors (draws, causes): what each rate may be off by, its mean or median 1; year, and by_class (classes, 3): mean with the
    ends of its interval; distribution: probabilities of 0, 1, 2, ... alarms in a night of the year; bad (classes,): what 19
    nights in 20 of the class stay at or below; bad_year, with what it is at the ends of the mean's interval; soaks: counts on
    site, a dict each; change (causes,): what they made of each rate; narrowed: the same by cause, for another setting.
    """

    counts: AlarmCounts
    factors: np.ndarray
    year: tuple[float, float, float]
    by_class: np.ndarray
    distribution: np.ndarray
    bad: np.ndarray
    bad_year: tuple[int, int, int]
    soaks: tuple[dict, ...]
    change: np.ndarray
    narrowed: tuple[NarrowedRate, ...] = ()


@dataclass(frozen=True)
class NarrowedRate:
    """A cause whose alarms were counted on site: the rate that was assumed [1/night], and the Gamma distribution (a, b) after."""

    cause: str
    assumed: float
    after: tuple[float, float]

    @property
    def change(self) -> float:
        """What the count made of the rate: its mean after it over what was assumed."""
        return self.after[0] / self.after[1] / self.assumed

    def factors(self, before: np.ndarray) -> np.ndarray:
        """What the rate may be off by after the count, (draws,), in the order of what it may have been off by before it: designs
        that share those draws share these, and causes stay independent."""
        order = np.empty(len(before))
        order[np.argsort(before, kind="stable")] = np.arange(len(before))
        return gamma_quantile(self.after, (order + 0.5) / len(before)) * self.after[1] / self.after[0]


def night_counts(
    site, exposure: Exposure, encounters: Encounters | None, noise_a_day: np.ndarray, counted_under: NightCounts | None = None
) -> NightCounts:
    """Alarms a night of a site as it decides now; arguments as of `alarm_counts`. Cheap: milliseconds a setting.

    counted_under: the alarms of the site as it was when they were counted on it ([[soak]]), for another setting, some classes or
    some cameras of it: what the count made of the rates then holds here too. None: the counts are of the site as it is now.
    """
    counts = alarm_counts(site, exposure, encounters, noise_a_day)
    factors = np.column_stack([exposure.factors, np.ones(RATE_DRAWS)])
    confidence = site.requirement.confidence
    soaks, narrowed = _of_soaks(site, counts, factors) if counted_under is None else (counted_under.soaks, counted_under.narrowed)
    change = np.ones(len(counts.causes))
    for each in narrowed:
        if each.cause in counts.causes:
            k = counts.causes.index(each.cause)
            change[k], factors[:, k] = each.change, each.factors(factors[:, k])
    counts = counts.scaled(change)
    se = np.sqrt(np.sum(counts.by_class_se**2, axis=0))
    mean = counts.year
    ends = mean_interval(mean, factors, float(np.sqrt(np.sum((exposure.share * se) ** 2))), confidence)
    classes = [
        (float(each.sum()), *mean_interval(each, factors, error, confidence)) for each, error in zip(counts.by_class.T, se)
    ]
    total = float(mean.sum())
    distribution = night_distribution(counts.nights, counts.sizes, counts.weight)
    at_ends = [_bad_at(counts, end / total if total > 0.0 else 1.0) for end in ends]
    return NightCounts(
        counts=counts,
        factors=factors,
        year=(total, *ends),
        by_class=np.array(classes),
        distribution=distribution,
        bad=np.array([bad_night(night_distribution(each, counts.sizes)) for each in counts.by_class.T]),
        bad_year=(bad_night(distribution), *at_ends),
        soaks=soaks,
        change=change,
        narrowed=narrowed,
    )


def _bad_at(counts: AlarmCounts, factor: float) -> int:
    """The bad night when all rates are times a factor."""
    return bad_night(night_distribution(factor * counts.nights, counts.sizes, counts.weight))


def _of_soaks(site, counts: AlarmCounts, factors: np.ndarray) -> tuple[tuple[dict, ...], tuple[NarrowedRate, ...]]:
    """What is known of rates after what was counted on site: the rate that was assumed becomes a Gamma distribution with its
    mean and spread, which the count then narrows. What was assumed stays in the record."""
    narrowed, said = [], []
    year, confidence = counts.year, site.requirement.confidence
    for cause in dict.fromkeys(each.cause for each in site.soak):
        k = counts.causes.index(cause)
        nights = sum(each.nights for each in site.soak if each.cause == cause)
        alarms = sum(each.alarms for each in site.soak if each.cause == cause)
        low, high = counted_interval(alarms, nights, confidence, alarms / nights, counts.sizes[k])
        found = {"cause": cause, "nights": nights, "alarms": alarms, "assumed": float(year[k])}
        found |= {"counted": alarms / nights, "counted_low": low, "counted_high": high}
        spread = float(np.var(factors[:, k]) / np.mean(factors[:, k]) ** 2)
        if year[k] > 0.0 and spread > 0.0:
            after = posterior(gamma_prior(year[k], spread), alarms, nights, counts.sizes[k])
            rate = after[0] / after[1]
            narrowed.append(NarrowedRate(cause, float(year[k]), after))
            ends = gamma_quantile(after, np.array([0.5 - 0.5 * confidence, 0.5 + 0.5 * confidence]))
            found |= {"rate": rate, "rate_low": float(ends[0]), "rate_high": float(ends[1])}
        else:
            # A rate of none, or one that is beyond doubt: no count can change it, and the record says so.
            found |= {"rate": float(year[k]), "rate_low": float(year[k]), "rate_high": float(year[k])}
        said.append(found)
    return tuple(said), tuple(narrowed)


def ceiling_verdict(value: tuple[float, float, float], ceiling: float | None) -> str:
    """Met when the upper end is at most the ceiling, not met when the lower end is above it, else undecided; "" without one."""
    if ceiling is None:
        return ""
    _, low, high = value
    return MET if high <= ceiling else NOT_MET if low > ceiling else UNDECIDED


def nuisance_verdict(site, nights: NightCounts) -> str:
    """Whether both ceilings are met: the worse of the two verdicts, "" when the file asks for none."""
    asked = site.requirement
    said = (ceiling_verdict(nights.year, asked.nuisance_per_night), ceiling_verdict(nights.bad_year, asked.nuisance_bad_night))
    return next((word for word in (NOT_MET, UNDECIDED, MET) if word in said), "")


def operator_wait_s(site, exposure: Exposure, alarms_a_night: float) -> float:
    """Mean wait of an alarm for one operator [s], NaN when he never catches up. A service time given as one number is the mean of
    exponential ones; a distribution has its own mean and spread."""
    mean, variation = _mean_and_variation(site.nuisance.service_s)
    return queue_wait_s(alarms_a_night / exposure.night_h + site.nuisance.other_alarms_per_h, mean, variation)


def _mean_and_variation(quantity: Quantity, points: int = 2000) -> tuple[float, float]:
    """Mean, and standard deviation over mean; 1 for a single number."""
    if quantity.is_fixed:
        return quantity.middle(), 1.0
    values = np.array([quantity.quantile((k + 0.5) / points) for k in range(points)])
    return float(values.mean()), float(values.std() / values.mean())


def fence_pd(results: xr.Dataset) -> float:
    """Pd of an attempt anywhere along the fence over the year: metres weigh alike, those that no rule watches raise no alarm."""
    metres = (results["segment_end_m"] - results["segment_start_m"]).values
    return float(np.sum(metres * np.nan_to_num(results["pd_year"].values)) / np.sum(metres))


def nuisance_dataset(site, exposure: Exposure, nights: NightCounts, pd: float, notes: tuple[str, ...] = ()) -> xr.Dataset:
    """Variables and attributes of results that tell of nuisance alarms; pd: of one attempt over the year (`fence_pd`); notes:
    beside those of the exposure."""
    counts, asked, nuisance = nights.counts, site.requirement, site.nuisance
    cells, bodies = ("stimulus", "weather", "segment"), [each.family == "body" for each in exposure.stimuli] + [False]
    attempts = nuisance.attempts_per_year
    nan = float("nan")
    found = xr.Dataset(
        {
            "stimulus_kind": ("stimulus", np.array([*(each.kind for each in exposure.stimuli), counts.causes[-1]])),
            "stimulus_family": ("stimulus", np.array([*(each.family for each in exposure.stimuli), "noise"])),
            "encounters_night": (cells, np.where(np.array(bodies)[:, None, None], counts.encounters, nan)),
            "p_nuisance": (cells, counts.p),
            "p_nuisance_low": (cells, np.clip(counts.p - counts.p_half, 0.0, 1.0)),
            "p_nuisance_high": (cells, np.clip(counts.p + counts.p_half, 0.0, 1.0)),
            "nuisance_night": (("stimulus", "weather"), counts.by_class),
            "nuisance_segment": (("weather", "segment"), counts.by_segment.sum(axis=0)),
            "nuisance_camera": (("camera", "weather"), counts.by_camera.sum(axis=0)),
            "nuisance_cause_year": ("stimulus", counts.year),
            "bad_night": ("weather", nights.bad.astype(np.int64)),
            "bad_night_year": ((), np.int64(nights.bad_year[0])),
            "night_pmf": ("count", nights.distribution),
            "true_share": ((), nan if attempts is None else true_share(attempts, pd, nights.year[0], exposure.nights_a_year)),
            "operator_wait_s": ((), operator_wait_s(site, exposure, nights.year[0])),
        },
        {"stimulus": np.array(counts.causes)},
    )
    for end, column in (("", 0), ("_low", 1), ("_high", 2)):
        found[f"nuisance_total{end}"] = ("weather", nights.by_class[:, column])
        found[f"nuisance_year{end}"] = ((), nights.year[column])
    found.attrs = {
        "nuisance_asked": 1,
        "nuisance_attempts_per_year": nan if attempts is None else attempts,
        "nuisance_ceiling": nan if asked.nuisance_per_night is None else asked.nuisance_per_night,
        "nuisance_bad_night_ceiling": nan if asked.nuisance_bad_night is None else asked.nuisance_bad_night,
        "nuisance_met": nuisance_verdict(site, nights),
        "nuisance_bad_night_low": nights.bad_year[1],
        "nuisance_bad_night_high": nights.bad_year[2],
        "nuisance_uncertainty": nuisance.uncertainty,
        "nuisance_nights": "weather classes" if exposure.hours is None else "recorded nights",
        "nuisance_soaks": json.dumps(nights.soaks),
        "nuisance_notes": "\n".join((*exposure.notes, *notes)),
        "armed_h_per_night": exposure.night_h,
        "nights_per_year": exposure.nights_a_year,
    }
    return found


def count_nights(
    site,
    exposure: Exposure,
    encounters: Encounters | None,
    noise_a_day: np.ndarray,
    pd: float,
    counted_under: NightCounts | None = None,
    notes: tuple[str, ...] = (),
) -> xr.Dataset:
    """Rates times probabilities as the variables of results; see `night_counts` for numbers alone."""
    return nuisance_dataset(site, exposure, night_counts(site, exposure, encounters, noise_a_day, counted_under), pd, notes)


def add_nuisance(results: xr.Dataset, found: xr.Dataset) -> None:
    """Put the variables and attributes of `count_nights` into the results of a run."""
    for name, variable in found.variables.items():
        results[name] = variable
    results.attrs.update(found.attrs)
