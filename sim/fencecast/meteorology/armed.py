"""Armed hours: a schedule by the clock, the sun below an elevation, or both, and whether a record tells enough of them.

An hour is armed or not as a whole, by its middle: a schedule from 18:30 arms the hour of 18:00 from its middle on, so it counts;
one from 18:31 does not. Over a year the halves even out. With a schedule and an elevation of the sun an hour is armed only when
both hold: the schedule says when somebody may switch on, the sun when it is dark enough to.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.errors import InputError, Problem, as_toml
from fencecast.meteorology.records.clock import HOUR, HOURS_A_YEAR
from fencecast.meteorology.year import Records
from fencecast.site.columns import FALLING
from fencecast.site.hourly import Armed, WeatherFile, spans_of

_SHORTEST_YEAR_H = 8760
_LEAST_PLURAL_HOURS = 9204  # 1.05 years, shown as 1.1
# No country's clock is farther than this from its sun: western China, some three hours.
_CLOCK_FROM_SUN_H = 4.0
# Without these for more than a few hours nothing can be said about a look through the air.
NEEDED = ("air_temperature_c", "relative_humidity", "wind_m_s", "visibility_m")


@dataclass(frozen=True)
class Place:
    """Where the sun is looked up: degrees north and east, metres above the sea (0 when nobody says)."""

    latitude: float
    longitude: float
    elevation_m: float


def place_of(site, records: Records) -> Place:
    """The site's own latitude and longitude, or those of the weather file. InputError when neither has them."""
    given = {name: getattr(site.site, name) for name in ("latitude", "longitude")}
    known = {name: getattr(records, name) if value is None else value for name, value in given.items()}
    if None in known.values():
        allowed = "degrees, for the sun: the weather file has none"
        examples = {"latitude": "latitude = 54.0", "longitude": "longitude = 8.0"}
        missing = [name for name, value in known.items() if value is None]
        problems = [Problem(f"[site] {name}", Problem.MISSING, allowed, examples[name]) for name in missing]
        raise InputError(problems, site.weather_file.path)
    away_h = abs(records.utc_offset_h - known["longitude"] / 15.0)
    if min(away_h, 24.0 - away_h) > _CLOCK_FROM_SUN_H:
        allowed = (
            f"degrees east (west is negative) that fit the record's clock, {records.utc_offset_h:g} h from UTC: the sun would be "
            f"{min(away_h, 24.0 - away_h):.1f} h away from the clock; look at its sign, and at utc_offset_h"
        )
        instead = f"longitude = {15.0 * records.utc_offset_h!r}"
        raise InputError([Problem("[site] longitude", known["longitude"], allowed, instead)], site.weather_file.path)
    return Place(known["latitude"], known["longitude"], records.elevation_m or 0.0)


def sun_elevation_deg(records: Records, place: Place) -> np.ndarray:
    """Elevation of the sun's centre above the true horizon in the middle of each hour [degrees], (hours,); no refraction.

    pvlib's NREL algorithm (Reda and Andreas 2004, good to 0.0003 degrees).
    """
    return _sun_at(_middle_utc(records.time, records.utc_offset_h), place)


def armed_hours(site, records: Records, sun_elevation: np.ndarray) -> np.ndarray:
    """Which hours are armed, (hours,) bool, by `[armed]` of the site. sun_elevation (hours,) [degrees], at their middles.

    InputError when none is, or when the record tells enough of less than `least_share` of them.
    """
    armed = armed_at(site.armed, records.time, records.utc_offset_h, sun_elevation)
    if not np.any(armed):
        raise InputError([_nothing_armed(site.armed, records)], site.weather_file.path)
    _refuse_gaps(site, records, armed)
    return armed


def _nothing_armed(armed: Armed, records: Records) -> Problem:
    """What is said when no hour is armed: above all that an hour's middle decides, which a span of minutes can miss."""
    given = {name: value for name, value in armed if name in armed.model_fields_set}
    allowed = "a schedule or an elevation of the sun that arms at least one hour of the record"
    if armed.hours is None:
        return Problem("[armed]", given, allowed, "sun_below_deg = 0.0")
    if np.any(_on_schedule(armed, records.time, records.utc_offset_h)):
        return Problem("[armed]", given, f"{allowed}; hours and sun_below_deg must hold together", "sun_below_deg = 0.0")
    span = spans_of(armed.hours)[0]
    first, last = span.start_min // 60, -(-span.end_min // 60)
    allowed = (
        f"{allowed}: a span of whole hours, because an hour counts when its middle lies in the schedule, and no middle lies in "
        "this one"
    )
    return Problem("[armed]", given, allowed, f'hours = ["{first:02d}:00-{last:02d}:00"]')


def armed_at(armed: Armed, time: np.ndarray, utc_offset_h: float, sun_elevation: np.ndarray) -> np.ndarray:
    """Which hours are armed, (hours,) bool. time (hours,) datetime64[s]: their starts in local standard time."""
    result = np.ones(len(time), dtype=bool)
    if armed.hours is not None:
        result &= _on_schedule(armed, time, utc_offset_h)
    if armed.sun_below_deg is not None:
        result &= sun_elevation < armed.sun_below_deg
    return result


def clock_of_hours(armed: Armed, time: np.ndarray, utc_offset_h: float) -> np.ndarray:
    """What the clock shows in the middle of each hour, (hours,) datetime64[s]: of the site's time zone, else the record's."""
    if armed.time_zone is None:
        return time + HOUR // 2
    from fencecast.meteorology.records.localtime import clock_of_utc

    return clock_of_utc(_middle_utc(time, utc_offset_h), armed.time_zone)


def _on_schedule(armed: Armed, time: np.ndarray, utc_offset_h: float) -> np.ndarray:
    clock = clock_of_hours(armed, time, utc_offset_h)
    day = clock.astype("datetime64[D]")
    minute = (clock - day.astype("datetime64[s]")) / np.timedelta64(60, "s")
    # 1 January 1970 was a Thursday; 0 is Monday.
    weekday = (day.astype(np.int64) + 3) % 7
    result = np.zeros(len(time), dtype=bool)
    for span in spans_of(armed.hours):
        today, yesterday = np.isin(weekday, list(span.days)), np.isin((weekday - 1) % 7, list(span.days))
        if span.start_min < span.end_min:
            result |= today & (minute >= span.start_min) & (minute < span.end_min)
        else:
            # A night belongs to the day on which it begins.
            result |= (today & (minute >= span.start_min)) | (yesterday & (minute < span.end_min))
    return result


def _refuse_gaps(site, records: Records, armed: np.ndarray) -> None:
    """Refuses a record that tells too little of its armed hours, or, shorter than a year, of a year's."""
    from fencecast.meteorology.hours import fill_records

    known = fill_records(records).known
    known_armed = known & armed
    hours, months = armed, records.time.astype("datetime64[M]")
    if len(records.time) < _SHORTEST_YEAR_H:
        time = records.time[0] + np.arange(_SHORTEST_YEAR_H) * HOUR
        sun = np.full(len(time), -90.0)
        if site.armed.sun_below_deg is not None:
            sun = _sun_at(_middle_utc(time, records.utc_offset_h), place_of(site, records))
        hours, months = armed_at(site.armed, time, records.utc_offset_h, sun), time.astype("datetime64[M]")
        known_armed = np.concatenate([known_armed, np.zeros(len(time) - len(known_armed), dtype=bool)])
    needed, found = int(np.count_nonzero(hours)), int(np.count_nonzero(known_armed))
    least = site.weather_file.least_share
    if found >= least * needed:
        return
    absent = {name: np.isnan(records.values[name]) for name in NEEDED}
    dry = np.all([np.isnan(records.values[name]) for name in ("rain_mm_h", "snow_mm_h", "precipitation_mm_h")], axis=0)
    # A file that never tells of rain counts as dry.
    absent["precipitation"] = dry & ~dry.all()
    missing = {name: int(np.count_nonzero(armed & ~known & gone)) for name, gone in absent.items()}
    lacks = ", ".join(f"{name} in {count:,}" for name, count in missing.items() if count) or "nothing in the hours that it has"
    worst = _worst_months(months, hours & ~known_armed)
    blank = ";"
    alone = dry & ~np.any([absent[name] for name in NEEDED], axis=0)
    if np.count_nonzero(armed & ~known & alone) > 0.5 * np.count_nonzero(armed & ~known):
        blank = _blank_is_unknown(site.weather_file, records, known & armed)
    share = found / needed
    years = "a year" if len(hours) < _LEAST_PLURAL_HOURS else f"{len(hours) / HOURS_A_YEAR:.1f} years"
    text = (
        f"it tells enough of {found:,} of {needed:,} armed hours in "
        f"{years} ({100 * share:.1f} %), and {100 * least:.4g} % are needed: "
        f"it lacks {lacks}; most hours are missing in {worst}{blank} use a fuller file, or type least_share = "
        f"{np.floor(share * 100) / 100:.2f} in [weather_file] to count the hours that there are"
    )
    raise InputError([text], site.weather_file.path)


def _blank_is_unknown(file: WeatherFile, records: Records, known_armed: np.ndarray) -> str:
    """What is said where it is mostly precipitation that is missing: why, and how to say that blank is dry."""
    falls = [records.values[name] for name in ("rain_mm_h", "snow_mm_h", "precipitation_mm_h")]
    wet = np.any([values > 0.0 for values in falls], axis=0)
    text = "; where precipitation is blank it is unknown, not 0, because a gauge that fails is blank too"
    columns = file.columns if file.file_kind == "csv" else {}
    names = [name for name in FALLING if name in columns and "empty" not in columns[name]]
    if names:
        entry = {"column": columns[names[0]]["column"], "unit": columns[names[0]]["unit"], "empty": 0.0}
        text += f": if this station leaves dry hours blank, type {names[0]} = {as_toml(entry)} in columns of [weather_file]"
    if np.any(known_armed):
        dry = 100.0 * (1.0 - np.count_nonzero(wet & known_armed) / np.count_nonzero(known_armed))
        text += f"; {dry:.0f} % of the known hours are dry, which may be far from the year's share"
    return text + ("; otherwise" if names else ";")


def _worst_months(months: np.ndarray, missing: np.ndarray) -> str:
    names, counts = np.unique(months[missing], return_counts=True)
    order = np.argsort(-counts, kind="stable")[:3]
    return ", ".join(f"{names[k]} ({counts[k]:,})" for k in sorted(order))


def _middle_utc(time: np.ndarray, utc_offset_h: float) -> np.ndarray:
    return time + HOUR // 2 - np.timedelta64(round(utc_offset_h * 3600), "s")


def _sun_at(utc: np.ndarray, place: Place) -> np.ndarray:
    import pandas as pd
    from pvlib.solarposition import get_solarposition

    times = pd.DatetimeIndex(utc).tz_localize("UTC")
    return get_solarposition(times, place.latitude, place.longitude, altitude=place.elevation_m)["elevation"].to_numpy()
