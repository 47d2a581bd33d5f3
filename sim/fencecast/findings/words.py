"""How numbers are written in pictures and tables: one place, so that a place or a Pd reads the same everywhere."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fencecast.estimate.places import (  # the same code in pictures, tables and --json
    place_code,
    requirement_text,
    stated_hours,
    whole,
)
from fencecast.meteorology.year import LEAST_YEARS
from fencecast.units import METRES_PER_FOOT

__all__ = [
    "armed_hours_text",
    "change_text",
    "confidence_text",
    "feet",
    "first_upper",
    "hours_heading",
    "hours_text",
    "in_class",
    "interval_text",
    "kelvin_difference_text",
    "listed",
    "metres_text",
    "number_word",
    "pd_text",
    "place_code",
    "plural",
    "range_text",
    "rate_text",
    "requirement_text",
    "share_text",
    "signed",
    "whole",
]

LEAST_UNKNOWN = 0.01  # from this share of unknown armed hours on, a count says how many there are in all

_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def number_word(number: int) -> str:
    """Numbers to ten in words, larger ones in digits with a comma at the thousands: 'six', '1,053'."""
    return _WORDS[number] if 0 <= number <= 10 else f"{number:,}"


def first_upper(text: str) -> str:
    """The text with its first letter in upper case and the rest as it is ('warm dusk' -> 'Warm dusk')."""
    return text[:1].upper() + text[1:]


_TIMES = {"after", "at", "before", "between", "by", "during", "from", "in", "on", "since", "under", "until", "while", "with"}


def in_class(name: str) -> str:
    """`in heavy rain`, and `after rain`, `at dusk` where the name of a weather class begins with such a word itself."""
    return name if name.split(" ", 1)[0].lower() in _TIMES else f"in {name}"


def armed_hours_text(known: float, armed: float, a_year: bool) -> str:
    """`4,332 armed hours a year`; with gaps in the record `1,501 known armed hours a year (2,555 armed)`."""
    span = " a year" if a_year else ""
    if armed - known > LEAST_UNKNOWN * armed:
        return f"{whole(known)} known armed hours{span} ({whole(armed)} armed)"
    return f"{whole(known)} armed hours{span}"


def plural(number: int, one: str, many: str | None = None) -> str:
    """'one place', 'six places': the number in words and the noun that fits it."""
    return f"{number_word(number)} {one if number == 1 else (many or one + 's')}"


def pd_text(pd: float) -> str:
    """A probability with two decimals; from 0.995 '>0.99', below 0.005 '<0.01', NaN 'no data'."""
    if math.isnan(pd):
        return "no data"
    if pd >= 0.995:
        return ">0.99"
    if pd < 0.005:
        return "<0.01"
    return f"{pd:.2f}"


def _end_text(pd: float) -> str:
    return f"{min(max(pd, 0.0), 1.0):.2f}"


def interval_text(pd: float, low: float, high: float) -> str:
    """A probability with its interval: '0.23 (0.17 to 0.29)'."""
    if math.isnan(pd):
        return "no data"
    return f"{pd_text(pd)} ({_end_text(low)} to {_end_text(high)})"


def range_text(low: float, high: float) -> str:
    """An interval alone: '0.17 to 0.29'."""
    return "no data" if math.isnan(low) else f"{_end_text(low)} to {_end_text(high)}"


def feet(metres: float) -> float:
    """Metres to feet (the international foot, 0.3048 m exactly)."""
    return metres / METRES_PER_FOOT


def metres_text(metres: float, units: str = "si") -> str:
    """Whole metres with a comma at the thousands, '1,053 m'; with units 'us' the feet follow: '16 m (52 ft)'."""
    text = f"{whole(metres)} m"
    return f"{text} ({whole(feet(metres))} ft)" if units == "us" else text


def kelvin_difference_text(difference_k: float, units: str = "si", decimals: int = 1) -> str:
    """A temperature difference [K]; with units 'us' the Fahrenheit degrees follow (times 1.8, no offset)."""
    text = f"{difference_k:.{decimals}f} K".replace("-", "−")
    return f"{text} ({difference_k * 1.8:.{decimals}f} °F)".replace("-", "−") if units == "us" else text


def share_text(share: float) -> str:
    """'58 % of misses', or 'nearly all misses' from 99.5 % up: a sampled share is never printed as 100 %."""
    return "nearly all misses" if share >= 0.995 else f"{100 * share:.0f} % of misses"


def hours_text(hours_per_year: float, years: float = 1.0) -> str:
    """'2,650 h/yr'; of a record of so few `years` that it is none, its own hours: '84 h'."""
    return f"{whole(stated_hours(hours_per_year, years))} {'h/yr' if years >= LEAST_YEARS else 'h'}"


def hours_heading(years: float) -> str:
    """What stands above a column of such hours: 'h/yr', or 'hours' when they are those of a short record."""
    return "h/yr" if years >= LEAST_YEARS else "hours"


def confidence_text(confidence: float) -> str:
    """'95 %'."""
    return f"{100 * confidence:g} %"


def signed(value: float) -> str:
    """A change with three decimals and its sign; 0.000 without one, NaN 'no data'."""
    if math.isnan(value):
        return "no data"
    return f"{value:+.3f}".replace("-", "−") if abs(value) >= 0.0005 else "0.000"


def change_text(mean: float, low: float, high: float) -> str:
    """'+0.041 ±0.006', the half width of its interval; 'no data' when there is none."""
    return "no data" if math.isnan(mean) else f"{signed(mean)} ±{0.5 * (high - low):.3f}"


def listed(names: Sequence[str]) -> str:
    """'C1', 'C1 and C2', 'C1, C2 and C3'."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def rate_text(per_day: float) -> str:
    """A rate of alarms, which may be 1e-37 or 400: '<0.001', '0.0123', '1,234'."""
    return "<0.001" if per_day < 0.001 else f"{per_day:,.3g}" if per_day < 1000 else f"{per_day:,.0f}"
