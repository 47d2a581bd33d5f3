"""Hours sorted into weather classes by written rules: each counted hour is in the first class whose rule holds for it.

The order is that of harm to a thermal picture. What hides a person comes first (fog, falling water), then what takes his
contrast away (near crossover), and last what dims a view over kilometres and takes nothing over the metres of a fence (mist,
haze). An hour of fog with drizzle is therefore fog, and a hazy hour without contrast is near crossover.

Rules ask the hour's middle values (`Year.middle`), so that an hour goes to one class as a whole, with all of its joint states.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from fencecast.meteorology.year import HourClass, Year

# Optical range [m]. Fog and mist: WMO-No. 49 and ICAO Annex 3 (fog below 1 km, mist from 1 to 5 km). Dense fog: 200 m, the limit
# of "thick fog" for road traffic (UK Met Office, Fact sheet 3). Haze to 10 km: the international visibility code [M].
DENSE_FOG_M, FOG_M, MIST_M, HAZE_M = 200.0, 1000.0, 5000.0, 10_000.0
# Water in an hour [mm]. Above 7.6 mm/h rain is heavy, and drizzle does not pass 0.5 mm/h (AMS Glossary of Meteorology).
# An hour's sum cannot tell drizzle from a short shower: "drizzle" here means hardly any water in the hour.
DRIZZLE_MM_H, HEAVY_MM_H = 0.5, 7.6
# Contrast of a walker's clothing with the ground [K] below which an hour is near crossover: some three thresholds of a usual
# camera (5 sigma of 50 mK), which blur and pixels partly filled use up within tens of metres (judgement, no source).
CROSSOVER_K = 1.0

Middle = Mapping[str, np.ndarray]


@dataclass(frozen=True)
class Rule:
    """A class: its name, its rule in words, and the rule on the hours' middle values, (hours,) -> (hours,) bool.

    A comparison with a value that is not known does not hold.
    """

    name: str
    words: str
    holds: Callable[[Middle], np.ndarray]


def _water(middle: Middle) -> np.ndarray:
    return np.nan_to_num(middle["rain_mm_h"]) + np.nan_to_num(middle["snow_mm_h"])


def _foggy(middle: Middle) -> np.ndarray:
    """Below 1 km for fog's sake: while water falls, only when the hour is more likely foggy than not."""
    return (middle["visibility_m"] < FOG_M) & ((_water(middle) <= 0.0) | (middle["fog_share"] >= 0.5))


def _snow(middle: Middle) -> np.ndarray:
    snow = np.nan_to_num(middle["snow_mm_h"])
    return (snow > 0.0) & (snow >= np.nan_to_num(middle["rain_mm_h"]))


RULES = (
    Rule(
        "dense fog",
        f"optical range below {DENSE_FOG_M:g} m, by fog",
        lambda m: _foggy(m) & (m["visibility_m"] < DENSE_FOG_M),
    ),
    Rule("fog", f"optical range below {FOG_M:,.0f} m, by fog", _foggy),
    Rule("snow", "snow falls, as much water as rain or more", _snow),
    Rule("heavy rain", f"above {HEAVY_MM_H:g} mm/h", lambda m: _water(m) > HEAVY_MM_H),
    Rule("rain", f"{DRIZZLE_MM_H:g} to {HEAVY_MM_H:g} mm/h", lambda m: _water(m) >= DRIZZLE_MM_H),
    Rule("drizzle", f"below {DRIZZLE_MM_H:g} mm/h", lambda m: _water(m) > 0.0),
    Rule(
        "near crossover",
        f"a walker's clothing within {CROSSOVER_K:g} K of the ground; no fog, nothing falls",
        lambda m: np.abs(m["contrast_k"]) < CROSSOVER_K,
    ),
    Rule("mist", f"optical range {FOG_M / 1000:g} to {MIST_M / 1000:g} km", lambda m: m["visibility_m"] < MIST_M),
    Rule("haze", f"optical range {MIST_M / 1000:g} to {HAZE_M / 1000:g} km", lambda m: m["visibility_m"] < HAZE_M),
    Rule("clear", "none of these", lambda m: np.ones(len(m["visibility_m"]), dtype=bool)),
)
_DECIMALS = 3
NAMES = tuple(rule.name for rule in RULES)
WORDS = {rule.name: rule.words for rule in RULES}


def as_reported(middle: Middle) -> Middle:
    """Middle values without the last bits that units and means over an hour's states leave.

    Stations report in round steps, and many reports lie on a limit: 1,000 m must not turn into fog by 1e-13 m.
    """
    return {**middle, **{name: np.round(middle[name], _DECIMALS) for name in ("visibility_m", "rain_mm_h", "snow_mm_h")}}


def class_of_hours(year: Year) -> np.ndarray:
    """Index into `RULES` of each hour's class (hours,); -1 for hours that do not count (not armed, or not known)."""
    middle = as_reported(year.middle)
    cap = year.records.visibility_cap_m
    if cap is not None:
        # A range at the cap means "this or more": not to be read as mist or haze where a station counts no farther.
        capped = middle["visibility_m"] >= round(cap, _DECIMALS)
        middle = {**middle, "visibility_m": np.where(capped, np.inf, middle["visibility_m"])}
    held = np.stack([rule.holds(middle) for rule in RULES])
    return np.where(year.counted, np.argmax(held, axis=0), -1)


def sort_hours(year: Year, index: np.ndarray | None = None, base: Year | None = None) -> tuple[HourClass, ...]:
    """The classes that have hours, in the order of `RULES`, each with the joint states of its hours.

    index: the class of each hour (hours,), -1 where none; by the rules when None. hours_per_year of all classes add up to the
    counted hours (armed, and known) divided by the years of the record. base: the same record at another design, whose hours
    give the order that draws go by.
    """
    index = class_of_hours(year) if index is None else index
    per_state = index[year.states.hour]
    by_base = base is not None and np.array_equal(base.states.hour, year.states.hour)
    return tuple(
        HourClass(
            rule.name,
            float(np.count_nonzero(index == k)) / year.period_years,
            year.states.take(per_state == k),
            base.states.take(per_state == k) if by_base else None,
        )
        for k, rule in enumerate(RULES)
        if np.any(index == k)
    )
