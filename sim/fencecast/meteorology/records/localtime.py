"""From the clock that a file keeps to local standard time: UTC, summer time with its missing and its doubled hour."""

from __future__ import annotations

import numpy as np

from fencecast.errors import InputError, Problem
from fencecast.meteorology.records.rows import Notes
from fencecast.site.hourly import LOCAL_STANDARD, WeatherFile


def local_standard(
    label: np.ndarray, line: np.ndarray, options: WeatherFile, with_offset: bool, file: str, notes: Notes
) -> tuple[np.ndarray, float, np.ndarray]:
    """Labels in local standard time, its offset from UTC [h], and the rows (indices) that are a time at all.

    label (rows,) datetime64[s] without NaT; line (rows,) for notes. with_offset: labels are in UTC because each says its offset.
    """
    zone, offset_h = options.time["zone"], options.utc_offset_h
    every = np.arange(len(label))
    if with_offset and zone == LOCAL_STANDARD:
        allowed = 'the zone of the times, which say their offset from UTC by themselves; name "UTC" or the place\'s zone'
        raise InputError([Problem("[weather_file] time zone", zone, allowed, 'zone = "UTC"')], file)
    by_clock = zone not in ("UTC", LOCAL_STANDARD)
    if offset_h is None:
        if not by_clock:
            allowed = "hours from UTC to the station's local standard time (winter), which the sun's position needs"
            raise InputError([Problem("[weather_file] utc_offset_h", Problem.MISSING, allowed, "utc_offset_h = 1.0")], file)
        offset_h = winter_offset_h(zone, label[0])
    shift = np.timedelta64(round(offset_h * 3600), "s")
    if zone == LOCAL_STANDARD:
        return label, offset_h, every
    if zone == "UTC" or with_offset:
        return label + shift, offset_h, every
    utc, keep = utc_of_clock(label, zone, line, notes)
    return utc + shift, offset_h, keep


def winter_offset_h(zone: str, when: np.datetime64) -> float:
    """Local standard time of a zone minus UTC [h]: the smaller of the offsets of January and July of that year."""
    import pandas as pd

    year = str(when)[:4]
    stamps = pd.DatetimeIndex([f"{year}-01-15 12:00", f"{year}-07-15 12:00"], tz="UTC").tz_convert(zone)
    return min(stamp.utcoffset().total_seconds() for stamp in stamps) / 3600.0


def clock_of_utc(utc: np.ndarray, zone: str) -> np.ndarray:
    """What the clocks of a zone show (rows,) at times in UTC, datetime64[s]."""
    import pandas as pd

    shown = pd.DatetimeIndex(utc).tz_localize("UTC").tz_convert(zone).tz_localize(None)
    return shown.to_numpy().astype("datetime64[s]")


def utc_of_clock(clock: np.ndarray, zone: str, line: np.ndarray, notes: Notes) -> tuple[np.ndarray, np.ndarray]:
    """UTC of what the clocks of a zone showed, and the rows that are a time there; rows in the order of time, either way.

    The hour that comes twice in autumn: of two rows with the same label the earlier is summer time; a single row is summer time
    too, and noted. The hour that is left out in spring does not exist: a row for it is noted and left out.
    """
    import pandas as pd

    backwards = len(clock) > 1 and clock[0] > clock[-1]
    index = pd.DatetimeIndex(clock)
    as_summer = index.tz_localize(zone, ambiguous=np.ones(len(clock), dtype=bool), nonexistent="NaT")
    as_winter = index.tz_localize(zone, ambiguous=np.zeros(len(clock), dtype=bool), nonexistent="NaT")
    twice = np.asarray(as_summer != as_winter) & ~np.asarray(as_summer.isna())
    order = np.arange(len(clock))[::-1] if backwards else np.arange(len(clock))
    summer, rows_by_time = np.ones(len(clock), dtype=bool), {}
    for row in order[twice[order]]:
        # The second time a label is met, the clocks have been put back.
        summer[row] = clock[row] not in rows_by_time
        rows_by_time.setdefault(clock[row], []).append(row)
    single = np.array([rows[0] for rows in rows_by_time.values() if len(rows) == 1], dtype=np.int64)
    why = f"comes twice in {zone} and stands here once; taken as summer time"
    notes.add_rows(line[single], "time", clock[single].astype(str), why)
    localized = index.tz_localize(zone, ambiguous=summer, nonexistent="NaT")
    absent = np.asarray(localized.isna())
    why = f"does not exist in {zone}, where the clocks go forward; left out (is the file in local standard time?)"
    notes.add_rows(line[absent], "time", clock[absent].astype(str), why)
    keep = np.flatnonzero(~absent)
    return localized[keep].tz_convert("UTC").tz_localize(None).to_numpy().astype("datetime64[s]"), keep
