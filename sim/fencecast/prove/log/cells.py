"""What stands in a cell of a log: dates, times of day, numbers, what a camera did.

Lenient where one reading is left, else refused.

Tests: tests/prove/log/test_logcells.py.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable
from dataclasses import dataclass

VOIDS = ("other person", "animal", "vehicle", "fell", "wrong place", "wrong gait", "recorder off")
WORDS = ("no", "yes", "off")
DAY_S = 86_400.0
YEARS = (2000, 2100)

_ISO = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})(?:[T ]0{1,2}:00(?::00)?)?")
_NATIONAL = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4})")
_TIME = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,6}))?)?\s*([ap])?\.?\s*(?:m\.?)?", re.IGNORECASE)
_CUT = re.compile(r"\d{1,2}:\d{2}[.,]\d+")
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_CLOCK = "hours, minutes and seconds, HH:MM:SS or HH:MM:SS.s"


@dataclass(frozen=True)
class Wrong:
    """Why a cell cannot be used: what is allowed, and what to type."""

    allowed: str
    instead: str = ""


def date_order(cells: Iterable[str]) -> str:
    """How the dates of a file that do not begin with the year are meant: "dmy", "mdy", "" when both or neither could be.

    A spreadsheet writes all dates of a file one way, so one day above 12 tells of all; dates with dots begin with the day.
    """
    found = [match.groups() for match in map(_NATIONAL.fullmatch, cells) if match]
    may = {"dmy": True, "mdy": True}
    for first, mark, second, _ in found:
        may["dmy"] &= int(second) <= 12
        may["mdy"] &= int(first) <= 12 and mark != "."
    left = [order for order, fits in may.items() if fits]
    return left[0] if found and len(left) == 1 else ""


def read_date(cell: str, order: str = "") -> datetime.date | Wrong:
    """2026-11-29, or as `order` (of `date_order`) says."""
    allowed = "year, month and day"
    iso, national = _ISO.fullmatch(cell), _NATIONAL.fullmatch(cell)
    if iso:
        year, month, day = iso.group(1, 3, 4)
    elif national and order:
        day, month = national.group(1, 3) if order == "dmy" else national.group(3, 1)
        year = national[4]
    elif national:
        return Wrong("day and month cannot be known apart in this file: year first, then month and day", "2026-11-29")
    else:
        return Wrong(allowed, "2026-11-29")
    if not YEARS[0] <= int(year) <= YEARS[1]:
        return Wrong(f"{allowed}, of the years {YEARS[0]} to {YEARS[1]}", "2026-11-29")
    try:
        return datetime.date(int(year), int(month), int(day))
    except ValueError:
        return Wrong(f"{allowed} of the calendar", "2026-11-29")


def read_time(cell: str) -> float | Wrong:
    """Seconds of the day. 22:04:31, 22:04:31.5, 22:04:31,5, 10:04:31 PM."""
    cell = cell.lstrip("'")
    match = _TIME.fullmatch(cell)
    if not match:
        if _CUT.fullmatch(cell):
            return Wrong(f"{_CLOCK}; a spreadsheet has cut the hours off: give the column the format text", "22:04:31.5")
        if _NUMBER.fullmatch(cell):
            return Wrong(f"{_CLOCK}; a number is no time: give the column the format text", "22:04:31")
        return Wrong(_CLOCK, "22:04:31")
    hour, minute = int(match[1]), int(match[2])
    half = (match[5] or "").lower()
    if match[3] is None:
        return Wrong(f"{_CLOCK}; the seconds are missing, or the hours are", f"{hour:02d}:{minute:02d}:00")
    if half:
        if not 1 <= hour <= 12:
            return Wrong("hours 1 to 12 with AM or PM, or 0 to 23 without", "22:04:31")
        hour = hour % 12 + (12 if half == "p" else 0)
    if hour == 24:
        return Wrong(
            "hours 0 to 23; after midnight the day's count begins anew, with the date of the new day",
            f"00:{minute:02d}:{match[3]}",
        )
    second = int(match[3])
    if hour > 23 or minute > 59 or second > 59:
        return Wrong("hours 0 to 23, minutes and seconds 0 to 59", "22:04:31")
    return hour * 3600.0 + minute * 60.0 + second + float("0." + (match[4] or "0"))


def read_number(cell: str, low: float, high: float, unit: str, instead: str) -> float | Wrong:
    """A number with a decimal point or comma from `low` to `high`."""
    cell = cell.lstrip("'")
    allowed = f"a number from {low:g} to {high:g}{' ' + unit if unit else ''}"
    if not _NUMBER.fullmatch(cell):
        return Wrong(allowed, instead)
    number = float(cell.replace(",", "."))
    return number if low <= number <= high else Wrong(allowed, instead)


def read_whole(cell: str) -> int | Wrong:
    """A whole number from 1."""
    match = re.fullmatch(r"(\d{1,6})(?:[.,]0+)?", cell)
    if match and int(match[1]) >= 1:
        return int(match[1])
    return Wrong("the number on the card, a whole number from 1; clock; or alarm", "12")


def read_heard(cell: str) -> str | float | Wrong:
    """What a camera did: "no", "yes", "off", or the time of its first alarm [seconds of the recorder's day]."""
    word = cell.casefold()
    if word in WORDS:
        return word
    if not word:
        return Wrong("no, yes, off, or the time of its first alarm; an empty cell does not mean no", "no")
    if any(sign.isdigit() for sign in word):
        time = read_time(cell)
        return (
            Wrong(f"no, yes, off, or the time of its first alarm: {time.allowed}", time.instead)
            if isinstance(time, Wrong)
            else time
        )
    return Wrong("no, yes, off, or the time of its first alarm", "no")


def decimals(cell: str) -> int:
    """Decimal places of the seconds of a time, as written."""
    match = _TIME.fullmatch(cell.lstrip("'"))
    return len(match[4]) if match and match[4] else 0


def nearest_day(seconds: float, near: datetime.datetime) -> datetime.datetime:
    """A time of day [s] on the day on which it is nearest to `near`: midnight passes."""
    start = datetime.datetime.combine(near.date(), datetime.time())
    since = (near - start).total_seconds()
    shift = round((since - seconds) / DAY_S)
    return start + datetime.timedelta(seconds=seconds + shift * DAY_S)
