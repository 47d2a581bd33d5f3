"""A year laid out night by night: one column a night from noon to noon, so that midnight is in the middle and no night is torn.

nights = nights_of(time)                         # where each hour of a record has its cell
grid = nights.grid(values, np.nan)               # (24, nights)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

HOURS = 24
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class Nights:
    """Where each hour of a record has its cell: column and row (hours,), and the date on which each night begins (nights,).

    Row 0 is the hour from 12:00. Hours that were left out (`part`) have no cell.
    """

    column: np.ndarray
    row: np.ndarray
    dates: np.ndarray
    used: np.ndarray

    @property
    def count(self) -> int:
        return len(self.dates)

    def grid(self, values: np.ndarray, missing: Any) -> np.ndarray:
        """Values of the hours (hours,) in their cells (24, nights); `missing` where a cell has no hour."""
        cells = np.full((HOURS, self.count), missing, dtype=np.asarray(values).dtype)
        cells[self.row[self.used], self.column[self.used]] = np.asarray(values)[self.used]
        return cells

    def part(self, nights: np.ndarray) -> Nights:
        """Only these columns (a mask), pushed together."""
        new = np.cumsum(nights) - 1
        return Nights(new[self.column], self.row, self.dates[nights], self.used & nights[self.column])


def nights_of(time: np.ndarray) -> Nights:
    """The layout of hours (hours,) datetime64, starts of hours in local standard time."""
    time = np.asarray(time).astype("datetime64[s]")
    since_noon = time - np.timedelta64(12 * 3600, "s")
    day = since_noon.astype("datetime64[D]")
    first = day.min()
    column = (day - first).astype(int)
    row = ((since_noon - day).astype("timedelta64[s]").astype(int) // 3600).astype(int)
    dates = first + np.arange(column.max() + 1)
    return Nights(column, row, dates, np.ones(len(time), dtype=bool))


def year_of_most(nights: Nights, score: np.ndarray) -> tuple[Nights, str]:
    """One year of a longer record: that in which `score` (hours,) adds up to most; and its words ('' for a single year).

    Years are counted from the record's first night; a rest of less than a year counts as a year of its own.
    """
    if nights.count <= 367:
        return nights, ""
    years = (nights.dates - nights.dates[0]).astype(int) * 100 // 36525
    if np.count_nonzero(years == years[-1]) <= 31:
        years[years == years[-1]] -= 1  # the last hours of the last night do not make a year
    sums = np.bincount(years[nights.column], weights=np.nan_to_num(score))
    worst = int(np.argmax(sums))
    chosen = nights.part(years == worst)
    middle = chosen.dates[chosen.count // 2]
    return chosen, f"{str(middle.astype('datetime64[Y]'))}, the worst of {len(sums)} years"


def arming_groups(nights: Nights, armed: np.ndarray) -> list[tuple[int, ...]]:
    """Weekdays on which nights begin (0 is Monday), in one group, or in two when arming goes by the week.

    armed (24, nights). The first group has the arming that most weekdays have, the second the rest.
    """
    weekday = weekday_of(nights)
    share = [armed[:, weekday == day].mean(axis=1) if (weekday == day).any() else None for day in range(7)]
    # Arming by the sun drifts by a night or two between weekdays; arming by the week turns whole hours on and off.
    alike = [
        tuple(k for k in range(7) if share[k] is None or share[day] is None or np.abs(share[k] - share[day]).max() <= 0.5)
        for day in range(7)
    ]
    usual = max(alike, key=len)
    rest = tuple(day for day in range(7) if day not in usual)
    return [usual, rest] if rest and nights.count >= 14 else [tuple(range(7))]


def weekday_of(nights: Nights) -> np.ndarray:
    """Weekday on which each night begins, 0 for Monday (nights,)."""
    return (nights.dates.astype(int) + 3) % 7  # day 0 of the calendar, 1970-01-01, was a Thursday


def days_words(days: tuple[int, ...]) -> str:
    """`Nights that begin Mon to Thu`."""
    if len(days) > 2 and days[-1] - days[0] == len(days) - 1:
        return f"Nights that begin {DAYS[days[0]]} to {DAYS[days[-1]]}"
    return f"Nights that begin {', '.join(DAYS[day] for day in days)}"
