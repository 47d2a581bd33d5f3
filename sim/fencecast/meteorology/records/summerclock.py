"""The tell-tale of a clock with summer time: an hour that is missing on a Sunday in spring, and one given twice in autumn.

Tests: tests/meteorology/test_records_csv.py.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

_SPRING, _AUTUMN = (3, 4), (9, 10, 11)
# Clocks change between midnight and 3:00; a row that is named by its hour's end shows an hour later.
_LAST_CLOCK_HOUR = 4
# One zone of each rule and offset, to propose.
_ZONES = (
    "Europe/London",
    "Europe/Berlin",
    "Europe/Athens",
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Los_Angeles",
    "America/Anchorage",
    "America/Halifax",
    "America/St_Johns",
    "Australia/Sydney",
    "Australia/Adelaide",
    "Pacific/Auckland",
)


def summer_time_seen(label: np.ndarray) -> tuple[np.datetime64, np.datetime64] | None:
    """A time given twice and an hour left out, as a clock with summer time would have them; None when there are none.

    label (rows,) datetime64[s] without NaT, as they stand in the file. Both lie in a Sunday's first hours, in the months in which
    clocks change, north or south. Where more times are given twice than a change of clocks explains, they say nothing.
    """
    times, counts = np.unique(label, return_counts=True)
    hours = np.unique(times.astype("datetime64[h]"))
    gaps = hours[:-1][np.diff(hours) == np.timedelta64(2, "h")] + np.timedelta64(1, "h")
    twice = times[counts > 1]
    for forward, back in ((_SPRING, _AUTUMN), (_AUTUMN, _SPRING)):
        absent, doubled = gaps[_sunday_night(gaps, forward)], twice[_sunday_night(twice, back)]
        if len(absent) and 2 * len(doubled) > len(twice):
            return doubled[0], absent[0].astype("datetime64[s]")
    return None


def zone_of(doubled: np.datetime64, absent: np.datetime64, utc_offset_h: float) -> str | None:
    """A zone of this winter offset [h] whose clocks tell the one time twice and never show the other; None when none is known."""
    for name in _ZONES:
        zone = ZoneInfo(name)
        if _change(doubled, zone) < timedelta(0) < _change(absent, zone) and _winter_h(doubled, zone) == utc_offset_h:
            return name
    return None


def _sunday_night(times: np.ndarray, months: tuple[int, ...]) -> np.ndarray:
    day = times.astype("datetime64[D]")
    month = times.astype("datetime64[M]").astype(np.int64) % 12 + 1
    hour = (times.astype("datetime64[h]") - day.astype("datetime64[h]")).astype(np.int64)
    # 1 January 1970 was a Thursday; 6 is Sunday.
    sunday = (day.astype(np.int64) + 3) % 7 == 6
    return sunday & np.isin(month, months) & (hour <= _LAST_CLOCK_HOUR)


def _change(time: np.datetime64, zone: ZoneInfo) -> timedelta:
    """By how much a zone's clocks move at a time that they show: forward where they skip it, back where they tell it twice.

    A second earlier too, for a row that is named by its hour's end.
    """
    for back in (0, 1):
        shown = datetime.fromisoformat(str(time)) - timedelta(seconds=back)
        first, second = (shown.replace(tzinfo=zone, fold=fold).utcoffset() for fold in (0, 1))
        if first != second:
            # Fold 0 is the offset before the change, fold 1 that after it, in a gap as in an hour given twice.
            return second - first
    return timedelta(0)


def _winter_h(time: np.datetime64, zone: ZoneInfo) -> float:
    year = int(str(time)[:4])
    offsets = [datetime(year, month, 15, 12, tzinfo=zone).utcoffset() for month in (1, 7)]
    return min(offsets).total_seconds() / 3600.0
