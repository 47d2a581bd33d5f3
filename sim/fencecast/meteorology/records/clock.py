"""From rows in a file's order to records on the clock: one row an hour, gaps as NaN, hours that are given twice once."""

from __future__ import annotations

import numpy as np

from fencecast.errors import InputError
from fencecast.meteorology.records.limits import LIMITS, drop_impossible, drop_lone_jumps, visibility_cap_m
from fencecast.meteorology.records.presentweather import fill_from_codes
from fencecast.meteorology.records.rows import Rows
from fencecast.meteorology.records.texts import NO_ROWS
from fencecast.meteorology.year import RECORD_FIELDS, Records
from fencecast.physics.air import saturation_pressure_hpa
from fencecast.units import ZERO_CELSIUS_K

HOUR = np.timedelta64(3600, "s")
HOURS_A_YEAR = 8766.0  # the mean, leap years counted
_LONGEST_YEAR_H = 8784
_MOST_YEARS = 100
# A record within three weeks of whole years has its seasons alike.
_UNEVEN = 0.06
# A typical year has no year of its own: one that starts on a Sunday, with and without 29 February.
_PLAIN_YEAR, _LEAP_YEAR = 2023, 2012
# More rows than this for an hour, over the file, is no hourly record.
_MOST_ROWS_AN_HOUR = 1.5


def records_of(rows: Rows) -> Records:
    """The records that a file's rows make; InputError when they are no hourly record."""
    if len(rows.start) == 0:
        raise InputError([NO_ROWS], rows.file)
    typical = _one_year_of_many(rows)
    rows.take(np.argsort(rows.start, kind="stable"))
    _spread_totals(rows)
    drop_impossible(rows)
    if rows.by_code_mm_h is not None:
        fill_from_codes(rows.values["precipitation_mm_h"], rows.by_code_mm_h, rows.notes)
    _fill_humidity(rows)
    _once_an_hour(rows)
    drop_lone_jumps(rows)
    first, last = rows.start[0], rows.start[-1]
    hours = int((last - first) // HOUR) + 1
    if hours > _MOST_YEARS * HOURS_A_YEAR:
        text = f"its hours run from {first} to {last}: more than {_MOST_YEARS} years; look for a mistyped year or time format"
        raise InputError([text], rows.file)
    place = ((rows.start - first) // HOUR).astype(np.int64)
    values = {name: np.full(hours, np.nan) for name in (*RECORD_FIELDS, "ceiling_m")}
    for name, array in rows.values.items():
        if name in values:
            values[name][place] = array
    codes = None
    if rows.codes is not None:
        codes = np.full(hours, "", dtype=rows.codes.dtype)
        codes[place] = rows.codes
    if hours > len(place):
        gaps = hours - len(place)
        rows.notes.add(None, "time", f"{gaps:,} of {hours:,} hours", "the file has no row for them; they are unknown")
    _uneven_seasons(hours, rows)
    whole = f"{rows.file.replace(chr(92), '/').rsplit('/', 1)[-1]}, {hours:,} hours"
    span = f"a typical year put together from {typical}" if typical else f"{str(first)[:10]} to {str(last)[:10]}"
    return Records(
        time=first + np.arange(hours) * HOUR,
        utc_offset_h=rows.utc_offset_h,
        latitude=rows.latitude,
        longitude=rows.longitude,
        elevation_m=rows.elevation_m,
        values=values,
        visibility_cap_m=visibility_cap_m(values["visibility_m"]),
        weather_codes=codes,
        problems=tuple(rows.notes.problems),
        source=f"{whole}, {span}",
    )


def _uneven_seasons(hours: int, rows: Rows) -> None:
    years = hours / HOURS_A_YEAR
    if years > 1.0 + _UNEVEN and abs(years - round(years)) > _UNEVEN:
        why = "not whole years: some months count once more than others"
        rows.notes.add(None, "time", f"{years:.1f} years", why)


def _one_year_of_many(rows: Rows) -> str:
    """Moves months that were taken from different years into one; "1980 to 2003" when it did, else nothing.

    Such a file tells each hour of the calendar once, and each month is of one year (but for hours at its edges, when the file is
    in UTC); years of two months differ.
    """
    years = rows.start.astype("datetime64[Y]")
    if len(rows.start) > _LONGEST_YEAR_H or years.min() == years.max():
        return ""
    if np.all(np.diff(rows.start) > np.timedelta64(0)) and rows.start[-1] - rows.start[0] < _LONGEST_YEAR_H * HOUR:
        return ""
    months = rows.start.astype("datetime64[M]")
    month = (months - years.astype("datetime64[M]")).astype(np.int64)
    since = rows.start - months.astype("datetime64[s]")
    if not _months_of_one_year(month, years.astype(np.int64), since):
        return ""
    leap = np.any((month == 1) & (since >= 28 * 24 * HOUR))
    first = np.datetime64(str(_LEAP_YEAR if leap else _PLAIN_YEAR), "M")
    moved = (first + month).astype("datetime64[s]") + since
    if len(np.unique(moved)) < len(moved):
        return ""
    rows.start = moved
    return f"{years.min()} to {years.max()}"


def _months_of_one_year(month: np.ndarray, year: np.ndarray, since: np.ndarray) -> bool:
    """Whether every calendar month is of one year, but for its first and last day, and months are of different years."""
    of_month = set()
    for each in np.unique(month):
        mine = month == each
        found, counts = np.unique(year[mine], return_counts=True)
        usual = found[counts.argmax()]
        of_month.add(int(usual))
        inside = (since[mine] >= 24 * HOUR) & (since[mine] < 27 * 24 * HOUR)
        if np.any(inside & (year[mine] != usual)):
            return False
    return len(of_month) > 1


def _spread_totals(rows: Rows) -> None:
    """A depth gathered over several hours is spread over those of them that have no depth of their own."""
    depth, gathered = rows.values.get("precipitation_mm_h"), rows.total_hours
    if depth is None or gathered is None:
        return
    long = np.flatnonzero(np.isfinite(depth) & (gathered > 1))
    for row in long:
        during = np.arange(max(row - int(gathered[row]) + 1, 0), row + 1)
        during = during[rows.start[row] - rows.start[during] < gathered[row] * HOUR]
        total, depth[row] = depth[row], np.nan
        unknown = during[np.isnan(depth[during])]
        known = len(during) - len(unknown)
        depth[unknown] = max(total - np.nansum(depth[during]), 0.0) / max(gathered[row] - known, 1.0)
    if len(long):
        why = "gathered over several hours; spread over them evenly"
        rows.notes.add(None, "precipitation_mm_h", f"{len(long):,} depths", why)


def _fill_humidity(rows: Rows) -> None:
    """Humidity from the dew point where the file has no humidity (Magnus formula over water, as humidity is reported)."""
    dew = rows.values.pop("dew_point_c", None)
    air = rows.values.get("air_temperature_c")
    if dew is None or air is None:
        return
    humidity = rows.values.setdefault("relative_humidity", np.full(len(air), np.nan))
    missing = np.isnan(humidity) & np.isfinite(air) & np.isfinite(dew)
    pressure = saturation_pressure_hpa.py_func
    for row in np.flatnonzero(missing):
        ratio = pressure(dew[row] + ZERO_CELSIUS_K) / pressure(air[row] + ZERO_CELSIUS_K)
        if not LIMITS["relative_humidity"].low <= ratio <= LIMITS["relative_humidity"].high:
            why = f"does not go with air at {air[row]:.1f} C; humidity is unknown"
            rows.notes.add(rows.line[row], "dew_point_c", float(dew[row]), why)
        else:
            humidity[row] = min(ratio, 1.0)


def _once_an_hour(rows: Rows) -> None:
    """Keeps the first row of every hour; what it lacks is taken from later rows of the same hour."""
    hour = rows.start.astype("datetime64[h]")
    rows.start = hour.astype("datetime64[s]")
    first = np.concatenate([[True], hour[1:] != hour[:-1]])
    again = np.flatnonzero(~first)
    if len(hour) > _MOST_ROWS_AN_HOUR * np.count_nonzero(first):
        text = (
            f"it has {len(hour):,} rows for {np.count_nonzero(first):,} hours: not one row an hour; choose the station's rows "
            f'with only = {{ HEADING = "TEXT" }} in [weather_file], or make the file hourly'
        )
        raise InputError([text], rows.file)
    if len(again) == 0:
        return
    kept = np.maximum.accumulate(np.where(first, np.arange(len(hour)), 0))
    for array in rows.values.values():
        for row in again:
            if np.isnan(array[kept[row]]):
                array[kept[row]] = array[row]
    words = np.array([f"{rows.start[row]} stands in line {rows.line[kept[row]]} already" for row in again])
    rows.notes.add_rows(rows.line[again], "time", words, "an hour given twice; the first row counts, gaps in it are filled")
    rows.take(np.flatnonzero(first))
