"""A year of invented joint states (seeded), for tests of what comes after the reading of records: no physics made the numbers.

Temperatures swing with season and day, fog comes with damp spells, mostly at night, rain and snow in spells of their own; a foggy
hour has two states (both kinds of fog), any other two as well, because its cloud is unknown.
"""

from __future__ import annotations

import numpy as np

from fencecast.meteorology.classes import FOG_KINDS
from fencecast.meteorology.year import MIDDLE_FIELDS, RECORD_FIELDS, STATE_FIELDS, HourStates, Records, Year


def records_of(time: np.ndarray) -> Records:
    nothing = {name: np.full(len(time), np.nan) for name in RECORD_FIELDS}
    return Records(time, 0.0, 50.0, 8.0, 20.0, nothing, None, None, (), "invented hours")


def year_of(time, states: dict, armed=None, known=None, sun=None, period_years: float = 1.0) -> Year:
    """A year from columns of states (with `hour`, `weight` and `fog`); the middle values are the means over an hour's states."""
    hours = len(time)
    rows = HourStates(**{name: np.asarray(values) for name, values in states.items()})
    known = np.isin(np.arange(hours), rows.hour) if known is None else known
    middle = {}
    for name in MIDDLE_FIELDS:
        values = getattr(rows, name, np.zeros(len(rows)))
        middle[name] = np.where(known, np.bincount(rows.hour, weights=rows.weight * values, minlength=hours), np.nan)
    middle["fog_share"] = np.where(known, np.bincount(rows.hour, weights=rows.weight * (rows.fog > 0), minlength=hours), np.nan)
    armed = np.ones(hours, dtype=bool) if armed is None else armed
    return Year(records_of(time), armed, known, np.zeros(hours) if sun is None else sun, middle, rows, period_years)


def invented_year(seed: int = 1, hours: int = 8760, fog_share: float = 0.06, missing: int = 40) -> Year:
    """A temperate year of `hours` hours from 1 January, armed from 18 to 6, with `missing` hours unknown."""
    rng = np.random.default_rng(seed)
    time = np.datetime64("2013-01-01T00:00:00") + np.arange(hours) * np.timedelta64(3600, "s")
    k = np.arange(hours)
    clock, day = k % 24, k / 24.0
    season = -np.cos(2 * np.pi * (day - 20) / 365)
    sun = 25.0 * season + 35.0 * np.cos(2 * np.pi * (clock + 0.5 - 12) / 24) - 5.0
    slow = _wander(rng, hours, 60)
    temperature = 10 + 9 * season + 3 * np.sin(2 * np.pi * (clock - 9) / 24) + 4 * slow
    humidity = np.clip(0.78 - 0.1 * np.sin(2 * np.pi * (clock - 9) / 24) + 0.15 * _wander(rng, hours, 12), 0.3, 1.0)
    wind = np.exp(0.7 + 0.6 * _wander(rng, hours, 10))
    cloud = np.clip(0.55 + 0.5 * _wander(rng, hours, 20), 0, 1)
    wet = _wander(rng, hours, 5) > 1.35
    rain = np.where(wet & (temperature > 1), np.exp(rng.normal(0.0, 1.0, hours)), 0.0)
    snow = np.where(wet & (temperature <= 1), np.exp(rng.normal(-0.3, 0.6, hours)), 0.0)
    damp = _wander(rng, hours, 6) + 0.8 * (sun < 0) - 0.5 * season
    foggy = (damp > np.quantile(damp, 1 - fog_share)) & ~wet
    visibility = np.where(foggy, np.exp(rng.normal(5.3, 1.0, hours)), np.exp(rng.normal(9.2, 0.6, hours)))
    visibility = np.clip(visibility, 30.0, 16_000.0)
    sunlit = np.clip(sun, 0, None) * (1 - 0.7 * cloud)
    ground = 0.25 * sunlit - np.where(sun < 0, 3.0 * (1 - cloud), 0.0) + 1.5 * np.exp(-np.abs(clock - 19) / 2) * (season > 0.3)
    ground += rng.normal(0, 0.4, hours)
    wetness = np.clip(np.convolve(rain > 0, 0.7 ** np.arange(6), mode="full")[:hours] * 0.5, 0, 1)
    base = {
        "air_temperature_c": temperature,
        "relative_humidity": np.where(foggy, 0.98, humidity),
        "wind_m_s": wind,
        "visibility_m": visibility,
        "rain_mm_h": rain,
        "snow_mm_h": snow,
        "ground_minus_air_k": ground,
        "clutter_k": 0.1 + 0.02 * wind + 0.005 * sunlit,
        "wetness": wetness,
        "low_sky_below_air_k": 10.0 - 8.0 * cloud,
        "window": np.where(rain > 0, 0.8, 1.0),
    }
    unknown = rng.choice(hours, missing, replace=False) if missing else np.array([], dtype=int)
    known = ~np.isin(k, unknown)
    columns = {name: [] for name in ("hour", "weight", "fog", *STATE_FIELDS)}
    likely = np.clip(0.7 - 0.2 * (wind - 1), 0.1, 0.9)  # that a fog is radiation fog
    for part, weight, fog, shift in (
        (foggy, likely, FOG_KINDS["radiation"], 0.0),
        (foggy, 1 - likely, FOG_KINDS["advection"], 0.0),
        (~foggy, np.full(hours, 0.5), FOG_KINDS["none"], 1.0),
        (~foggy, np.full(hours, 0.5), FOG_KINDS["none"], -1.0),
    ):
        rows = np.flatnonzero(part & known)
        columns["hour"].append(rows)
        columns["weight"].append(weight[rows])
        columns["fog"].append(np.full(len(rows), fog))
        for name in STATE_FIELDS:
            values = base[name][rows]
            columns[name].append(np.clip(values + shift, 1, 12) if name == "low_sky_below_air_k" else values)
    order = np.argsort(np.concatenate(columns["hour"]), kind="stable")
    states = {name: np.concatenate(parts)[order] for name, parts in columns.items()}
    return year_of(time, states, (clock >= 18) | (clock < 6), known, sun)


def _wander(rng, hours: int, memory: float) -> np.ndarray:
    """A standard normal series that remembers itself for about `memory` hours."""
    keep = np.exp(-1.0 / memory)
    noise = rng.normal(size=hours) * np.sqrt(1 - keep**2)
    out = np.empty(hours)
    out[0] = rng.normal()
    for i in range(1, hours):
        out[i] = keep * out[i - 1] + noise[i]
    return out
