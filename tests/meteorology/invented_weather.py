"""Years with INVENTED hours, only to sort, print and draw: no station, no ground model, never a reference.

Unlike `invented_year` these are armed in several ways, have gaps, lie in several years, or hold nothing that harms.
Import it as `from weather.invented_weather import year`; tests of other rooms use it too.
"""

from __future__ import annotations

import numpy as np

from fencecast.meteorology.year import MIDDLE_FIELDS, RECORD_FIELDS, STATE_FIELDS, HourStates, RecordProblem, Records, Year

CAP_M = 16_000.0


def year(days=365, start="2031-01-01", armed="18:00-06:00", gap_days=0, seed=5, harmless=False, latitude=54.0) -> Year:
    """A year whose hours have fog in autumn nights, rain, some snow, and a warm ground in summer.

    armed: "18:00-06:00", "all", "weekly" (nights of working days, whole days from Saturday to Sunday) or "sun" (sun below -6
    degrees, roughly). gap_days: days in March without data. harmless: neither fog nor water, and much contrast.
    """
    random = np.random.default_rng(seed)
    hours = 24 * days
    time = np.datetime64(start, "s") + np.arange(hours) * np.timedelta64(3600, "s")
    clock = np.arange(hours) % 24
    day_of_year = (time - time.astype("datetime64[Y]")).astype("timedelta64[D]").astype(int)
    season = -np.cos(2 * np.pi * (day_of_year - 20) / 365.25)  # -1 in January, 1 in July
    sun = _sun_elevation_deg(day_of_year, clock, latitude)
    weather = _smooth(random, hours, 60.0)
    cloud = np.clip(0.6 - 0.35 * weather, 0.0, 1.0)
    air = 10.0 + 8.0 * season + 3.0 * _smooth(random, hours, 80.0) + 4.0 * (1.0 - 0.6 * cloud) * np.sin(np.pi * (clock - 9) / 12)
    humidity = np.clip(0.82 - 0.02 * (air - 10.0) + 0.08 * _smooth(random, hours, 20.0), 0.3, 1.0)
    wind = 2.5 * np.exp(0.5 * _smooth(random, hours, 12.0))
    foggy = (_smooth(random, hours, 10.0) > 1.5 + 0.6 * season) & (sun < 5.0)
    visibility = np.minimum(CAP_M, 12_000.0 * np.exp(0.8 * _smooth(random, hours, 15.0)))
    visibility = np.where(foggy, 250.0 * np.exp(0.8 * _smooth(random, hours, 4.0)), visibility)
    water = np.where(_smooth(random, hours, 6.0) > 1.4, random.gamma(0.7, 1.8, hours), 0.0)
    water[water < 0.05] = 0.0
    cold = air < 0.5
    ground = np.where(sun > 0, 12.0 * np.sin(np.radians(np.maximum(sun, 0.0))) * (1.2 - cloud), -3.0 * (1.0 - cloud))
    contrast = 5.5 - 0.18 * air - ground + 0.6 * _smooth(random, hours, 5.0)
    if harmless:
        foggy[:] = False
        visibility[:], water[:], contrast = CAP_M, 0.0, np.maximum(np.abs(contrast), 3.0)
    values = {
        "air_temperature_c": air,
        "relative_humidity": humidity,
        "wind_m_s": wind,
        "visibility_m": visibility,
        "rain_mm_h": np.where(cold, 0.0, water),
        "snow_mm_h": np.where(cold, water, 0.0),
        "ground_minus_air_k": ground,
        "clutter_k": np.full(hours, 0.15),
        "wetness": np.clip(water, 0.0, 1.0),
        "low_sky_below_air_k": 12.0 * (1.0 - cloud),
        "window": np.where(water > 0, 0.9, 1.0),
        "cloud": cloud,
        "contrast_k": contrast,
        "fog_share": foggy.astype(float),
    }
    known = np.ones(hours, dtype=bool)
    first = 24 * 64
    known[first : first + 24 * gap_days] = False
    records = Records(
        time=time,
        utc_offset_h=0.0,
        latitude=latitude,
        longitude=4.0,
        elevation_m=None,
        values={name: np.where(known, values.get(name, np.full(hours, np.nan)), np.nan) for name in RECORD_FIELDS},
        visibility_cap_m=CAP_M,
        weather_codes=None,
        problems=(RecordProblem(1540, "wind_m_s", 310.0, "no wind is that strong: dropped"),),
        source=f"invented hours, {hours:,} hours",
    )
    middle = {name: np.where(known, values[name], np.nan) for name in MIDDLE_FIELDS}
    return Year(
        records=records,
        armed=_armed(armed, time, clock, sun),
        known=known,
        sun_elevation_deg=sun,
        middle=middle,
        states=_states(values, known, foggy),
        period_years=days / 365.0,
    )


def _states(values, known, foggy) -> HourStates:
    """Two states, 0.7 and 0.3, in foggy hours (of the two kinds of fog), one in the others."""
    hour = np.concatenate([np.flatnonzero(known), np.flatnonzero(known & foggy)])
    second = np.arange(len(hour)) >= np.count_nonzero(known)
    order = np.argsort(hour, kind="stable")
    hour, second = hour[order], second[order]
    weight = np.where(foggy[hour], np.where(second, 0.3, 0.7), 1.0)
    fog = np.where(foggy[hour], np.where(second, 2, 1), 0)
    return HourStates(hour=hour, weight=weight, fog=fog, **{name: values[name][hour] for name in STATE_FIELDS})


def _armed(kind, time, clock, sun) -> np.ndarray:
    if kind == "all":
        return np.ones(len(time), dtype=bool)
    if kind == "sun":
        return sun < -6.0
    night = (clock >= 18) | (clock < 6)
    if kind == "weekly":
        return night | ((time.astype("datetime64[D]").astype(int) + 3) % 7 >= 5)  # 1970-01-01 was a Thursday
    return night


def _sun_elevation_deg(day_of_year, clock, latitude) -> np.ndarray:
    """Roughly, without the equation of time."""
    declination = np.radians(-23.44 * np.cos(2 * np.pi * (day_of_year + 10) / 365.25))
    angle = np.radians(15.0 * (clock + 0.5 - 12.0))
    here = np.radians(latitude)
    sine = np.sin(here) * np.sin(declination) + np.cos(here) * np.cos(declination) * np.cos(angle)
    return np.degrees(np.arcsin(sine))


def _smooth(random, hours, hold_h) -> np.ndarray:
    """Noise of mean 0 and standard deviation 1 that keeps its value over some `hold_h` hours."""
    keep = np.exp(-1.0 / hold_h)
    kicks = random.normal(0.0, np.sqrt(1.0 - keep**2), hours)
    values = np.empty(hours)
    last = random.normal()
    for i in range(hours):
        last = keep * last + kicks[i]
        values[i] = last
    return values
