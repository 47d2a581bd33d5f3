"""Nuisance alarms a night, of several designs on the same encounters: their differences, with intervals of their own.

What comes past is the same for all designs, and so is what each rate may be off by: a cause that comes twice as often as said
does so for both. So the difference has an interval far narrower than two counts side by side, and what is left of the rates in a
ratio is how designs differ in the causes that they let through.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import stdtrit

from fencecast.cautions import not_modelled
from fencecast.errors import UsageError
from fencecast.estimate.encountered import encounters_of
from fencecast.estimate.exposure import Exposure, exposure_of, rate_factors
from fencecast.estimate.intervals import standard_error
from fencecast.estimate.nuisance import NightCounts, night_counts
from fencecast.estimate.onsite import counted_on_site
from fencecast.estimate.options import RunOptions
from fencecast.estimate.simulate import REPLICATES
from fencecast.lensranges import noise_alarms
from fencecast.meteorology.year import Year
from fencecast.site.without import counted_site

DEFAULT_NUISANCE_MARGIN = 0.10
# Of each scrambling: 64 encounters of every stimulus in every weather class and segment, the same of every design.
POINTS = 8
FEWER, MORE = "fewer", "more"
_WHAT = "nuisance alarms a night"
ALARM_MEANINGS = {
    "alarms_year": ("1/night", f"{_WHAT}, mean over the year's nights"),
    "alarms_year_low": ("1/night", "lower end of its interval at the file's confidence, rates included"),
    "alarms_year_high": ("1/night", "upper end of its interval"),
    "alarms_class": ("1/night", f"{_WHAT}, when all of the night has this weather"),
    "alarms_class_low": ("1/night", "lower end of its interval, rates included"),
    "alarms_class_high": ("1/night", "upper end of its interval"),
    "alarms_difference": ("1/night", f"{_WHAT} of the variant minus those of the base in this weather, on the same encounters"),
    "alarms_difference_low": ("1/night", "lower end of its paired interval: the same rates for both"),
    "alarms_difference_high": ("1/night", "upper end of its paired interval"),
    "alarms_change": ("1", "the same as a share of the base's alarms"),
    "alarms_change_low": ("1", "lower end of its paired interval"),
    "alarms_change_high": ("1", "upper end of its paired interval"),
    "alarms_verdict": (
        "1",
        "fewer, more, equivalent (interval of the change inside the margin) or not distinguishable; or no data",
    ),
    **{
        f"alarms_{name}_year{end}": ("1/night" if name == "difference" else "1", f"{words} over the year's nights{which}")
        for name, words in (("difference", f"{_WHAT} of the variant minus those of the base"), ("change", "the same as a share"))
        for end, which in (("", ""), ("_low", ": lower end of its paired interval"), ("_high", ": upper end"))
    },
    "alarms_verdict_year": ("1", "fewer, more, equivalent or not distinguishable over the year; or no data"),
}


@dataclass(frozen=True)
class DesignAlarms:
    """One design's alarms a night: as counted, and by_scrambling (classes, scramblings): of bodies, in independent encounters."""

    nights: NightCounts
    by_scrambling: np.ndarray
    share: np.ndarray
    looks: int


@dataclass(frozen=True)
class AlarmDifference:
    """Alarms of a variant minus those of the base [1/night], and as a share of the base's, each with the ends of its interval."""

    difference: tuple[float, float, float]
    change: tuple[float, float, float]


def check_nuisance_margin(margin: float) -> None:
    """Refuse a margin that is no share."""
    if not (math.isfinite(margin) and 0.0 <= margin <= 1.0):
        raise UsageError(
            f"nuisance margin {margin:g} is not allowed: a share of the base's alarms from 0 to 1; type for instance 0.1"
        )


def alarms_of_designs(
    sites: Sequence, classes: Sequence, plans: Sequence, options: RunOptions, year: Year | None, record: Year | None
) -> list[DesignAlarms]:
    """Of every design, the base first; they see the same encounters. One list of classes and one packed plan a design.

    A count on site ([[soak]]) that designs share was counted under the base, with all of its cameras and weather: what it makes
    of the rates holds for all of them.
    """
    exposures = [exposure_of(site, each, year, record) for site, each in zip(sites, classes)]
    every = {each.name: each for exposure in reversed(exposures) for each in exposure.stimuli}
    names = list(dict.fromkeys(each.name for exposure in exposures for each in exposure.stimuli))
    found: list[DesignAlarms] = []
    for site, of_site, plan, exposure in zip(sites, classes, plans, exposures):
        own = {each.name: each for each in exposure.stimuli}
        factors = rate_factors([own.get(name, every[name]) for name in names])
        exposure = replace(exposure, factors=factors[:, [names.index(name) for name in own]])
        if found and counted_site(site).soak == counted_site(sites[0]).soak:
            under, looks = found[0].nights, 0
        else:
            under, looks = counted_on_site(site, of_site, year, record, options, (POINTS, POINTS))
        each = alarms_of_design(site, of_site, plan, exposure, options, None, under)
        found.append(replace(each, looks=each.looks + looks))
    return found


def alarms_of_design(
    site,
    classes,
    plan,
    exposure: Exposure,
    options: RunOptions,
    heard,
    counted_under: NightCounts | None,
    points: int = POINTS,
) -> DesignAlarms:
    """Of one design; plan: its packed plan; heard: as of `encounters_of`; counted_under: see `night_counts`; points: of
    each scrambling."""
    encounters = encounters_of(site, exposure, classes, plan, options, (points, points), heard)
    noise = np.array([noise_alarms(site, camera) for camera in site.camera])
    nights = night_counts(site, exposure, encounters, noise, counted_under)
    by_scrambling = np.zeros((len(classes), REPLICATES))
    if encounters is not None and encounters.p_scrambling is not None:
        for k, stimulus in enumerate(exposure.stimuli):
            if stimulus.family == "body":
                row = encounters.names.index(stimulus.name)
                share = encounters.active_share[row]
                per = np.divide(1.0, share, out=np.zeros(len(share)), where=share > 0.0)
                by_scrambling += per[:, None] * np.einsum("ws,wsr->wr", nights.counts.encounters[k], encounters.p_scrambling[row])
    return DesignAlarms(nights, by_scrambling, exposure.share, encounters.looks if encounters else 0)


def alarm_difference(base: DesignAlarms, other: DesignAlarms, confidence: float, weather: int | None = None) -> AlarmDifference:
    """other - base in one weather class by its number, or over the year's nights.

    Both under the same draws of the rates; encounters leave open how the scramblings' differences scatter: Student's t of so few.
    The share's error is that of the ratio, b/a: what moves both alike leaves it. A share of nothing is NaN.
    """

    def of(design: DesignAlarms) -> tuple[float, np.ndarray]:
        counts = design.nights.counts
        rates = counts.year if weather is None else counts.by_class[:, weather]
        return float(rates.sum()), design.nights.factors @ rates

    (a, a_draws), (b, b_draws) = of(base), of(other)
    ends = [0.5 - 0.5 * confidence, 0.5 + 0.5 * confidence]
    t = float(stdtrit(REPLICATES - 1, ends[1]))

    def own(times: float) -> float:
        each = other.by_scrambling - times * base.by_scrambling
        return t * float(standard_error(base.share @ each if weather is None else each[weather]))

    def spread(value: float, draws: np.ndarray, half: float) -> tuple[float, float, float]:
        low, high = np.quantile(draws, ends)
        return value, value - math.hypot(value - float(low), half), value + math.hypot(float(high) - value, half)

    difference = spread(b - a, b_draws - a_draws, own(1.0))
    if a <= 0.0:
        return AlarmDifference(difference, (math.nan,) * 3)
    return AlarmDifference(difference, spread(b / a - 1.0, b_draws / a_draws - 1.0, own(b / a) / a))


def alarm_verdict(found: AlarmDifference, margin: float) -> str:
    """Interval of the change within +-margin: equivalent; below zero: fewer; above: more; else not distinguishable."""
    value, low, high = found.change
    if math.isnan(value):
        difference, low, high = found.difference
        return "equivalent" if difference == 0.0 else MORE if low > 0.0 else "not distinguishable"
    if low >= -margin and high <= margin:
        return "equivalent"
    return FEWER if high < 0.0 else MORE if low > 0.0 else "not distinguishable"


def add_alarms(results, found: Sequence[DesignAlarms], confidence: float, margin: float) -> None:
    """Put the alarms of every design and their differences from the base into the results of a comparison."""
    classes = range(found[0].by_scrambling.shape[0])
    for k, end in enumerate(("", "_low", "_high")):
        results[f"alarms_year{end}"] = ("variant", np.array([each.nights.year[k] for each in found]))
        results[f"alarms_class{end}"] = (("variant", "weather"), np.array([each.nights.by_class[:, k] for each in found]))
    by_class = [[alarm_difference(found[0], each, confidence, w) for w in classes] for each in found[1:]]
    year = [alarm_difference(found[0], each, confidence) for each in found[1:]]
    for name in ("difference", "change"):
        for k, end in enumerate(("", "_low", "_high")):
            values = [[getattr(d, name)[k] for d in row] for row in by_class]
            results[f"alarms_{name}{end}"] = (("compared", "weather"), np.array(values))
            results[f"alarms_{name}_year{end}"] = ("compared", np.array([getattr(d, name)[k] for d in year]))
    results["alarms_verdict"] = (("compared", "weather"), np.array([[alarm_verdict(d, margin) for d in row] for row in by_class]))
    results["alarms_verdict_year"] = ("compared", np.array([alarm_verdict(d, margin) for d in year]))
    results.attrs |= {"nuisance_asked": 1, "nuisance_margin": margin, "not_modelled": "\n".join(not_modelled(True))}
