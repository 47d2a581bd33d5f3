"""The state of every hour of a record at a site: ground, sky, clothing, window, fog and clutter, by rules written one a function.

What decides what, and where its rule and its judgement stand:

| quantity | rule | judgement or source |
| --- | --- | --- |
| gaps | `history.filled`: straight lines; up to 3 hours the hour counts, longer ones are unknown | judgement |
| rain or snow | `precipitation.rain_and_snow_mm_h`: by wet bulb, all snow at 0 C, all rain at 2 C | Stull 2011; judgement |
| fog or not | `fogkind.is_fog`: optical range below 1 km that rain and snow do not explain | WMO; factors 2 and 4 judgement |
| kind of fog | `fogkind.radiation_share`: wind, night, cooling, rain; 0.1 to 0.9, two states an hour | judgement |
| cloud | `sky.cloud_histories`: record, radiation by day, rain and fog, else three scenarios | judgement |
| sun on the ground | `sky.solar_w_m2`: record, else clear sky dimmed by cloud | Haurwitz 1945; Kasten and Czeplak 1980 |
| longwave of the sky | `physics.sky.sky_emissivity` | Prata 1996; Unsworth and Monteith 1975 |
| low sky | `physics.sky.low_sky_below_air_k`: 10 K clear, 2 K overcast, by humidity | judgement |
| ground temperature | `physics.ground_history`, `physics.ground_heat` | Deardorff 1978; see there |
| wet ground, lying snow | `physics.ground_history`: buckets of rain, dew, snowfall, melting, evaporation | judgement |
| wet clothing | `wetness.clothing_wetness`: three hours of rain, snow, fog, drying; wet legs | Penman 1948; the rest judgement |
| window | `wetness.window_drops`, `wetness.dew_falls`: drops by rain, dew by the window's own heat balance | judgement |
| clutter | `clutter.clutter_k`: wind, sun, rain | judgement |
| walker's contrast | `physics.walker.walker_contrast_k` | for tables and pictures only |

Tests: tests/meteorology/test_hours_rules.py, test_ground_hours.py.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from fencecast.errors import InputError, Problem
from fencecast.meteorology.classes import CONVENTIONS, FOG_KINDS
from fencecast.meteorology.clutter import clutter_k
from fencecast.meteorology.fogkind import is_fog, optical_range_m, radiation_share
from fencecast.meteorology.history import filled, long_gaps
from fencecast.meteorology.precipitation import lying_snow_mm, rain_and_snow_mm_h
from fencecast.meteorology.records.clock import HOURS_A_YEAR
from fencecast.meteorology.sky import cloud_histories, solar_w_m2
from fencecast.meteorology.wetness import (
    caught_mm_h,
    clothing_wetness,
    dew_falls,
    drying_mm_h,
    wet_underfoot,
    window_below_air_k,
    window_drops,
    window_passes,
)
from fencecast.meteorology.year import STATE_FIELDS, HourStates, Records, Year
from fencecast.physics.ground_heat import MATERIALS
from fencecast.physics.ground_history import ground_history
from fencecast.physics.sky import sky_history
from fencecast.physics.surfaces import GROUND_EMISSIVITY
from fencecast.physics.walker import walker_contrasts_k
from fencecast.units import ZERO_CELSIUS_K

STEPS_AN_HOUR = 10
SPIN_UP_HOURS = 240  # twice the five days in which the slow layer forgets its start
SAME_K = 0.2  # scenarios of cloud that differ by less in ground and low sky are one state
STANDARD_PRESSURE_HPA = 1013.25


class Measured(NamedTuple):
    """The record without gaps, arrays (hours,), and which hours are known."""

    air_c: np.ndarray
    humidity: np.ndarray
    wind_m_s: np.ndarray
    visibility_m: np.ndarray
    rain_mm_h: np.ndarray
    snow_mm_h: np.ndarray
    lying_mm: np.ndarray
    pressure_hpa: np.ndarray
    known: np.ndarray


class Scenarios(NamedTuple):
    """What depends on cloud, arrays (scenarios, hours)."""

    cloud: np.ndarray
    ground_minus_air_k: np.ndarray
    low_sky_below_air_k: np.ndarray
    clutter_k: np.ndarray
    wetness: np.ndarray
    window: np.ndarray


def make_year(records: Records, site, armed: np.ndarray, sun_elevation_deg: np.ndarray) -> Year:
    """Every hour of a record as joint states of the weather at a site.

    armed [bool], sun_elevation_deg [degrees], at the middle of the hour: (hours,). Deterministic; a year takes well under a
    second once compiled. Raises `InputError` when the sun's height is not known, which the heat of the ground needs.
    """
    if not np.all(np.isfinite(sun_elevation_deg)):
        allowed = "the sun heats the ground, and the weather file does not say where the station is"
        raise InputError([Problem("[site] latitude", Problem.MISSING, allowed, "latitude = 54.0")], records.source)
    records = as_optical_range(records, _convention(site))
    measured = fill_records(records)
    falling = measured.rain_mm_h, measured.snow_mm_h
    fog = is_fog(measured.visibility_m, *falling, measured.air_c, CONVENTIONS["optical_range"])
    scenarios = run_scenarios(measured, records, site.site.ground, fog, sun_elevation_deg)
    share = radiation_share(measured.wind_m_s, measured.air_c, measured.rain_mm_h, sun_elevation_deg)
    states, cloud = _joint_states(measured, scenarios, fog, share)
    middle = _middle(states, cloud, len(records.time), GROUND_EMISSIVITY[site.site.ground])
    return Year(records, armed, measured.known, sun_elevation_deg, middle, states, span_years(records.time))


def as_optical_range(records: Records, convention: int) -> Records:
    """The record with its visibilities and their cap as optical ranges (5 %), which is what every rule and kernel takes them for.

    convention: that of the file's visibilities, 0 optical range, 1 visual range (2 %): see `fogkind.optical_range_m`.
    """
    if convention == CONVENTIONS["optical_range"]:
        return records
    cap = records.visibility_cap_m
    values = records.values | {"visibility_m": optical_range_m(records.values["visibility_m"], convention)}
    return replace(records, values=values, visibility_cap_m=None if cap is None else optical_range_m(cap, convention))


def fill_records(records: Records) -> Measured:
    """The record with its gaps filled for the heat balance; an hour is known when no field that matters has a gap over 3 hours.

    What matters: air temperature, humidity, wind, visibility, and precipitation when the file has any at all. A file without any
    counts as dry. Pressure falls back on the station's height, cloud and radiation on `sky`.
    """
    given = records.values
    rain, snow = rain_and_snow_mm_h(
        given["rain_mm_h"],
        given["snow_mm_h"],
        given["precipitation_mm_h"],
        filled(given["air_temperature_c"], 10.0),
        filled(given["relative_humidity"], 0.7),
    )
    unknown = np.zeros(len(records.time), dtype=bool)
    for values in (given["air_temperature_c"], given["relative_humidity"], given["wind_m_s"], given["visibility_m"]):
        unknown |= long_gaps(values)
    if not np.isnan(rain + snow).all():
        unknown |= long_gaps(rain + snow)
    height_m = records.elevation_m or 0.0
    pressure = STANDARD_PRESSURE_HPA * (1.0 - 2.25577e-5 * height_m) ** 5.25588  # ICAO standard atmosphere
    visibility = given["visibility_m"]
    return Measured(
        air_c=filled(given["air_temperature_c"], 10.0),
        humidity=np.clip(filled(given["relative_humidity"], 0.7), 0.0, 1.0),
        wind_m_s=filled(given["wind_m_s"], 2.0),
        visibility_m=np.exp(filled(np.log(np.where(visibility > 0.0, visibility, np.nan)), np.log(2.0e4))),
        rain_mm_h=_dry_in_gaps(rain),
        snow_mm_h=_dry_in_gaps(snow),
        lying_mm=lying_snow_mm(given["snow_depth_m"]),
        pressure_hpa=filled(given["pressure_hpa"], pressure),
        known=~unknown,
    )


def run_scenarios(measured: Measured, records: Records, material: str, fog, sun_elevation_deg) -> Scenarios:
    """Cloud, ground, low sky and what follows from them, one history for each scenario of cloud."""
    ghi = records.values["ghi_w_m2"]
    falls = (measured.rain_mm_h > 0.0) | (measured.snow_mm_h > 0.0)
    cloud, _ = cloud_histories(records.values["cloud"], ghi, sun_elevation_deg, falls, fog)
    if np.array_equal(cloud[0], cloud[1]) and np.array_equal(cloud[0], cloud[2]):
        cloud = cloud[:1]
    air_k = measured.air_c + ZERO_CELSIUS_K
    sun = solar_w_m2(ghi, sun_elevation_deg, cloud)
    sky, below, vapour = sky_history(air_k, measured.humidity, cloud)
    ground_k, watered, cover, _, _ = ground_history(
        air_k, vapour, measured.wind_m_s, measured.pressure_hpa, measured.rain_mm_h, measured.snow_mm_h, measured.lying_mm,
        sun, sky, MATERIALS[material], MATERIALS["snow"], float(air_k[:SPIN_UP_HOURS].mean()),
        min(SPIN_UP_HOURS, len(air_k) // 24 * 24), STEPS_AN_HOUR,
    )  # fmt: skip
    caught = caught_mm_h(measured.rain_mm_h, measured.snow_mm_h, measured.air_c, fog)
    drying = drying_mm_h(measured.air_c, measured.humidity, measured.wind_m_s)
    wet_ground = wet_underfoot(watered, cover, material)
    drops = window_drops(measured.rain_mm_h, measured.snow_mm_h, fog)
    return Scenarios(
        cloud=cloud,
        ground_minus_air_k=ground_k - air_k,
        low_sky_below_air_k=below,
        clutter_k=clutter_k(measured.wind_m_s, sun, measured.rain_mm_h),
        wetness=clothing_wetness(caught, drying, wet_ground),
        window=window_passes(
            drops, dew_falls(measured.air_c, measured.humidity, measured.wind_m_s, window_below_air_k(measured.air_c, below))
        ),
    )


def span_years(time: np.ndarray) -> float:
    """How many years hourly times span: a whole number between the same dates of two years, else hours over 8,766."""
    start, end = time[0], time[-1] + np.timedelta64(1, "h")
    years = int(end.astype("datetime64[Y]").astype(int) - start.astype("datetime64[Y]").astype(int))
    into_start = start - start.astype("datetime64[Y]")
    into_end = end - end.astype("datetime64[Y]")
    if years > 0 and into_start == into_end:
        return float(years)
    return len(time) / HOURS_A_YEAR


def _joint_states(measured: Measured, scenarios: Scenarios, fog, share) -> tuple[HourStates, np.ndarray]:
    """The states of known hours and their cloud: one row an hour, three where scenarios of cloud differ, twice that in fog."""
    spread = np.maximum(np.ptp(scenarios.ground_minus_air_k, axis=0), np.ptp(scenarios.low_sky_below_air_k, axis=0))
    apart = measured.known & (spread >= SAME_K)
    together = measured.known & ~apart
    count = len(scenarios.cloud)
    hour, scenario, weight = [np.flatnonzero(together)], [np.full(together.sum(), -1)], [np.ones(together.sum())]
    for k in range(count):
        hour.append(np.flatnonzero(apart))
        scenario.append(np.full(apart.sum(), k))
        weight.append(np.full(apart.sum(), 1.0 / count))
    hour, scenario, weight = np.concatenate(hour), np.concatenate(scenario), np.concatenate(weight)

    # Fog: each row once as either kind.
    foggy = fog[hour]
    kind = np.where(foggy, FOG_KINDS["radiation"], FOG_KINDS["none"])
    hour = np.concatenate([hour, hour[foggy]])
    scenario = np.concatenate([scenario, scenario[foggy]])
    kind = np.concatenate([kind, np.full(foggy.sum(), FOG_KINDS["advection"])])
    weight = np.concatenate([weight * np.where(foggy, share[hour[: len(foggy)]], 1.0), weight[foggy]])
    weight[len(foggy) :] *= 1.0 - share[hour[len(foggy) :]]

    order = np.lexsort((kind, scenario, hour))
    hour, scenario, kind, weight = hour[order], scenario[order], kind[order], weight[order]

    def of(values: np.ndarray) -> np.ndarray:
        """A scenario's value in each row; their mean where they count as one."""
        return np.where(scenario < 0, values.mean(axis=0)[hour], values[np.maximum(scenario, 0), hour])

    states = HourStates(
        hour=hour.astype(np.int64),
        weight=weight,
        air_temperature_c=measured.air_c[hour],
        relative_humidity=measured.humidity[hour],
        wind_m_s=measured.wind_m_s[hour],
        visibility_m=measured.visibility_m[hour],
        rain_mm_h=measured.rain_mm_h[hour],
        snow_mm_h=measured.snow_mm_h[hour],
        ground_minus_air_k=of(scenarios.ground_minus_air_k),
        clutter_k=of(scenarios.clutter_k),
        wetness=of(scenarios.wetness),
        low_sky_below_air_k=of(scenarios.low_sky_below_air_k),
        window=of(scenarios.window),
        fog=kind.astype(np.int64),
    )
    return states, of(scenarios.cloud)


def _middle(states: HourStates, cloud: np.ndarray, hours: int, ground_emissivity: float) -> dict[str, np.ndarray]:
    """Means over each hour's states (hours,), NaN where there are none: the state's numbers, cloud, contrast, chance of fog."""
    air_k = states.air_temperature_c + ZERO_CELSIUS_K
    contrast = walker_contrasts_k(
        air_k,
        states.relative_humidity,
        states.wind_m_s,
        states.wetness,
        air_k + states.ground_minus_air_k,
        air_k - states.low_sky_below_air_k,
        ground_emissivity,
    )
    rows = {name: getattr(states, name) for name in STATE_FIELDS}
    rows |= {"cloud": cloud, "contrast_k": contrast, "fog_share": (states.fog != FOG_KINDS["none"]).astype(float)}
    total = np.bincount(states.hour, states.weight, hours)
    with np.errstate(invalid="ignore"):
        return {name: np.bincount(states.hour, states.weight * row, hours) / total for name, row in rows.items()}


def _convention(site) -> int:
    """Convention of the file's visibilities, as a code."""
    file = getattr(site, "weather_file", None)
    return CONVENTIONS[getattr(file, "visibility_convention", "optical_range")]


def _dry_in_gaps(rate: np.ndarray) -> np.ndarray:
    """Rain or snow with short gaps filled by straight lines and none in long ones."""
    return np.where(long_gaps(rate), 0.0, filled(rate, 0.0))
